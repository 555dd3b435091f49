//! Carries requests from a socket and limits what a client can cost: bytes, seconds, plans at once, each in its lane.

use std::convert::Infallible;
use std::future::Future;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use http_body_util::{BodyExt, Full};
use hyper::body::{Body, Bytes, Incoming};
use hyper::header::{CONNECTION, CONTENT_LENGTH, HeaderValue};
use hyper::http::request::Parts;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::{GracefulConnection, GracefulShutdown};
use tokio::net::{TcpListener, TcpSocket};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::time::{Instant, timeout, timeout_at};

use super::LARGEST_DRAWING;
use super::head::RequestHead;
use super::lane::{Lane, Newest, Visitor};
use super::pace::Pace;
use super::refusal::RequestRefusal;
use super::seat::{Seat, Seats};
use super::stream::Stream;
use crate::cancel::{CancelToken, Cancelled};

/// Longest head of a request, bytes: the job may be half of it.
const HEAD_BYTES: usize = 128 << 10;

/// Clients that may wait at the socket before they are accepted. One for whom there is no room tries again after a second.
const STANDING: u32 = 1024;

/// Time for those whose answer did not come in time to be told that the page is closed.
const TELLING: Duration = Duration::from_secs(1);

/// Limits on what a client can cost. Begin with the usual ones, `ClientLimits::default()`, and set others.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct ClientLimits {
    /// Largest body, bytes.
    pub body_bytes: usize,
    /// Bytes of all bodies at once; more have to wait. A body counts whole from before its first byte is read until the
    /// work on it has ended.
    pub bodies_bytes: usize,
    /// Connections held at once; for one more the one with the least progress is closed.
    pub connections: usize,
    /// Connections of one source; `None` where all come from this machine.
    pub connections_of_source: Option<usize>,
    /// Largest body of what is worked out in the quick lane, bytes.
    pub quick_bytes: usize,
    /// Time in the quick lane; what takes longer is begun anew in the long one.
    pub quick: Duration,
    /// Plans worked out at once in the quick lane; more have to wait.
    pub quick_plans: usize,
    /// Plans worked out at once in the long lane, one for each visitor; more have to wait.
    pub long_plans: usize,
    /// Threads for each plan.
    pub threads: usize,
    /// Time for the head of a request to arrive, on a connection that stays open too.
    pub read_timeout: Duration,
    /// How slowly a body may come.
    pub body_pace: Pace,
    /// Time that a request waits for its turn: for memory for its body, and then for its plan to be begun.
    pub queue_timeout: Duration,
    /// Time that an answer is waited for. Work that nobody waits for any more stops at its next step.
    pub answer: Duration,
    /// How slowly a client may take its answer.
    pub answer_pace: Pace,
    /// Time that requests under way are given when the page is closed.
    pub shutdown_grace: Duration,
}

impl Default for ClientLimits {
    fn default() -> Self {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        Self {
            body_bytes: LARGEST_DRAWING,
            bodies_bytes: 128 << 20,
            connections: 256,
            connections_of_source: None,
            quick_bytes: 200_000,
            quick: Duration::from_secs(2),
            quick_plans: cores,
            long_plans: (cores / 2).max(1),
            threads: cores,
            read_timeout: Duration::from_secs(20),
            body_pace: Pace {
                grace: Duration::from_secs(5),
                bytes_per_second: 64_000,
            },
            queue_timeout: Duration::from_secs(60),
            answer: Duration::from_secs(120),
            answer_pace: Pace {
                grace: Duration::from_secs(10),
                bytes_per_second: 16_000,
            },
            shutdown_grace: Duration::from_secs(5),
        }
    }
}

/// Answers the requests that come through a socket.
pub trait Responder: Send + Sync + 'static {
    /// Judges a request by its head, before its body is read; returns the answer to a refused one.
    fn refuse(&self, head: RequestHead<'_>) -> Option<Response<Bytes>>;

    /// Answers a complete request.
    fn respond(&self, request: &Request<Bytes>) -> Response<Bytes>;
}

/// A page behind a socket.
struct Server<P> {
    page: P,
    bounds: ClientLimits,
    quick: Lane,
    long: Lane,
    newest: Newest,
    /// Whether the page is being closed and what is under way has had its time.
    closed: watch::Receiver<bool>,
    /// One for each byte of the bodies at once.
    memory: Arc<Semaphore>,
}

/// Opens a socket at which as many clients may stand at once as come to a seat within a second.
pub fn bind(at: SocketAddr) -> io::Result<TcpListener> {
    let socket = match at {
        SocketAddr::V4(_) => TcpSocket::new_v4()?,
        SocketAddr::V6(_) => TcpSocket::new_v6()?,
    };
    // A port that was closed a moment ago can be opened again; elsewhere this would share one that is open.
    if cfg!(unix) {
        socket.set_reuseaddr(true)?;
    }
    socket.bind(at)?;
    socket.listen(STANDING)
}

/// Answers on `listener` until `stop` is over, then lets what is under way come to its end, or tells that the page is closed.
pub async fn listen(
    listener: TcpListener,
    page: impl Responder,
    bounds: ClientLimits,
    stop: impl Future<Output = ()>,
) {
    let (close, closed) = watch::channel(false);
    let server = Arc::new(Server {
        page,
        bounds,
        quick: Lane::new(bounds.quick_plans, bounds.threads),
        long: Lane::new(bounds.long_plans, bounds.threads),
        newest: Newest::default(),
        closed,
        memory: Arc::new(Semaphore::new(bounds.bodies_bytes.min(Semaphore::MAX_PERMITS))),
    });
    let seats = Seats::new(bounds.connections, bounds.connections_of_source);
    let graceful = GracefulShutdown::new();
    let mut stop = std::pin::pin!(stop);
    loop {
        let next = async {
            let (socket, from) = listener.accept().await?;
            let Some(place) = seats.take(from.ip()).await else {
                return Ok(None);
            };
            let stream = Stream::new(socket, place.seat().clone(), bounds.answer_pace)?;
            Ok::<_, io::Error>(Some((stream, place, from.ip())))
        };
        let next = tokio::select! {
            next = next => next,
            () = &mut stop => break,
        };
        let (stream, place, from) = match next {
            Ok(Some(next)) => next,
            Ok(None) => continue,
            // Out of handles or the like: what is under way has to end first.
            Err(_) => {
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        let connection = graceful.watch(connection(stream, from, place.seat().clone(), server.clone()));
        tokio::spawn(async move {
            tokio::select! {
                // A connection that breaks concerns nobody but its client, who is gone.
                _ = connection => {}
                () = place.seat().lost() => {}
            }
        });
    }
    drop(listener);
    let mut ended = std::pin::pin!(graceful.shutdown());
    if timeout(bounds.shutdown_grace, &mut ended).await.is_err() {
        close.send_replace(true);
        let _ = timeout(TELLING, ended).await;
    }
}

fn connection(
    stream: Stream,
    from: IpAddr,
    seat: Arc<Seat>,
    server: Arc<Server<impl Responder>>,
) -> impl GracefulConnection<Error = hyper::Error> + Send {
    let read_timeout = server.bounds.read_timeout;
    let service = service_fn(move |request| {
        let (server, seat) = (server.clone(), seat.clone());
        async move { Ok::<_, Infallible>(server.serve(request, from, &seat).await.map(Full::new)) }
    });
    http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(read_timeout)
        .max_buf_size(HEAD_BYTES)
        .serve_connection(TokioIo::new(stream), service)
}

/// Work for a client that waits; dropping it cancels the work.
#[derive(Default)]
struct Waiting(CancelToken);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.cancel();
    }
}

/// A request with its complete body, and the share of the memory for all that this holds until nothing works on it any more.
struct Job {
    request: Request<Bytes>,
    _memory: OwnedSemaphorePermit,
}

impl<P: Responder> Server<P> {
    async fn serve(
        self: Arc<Self>,
        request: Request<Incoming>,
        from: IpAddr,
        seat: &Seat,
    ) -> Response<Bytes> {
        let (head, mut body) = request.into_parts();
        let mut closed = self.closed.clone();
        let answered = async {
            match self.page.refuse(RequestHead::from(&head)) {
                Some(refused) => Ok(refused),
                None => self.answer(head, &mut body, from, seat).await,
            }
        };
        let answered = tokio::select! {
            answered = answered => answered,
            Ok(_) = closed.wait_for(|closed| *closed) => Err(RequestRefusal::closed()),
        };
        let mut response = answered.unwrap_or_else(|refusal| super::guarded(refusal.into_response()));
        if !body.is_end_stream() {
            // What is left of the body is not read: after the answer the connection ends.
            seat.leave_unread();
            let close = HeaderValue::from_static("close");
            response.headers_mut().insert(CONNECTION, close);
        }
        response
    }

    async fn answer(
        self: &Arc<Self>,
        head: Parts,
        body: &mut Incoming,
        from: IpAddr,
        seat: &Seat,
    ) -> Result<Response<Bytes>, RequestRefusal> {
        // Only what is posted has a body that is looked at, and is worked out: the files of the page do not wait for it.
        if head.method != Method::POST {
            let server = self.clone();
            let file = Request::from_parts(head, Bytes::new());
            let read = tokio::task::spawn_blocking(move || server.page.respond(&file));
            return read.await.map_err(|_| RequestRefusal::panicked());
        }
        let job = self.take(head, body, seat).await?;
        let _waits = seat.waits();
        if job.request.body().len() <= self.bounds.quick_bytes
            && let Some(answer) = self.run(&self.quick, &job, self.bounds.quick).await?
        {
            return Ok(answer);
        }
        let begun = self.newest.begin(Visitor::of(from, job.request.headers()));
        let longest = self.bounds.answer;
        tokio::select! {
            answer = self.run(&self.long, &job, longest) => {
                answer?.ok_or_else(|| RequestRefusal::too_long(longest.as_secs()))
            }
            () = begun.replaced() => Err(RequestRefusal::replaced()),
        }
    }

    /// Works out an answer in a lane, when its turn comes; `None` where it takes longer than `longest`. The work is stopped when
    /// it does, and when this is dropped: given up, or left by a client that went away.
    async fn run(
        self: &Arc<Self>,
        lane: &Lane,
        job: &Arc<Job>,
        longest: Duration,
    ) -> Result<Option<Response<Bytes>>, RequestRefusal> {
        let place = self.turn(&lane.places, 1).await?;
        let waiting = Waiting::default();
        let (server, job, token, threads) = (self.clone(), job.clone(), waiting.0.clone(), lane.threads);
        let work = tokio::task::spawn_blocking(move || {
            let _place = place;
            token.run(threads, || server.page.respond(&job.request))
        });
        match timeout(longest, work).await {
            Err(_) | Ok(Ok(Ok(Err(Cancelled)))) => Ok(None),
            Ok(Err(_)) => Err(RequestRefusal::panicked()),
            // The system has no more threads.
            Ok(Ok(Err(_))) => Err(RequestRefusal::busy()),
            Ok(Ok(Ok(Ok(response)))) => Ok(Some(response)),
        }
    }

    /// Waits for `many` of what there are few, in order of arrival and not for ever.
    async fn turn(&self, few: &Arc<Semaphore>, many: u32) -> Result<OwnedSemaphorePermit, RequestRefusal> {
        let turn = timeout(self.bounds.queue_timeout, few.clone().acquire_many_owned(many)).await;
        turn.ok().and_then(Result::ok).ok_or_else(RequestRefusal::busy)
    }

    /// Takes the body that a head announces. Room for all of it is taken before the first byte.
    async fn take(&self, head: Parts, body: &mut Incoming, seat: &Seat) -> Result<Arc<Job>, RequestRefusal> {
        let bounds = self.bounds;
        if !head.headers.contains_key(CONTENT_LENGTH) {
            return Err(RequestRefusal::no_length());
        }
        let limit = bounds.body_bytes.min(bounds.bodies_bytes);
        let length = body.size_hint().lower();
        let length = u32::try_from(length)
            .ok()
            .filter(|length| *length as usize <= limit);
        let length = length.ok_or_else(|| RequestRefusal::too_large(limit))?;
        let memory = {
            let _waits = seat.waits();
            self.turn(&self.memory, length).await?
        };
        let mut bytes = Vec::with_capacity(length as usize);
        let mut due = bounds.body_pace.from(Instant::now());
        while let Some(frame) = timeout_at(due.at(), body.frame())
            .await
            .map_err(|_| RequestRefusal::too_slow())?
        {
            if let Ok(more) = frame.map_err(|_| RequestRefusal::broken_body())?.into_data() {
                due.moved(more.len(), Instant::now());
                bytes.extend_from_slice(&more);
            }
        }
        Ok(Arc::new(Job {
            request: Request::from_parts(head, bytes.into()),
            _memory: memory,
        }))
    }
}

#[cfg(test)]
mod tests;

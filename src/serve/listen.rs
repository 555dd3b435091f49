//! The socket around the page, and the bounds on what a client can cost: bytes, seconds, plans at once.

use std::convert::Infallible;
use std::future::Future;
use std::io;
use std::net::SocketAddr;
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
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, timeout, timeout_at};

use super::LARGEST_DRAWING;
use super::head::RequestHead;
use super::pace::Pace;
use super::refusal::RequestRefusal;
use super::seat::{Seat, Seats};
use super::stream::Stream;
use crate::cancel::CancelToken;

/// Longest head of a request, bytes: what is asked may be half of it.
const HEAD_BYTES: usize = 128 << 10;

/// Clients that may stand at the socket before they are seen. One for whom there is no room tries again after a second.
const STANDING: u32 = 1024;

/// What a client can cost.
#[derive(Clone, Copy, Debug)]
pub struct ClientLimits {
    /// Largest body, bytes.
    pub body_bytes: usize,
    /// Bytes of all bodies at once; more have to wait. A body counts whole from before its first byte is read until the
    /// work on it has ended.
    pub bodies_bytes: usize,
    /// Connections held at once; for one more the one with the least progress is closed.
    pub connections: usize,
    /// Plans worked out at once; more have to wait.
    pub plans: usize,
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
        Self {
            body_bytes: LARGEST_DRAWING,
            bodies_bytes: 128 << 20,
            connections: 256,
            plans: std::thread::available_parallelism().map_or(1, usize::from),
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

/// What answers the requests that come through a socket.
pub trait Responder: Send + Sync + 'static {
    /// Judges a request by its head, before any of its body is taken; the answer to one that is turned away.
    fn refuse(&self, head: RequestHead<'_>) -> Option<Response<Bytes>>;

    /// Answers a request that is here whole.
    fn respond(&self, request: &Request<Bytes>) -> Response<Bytes>;
}

/// A page behind a socket.
struct Server<P> {
    page: P,
    bounds: ClientLimits,
    plans: Arc<Semaphore>,
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

/// Answers on `listener` until `stop` is over, then lets what is under way come to its end.
pub async fn listen(
    listener: TcpListener,
    page: impl Responder,
    bounds: ClientLimits,
    stop: impl Future<Output = ()>,
) {
    let server = Arc::new(Server {
        page,
        bounds,
        plans: Arc::new(Semaphore::new(bounds.plans)),
        memory: Arc::new(Semaphore::new(bounds.bodies_bytes.min(Semaphore::MAX_PERMITS))),
    });
    let seats = Seats::new(bounds.connections);
    let graceful = GracefulShutdown::new();
    let mut stop = std::pin::pin!(stop);
    loop {
        let next = async {
            let (socket, _) = listener.accept().await?;
            let place = seats.take().await;
            let stream = Stream::new(socket, place.seat().clone(), bounds.answer_pace)?;
            Ok::<_, io::Error>((stream, place))
        };
        let next = tokio::select! {
            next = next => next,
            () = &mut stop => break,
        };
        let Ok((stream, place)) = next else {
            // Out of handles or the like: what is under way has to end first.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let connection = graceful.watch(connection(stream, place.seat().clone(), server.clone()));
        tokio::spawn(async move {
            tokio::select! {
                // A connection that breaks concerns nobody but its client, who is gone.
                _ = connection => {}
                () = place.seat().lost() => {}
            }
        });
    }
    let _ = timeout(bounds.shutdown_grace, graceful.shutdown()).await;
}

fn connection(
    stream: Stream,
    seat: Arc<Seat>,
    server: Arc<Server<impl Responder>>,
) -> impl GracefulConnection<Error = hyper::Error> + Send {
    let read_timeout = server.bounds.read_timeout;
    let service = service_fn(move |request| {
        let (server, seat) = (server.clone(), seat.clone());
        async move { Ok::<_, Infallible>(server.serve(request, &seat).await.map(Full::new)) }
    });
    http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(read_timeout)
        .max_buf_size(HEAD_BYTES)
        .serve_connection(TokioIo::new(stream), service)
}

/// A client that waits; with it goes the patience of the work.
#[derive(Default)]
struct Waiting(CancelToken);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.cancel();
    }
}

/// A body that is here whole, and its part of the memory for all.
struct Whole {
    bytes: Bytes,
    memory: OwnedSemaphorePermit,
}

impl<P: Responder> Server<P> {
    async fn serve(self: Arc<Self>, request: Request<Incoming>, seat: &Seat) -> Response<Bytes> {
        let (head, mut body) = request.into_parts();
        let mut response = match self.page.refuse(RequestHead::from(&head)) {
            Some(refused) => refused,
            None => self
                .answer(head, &mut body, seat)
                .await
                .unwrap_or_else(|refusal| super::guarded(refusal.into_response())),
        };
        if !body.is_end_stream() {
            // What is left of the body is not read: after the answer the connection ends.
            seat.leave_unread();
            let close = HeaderValue::from_static("close");
            response.headers_mut().insert(CONNECTION, close);
        }
        response
    }

    async fn answer(
        self: Arc<Self>,
        head: Parts,
        body: &mut Incoming,
        seat: &Seat,
    ) -> Result<Response<Bytes>, RequestRefusal> {
        let bounds = self.bounds;
        // Only what is posted has a body that is looked at, and is worked out: the files of the page do not wait for it.
        let whole = match head.method {
            Method::POST => Some(self.take(&head, body, seat).await?),
            _ => None,
        };
        let _waits = seat.waits();
        let mut held = None;
        let mut request = Request::from_parts(head, Bytes::new());
        if let Some(Whole { bytes, memory }) = whole {
            let place = self.turn(&self.plans, 1).await?;
            *request.body_mut() = bytes;
            held = Some((place, memory));
        }
        // Ended when this is dropped: answered, given up here, or left by a client that went away.
        let waiting = Waiting::default();
        request.extensions_mut().insert(waiting.0.clone());
        let work = tokio::task::spawn_blocking(move || {
            let response = self.page.respond(&request);
            drop(request);
            drop(held);
            response
        });
        match timeout(bounds.answer, work).await {
            Err(_) => Err(RequestRefusal::too_long(bounds.answer.as_secs())),
            Ok(Err(_)) => Err(RequestRefusal::panicked()),
            Ok(Ok(response)) => Ok(response),
        }
    }

    /// Waits for `many` of what there are few, in order of arrival and not for ever.
    async fn turn(&self, few: &Arc<Semaphore>, many: u32) -> Result<OwnedSemaphorePermit, RequestRefusal> {
        let turn = timeout(self.bounds.queue_timeout, few.clone().acquire_many_owned(many)).await;
        turn.ok().and_then(Result::ok).ok_or_else(RequestRefusal::busy)
    }

    /// The body that a head speaks of. Room for all of it is taken before the first byte.
    async fn take(&self, head: &Parts, body: &mut Incoming, seat: &Seat) -> Result<Whole, RequestRefusal> {
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
        let bytes = bytes.into();
        Ok(Whole { bytes, memory })
    }
}

#[cfg(test)]
mod tests;

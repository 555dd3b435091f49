//! The socket around the page, and the bounds on what a client can cost: bytes, seconds, plans at once.

use std::convert::Infallible;
use std::future::Future;
use std::sync::Arc;
use std::time::Duration;

use http_body_util::{BodyExt, Full, LengthLimitError, Limited};
use hyper::body::{Body, Bytes, Incoming};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::{GracefulConnection, GracefulShutdown};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::timeout;

use super::LARGEST_DRAWING;
use super::refusal::Refusal;
use crate::job::Patience;

/// What a client can cost.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// Largest body, bytes.
    pub body_bytes: usize,
    /// Connections held at once; more have to wait.
    pub connections: usize,
    /// Plans worked out at once; more have to wait.
    pub plans: usize,
    /// Time for a request to arrive: its head, and then its body.
    pub arrival: Duration,
    /// Time that a request waits for its turn.
    pub turn: Duration,
    /// Time that an answer is waited for. Work that nobody waits for any more stops at its next step.
    pub answer: Duration,
    /// Time that requests under way are given when the page is closed.
    pub farewell: Duration,
}

impl Default for Bounds {
    fn default() -> Self {
        Self {
            body_bytes: LARGEST_DRAWING,
            connections: 256,
            plans: std::thread::available_parallelism().map_or(1, usize::from),
            arrival: Duration::from_secs(20),
            turn: Duration::from_secs(60),
            answer: Duration::from_secs(120),
            farewell: Duration::from_secs(5),
        }
    }
}

/// A page behind a socket.
struct Counter<R> {
    respond: R,
    bounds: Bounds,
    plans: Arc<Semaphore>,
}

/// Answers on `listener` until `stop` is over, then lets what is under way come to its end.
pub async fn listen<R>(listener: TcpListener, respond: R, bounds: Bounds, stop: impl Future<Output = ()>)
where
    R: Fn(&Request<Bytes>) -> Response<Bytes> + Send + Sync + 'static,
{
    let counter = Arc::new(Counter {
        respond,
        bounds,
        plans: Arc::new(Semaphore::new(bounds.plans)),
    });
    let connections = Arc::new(Semaphore::new(bounds.connections));
    let graceful = GracefulShutdown::new();
    let mut stop = std::pin::pin!(stop);
    loop {
        let next = async {
            let seat = connections.clone().acquire_owned().await;
            (seat, listener.accept().await)
        };
        let (seat, accepted) = tokio::select! {
            next = next => next,
            () = &mut stop => break,
        };
        let Ok((stream, _)) = accepted else {
            // Out of handles or the like: what is under way has to end first.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let connection = graceful.watch(connection(stream, counter.clone()));
        tokio::spawn(async move {
            // A connection that breaks concerns nobody but its client, who is gone.
            let _ = connection.await;
            drop(seat);
        });
    }
    let _ = timeout(bounds.farewell, graceful.shutdown()).await;
}

fn connection<R>(
    stream: TcpStream,
    counter: Arc<Counter<R>>,
) -> impl GracefulConnection<Error = hyper::Error> + Send
where
    R: Fn(&Request<Bytes>) -> Response<Bytes> + Send + Sync + 'static,
{
    let arrival = counter.bounds.arrival;
    let service = service_fn(move |request| {
        let counter = counter.clone();
        async move { Ok::<_, Infallible>(counter.serve(request).await.map(Full::new)) }
    });
    http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(arrival)
        .serve_connection(TokioIo::new(stream), service)
}

/// A client that waits; with it goes the patience of the work.
#[derive(Default)]
struct Waiting(Patience);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.end();
    }
}

impl<R> Counter<R>
where
    R: Fn(&Request<Bytes>) -> Response<Bytes> + Send + Sync + 'static,
{
    async fn serve(self: Arc<Self>, request: Request<Incoming>) -> Response<Bytes> {
        let refused = |refusal: Refusal| super::guarded(refusal.into_response());
        let bounds = self.bounds;
        let (head, body) = request.into_parts();
        if body.size_hint().lower() > bounds.body_bytes as u64 {
            return refused(Refusal::too_large(bounds.body_bytes));
        }
        let body = match timeout(bounds.arrival, Limited::new(body, bounds.body_bytes).collect()).await {
            Err(_) => return refused(Refusal::too_slow()),
            Ok(Err(error)) if error.is::<LengthLimitError>() => {
                return refused(Refusal::too_large(bounds.body_bytes));
            }
            Ok(Err(_)) => return refused(Refusal::broken_body()),
            Ok(Ok(body)) => body.to_bytes(),
        };
        // Only what is posted is worked out; the files of the page do not wait behind it.
        let place = if head.method == Method::POST {
            let turn = timeout(bounds.turn, self.plans.clone().acquire_owned()).await;
            match turn {
                Ok(Ok(place)) => Some(place),
                Ok(Err(_)) | Err(_) => return refused(Refusal::busy()),
            }
        } else {
            None
        };
        let mut request = Request::from_parts(head, body);
        // Ended when this is dropped: answered, given up here, or left by a client that went away.
        let waiting = Waiting::default();
        request.extensions_mut().insert(waiting.0.clone());
        let work = tokio::task::spawn_blocking(move || {
            let response = (self.respond)(&request);
            drop(place);
            response
        });
        match timeout(bounds.answer, work).await {
            Err(_) => refused(Refusal::too_long(bounds.answer.as_secs())),
            Ok(Err(_)) => refused(Refusal::panicked()),
            Ok(Ok(response)) => response,
        }
    }
}

//! Watches the socket of a client: what it reads and writes is progress, and an answer that it does not read is ended.

use std::io::{self, ErrorKind, IoSlice};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use socket2::SockRef;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio::time::{Instant, Sleep, sleep_until};

use super::pace::{Due, Pace};
use super::seat::Seat;

/// What the system may keep of an answer, bytes. It tells of what the client took in steps of a third of it, so that a
/// large buffer would hide for long whether the client takes anything.
const SEND_BUFFER: usize = 64 << 10;

/// Time in which a client whose body is left unread may see that it is answered and stop sending.
const LINGER: Duration = Duration::from_secs(1);

/// What is thrown away of such a body, bytes.
const LINGER_BYTES: usize = 1 << 20;

/// The socket of a client.
pub(super) struct Stream {
    socket: TcpStream,
    seat: Arc<Seat>,
    pace: Pace,
    /// When the client has to have taken more, while an answer is under way.
    due: Option<Due>,
    alarm: Pin<Box<Sleep>>,
    /// What may still be thrown away, once the last answer is sent.
    leaving: Option<usize>,
}

impl Stream {
    /// Wraps the socket of the client on this seat, who must read answers no slower than `pace`.
    pub(super) fn new(socket: TcpStream, seat: Arc<Seat>, pace: Pace) -> io::Result<Self> {
        SockRef::from(&socket).set_send_buffer_size(SEND_BUFFER)?;
        Ok(Self {
            socket,
            seat,
            pace,
            due: None,
            alarm: Box::pin(sleep_until(Instant::now())),
            leaving: None,
        })
    }

    fn wake_at(&mut self, at: Instant, context: &mut Context<'_>) -> Poll<()> {
        self.alarm.as_mut().reset(at);
        self.alarm.as_mut().poll(context)
    }

    /// Counts what the client read.
    fn written(
        &mut self,
        context: &mut Context<'_>,
        taken: Poll<io::Result<usize>>,
    ) -> Poll<io::Result<usize>> {
        let now = Instant::now();
        let pace = self.pace;
        let due = self.due.get_or_insert_with(|| pace.from(now));
        match taken {
            Poll::Pending => {
                let at = due.at();
                ready!(self.wake_at(at, context));
                Poll::Ready(Err(ErrorKind::TimedOut.into()))
            }
            Poll::Ready(Ok(bytes)) => {
                due.moved(bytes, now);
                self.seat.moved(bytes, now);
                taken
            }
            Poll::Ready(Err(_)) => taken,
        }
    }
}

impl AsyncRead for Stream {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = buffer.filled().len();
        let read = Pin::new(&mut self.socket).poll_read(context, buffer);
        self.seat.moved(buffer.filled().len() - before, Instant::now());
        read
    }
}

impl AsyncWrite for Stream {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let taken = Pin::new(&mut self.socket).poll_write(context, bytes);
        self.written(context, taken)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        slices: &[IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let taken = Pin::new(&mut self.socket).poll_write_vectored(context, slices);
        self.written(context, taken)
    }

    fn is_write_vectored(&self) -> bool {
        self.socket.is_write_vectored()
    }

    /// Is ready when nothing of an answer is left to write.
    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.due = None;
        Pin::new(&mut self.socket).poll_flush(context)
    }

    /// Ends the answer. Where the client may still send, the system would meet what it sends with a reset
    /// that can cost it the answer (RFC 9112, section 9.6): so it is given a little time to stop.
    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let stream = &mut *self;
        let mut left = if let Some(left) = stream.leaving {
            left
        } else {
            ready!(Pin::new(&mut stream.socket).poll_shutdown(context))?;
            stream.alarm.as_mut().reset(Instant::now() + LINGER);
            if stream.seat.leaves_unread() {
                LINGER_BYTES
            } else {
                0
            }
        };
        let mut thrown_away = [0; 8 << 10];
        while left > 0 && stream.alarm.as_mut().poll(context).is_pending() {
            let mut buffer = ReadBuf::new(&mut thrown_away);
            match Pin::new(&mut stream.socket).poll_read(context, &mut buffer) {
                Poll::Pending => {
                    stream.leaving = Some(left);
                    return Poll::Pending;
                }
                Poll::Ready(Ok(())) if !buffer.filled().is_empty() => {
                    left = left.saturating_sub(buffer.filled().len());
                }
                // The client is gone, one way or another.
                Poll::Ready(_) => break,
            }
        }
        Poll::Ready(Ok(()))
    }
}

impl Drop for Stream {
    fn drop(&mut self) {
        if self.due.is_some() {
            // What the client did not take the system would keep for it.
            let _ = self.socket.set_zero_linger();
        }
    }
}

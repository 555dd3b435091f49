//! The token by which long work learns that nobody waits for it any more.
//!
//! Work runs on threads of its own, which know its token: [`CancelToken::run`]. Every loop that can be long asks there by
//! [`checkpoint`], and what was cancelled unwinds to where it was begun. Work that has no token is never stopped.

use std::any::Any;
use std::cell::OnceCell;
use std::cmp;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use rayon::ThreadPoolBuilder;

thread_local! {
    /// The token of the work that this thread belongs to.
    static TOKEN: OnceCell<CancelToken> = const { OnceCell::new() };
}

/// As much as a main thread has, so that a drawing goes as deep here as on the command line.
pub const STACK_BYTES: usize = 8 << 20;

/// Tells long work when to stop. Clones share their state.
///
/// ```
/// use kerfwright::{Book, CancelToken, Error, Planner};
///
/// let (book, token) = (Book::built_in()?, CancelToken::default());
/// token.cancel(); // most often from another thread
/// let drawing = std::fs::read("fixtures/shapes/stadium.dxf")?;
/// let ended = Planner::new(&book).cancel(&token).inspect("stadium.dxf", drawing);
/// assert!(matches!(ended, Err(Error::Cancelled)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, Default)]
pub struct CancelToken(Arc<AtomicBool>);

/// The work was cancelled before its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cancelled;

impl CancelToken {
    /// Cancels the work.
    pub fn cancel(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the work was cancelled.
    pub fn is_cancelled(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }

    /// Works on as many threads of its own as `threads` says, until the end or until this token is cancelled. What panics in it
    /// panics here.
    ///
    /// # Errors
    /// Where the system has no more threads.
    pub fn run<T: Send>(
        &self,
        threads: usize,
        work: impl FnOnce() -> T + Send,
    ) -> io::Result<Result<T, Cancelled>> {
        let own = self.clone();
        let pool = ThreadPoolBuilder::new()
            .num_threads(threads)
            .stack_size(STACK_BYTES)
            .start_handler(move |_| TOKEN.with(|token| _ = token.set(own.clone())))
            .build()
            .map_err(io::Error::other)?;
        Ok(match catch_unwind(AssertUnwindSafe(|| pool.install(work))) {
            Ok(done) => Ok(done),
            Err(cause) if cause.is::<Cancelled>() => Err(Cancelled),
            Err(cause) => resume_unwind(cause),
        })
    }
}

/// Stops here where the work of this thread was cancelled. It costs a nanosecond or two.
#[inline]
#[cfg_attr(test, track_caller)]
pub fn checkpoint() {
    #[cfg(test)]
    gaps::note(false);
    if TOKEN.with(|token| token.get().is_some_and(CancelToken::is_cancelled)) {
        stop();
    }
}

/// The same in the `i`-th round of a loop whose rounds take less than it does: now and then.
#[inline]
#[cfg_attr(test, track_caller)]
pub fn checkpoint_each(i: usize) {
    const ROUNDS: usize = 1024;
    if i.is_multiple_of(ROUNDS) {
        checkpoint();
    }
}

/// Returns the same items, which ask now and then as they are taken.
pub fn asked<T>(items: impl Iterator<Item = T>) -> impl Iterator<Item = T> {
    items.enumerate().map(|(i, item)| {
        checkpoint_each(i);
        item
    })
}

/// Returns `order` for a long sort, which asks with every comparison.
pub fn asking<T>(order: impl Fn(&T, &T) -> cmp::Ordering) -> impl Fn(&T, &T) -> cmp::Ordering {
    move |a, b| {
        checkpoint();
        order(a, b)
    }
}

/// Calls into a library in which nobody asks; it is asked before, whether it is still worth while.
#[cfg_attr(test, track_caller)]
pub(crate) fn uninterrupted<T>(call: impl FnOnce() -> T) -> T {
    checkpoint();
    let answer = call();
    #[cfg(test)]
    gaps::note(true);
    answer
}

/// As [`uninterrupted`]; `None` where the library panics.
#[cfg_attr(test, track_caller)]
pub(crate) fn uninterrupted_or_panicked<T>(call: impl FnOnce() -> T) -> Option<T> {
    uninterrupted(|| catch_unwind(AssertUnwindSafe(call)).ok())
}

#[cold]
fn stop() {
    resume_unwind(Box::new(Cancelled) as Box<dyn Any + Send>);
}

#[cfg(test)]
pub(crate) mod gaps;

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicUsize;
    use std::time::{Duration, Instant};

    use rayon::prelude::*;

    use super::*;

    #[test]
    fn work_stops_at_its_next_checkpoint_on_every_thread() {
        let token = CancelToken::default();
        let since = Instant::now();
        let ended = std::thread::scope(|scope| {
            let (token, work) = (&token, || {
                (0..4).into_par_iter().for_each(|_| {
                    loop {
                        checkpoint();
                    }
                });
            });
            let working = scope.spawn(move || token.run(2, work).expect("threads"));
            std::thread::sleep(Duration::from_millis(20));
            token.cancel();
            working.join().expect("it does not panic")
        });
        assert_eq!(ended, Err(Cancelled));
        assert!(since.elapsed() < Duration::from_secs(2), "{:?}", since.elapsed());
    }

    #[test]
    fn work_of_others_goes_on() {
        let cancelled = CancelToken::default();
        cancelled.cancel();
        assert_eq!(cancelled.run(1, checkpoint).expect("a thread"), Err(Cancelled));
        let other = CancelToken::default().run(1, || {
            checkpoint();
            3
        });
        assert_eq!(other.expect("a thread"), Ok(3));
        checkpoint();
    }

    /// However many are still to be tried, and whether or not the one before panicked.
    #[test]
    fn no_library_is_called_when_nobody_waits() {
        let token = CancelToken::default();
        let calls = AtomicUsize::new(0);
        let work = || {
            for _ in 0..3 {
                let answer: Option<()> = uninterrupted_or_panicked(|| {
                    calls.fetch_add(1, Ordering::Relaxed);
                    token.cancel();
                    panic!("as a library does");
                });
                assert_eq!(answer, None);
            }
        };
        assert_eq!(token.run(1, work).expect("a thread"), Err(Cancelled));
        assert_eq!(calls.into_inner(), 1);
    }

    #[test]
    #[should_panic(expected = "a fault")]
    fn a_panic_stays_one() {
        let failed = CancelToken::default().run(1, || panic!("a fault"));
        drop(failed);
    }
}

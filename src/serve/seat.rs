//! Assigns seats to connections. A new client never waits for a free one: when all are taken, it gets that of the client
//! with the least progress.

use std::cmp::Reverse;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tokio::sync::Notify;
use tokio::time::{Instant, sleep_until};

/// Time in which a new client keeps its seat.
pub(super) const SETTLING: Duration = Duration::from_millis(250);

/// Number of spans over which progress counts: two seconds.
const SPANS: usize = 8;

/// Length of a span.
const SPAN: Duration = Duration::from_millis(250);

/// All seats.
#[derive(Debug)]
pub(super) struct Seats {
    most: usize,
    taken: Mutex<Vec<Arc<Seat>>>,
}

/// The seat of a connection, until this is dropped.
#[derive(Debug)]
pub(super) struct Taken {
    seats: Arc<Seats>,
    seat: Arc<Seat>,
}

/// What one connection does.
#[derive(Debug)]
pub(super) struct Seat {
    since: Instant,
    lost: Notify,
    /// The page owes this client something that it cannot hasten.
    waits: AtomicBool,
    /// A body of it is not read to its end.
    unread: AtomicBool,
    progress: Mutex<Progress>,
}

/// Bytes that moved, either way.
#[derive(Debug)]
struct Progress {
    spans: [u64; SPANS],
    /// The span under way, counted from the start of the connection.
    span: u64,
}

/// The claim to a seat; the least goes first.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Claim {
    /// The kilobytes that moved of late, less being none, and since when it has been here.
    Moves(u64, Instant),
    /// It waits for the page, since this time; who came last has waited for the least.
    Waits(Reverse<Instant>),
}

/// A client that waits for the page, until this is dropped.
pub(super) struct Waits<'a>(&'a Seat);

impl Seats {
    /// So many of them.
    pub(super) fn new(most: usize) -> Arc<Self> {
        Arc::new(Self {
            most,
            taken: Mutex::new(Vec::new()),
        })
    }

    /// A seat for a new client. It waits for no other client, only, where most of them have just come, until one who may
    /// go has settled.
    pub(super) async fn take(self: &Arc<Self>) -> Taken {
        loop {
            match self.try_take(Instant::now()) {
                Ok(seat) => {
                    let seats = self.clone();
                    return Taken { seats, seat };
                }
                Err(settled) => sleep_until(settled).await,
            }
        }
    }

    /// Returns a seat, or when the next client will have settled.
    fn try_take(&self, now: Instant) -> Result<Arc<Seat>, Instant> {
        let mut taken = locked(&self.taken);
        if taken.len() >= self.most {
            let place = Self::who_goes(&taken, now)?;
            taken.swap_remove(place).lost.notify_one();
        }
        let seat = Arc::new(Seat::new(now));
        taken.push(seat.clone());
        Ok(seat)
    }

    /// Returns the place of the client with the least claim among those who have settled. A better claim than that of one who has
    /// not is of use only while most have not: else clients who come and do nothing would keep the others waiting.
    fn who_goes(taken: &[Arc<Seat>], now: Instant) -> Result<usize, Instant> {
        let claims = || taken.iter().map(|seat| seat.claim(now)).enumerate();
        let settled_at = |place: usize| taken[place].since + SETTLING;
        let has_settled = |place: usize| settled_at(place) <= now;
        let least = claims().min_by(|(_, a), (_, b)| a.cmp(b));
        let settled = claims().filter(|(place, _)| has_settled(*place));
        let most_have = 2 * settled.clone().count() >= taken.len();
        let least_settled = settled.min_by(|(_, a), (_, b)| a.cmp(b));
        match (least, least_settled) {
            (Some((place, _)), _) if has_settled(place) => Ok(place),
            (_, Some((place, _))) if most_have => Ok(place),
            _ => {
                let unsettled = (0..taken.len()).filter(|place| !has_settled(*place));
                Err(unsettled.map(settled_at).min().unwrap_or(now))
            }
        }
    }
}

impl Taken {
    /// Whose it is.
    pub(super) fn seat(&self) -> &Arc<Seat> {
        &self.seat
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        locked(&self.seats.taken).retain(|seat| !Arc::ptr_eq(seat, &self.seat));
    }
}

impl Seat {
    fn new(now: Instant) -> Self {
        Self {
            since: now,
            lost: Notify::new(),
            waits: AtomicBool::new(false),
            unread: AtomicBool::new(false),
            progress: Mutex::new(Progress {
                spans: [0; SPANS],
                span: 0,
            }),
        }
    }

    /// Counts moved bytes.
    pub(super) fn moved(&self, bytes: usize, now: Instant) {
        if bytes > 0 {
            let mut progress = self.progress_at(now);
            let place = progress.span as usize % SPANS;
            progress.spans[place] += bytes as u64;
        }
    }

    /// Marks this client as waiting for the page until the returned value is dropped.
    pub(super) fn waits(&self) -> Waits<'_> {
        self.waits.store(true, Ordering::Relaxed);
        Waits(self)
    }

    /// Marks a body as not read to its end.
    pub(super) fn leave_unread(&self) {
        self.unread.store(true, Ordering::Relaxed);
    }

    /// Whether a body is not read to its end.
    pub(super) fn leaves_unread(&self) -> bool {
        self.unread.load(Ordering::Relaxed)
    }

    /// Comes to its end when the seat went to another.
    pub(super) async fn lost(&self) {
        self.lost.notified().await;
    }

    fn claim(&self, now: Instant) -> Claim {
        if self.waits.load(Ordering::Relaxed) {
            return Claim::Waits(Reverse(self.since));
        }
        let moved: u64 = self.progress_at(now).spans.iter().sum();
        Claim::Moves(moved >> 10, self.since)
    }

    fn progress_at(&self, now: Instant) -> MutexGuard<'_, Progress> {
        let mut progress = locked(&self.progress);
        let span = (now.saturating_duration_since(self.since).as_millis() / SPAN.as_millis()) as u64;
        let passed = span.saturating_sub(progress.span).min(SPANS as u64);
        for later in 1..=passed {
            let place = (progress.span + later) as usize % SPANS;
            progress.spans[place] = 0;
        }
        progress.span = progress.span.max(span);
        progress
    }
}

impl Drop for Waits<'_> {
    fn drop(&mut self) {
        self.0.waits.store(false, Ordering::Relaxed);
    }
}

/// Nothing that is done under a lock here can panic half-way.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(start: Instant, ms: u64) -> Instant {
        start + Duration::from_millis(ms)
    }

    #[test]
    fn the_seat_of_the_least_progress_goes_to_the_next() {
        let start = Instant::now();
        let seats = Seats::new(3);
        let [still, slow, quick] = [0, 1, 2].map(|ms| seats.try_take(after(start, ms)).expect("a seat"));
        slow.moved(2_000, after(start, 100));
        quick.moved(9_000, after(start, 100));
        let held = |seat: &Arc<Seat>| locked(&seats.taken).iter().any(|other| Arc::ptr_eq(other, seat));
        // The one who has to go may settle first.
        assert_eq!(seats.try_take(after(start, 200)).unwrap_err(), after(start, 250));
        let next = seats.try_take(after(start, 250)).expect("a seat");
        assert_eq!([&still, &slow, &quick].map(held), [false, true, true]);
        // While few have settled, nobody goes for one who has done less and may yet do something.
        assert_eq!(seats.try_take(after(start, 251)).unwrap_err(), after(start, 252));
        let after_that = seats.try_take(after(start, 252)).expect("a seat");
        assert_eq!([&slow, &quick, &next].map(held), [false, true, true]);
        // What moved more than two seconds ago counts no more.
        next.moved(9_000, after(start, 2400));
        after_that.moved(2_000, after(start, 2400));
        seats.try_take(after(start, 2400)).expect("a seat");
        assert_eq!([&quick, &next, &after_that].map(held), [false, true, true]);
    }

    #[test]
    fn who_waits_for_the_page_keeps_the_seat() {
        let start = Instant::now();
        let seats = Seats::new(3);
        let [first, last, moves] = [0, 1, 2].map(|ms| seats.try_take(after(start, ms)).expect("a seat"));
        let waiting = [first.waits(), last.waits()];
        moves.moved(1_000_000, after(start, 500));
        let held = |seat: &Arc<Seat>| locked(&seats.taken).iter().any(|other| Arc::ptr_eq(other, seat));
        let next = seats.try_take(after(start, 500)).expect("a seat");
        assert_eq!([&first, &last, &moves].map(held), [true, true, false]);
        // Where all wait, who came last goes.
        let also = next.waits();
        seats.try_take(after(start, 1000)).expect("a seat");
        assert_eq!([&first, &last, &next].map(held), [true, true, false]);
        drop((waiting, also));
    }
}

//! Assigns seats to connections. A new client never waits for a free one: when all are taken, it gets that of the client
//! with the least progress.

use std::cmp::Reverse;
use std::net::IpAddr;
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
    /// Most of one source.
    most_of_source: Option<usize>,
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
    from: IpAddr,
    since: Instant,
    lost: Notify,
    /// The page owes this client something that it cannot hasten.
    waits: AtomicBool,
    /// A body of it is not read to its end.
    unread: AtomicBool,
    progress: Mutex<Progress>,
}

/// Why there is no seat.
#[derive(Debug, PartialEq, Eq)]
enum Full {
    /// Nobody may go yet; then the next one will have settled.
    Until(Instant),
    /// Nobody of its source may go yet.
    OfSource,
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
    /// So many of them, and so many for one source.
    pub(super) fn new(most: usize, most_of_source: Option<usize>) -> Arc<Self> {
        Arc::new(Self {
            most,
            most_of_source,
            taken: Mutex::new(Vec::new()),
        })
    }

    /// Takes a seat for a new client. It waits for no other client, only, where most of them have just come, until one who may
    /// go has settled. `None` where its source has as many as it may, and all of those have just come.
    pub(super) async fn take(self: &Arc<Self>, from: IpAddr) -> Option<Taken> {
        loop {
            match self.try_take(from, Instant::now()) {
                Ok(seat) => {
                    let seats = self.clone();
                    return Some(Taken { seats, seat });
                }
                Err(Full::Until(settled)) => sleep_until(settled).await,
                Err(Full::OfSource) => return None,
            }
        }
    }

    fn try_take(&self, from: IpAddr, now: Instant) -> Result<Arc<Seat>, Full> {
        let mut taken = locked(&self.taken);
        if let Some(most) = self.most_of_source {
            let of_source = taken.iter().filter(|seat| seat.from == from);
            let of_source: Vec<Arc<Seat>> = of_source.cloned().collect();
            if of_source.len() >= most {
                let place = Self::who_goes(&of_source, now).map_err(|_| Full::OfSource)?;
                of_source[place].lost.notify_one();
                taken.retain(|seat| !Arc::ptr_eq(seat, &of_source[place]));
            }
        }
        if taken.len() >= self.most {
            let place = Self::who_goes(&taken, now).map_err(Full::Until)?;
            taken.swap_remove(place).lost.notify_one();
        }
        let seat = Arc::new(Seat::new(from, now));
        taken.push(seat.clone());
        Ok(seat)
    }

    /// Returns the place of the client with the least claim among those who have settled, or when the next will have. A better claim than that of one who has
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
    fn new(from: IpAddr, now: Instant) -> Self {
        Self {
            from,
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
    use std::net::Ipv4Addr;

    use super::*;

    const HERE: IpAddr = IpAddr::V4(Ipv4Addr::LOCALHOST);

    fn after(start: Instant, ms: u64) -> Instant {
        start + Duration::from_millis(ms)
    }

    #[test]
    fn the_seat_of_the_least_progress_goes_to_the_next() {
        let start = Instant::now();
        let seats = Seats::new(3, None);
        let [still, slow, quick] =
            [0, 1, 2].map(|ms| seats.try_take(HERE, after(start, ms)).expect("a seat"));
        slow.moved(2_000, after(start, 100));
        quick.moved(9_000, after(start, 100));
        let held = |seat: &Arc<Seat>| locked(&seats.taken).iter().any(|other| Arc::ptr_eq(other, seat));
        // The one who has to go may settle first.
        assert_eq!(
            seats.try_take(HERE, after(start, 200)).unwrap_err(),
            Full::Until(after(start, 250))
        );
        let next = seats.try_take(HERE, after(start, 250)).expect("a seat");
        assert_eq!([&still, &slow, &quick].map(held), [false, true, true]);
        // While few have settled, nobody goes for one who has done less and may yet do something.
        assert_eq!(
            seats.try_take(HERE, after(start, 251)).unwrap_err(),
            Full::Until(after(start, 252))
        );
        let after_that = seats.try_take(HERE, after(start, 252)).expect("a seat");
        assert_eq!([&slow, &quick, &next].map(held), [false, true, true]);
        // What moved more than two seconds ago counts no more.
        next.moved(9_000, after(start, 2400));
        after_that.moved(2_000, after(start, 2400));
        seats.try_take(HERE, after(start, 2400)).expect("a seat");
        assert_eq!([&quick, &next, &after_that].map(held), [false, true, true]);
    }

    #[test]
    fn who_waits_for_the_page_keeps_the_seat() {
        let start = Instant::now();
        let seats = Seats::new(3, None);
        let [first, last, moves] =
            [0, 1, 2].map(|ms| seats.try_take(HERE, after(start, ms)).expect("a seat"));
        let waiting = [first.waits(), last.waits()];
        moves.moved(1_000_000, after(start, 500));
        let held = |seat: &Arc<Seat>| locked(&seats.taken).iter().any(|other| Arc::ptr_eq(other, seat));
        let next = seats.try_take(HERE, after(start, 500)).expect("a seat");
        assert_eq!([&first, &last, &moves].map(held), [true, true, false]);
        // Where all wait, who came last goes.
        let also = next.waits();
        seats.try_take(HERE, after(start, 1000)).expect("a seat");
        assert_eq!([&first, &last, &next].map(held), [true, true, false]);
        drop((waiting, also));
    }

    #[test]
    fn one_source_takes_no_more_than_its_share() {
        let start = Instant::now();
        let seats = Seats::new(8, Some(2));
        let [first, second] = [0, 1].map(|ms| seats.try_take(HERE, after(start, ms)).expect("a seat"));
        // Nobody else waits for one of them to settle: whoever is one too many is turned away.
        assert_eq!(seats.try_take(HERE, after(start, 2)).unwrap_err(), Full::OfSource);
        let there = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 7));
        let other = seats.try_take(there, after(start, 3)).expect("a seat");
        second.moved(9_000, after(start, 200));
        let third = seats.try_take(HERE, after(start, 260)).expect("a seat");
        let held = |seat: &Arc<Seat>| locked(&seats.taken).iter().any(|taken| Arc::ptr_eq(taken, seat));
        assert_eq!(
            [&first, &second, &third, &other].map(held),
            [false, true, true, true]
        );
    }
}

//! The longest processor time between two checkpoints of one thread, and within one library call, for the test that measures them.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::fs;
use std::panic::Location;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// The processor time of a thread is looked at no more often than this: it takes a microsecond. A gap may so be told this much too long.
const STEP: Duration = Duration::from_millis(3);

/// From so much on a gap is kept.
const KEPT: Duration = Duration::from_millis(15);

static WATCHED: AtomicBool = AtomicBool::new(false);
static LONGEST: Mutex<Longest> = Mutex::new(Longest::none());

thread_local! {
    static LAST: Cell<Option<Last>> = const { Cell::new(None) };
}

/// Where a thread was last, and when its processor time was last looked at.
#[derive(Clone, Copy)]
struct Last {
    place: &'static Location<'static>,
    looked_at: Instant,
    processor: Duration,
}

/// What was found.
pub(crate) struct Longest {
    /// The longest gaps, by the checkpoints before and after them.
    pub(crate) gaps: BTreeMap<(String, String), Duration>,
    /// The longest library calls, by where they are made.
    pub(crate) calls: BTreeMap<String, Duration>,
}

impl Longest {
    const fn none() -> Self {
        Self {
            gaps: BTreeMap::new(),
            calls: BTreeMap::new(),
        }
    }
}

/// What `work` leaves between its checkpoints, on all threads.
pub(crate) fn watch(work: impl FnOnce()) -> Longest {
    WATCHED.store(true, Ordering::SeqCst);
    work();
    WATCHED.store(false, Ordering::SeqCst);
    std::mem::replace(
        &mut *LONGEST.lock().expect("no thread panics with it"),
        Longest::none(),
    )
}

/// Notes that a thread asks here, or that it comes back from a library.
#[track_caller]
pub(super) fn note(from_library: bool) {
    if !WATCHED.load(Ordering::Relaxed) {
        return;
    }
    let (place, now) = (Location::caller(), Instant::now());
    let last = LAST.get();
    if let Some(last) = last
        && now - last.looked_at < STEP
    {
        LAST.set(Some(Last { place, ..last }));
        return;
    }
    let processor = processor_time();
    LAST.set(Some(Last {
        place,
        looked_at: now,
        processor,
    }));
    let Some(last) = last else { return };
    let gap = processor.saturating_sub(last.processor);
    if gap < KEPT {
        return;
    }
    let mut longest = LONGEST.lock().expect("no thread panics with it");
    let known = if from_library {
        longest.calls.entry(place.to_string()).or_default()
    } else {
        let between = (last.place.to_string(), place.to_string());
        longest.gaps.entry(between).or_default()
    };
    *known = gap.max(*known);
}

/// Processor time of this thread (proc_pid_schedstat: the first number, ns), to the tick of the scheduler, some 4 ms.
fn processor_time() -> Duration {
    let stat = fs::read_to_string("/proc/thread-self/schedstat").expect("Linux tells it");
    let nanoseconds = stat.split(' ').next().and_then(|number| number.parse().ok());
    Duration::from_nanos(nanoseconds.expect("a number"))
}

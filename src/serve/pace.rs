//! Limits how slow a client may be.

use std::time::Duration;

use tokio::time::Instant;

/// The least rate of bytes: a client that is behind by more than `grace` is not waited for.
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    /// Time that a client may be behind: at the start, and when it stands still.
    pub grace: Duration,
    /// Bytes that have to move in each second.
    pub bytes_per_second: u32,
}

/// When the next bytes are due.
#[derive(Clone, Copy, Debug)]
pub(super) struct Due {
    pace: Pace,
    at: Instant,
}

impl Pace {
    /// Returns when the first bytes are due of what begins at `start`.
    pub(super) fn from(self, start: Instant) -> Due {
        Due {
            pace: self,
            at: start + self.grace,
        }
    }
}

impl Due {
    /// Returns when the client is behind by more than it may be.
    pub(super) fn at(self) -> Instant {
        self.at
    }

    /// Counts moved bytes. Haste now earns no pause later.
    pub(super) fn moved(&mut self, bytes: usize, now: Instant) {
        let bought = Duration::from_secs_f64(bytes as f64 / f64::from(self.pace.bytes_per_second));
        self.at = (self.at + bought).min(now + self.pace.grace);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PACE: Pace = Pace {
        grace: Duration::from_secs(10),
        bytes_per_second: 16_000,
    };

    /// The second at which a client is given up that takes `bytes` in each of the first `seconds`.
    fn given_up(seconds: u64, bytes: usize) -> f64 {
        let start = Instant::now();
        let mut due = PACE.from(start);
        for second in 1..=seconds {
            let now = start + Duration::from_secs(second);
            if due.at() < now {
                return (due.at() - start).as_secs_f64();
            }
            due.moved(bytes, now);
        }
        (due.at() - start).as_secs_f64()
    }

    #[test]
    fn a_client_that_keeps_the_pace_is_never_given_up() {
        assert_eq!(given_up(100_000, 16_000), 100_010.0);
    }

    #[test]
    fn one_that_does_not_is_given_up_when_it_is_behind_by_the_grace() {
        assert_eq!(given_up(0, 0), 10.0);
        // At half the pace it loses half a second in each, until the twentieth comes too late.
        assert_eq!(given_up(100_000, 8_000), 19.5);
        assert!((given_up(100_000, 1) - 10.0).abs() < 0.001);
    }

    #[test]
    fn haste_buys_no_standing_still() {
        assert_eq!(given_up(5, 100_000_000), 15.0);
    }
}

use crate::cancel::checkpoint;
use crate::finding::Finding;
use crate::message::message;

/// How many findings of one name are kept one by one.
const PLACED: usize = 50;

/// Collects the findings of a check: keeps the first 50, counts the rest without building them.
#[derive(Default)]
pub struct Sink {
    findings: Vec<Finding>,
    left_out: usize,
}

impl Sink {
    /// Adds the finding that `make` builds, or only counts it.
    pub fn push(&mut self, make: impl FnOnce() -> Finding) {
        checkpoint();
        if self.findings.len() < PLACED {
            self.findings.push(make());
        } else {
            self.left_out += 1;
        }
    }

    /// Returns the findings; where some were left out, the first of the worst states how many there are in all.
    pub fn finish(mut self) -> Vec<Finding> {
        let worst = self.findings.iter_mut().min_by_key(|finding| finding.severity);
        if let (Some(worst), 1..) = (worst, self.left_out) {
            let all = PLACED + self.left_out;
            worst.message += message!("; first of {}", all);
        }
        self.findings
    }
}

use crate::cancel::checkpoint;
use crate::finding::Finding;

/// How many findings of one name are kept one by one.
const PLACED: usize = 50;

/// Collects the findings of a check: keeps the first 50, counts the rest without building them.
#[derive(Default)]
pub struct Sink {
    findings: Vec<Finding>,
    not_listed: usize,
}

impl Sink {
    /// Adds the finding that `make` builds, or only counts it.
    pub fn push(&mut self, make: impl FnOnce() -> Finding) {
        checkpoint();
        if self.findings.len() < PLACED {
            self.findings.push(make());
        } else {
            self.not_listed += 1;
        }
    }

    /// Returns the findings; the first of the worst counts those that were left out.
    pub fn finish(mut self) -> Vec<Finding> {
        if let Some(worst) = self.findings.iter_mut().min_by_key(|finding| finding.severity) {
            worst.not_listed = self.not_listed;
        }
        self.findings
    }
}

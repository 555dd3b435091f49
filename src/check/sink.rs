use crate::finding::{Finding, Quantity};

/// How many findings of one name are placed one by one.
const PLACED: usize = 50;

/// Takes a check's findings: keeps the first 50, counts the rest without building them.
#[derive(Default)]
pub struct Sink {
    findings: Vec<Finding>,
    left_out: usize,
}

impl Sink {
    /// Takes the finding that `make` builds, or only counts it.
    pub fn push(&mut self, make: impl FnOnce() -> Finding) {
        if self.findings.len() < PLACED {
            self.findings.push(make());
        } else {
            self.left_out += 1;
        }
    }

    /// The findings, and one more that counts those left out.
    pub fn finish(mut self) -> Vec<Finding> {
        if let (Some(first), true) = (self.findings.first(), self.left_out > 0) {
            let all = self.findings.len() + self.left_out;
            let count = Finding::new(
                first.name,
                first.severity,
                format!("{all} such places in all; the first {PLACED} are listed"),
                first.remedy.clone(),
            )
            .measured(Quantity::count(all));
            self.findings.push(count);
        }
        self.findings
    }
}

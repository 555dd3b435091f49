//! The only maker of findings, from typed facts that the rooms below return. One file a check, one table.

mod sink;

use crate::contour::Contours;
use crate::drawing::Drawing;
use crate::finding::{Finding, Severity};
use crate::path::Paths;

pub use sink::Sink;

/// How far down the pipeline a check has to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// The drawing alone.
    Drawing,
    /// Its contours.
    Contour,
    /// The wire's paths.
    Path,
}

/// One check: its file holds this, built as a constant.
pub struct Check {
    /// Name of the findings it makes, kebab-case.
    pub name: &'static str,
    /// How far it looks.
    pub stage: Stage,
    /// How bad its findings are at worst.
    pub severity: Severity,
    /// What it looks for, one or two sentences.
    pub looks_for: &'static str,
    /// Why it matters at the machine.
    pub why: &'static str,
    /// What to do about it.
    pub what_to_do: &'static str,
    /// Looks, and puts what it finds into the sink.
    pub run: fn(&Subject<'_>, &mut Sink),
}

/// What a check may look at.
pub struct Subject<'a> {
    /// The drawing.
    pub drawing: &'a Drawing,
    /// Its contours, and the facts found while making them.
    pub contours: &'a Contours,
    /// The wire's paths, when planned.
    pub paths: Option<&'a Paths>,
}

/// Every check, in the order of the pipeline.
pub const ALL: &[&Check] = &[];

/// Runs every check up to `stage`; findings come back worst first, each name's first 50 placed one by one and
/// the rest counted.
pub fn run(subject: &Subject<'_>, stage: Stage) -> Vec<Finding> {
    let mut findings = Vec::new();
    for check in ALL.iter().filter(|check| check.stage <= stage) {
        let mut sink = Sink::default();
        (check.run)(subject, &mut sink);
        findings.extend(sink.finish());
    }
    findings.sort_by_key(|finding| finding.severity);
    findings
}

/// The check of that name.
pub fn find(name: &str) -> Option<&'static Check> {
    ALL.iter().copied().find(|check| check.name == name)
}

use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::message::{message, of_unit, um_of_mm};
use crate::pass::Borrowed;

/// Spark gaps of steel in another material.
pub(super) const CHECK: Check = Check {
    name: "gaps-from-steel",
    title: "spark gaps taken from steel",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Materials that are no steel, and for which the book has neither a recipe nor a gauged gap of their own.",
    why: "The pass table is made for steel. In carbide gaps are smaller, in aluminium larger (from memory, not verified): the \
          offset is off by the difference, on every wall.",
    what_to_do: "Cut and gauge a test piece of this material, and put its gaps into a recipe of its own in the book.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_borrowed(&CHECK, sink, |group, borrowed| {
        let Borrowed::Gaps { material, factor } = borrowed else {
            return None;
        };
        let offset = group.schedule.traces.last()?.offset.value;
        Some(message!(
            "gaps are those of steel; in {} {} to {} of them: last offset {} to {}",
            material,
            of_unit(factor.band.low, "").fixed(2),
            of_unit(factor.band.high, "").fixed(2),
            um_of_mm(offset.low).fixed(1).bare(),
            um_of_mm(offset.high).fixed(1)
        ))
    });
}

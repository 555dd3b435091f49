use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;
use crate::message::{message, mm, mm_per_min, of_unit};
use crate::pass::Borrowed;

/// Work thinner or thicker than the book's numbers are made for.
pub(super) const CHECK: Check = Check {
    name: "thickness-beyond-book",
    title: "thickness beyond the shop data",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Work thinner than `thin_below_mm` or thicker than `made_to_mm` under `rule.thickness` of the book, without a \
                recipe that names its thickness.",
    why: "Feeds in thin sheet, and skims and gaps in thick work, are continued by rule from where the book's numbers were made: \
          times and offsets are less sure than inside.",
    what_to_do: "Time and gauge a test piece of this thickness, and put it into a recipe of the shop data.",
    options: "`thickness_mm` of a recipe in the book",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    subject.report_borrowed(&CHECK, sink, |group, borrowed| {
        let Borrowed::Thickness(beyond) = borrowed else {
            return None;
        };
        let feed = group.schedule.traces.first()?.feed.value;
        let (side, opens) = if beyond.is_thin() {
            ("below", "maybe faster")
        } else {
            ("above", "rates and gaps maybe off by more,")
        };
        Some(message!(
            "{} is {} the {} that rates are made for: {} by {} times; rough feed {} to {}",
            mm(beyond.thickness_mm),
            side,
            mm(beyond.limit_mm),
            opens,
            of_unit(beyond.times, "").fixed(1),
            mm_per_min(feed.low).fixed(2).bare(),
            mm_per_min(feed.high).fixed(2)
        ))
    });
}

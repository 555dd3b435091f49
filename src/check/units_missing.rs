use super::{Check, Sink, Stage, Subject};
use crate::drawing::UnitsSource;
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{message, mm};

/// The drawing does not say its unit.
pub(super) const CHECK: Check = Check {
    name: "units-missing",
    title: "unit missing",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "A drawing whose header names no unit ($INSUNITS absent, 0, or a code of no meaning).",
    why: "Read in the wrong unit, a part comes out 25.4 times too large or too small, and nothing in the shape tells.",
    what_to_do: "Compare one dimension with the print, then give the unit.",
    options: "`--drawing-unit mm`, or `--drawing-unit inch`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let drawing = subject.drawing;
    let reason = match drawing.units.source {
        UnitsSource::Measurement => "as its $MEASUREMENT hints",
        UnitsSource::Assumed => "for want of any hint",
        UnitsSource::Drawing | UnitsSource::Option => return,
    };
    let said = match drawing.insunits {
        None => "the drawing names no unit".to_owned(),
        Some(0) => "the drawing says that it has no unit ($INSUNITS 0)".to_owned(),
        Some(code) => format!("the drawing names unit {code}, which does not exist"),
    };
    let bounds = subject.curve_bounds();
    let (width, height) = (bounds.width().max(0.0), bounds.height().max(0.0));
    let name = drawing.units.name;
    sink.push(|| {
        let finding = Finding::new(
            CHECK.name,
            CHECK.severity,
            message!(
                "{}; it was read in {} {}, which makes it {} x {}",
                said,
                name,
                reason,
                mm(width).fixed(3).bare(),
                mm(height).fixed(3)
            ),
            "compare one dimension with the print, then give the unit",
        );
        let finding = finding.measured(Quantity::mm(width.max(height)));
        finding.mended_by(["mm", "inch"].map(Mend::Unit).into())
    });
}

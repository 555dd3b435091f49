use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{Message, message, mm};
use crate::tolerance::{LARGEST_PART_MM, SMALLEST_PART_MM};
use crate::units::{Unit, unit_named};

/// A size that no part for wire EDM has.
pub(super) const CHECK: Check = Check {
    name: "units-implausible",
    title: "unit implausible",
    stage: Stage::Drawing,
    severity: Severity::Warning,
    looks_for: "A drawing that is larger in its unit than a wire EDM machine can hold, or smaller than a part one can clamp.",
    why: "Headers often say inch for drawings in mm, or the reverse: the part then comes out 25.4 times too large or too small.",
    what_to_do: "Compare one dimension with the print; if the unit is wrong, give the right one.",
    options: "`--drawing-unit`",
    run,
};

/// Units that drawings of parts are made in, likeliest first.
const LIKELY: [&str; 4] = ["mm", "inch", "cm", "m"];

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let units = &subject.drawing.units;
    let bounds = subject.curve_bounds();
    if bounds.is_empty() {
        return;
    }
    let size = bounds.width().max(bounds.height());
    let (limit, how) = if size > LARGEST_PART_MM {
        (LARGEST_PART_MM, "larger than a machine can hold")
    } else if size < SMALLEST_PART_MM {
        (SMALLEST_PART_MM, "smaller than a part that can be clamped")
    } else {
        return;
    };
    let drawn = size / units.factor_to_mm;
    let fits = |unit: &Unit| (SMALLEST_PART_MM..=LARGEST_PART_MM).contains(&(drawn * unit.factor_to_mm));
    let likely: Vec<Unit> = LIKELY.into_iter().filter_map(unit_named).filter(fits).collect();
    let sizes = likely.iter().map(|unit| {
        message!(
            "; in {} it would be {}",
            unit.name,
            mm(drawn * unit.factor_to_mm).fixed(3)
        )
    });
    let sizes = Message::joined(sizes, "");
    let mends = || likely.iter().map(|unit| Mend::Unit(unit.name)).collect();
    sink.push(|| {
        Finding::new(
            CHECK.name,
            CHECK.severity,
            message!(
                "read in {}, the drawing is {} across, {} (limit {}){}",
                units.name,
                mm(size).fixed(3),
                how,
                mm(limit),
                sizes
            ),
            CHECK.remedy(),
        )
        .mended_by(mends())
        .at(bounds.center())
        .measured(Quantity::mm(size))
        .limit(Quantity::mm(limit))
    });
}

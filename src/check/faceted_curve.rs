use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::units::UM_PER_MM;

/// Chords that stand for a curve.
pub(super) const CHECK: Check = Check {
    name: "faceted-curve",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Runs of short chords that stand for an arc or a smooth curve: an exploded spline, a faceted circle.",
    why: "The wire cuts the chords: the wall is flat between the joints and short of the curve by the chord error.",
    what_to_do: "Have the curve itself in the drawing, or replace the chords with `--refit` and a tolerance.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for facets in &subject.contours.facts.facets {
        sink.push(|| {
            let run = &facets.run;
            let what = match run.radius_mm {
                Some(radius_mm) => format!("an arc of radius {radius_mm:.4} mm"),
                None => "a smooth curve".to_owned(),
            };
            let error_um = run.chord_error_mm * UM_PER_MM;
            let taken = match facets.deviation_mm {
                Some(deviation_mm) => {
                    format!(
                        "; they were replaced by arcs within {:.3} µm",
                        deviation_mm * UM_PER_MM
                    )
                }
                None => String::new(),
            };
            let message = format!(
                "{} chords stand for {what}, off it by up to {error_um:.3} µm{taken}",
                run.count
            );
            let finding = Finding {
                contour: facets.contour,
                ..Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
            };
            let finding = finding.measured(Quantity::um_of_mm(run.chord_error_mm));
            subject.about_curves(finding, &[facets.curve]).at(run.at)
        });
    }
}

use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Mend, Quantity, Severity};
use crate::message::{message, mm, um_of_mm};

/// Chords that stand for a curve.
pub(super) const CHECK: Check = Check {
    name: "faceted-curve",
    title: "curve made of chords",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Runs of short chords that stand for an arc or a smooth curve: an exploded spline, a faceted circle.",
    why: "The wire cuts the chords: the wall is flat between the joints and short of the curve by the chord error.",
    what_to_do: "Have the curve itself in the drawing, or let lines and arcs take the place of the chords, within a tolerance.",
    options: "`--refit` with the tolerance",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for facets in &subject.contours.facts.facets {
        sink.push(|| {
            let run = &facets.run;
            let what = match run.radius_mm {
                Some(radius_mm) => message!("an arc of radius {}", mm(radius_mm).fixed(4)),
                None => "a smooth curve".into(),
            };
            let taken = facets.deviation_mm.map(|deviation_mm| {
                message!(
                    "; they were replaced by arcs within {}",
                    um_of_mm(deviation_mm).fixed(3)
                )
            });
            let message = message!(
                "{} chords stand for {}, off it by up to {}{}",
                run.count,
                what,
                um_of_mm(run.chord_error_mm).fixed(3),
                taken
            );
            let finding = Finding {
                contour: facets.contour,
                ..Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
            };
            let finding = finding.measured(Quantity::um_of_mm(run.chord_error_mm));
            // What is replaced already needs no more.
            let finding = match facets.deviation_mm {
                None => finding.mended_by(vec![Mend::refitting(run.chord_error_mm)]),
                Some(_) => finding,
            };
            subject.about_curves(finding, &[facets.curve]).at(run.at)
        });
    }
}

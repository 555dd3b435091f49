use super::{Check, Sink, Stage, Subject, counted};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};
use crate::tolerance::SHORT_SEGMENT_MM;

/// Very short segments.
pub(super) const CHECK: Check = Check {
    name: "crumb-segments",
    title: "tiny segments",
    stage: Stage::Contour,
    severity: Severity::Note,
    looks_for: "Very short segments in contours to be cut, and those that were taken out because they are shorter than the join tolerance.",
    why: "Tiny segments come from rounding or careless trimming; a control may dwell on each and mark the wall.",
    what_to_do: "Where they are no part of the shape, have them cleaned in the drawing, or let lines and arcs take the place of runs that sample a curve.",
    options: "`--refit`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let facts = &subject.contours.facts;
    for crumbs in &facts.crumbs {
        sink.push(|| {
            let message = format!(
                "{} within the join tolerance {} taken out of the contour here",
                counted(crumbs.count, "segment"),
                if crumbs.count == 1 { "was" } else { "were" }
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .measured(Quantity::count(crumbs.count));
            subject.about_curves(finding, &[crumbs.curve]).at(crumbs.at)
        });
    }
    for short in &facts.short_segments {
        sink.push(|| {
            let message = message!(
                "{} shorter than {}, the shortest {}",
                counted(short.count, "segment"),
                um_of_mm(SHORT_SEGMENT_MM),
                um_of_mm(short.shortest_mm).fixed(3)
            );
            let finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .on_contour(short.contour)
                .measured(Quantity::um_of_mm(short.shortest_mm))
                .limit(Quantity::um_of_mm(SHORT_SEGMENT_MM));
            subject.about_curves(finding, &[short.curve]).at(short.at)
        });
    }
}

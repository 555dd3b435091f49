use super::question_words::{in_words, leaves_side_open};
use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Quantity, Severity};
use crate::question::Question;

/// The drawing and what was given leave open which side of a contour stays.
pub(super) const CHECK: Check = Check {
    name: "side-unclear",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Contours to be cut of which both sides could be the one that stays: the curve around them is given as one that bounds \
                nothing, they are equal pieces or openings, a side is given for contours that lie inside one another, or a name says \
                the other side.",
    why: "Cut on the wrong side, the wall is a whole kerf and more too deep. No path and no price are made of such a contour.",
    what_to_do: "Answer with `--contour N=part` or `--contour N=opening`, or in the job file; `--assume-sides` takes the first reading of \
                 every question, and says so.",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for question in subject
        .questions
        .open()
        .filter(|question| leaves_side_open(question))
    {
        sink.push(|| finding(&CHECK, subject, question));
    }
}

/// Makes the finding of an open question.
pub(super) fn finding(check: &Check, subject: &Subject<'_>, question: &Question) -> Finding {
    let words = in_words(question, subject.drawing, subject.contours, subject.questions);
    let answers: Vec<String> = words
        .readings
        .iter()
        .map(|reading| format!("`{}` ({})", reading.options, reading.says))
        .collect();
    let count: usize = question.cases.iter().map(|case| case.contours.len()).sum();
    let finding = Finding::new(
        check.name,
        check.severity,
        format!("{} {}", words.asks, words.why),
        format!("give {}", answers.join(", or ")),
    );
    let first = question
        .cases
        .first()
        .and_then(|case| case.contours.first())
        .copied();
    let contour = first.and_then(|id| subject.contours.get(id));
    let finding = finding.measured(Quantity::count(count));
    match contour {
        Some(contour) => subject
            .about_curves(finding.on_contour(contour.id), &contour.curves)
            .at(contour.bounds.min),
        None => finding,
    }
}

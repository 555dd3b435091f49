use super::question_words::{finding, leaves_side_open};
use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;

/// The drawing leaves open what a curve is for.
pub(super) const CHECK: Check = Check {
    name: "purpose-unclear",
    title: "what it is for",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Curves that are often drawn and seldom cut: frames of sheets, pitch circles, counterbores, tapped holes, small circles like start \
                holes, closed curves of broken linetypes, straight lines that close nothing; open lines that run through the material; and curves across an edge \
                that is there already.",
    why: "Cut though it should not be, such a curve costs material that stays; read as an edge, it swaps inside and outside. No path and no \
          price are made of what hangs on it.",
    what_to_do: "Answer the question, or take the first reading of every question, which is then stated as assumed.",
    options: "`--contour N=PURPOSE`, `--assume-sides`, or the job file",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for question in subject
        .questions
        .open()
        .filter(|question| !leaves_side_open(question))
    {
        sink.push(|| finding(&CHECK, subject, question));
    }
}

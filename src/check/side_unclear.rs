use super::question_words::{finding, leaves_side_open};
use super::{Check, Sink, Stage, Subject};
use crate::finding::Severity;

/// The drawing and what was given leave open which side of a contour stays.
pub(super) const CHECK: Check = Check {
    name: "side-unclear",
    title: "which side stays",
    stage: Stage::Contour,
    severity: Severity::Error,
    looks_for: "Contours to be cut of which both sides could be the one that stays: the curve around them is given as one that bounds \
                nothing, they are equal pieces or openings, a side is given for contours that lie inside one another, or a name says \
                the other side; and trims of which no side is given and either may be waste.",
    why: "Cut on the wrong side, the wall is a whole kerf and more too deep. No path and no price are made of such a contour.",
    what_to_do: "Answer the question, or take the first reading of every question, which is then stated as assumed.",
    options: "`--contour N=part`, `--contour N=opening`, `--keep N=X,Y` of a trim, `--assume-sides`, or the job file",
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

use super::path_words::{refusal_in_words, refusal_remedy};
use super::{Check, Sink, Stage, Subject};
use crate::finding::{Finding, Severity};
use crate::message::message;

/// Passes for which there is no verified path.
pub(super) const CHECK: Check = Check {
    name: "path-refused",
    title: "no path",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Passes of a contour for which no wire path passed the verifier, or none can exist: the contour is open, \
                crosses itself or encloses nothing.",
    why: "A path that is not proved is not shown. Lengths and times that need it are left empty, never smaller.",
    what_to_do: "Correct the contour at the place given; if it is sound there, keep the drawing and report it.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(toolpaths) = subject.toolpaths else {
        return;
    };
    // Where the side is unclear, another check tells it.
    for refusal in &toolpaths.refusals {
        sink.push(|| {
            let why = refusal_in_words(refusal.reason);
            let message = message!("pass {} has no path: {}", refusal.pass, why);
            Finding::new(
                CHECK.name,
                CHECK.severity,
                message,
                refusal_remedy(refusal.reason),
            )
            .at(refusal.at)
            .on_contour(refusal.contour)
        });
    }
}

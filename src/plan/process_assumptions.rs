//! States what the process takes for granted, in words.

use crate::message::{Message, message, of_unit};
use crate::process::ProcessAssumption;

/// Returns the sentence for the top of every output.
pub(super) fn assumption_in_words(assumption: ProcessAssumption) -> Message {
    match assumption {
        ProcessAssumption::SharpCorners { limit } => message!(
            "outside corners of the path run sharp up to {} offsets from those of the contour, else rolled",
            of_unit(limit, "")
        ),
        ProcessAssumption::StartNotUsed { contour } => {
            message!("contour {}, for which a start is given, is not cut", contour)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::ContourId;

    #[test]
    fn every_assumption_has_its_sentence() {
        let sharp = ProcessAssumption::SharpCorners { limit: 1.5 };
        assert_eq!(
            assumption_in_words(sharp),
            "outside corners of the path run sharp up to 1.5 offsets from those of the contour, else rolled"
        );
        let contour = ContourId::nth(3);
        assert_eq!(
            assumption_in_words(ProcessAssumption::StartNotUsed { contour }),
            "contour 3, for which a start is given, is not cut"
        );
    }
}

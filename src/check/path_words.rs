//! Says in words why a pass has no path, a contour is not cut as a whole, a slug is not cleared away, and which limit of the
//! machine is passed: findings and every output say it alike.

use std::collections::BTreeSet;

use crate::message::{Message, message, mm};
use crate::process::{BeyondMachine, MachineLimit, NotCoreless, SlugReason, WeighedSlug};
use crate::toolpath::{Incomplete, IncompleteReason, PathFault, RefusalReason};

/// Says why no path of a contour could be verified: lower case, no full stop.
pub fn refusal_in_words(reason: RefusalReason) -> Message {
    match reason {
        RefusalReason::Open => "the contour is open, so it has no side to keep".into(),
        RefusalReason::SlitClosed => "a slit is an open line, and a closed trim crosses one edge twice: this one is closed and does not".into(),
        RefusalReason::SideOpen { contour } => {
            format!("which side of contour {contour} stays is not settled, so it is open where material is")
                .into()
        }
        RefusalReason::MeetsNoMaterial => "the slit meets nothing that is kept".into(),
        RefusalReason::RunsAlongEdge { contour } => {
            format!("the slit runs along the edge of contour {contour}").into()
        }
        RefusalReason::RunOutCutsWall { contour } => {
            format!("on its way out of the material the wire would cut into contour {contour}").into()
        }
        RefusalReason::LeavesTooFlat => {
            "the slit leaves the material at too flat an angle: its run-out would go on cutting".into()
        }
        RefusalReason::SeveralParts => "the slit lies in more than one of the parts that are cut out".into(),
        RefusalReason::NoPlaceToStart => {
            "the slit ends in the material at both ends, and no hole is drawn at either".into()
        }
        RefusalReason::NoOutline => {
            "the slit ends in material of which nothing in the drawing says where it ends".into()
        }
        RefusalReason::KerfMeetsItself => {
            "the kerf of the slit closes round a piece, which would drop".into()
        }
        RefusalReason::CutsPieceOff => {
            "the slit cuts off more than one piece, or one before its end or out of a part that is cut out, which is not planned".into()
        }
        RefusalReason::WideSlitParts => {
            "the slit cuts a piece off: with its first wall the piece would drop with what lies between the walls".into()
        }
        RefusalReason::SlitNarrow { width_mm, needed_mm } => message!(
            "the slit is {} wide, and its passes need {}",
            mm(width_mm).fixed(3),
            mm(needed_mm).fixed(3)
        ),
        RefusalReason::SlitTurnsTooTight => "the line turns too tightly for so wide a slit".into(),
        RefusalReason::EndsInMaterial => "the trim ends in the material".into(),
        RefusalReason::PartsNothing => {
            "the trim runs from one edge to another: nothing drops, and it has no side to keep".into()
        }
        RefusalReason::CrossesEdgesAgain => "the trim crosses edges more than twice".into(),
        RefusalReason::TrimsCutPart { contour } => {
            format!("the trim cuts the outline of contour {contour}, which is cut out in the same job").into()
        }
        RefusalReason::KeptSideNotGiven => "it is not given which side of the trim stays".into(),
        RefusalReason::KeepsElsewhere => {
            "the place that the trim is to keep lies on neither side of it, or where no material is".into()
        }
        RefusalReason::WasteHasNoEnd => {
            "the trim is to keep a piece of the wall of an opening, and all the rest would be waste".into()
        }
        RefusalReason::TrimSplits => {
            "what is cut off has a neck that the wire does not pass, or falls into several pieces".into()
        }
        RefusalReason::NoLoop => "the contour cannot be offset: it is not a loop".into(),
        RefusalReason::NotFinite => {
            "the contour cannot be offset: a coordinate is not a finite number".into()
        }
        RefusalReason::NoArea => "the contour cannot be offset: it encloses no area".into(),
        RefusalReason::CrossesItself => "the contour crosses itself, so it has no side to keep".into(),
        RefusalReason::OffsetTooSmall { offset_mm } => {
            message!(
                "an offset of {} cannot be verified: it is too small or no number",
                mm(offset_mm)
            )
        }
        RefusalReason::NoneVerified(fault) => format!(
            "no path passed the verifier: the best one {}",
            fault_in_words(fault)
        )
        .into(),
        RefusalReason::NoneFound => "no path was found: every attempt failed".into(),
        RefusalReason::OnlySkimmed { first } => {
            format!("the wire has no room here, and pass {first} would be the first in this place").into()
        }
    }
}

/// Says what to do about it: lower case, no full stop.
pub const fn refusal_remedy(reason: RefusalReason) -> &'static str {
    match reason {
        RefusalReason::Open => {
            "close the contour; if the wire is to run along the line, with material left on both sides, give it the purpose slit"
        }
        RefusalReason::SlitClosed => {
            "draw it as an open line, or give the contour the purpose part or opening"
        }
        RefusalReason::SideOpen { .. } => "settle that side first: answer its question",
        RefusalReason::MeetsNoMaterial => {
            "draw the line through the material, or give the outline round it its purpose"
        }
        RefusalReason::RunsAlongEdge { .. } => "move the line off the edge",
        RefusalReason::RunOutCutsWall { .. } => {
            "end the line where the wire has room to run out, or in the material at a drawn hole"
        }
        RefusalReason::LeavesTooFlat => "let the line cross the edge more steeply",
        RefusalReason::SeveralParts => "draw one line for each part",
        RefusalReason::NoPlaceToStart => {
            "draw the hole it starts from, as ready hole or start hole, or run one end out of the material"
        }
        RefusalReason::NoOutline => {
            "draw the outline of the part or of the blank, with the purpose existing or blank where it is not cut"
        }
        RefusalReason::KerfMeetsItself => {
            "leave more than the kerf between the turns of the line, or draw what drops as an opening"
        }
        RefusalReason::CutsPieceOff => {
            "end the slit in the material, or draw the pieces closed, each with its own outline"
        }
        RefusalReason::WideSlitParts => {
            "give no width, so that it parts the work one kerf wide, or draw each wall as a trim of its own in a job of its own"
        }
        RefusalReason::SlitNarrow { .. } => {
            "take fewer passes or finer wire, make it wider, or give no width: it is one kerf wide then"
        }
        RefusalReason::SlitTurnsTooTight => {
            "draw the slit closed, as an opening or with the edge that it runs into"
        }
        RefusalReason::EndsInMaterial => "run both ends of the trim out over the edge",
        RefusalReason::PartsNothing => "if material is to stay on both sides, give the line the purpose slit",
        RefusalReason::CrossesEdgesAgain => "draw one line for each stretch of edge that is trimmed",
        RefusalReason::TrimsCutPart { .. } => "draw the outline as it shall be, closed",
        RefusalReason::KeptSideNotGiven | RefusalReason::KeepsElsewhere => {
            "give a place in the material on the side that stays (keep, with x and y)"
        }
        RefusalReason::WasteHasNoEnd => "draw the piece closed, as a part",
        RefusalReason::TrimSplits => "draw what is cut off without the neck, or one line for each piece",
        RefusalReason::NoLoop
        | RefusalReason::NotFinite
        | RefusalReason::NoArea
        | RefusalReason::CrossesItself
        | RefusalReason::OffsetTooSmall { .. }
        | RefusalReason::NoneVerified(_)
        | RefusalReason::NoneFound
        | RefusalReason::OnlySkimmed { .. } => "correct the contour at this place",
    }
}

/// Says what is wrong with a path, for "the path …".
const fn fault_in_words(fault: PathFault) -> &'static str {
    match fault {
        PathFault::TooNear => "comes nearer to the contour than the offset",
        PathFault::TooFar => "strays farther from the contour than the offset",
        PathFault::WrongSide => "lies on the wrong side of the contour",
        PathFault::Backwards => "runs the wrong way round",
        PathFault::Missing => "leaves out a place that the wire can reach",
        PathFault::Doubled => "runs twice along the same line",
        PathFault::Crosses => "crosses itself",
    }
}

/// Says why a slug is not cleared away: lower case, no full stop.
pub fn not_coreless_in_words(why: NotCoreless) -> Message {
    match why {
        NotCoreless::Splits { deep_mm, regions } => message!(
            "{} inside the rough path it falls into {} regions, each with a start hole of its own",
            mm(deep_mm).fixed(3),
            regions
        ),
        NotCoreless::TooLarge { rings, most } => {
            format!("it would take about {rings:.0} rings, more than {most}").into()
        }
        NotCoreless::Refused(reason) => refusal_in_words(reason),
        NotCoreless::NotCleared => "no ring clears what the one outside it leaves".into(),
        NotCoreless::OutOfSight => "the wall stands between the start hole and the innermost ring".into(),
    }
}

/// Says how a slug is removed and why, with what clearing it away costs against a stop.
pub fn weighed_in_words(weighed: &WeighedSlug) -> String {
    let cost = weighed.cost_ratio.map_or_else(
        || "where a stop takes no time".to_owned(),
        |ratio| format!("{ratio:.1} times the cost of a stop"),
    );
    let least = if weighed.is_least { "at least " } else { "" };
    let against = format!("{least}{:.1} min, {cost}", weighed.coreless_min);
    match weighed.reason {
        SlugReason::Asked => format!("coreless as given: {against}"),
        SlugReason::NoDearer => format!("coreless, no dearer: {against}"),
        SlugReason::CannotBeHeld => format!("coreless, too small to be held at a stop: {against}"),
        SlugReason::Dearer => format!("stop, since coreless would take {against}"),
    }
}

/// Says which limit of the machine is passed.
pub fn limit_in_words(beyond: &BeyondMachine) -> Message {
    let machine = &beyond.machine;
    match beyond.limit {
        MachineLimit::Travel {
            axis,
            wanted_mm,
            limit_mm,
        } => message!(
            "the wire path spans {} along {}, machine {} travels {}",
            mm(wanted_mm).fixed(3),
            axis,
            machine,
            mm(limit_mm)
        ),
        MachineLimit::Height { wanted_mm, limit_mm } => {
            message!(
                "the work is {} thick, machine {} takes {}",
                mm(wanted_mm),
                machine,
                mm(limit_mm)
            )
        }
        MachineLimit::Load { wanted_kg, limit_kg } => {
            format!("the work weighs about {wanted_kg:.1} kg, machine {machine} carries {limit_kg} kg").into()
        }
        MachineLimit::Wire {
            wanted_mm,
            runs_mm: (thinnest_mm, thickest_mm),
        } => {
            message!(
                "{} wire is wanted, machine {} runs {} to {}",
                mm(wanted_mm),
                machine,
                mm(thinnest_mm).bare(),
                mm(thickest_mm)
            )
        }
        MachineLimit::Passes { wanted, limit } => {
            format!("{wanted} passes are wanted, machine {machine} has settings for {limit}").into()
        }
    }
}

/// Says why a contour cannot be cut as a whole.
pub fn incomplete_sentence(incomplete: Incomplete) -> String {
    let contour = incomplete.contour;
    match incomplete.reason {
        IncompleteReason::Open => format!("contour {contour} is open"),
        IncompleteReason::QuestionOpen => format!("a question about contour {contour} is open"),
        IncompleteReason::Crosses { other } => {
            let (first, second) = (contour.min(other), contour.max(other));
            format!("contours {first} and {second} pass through each other")
        }
        IncompleteReason::PathRefused { pass } => format!("contour {contour} has no path in pass {pass}"),
        IncompleteReason::NoRoom { pass } => {
            format!("contour {contour} has no room for the wire in pass {pass}")
        }
        IncompleteReason::SlotNotEntered => {
            format!("the wire does not enter a slot of contour {contour}")
        }
    }
}

/// Says why contours cannot be cut as a whole, a sentence each: two that cross have one together, and where there are many,
/// the last says how many more there are.
pub fn incomplete_in_words(incomplete: &[Incomplete]) -> Vec<String> {
    const NAMED: usize = 3;
    let mut told = BTreeSet::new();
    let sentences = incomplete.iter().copied().map(incomplete_sentence);
    let mut sentences: Vec<String> = sentences.filter(|words| told.insert(words.clone())).collect();
    let more = sentences.len().saturating_sub(NAMED);
    if more > 1 {
        sentences.truncate(NAMED);
        sentences.push(format!("and {more} more like these"));
    }
    sentences
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::{ContourId, PassNo};

    /// Every reason and every fault with its sentence: a reason more does not compile without a sentence, and one changed is seen.
    #[test]
    fn every_reason_has_its_sentence() {
        use PathFault::{Backwards, Crosses, Doubled, Missing, TooFar, TooNear, WrongSide};
        use RefusalReason::{
            CrossesItself, NoArea, NoLoop, NoneFound, NoneVerified, NotFinite, OffsetTooSmall, OnlySkimmed,
            Open,
        };
        let sentences = [
            (Open, "the contour is open, so it has no side to keep"),
            (NoLoop, "the contour cannot be offset: it is not a loop"),
            (
                NotFinite,
                "the contour cannot be offset: a coordinate is not a finite number",
            ),
            (NoArea, "the contour cannot be offset: it encloses no area"),
            (
                CrossesItself,
                "the contour crosses itself, so it has no side to keep",
            ),
            (
                OffsetTooSmall { offset_mm: 0.000_05 },
                "an offset of 0.00005 mm cannot be verified: it is too small or no number",
            ),
            (
                OffsetTooSmall { offset_mm: f64::NAN },
                "an offset of NaN mm cannot be verified: it is too small or no number",
            ),
            (
                NoneVerified(TooNear),
                "no path passed the verifier: the best one comes nearer to the contour than the offset",
            ),
            (
                NoneVerified(TooFar),
                "no path passed the verifier: the best one strays farther from the contour than the offset",
            ),
            (
                NoneVerified(WrongSide),
                "no path passed the verifier: the best one lies on the wrong side of the contour",
            ),
            (
                NoneVerified(Backwards),
                "no path passed the verifier: the best one runs the wrong way round",
            ),
            (
                NoneVerified(Missing),
                "no path passed the verifier: the best one leaves out a place that the wire can reach",
            ),
            (
                NoneVerified(Doubled),
                "no path passed the verifier: the best one runs twice along the same line",
            ),
            (
                NoneVerified(Crosses),
                "no path passed the verifier: the best one crosses itself",
            ),
            (NoneFound, "no path was found: every attempt failed"),
            (
                OnlySkimmed {
                    first: PassNo::nth(3),
                },
                "the wire has no room here, and pass 3 would be the first in this place",
            ),
        ];
        for (reason, sentence) in sentences {
            assert_eq!(refusal_in_words(reason), sentence);
            assert_eq!(not_coreless_in_words(NotCoreless::Refused(reason)), sentence);
        }
    }

    #[test]
    fn every_reason_against_clearing_away_has_its_sentence() {
        let sentences = [
            (
                NotCoreless::Splits {
                    deep_mm: 0.25,
                    regions: 2,
                },
                "0.250 mm inside the rough path it falls into 2 regions, each with a start hole of its own",
            ),
            (
                NotCoreless::TooLarge {
                    rings: 140.4,
                    most: 100,
                },
                "it would take about 140 rings, more than 100",
            ),
            (
                NotCoreless::NotCleared,
                "no ring clears what the one outside it leaves",
            ),
            (
                NotCoreless::OutOfSight,
                "the wall stands between the start hole and the innermost ring",
            ),
        ];
        for (why, sentence) in sentences {
            assert_eq!(not_coreless_in_words(why), sentence);
        }
    }

    #[test]
    fn every_limit_has_its_sentence() {
        let sentences = [
            (
                MachineLimit::Travel {
                    axis: 'x',
                    wanted_mm: 420.5,
                    limit_mm: 400.0,
                },
                "the wire path spans 420.500 mm along x, machine small travels 400 mm",
            ),
            (
                MachineLimit::Height {
                    wanted_mm: 320.0,
                    limit_mm: 250.0,
                },
                "the work is 320 mm thick, machine small takes 250 mm",
            ),
            (
                MachineLimit::Load {
                    wanted_kg: 812.34,
                    limit_kg: 500.0,
                },
                "the work weighs about 812.3 kg, machine small carries 500 kg",
            ),
            (
                MachineLimit::Wire {
                    wanted_mm: 0.05,
                    runs_mm: (0.1, 0.3),
                },
                "0.05 mm wire is wanted, machine small runs 0.1 to 0.3 mm",
            ),
            (
                MachineLimit::Passes {
                    wanted: 7,
                    limit: 5.0,
                },
                "7 passes are wanted, machine small has settings for 5",
            ),
        ];
        for (limit, sentence) in sentences {
            let machine = "small".to_owned();
            assert_eq!(
                limit_in_words(&BeyondMachine {
                    machine,
                    limit,
                    at: None
                }),
                sentence
            );
        }
    }

    #[test]
    fn every_reason_why_a_contour_is_not_whole_has_its_sentence() {
        let (contour, other) = (ContourId::nth(4), ContourId::nth(3));
        let pass = PassNo::nth(2);
        let sentences = [
            (IncompleteReason::Open, "contour 4 is open"),
            (
                IncompleteReason::QuestionOpen,
                "a question about contour 4 is open",
            ),
            (
                IncompleteReason::Crosses { other },
                "contours 3 and 4 pass through each other",
            ),
            (
                IncompleteReason::PathRefused { pass },
                "contour 4 has no path in pass 2",
            ),
            (
                IncompleteReason::NoRoom { pass },
                "contour 4 has no room for the wire in pass 2",
            ),
            (
                IncompleteReason::SlotNotEntered,
                "the wire does not enter a slot of contour 4",
            ),
        ];
        for (reason, sentence) in sentences {
            assert_eq!(incomplete_sentence(Incomplete { contour, reason }), sentence);
        }
    }

    fn crossing(contour: ContourId, other: ContourId) -> Incomplete {
        Incomplete {
            contour,
            reason: IncompleteReason::Crosses { other },
        }
    }

    #[test]
    fn two_contours_that_cross_are_told_once_and_many_are_counted() {
        let two = [
            crossing(ContourId::nth(3), ContourId::nth(4)),
            crossing(ContourId::nth(4), ContourId::nth(3)),
        ];
        assert_eq!(
            incomplete_in_words(&two),
            ["contours 3 and 4 pass through each other"]
        );
        let open = |number| Incomplete {
            contour: ContourId::nth(number),
            reason: IncompleteReason::Open,
        };
        let four: Vec<Incomplete> = (1..=4).map(open).collect();
        assert_eq!(incomplete_in_words(&four).len(), 4);
        let many: Vec<Incomplete> = (1..=10_000).map(open).collect();
        let told = incomplete_in_words(&many);
        assert_eq!(
            told[2..],
            [
                "contour 3 is open".to_owned(),
                "and 9997 more like these".to_owned()
            ]
        );
        assert!(incomplete_in_words(&[]).is_empty());
    }
}

//! The set-up: blank, clamps, pick-up and start holes.

use super::frames::{Pair, Section, SectionPart, Tone};
use super::order;
use crate::message::{Message, message, mm};
use crate::plan::Plan;
use crate::report::words;

/// Returns what has to be set up, with the part as it lies on the machine.
pub(super) fn section(plan: &Plan, part: String) -> Section {
    let blank = plan.process.blank.as_ref();
    let size = blank.map_or_else(
        || "not given".into(),
        |blank| {
            let bounds = blank.outline.bounds();
            message!(
                "{} × {}, {} thick, {}",
                mm(bounds.width()).at_most(2).bare(),
                mm(bounds.height()).at_most(2),
                mm(plan.setup.thickness_mm).at_most(4),
                words::blank_origin(blank.origin)
            )
        },
    );
    let clamp = blank.and_then(|blank| blank.clamp.as_ref());
    let clamped = clamp.map_or_else(
        || "not given: keep clamps clear of every path".into(),
        |clamp| {
            message!(
                "{} side, {} deep",
                clamp.side.word(),
                mm(clamp.depth_mm).at_most(2)
            )
        },
    );
    let pick_up = plan.job.pickup_mm.map_or_else(
        || Message::from("not given"),
        |pickup_mm| message!("at most {} from the farthest feature", mm(pickup_mm).at_most(2)),
    );
    let (starts, others) = order::starts_at_set_up(plan);
    Section::new("set-up", "set-up")
        .with(SectionPart::Pairs(vec![
            Pair::new("blank", size),
            Pair::new("clamps", clamped),
            Pair::new("pick-up", pick_up),
        ]))
        .with_picture(Some(part))
        .with(SectionPart::Table(starts))
        .words(Tone::Quiet, others)
}

//! The working day of one piece.

use super::frames::{Section, SectionLayout, Tone};
use crate::message::{Message, message, of_unit};
use crate::plan::{Day, Plan};
use crate::report::words;
use crate::units::MIN_PER_HOUR;

/// Returns how the time of a piece falls on the working day; nothing where there is no total.
pub(super) fn section(plan: &Plan, day: Option<&Day>, picture: Option<String>) -> Section {
    let section = Section::new("day", "working day").layout(SectionLayout::Whole);
    let Some(day) = day else {
        return section;
    };
    let hours = |minutes: f64| of_unit(minutes / MIN_PER_HOUR, "h").fixed(1);
    let waiting_min = day.waiting_minutes();
    let waits = if waiting_min > 0.0 {
        message!(
            ", of which the machine waits {} for the operator",
            hours(waiting_min)
        )
    } else {
        Message::default()
    };
    section
        .words(
            Tone::Quiet,
            message!(
                "{} in the expected times, begun with a shift of {}: finished after {}{}",
                words::drawn(plan),
                hours(day.shift_minutes),
                hours(day.end_minutes()),
                waits
            ),
        )
        .with_picture(picture)
}

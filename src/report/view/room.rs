//! What a room does to a part while it is cut.

use super::frames::{Pair, Section, SectionPart};
use crate::gauge::{BeyondRoom, LagSource, LengthDrift, PartLag, RoomDrift};
use crate::message::number::counted;
use crate::message::{Message, QuantityValue, message, minutes, mm, of_unit, um};
use crate::plan::Plan;
use crate::units::MIN_PER_HOUR;

/// Returns how the part of a plan moves in its room.
pub(in crate::report) fn part_in_room(plan: &Plan, drift: &RoomDrift) -> Vec<Section> {
    let mut pairs = vec![
        Pair::new("order", order(drift)),
        Pair::new("part follows the room", follows(drift.lag)),
    ];
    if let Some(length) = &drift.length {
        pairs.extend(moves(length));
    }
    let notes = notes(drift).chain(
        drift
            .flaws
            .iter()
            .map(|flaw| message!("not used: {}", flaw.to_string())),
    );
    vec![
        Section::new("room", plan.inspection.file.as_str())
            .note(message!("{} in its room", plan.setup.material))
            .with(SectionPart::Pairs(pairs)),
        Section::new("notes", "notes").with(SectionPart::List(notes.collect())),
    ]
}

fn order(drift: &RoomDrift) -> Message {
    if !drift.order_is_known {
        return "how long it takes is not known: the whole log is taken".into();
    }
    let [from, to] = drift.order_hours;
    message!(
        "{}, beginning {} after the first reading",
        minutes((to - from) * MIN_PER_HOUR),
        minutes(from * MIN_PER_HOUR)
    )
}

fn celsius(value: f64) -> QuantityValue {
    of_unit(value, "°C").fixed(1)
}

fn follows(lag: Option<PartLag>) -> Message {
    let Some(lag) = lag else {
        return "not known: give the time constant, or log the temperature of a part in the column part_c"
            .into();
    };
    let told = match (lag.source, lag.off_k) {
        (LagSource::Fitted, Some(off_k)) => {
            message!(", fitted to the log, within {}", of_unit(off_k, "K").fixed(2))
        }
        _ => ", given".into(),
    };
    message!("time constant {}{}", minutes(lag.minutes).fixed(0), told)
}

fn moves(length: &LengthDrift) -> [Pair; 3] {
    [
        Pair::new(
            "temperature of the part",
            message!("{} to {}", celsius(length.coldest_c), celsius(length.warmest_c)),
        ),
        Pair::new(
            "its longest extent moves",
            message!(
                "{} on {}",
                um(length.moves_um).fixed(1),
                mm(length.length_mm).at_most(3)
            ),
        ),
        Pair::new(
            "since the order began",
            message!("at the most {}", um(length.since_start_um).fixed(1).signed()),
        ),
    ]
}

fn notes(drift: &RoomDrift) -> impl Iterator<Item = Message> {
    let BeyondRoom {
        limits_c: [low_c, high_c],
        outside,
        reached_c,
        limit_percent,
        too_humid,
        reached_percent,
        readings,
    } = drift.beyond;
    let warm = reached_c.filter(|_| outside > 0).map(|[from_c, to_c]| {
        message!(
            "note: {} of {} lie outside {} to {} ({} to {}); keep the shop there (common practice, no source)",
            outside,
            counted(readings, "reading"),
            celsius(low_c).bare(),
            celsius(high_c),
            celsius(from_c).bare(),
            celsius(to_c)
        )
    });
    let humid = reached_percent.filter(|_| too_humid > 0).map(|percent| {
        message!(
            "note: {} of {} lie above {} of humidity, the highest at {}; steel rusts sooner (common practice, no source)",
            too_humid,
            counted(readings, "reading"),
            of_unit(limit_percent, "%").fixed(0),
            of_unit(percent, "%").fixed(0)
        )
    });
    let last = drift.points.last().map_or(0.0, |point| point.hours);
    let short = (drift.order_hours[1] > last).then(|| "the log ends before the order does".into());
    let few = (drift.lag.is_some() && drift.length.is_none())
        .then(|| "fewer than two readings over the order: nothing is told of its length".into());
    let submerged = "a submerged part follows the dielectric, not the room: log what it lies in. Sizes hold at 20 °C (ISO 1)";
    [warm, humid, short, few, Some(submerged.into())]
        .into_iter()
        .flatten()
}

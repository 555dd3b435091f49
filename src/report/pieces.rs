//! Describes what drops.

use super::words::place;
use crate::geometry::Point;
use crate::id::{ContourId, GroupId};
use crate::job::TabFace;
use crate::message::number::{counted, fixed};
use crate::message::{Message, message, mm};
use crate::plan::Plan;
use crate::process::{PieceKind, Removal, Separation};

/// Writes the mass for a stop, where the operator secures the piece: no finer than a hand feels.
pub(super) fn about_mass(separation: &Separation) -> String {
    about(separation.piece.mass_kg, separation.piece.exact)
}

/// `about 72 g`; of an upper bound `at most 72 g`, rounded up.
fn about(mass_kg: f64, exact: bool) -> String {
    const GRAMS_PER_KG: f64 = 1000.0;
    let word = if exact { "about" } else { "at most" };
    let round = |value: f64| if exact { value.round() } else { value.ceil() };
    let grams = round(mass_kg * GRAMS_PER_KG);
    if grams < 1.0 {
        "below 1 g".to_owned()
    } else if grams < GRAMS_PER_KG {
        format!("{word} {} g", fixed(grams, 0))
    } else {
        format!("{word} {} kg", fixed(round(10.0 * mass_kg) / 10.0, 1))
    }
}

/// Why nothing is known of the size of a demand group, where a part of it is not skimmed.
pub(super) fn not_skimmed(plan: &Plan, group: GroupId) -> Option<String> {
    let parts = plan.process.not_skimmed.iter().filter(|part| part.group == group);
    let parts: Vec<ContourId> = parts.map(|part| part.contour).collect();
    let contours = super::words::contour_words(&parts);
    (!parts.is_empty()).then(|| {
        format!(
            "not known: the part of contour {contours} is not skimmed; the finish is that of its rough cut"
        )
    })
}

pub(super) const fn kind(kind: PieceKind) -> &'static str {
    match kind {
        PieceKind::Part => "part",
        PieceKind::Slug => "slug",
        PieceKind::Offcut => "offcut",
    }
}

/// Writes how a piece drops.
pub(super) fn removal(separation: &Separation) -> Message {
    removal_at(separation, |at| message!(" at {}", place(at, 2)))
}

/// Writes how pieces that are alike drop: each at a place of its own.
pub(super) fn removal_of_each(separation: &Separation) -> Message {
    removal_at(separation, |_| Message::default())
}

fn removal_at(separation: &Separation, at: impl Fn(Point) -> Message) -> Message {
    let uncut = match &separation.removal {
        Removal::Coreless(cleared) => {
            return message!(
                "coreless: cut away in {}, {} of path",
                counted(cleared.rings.len(), "ring"),
                mm(cleared.length_mm).fixed(1)
            );
        }
        Removal::Held(uncut) | Removal::Secured(uncut) => uncut,
    };
    let (length, at) = (mm(uncut.length_mm).fixed(1), at(uncut.at));
    let kind = separation.piece.kind;
    if separation.tab().is_none() {
        let after = match kind {
            PieceKind::Slug => "remove the slug, then skim all round",
            PieceKind::Offcut => "remove the offcut, then skim the wall",
            PieceKind::Part => "remove the part; no skims",
        };
        return message!(
            "no tab: STOP before the last {} of the rough{}; secure, cut the last stretch, {}",
            length,
            at,
            after
        );
    }
    let then = match (kind, separation.face) {
        (PieceKind::Slug | PieceKind::Offcut, _) => {
            "the STOP after the rough; secure, cut the tab, remove the slug, then skim all round"
        }
        (PieceKind::Part, TabFace::Stoned) => {
            "the skims are done; STOP, secure, cut the tab, remove the part, stone off the tab stub"
        }
        (PieceKind::Part, TabFace::Skimmed) => {
            "the skims are done; STOP, secure, cut the tab, skim the tab stub while the part stays clamped and grounded, \
             remove it"
        }
    };
    message!("held by a {} tab{} until {}", length, at, then)
}

/// What to beware of.
pub(super) fn caution(separation: &Separation) -> &'static str {
    let short = separation
        .uncut()
        .is_some_and(|tab| tab.length_mm < tab.required_clearance_mm);
    if short && separation.lift_with_help {
        "tab too short: clamp or support it; lift with help"
    } else if short {
        "tab too short: clamp or support it"
    } else if separation.lift_with_help {
        "lift with help"
    } else if separation.may_jam && separation.coreless().is_none() {
        "may tilt, jam or enter the lower nozzle"
    } else {
        ""
    }
}

#[cfg(test)]
mod tests {
    use super::about;

    #[test]
    fn a_mass_at_a_stop_is_rounded_and_a_bound_is_rounded_up() {
        assert_eq!(about(0.071_73, true), "about 72 g");
        assert_eq!(about(0.071_23, false), "at most 72 g");
        assert_eq!(about(0.000_4, true), "below 1 g");
        assert_eq!(about(0.999_6, true), "about 1.0 kg");
        assert_eq!(about(13.86, true), "about 13.9 kg");
        assert_eq!(about(13.81, false), "at most 13.9 kg");
    }
}

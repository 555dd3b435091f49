//! What comes free, in words.

use super::number::{counted, fixed, short};
use crate::job::TabFace;
use crate::path::{PieceKind, Separation};

/// Grams below a kilogram.
pub(super) fn mass(separation: &Separation) -> String {
    const GRAMS_PER_KG: f64 = 1000.0;
    let piece = &separation.piece;
    let most = if piece.exact { "" } else { "at most " };
    if piece.mass_kg < 1.0 {
        format!("{most}{} g", fixed(piece.mass_kg * GRAMS_PER_KG, 2))
    } else {
        format!("{most}{} kg", fixed(piece.mass_kg, 2))
    }
}

pub(super) const fn kind(kind: PieceKind) -> &'static str {
    match kind {
        PieceKind::Part => "part",
        PieceKind::Slug => "slug",
    }
}

/// How a piece comes free.
pub(super) fn removal(separation: &Separation) -> String {
    if let Some(cleared) = separation.coreless() {
        return format!(
            "cleared away in {}, {} mm of path",
            counted(cleared.rings.len(), "ring"),
            fixed(cleared.length_mm, 1)
        );
    }
    let Some(tab) = separation.tab() else {
        return "no tab: stop before the end of the rough path and hold it".into();
    };
    let held = format!(
        "on a tab of {} mm at x {} y {} mm",
        fixed(tab.length_mm, 2),
        short(tab.at.x, 2),
        short(tab.at.y, 2)
    );
    match (separation.piece.kind, separation.face) {
        (PieceKind::Slug, _) => format!("{held}; stop, hold, cut off, take out, then skim all round"),
        (PieceKind::Part, TabFace::Stoned) => {
            format!("{held} till after the skims; stop, hold, cut off, stone the face of the tab")
        }
        (PieceKind::Part, TabFace::Skimmed) => {
            format!(
                "{held} till after the skims; stop, hold, cut off, skim the face of the tab while it stays clamped and grounded"
            )
        }
    }
}

/// What to beware of.
pub(super) fn caution(separation: &Separation) -> &'static str {
    if separation.lift_with_help {
        "lift with help"
    } else if separation.may_jam && separation.coreless().is_none() {
        "may tilt, jam or enter the lower nozzle"
    } else {
        ""
    }
}

//! How each piece drops: hanging on a tab, or on the last stretch of its path, until it is secured at an attended
//! stop; or cleared away.

use super::coreless::{Coreless, NotCoreless, coreless, least_rings_mm};
use super::piece::{Piece, PieceKind, Plate, pieces};
use super::tab::{Load, Tab, TabPlace, last_stretch, last_stretch_of_open, tab};
use crate::contour::{Contour, Contours};
use crate::geometry::Point;
use crate::id::{GroupId, LoopId};
use crate::job::{PieceOptions, Side, SlugPolicy, TabFace, TabOptions};
use crate::pass::Group;
use crate::shop::Rules;
use crate::toolpath::{OpenCut, WireLoop};

/// One piece, and how it drops.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Separation {
    /// The piece.
    pub piece: Piece,
    /// How it drops.
    pub removal: Removal,
    /// It could enter the lower nozzle.
    pub may_jam: bool,
    /// It is lifted with help.
    pub lift_with_help: bool,
    /// The face of the tab of a part.
    pub face: TabFace,
    /// Why it is not cleared away, where that was wanted.
    pub not_coreless: Option<NotCoreless>,
    /// Clearing it away against stopping for it; `None` where only one of the two is possible.
    pub weighed: Option<WeighedSlug>,
}

/// Clearing a slug away against stopping for it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct WeighedSlug {
    /// Minutes of clearing it away.
    pub coreless_min: f64,
    /// These minutes and the cost ratio are no more than the least, since no ring was laid.
    pub is_least: bool,
    /// Minutes of stopping, cutting it off, removing it and threading the wire again.
    pub stop_min: f64,
    /// Cost of the first over that of the second; `None` where a stop takes no time.
    pub cost_ratio: Option<f64>,
    /// What decided.
    pub reason: SlugReason,
}

/// What decides how a slug is removed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum SlugReason {
    /// Clearing it away is asked for.
    Asked,
    /// Clearing it away costs no more.
    NoDearer,
    /// Clearing it away costs more, but it may enter the lower nozzle and is too small to be held at a stop.
    CannotBeHeld,
    /// Clearing it away costs more: the machine stops for it.
    Dearer,
}

impl SlugReason {
    const fn is_coreless(self) -> bool {
        !matches!(self, Self::Dearer)
    }
}

/// What clearing a slug away takes, and what stopping for it.
#[derive(Clone, Copy)]
pub struct SlugWork<'a> {
    /// Minutes that a millimetre of ring takes the rough pass of a group.
    pub ring_min_per_mm: &'a dyn Fn(GroupId) -> f64,
    /// Minutes of a stop: the tab cut, the slug removed, the wire threaded again.
    pub stop_min: f64,
    /// What a minute of clearing costs against one of a stop, at which the operator is present and the wire stands.
    pub minute_worth: f64,
}

/// How a piece drops.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub enum Removal {
    /// The tab holds it up to an attended stop; the piece is secured there, then the tab is cut.
    Held(Tab),
    /// It gets no tab: the attended stop stands before the last stretch of the rough path, as long as a tab would be.
    /// The piece is secured there, then the last stretch is cut.
    Secured(Tab),
    /// It is cleared away ring by ring.
    Coreless(Coreless),
}

/// What separating goes by.
pub struct Handling<'a> {
    /// The rules of the book.
    pub rules: &'a Rules,
    /// The plate.
    pub plate: Plate<'a>,
    /// The clamped side.
    pub clamp: Option<Side>,
    /// What removing a slug takes.
    pub slug_work: SlugWork<'a>,
}

/// How the pieces of all contours drop, in the order of the loops. `piece_options_of` says what is asked of the piece of a
/// contour, `start_of` where the loop of a number in [`Toolpaths::loops`](crate::toolpath::Toolpaths::loops) starts: its hole, and where it is entered.
pub fn separations(
    contours: &Contours,
    loops: &[WireLoop],
    groups: &[Group],
    handling: &Handling<'_>,
    piece_options_of: impl Fn(&Contour) -> PieceOptions,
    start_of: impl Fn(LoopId) -> Option<(Point, Point)>,
) -> Vec<Separation> {
    let pieces = pieces(contours, loops, groups, handling.plate);
    let each = |piece: Piece| {
        let contour = &contours[piece.contour];
        separation(
            piece,
            loops,
            groups,
            handling,
            piece_options_of(contour),
            &start_of,
        )
    };
    pieces.into_iter().map(each).collect()
}

fn separation(
    piece: Piece,
    loops: &[WireLoop],
    groups: &[Group],
    handling: &Handling<'_>,
    ask: PieceOptions,
    start_of: impl Fn(LoopId) -> Option<(Point, Point)>,
) -> Separation {
    let Handling {
        rules, plate, clamp, ..
    } = handling;
    let wire = &loops[piece.wire_loop.index()];
    if let Some(cut) = &wire.open {
        return separation_of_open(piece, (wire, cut), loops, handling, ask);
    }
    let start = start_of(piece.wire_loop);
    let at = start.map(|(hole, _)| hole).or(piece.hole);
    let policy = ask.slug.unwrap_or_default();
    let looked_at = handling.clears(&piece, policy);
    let passes = groups.iter().find(|group| group.group == wire.group);
    let rough = passes.and_then(|group| group.passes.first());
    let half_kerf_mm = rough.map_or(0.0, |pass| pass.half_kerf_mm);
    let step_mm = 2.0 * half_kerf_mm * rules.slug.coreless_step_share.value();
    let weigh = |length_mm, is_least| handling.weigh(&piece, wire.group, length_mm, is_least, policy);
    // Rings are laid only where they may be.
    let least_mm = least_rings_mm(&wire.polyline, step_mm).filter(|_| looked_at);
    let dearer = least_mm.map(|mm| weigh(mm, true));
    let dearer = dearer.filter(|weighed| weighed.reason == SlugReason::Dearer);
    let cleared =
        (looked_at && dearer.is_none()).then(|| coreless(&wire.polyline, half_kerf_mm, step_mm, at));
    let made = cleared.as_ref().and_then(|cleared| cleared.as_ref().ok());
    let weighed = dearer.or_else(|| made.map(|made| weigh(made.length_mm, false)));
    let (removal, not_coreless) = match cleared {
        Some(Ok(coreless)) if weighed.is_some_and(|weighed| weighed.reason.is_coreless()) => {
            (Removal::Coreless(coreless), None)
        }
        otherwise => {
            let load = Load {
                mass_kg: piece.mass_kg,
                centroid: piece.centroid,
                thickness_mm: plate.thickness_mm,
            };
            let wanted = TabPlace {
                towards: clamp.map(Side::direction),
                entry: start.map(|(_, entry)| entry),
            };
            let removal = if let Some(tab) = tab(&wire.polyline, &load, &rules.tab, &ask.tab, &wanted) {
                Removal::Held(tab)
            } else {
                let first = wire.polyline.vertices.first().map(|v| v.at);
                let entry = wanted.entry.or(first).unwrap_or_default();
                Removal::Secured(last_stretch(&wire.polyline, &load, &rules.tab, entry))
            };
            (removal, otherwise.and_then(Result::err))
        }
    };
    Separation {
        may_jam: handling.may_jam(&piece),
        lift_with_help: piece.mass_kg > rules.slug.lift_kg.value(),
        face: ask.face.unwrap_or_default(),
        removal,
        not_coreless,
        weighed,
        piece,
    }
}

/// How what an open cut cuts off drops: on its last stretch, or on a tab where it is kept and skimmed before.
fn separation_of_open(
    piece: Piece,
    (wire, cut): (&WireLoop, &OpenCut),
    loops: &[WireLoop],
    handling: &Handling<'_>,
    ask: PieceOptions,
) -> Separation {
    let Handling { rules, plate, .. } = handling;
    let load = Load {
        mass_kg: piece.mass_kg,
        centroid: piece.centroid,
        thickness_mm: plate.thickness_mm,
    };
    let skim = loops.get(piece.wire_loop.index() + 1);
    let is_skimmed = skim.is_some_and(|skim| skim.contour == piece.contour);
    let last = |ask| last_stretch_of_open(&wire.polyline, &load, &rules.tab, ask, cut.left_mm);
    Separation {
        may_jam: handling.may_jam(&piece),
        lift_with_help: piece.mass_kg > rules.slug.lift_kg.value(),
        face: ask.face.unwrap_or_default(),
        // What is kept and drops is skimmed before, so that a tab is not left out, and it is the end of the cut.
        removal: if cut.kept_drops && is_skimmed {
            let length_mm = ask.tab.length_mm.filter(|_| !ask.tab.is_left_out());
            Removal::Held(last(TabOptions { length_mm, at: None }))
        } else {
            Removal::Secured(last(TabOptions::default()))
        },
        not_coreless: None,
        weighed: None,
        piece,
    }
}

impl Handling<'_> {
    /// Whether a piece could enter the lower nozzle.
    fn may_jam(&self, piece: &Piece) -> bool {
        piece.kind != PieceKind::Part && piece.across_mm <= self.rules.slug.jam_mm.value()
    }

    /// Whether clearing a piece away is looked at.
    fn clears(&self, piece: &Piece, policy: SlugPolicy) -> bool {
        let small = piece.across_mm <= self.rules.slug.coreless_up_to_mm.value();
        piece.kind == PieceKind::Slug
            && match policy {
                SlugPolicy::Book => small,
                SlugPolicy::Stop => false,
                SlugPolicy::Coreless => true,
            }
    }

    /// Weighs the rings that clear a slug away, as long as given or no shorter, against a stop.
    fn weigh(
        &self,
        piece: &Piece,
        group: GroupId,
        rings_mm: f64,
        is_least: bool,
        policy: SlugPolicy,
    ) -> WeighedSlug {
        let work = &self.slug_work;
        let coreless_min = rings_mm * (work.ring_min_per_mm)(group);
        let cost_min = coreless_min * work.minute_worth;
        let too_small = piece.across_mm < self.rules.slug.hold_from_mm.value();
        WeighedSlug {
            coreless_min,
            is_least,
            stop_min: work.stop_min,
            cost_ratio: (work.stop_min > 0.0).then(|| cost_min / work.stop_min),
            reason: if policy == SlugPolicy::Coreless {
                SlugReason::Asked
            } else if cost_min <= work.stop_min {
                SlugReason::NoDearer
            } else if too_small && self.may_jam(piece) {
                SlugReason::CannotBeHeld
            } else {
                SlugReason::Dearer
            },
        }
    }
}

impl Separation {
    /// The tab that holds it.
    pub fn tab(&self) -> Option<&Tab> {
        match &self.removal {
            Removal::Held(tab) => Some(tab),
            Removal::Secured(_) | Removal::Coreless(_) => None,
        }
    }

    /// The last stretch of its rough path, where it gets no tab.
    pub fn last_stretch(&self) -> Option<&Tab> {
        match &self.removal {
            Removal::Secured(stretch) => Some(stretch),
            Removal::Held(_) | Removal::Coreless(_) => None,
        }
    }

    /// What of its rough path stays uncut until the attended stop: the tab, or the last stretch.
    pub fn uncut(&self) -> Option<&Tab> {
        self.tab().or_else(|| self.last_stretch())
    }

    /// The way along which it is cleared away.
    pub fn coreless(&self) -> Option<&Coreless> {
        match &self.removal {
            Removal::Held(_) | Removal::Secured(_) => None,
            Removal::Coreless(coreless) => Some(coreless),
        }
    }
}

#[cfg(test)]
mod tests;

//! Contours to be cut that cannot be cut as a whole.

use std::collections::{BTreeMap, BTreeSet};

use super::{PathRefusal, Unreached, UnreachedKind, Vanished};
use crate::contour::{Contours, Role, SideFrom};
use crate::id::{ContourId, PassNo};
use crate::job::Purpose;

/// A contour that is to be cut and cannot be cut as a whole: no time, cost or length that counts it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Incomplete {
    /// Number of the contour.
    pub contour: ContourId,
    /// Why.
    pub reason: IncompleteReason,
}

/// Why a contour cannot be cut as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum IncompleteReason {
    /// It is open, so it has no side to keep.
    Open,
    /// It is asked what it is for, or which side of it is kept.
    QuestionOpen,
    /// It passes through another contour.
    Crosses {
        /// Number of that one.
        other: ContourId,
    },
    /// A pass has no verified path.
    PathRefused {
        /// The first of them, from 1.
        pass: PassNo,
    },
    /// A pass has no room for the wire.
    NoRoom {
        /// The first of them, from 1.
        pass: PassNo,
    },
    /// The last pass does not enter a slot of it.
    SlotNotEntered,
}

impl Incomplete {
    /// Whether it is left out of the order of cutting: a pass is missing, or it cuts into what another contour keeps.
    pub fn is_left_out(&self) -> bool {
        self.reason != IncompleteReason::SlotNotEntered
    }

    /// Whether another wire may cut it.
    pub fn hangs_on_wire(&self) -> bool {
        match self.reason {
            IncompleteReason::Open | IncompleteReason::QuestionOpen | IncompleteReason::Crosses { .. } => {
                false
            }
            IncompleteReason::PathRefused { .. }
            | IncompleteReason::NoRoom { .. }
            | IncompleteReason::SlotNotEntered => true,
        }
    }
}

/// Lists those of the contours `wanted` that no wire can cut as a whole, whatever its passes, and those that are asked about, by number.
pub fn without_path(contours: &Contours, wanted: &[ContourId]) -> Vec<Incomplete> {
    incomplete(contours, wanted.iter().copied(), &[], &[], &[])
}

/// Lists those of the contours `wanted` that cannot be cut as a whole, and those that are asked about, by number, each with the reason that
/// counts first.
pub(super) fn incomplete(
    contours: &Contours,
    wanted: impl Iterator<Item = ContourId>,
    refusals: &[PathRefusal],
    vanished: &[Vanished],
    unreached: &[Unreached],
) -> Vec<Incomplete> {
    let mut reasons: BTreeMap<ContourId, IncompleteReason> = BTreeMap::new();
    let mut put = |contour: ContourId, reason: IncompleteReason| {
        reasons.entry(contour).or_insert(reason);
    };
    let wanted: BTreeSet<ContourId> = wanted.collect();
    for contour in &contours.list {
        // What is asked about may have to be cut, whatever it is taken for now.
        if contour.side_from == SideFrom::Unclear {
            put(contour.id, IncompleteReason::QuestionOpen);
        } else if contour.role == Role::Open
            && contour.purpose == Purpose::Cut
            && wanted.contains(&contour.id)
        {
            put(contour.id, IncompleteReason::Open);
        }
    }
    for crossing in &contours.facts.crossings {
        let (one, other) = crossing.contours;
        // What a question takes out of the cut, or may take out of it, crosses nothing.
        let still_cut = [one, other]
            .iter()
            .all(|&id| contours[id].purpose == Purpose::Cut && contours[id].side_from != SideFrom::Unclear);
        for (contour, other) in [(one, other), (other, one)] {
            if still_cut && wanted.contains(&contour) {
                put(contour, IncompleteReason::Crosses { other });
            }
        }
    }
    for refusal in refusals {
        put(
            refusal.contour,
            IncompleteReason::PathRefused { pass: refusal.pass },
        );
    }
    for gone in vanished {
        put(gone.contour, IncompleteReason::NoRoom { pass: gone.pass });
    }
    for place in unreached
        .iter()
        .filter(|place| place.kind == UnreachedKind::NarrowSlot)
    {
        put(place.contour, IncompleteReason::SlotNotEntered);
    }
    let of = |(contour, reason)| Incomplete { contour, reason };
    reasons.into_iter().map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_wire_cuts_what_is_open_and_a_thinner_one_may_enter_a_slot() {
        use IncompleteReason::{NoRoom, Open, PathRefused, QuestionOpen, SlotNotEntered};
        let all = [
            (Open, true, false),
            (QuestionOpen, true, false),
            (
                IncompleteReason::Crosses {
                    other: ContourId::nth(2),
                },
                true,
                false,
            ),
            (PathRefused { pass: PassNo::FIRST }, true, true),
            (NoRoom { pass: PassNo::FIRST }, true, true),
            (SlotNotEntered, false, true),
        ];
        for (reason, left_out, hangs_on_wire) in all {
            let incomplete = Incomplete {
                contour: ContourId::FIRST,
                reason,
            };
            assert_eq!(incomplete.is_left_out(), left_out, "{incomplete:?}");
            assert_eq!(incomplete.hangs_on_wire(), hangs_on_wire, "{incomplete:?}");
        }
    }
}

//! What would bring a plan nearer to its limits: each remedy tried on the plan, not guessed.

use serde::Serialize;

use super::candidate::{Candidate, evaluate, weigh};
use super::comparison::setup_of;
use super::planner::requirements;
use super::selection::sort;
use super::selection_input::SelectionInput;
use super::weighing::Weighing;
use super::wire_and_machine::WireAndMachine;
use super::{Error, Plan};
use crate::job::OffsetBasis;
use crate::tolerance::AS_NEAR_MM;
use crate::units::UM_PER_MM;

/// What is changed.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum RemedyKind {
    /// One pass more where their number is not the most.
    OnePassMore {
        /// Passes of each demand group.
        passes: Vec<usize>,
    },
    /// Features are picked up from nearer.
    ShorterPickup {
        /// Distance from the farthest feature to its pick-up, mm.
        pickup_mm: f64,
    },
    /// Another machine of the book.
    OtherMachine {
        /// Its name.
        machine: String,
    },
    /// A test piece is cut and gauged, and the offset corrected by it.
    GaugedOffset,
    /// The room swings less from night to day.
    SteadierRoom {
        /// Its swing, K.
        swing_k: f64,
    },
}

/// A remedy that was tried, with what it brings.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Remedy {
    /// What is changed.
    #[serde(skip)]
    pub kind: RemedyKind,
    /// Expected error with it, µm, on size or of one wall as the limits are; on size where none are asked.
    pub error_um: f64,
    /// By how much that is less, µm.
    pub brings_um: f64,
    /// What the order costs more with it, in the currency of the book, beside the remedy itself; negative where it costs less.
    pub cost_more: f64,
    /// All that is asked is expected to be reached with it, with the offset gauged.
    pub reaches: bool,
}

impl Plan {
    /// Tries what could make the expected error of a plan smaller, what brings most first. Nothing of what brings less than half a
    /// micrometre; nothing at all where the plan has no totals.
    ///
    /// # Errors
    /// Where the book of the plan lacks what its job names.
    pub fn remedies(&self) -> Result<Vec<Remedy>, Error> {
        let requirements = requirements(&self.job)?;
        let material = requirements.look_up(&self.book)?;
        let (sorted, input) = sort(&self.inspection, &self.book, material, &requirements)?;
        let setup = setup_of(self);
        let passes: Vec<usize> = self.groups.iter().map(|group| group.request.passes).collect();
        let as_is = |input: &SelectionInput<'_>| weigh(input, &setup, &passes, Some(self.cut_facts()));
        let before = as_is(&input);
        let mut tried: Vec<(RemedyKind, Candidate)> = Vec::new();
        for (kind, changed) in changed_conditions(self, &input) {
            tried.push((kind, as_is(&changed)));
        }
        let mut weighing = Weighing::new(&self.inspection, &sorted, &input, &requirements);
        let most = self.book.most_passes();
        let more: Vec<usize> = passes.iter().map(|passes| (passes + 1).min(most)).collect();
        if more != passes {
            let candidate = weighing.figures_of(&evaluate(&input, &setup, &more))?;
            tried.push((RemedyKind::OnePassMore { passes: more }, candidate));
        }
        let others = self.book.machines.keys().filter(|name| **name != setup.machine);
        let mut on_machines: Vec<(RemedyKind, Candidate)> = Vec::new();
        for machine in others {
            let other = WireAndMachine {
                machine: machine.clone(),
                ..setup.clone()
            };
            let estimate = evaluate(&input, &other, &passes);
            if estimate.possible {
                let machine = machine.clone();
                on_machines.push((
                    RemedyKind::OtherMachine { machine },
                    weighing.figures_of(&estimate)?,
                ));
            }
        }
        let error_um = |candidate: &Candidate| {
            candidate
                .worst_error
                .map_or(f64::INFINITY, |worst| worst.error_um)
        };
        let best = on_machines
            .into_iter()
            .min_by(|a, b| error_um(&a.1).total_cmp(&error_um(&b.1)));
        tried.extend(best);
        let mut remedies: Vec<Remedy> = tried
            .into_iter()
            .filter_map(|(kind, after)| remedy(kind, &before, &after))
            .filter(|remedy| remedy.brings_um >= AS_NEAR_MM * UM_PER_MM)
            .collect();
        remedies.sort_by(|a, b| b.brings_um.total_cmp(&a.brings_um));
        Ok(remedies)
    }
}

/// What changes nothing of the paths: how far the pick-up is, how the offset is known, how steady the room is.
fn changed_conditions<'b>(plan: &Plan, input: &SelectionInput<'b>) -> Vec<(RemedyKind, SelectionInput<'b>)> {
    const HALF: f64 = 0.5;
    let pickup_mm = HALF * input.pickup_mm;
    let swing_k = HALF
        * input
            .room_swing_k
            .unwrap_or_else(|| plan.book.room.room_swing_k.value());
    let mut changed = vec![
        (
            RemedyKind::ShorterPickup { pickup_mm },
            SelectionInput {
                pickup_mm,
                ..input.clone()
            },
        ),
        (
            RemedyKind::SteadierRoom { swing_k },
            SelectionInput {
                room_swing_k: Some(swing_k),
                ..input.clone()
            },
        ),
    ];
    if input.offset_basis == OffsetBasis::Modelled {
        let gauged = SelectionInput {
            offset_basis: OffsetBasis::Gauged,
            ..input.clone()
        };
        changed.push((RemedyKind::GaugedOffset, gauged));
    }
    changed
}

fn remedy(kind: RemedyKind, before: &Candidate, after: &Candidate) -> Option<Remedy> {
    let (error_before, error_after) = (before.worst_error?, after.worst_error?);
    Some(Remedy {
        kind,
        error_um: error_after.error_um,
        brings_um: error_before.error_um - error_after.error_um,
        cost_more: after.totals?.cost_order.expected - before.totals?.cost_order.expected,
        reaches: after.feasible,
    })
}

//! How long the wire's paths are at the least, before any is laid.
//!
//! A bound, not a guess: let P(ρ) be the length of all that lies at the distance ρ from a contour, on the side that is not
//! kept. Going out by dρ it grows by no more than 2π·dρ round an outside, and going in it shrinks by no less than 2π·dρ in an
//! opening that still has room, corners and bays that are cut off only taking from it (B. Sz.-Nagy, "Über Parallelmengen
//! nichtkonvexer ebener Bereiche", Acta Sci. Math. Szeged 20, 1959, from memory, not verified). So a length that is known at
//! the widest offset bounds those at all smaller ones from below.

use std::f64::consts::TAU;

use super::demand_group::DemandGroup;
use super::parallel_length::ParallelLength;
use super::selection_input::SelectionInput;
use super::wire_and_machine::WireAndMachine;
use crate::cancel::CancelToken;
use crate::contour::{Contour, Contours, Role};
use crate::pass;
use crate::tolerance::PATH_MM;
use crate::toolpath::loop_lengths_mm;

/// Measures the contours of every group at the widest offset that any of `setups` takes to it, so that no length is
/// overstated. `None` when `cancel` ended.
pub(super) fn bound_lengths(
    input: &mut SelectionInput<'_>,
    contours: &Contours,
    setups: &[WireAndMachine],
    cancel: &CancelToken,
) -> Option<()> {
    let offsets: Vec<f64> = input
        .demand_groups
        .iter()
        .map(|group| widest_offset_mm(input, group, setups))
        .collect();
    for (group, offset_mm) in input.demand_groups.iter_mut().zip(offsets) {
        if offset_mm > 0.0 {
            measure(group, contours, offset_mm, cancel)?;
        }
    }
    Some(())
}

/// The widest offset of a rough pass that passes the narrowest slot of a group, mm; 0 where none does.
fn widest_offset_mm(input: &SelectionInput<'_>, group: &DemandGroup, setups: &[WireAndMachine]) -> f64 {
    let mut wires: Vec<&WireAndMachine> = setups.iter().collect();
    wires.sort_by(|a, b| b.wire_mm.total_cmp(&a.wire_mm));
    // The kind of a wire and the machine do not widen its offset, unless an own recipe says so.
    let passing = |wire: &WireAndMachine| {
        let of = |passes: usize| {
            let request = input.request(wire, group, passes);
            let schedule = pass::schedule(input.book, &request).ok()?;
            schedule.passes.first().map(|rough| rough.offset_mm)
        };
        let enters = |mm: &f64| group.narrowest_slot_mm.is_none_or(|slot_mm| slot_mm >= 2.0 * mm);
        let offsets = (1..=input.book.most_passes()).filter_map(of);
        offsets.filter(enters).max_by(f64::total_cmp)
    };
    wires.into_iter().filter_map(passing).fold(0.0, f64::max)
}

fn measure(group: &mut DemandGroup, contours: &Contours, offset_mm: f64, cancel: &CancelToken) -> Option<()> {
    let cut: Vec<(&Contour, f64)> = group
        .contours
        .iter()
        .map(|&id| (&contours[id], offset_mm))
        .collect();
    let empty = ParallelLength {
        offset_mm,
        ..ParallelLength::default()
    };
    (group.roughed, group.skimmed) = (empty, empty);
    for ((contour, _), length_mm) in cut.iter().zip(loop_lengths_mm(&cut, cancel)?) {
        // Both this loop and the real one may be nearer than their offset by what the verifier lets pass.
        let length_mm = length_mm.unwrap_or(0.0) - 2.0 * TAU * PATH_MM;
        if contour.role == Role::Opening && length_mm <= 0.0 {
            continue;
        }
        group.roughed.add(contour.role, length_mm.max(0.0));
        if !group.loose.contains(&contour.id) {
            group.skimmed.add(contour.role, length_mm.max(0.0));
        }
    }
    Some(())
}

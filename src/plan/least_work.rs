//! What the contours take at the least, before any path is laid.
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
use super::slug_work::slug_work;
use super::wire_and_machine::WireAndMachine;
use crate::contour::{Contour, Contours, Role, turn_at};
use crate::job::SlugPolicy;
use crate::pass;
use crate::shop::SlugRule;
use crate::tolerance::{PATH_MM, SMOOTH_JOINT_RAD};
use crate::toolpath::loop_lengths_mm;

/// Bounds what the contours of every group take with any of `setups`, so that nothing is overstated: the length of their paths, and
/// the stops for their slugs. `slug_of` says how the slug of a contour is asked to be removed.
pub(super) fn bound_groups(
    input: &mut SelectionInput<'_>,
    contours: &Contours,
    setups: &[WireAndMachine],
    slug_of: impl Fn(&Contour) -> SlugPolicy,
) {
    let extremes: Vec<Option<RoughExtremes>> = input
        .demand_groups
        .iter()
        .map(|group| RoughExtremes::of(input, group, setups))
        .collect();
    let (slug, thickness_mm) = (&input.book.rules.slug, input.thickness_mm);
    for (group, extremes) in input.demand_groups.iter_mut().zip(extremes) {
        let Some(extremes) = extremes else { continue };
        measure(group, contours, extremes.offset_mm);
        let openings = group.contours.iter().map(|&id| &contours[id]);
        let openings = openings.filter(|contour| contour.role == Role::Opening);
        let stops =
            openings.filter(|contour| extremes.stops_for(contour, slug_of(contour), slug, thickness_mm));
        group.sure_stops = stops.count();
    }
}

/// What any rough pass of a group can be at the most, or at the least where less of it makes a slug cheaper to clear away.
#[derive(Clone, Copy)]
struct RoughExtremes {
    offset_mm: f64,
    half_kerf_mm: f64,
    rate_mm2_min: f64,
    /// Minutes of a stop for a slug.
    stop_min: f64,
    /// What a minute of clearing a slug away costs over one of a stop, 1 at the most.
    minute_worth: f64,
}

impl RoughExtremes {
    /// Those of all setups that pass the narrowest slot of a group; `None` where none does.
    fn of(input: &SelectionInput<'_>, group: &DemandGroup, setups: &[WireAndMachine]) -> Option<Self> {
        let enters = |offset_mm: f64| {
            group
                .narrowest_slot_mm
                .is_none_or(|slot_mm| slot_mm >= 2.0 * offset_mm)
        };
        let of_setup = |setup: &WireAndMachine| {
            let setting = input.request(setup, group, 1).setting(input.book).ok()?;
            let (stop_min, minute_worth) = slug_work(input.book, setting);
            let of = |passes: usize| {
                let request = input.request(setup, group, passes);
                let [offset_mm, rate_mm2_min, half_kerf_mm] = pass::rough_cut(input.book, &request).ok()?;
                enters(offset_mm).then_some(Self {
                    offset_mm,
                    half_kerf_mm,
                    rate_mm2_min,
                    stop_min,
                    minute_worth: minute_worth.min(1.0),
                })
            };
            (1..=input.book.most_passes()).filter_map(of).reduce(Self::with)
        };
        setups.iter().filter_map(of_setup).reduce(Self::with)
    }

    /// The extremes of both.
    fn with(a: Self, b: Self) -> Self {
        Self {
            offset_mm: a.offset_mm.max(b.offset_mm),
            half_kerf_mm: a.half_kerf_mm.max(b.half_kerf_mm),
            rate_mm2_min: a.rate_mm2_min.max(b.rate_mm2_min),
            stop_min: a.stop_min.max(b.stop_min),
            minute_worth: a.minute_worth.min(b.minute_worth),
        }
    }

    /// Whether the machine stops for the slug of an opening, or takes longer over it and costs more, whatever the wire.
    fn stops_for(self, opening: &Contour, policy: SlugPolicy, rule: &SlugRule, thickness_mm: f64) -> bool {
        let step_mm = 2.0 * self.half_kerf_mm * rule.coreless_step_share.value();
        // Going in by t an area shrinks by no more than its perimeter × t, and the rings, a step apart, sweep what is left.
        let left_mm2 = opening.area_mm2 - opening.perimeter_mm * (self.offset_mm + step_mm);
        let clearing_min = left_mm2 / step_mm * thickness_mm / self.rate_mm2_min;
        let has_slug = left_mm2 > 0.0;
        match policy {
            SlugPolicy::Stop => has_slug,
            SlugPolicy::Coreless => false,
            SlugPolicy::Book => has_slug && clearing_min * self.minute_worth > self.stop_min,
        }
    }
}

/// Turn of the inside arcs of a contour that a wire at an offset follows from end to end: they are wider, and go on without a
/// corner on both sides.
fn followed_turn_rad(contour: &Contour, offset_mm: f64) -> f64 {
    let line = &contour.polyline;
    let n = line.segment_count();
    let is_smooth = |i: usize| turn_at(line, i).abs() < SMOOTH_JOINT_RAD;
    let arcs = contour.inside_arcs();
    let followed =
        arcs.filter(|(i, arc)| arc.radius() > offset_mm && is_smooth(*i) && is_smooth((i + 1) % n));
    followed.map(|(_, arc)| arc.sweep().abs()).sum()
}

fn measure(group: &mut DemandGroup, contours: &Contours, offset_mm: f64) {
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
    for ((contour, _), length_mm) in cut.iter().zip(loop_lengths_mm(&cut)) {
        // Of an open cut nothing is sure before its path is laid.
        if contour.purpose.is_open_cut() {
            continue;
        }
        // Both this loop and the real one may be nearer than their offset by what the verifier lets pass.
        let length_mm = length_mm.unwrap_or(0.0) - 2.0 * TAU * PATH_MM;
        if contour.role == Role::Opening && length_mm <= 0.0 {
            continue;
        }
        group.roughed.add(contour.role, length_mm.max(0.0));
        if !group.loose.contains(&contour.id) {
            group.skimmed.add(contour.role, length_mm.max(0.0));
            group.followed_turn_rad += followed_turn_rad(contour, offset_mm);
        }
    }
}

//! The work beside the passes: threads, tabs, slugs, leads and what slows a skim.

use std::collections::{BTreeMap, BTreeSet};

use super::demand_group::rough_corners;
use crate::contour::{Contours, Role};
use crate::estimate::{AuxiliaryWork, PassLength};
use crate::id::{GroupId, PassNo};
use crate::process::{OperationKind, Process, RawBlank};
use crate::toolpath::Toolpaths;

/// Counts the work beside the passes on the paths and on how they are cut; `work` says how start holes are made and how many
/// contours and sharp corners of the rough cut there are, those of contours that are left out too.
pub(super) fn auxiliary_work(
    work: &AuxiliaryWork,
    contours: &Contours,
    toolpaths: &Toolpaths,
    process: &Process,
    thickness_mm: f64,
) -> AuxiliaryWork {
    let count = |kind: OperationKind| process.operations.iter().filter(|a| a.kind == kind).count();
    let lengths = |kind: OperationKind| {
        let mut sums: BTreeMap<(GroupId, PassNo), f64> = BTreeMap::new();
        for operation in process
            .operations
            .iter()
            .filter(|a| a.kind == kind && a.cut_mm > 0.0)
        {
            let wire = &toolpaths[operation.wire_loop];
            *sums.entry((wire.group, wire.pass)).or_default() += operation.cut_mm;
        }
        let row = |((group, pass), mm)| PassLength {
            group,
            pass,
            path_length_mm: Some(mm),
        };
        sums.into_iter().map(row).collect()
    };
    let travelled = process.operations.iter().filter(|a| a.kind.is_dry());
    // Two contours may share a hole.
    let holes: BTreeSet<[u64; 2]> = process
        .starts
        .list
        .iter()
        .filter(|start| start.drilled)
        .map(|start| [start.at.x, start.at.y].map(f64::to_bits))
        .collect();
    let left_out = toolpaths.left_out();
    let left_out = left_out.filter_map(|left_out| contours.get(left_out.contour));
    // Open contours without a purpose are not counted.
    let left_out: usize = left_out
        .filter(|contour| contour.role != Role::Open || contour.purpose.is_open_cut())
        .map(rough_corners)
        .sum();
    AuxiliaryWork {
        start_holes: holes.len(),
        threads: count(OperationKind::Thread),
        tabs: count(OperationKind::CutOff),
        slugs: count(OperationKind::Remove),
        pass_changes: count(OperationKind::Adjust),
        leads: lengths(OperationKind::LeadIn),
        overlaps: lengths(OperationKind::LeadOut),
        coreless: lengths(OperationKind::Coreless),
        engagement: engagement(toolpaths),
        travel_mm: travelled.map(|operation| operation.length_mm).sum(),
        start_holes_are: work.start_holes_are,
        rough_corners: work.rough_corners.saturating_sub(left_out),
        contours: work.contours,
        blank_mm3: process.blank.as_ref().map(|blank| blank_mm3(blank, thickness_mm)),
    }
}

/// Computes the volume of a blank, mm³.
pub(super) fn blank_mm3(blank: &RawBlank, thickness_mm: f64) -> f64 {
    blank.outline.area().abs() * thickness_mm
}

/// What each skim meets beyond what it is meant to, as path length that would take as long; where it meets less it
/// is not credited.
fn engagement(toolpaths: &Toolpaths) -> Vec<PassLength> {
    let mut sums: BTreeMap<(GroupId, PassNo), f64> = BTreeMap::new();
    for path in &toolpaths.loops {
        let segments = path.polyline.segments().zip(&path.engagement);
        let extra_mm: f64 = segments
            .map(|(segment, met)| segment.length() * (met.factor - 1.0).max(0.0))
            .sum();
        *sums.entry((path.group, path.pass)).or_default() += extra_mm;
    }
    sums.into_iter()
        .map(|((group, pass), mm)| PassLength {
            group,
            pass,
            path_length_mm: Some(mm),
        })
        .collect()
}

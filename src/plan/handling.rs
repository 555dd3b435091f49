//! Plans threading, leads, what drops and how it is held, the blank, the order of cutting, and the work that takes time.

use std::collections::{BTreeMap, BTreeSet};

use super::{Error, Inspection};
use crate::contour::{Contour, Role};
use crate::estimate::{AuxiliaryWork, PassLength};
use crate::job::{StartOptions, Stops, WireOptions, Workholding};
use crate::pass::{Group, PassRequest};
use crate::path::{self, Handling, OperationKind, Paths, Plate, RawBlank, Starting};
use crate::shop::{self, Book};

/// Adds start holes, leads, pieces that drop, the blank, risks of distortion and the order of cutting to the paths.
pub(super) fn handle(
    paths: &mut Paths,
    inspection: &Inspection,
    groups: &[Group],
    request: &PassRequest,
    (holding, running): (&Workholding, &WireOptions),
    book: &Book,
) -> Result<(), Error> {
    let rules = &book.rules;
    let setting = request.setting(book)?;
    let contours = &inspection.contours;
    paths.blank = RawBlank::new(contours, holding, &rules.holding);
    let threading = path::StartFinder::new(
        contours,
        &Starting {
            rule: &rules.start_hole,
            thickness_mm: request.thickness_mm,
            wire_mm: setting.wire.size.diameter_mm,
            clamp: holding.clamp,
            blank: paths.blank.as_ref(),
            holes: &running.holes,
        },
    );
    let start_options = |contour: &Contour| running.on(contour.id, inspection.layer_of(contour));
    let starts = threading.starts(paths, start_options);
    let handling = Handling {
        rules,
        plate: Plate {
            material: setting.material,
            thickness_mm: request.thickness_mm,
        },
        clamp: holding.clamp,
    };
    let piece_options_of = |contour: &Contour| holding.on(contour.id, inspection.layer_of(contour));
    paths.separations = path::separations(
        contours,
        paths,
        groups,
        &handling,
        piece_options_of,
        |wire_loop| starts.place_of(wire_loop),
    );
    let runs = threading.runs(paths, &starts, groups, start_options);
    drop(threading);
    (paths.starts, paths.runs) = (starts, runs);
    let usual = match setting.machine.threading {
        shop::Threading::Automatic => Stops::Grouped,
        shop::Threading::Hand => Stops::Each,
    };
    paths.operations = path::operations(contours, paths, running.stops.unwrap_or(usual));
    let widest_mm = groups.iter().filter_map(|group| group.passes.first());
    let widest_mm = widest_mm.map(|pass| pass.half_kerf_mm).fold(0.0, f64::max);
    if let Some(blank) = &paths.blank {
        let cleared = paths.separations.iter();
        let cleared = cleared.filter_map(|s| Some((s.piece.contour, &s.coreless()?.run)));
        let leads = paths.loops.iter().zip(&paths.runs);
        let leads =
            leads.flat_map(|(wire, run)| [&run.lead_in, &run.lead_out].map(|lead| (wire.contour, lead)));
        let ways: Vec<_> = cleared.chain(leads).collect();
        let margin_mm = rules.holding.edge_margin_mm.value();
        paths.blank_faults = blank.faults(contours, paths, &ways, widest_mm, margin_mm);
    }
    paths.distortion_risks =
        path::distortion_risks(contours, &paths.separations, paths.blank.as_ref(), &rules.holding);
    Ok(())
}

/// Lists the wire options that count as assumptions, in words.
pub(super) fn assumptions(running: &WireOptions, groups: &[Group]) -> Vec<String> {
    let sharp = running.sharp_corners.map(|limit| {
        format!("outside corners of the path run sharp up to {limit} offsets from those of the contour, else rolled")
    });
    let cut = |id: &usize| groups.iter().any(|group| group.contours.contains(id));
    let not_cut = running
        .contours
        .iter()
        .filter(|(id, request)| **request != StartOptions::default() && !cut(id));
    let not_cut = not_cut.map(|(id, _)| format!("contour {id}, of which a start is asked, is not cut"));
    sharp.into_iter().chain(not_cut).collect()
}

/// Counts the work beside the passes, as it is on the paths.
pub(super) fn counted(mut work: AuxiliaryWork, paths: &Paths) -> AuxiliaryWork {
    let count = |kind: OperationKind| paths.operations.iter().filter(|a| a.kind == kind).count();
    let lengths = |kind: OperationKind| {
        let mut sums: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for operation in paths
            .operations
            .iter()
            .filter(|a| a.kind == kind && a.cut_mm > 0.0)
        {
            let wire = &paths.loops[operation.wire_loop];
            *sums.entry((wire.group, wire.pass)).or_default() += operation.cut_mm;
        }
        let row = |((group, pass), mm)| PassLength {
            group,
            pass,
            path_length_mm: Some(mm),
        };
        sums.into_iter().map(row).collect()
    };
    let travelled = paths
        .operations
        .iter()
        .filter(|a| a.kind == OperationKind::Travel);
    // Two contours may share a hole.
    let holes: BTreeSet<[u64; 2]> = paths
        .starts
        .list
        .iter()
        .filter(|start| start.hole_mm.is_some())
        .map(|start| [start.at.x, start.at.y].map(f64::to_bits))
        .collect();
    work.start_holes = holes.len();
    work.threads = count(OperationKind::Thread);
    work.tabs = count(OperationKind::CutOff);
    work.slugs = count(OperationKind::Remove);
    work.pass_changes = count(OperationKind::Adjust);
    work.leads = lengths(OperationKind::LeadIn);
    work.overlaps = lengths(OperationKind::LeadOut);
    work.coreless = lengths(OperationKind::Coreless);
    work.engagement = engagement(paths);
    work.travel_mm = travelled.map(|operation| operation.length_mm).sum();
    work
}

/// Computes the stock that each skim meets above plan, as path length that would take as long; less than planned gives no
/// credit.
fn engagement(paths: &Paths) -> Vec<PassLength> {
    let mut sums: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for path in &paths.loops {
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

impl Inspection {
    /// Returns those of `contours` that are the outside of a part without a tab: such a part is loose when its rough cut closes.
    pub(super) fn loose_parts(&self, contours: &[usize], holding: &Workholding) -> Vec<usize> {
        let is_loose = |contour: &&Contour| {
            let request = holding.on(contour.id, self.layer_of(contour));
            contour.role == Role::Outside && request.tab.is_left_out()
        };
        let named = contours
            .iter()
            .filter_map(|id| self.contours.list.get(id.checked_sub(1)?));
        named.filter(is_loose).map(|contour| contour.id).collect()
    }
}

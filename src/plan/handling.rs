//! Where the wire is threaded, what comes free and how, the blank, the order of it all, and what of it goes into time.

use std::collections::{BTreeMap, BTreeSet};

use super::{Error, Inspection};
use crate::contour::{Contour, Role};
use crate::estimate::{PassLength, Work};
use crate::job::{Holding, Running, StartAsk, Stops};
use crate::pass::{Ask, Group};
use crate::path::{self, Handling, Paths, Plate, RawBlank, Starting, StepKind};
use crate::shop::{self, Book};

/// Adds to the paths where the wire is threaded and how it runs on and off, what comes free, how the blank lies, what
/// may move, and the order of it all.
pub(super) fn handle(
    paths: &mut Paths,
    inspection: &Inspection,
    groups: &[Group],
    ask: &Ask,
    (holding, running): (&Holding, &Running),
    book: &Book,
) -> Result<(), Error> {
    let rules = &book.rules;
    let setting = ask.setting(book)?;
    let contours = &inspection.contours;
    paths.blank = RawBlank::new(contours, holding, &rules.holding);
    let threading = path::Threading::new(
        contours,
        &Starting {
            rule: &rules.start_hole,
            thickness_mm: ask.thickness_mm,
            wire_mm: setting.wire.size.diameter_mm,
            clamp: holding.clamp,
            blank: paths.blank.as_ref(),
            holes: &running.holes,
        },
    );
    let start_ask = |contour: &Contour| running.on(contour.id, inspection.layer_of(contour));
    let starts = threading.starts(paths, start_ask);
    let handling = Handling {
        rules,
        plate: Plate {
            material: setting.material,
            thickness_mm: ask.thickness_mm,
        },
        clamp: holding.clamp,
    };
    let ask_of = |contour: &Contour| holding.on(contour.id, inspection.layer_of(contour));
    paths.separations = path::separations(contours, paths, groups, &handling, ask_of, |wire_loop| {
        starts.place_of(wire_loop)
    });
    let runs = threading.runs(paths, &starts, groups, start_ask);
    drop(threading);
    (paths.starts, paths.runs) = (starts, runs);
    let usual = match setting.machine.threading {
        shop::Threading::Automatic => Stops::Grouped,
        shop::Threading::Hand => Stops::Each,
    };
    paths.moves = path::moves(contours, paths, running.stops.unwrap_or(usual));
    let widest_mm = groups.iter().filter_map(|group| group.passes.first());
    let widest_mm = widest_mm.map(|pass| pass.reach_mm).fold(0.0, f64::max);
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
    paths.may_move = path::may_move(contours, &paths.separations, paths.blank.as_ref(), &rules.holding);
    Ok(())
}

/// What is asked of how the wire runs that has to be said, in words.
pub(super) fn said(running: &Running, groups: &[Group]) -> Vec<String> {
    let sharp = running.sharp_corners.map(|limit| {
        format!("outside corners of the path run sharp up to {limit} offsets from those of the contour, else rolled")
    });
    let cut = |id: &usize| groups.iter().any(|group| group.contours.contains(id));
    let not_cut = running
        .contours
        .iter()
        .filter(|(id, ask)| **ask != StartAsk::default() && !cut(id));
    let not_cut = not_cut.map(|(id, _)| format!("contour {id}, of which a start is asked, is not cut"));
    sharp.into_iter().chain(not_cut).collect()
}

/// The work beside the passes, as it is on the paths.
pub(super) fn counted(mut work: Work, paths: &Paths) -> Work {
    let count = |kind: StepKind| paths.moves.iter().filter(|a| a.kind == kind).count();
    let lengths = |kind: StepKind| {
        let mut sums: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for a_move in paths.moves.iter().filter(|a| a.kind == kind && a.cut_mm > 0.0) {
            let wire = &paths.loops[a_move.wire_loop];
            *sums.entry((wire.group, wire.pass)).or_default() += a_move.cut_mm;
        }
        let row = |((group, pass), mm)| PassLength {
            group,
            pass,
            path_length_mm: Some(mm),
        };
        sums.into_iter().map(row).collect()
    };
    let travelled = paths.moves.iter().filter(|a| a.kind == StepKind::Travel);
    // Two contours may share a hole.
    let holes: BTreeSet<[u64; 2]> = paths
        .starts
        .list
        .iter()
        .filter(|start| start.hole_mm.is_some())
        .map(|start| [start.at.x, start.at.y].map(f64::to_bits))
        .collect();
    work.start_holes = holes.len();
    work.threads = count(StepKind::Thread);
    work.tabs = count(StepKind::CutOff);
    work.slugs = count(StepKind::Remove);
    work.pass_changes = count(StepKind::Adjust);
    work.leads = lengths(StepKind::LeadIn);
    work.overlaps = lengths(StepKind::LeadOut);
    work.coreless = lengths(StepKind::Coreless);
    work.engagement = engagement(paths);
    work.travel_mm = travelled.map(|a_move| a_move.length_mm).sum();
    work
}

/// What each skim meets beyond what it is meant to, as path length that would take as long; where it meets less it
/// is not credited.
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
    /// Those of `contours` that are the outside of a part without a tab: such a part is loose when its rough pass closes.
    pub(super) fn loose_parts(&self, contours: &[usize], holding: &Holding) -> Vec<usize> {
        let is_loose = |contour: &&Contour| {
            let ask = holding.on(contour.id, self.layer_of(contour));
            contour.role == Role::Outside && ask.tab.is_left_out()
        };
        let named = contours
            .iter()
            .filter_map(|id| self.contours.list.get(id.checked_sub(1)?));
        named.filter(is_loose).map(|contour| contour.id).collect()
    }
}

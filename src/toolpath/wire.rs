//! From contours and passes to all wire-centre paths of a job.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::corner::sharpened;
use super::dividing::{Cutting, Division, divisions};
use super::incomplete::incomplete;
use super::neighbours::{Neighbourhood, pass_of};
use super::offset::{Offset, Offsets, RefusedOffset};
use super::reach::{UnreachedPlace, places};
use super::refusal::RefusalReason;
use super::slit::{SlitPath, Slitting};
use super::stock::{Before, full_slot};
use super::trim::{TrimPath, TrimSite, Trimming, met_along};
use super::wide_slit::WideSlitting;
use super::{
    Neck, Overload, PathRefusal, Proposer, Split, Toolpaths, Unreached, UnreachedKind, Vanished, WireLoop,
};
use crate::cancel::checkpoint;
use crate::contour::{Contour, Contours, KeptMaterial, Role, SideFrom};
use crate::geometry::{Point, Polyline, SegmentIndex};
use crate::id::ContourId;
use crate::job::{OpenSkims, Purpose};
use crate::pass::{CornerRun, Group, Pass};

/// Contours whose paths are laid before these are put beside those of others: each thread has memory of its own, and what it gets
/// back it can use again.
const TOGETHER: usize = 1024;

/// The paths of every pass of every contour in `groups`, each offset from the contour itself, never from the
/// pass before. Near-linear in the segments of each contour.
pub fn wire_paths(contours: &Contours, groups: &[Group]) -> Toolpaths {
    let mut groups_of: BTreeMap<ContourId, Vec<&Group>> = BTreeMap::new();
    for group in groups {
        for &contour in &group.contours {
            groups_of.entry(contour).or_default().push(group);
        }
    }
    // Nothing is tried of what is asked about.
    let settled = contours
        .list
        .iter()
        .filter(|contour| contour.side_from != SideFrom::Unclear);
    let tasks: Vec<(&Contour, &Group)> = settled
        .flat_map(|contour| {
            let groups = groups_of.get(&contour.id).into_iter().flatten();
            groups.map(move |&group| (contour, group))
        })
        .collect();
    let segments = tasks
        .iter()
        .map(|(contour, group)| contour.polyline.segment_count() * group.passes.len());
    let threads = Threads::worth(segments.sum());
    let has_open_cuts = tasks.iter().any(|(contour, _)| contour.purpose.is_open_cut());
    let kept = has_open_cuts.then(|| KeptMaterial::new(contours));
    let mut paths = PassPaths::default();
    for tasks in tasks.chunks(TOGETHER) {
        let laid = threads.each(tasks.len(), |i| match (&kept, tasks[i]) {
            (Some(kept), (contour, group)) if contour.purpose.is_open_cut() => {
                let cut = match contour.width_mm {
                    _ if contour.purpose == Purpose::Trim => trim(contour, group, kept, threads),
                    Some(width_mm) => wide_slit(contour, group, kept, (width_mm, threads)),
                    None => slit(contour, group, kept),
                };
                cut.unwrap_or_else(|refused| refused_at(contour, group, refused))
            }
            (_, (contour, group)) => lay(contour, group, threads),
        });
        paths.append_all(laid);
    }
    if let Some(kept) = &kept {
        part_by_slits(&mut paths, kept, groups);
    }
    let neighbourhood = Neighbourhood::new(contours);
    let incomplete = incomplete(
        contours,
        groups_of.keys().copied(),
        &paths.refusals,
        &paths.vanished,
        &paths.unreached,
    );
    let hits = neighbourhood.hits(&paths.loops, groups);
    let left_out: BTreeSet<ContourId> = incomplete
        .iter()
        .filter(|i| i.is_left_out())
        .map(|i| i.contour)
        .collect();
    let mut loops = paths.loops;
    loops.retain(|wire| !left_out.contains(&wire.contour));
    Toolpaths {
        hits,
        walls_cut: neighbourhood.walls_cut(groups),
        loops,
        incomplete,
        refusals: paths.refusals,
        splits: paths.splits,
        vanished: paths.vanished,
        overloads: paths.overloads,
        unreached: paths.unreached,
    }
}

/// The loops of contours at an offset, each its own, and nothing else of their passes: how long they are together, mm. `None` of
/// one for which no loop passed the verifier.
pub fn loop_lengths_mm(contours: &[(&Contour, f64)]) -> Vec<Option<f64>> {
    let segments = contours
        .iter()
        .map(|(contour, _)| contour.polyline.segment_count());
    Threads::worth(segments.sum()).each(contours.len(), |i| {
        let (contour, offset_mm) = contours[i];
        let found = OffsetsOf::contour(contour).and_then(|offsets| offsets.at(offset_mm));
        let length_mm = |found: Offset| found.loops.iter().map(Polyline::length).sum();
        found.map(length_mm).ok()
    })
}

/// What was found along passes, without their neighbours.
#[derive(Default)]
struct PassPaths {
    loops: Vec<WireLoop>,
    refusals: Vec<PathRefusal>,
    splits: Vec<Split>,
    vanished: Vec<Vanished>,
    overloads: Vec<Overload>,
    unreached: Vec<Unreached>,
}

impl PassPaths {
    /// Puts parts behind one another, in their order.
    fn append_all(&mut self, parts: Vec<Self>) {
        for mut part in parts {
            checkpoint();
            self.loops.append(&mut part.loops);
            self.refusals.append(&mut part.refusals);
            self.splits.append(&mut part.splits);
            self.vanished.append(&mut part.vanished);
            self.overloads.append(&mut part.overloads);
            self.unreached.append(&mut part.unreached);
        }
    }

    /// Takes the loops out of what was found round the region of an open cut, and leaves what concerns its walls.
    fn open_cut_loops(&mut self, kept: &KeptMaterial<'_>) -> Vec<WireLoop> {
        self.unreached.retain(|place| kept.is_at_wall(place.at));
        self.overloads.retain(|place| kept.is_at_wall(place.at));
        self.splits.clear();
        std::mem::take(&mut self.loops)
    }
}

/// Whether the passes and contours are worked on at the same time. Their results stand in the same order either way.
#[derive(Clone, Copy)]
enum Threads {
    One,
    AsManyAsCores,
}

impl Threads {
    /// Segments, over all passes, from which starting threads pays for itself.
    const WORTH_SEGMENTS: usize = 2_000;

    const fn worth(segments: usize) -> Self {
        if segments < Self::WORTH_SEGMENTS {
            Self::One
        } else {
            Self::AsManyAsCores
        }
    }

    /// The results of `job` for 0 to `count`, in that order.
    fn each<T: Send>(self, count: usize, job: impl Fn(usize) -> T + Send + Sync) -> Vec<T> {
        match self {
            Self::One => (0..count).map(job).collect(),
            Self::AsManyAsCores => (0..count).into_par_iter().map(job).collect(),
        }
    }
}

/// The one pass of a slit of one kerf.
fn slit(contour: &Contour, group: &Group, kept: &KeptMaterial<'_>) -> Result<PassPaths, RefusedOffset> {
    let mut paths = PassPaths::default();
    let Some(rough) = group.passes.first() else {
        return Ok(paths);
    };
    let slitting = Slitting {
        kept,
        half_kerf_mm: rough.half_kerf_mm,
        run_out_mm: group.run_out_mm,
    };
    paths
        .loops
        .push(along_line(contour, group, rough, slitting.path(contour)?));
    Ok(paths)
}

/// The path along a line as that of a rough pass.
fn along_line(contour: &Contour, group: &Group, rough: &Pass, found: SlitPath) -> WireLoop {
    let SlitPath {
        path,
        cut,
        verified_mm,
        ..
    } = found;
    WireLoop {
        contour: contour.id,
        group: group.group,
        pass: rough.pass,
        length_mm: path.length(),
        engagement: full_slot(&path),
        polyline: path,
        verified_mm,
        proposer: Proposer::Line,
        open: Some(cut),
    }
}

/// All passes of a slit of a width: those in its band, of which the runs along both walls are the paths.
fn wide_slit(
    contour: &Contour,
    group: &Group,
    kept: &KeptMaterial<'_>,
    (width_mm, threads): (f64, Threads),
) -> Result<PassPaths, RefusedOffset> {
    let wide = WideSlitting {
        kept,
        passes: &group.passes,
        run_out_mm: group.run_out_mm,
        overload_limit: group.overload_limit,
        width_mm,
    };
    let site = wide.site(contour)?;
    let roughed_once = wide.is_roughed_once();
    let in_band = Group {
        passes: group.passes[usize::from(roughed_once)..].to_vec(),
        ..group.clone()
    };
    let mut paths = lay(&site.stand_in(contour), &in_band, threads);
    let around = paths.open_cut_loops(kept);
    if !paths.refusals.is_empty() || !paths.vanished.is_empty() {
        return Ok(paths);
    }
    if around.len() != in_band.passes.len() {
        let at = contour.bounds.center();
        return Err(RefusedOffset {
            at,
            reason: RefusalReason::TrimSplits,
        });
    }
    if roughed_once {
        let found = wide.along_middle(contour, &site)?;
        paths
            .loops
            .push(along_line(contour, group, &group.passes[0], found));
    }
    for (wire, pass) in around.into_iter().zip(&in_band.passes) {
        let TrimPath { path, from, cut } = site.path(&wide, pass, &wire.polyline)?;
        let first_skim = roughed_once && paths.loops.len() == 1;
        paths.loops.push(WireLoop {
            length_mm: path.length(),
            engagement: if first_skim {
                wide.first_engagement(pass, from.len())
            } else {
                met_along(&from, &wire.engagement)
            },
            polyline: path,
            open: Some(cut),
            ..wire
        });
    }
    let [rough, skims @ ..] = paths.loops.as_mut_slice() else {
        return Ok(paths);
    };
    let rib = if roughed_once { None } else { site.rib(&wide)? };
    // Where a rib drops, or the rough cut ran along the middle, the first skim comes from the start.
    let first_back = usize::from(roughed_once || rib.is_some());
    if let Some(cut) = &mut rough.open {
        cut.band = Some(site.band(width_mm));
        cut.waste = site.waste(&wide)?;
        cut.offcut = rib;
    }
    if group.open_skims == OpenSkims::ToAndFro {
        go_to_and_fro(skims.iter_mut().skip(first_back));
    }
    Ok(paths)
}

/// Turns every second of these skims, from the first on: they go to and fro.
fn go_to_and_fro<'a>(skims: impl Iterator<Item = &'a mut WireLoop>) {
    for wire in skims.step_by(2) {
        wire.polyline = wire.polyline.reversed();
        wire.engagement.reverse();
        if let Some(cut) = &mut wire.open {
            cut.ends.reverse();
            cut.runs_back = true;
        }
    }
}

/// An open cut without a path: its first pass is refused.
fn refused_at(contour: &Contour, group: &Group, RefusedOffset { at, reason }: RefusedOffset) -> PassPaths {
    let refusal = group.passes.first().map(|rough| PathRefusal {
        contour: contour.id,
        pass: rough.pass,
        at,
        reason,
    });
    PassPaths {
        refusals: refusal.into_iter().collect(),
        ..PassPaths::default()
    }
}

/// All passes of a trim: those round what is cut off, of which the run along the line is the path.
fn trim(
    contour: &Contour,
    group: &Group,
    kept: &KeptMaterial<'_>,
    threads: Threads,
) -> Result<PassPaths, RefusedOffset> {
    let trimming = Trimming {
        kept,
        passes: &group.passes,
        run_out_mm: group.run_out_mm,
    };
    let site = trimming.site(contour)?;
    let mut paths = lay(&site.stand_in(contour), group, threads);
    let around = paths.open_cut_loops(kept);
    if !paths.refusals.is_empty() || !paths.vanished.is_empty() {
        return Ok(paths);
    }
    for pass in &group.passes {
        paths.loops.push(trim_pass(&trimming, &site, pass, &around)?);
    }
    let [rough, skims @ ..] = paths.loops.as_mut_slice() else {
        return Ok(paths);
    };
    if let Some(cut) = &mut rough.open {
        cut.kept_drops = site.loose.is_some();
        cut.offcut = match &site.loose {
            Some(loose) => Some(loose.clone()),
            None => site.offcut(&trimming)?,
        };
    }
    // A piece that is kept is skimmed on its tab, back from there first; else the first skim comes from the start.
    if site.loose.is_some() || group.open_skims == OpenSkims::ToAndFro {
        go_to_and_fro(skims.iter_mut().skip(usize::from(site.loose.is_none())));
    }
    Ok(paths)
}

/// One pass of a trim, out of the loops of all.
fn trim_pass(
    trimming: &Trimming<'_>,
    site: &TrimSite,
    pass: &Pass,
    around: &[WireLoop],
) -> Result<WireLoop, RefusedOffset> {
    let of_pass: Vec<&WireLoop> = around.iter().filter(|wire| wire.pass == pass.pass).collect();
    let loops: Vec<&Polyline> = of_pass.iter().map(|wire| &wire.polyline).collect();
    let (i, TrimPath { path, from, cut }) = site.path(trimming, pass, &loops)?;
    Ok(WireLoop {
        length_mm: path.length(),
        engagement: met_along(&from, &of_pass[i].engagement),
        polyline: path,
        open: Some(cut),
        ..of_pass[i].clone()
    })
}

/// Gives the slits that cut a piece off what drops, and refuses those of which it is not planned how it drops.
fn part_by_slits(paths: &mut PassPaths, kept: &KeptMaterial<'_>, groups: &[Group]) {
    let is_slit =
        |wire: &WireLoop| wire.pass.is_rough() && kept.contours[wire.contour].purpose == Purpose::Slit;
    let slits: Vec<usize> = (0..paths.loops.len())
        .filter(|&i| is_slit(&paths.loops[i]))
        .collect();
    let cutting = |&i: &usize| {
        let wire = &paths.loops[i];
        let cut = wire.open.as_ref()?;
        let half_kerf_mm = pass_of(groups, wire.group, wire.pass)?.half_kerf_mm;
        let (path, half_kerf_mm) = match &cut.band {
            Some(band) => (&band.middle, 0.5 * band.width_mm),
            None => (&wire.polyline, half_kerf_mm),
        };
        Some(Cutting {
            path,
            cut,
            half_kerf_mm,
        })
    };
    let cuts: Option<Vec<Cutting<'_>>> = slits.iter().map(cutting).collect();
    let divisions = cuts.and_then(|cuts| divisions(kept, &cuts));
    let mut refused: Vec<usize> = Vec::new();
    for (k, &i) in slits.iter().enumerate() {
        let wire = &mut paths.loops[i];
        let reason = match divisions.as_ref().map(|divisions| &divisions[k]) {
            Some(Division::PartsNothing) => continue,
            Some(Division::CutsOff(shape)) if kept.contours[wire.contour].is_one_kerf_wide() => {
                if let Some(cut) = &mut wire.open {
                    cut.offcut = Some(shape.clone());
                    cut.kept_drops = true;
                }
                continue;
            }
            Some(Division::CutsOff(_) | Division::Otherwise) => {
                if kept.contours[wire.contour].is_one_kerf_wide() {
                    RefusalReason::CutsPieceOff
                } else {
                    RefusalReason::WideSlitParts
                }
            }
            None => RefusalReason::NoneFound,
        };
        refused.push(i);
        paths.refusals.push(PathRefusal {
            contour: wire.contour,
            pass: wire.pass,
            at: wire
                .polyline
                .vertices
                .first()
                .map_or_else(Point::default, |v| v.at),
            reason,
        });
    }
    let refused: BTreeSet<ContourId> = refused.into_iter().map(|i| paths.loops[i].contour).collect();
    paths.loops.retain(|wire| !refused.contains(&wire.contour));
}

/// All passes of one contour.
fn lay(contour: &Contour, group: &Group, threads: Threads) -> PassPaths {
    // The contour in the direction of its paths, the kept material on the left.
    let walk = match contour.role {
        Role::Opening => contour.polyline.reversed(),
        Role::Outside | Role::Open => contour.polyline.clone(),
    };
    let offsets = OffsetsOf::contour(contour);
    let run = if group.rough_only.contains(&contour.id) {
        group.passes.len().min(1)
    } else {
        group.passes.len()
    };
    let passes = &group.passes[..run];
    let found = threads.each(passes.len(), |k| {
        checkpoint();
        offsets.as_ref().map_err(Clone::clone)?.at(passes[k].offset_mm)
    });
    let parts = threads.each(passes.len(), |k| {
        checkpoint();
        match &found[k] {
            Ok(offset) => {
                let before = k
                    .checked_sub(1)
                    .and_then(|k| Some((&passes[k], found[k].as_ref().ok()?)));
                let is_last = k + 1 == passes.len();
                follow(
                    contour,
                    &walk,
                    group,
                    (&passes[k], is_last),
                    offset,
                    before,
                    &offsets,
                )
            }
            Err(RefusedOffset { at, reason }) => PassPaths {
                refusals: vec![PathRefusal {
                    contour: contour.id,
                    pass: passes[k].pass,
                    at: *at,
                    reason: *reason,
                }],
                ..PassPaths::default()
            },
        }
    });
    let mut paths = PassPaths::default();
    paths.append_all(parts);
    paths.refusals.extend(only_skimmed(contour, passes, &found));
    if group.corners == CornerRun::Rolled {
        // The paths are the loops that were found: moved here, they are not in memory twice.
        let loops = found.into_iter().flatten().flat_map(|offset| offset.loops);
        for (wire, polyline) in paths.loops.iter_mut().zip(loops) {
            wire.polyline = polyline;
        }
    }
    paths
}

/// A region that a skim enters and the rough pass does not: no pass before opens it.
fn only_skimmed(
    contour: &Contour,
    passes: &[Pass],
    found: &[Result<Offset, RefusedOffset>],
) -> Option<PathRefusal> {
    let (Ok(rough), skims) = found.split_first()? else {
        return None;
    };
    if rough.loops.is_empty() {
        return None;
    }
    let opened = |region: &Polyline| {
        let (around, bounds) = (region.area() > 0.0, region.bounds());
        rough.loops.iter().any(|rough| {
            let first = rough.vertices.first().map(|v| v.at);
            let within = || first.is_some_and(|at| bounds.contains(at) && region.winding(at) != 0);
            if around { rough.area() > 0.0 } else { within() }
        })
    };
    let skims = passes.iter().skip(1).zip(skims);
    let several = skims.filter_map(|(pass, offset)| Some((pass, offset.as_ref().ok()?)));
    let mut regions = several
        .filter(|(_, offset)| offset.loops.len() > 1)
        .flat_map(|(pass, offset)| offset.loops.iter().map(move |region| (pass, region)));
    let (pass, region) = regions.find(|(_, region)| !opened(region))?;
    Some(PathRefusal {
        contour: contour.id,
        pass: passes.first()?.pass,
        at: region.bounds().center(),
        reason: RefusalReason::OnlySkimmed { first: pass.pass },
    })
}

/// One pass of a contour along its verified loops: what it leaves, what it meets of the pass before.
fn follow(
    contour: &Contour,
    walk: &Polyline,
    group: &Group,
    (pass, is_last): (&Pass, bool),
    found: &Offset,
    before: Option<(&Pass, &Offset)>,
    offsets: &Result<OffsetsOf, RefusedOffset>,
) -> PassPaths {
    let mut paths = reach_of(contour, walk, group, (pass, is_last), &found.loops, offsets);
    let met = before.map(|(earlier, offset)| {
        Before::new(
            earlier,
            &offset.loops,
            pass,
            offset.verified_mm + found.verified_mm,
        )
    });
    for polyline in &found.loops {
        let along = met
            .as_ref()
            .and_then(|met| met.met_along(polyline, pass.half_kerf_mm));
        let (engagement, excess) = along.unwrap_or_else(|| (full_slot(polyline), Vec::new()));
        paths.overloads.extend(excess.into_iter().map(|e| Overload {
            contour: contour.id,
            pass: pass.pass,
            at: e.at,
            met_mm: e.met_mm,
            meant_mm: e.meant_mm,
        }));
        let (polyline, length_mm, engagement) = match group.corners {
            // Filled in when no other pass looks at it any more.
            CornerRun::Rolled => (Polyline::default(), polyline.length(), engagement),
            CornerRun::Sharp { limit } => {
                let index = SegmentIndex::of([walk]);
                let (sharp, engagement) = sharpened(polyline, &engagement, &index, pass.offset_mm, limit);
                let length_mm = sharp.length();
                (sharp, length_mm, engagement)
            }
        };
        paths.loops.push(WireLoop {
            contour: contour.id,
            group: group.group,
            pass: pass.pass,
            polyline,
            length_mm,
            verified_mm: found.verified_mm,
            proposer: found.proposer,
            engagement,
            open: None,
        });
    }
    paths
}

/// Offsets of a contour to the side where its material is not kept.
struct OffsetsOf {
    offsets: Offsets,
    role: Role,
}

impl OffsetsOf {
    fn contour(contour: &Contour) -> Result<Self, RefusedOffset> {
        if contour.role == Role::Open {
            let at = contour.polyline.vertices.first();
            return Err(RefusedOffset {
                at: at.map_or_else(Point::default, |v| v.at),
                reason: RefusalReason::Open,
            });
        }
        Ok(Self {
            offsets: Offsets::of(&contour.polyline)?,
            role: contour.role,
        })
    }

    fn at(&self, offset_mm: f64) -> Result<Offset, RefusedOffset> {
        match self.role {
            Role::Opening => self.offsets.at(-offset_mm),
            Role::Outside | Role::Open => self.offsets.at(offset_mm),
        }
    }
}

/// Splits and vanishings of every pass; what is left over, of the last.
fn reach_of(
    contour: &Contour,
    walk: &Polyline,
    group: &Group,
    (pass, last): (&Pass, bool),
    loops: &[Polyline],
    offsets: &Result<OffsetsOf, RefusedOffset>,
) -> PassPaths {
    let mut paths = PassPaths::default();
    let may_stay_round = group.inside_radius_mm.is_some_and(|mm| pass.half_kerf_mm <= mm);
    let unreached = |place: &UnreachedPlace| Unreached {
        contour: contour.id,
        at: place.at,
        area_mm2: place.area_mm2,
        deviation_mm: place.deviation_mm,
        kind: place.kind,
        tolerance_mm: match place.kind {
            UnreachedKind::SharpCorner | UnreachedKind::SmallRadius if may_stay_round => None,
            _ => group.tolerance_mm,
        },
    };
    if loops.is_empty() {
        let (at, radius_mm) = offsets
            .as_ref()
            .map_or_else(|_| (contour.bounds.center(), 0.0), |of| of.offsets.roomiest());
        let neck = Neck {
            at,
            width_mm: 2.0 * radius_mm,
            required_clearance_mm: 2.0 * pass.offset_mm,
        };
        paths.vanished.push(Vanished {
            contour: contour.id,
            pass: pass.pass,
            neck,
        });
        let whole = UnreachedPlace {
            at: neck.at,
            area_mm2: contour.area_mm2,
            deviation_mm: 0.5 * neck.width_mm,
            kind: UnreachedKind::Vanished,
            necks: Vec::new(),
        };
        paths.unreached.extend(last.then(|| unreached(&whole)));
        return paths;
    }
    if !last && loops.len() == 1 {
        return paths;
    }
    let places = places(walk, loops, pass.offset_mm);
    if loops.len() > 1 {
        paths.splits.push(Split {
            contour: contour.id,
            pass: pass.pass,
            loops: loops.len(),
            necks: places
                .iter()
                .flat_map(|place| place.necks.iter().copied())
                .collect(),
        });
    }
    if last {
        paths.unreached.extend(places.iter().map(unreached));
    }
    paths
}

//! Between contours: where the wire on its way round one runs into material that another keeps, and where a wall
//! between two of them is cut away altogether. Neighbours are found through an index of all segments.

use std::collections::BTreeMap;

use super::{NeighbourHit, WallCut, WireLoop};
use crate::cancel::checkpoint_each;
use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Bounds, Point, Segment, SegmentIndex};
use crate::id::{ContourId, GroupId, PassNo};
use crate::pass::{Group, Pass};
use crate::tolerance::PATH_MM;

/// Segments of a path that are looked at together: along the run of short ones most of what lies near is the contour itself.
const RUN: usize = 32;

/// All segments of the contours that bound material.
pub(super) struct Neighbourhood<'a> {
    bounding: Vec<&'a Contour>,
    index: SegmentIndex,
    /// Which of `bounding` each segment belongs to.
    owner: Vec<usize>,
}

impl<'a> Neighbourhood<'a> {
    pub(super) fn new(contours: &'a Contours) -> Self {
        let bounding: Vec<&Contour> = contours.list.iter().filter(|c| c.bounds_material()).collect();
        let owner = bounding
            .iter()
            .enumerate()
            .flat_map(|(i, contour)| std::iter::repeat_n(i, contour.polyline.segment_count()))
            .collect();
        let index = SegmentIndex::of(bounding.iter().map(|contour| &contour.polyline));
        Self {
            bounding,
            index,
            owner,
        }
    }

    /// For each contour and neighbour, the place where the wire run of the one reaches deepest into the other.
    pub(super) fn hits(&self, loops: &[WireLoop], groups: &[Group]) -> Vec<NeighbourHit> {
        let mut hits: BTreeMap<(ContourId, ContourId), NeighbourHit> = BTreeMap::new();
        for wire in loops.iter().filter(|wire| !self.is_alone(wire.contour)) {
            let Some(half_kerf_mm) = pass_of(groups, wire.group, wire.pass).map(|pass| pass.half_kerf_mm)
            else {
                continue;
            };
            let segments: Vec<Segment> = wire.polyline.segments().collect();
            for run in segments.chunks(RUN) {
                let others = self.others_near(run, half_kerf_mm, wire.contour);
                let pairs = run.iter().flat_map(|s| others.iter().map(move |i| (s, i)));
                for (pair, (&segment, &i)) in pairs.enumerate() {
                    checkpoint_each(pair);
                    let wall = self.index.segments()[i];
                    let neighbour = self.bounding[self.owner[i]].id;
                    // An open cut is there to cross edges.
                    if wire
                        .open
                        .as_ref()
                        .is_some_and(|cut| cut.crossed.contains(&neighbour))
                    {
                        continue;
                    }
                    if !wall.bounds().overlaps(segment.bounds().grown(half_kerf_mm)) {
                        continue;
                    }
                    let (clearance, _, at) = segment.closest(wall);
                    let overlap_mm = half_kerf_mm - clearance;
                    if overlap_mm <= PATH_MM {
                        continue;
                    }
                    let hit = NeighbourHit {
                        contour: wire.contour,
                        pass: wire.pass,
                        neighbour,
                        at,
                        overlap_mm,
                    };
                    let known = hits
                        .entry((hit.contour, hit.neighbour))
                        .or_insert_with(|| hit.clone());
                    if overlap_mm > known.overlap_mm {
                        *known = hit;
                    }
                }
            }
        }
        hits.into_values().collect()
    }

    /// Whether no other contour than `own` bounds material.
    fn is_alone(&self, own: ContourId) -> bool {
        self.bounding.len() < 2 && self.bounding.iter().all(|contour| contour.id == own)
    }

    /// Numbers of the segments of other contours than `own` that may come within `reach` of the run.
    fn others_near(&self, run: &[Segment], reach: f64, own: ContourId) -> Vec<usize> {
        let bounds = run.iter().map(|s| s.bounds()).fold(Bounds::EMPTY, Bounds::union);
        self.index
            .near(bounds.grown(reach))
            .filter(|&i| self.bounding[self.owner[i]].id != own)
            .collect()
    }

    /// Pairs of contours between which nothing of the wall that both keep is left after the last pass.
    pub(super) fn walls_cut(&self, groups: &[Group]) -> Vec<WallCut> {
        if self.bounding.len() < 2 {
            return Vec::new();
        }
        // How far the finished wall of a contour lies inside its kept material: the aim.
        let mut into_wall: BTreeMap<ContourId, f64> = BTreeMap::new();
        for group in groups {
            let Some(last) = group.passes.last() else { continue };
            into_wall.extend(
                group
                    .contours
                    .iter()
                    .map(|&id| (id, last.half_kerf_mm - last.offset_mm)),
            );
        }
        let aim_of = |contour: ContourId| into_wall.get(&contour).copied().unwrap_or_default();
        let most = into_wall.values().fold(0.0f64, |most, &aim| most.max(aim));
        let mut cut: BTreeMap<(ContourId, ContourId), WallCut> = BTreeMap::new();
        for (i, &segment) in self.index.segments().iter().enumerate() {
            let here = self.bounding[self.owner[i]];
            for (neighbour, wall_mm, at) in self.near(segment, 2.0 * most + PATH_MM, |id| id > here.id) {
                let there = self.bounding[neighbour];
                let left_mm = wall_mm - aim_of(here.id) - aim_of(there.id);
                if left_mm > PATH_MM || !keep_a_wall(here, there) {
                    continue;
                }
                let found = WallCut {
                    contour: here.id,
                    neighbour: there.id,
                    at,
                    wall_mm,
                    left_mm,
                };
                let known = cut.entry((here.id, there.id)).or_insert_with(|| found.clone());
                if left_mm < known.left_mm {
                    *known = found;
                }
            }
        }
        cut.into_values().collect()
    }

    /// Contours with a segment within `reach` of `segment`: which, how near, and where on it.
    fn near(
        &self,
        segment: Segment,
        reach: f64,
        wanted: impl Fn(ContourId) -> bool,
    ) -> impl Iterator<Item = (usize, f64, Point)> {
        self.index
            .near(segment.bounds().grown(reach))
            .filter(move |&i| wanted(self.bounding[self.owner[i]].id))
            .map(move |i| {
                let (clearance, _, at) = segment.closest(self.index.segments()[i]);
                (self.owner[i], clearance, at)
            })
    }
}

/// Whether the material between two contours is kept: between two openings, or an opening and the outside that it
/// lies in. Between two parts, and between a part and the opening that it lies in, it is waste.
fn keep_a_wall(a: &Contour, b: &Contour) -> bool {
    let inside = |part: &Contour, opening: &Contour| part.parent == Some(opening.id);
    match (a.role, b.role) {
        (Role::Opening, Role::Opening) => true,
        (Role::Opening, Role::Outside) => !inside(b, a),
        (Role::Outside, Role::Opening) => !inside(a, b),
        _ => false,
    }
}

/// Returns a pass of a group; `None` where there is none.
pub(super) fn pass_of(groups: &[Group], group: GroupId, pass: PassNo) -> Option<&Pass> {
    let group = groups.iter().find(|g| g.group == group)?;
    group.passes.iter().find(|p| p.pass == pass)
}

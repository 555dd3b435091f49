//! What stands around the paths: walls, holes, the blank.

use std::collections::BTreeMap;

use super::holes::{Hole, bores, holes};
use super::start::{Starting, UnusedHole};
use crate::contour::{Contours, Regions, Role};
use crate::geometry::{Point, Polyline, Segment, SegmentIndex};
use crate::id::ContourId;
use crate::tolerance::PATH_MM;

/// What stands around.
pub(super) struct Surroundings<'a> {
    pub(super) contours: &'a Contours,
    walls: SegmentIndex,
    /// The contour of each wall.
    wall_of: Vec<ContourId>,
    pub(super) starting: Starting<'a>,
    pub(super) regions: Regions<'a>,
    pub(super) holes: Vec<Hole>,
    /// Of `holes`, as lines of no length.
    pub(super) hole_index: SegmentIndex,
    pub(super) holes_beside: BTreeMap<ContourId, Vec<usize>>,
    /// Of `holes`, openings that are there already, by the contour in whose waste they lie.
    pub(super) bores_in: BTreeMap<ContourId, Vec<usize>>,
}

impl<'a> Surroundings<'a> {
    pub(super) fn new(contours: &'a Contours, starting: &Starting<'a>) -> Self {
        let regions = Regions::new(contours);
        let mut holes = holes(contours, starting.holes, &regions);
        let mut holes_beside: BTreeMap<ContourId, Vec<usize>> = BTreeMap::new();
        for (i, hole) in holes.iter().enumerate() {
            if let Some(beside) = hole.beside {
                holes_beside.entry(beside).or_default().push(i);
            }
        }
        let mut bores_in: BTreeMap<ContourId, Vec<usize>> = BTreeMap::new();
        for (region, bore) in bores(contours) {
            bores_in.entry(region).or_default().push(holes.len());
            holes.push(bore);
        }
        let walls = || contours.list.iter().filter(|c| c.bounds_material());
        Self {
            contours,
            walls: SegmentIndex::of(walls().map(|c| &c.polyline)),
            wall_of: walls()
                .flat_map(|c| std::iter::repeat_n(c.id, c.polyline.segment_count()))
                .collect(),
            starting: *starting,
            regions,
            hole_index: SegmentIndex::new(holes.iter().map(|h| Segment::line(h.at, h.at)).collect()),
            holes,
            holes_beside,
            bores_in,
        }
    }

    pub(super) fn unused(&self, hole: &Hole) -> UnusedHole {
        // What is machined already in waste is an opening, however deep it lies.
        let is_bore = |id: ContourId| self.holes.iter().any(|hole| hole.bore() == Some(id));
        let kept = |id: &ContourId| self.contours[*id].role == Role::Outside && !is_bore(*id);
        UnusedHole {
            at: hole.at,
            contour: hole.contour,
            kept_by: hole.region.filter(kept),
        }
    }

    /// Diameter of a hole that is not drawn, mm: as given, else the book's drill, or wider where the wire asks for it.
    pub(super) fn drill_mm(&self) -> f64 {
        let usual_mm = || self.starting.rule.drill_mm.value().max(self.threads_from_mm());
        self.starting.drill_mm.unwrap_or_else(usual_mm)
    }

    pub(super) fn drift_mm(&self) -> f64 {
        self.starting.rule.drift_share.value() * self.starting.thickness_mm
    }

    /// What is left of a hole seen through it, the drift taken off, has to pass the wire.
    pub(super) fn threads_from_mm(&self) -> f64 {
        self.starting.wire_mm + self.starting.rule.thread_clear_mm.value() + self.drift_mm()
    }

    pub(super) fn required_clearance_mm(&self, hole_mm: f64) -> f64 {
        0.5 * hole_mm + self.drift_mm() + self.starting.rule.wall_clear_mm.value()
    }

    pub(super) fn room(&self, p: Point, within_mm: f64) -> f64 {
        let found = self.walls.nearest_within(p, within_mm);
        found.map_or(within_mm, |(_, _, distance)| distance)
    }

    /// Distance to the nearest wall, mm, however far.
    pub(super) fn free(&self, p: Point) -> f64 {
        self.walls
            .nearest(p, self.starting.wire_mm)
            .map_or(f64::INFINITY, |(_, _, mm)| mm)
    }

    /// Distance of a path from its wall, at a point of it, mm.
    pub(super) fn offset_at(&self, entry: Point) -> f64 {
        self.walls
            .nearest(entry, self.starting.wire_mm)
            .map_or(0.0, |(_, _, mm)| mm)
    }

    /// Where a lead comes nearer than `offset_mm` to a wall, and by how much; the wall of the opening `from` in which it begins
    /// does not count.
    pub(super) fn blocked(
        &self,
        lead: &Polyline,
        offset_mm: f64,
        from: Option<ContourId>,
    ) -> Option<(Point, f64)> {
        let mut worst: Option<(Point, f64)> = None;
        for segment in lead.segments() {
            for i in self.walls.near(segment.bounds().grown(offset_mm)) {
                if from == Some(self.wall_of[i]) {
                    continue;
                }
                let (mm, _, at) = segment.closest(self.walls.segments()[i]);
                let deep = offset_mm - mm;
                if deep > PATH_MM && worst.is_none_or(|(_, known)| deep > known) {
                    worst = Some((at, deep));
                }
            }
        }
        worst
    }

    pub(super) fn is_clear(&self, lead: Segment, offset_mm: f64, from: Option<ContourId>) -> bool {
        self.blocked(&Polyline::run(&[lead]), offset_mm, from).is_none()
    }

    pub(super) fn lead_radius_mm(&self) -> f64 {
        self.starting.rule.lead_radius_mm.value()
    }
}

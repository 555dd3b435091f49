//! What stands around the paths: walls, holes, the blank; and which start each path takes.

use std::collections::BTreeMap;

use super::holes::{Hole, Regions, holes};
use super::lead::EntryPoint;
use super::path_line::open_run;
use super::start::{Path, Start, StartOrigin, Starting, UnusedHole};
use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Point, Polyline, Segment, SegmentIndex};
use crate::job::StartOptions;
use crate::tolerance::PATH_MM;

/// What stands around.
pub(super) struct Surroundings<'a> {
    pub(super) contours: &'a Contours,
    walls: SegmentIndex,
    pub(super) starting: Starting<'a>,
    regions: Regions<'a>,
    pub(super) holes: Vec<Hole>,
    /// Of `holes`, as lines of no length.
    hole_index: SegmentIndex,
    holes_beside: BTreeMap<usize, Vec<usize>>,
}

impl<'a> Surroundings<'a> {
    pub(super) fn new(contours: &'a Contours, starting: &Starting<'a>) -> Self {
        let regions = Regions::new(contours);
        let holes = holes(contours, starting.holes, &regions);
        let mut holes_beside: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (i, hole) in holes.iter().enumerate() {
            if let Some(beside) = hole.beside {
                holes_beside.entry(beside).or_default().push(i);
            }
        }
        Self {
            contours,
            walls: SegmentIndex::of(
                contours
                    .list
                    .iter()
                    .filter(|c| c.bounds_material())
                    .map(|c| &c.polyline),
            ),
            starting: *starting,
            regions,
            hole_index: SegmentIndex::new(holes.iter().map(|h| Segment::line(h.at, h.at)).collect()),
            holes,
            holes_beside,
        }
    }

    pub(super) fn unused(&self, hole: &Hole) -> UnusedHole {
        let kept = |id: &usize| self.contours.list[id - 1].role == Role::Outside;
        UnusedHole {
            at: hole.at,
            contour: hole.contour,
            kept_by: hole.region.filter(kept),
        }
    }

    /// Diameter of a hole that is not drawn, mm: the book's drill, or wider where the wire asks for it.
    pub(super) fn drill_mm(&self) -> f64 {
        let threads_from_mm = self.threads_from_mm();
        self.starting.rule.drill_mm.value().max(threads_from_mm)
    }

    pub(super) fn drift_mm(&self) -> f64 {
        self.starting.rule.drift_share.value() * self.starting.thickness_mm
    }

    /// What is left of a hole seen through it, the drift taken off, has to pass the wire.
    fn threads_from_mm(&self) -> f64 {
        self.starting.wire_mm + self.starting.rule.thread_clear_mm.value() + self.drift_mm()
    }

    pub(super) fn required_clearance_mm(&self, hole_mm: f64) -> f64 {
        0.5 * hole_mm + self.drift_mm() + self.starting.rule.wall_clear_mm.value()
    }

    pub(super) fn room(&self, p: Point, within_mm: f64) -> f64 {
        let found = self.walls.nearest_within(p, within_mm);
        found.map_or(within_mm, |(_, _, distance)| distance)
    }

    /// The start of a loop, and the drawn or given hole that it takes.
    pub(super) fn start(
        &self,
        wire_loop: usize,
        path: &Path<'_>,
        contour: &Contour,
        ask: StartOptions,
    ) -> (Start, Option<usize>) {
        let make = |at: Point, origin: StartOrigin, hole_mm: Option<f64>, landing: EntryPoint| {
            let required_clearance_mm = self.required_clearance_mm(hole_mm.unwrap_or(0.0));
            Start {
                contour: contour.id,
                wire_loop,
                at,
                origin,
                hole_mm,
                drift_mm: self.drift_mm(),
                clearance_mm: self.room(at, required_clearance_mm),
                required_clearance_mm,
                threads_from_mm: self.threads_from_mm(),
                misplaced: false,
                landing,
            }
        };
        let home = if contour.role == Role::Opening {
            Some(contour.id)
        } else {
            contour.parent
        };
        if let Some(at) = ask.at {
            let hole = self.hole_at(at);
            let drawn_mm = hole.and_then(|i| self.holes[i].diameter_mm);
            let landing = self.landing_from(path, at, &ask);
            let mut start = make(
                at,
                StartOrigin::Given,
                Some(drawn_mm.unwrap_or(self.drill_mm())),
                landing,
            );
            let inside = path.around || path.index.winding(at) != 0 || self.room(at, PATH_MM) < PATH_MM;
            start.misplaced = self.regions.of(at) != home || !inside;
            return (start, hole);
        }
        if let Some(i) = self.drawn_hole(path, contour, home) {
            let hole = &self.holes[i];
            let origin = if hole.drawn {
                StartOrigin::Drawn
            } else {
                StartOrigin::Given
            };
            let landing = self.landing_from(path, hole.at, &ask);
            let hole_mm = hole.diameter_mm.unwrap_or(self.drill_mm());
            return (make(hole.at, origin, Some(hole_mm), landing), Some(i));
        }
        let (at, origin, landing) = self.proposed(path, home, &ask);
        let hole_mm = (origin != StartOrigin::BlankEdge).then_some(self.drill_mm());
        let mut start = make(at, origin, hole_mm, landing);
        start.misplaced = origin != StartOrigin::BlankEdge && self.regions.of(at) != home;
        (start, None)
    }

    /// The drawn or given hole at a place.
    fn hole_at(&self, at: Point) -> Option<usize> {
        self.hole_index.nearest_within(at, PATH_MM).map(|(i, _, _)| i)
    }

    /// Of the holes in the region of a loop: in an opening the roomiest, beside a part the nearest.
    fn drawn_hole(&self, path: &Path<'_>, contour: &Contour, home: Option<usize>) -> Option<usize> {
        if path.around {
            let beside = self.holes_beside.get(&contour.id)?.iter().copied();
            let far = |i: usize| {
                path.index
                    .nearest(self.holes[i].at, 1.0)
                    .map_or(0.0, |(_, _, d)| d)
            };
            return beside.min_by(|&a, &b| far(a).total_cmp(&far(b)));
        }
        // A hole that reaches into the wall is taken too, so that it is told.
        let astray_mm = self.offset_at(path.wire.polyline.vertices[0].at) + PATH_MM;
        let within = self.hole_index.near(path.wire.polyline.bounds().grown(astray_mm));
        let here =
            |at: Point| path.index.winding(at) != 0 || path.index.nearest_within(at, astray_mm).is_some();
        let own = within.filter(|&i| self.holes[i].region == home && here(self.holes[i].at));
        let mut own: Vec<usize> = own.collect();
        own.sort_unstable();
        let most_mm = path.wire.polyline.bounds().diagonal();
        let room = |i: usize| self.room(self.holes[i].at, most_mm);
        // The first of equals.
        own.into_iter().rev().max_by(|&a, &b| room(a).total_cmp(&room(b)))
    }

    /// Distance of a path from its wall, at a point of it, mm.
    pub(super) fn offset_at(&self, entry: Point) -> f64 {
        self.walls
            .nearest(entry, self.starting.wire_mm)
            .map_or(0.0, |(_, _, mm)| mm)
    }

    /// Where a lead comes nearer than `offset_mm` to a wall, and by how much.
    pub(super) fn blocked(&self, lead: &Polyline, offset_mm: f64) -> Option<(Point, f64)> {
        let mut worst: Option<(Point, f64)> = None;
        for segment in lead.segments() {
            for i in self.walls.near(segment.bounds().grown(offset_mm)) {
                let (mm, _, at) = segment.closest(self.walls.segments()[i]);
                let deep = offset_mm - mm;
                if deep > PATH_MM && worst.is_none_or(|(_, known)| deep > known) {
                    worst = Some((at, deep));
                }
            }
        }
        worst
    }

    pub(super) fn is_clear(&self, lead: Segment, offset_mm: f64) -> bool {
        self.blocked(&open_run(&[lead]), offset_mm).is_none()
    }

    pub(super) fn lead_radius_mm(&self) -> f64 {
        self.starting.rule.lead_radius_mm.value()
    }
}

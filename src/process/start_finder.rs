//! Where the wire is threaded.
//!
//! Each loop of the first pass needs a start of its own, and so does a later loop in a region that no earlier one reaches.
//! A start that is given, or a start hole that is drawn in its region, is taken. Else a place is proposed: square to the
//! middle of the longest straight of the path that has room for the hole, so that the lead-in is short and its witness lies
//! on a straight; without such a straight beside the longest arc; in a small opening, or where no wall has room beside
//! it, at the roomiest place of the region.

use std::collections::{BTreeMap, BTreeSet};

use super::entry::{EntryPoint, Path};
use super::lead::{Leads, leads};
use super::separation::Separation;
use super::start::{Start, StartOrigin, Starting, Starts};
use super::surroundings::Surroundings;
use crate::contour::{Contour, Contours, Role};
use crate::geometry::Point;
use crate::id::{ContourId, LoopId};
use crate::job::StartOptions;
use crate::pass::Group;
use crate::tolerance::PATH_MM;
use crate::toolpath::WireLoop;

/// Finds starts and leads.
pub struct StartFinder<'a>(Surroundings<'a>);

impl<'a> StartFinder<'a> {
    /// All that stands on the drawing, ready to be searched.
    pub fn new(contours: &'a Contours, starting: &Starting<'a>) -> Self {
        Self(Surroundings::new(contours, starting))
    }

    /// The starts of all loops. Every region that is cut gets one; whether its hole has room is said by
    /// [`Start::clearance_mm`]. `start_options_of` says what is asked of the start of a contour. Near-linear in segments and holes.
    pub fn starts(&self, loops: &[WireLoop], start_options_of: impl Fn(&Contour) -> StartOptions) -> Starts {
        let Self(site) = self;
        let mut starts = Starts::default();
        let mut used: BTreeSet<usize> = BTreeSet::new();
        // Starts of each contour so far.
        let mut of_contour: BTreeMap<ContourId, Vec<usize>> = BTreeMap::new();
        for (wire_loop, wire) in LoopId::numbered(loops) {
            let path = Path::new(wire);
            let known = of_contour.entry(wire.contour).or_default();
            let reaches = |&&i: &&usize| is_reached_from(&path, &starts.list[i], loops);
            if let Some(&start) = known.iter().find(reaches).filter(|_| !wire.pass.is_rough()) {
                starts.of_loop.push(start);
                continue;
            }
            let contour = &site.contours[wire.contour];
            let (start, hole) = site.start(wire_loop, &path, contour, start_options_of(contour));
            used.extend(hole);
            known.push(starts.list.len());
            starts.of_loop.push(starts.list.len());
            starts.list.push(start);
        }
        let unused = (0..site.holes.len()).filter(|hole| !used.contains(hole));
        starts.unused = unused.map(|i| site.unused(&site.holes[i])).collect();
        starts
    }

    /// The way of the wire on and off each loop, in the order of the loops, when their starts and what comes free are
    /// known.
    pub fn leads(
        &self,
        loops: &[WireLoop],
        separations: &[Separation],
        starts: &Starts,
        groups: &[Group],
        start_options_of: impl Fn(&Contour) -> StartOptions,
    ) -> Vec<Leads> {
        let Self(site) = self;
        let usual_mm = site.starting.rule.overlap_mm.value();
        let overlap_mm = |contour: ContourId| {
            let asked = start_options_of(&site.contours[contour]).overlap_mm;
            asked.unwrap_or(usual_mm)
        };
        let offset_mm = |wire: &WireLoop| {
            let group = groups.iter().find(|group| group.group == wire.group);
            let pass = group.and_then(|group| group.pass(wire.pass));
            pass.map_or(0.0, |pass| pass.offset_mm)
        };
        leads(site, loops, separations, starts, overlap_mm, offset_mm)
    }
}

/// A later loop is entered from the start of an earlier one: round the part from that of the loop round it, within
/// an opening from one whose path lies in this loop.
fn is_reached_from(path: &Path<'_>, start: &Start, loops: &[WireLoop]) -> bool {
    if path.around {
        loops[start.wire_loop.index()].polyline.area() > 0.0
    } else {
        path.index.winding(start.landing.entry) != 0
    }
}

impl Surroundings<'_> {
    /// The start of a loop, and the drawn or given hole that it takes.
    fn start(
        &self,
        wire_loop: LoopId,
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
    fn drawn_hole(&self, path: &Path<'_>, contour: &Contour, home: Option<ContourId>) -> Option<usize> {
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
}

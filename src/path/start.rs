//! Where the wire is threaded.
//!
//! Each loop of the first pass needs a start of its own, and so does a later loop in a region that no earlier one reaches.
//! A start that is given, or a start hole that is drawn in its region, is taken. Else a place is proposed: square to the
//! middle of the longest straight of the path that has room for the hole, so that the lead-in is short and its witness lies
//! on a straight; without such a straight beside the longest arc; in a small opening, or where no wall has room beside
//! it, at the roomiest place of the region.

use std::collections::{BTreeMap, BTreeSet};

use super::along::open_run;
use super::holes::{Hole, Regions, holes};
use super::lead::{Landing, Run, landings, runs};
use super::roomiest::roomiest;
use super::{Paths, RawBlank, WireLoop};
use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Bounds, Point, Polyline, Segment, SegmentIndex, Vector};
use crate::job::{LeadShape, Side, StartAsk};
use crate::pass::Group;
use crate::shop::StartHoleRule;
use crate::tolerance::PATH_MM;

/// An opening no larger across than this many times what a hole needs is entered from its roomiest place.
const SMALL: f64 = 4.0;

/// What start holes go by.
#[derive(Clone, Copy)]
pub struct Starting<'a> {
    /// The rule of the book.
    pub rule: &'a StartHoleRule,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// The clamped side.
    pub clamp: Option<Side>,
    /// The blank, where it is known.
    pub blank: Option<&'a RawBlank>,
    /// Middles of start holes beside the circles of the drawing.
    pub holes: &'a [Point],
}

/// Where the wire is threaded for one loop of the first pass, and for the later ones of its region.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Number of the contour.
    pub contour: usize,
    /// Index in [`Paths::loops`] of the first loop that starts here.
    pub wire_loop: usize,
    /// Where: the middle of the start hole.
    pub at: Point,
    /// Who says so.
    pub origin: StartOrigin,
    /// Diameter of the hole, mm; `None` where the wire comes in from the edge of the blank.
    pub hole_mm: Option<f64>,
    /// How far the drill may wander over the thickness, mm.
    pub drift_mm: f64,
    /// Distance from the middle of the hole to the nearest wall, mm; no more than `needed_mm` is looked for.
    pub room_mm: f64,
    /// Distance that the hole needs, with the drift of its drill and the clearance of the book, mm.
    pub needed_mm: f64,
    /// Diameter of a hole that the wire threads through, mm.
    pub threads_from_mm: f64,
    /// It lies in material that is kept, or in another region than the path.
    pub misplaced: bool,
    /// Where the first path is entered; [`super::Run`] holds the rest.
    pub(super) landing: Landing,
}

impl Start {
    /// Where its first path is entered, and the unit direction in which the wire runs on there.
    pub fn entry(&self) -> (Point, Vector) {
        (self.landing.entry, self.landing.along)
    }

    /// Whether its hole, or the drift of its drill, reaches a wall.
    pub fn lacks_room(&self) -> bool {
        self.room_mm < self.needed_mm - PATH_MM
    }
}

/// Who says where a start is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StartOrigin {
    /// A start hole of the drawing.
    Drawn,
    /// Given with the job.
    Given,
    /// Proposed, beside the wall where the path is entered.
    BesideWall,
    /// Proposed, at the roomiest place.
    Roomiest,
    /// Proposed: from the edge of the blank, where that is too near for a hole.
    BlankEdge,
}

/// All starts.
#[derive(Clone, Debug, Default)]
pub struct Starts {
    /// In the order of the loops.
    pub list: Vec<Start>,
    /// By loop: index in `list` of the start that it is entered from.
    pub of_loop: Vec<usize>,
    /// Drawn or given holes from which no path starts: where, and the number of the contour where they are drawn.
    pub unused: Vec<(Point, Option<usize>)>,
}

impl Starts {
    /// The middle of the start hole of a loop, and where its first path is entered.
    pub fn place_of(&self, wire_loop: usize) -> Option<(Point, Point)> {
        let start = self.list.get(*self.of_loop.get(wire_loop)?)?;
        Some((start.at, start.landing.entry))
    }
}

/// Finds starts and leads.
pub struct Threading<'a>(Site<'a>);

impl<'a> Threading<'a> {
    /// All that stands on the drawing, ready to be searched.
    pub fn new(contours: &'a Contours, starting: &Starting<'a>) -> Self {
        Self(Site::new(contours, starting))
    }

    /// The starts of all loops. Every region that is cut gets one; whether its hole has room is said by
    /// [`Start::room_mm`]. `ask_of` says what is asked of the start of a contour. Near-linear in segments and holes.
    pub fn starts(&self, paths: &Paths, ask_of: impl Fn(&Contour) -> StartAsk) -> Starts {
        let Self(site) = self;
        let mut starts = Starts::default();
        let mut used: BTreeSet<usize> = BTreeSet::new();
        // Starts of each contour so far.
        let mut of_contour: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (wire_loop, wire) in paths.loops.iter().enumerate() {
            let path = Path {
                wire,
                index: SegmentIndex::of([&wire.polyline]),
                around: wire.polyline.area() > 0.0,
            };
            let known = of_contour.entry(wire.contour).or_default();
            let reaches = |&&i: &&usize| path.is_reached_from(&starts.list[i], paths);
            if let Some(&start) = known.iter().find(reaches).filter(|_| wire.pass > 1) {
                starts.of_loop.push(start);
                continue;
            }
            let contour = &site.contours.list[wire.contour - 1];
            let (start, hole) = site.start(wire_loop, &path, contour, ask_of(contour));
            used.extend(hole);
            known.push(starts.list.len());
            starts.of_loop.push(starts.list.len());
            starts.list.push(start);
        }
        let unused = (0..site.holes.len()).filter(|hole| !used.contains(hole));
        starts.unused = unused
            .map(|i| (site.holes[i].at, site.holes[i].contour))
            .collect();
        starts
    }

    /// The way of the wire on and off each loop, in the order of the loops, when their starts and what comes free are
    /// known.
    pub fn runs(
        &self,
        paths: &Paths,
        starts: &Starts,
        groups: &[Group],
        ask_of: impl Fn(&Contour) -> StartAsk,
    ) -> Vec<Run> {
        let Self(site) = self;
        let usual_mm = site.starting.rule.overlap_mm.value();
        let overlap_mm = |contour: usize| {
            let asked = ask_of(&site.contours.list[contour - 1]).overlap_mm;
            asked.unwrap_or(usual_mm)
        };
        let offset_mm = |i: usize| {
            let wire = &paths.loops[i];
            let group = groups.iter().find(|group| group.group == wire.group);
            let pass = group.and_then(|group| group.passes.get(wire.pass - 1));
            pass.map_or(0.0, |pass| pass.offset_mm)
        };
        runs(site, paths, starts, overlap_mm, offset_mm)
    }
}

/// A loop that is to be entered.
struct Path<'a> {
    wire: &'a WireLoop,
    index: SegmentIndex,
    around: bool,
}

impl Path<'_> {
    /// A later loop is entered from the start of an earlier one: round the part from that of the loop round it, within
    /// an opening from one whose path lies in this loop.
    fn is_reached_from(&self, start: &Start, paths: &Paths) -> bool {
        if self.around {
            paths.loops[start.wire_loop].polyline.area() > 0.0
        } else {
            self.index.winding(start.landing.entry) != 0
        }
    }
}

/// What stands around.
pub(super) struct Site<'a> {
    contours: &'a Contours,
    walls: SegmentIndex,
    starting: Starting<'a>,
    regions: Regions<'a>,
    holes: Vec<Hole>,
    /// Of `holes`, as lines of no length.
    hole_index: SegmentIndex,
    holes_beside: BTreeMap<usize, Vec<usize>>,
}

impl<'a> Site<'a> {
    fn new(contours: &'a Contours, starting: &Starting<'a>) -> Self {
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

    /// Diameter of a hole that is not drawn, mm: the book's drill, or wider where the wire asks for it.
    fn drill_mm(&self) -> f64 {
        let threads_from_mm = self.threads_from_mm();
        self.starting.rule.drill_mm.value().max(threads_from_mm)
    }

    fn drift_mm(&self) -> f64 {
        self.starting.rule.drift_share.value() * self.starting.thickness_mm
    }

    /// What is left of a hole seen through it, the drift taken off, has to pass the wire.
    fn threads_from_mm(&self) -> f64 {
        self.starting.wire_mm + self.starting.rule.thread_clear_mm.value() + self.drift_mm()
    }

    fn needed_mm(&self, hole_mm: f64) -> f64 {
        0.5 * hole_mm + self.drift_mm() + self.starting.rule.wall_clear_mm.value()
    }

    fn room(&self, p: Point, within_mm: f64) -> f64 {
        let found = self.walls.nearest_within(p, within_mm);
        found.map_or(within_mm, |(_, _, distance)| distance)
    }

    /// The start of a loop, and the drawn or given hole that it takes.
    fn start(
        &self,
        wire_loop: usize,
        path: &Path<'_>,
        contour: &Contour,
        ask: StartAsk,
    ) -> (Start, Option<usize>) {
        let make = |at: Point, origin: StartOrigin, hole_mm: Option<f64>, landing: Landing| {
            let needed_mm = self.needed_mm(hole_mm.unwrap_or(0.0));
            Start {
                contour: contour.id,
                wire_loop,
                at,
                origin,
                hole_mm,
                drift_mm: self.drift_mm(),
                room_mm: self.room(at, needed_mm),
                needed_mm,
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
            let origin = if hole.contour.is_some() {
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
        (make(at, origin, hole_mm, landing), None)
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
        let within = self.hole_index.near(path.wire.polyline.bounds());
        let own =
            within.filter(|&i| self.holes[i].region == home && path.index.winding(self.holes[i].at) != 0);
        let mut own: Vec<usize> = own.collect();
        own.sort_unstable();
        let most_mm = path.wire.polyline.bounds().diagonal();
        let room = |i: usize| self.room(self.holes[i].at, most_mm);
        // The first of equals.
        own.into_iter().rev().max_by(|&a, &b| room(a).total_cmp(&room(b)))
    }

    /// Where a path is entered from a hole: where asked, else square onto a straight that is not much farther than the
    /// nearest point of the path, else at that point; in any case where nothing stands between, if there is such a place.
    fn landing_from(&self, path: &Path<'_>, at: Point, ask: &StartAsk) -> Landing {
        const NOT_MUCH: f64 = 2.0;
        let polyline = &path.wire.polyline;
        let wanted = ask.entry.unwrap_or(at);
        let Some((i, entry, distance)) = path
            .index
            .nearest(wanted, polyline.bounds().diagonal().max(PATH_MM))
        else {
            return Landing::default();
        };
        let nearest = Landing::on(polyline, i, entry, self.shape_on(polyline.segment(i), ask));
        if ask.entry.is_some() {
            return nearest;
        }
        let offset_mm = self.offset_at(entry);
        let clear = |landing: &Landing| {
            let lead = Segment::line(at, landing.entry);
            self.is_clear(lead, offset_mm)
        };
        let reach = Bounds::of([at]).grown(NOT_MUCH * distance + offset_mm);
        let square = path.index.near(reach).filter_map(|i| {
            let segment = polyline.segment(i);
            let foot = segment.nearest(at);
            let share = segment.parameter(foot);
            let within = !segment.is_arc() && share > 0.0 && share < 1.0;
            let near = at.distance(foot) <= NOT_MUCH * distance + offset_mm;
            (within && near).then(|| Landing::on(polyline, i, foot, self.shape_on(segment, ask)))
        });
        let mut square: Vec<Landing> = square.filter(clear).collect();
        square.sort_by(|a, b| at.distance(a.entry).total_cmp(&at.distance(b.entry)));
        if let Some(landing) = square.into_iter().next() {
            return landing;
        }
        if clear(&nearest) {
            return nearest;
        }
        let mut others = landings(polyline, offset_mm, None, ask.lead);
        others.sort_by(|a, b| at.distance(a.entry).total_cmp(&at.distance(b.entry)));
        others.into_iter().find(clear).unwrap_or(nearest)
    }

    /// Straight onto a straight, by an arc onto an arc, unless it is asked otherwise. A roll round an outside corner is
    /// entered straight, as the corner would be.
    fn shape_on(&self, segment: Segment, ask: &StartAsk) -> LeadShape {
        let rolled = || (segment.radius() - self.offset_at(segment.at(0.5))).abs() <= PATH_MM;
        match ask.lead {
            Some(shape) => shape,
            None if segment.is_arc() && !(segment.bulge > 0.0 && rolled()) => LeadShape::Arc,
            None => LeadShape::Straight,
        }
    }

    /// Distance of a path from its wall, at a point of it, mm.
    fn offset_at(&self, entry: Point) -> f64 {
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

    fn is_clear(&self, lead: Segment, offset_mm: f64) -> bool {
        self.blocked(&open_run(&[lead]), offset_mm).is_none()
    }

    pub(super) fn lead_radius_mm(&self) -> f64 {
        self.starting.rule.lead_radius_mm.value()
    }

    /// A place for a hole that nobody gave.
    fn proposed(
        &self,
        path: &Path<'_>,
        home: Option<usize>,
        ask: &StartAsk,
    ) -> (Point, StartOrigin, Landing) {
        let polyline = &path.wire.polyline;
        let bounds = polyline.bounds();
        let needed_mm = self.needed_mm(self.drill_mm());
        let small = !path.around && bounds.width().max(bounds.height()) <= SMALL * needed_mm;
        let towards = self.starting.clamp.map(Side::direction);
        let mut candidates = Vec::new();
        if let Some(entry) = ask.entry {
            let nearest = path.index.nearest(entry, bounds.diagonal().max(PATH_MM));
            candidates.extend(nearest.map(|(i, entry, _)| {
                Landing::on(polyline, i, entry, self.shape_on(polyline.segment(i), ask))
            }));
        } else if !small {
            let offset_mm = self.offset_at(polyline.vertices[0].at);
            candidates = landings(polyline, offset_mm, towards, ask.lead);
            for landing in &mut candidates {
                landing.shape = self.shape_on(polyline.segment(landing.segment), ask);
            }
        }
        let in_open = home.is_none() && path.around;
        for landing in &candidates {
            if let Some(at) = self.beside(landing, needed_mm)
                && (!in_open || self.in_blank(at))
                && !self.clamped(at)
            {
                return (at, StartOrigin::BesideWall, *landing);
            }
        }
        if in_open
            && let Some((at, landing)) = candidates
                .iter()
                .find_map(|l| Some((self.edge_square_to(l)?, *l)))
        {
            return (at, StartOrigin::BlankEdge, landing);
        }
        if path.around {
            let at = Point::new(bounds.max.x + needed_mm, bounds.center().y);
            return (at, StartOrigin::BesideWall, self.landing_from(path, at, ask));
        }
        let at = roomiest(&path.index, bounds);
        (at, StartOrigin::Roomiest, self.landing_from(path, at, ask))
    }

    /// Where a hole has room square to a place of the path, with a clear way onto it.
    fn beside(&self, landing: &Landing, needed_mm: f64) -> Option<Point> {
        let offset_mm = self.offset_at(landing.entry);
        let away_mm = (needed_mm - offset_mm).max(0.5 * needed_mm);
        let at = landing.entry + landing.away() * away_mm;
        let has_room = self.room(at, needed_mm) >= needed_mm - PATH_MM;
        let lead = Segment::line(at, landing.entry);
        (has_room && self.is_clear(lead, offset_mm)).then_some(at)
    }

    /// Where the wire comes in from the edge of the blank, square to a place of the path.
    fn edge_square_to(&self, landing: &Landing) -> Option<Point> {
        let blank = self.starting.blank?;
        let needed_mm = self.needed_mm(0.0);
        let far = landing.entry + landing.away() * blank.outline.bounds().grown(needed_mm).diagonal();
        let ray = Segment::line(landing.entry, far);
        let crossed = blank.outline.segments().flat_map(|s| ray.crossings(s)).flatten();
        let edge =
            crossed.min_by(|a, b| landing.entry.distance(*a).total_cmp(&landing.entry.distance(*b)))?;
        let at = edge + landing.away() * needed_mm;
        let lead = Segment::line(at, landing.entry);
        let clear = self.is_clear(lead, self.offset_at(landing.entry));
        (clear && !self.clamped(at)).then_some(at)
    }

    /// Whether a hole at `at` lies in the blank, as far as that is known, and clear of its edge.
    fn in_blank(&self, at: Point) -> bool {
        let Some(blank) = self.starting.blank else {
            return true;
        };
        let edge_mm = 0.5 * self.drill_mm() + self.drift_mm();
        let clear = blank.outline.segments().all(|s| s.distance(at) >= edge_mm);
        clear && blank.outline.winding(at) != 0
    }

    /// Whether the clamps stand on it.
    fn clamped(&self, at: Point) -> bool {
        let zone = self.starting.blank.and_then(|blank| blank.clamp);
        zone.is_some_and(|zone| zone.bounds.grown(0.5 * self.drill_mm()).contains(at))
    }
}

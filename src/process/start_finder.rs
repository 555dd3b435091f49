//! Where the wire is threaded.
//!
//! Each loop of the first pass needs a start of its own, and so does a later loop in a region that no earlier one reaches.
//! A start that is given is taken; else a hole or an opening on the waste side that is there already; else a start hole that is
//! drawn. Else a place is proposed: in the middle of a circle, or square to the middle of the longest straight of the path that
//! has room for the hole, so that its witness lies on a straight; without such a straight beside the longest arc; as far from the
//! walls as the longer lead-in is worth, on whole tenths of a millimetre. In a small opening, or where no wall has room
//! beside it, it is the roomiest place of the region.

use std::collections::{BTreeMap, BTreeSet};

use super::entry::{EntryPoint, Path};
use super::holes::{Hole, HoleKind};
use super::lead::{Leads, leads};
use super::separation::Separation;
use super::start::{ShorterStart, Start, StartOrigin, Starting, Starts};
use super::surroundings::Surroundings;
use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Point, Segment, Vector};
use crate::id::{ContourId, LoopId};
use crate::job::{LeadShape, StartFrom, StartOptions};
use crate::pass::Group;
use crate::tolerance::{JOIN_MM, PATH_MM};
use crate::toolpath::{CutEnd, OpenCut, WireLoop};

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
            if let Some(cut) = &wire.open {
                if let Some(&start) = known.first().filter(|_| !wire.pass.is_rough()) {
                    starts.of_loop.push(start);
                    continue;
                }
                let (start, hole) = site.open_start(wire_loop, &path, cut, &start_options_of(contour));
                used.extend(hole);
                // It ends there.
                let last = wire
                    .polyline
                    .vertices
                    .last()
                    .filter(|_| cut.ends[1] == CutEnd::Hole);
                used.extend(last.and_then(|last| site.hole_around(last.at)));
                known.push(starts.list.len());
                starts.of_loop.push(starts.list.len());
                starts.list.push(start);
                continue;
            }
            let (start, hole) = site.start(wire_loop, &path, contour, start_options_of(contour));
            used.extend(hole);
            known.push(starts.list.len());
            starts.of_loop.push(starts.list.len());
            starts.list.push(start);
        }
        // What is there for another purpose is no start hole that is left over.
        let is_start_hole = |&hole: &usize| site.holes[hole].kind != HoleKind::Existing;
        let unused = (0..site.holes.len())
            .filter(|hole| !used.contains(hole))
            .filter(is_start_hole);
        starts.unused = unused.map(|i| site.unused(&site.holes[i])).collect();
        starts
    }

    /// The way of the wire on and off each loop, in the order of the loops, when their starts and what drops are
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
            pass.map_or(0.0, |pass| {
                if wire.open.is_some() {
                    pass.half_kerf_mm
                } else {
                    pass.offset_mm
                }
            })
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
        path.wire.polyline.winding(start.landing.entry) != 0
    }
}

impl Surroundings<'_> {
    /// The start of an open cut at the first end of its path, and the hole that it takes: where it is given; in air; at the hole that
    /// the path begins in; else at one in the waste ahead of it.
    fn open_start(
        &self,
        wire_loop: LoopId,
        path: &Path<'_>,
        cut: &OpenCut,
        ask: &StartOptions,
    ) -> (Start, Option<usize>) {
        let polyline = &path.wire.polyline;
        let entry = polyline.vertices[0].at;
        let landing = EntryPoint::on(polyline, 0, entry, LeadShape::Straight);
        let site = StartSite {
            site: self,
            path,
            wire_loop,
            contour: path.wire.contour,
            home: cut.part,
        };
        let of_hole = |i: usize| {
            let hole = &self.holes[i];
            (
                site.of_hole(Some(hole), hole.at, hole.kind.origin(), landing),
                Some(i),
            )
        };
        if let Some(at) = ask.at {
            if let Some(i) = self.hole_at(at) {
                return of_hole(i);
            }
            let kept = self.regions.of(at).map(|id| self.contours[id].role);
            let mut start = site.of_hole(None, at, StartOrigin::Given, landing);
            start.misplaced = kept == Some(Role::Outside);
            return (start, None);
        }
        if cut.ends[0] == CutEnd::Air {
            return (site.in_air(entry, landing), None);
        }
        if let Some(i) = self.hole_for(entry, landing, cut.ends[0]) {
            return of_hole(i);
        }
        let at = self.place_ahead(entry, landing.along);
        let mut start = site.of_hole(None, at, StartOrigin::BesideWall, landing);
        start.misplaced = cut.ends[0] == CutEnd::Blind;
        (start, None)
    }

    /// The drawn or given hole at the begin of an open cut; where that lies in waste, the nearest from which nothing stands in the way.
    fn hole_for(&self, entry: Point, landing: EntryPoint, end: CutEnd) -> Option<usize> {
        if end != CutEnd::Waste {
            return self.hole_around(entry);
        }
        let away_mm = |i: usize| self.holes[i].at.distance(entry);
        let offset_mm = self.offset_at(entry);
        let reaches = |i: usize| {
            let lead = Segment::line(self.holes[i].at, entry);
            let ahead = lead.direction(1.0).dot(landing.along) > 0.0;
            ahead && self.is_clear(lead, offset_mm, self.holes[i].bore())
        };
        let usable = (0..self.holes.len()).filter(|&i| reaches(i));
        usable.min_by(|&a, &b| away_mm(a).total_cmp(&away_mm(b)).then(a.cmp(&b)))
    }

    /// The drawn or given hole that holds a place.
    fn hole_around(&self, p: Point) -> Option<usize> {
        let away_mm = |i: usize| self.holes[i].at.distance(p);
        let holds = |i: &usize| self.holes[*i].diameter_mm.map_or(JOIN_MM, |mm| 0.5 * mm) >= away_mm(*i);
        let holding = (0..self.holes.len()).filter(holds);
        holding.min_by(|&a, &b| away_mm(a).total_cmp(&away_mm(b)).then(a.cmp(&b)))
    }

    /// The first place straight ahead of the begin of an open cut where a hole has room.
    fn place_ahead(&self, entry: Point, along: Vector) -> Point {
        const STEPS: usize = 1000;
        let required_mm = self.required_clearance_mm(self.drill_mm());
        let mut at = entry;
        for _ in 0..STEPS {
            let short_mm = required_mm - self.free(at);
            if short_mm <= 0.0 {
                break;
            }
            at = at - along * short_mm.max(PATH_MM);
        }
        at
    }

    /// The start of a loop, and the hole that it takes: where it is given; else from the edge, where that is given; a hole or an
    /// opening that is there; one that is drawn or given; or a proposed one.
    fn start(
        &self,
        wire_loop: LoopId,
        path: &Path<'_>,
        contour: &Contour,
        ask: StartOptions,
    ) -> (Start, Option<usize>) {
        let home = if contour.role == Role::Opening {
            Some(contour.id)
        } else {
            contour.parent
        };
        let site = StartSite {
            site: self,
            path,
            wire_loop,
            contour: contour.id,
            home,
        };
        if let Some(at) = ask.at {
            if path.around && home.is_none() && self.is_beside_blank(at) {
                let landing = self.landing_from(path, at, &ask, None);
                return (site.of_edge(at, landing), None);
            }
            let hole = self.hole_at(at);
            let within = self.bore_around(at, home);
            let there = hole.map(|i| &self.holes[i]).or(within.as_ref());
            let bore = there.and_then(Hole::bore);
            let landing = self.landing_from(path, at, &ask, bore);
            let mut start = site.of_hole(there, at, StartOrigin::Given, landing);
            let inside = path.around || path.index.winding(at) != 0 || self.room(at, PATH_MM) < PATH_MM;
            start.misplaced = bore.is_none() && self.regions.of(at) != home || !inside;
            start.shorter = site.shorter(&start, &ask);
            return (start, hole);
        }
        if ask.from == Some(StartFrom::Edge)
            && path.around
            && home.is_none()
            && let Some((at, landing)) = self.edge_place(path, &ask)
        {
            let mut start = site.of_edge(at, landing);
            start.shorter = site.shorter(&start, &ask);
            return (start, None);
        }
        if let Some((i, landing)) = self.known_hole(path, contour, home, &ask) {
            let hole = &self.holes[i];
            let mut start = site.of_hole(Some(hole), hole.at, hole.kind.origin(), landing);
            start.shorter = site.shorter(&start, &ask);
            return (start, Some(i));
        }
        let (at, origin, landing) = self.proposed(path, home, &ask);
        if origin == StartOrigin::BlankEdge {
            let start = Start {
                opens_frame: true,
                ..site.of_edge(at, landing)
            };
            return (start, None);
        }
        let mut start = site.of_hole(None, at, origin, landing);
        start.misplaced = self.regions.of(at) != home;
        (start, None)
    }

    /// The drawn or given hole at a place.
    fn hole_at(&self, at: Point) -> Option<usize> {
        self.hole_index.nearest_within(at, PATH_MM).map(|(i, _, _)| i)
    }

    /// A place in an opening that is there in the waste of a loop, as the hole that it has room for there.
    fn bore_around(&self, at: Point, home: Option<ContourId>) -> Option<Hole> {
        let bores = self.bores_in.get(&home?)?.iter();
        bores.map(|&i| &self.holes[i]).find_map(|hole| {
            let outline = &self.contours[hole.bore()?].polyline;
            let room_mm = outline
                .segments()
                .map(|s| s.distance(at))
                .fold(f64::INFINITY, f64::min);
            (outline.winding(at) != 0).then_some(Hole {
                at,
                diameter_mm: Some(2.0 * room_mm),
                ..*hole
            })
        })
    }

    /// Whether a place lies beside the blank, where that is known.
    fn is_beside_blank(&self, at: Point) -> bool {
        let blank = self.starting.blank;
        blank.is_some_and(|blank| blank.outline.winding(at) == 0)
    }

    /// The hole that a loop is started from, of those that are there, drawn or given, and where its path is entered: what is there
    /// goes first.
    fn known_hole(
        &self,
        path: &Path<'_>,
        contour: &Contour,
        home: Option<ContourId>,
        ask: &StartOptions,
    ) -> Option<(usize, EntryPoint)> {
        let landed = |i: usize| {
            (
                i,
                self.landing_from(path, self.holes[i].at, ask, self.holes[i].bore()),
            )
        };
        let ready = self.hole_of_kind(path, contour, home, |kind| kind == HoleKind::Ready);
        if ready.is_some() {
            return ready.map(landed);
        }
        self.bore_of(path, home, ask).or_else(|| {
            let drilled = self.hole_of_kind(path, contour, home, HoleKind::is_drilled);
            drilled.map(landed)
        })
    }

    /// Of the openings that are there in the waste of a loop the nearest from which nothing stands in the way; only the nearest few
    /// are tried.
    fn bore_of(
        &self,
        path: &Path<'_>,
        home: Option<ContourId>,
        ask: &StartOptions,
    ) -> Option<(usize, EntryPoint)> {
        const TRIED: usize = 8;
        let bores = self.bores_in.get(&home?)?;
        let middle = path.wire.polyline.bounds().center();
        let within = |i: &usize| path.around || path.index.winding(self.holes[*i].at) != 0;
        let far_mm = |i: usize| self.holes[i].at.distance(middle);
        let mut own: Vec<usize> = bores.iter().copied().filter(within).collect();
        own.sort_by(|&a, &b| far_mm(a).total_cmp(&far_mm(b)).then(a.cmp(&b)));
        let reached = own.into_iter().take(TRIED).filter_map(|i| {
            let hole = &self.holes[i];
            let landing = self.landing_from(path, hole.at, ask, hole.bore());
            let lead = Segment::line(hole.at, landing.entry);
            let clear = self.is_clear(lead, self.offset_at(landing.entry), hole.bore());
            clear.then_some((lead.chord(), i, landing))
        });
        let nearest = reached.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        nearest.map(|(_, i, landing)| (i, landing))
    }

    /// Of the holes in the region of a loop: in an opening the roomiest, beside a part the nearest.
    fn hole_of_kind(
        &self,
        path: &Path<'_>,
        contour: &Contour,
        home: Option<ContourId>,
        wanted: impl Fn(HoleKind) -> bool,
    ) -> Option<usize> {
        let is_wanted = |&i: &usize| wanted(self.holes[i].kind);
        if path.around {
            let beside = self.holes_beside.get(&contour.id)?.iter().copied();
            let far = |i: usize| {
                path.index
                    .nearest(self.holes[i].at, 1.0)
                    .map_or(0.0, |(_, _, d)| d)
            };
            return beside
                .filter(is_wanted)
                .min_by(|&a, &b| far(a).total_cmp(&far(b)));
        }
        // A hole that reaches into the wall is taken too, so that it is told.
        let astray_mm = self.offset_at(path.wire.polyline.vertices[0].at) + PATH_MM;
        let within = self.hole_index.near(path.wire.polyline.bounds().grown(astray_mm));
        let here =
            |at: Point| path.index.winding(at) != 0 || path.index.nearest_within(at, astray_mm).is_some();
        let own = within
            .filter(is_wanted)
            .filter(|&i| self.holes[i].region == home && here(self.holes[i].at));
        let mut own: Vec<usize> = own.collect();
        own.sort_unstable();
        let most_mm = path.wire.polyline.bounds().diagonal();
        let room = |i: usize| self.room(self.holes[i].at, most_mm);
        // The first of equals.
        own.into_iter().rev().max_by(|&a, &b| room(a).total_cmp(&room(b)))
    }
}

/// The loop that a start is made for.
struct StartSite<'a> {
    site: &'a Surroundings<'a>,
    path: &'a Path<'a>,
    wire_loop: LoopId,
    contour: ContourId,
    home: Option<ContourId>,
}

impl StartSite<'_> {
    /// A start from a hole at `at`, which is that of `hole` where there is one, else still to be drilled.
    fn of_hole(&self, hole: Option<&Hole>, at: Point, origin: StartOrigin, landing: EntryPoint) -> Start {
        let site = self.site;
        let hole_mm = hole
            .and_then(|hole| hole.diameter_mm)
            .unwrap_or_else(|| site.drill_mm());
        let bore = hole.and_then(Hole::bore);
        let (drift_mm, required_clearance_mm) = match bore {
            // What is finished has not wandered, and its own wall is in its way no more.
            Some(_) => (0.0, 0.5 * hole_mm),
            None => (site.drift_mm(), site.required_clearance_mm(hole_mm)),
        };
        Start {
            contour: self.contour,
            wire_loop: self.wire_loop,
            at,
            origin,
            hole_mm: Some(hole_mm),
            drilled: hole.is_none_or(|hole| hole.kind.is_drilled()),
            opens_frame: false,
            shorter: None,
            drift_mm,
            clearance_mm: site.room(at, required_clearance_mm),
            required_clearance_mm,
            threads_from_mm: site.threads_from_mm() - site.drift_mm() + drift_mm,
            misplaced: false,
            bore,
            landing,
        }
    }

    /// A start without a hole, in air.
    fn in_air(&self, at: Point, landing: EntryPoint) -> Start {
        Start {
            origin: StartOrigin::Air,
            required_clearance_mm: 0.0,
            clearance_mm: self.site.room(at, self.site.drill_mm()),
            drift_mm: 0.0,
            ..self.of_edge(at, landing)
        }
    }

    /// A start without a hole, from outside the blank.
    fn of_edge(&self, at: Point, landing: EntryPoint) -> Start {
        let site = self.site;
        let required_clearance_mm = site.required_clearance_mm(0.0);
        Start {
            contour: self.contour,
            wire_loop: self.wire_loop,
            at,
            origin: StartOrigin::BlankEdge,
            hole_mm: None,
            drilled: false,
            opens_frame: false,
            shorter: None,
            drift_mm: site.drift_mm(),
            clearance_mm: site.room(at, required_clearance_mm),
            required_clearance_mm,
            threads_from_mm: site.threads_from_mm(),
            misplaced: false,
            bore: None,
            landing,
        }
    }

    /// The place of a drilled hole with the shortest lead-in, where that is shorter than that of a start.
    fn shorter(&self, start: &Start, ask: &StartOptions) -> Option<ShorterStart> {
        const WORTH_MIN: f64 = 0.1;
        let (at, landing) = self.site.nearest_place(self.path, self.home, ask)?;
        let cut_mm =
            |from: Point, entry: Point, hole_mm: f64| (from.distance(entry) - 0.5 * hole_mm).max(0.0);
        let now_mm = match start.hole_mm {
            Some(hole_mm) => cut_mm(start.at, start.landing.entry, hole_mm),
            None => cut_mm(start.at, start.landing.entry, 2.0 * start.required_clearance_mm),
        };
        let then_mm = cut_mm(at, landing.entry, self.site.drill_mm());
        let per_mm = (self.site.starting.lead_min_per_mm)(self.path.wire.group);
        let minutes = (now_mm - then_mm) * per_mm;
        (minutes >= WORTH_MIN).then_some(ShorterStart { at, minutes })
    }
}

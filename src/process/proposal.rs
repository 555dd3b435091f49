//! Where a path is entered, and where a start is proposed that nobody gave.

use super::entry::{EntryPoint, Path, landings, steps};
use super::start::StartOrigin;
use super::surroundings::Surroundings;
use super::widest::widest;
use crate::geometry::{Bounds, Point, Segment};
use crate::id::ContourId;
use crate::job::{LeadShape, Side, StartOptions};
use crate::tolerance::PATH_MM;

/// An opening no larger across than this many times what a hole needs is entered from its roomiest place.
const SMALL: f64 = 4.0;

impl Surroundings<'_> {
    /// Where a path is entered from a hole: where asked, else square onto a straight that is not much farther than the
    /// nearest point of the path, else at that point; in any case where nothing stands between, if there is such a place. The wall of
    /// the opening `bore` in which it begins does not stand between.
    pub(super) fn landing_from(
        &self,
        path: &Path<'_>,
        at: Point,
        ask: &StartOptions,
        bore: Option<ContourId>,
    ) -> EntryPoint {
        const NOT_MUCH: f64 = 2.0;
        let polyline = &path.wire.polyline;
        let wanted = ask.entry.unwrap_or(at);
        let Some((i, entry, distance)) = path.nearest(wanted) else {
            return EntryPoint::default();
        };
        let nearest = EntryPoint::on(polyline, i, entry, self.shape_on(polyline.segment(i), ask));
        if ask.entry.is_some() {
            return nearest;
        }
        let offset_mm = self.offset_at(entry);
        let clear = |landing: &EntryPoint| {
            let lead = Segment::line(at, landing.entry);
            self.is_clear(lead, offset_mm, bore)
        };
        let reach = Bounds::of([at]).grown(NOT_MUCH * distance + offset_mm);
        let square = path.index.near(reach).filter_map(|i| {
            let segment = polyline.segment(i);
            let foot = segment.nearest(at);
            let share = segment.parameter(foot);
            let within = !segment.is_arc() && share > 0.0 && share < 1.0;
            let near = at.distance(foot) <= NOT_MUCH * distance + offset_mm;
            (within && near).then(|| EntryPoint::on(polyline, i, foot, self.shape_on(segment, ask)))
        });
        let mut square: Vec<EntryPoint> = square.filter(clear).collect();
        square.sort_by_key(|landing| (steps(at.distance(landing.entry)), landing.segment));
        if let Some(landing) = square.into_iter().next() {
            return landing;
        }
        if clear(&nearest) {
            return nearest;
        }
        let mut others: Vec<EntryPoint> = landings(polyline, offset_mm, None, ask.lead).collect();
        others.sort_by_key(|landing| steps(at.distance(landing.entry)));
        others.into_iter().find(clear).unwrap_or(nearest)
    }

    /// Straight onto a straight, by an arc onto an arc, unless it is asked otherwise. A roll round an outside corner is
    /// entered straight, as the corner would be.
    fn shape_on(&self, segment: Segment, ask: &StartOptions) -> LeadShape {
        let rolled = || (segment.radius() - self.offset_at(segment.at(0.5))).abs() <= PATH_MM;
        match ask.lead {
            Some(shape) => shape,
            None if segment.is_arc() && !(segment.bulge > 0.0 && rolled()) => LeadShape::Arc,
            None => LeadShape::Straight,
        }
    }

    /// Places where a path may be entered, best first: the one that is given, or in the middles of its segments.
    fn candidates<'p>(
        &'p self,
        path: &Path<'p>,
        ask: &'p StartOptions,
    ) -> impl Iterator<Item = EntryPoint> + 'p {
        let polyline = &path.wire.polyline;
        let given = ask.entry.and_then(|entry| polyline.nearest(entry));
        let given = given.map(|(i, entry, _)| EntryPoint::on(polyline, i, entry, LeadShape::default()));
        let any = ask.entry.is_none().then(|| {
            let offset_mm = self.offset_at(polyline.vertices[0].at);
            let towards = self.starting.clamp.map(Side::direction);
            landings(polyline, offset_mm, towards, ask.lead)
        });
        given
            .into_iter()
            .chain(any.into_iter().flatten())
            .map(|landing| EntryPoint {
                shape: self.shape_on(polyline.segment(landing.segment), ask),
                ..landing
            })
    }

    /// Whether an opening is so small that it is entered from its roomiest place.
    fn is_small(&self, path: &Path<'_>) -> bool {
        let bounds = path.wire.polyline.bounds();
        let required_clearance_mm = self.required_clearance_mm(self.drill_mm());
        !path.around && bounds.width().max(bounds.height()) <= SMALL * required_clearance_mm
    }

    /// Whether a hole may stand there as far as blank and clamps go; `in_open` where nothing but the blank holds it.
    fn allowed(&self, at: Point, in_open: bool) -> bool {
        (!in_open || self.in_blank(at)) && !self.clamped(at)
    }

    /// The place beside the path with the shortest lead-in, and where that enters it.
    pub(super) fn nearest_place(
        &self,
        path: &Path<'_>,
        home: Option<ContourId>,
        ask: &StartOptions,
    ) -> Option<(Point, EntryPoint)> {
        let required_clearance_mm = self.required_clearance_mm(self.drill_mm());
        let in_open = home.is_none() && path.around;
        self.candidates(path, ask).find_map(|landing| {
            let at = self.beside(&landing, required_clearance_mm)?;
            self.allowed(at, in_open).then_some((at, landing))
        })
    }

    /// A place for a hole that nobody gave.
    pub(super) fn proposed(
        &self,
        path: &Path<'_>,
        home: Option<ContourId>,
        ask: &StartOptions,
    ) -> (Point, StartOrigin, EntryPoint) {
        let bounds = path.wire.polyline.bounds();
        let required_clearance_mm = self.required_clearance_mm(self.drill_mm());
        let in_open = home.is_none() && path.around;
        if let Some((at, landing)) = self.in_center(path, ask) {
            return (at, StartOrigin::Center, landing);
        }
        if (ask.entry.is_some() || !self.is_small(path))
            && let Some((at, landing)) = self.nearest_place(path, home, ask)
        {
            let (at, landing) = self.farther(path, at, landing, in_open, ask);
            return (at, StartOrigin::BesideWall, landing);
        }
        if in_open && let Some((at, landing)) = self.edge_place(path, ask) {
            return (at, StartOrigin::BlankEdge, landing);
        }
        if path.around {
            let at = Point::new(bounds.max.x + required_clearance_mm, bounds.center().y);
            return (
                at,
                StartOrigin::BesideWall,
                self.landing_from(path, at, ask, None),
            );
        }
        let widest = widest(&path.index, bounds);
        let fits = |at: &Point| self.room(*at, required_clearance_mm) >= required_clearance_mm - PATH_MM;
        let at = self
            .roomiest(whole_tenths(widest).into_iter().filter(fits))
            .unwrap_or(widest);
        (at, StartOrigin::Roomiest, self.landing_from(path, at, ask, None))
    }

    /// How much longer a lead-in of a path may be for a better place of its hole, mm.
    fn extra_lead_mm(&self, path: &Path<'_>) -> f64 {
        let per_mm = (self.starting.lead_min_per_mm)(path.wire.group);
        if per_mm > 0.0 {
            self.starting.rule.extra_lead_min.value() / per_mm
        } else {
            0.0
        }
    }

    /// How far a hole stands from the entry of the path when it is as near to the wall as it may be, mm.
    fn nearest_mm(offset_mm: f64, required_clearance_mm: f64) -> f64 {
        (required_clearance_mm - offset_mm).max(0.5 * required_clearance_mm)
    }

    /// The middle of a circular opening, where that costs little more than a place beside the wall and nothing stands there.
    fn in_center(&self, path: &Path<'_>, ask: &StartOptions) -> Option<(Point, EntryPoint)> {
        let polyline = &path.wire.polyline;
        let at = polyline.circle_center().filter(|_| !path.around)?;
        let landing = self.candidates(path, ask).next()?;
        let offset_mm = self.offset_at(landing.entry);
        let required_clearance_mm = self.required_clearance_mm(self.drill_mm());
        let lead = Segment::line(at, landing.entry);
        let extra_mm = lead.chord() - Self::nearest_mm(offset_mm, required_clearance_mm);
        let wall_mm = lead.chord() + offset_mm;
        // The wall itself leaves no more room.
        let room_mm = required_clearance_mm.min(wall_mm);
        let is_free = self.room(at, room_mm) >= room_mm - PATH_MM && self.is_clear(lead, offset_mm, None);
        (extra_mm <= self.extra_lead_mm(path) + PATH_MM && is_free && !self.clamped(at))
            .then_some((at, landing))
    }

    /// A place farther from the walls than `at`, straight away from the entry, while the walls that it leaves stay the nearest and
    /// the lead-in does not become longer than it may; on whole tenths of a millimetre where they have room.
    fn farther(
        &self,
        path: &Path<'_>,
        at: Point,
        landing: EntryPoint,
        in_open: bool,
        ask: &StartOptions,
    ) -> (Point, EntryPoint) {
        const HALVINGS: usize = 40;
        let offset_mm = self.offset_at(landing.entry);
        let required_clearance_mm = self.required_clearance_mm(self.drill_mm());
        let near_mm = landing.entry.distance(at);
        let far_mm = near_mm + self.extra_lead_mm(path);
        let place = |mm: f64| landing.entry + landing.away() * mm;
        let wall_mm = self.room(at, required_clearance_mm.max(near_mm + offset_mm)) - near_mm;
        let fits = |mm: f64| {
            let (at, room_mm) = (place(mm), mm + wall_mm);
            self.room(at, room_mm) >= room_mm - PATH_MM
                && self.allowed(at, in_open)
                && (!in_open || self.blank_room(at) >= room_mm)
                && self.is_clear(Segment::line(at, landing.entry), offset_mm, None)
        };
        let (mut low, mut high) = (near_mm, far_mm);
        if fits(high) {
            low = high;
        } else {
            for _ in 0..HALVINGS {
                let middle = 0.5 * (low + high);
                if fits(middle) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
        }
        let entered = |at: Point| entered_square(path, at, landing, ask);
        let rounded = whole_tenths(place(low)).into_iter().filter(|&at| {
            let lead = Segment::line(at, entered(at).entry);
            lead.chord() <= far_mm + PATH_MM
                && self.room(at, required_clearance_mm) >= required_clearance_mm - PATH_MM
                && self.allowed(at, in_open)
                && self.is_clear(lead, offset_mm, None)
        });
        let best = if is_entry_fixed(&landing, ask) {
            // As square to the path as can be.
            let off = |at: &Point| (*at - landing.entry).cross(landing.away()).abs();
            rounded.min_by(|a, b| off(a).total_cmp(&off(b)))
        } else {
            self.roomiest(rounded)
        };
        match best {
            Some(at) => (at, entered(at)),
            None => (place(low), landing),
        }
    }

    /// The place that is farthest from all walls; the first of equals.
    fn roomiest(&self, places: impl Iterator<Item = Point>) -> Option<Point> {
        let mut best: Option<(f64, Point)> = None;
        for at in places {
            let room_mm = self.free(at);
            if best.is_none_or(|(known, _)| room_mm > known + PATH_MM) {
                best = Some((room_mm, at));
            }
        }
        best.map(|(_, at)| at)
    }

    /// Where a hole has room square to a place of the path, with a clear way onto it.
    fn beside(&self, landing: &EntryPoint, required_clearance_mm: f64) -> Option<Point> {
        let offset_mm = self.offset_at(landing.entry);
        let at = landing.entry + landing.away() * Self::nearest_mm(offset_mm, required_clearance_mm);
        let has_room = self.room(at, required_clearance_mm) >= required_clearance_mm - PATH_MM;
        let lead = Segment::line(at, landing.entry);
        (has_room && self.is_clear(lead, offset_mm, None)).then_some(at)
    }

    /// Where the wire comes in from the edge of the blank onto a path, and where it enters that.
    pub(super) fn edge_place(&self, path: &Path<'_>, ask: &StartOptions) -> Option<(Point, EntryPoint)> {
        let mut candidates = self.candidates(path, ask);
        candidates.find_map(|landing| Some((self.edge_square_to(&landing)?, landing)))
    }

    /// Where the wire comes in from the edge of the blank, square to a place of the path.
    fn edge_square_to(&self, landing: &EntryPoint) -> Option<Point> {
        let blank = self.starting.blank?;
        let required_clearance_mm = self.required_clearance_mm(0.0);
        let far =
            landing.entry + landing.away() * blank.outline.bounds().grown(required_clearance_mm).diagonal();
        let ray = Segment::line(landing.entry, far);
        let crossed = blank.outline.segments().flat_map(|s| ray.crossings(s)).flatten();
        let edge =
            crossed.min_by(|a, b| landing.entry.distance(*a).total_cmp(&landing.entry.distance(*b)))?;
        let at = edge + landing.away() * required_clearance_mm;
        let lead = Segment::line(at, landing.entry);
        let clear = self.is_clear(lead, self.offset_at(landing.entry), None);
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

    /// Distance to the edge of the blank, mm; infinite where that is not known.
    fn blank_room(&self, at: Point) -> f64 {
        let edges = self
            .starting
            .blank
            .iter()
            .flat_map(|blank| blank.outline.segments());
        edges.map(|s| s.distance(at)).fold(f64::INFINITY, f64::min)
    }

    /// Whether the clamps stand on it.
    fn clamped(&self, at: Point) -> bool {
        let zone = self.starting.blank.and_then(|blank| blank.clamp);
        zone.is_some_and(|zone| zone.bounds.grown(0.5 * self.drill_mm()).contains(at))
    }
}

/// Where a path is entered from a place that was moved a little: square to the segment where it was entered before, if that is
/// free to choose and the foot lies on it.
fn entered_square(path: &Path<'_>, at: Point, landing: EntryPoint, ask: &StartOptions) -> EntryPoint {
    let polyline = &path.wire.polyline;
    let segment = polyline.segment(landing.segment);
    let foot = segment.nearest(at);
    let share = segment.parameter(foot);
    if is_entry_fixed(&landing, ask) || !(share > 0.0 && share < 1.0) {
        return landing;
    }
    EntryPoint::on(polyline, landing.segment, foot, landing.shape)
}

/// Whether a path is entered just there: where that is given, and at a corner.
fn is_entry_fixed(landing: &EntryPoint, ask: &StartOptions) -> bool {
    ask.entry.is_some() || landing.shape == LeadShape::Corner
}

/// The places on whole tenths of a millimetre round one, the nearest first: what is set at the drill by hand.
fn whole_tenths(at: Point) -> Vec<Point> {
    const PER_MM: f64 = 10.0;
    let ends = |mm: f64| [(mm * PER_MM).floor() / PER_MM, (mm * PER_MM).ceil() / PER_MM];
    let (xs, ys) = (ends(at.x), ends(at.y));
    let mut places: Vec<Point> = xs
        .into_iter()
        .flat_map(|x| ys.map(|y| Point::new(x, y)))
        .collect();
    places.sort_by(|a, b| a.distance(at).total_cmp(&b.distance(at)));
    places
}

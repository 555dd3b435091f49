//! Where a path is entered, and where a start is proposed that nobody gave.

use super::entry::{EntryPoint, Path, landings};
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
    /// nearest point of the path, else at that point; in any case where nothing stands between, if there is such a place.
    pub(super) fn landing_from(&self, path: &Path<'_>, at: Point, ask: &StartOptions) -> EntryPoint {
        const NOT_MUCH: f64 = 2.0;
        let polyline = &path.wire.polyline;
        let wanted = ask.entry.unwrap_or(at);
        let Some((i, entry, distance)) = path
            .index
            .nearest(wanted, polyline.bounds().diagonal().max(PATH_MM))
        else {
            return EntryPoint::default();
        };
        let nearest = EntryPoint::on(polyline, i, entry, self.shape_on(polyline.segment(i), ask));
        if ask.entry.is_some() {
            return nearest;
        }
        let offset_mm = self.offset_at(entry);
        let clear = |landing: &EntryPoint| {
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
            (within && near).then(|| EntryPoint::on(polyline, i, foot, self.shape_on(segment, ask)))
        });
        let mut square: Vec<EntryPoint> = square.filter(clear).collect();
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
    fn shape_on(&self, segment: Segment, ask: &StartOptions) -> LeadShape {
        let rolled = || (segment.radius() - self.offset_at(segment.at(0.5))).abs() <= PATH_MM;
        match ask.lead {
            Some(shape) => shape,
            None if segment.is_arc() && !(segment.bulge > 0.0 && rolled()) => LeadShape::Arc,
            None => LeadShape::Straight,
        }
    }

    /// A place for a hole that nobody gave.
    pub(super) fn proposed(
        &self,
        path: &Path<'_>,
        home: Option<ContourId>,
        ask: &StartOptions,
    ) -> (Point, StartOrigin, EntryPoint) {
        let polyline = &path.wire.polyline;
        let bounds = polyline.bounds();
        let required_clearance_mm = self.required_clearance_mm(self.drill_mm());
        let small = !path.around && bounds.width().max(bounds.height()) <= SMALL * required_clearance_mm;
        let towards = self.starting.clamp.map(Side::direction);
        let mut candidates = Vec::new();
        if let Some(entry) = ask.entry {
            let nearest = path.index.nearest(entry, bounds.diagonal().max(PATH_MM));
            candidates.extend(nearest.map(|(i, entry, _)| {
                EntryPoint::on(polyline, i, entry, self.shape_on(polyline.segment(i), ask))
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
            if let Some(at) = self.beside(landing, required_clearance_mm)
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
            let at = Point::new(bounds.max.x + required_clearance_mm, bounds.center().y);
            return (at, StartOrigin::BesideWall, self.landing_from(path, at, ask));
        }
        let at = widest(&path.index, bounds);
        (at, StartOrigin::Roomiest, self.landing_from(path, at, ask))
    }

    /// Where a hole has room square to a place of the path, with a clear way onto it.
    fn beside(&self, landing: &EntryPoint, required_clearance_mm: f64) -> Option<Point> {
        let offset_mm = self.offset_at(landing.entry);
        let away_mm = (required_clearance_mm - offset_mm).max(0.5 * required_clearance_mm);
        let at = landing.entry + landing.away() * away_mm;
        let has_room = self.room(at, required_clearance_mm) >= required_clearance_mm - PATH_MM;
        let lead = Segment::line(at, landing.entry);
        (has_room && self.is_clear(lead, offset_mm)).then_some(at)
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

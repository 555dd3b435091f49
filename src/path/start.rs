//! Where the wire is threaded, and how it comes onto its path.
//!
//! Each loop of the first pass needs a start of its own. A start hole that is drawn in its region is taken. Else a place
//! is proposed: square to the middle of the longest straight of the path that has room for the hole, so that the lead-in
//! is short and its witness lies on a straight; where no straight has room, or there is none, the roomiest place of the
//! region, with a half circle as lead-in, which comes onto the path along its tangent.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::{Paths, WireLoop};
use crate::contour::{Contours, Role};
use crate::geometry::{Bounds, Point, Polyline, Segment, SegmentIndex, Vertex};
use crate::job::Use;
use crate::tolerance::PATH_MM;

/// The roomiest place is looked for until it is known to this part of the size of its region.
const ROOM_SHARE: f64 = 0.01;

/// How the wire is threaded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Threading {
    /// Diameter of a start hole, with the drift of its drill over the thickness, mm.
    pub hole_mm: f64,
    /// Between the edge of the hole and the contour, at least, mm.
    pub clearance_mm: f64,
}

/// The start of one loop of the first pass.
#[derive(Clone, Debug)]
pub struct Start {
    /// Number of the contour.
    pub contour: usize,
    /// Index of the loop in [`Paths::loops`].
    pub wire_loop: usize,
    /// Middle of the start hole.
    pub at: Point,
    /// Who says so.
    pub origin: StartOrigin,
    /// Distance from the middle of the hole to the nearest contour, mm.
    pub room_mm: f64,
    /// Distance that the hole needs, mm. Where it is more than `room_mm` the hole cuts into a contour.
    pub needed_mm: f64,
    /// From the middle of the hole onto the path; the lead-out goes back the same way.
    pub lead_in: Polyline,
}

/// Who says where a start is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StartOrigin {
    /// A start hole of the drawing.
    Drawn,
    /// Proposed, square to a straight of the path.
    BesideStraight,
    /// Proposed, at the roomiest place.
    Roomiest,
}

/// The starts of all loops of the first pass of each contour. Every loop gets one; whether the hole has room is said
/// by [`Start::room_mm`].
pub fn starts(contours: &Contours, paths: &Paths, threading: &Threading) -> Vec<Start> {
    let bounds_material = |purpose: Use| matches!(purpose, Use::Cut | Use::Existing);
    let bounding = contours
        .list
        .iter()
        .filter(|c| bounds_material(c.purpose) && c.role != Role::Open);
    let walls = SegmentIndex::of(bounding.map(|c| &c.polyline));
    let drawn: Vec<Point> = contours
        .list
        .iter()
        .filter(|c| c.purpose == Use::StartHole)
        .map(|c| c.bounds.center())
        .collect();
    let drawn = SegmentIndex::new(drawn.into_iter().map(|p| Segment::line(p, p)).collect());
    let first_pass = |wire: &WireLoop| wire.pass == 1;
    let site = Site {
        walls,
        drawn,
        needed_mm: 0.5 * threading.hole_mm + threading.clearance_mm,
    };
    paths
        .loops
        .iter()
        .enumerate()
        .filter(|(_, wire)| first_pass(wire))
        .map(|(wire_loop, wire)| {
            let (origin, at, lead_in) = site.start(&wire.polyline);
            let room_mm = site.room(at);
            Start {
                contour: wire.contour,
                wire_loop,
                at,
                origin,
                room_mm,
                needed_mm: site.needed_mm,
                lead_in,
            }
        })
        .collect()
}

/// What stands around.
struct Site {
    walls: SegmentIndex,
    drawn: SegmentIndex,
    needed_mm: f64,
}

impl Site {
    fn room(&self, p: Point) -> f64 {
        self.walls
            .nearest(p, self.needed_mm)
            .map_or(f64::INFINITY, |(_, _, distance)| distance)
    }

    fn start(&self, path: &Polyline) -> (StartOrigin, Point, Polyline) {
        let index = SegmentIndex::of([path]);
        let inside = path.area() < 0.0;
        if inside {
            let bounds = path.bounds();
            let held = self.drawn.near(bounds).map(|i| self.drawn.segments()[i].from);
            // The roomiest of the drawn holes inside the loop.
            let hole = held
                .filter(|&p| index.winding(p) != 0)
                .max_by(|&a, &b| self.room(a).total_cmp(&self.room(b)));
            if let Some(at) = hole {
                return (StartOrigin::Drawn, at, self.lead_onto(path, &index, at));
            }
        }
        let mut straights: Vec<Segment> = path.segments().filter(|s| !s.is_arc()).collect();
        straights.sort_by(|a, b| b.length().total_cmp(&a.length()));
        if let Some(lead) = straights.iter().find_map(|&s| self.beside(s)) {
            return (StartOrigin::BesideStraight, lead.from, open_run(lead));
        }
        let at = if inside {
            roomiest(&index, path.bounds())
        } else {
            self.off_the_part(path)
        };
        (StartOrigin::Roomiest, at, self.lead_onto(path, &index, at))
    }

    /// A straight lead square to the middle of a straight of the path, from where the hole has room.
    fn beside(&self, straight: Segment) -> Option<Segment> {
        let entry = straight.at(0.5);
        let (_, _, offset_mm) = self.walls.nearest(entry, self.needed_mm)?;
        let away = -straight.direction(0.5).left() * (self.needed_mm - offset_mm).max(0.5 * self.needed_mm);
        let lead = Segment::line(entry + away, entry);
        let free = |i: usize| lead.clearance(self.walls.segments()[i]) >= offset_mm - PATH_MM;
        let clear = self.walls.near(lead.bounds().grown(offset_mm)).all(free);
        (clear && self.room(lead.from) >= self.needed_mm - PATH_MM).then_some(lead)
    }

    /// A place outside a part without a straight: right of it.
    fn off_the_part(&self, path: &Polyline) -> Point {
        let bounds = path.bounds();
        Point::new(bounds.max.x + self.needed_mm, bounds.center().y)
    }

    /// From `at` to the nearest point of the path: a half circle, which arrives along the path where that point is no
    /// corner, and stays within the circle round `at` that touches the path.
    fn lead_onto(&self, path: &Polyline, index: &SegmentIndex, at: Point) -> Polyline {
        let Some((i, entry, distance)) = index.nearest(at, self.needed_mm) else {
            return Polyline::default();
        };
        let segment = path.segment(i);
        let along = segment.direction(segment.parameter(entry));
        let square = along.dot(entry - at).abs() <= PATH_MM;
        if !square || distance <= PATH_MM {
            return open_run(Segment::line(at, entry));
        }
        // A half circle arrives square to its chord, to the left of it when it runs counter-clockwise.
        let bulge = if (entry - at).left().dot(along) > 0.0 {
            1.0
        } else {
            -1.0
        };
        open_run(Segment::arc(at, entry, bulge))
    }
}

fn open_run(segment: Segment) -> Polyline {
    let vertices = vec![
        Vertex {
            at: segment.from,
            bulge: segment.bulge,
        },
        Vertex {
            at: segment.to,
            bulge: 0.0,
        },
    ];
    Polyline {
        vertices,
        closed: false,
    }
}

/// A square that may hold the roomiest place.
struct Cell {
    middle: Point,
    half: f64,
    room: f64,
}

impl Cell {
    fn new(index: &SegmentIndex, middle: Point, half: f64) -> Self {
        let distance = index
            .nearest(middle, half)
            .map_or(0.0, |(_, _, distance)| distance);
        let room = if index.winding(middle) == 0 {
            -distance
        } else {
            distance
        };
        Self { middle, half, room }
    }

    /// No point of the square has more room than this: distances change by no more than the way moved.
    fn at_most(&self) -> f64 {
        self.room + self.half * std::f64::consts::SQRT_2
    }
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cell {}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        self.at_most().total_cmp(&other.at_most())
    }
}

/// The point inside a loop that is farthest from it (its pole of inaccessibility): squares that cannot hold a better one
/// than known are dropped, the most promising is quartered (the scheme of Mapbox's `polylabel`).
fn roomiest(index: &SegmentIndex, bounds: Bounds) -> Point {
    let half = 0.5 * bounds.width().max(bounds.height());
    let precision = ROOM_SHARE * half;
    let mut best = Cell::new(index, bounds.center(), 0.0);
    let mut cells = BinaryHeap::from([Cell::new(index, bounds.center(), half)]);
    while let Some(cell) = cells.pop().filter(|cell| cell.at_most() > best.room + precision) {
        let quarter = 0.5 * cell.half;
        for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let middle = Point::new(cell.middle.x + x * quarter, cell.middle.y + y * quarter);
            let part = Cell::new(index, middle, quarter);
            if part.room > best.room {
                best = Cell { half: 0.0, ..part };
            }
            cells.push(part);
        }
    }
    best.middle
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::path::offset;

    fn site(shape: &Polyline, drawn: &[Point], needed_mm: f64) -> Site {
        Site {
            walls: SegmentIndex::of([shape]),
            drawn: SegmentIndex::new(drawn.iter().map(|&p| Segment::line(p, p)).collect()),
            needed_mm,
        }
    }

    fn rough(shape: &Polyline, signed: f64) -> Polyline {
        offset(shape, signed * 0.197).expect("verified").loops.remove(0)
    }

    fn rectangle() -> Polyline {
        Polyline::closed([
            (0.0, 0.0, 0.0),
            (40.0, 0.0, 0.0),
            (40.0, 20.0, 0.0),
            (0.0, 20.0, 0.0),
        ])
    }

    #[test]
    fn an_opening_is_entered_square_to_its_longest_wall() {
        let site = site(&rectangle(), &[], 0.8);
        let (origin, at, lead) = site.start(&rough(&rectangle(), -1.0));
        assert_eq!(origin, StartOrigin::BesideStraight);
        assert!((site.room(at) - 0.8).abs() < 1e-9 && (at.x - 20.0).abs() < 1e-9);
        assert!((lead.length() - (0.8 - 0.197)).abs() < 1e-9);
        assert_eq!(rectangle().winding(at), 1);
    }

    #[test]
    fn a_part_is_entered_from_outside() {
        let site = site(&rectangle(), &[], 0.8);
        let (origin, at, _) = site.start(&rough(&rectangle(), 1.0));
        assert_eq!(origin, StartOrigin::BesideStraight);
        assert!((site.room(at) - 0.8).abs() < 1e-9);
        assert_eq!(rectangle().winding(at), 0);
    }

    #[test]
    fn a_round_opening_is_entered_from_its_middle_by_a_half_circle() {
        let circle = Polyline::circle(Point::new(5.0, 7.0), 2.0);
        let path = rough(&circle, -1.0);
        let (origin, at, lead) = site(&circle, &[], 0.8).start(&path);
        assert_eq!(origin, StartOrigin::Roomiest);
        assert!(at.distance(Point::new(5.0, 7.0)) < 0.02);
        // A half circle on the path's radius.
        assert!((lead.length() - PI * (2.0 - 0.197) / 2.0).abs() < 0.05);
        let entry = lead.segment(0);
        let index = SegmentIndex::of([&path]);
        let (i, _, distance) = index.nearest(entry.to, 1.0).expect("a path");
        let along = path.segment(i).direction(path.segment(i).parameter(entry.to));
        assert!(distance < 1e-9 && entry.direction(1.0).dot(along) > 1.0 - 1e-9);
    }

    #[test]
    fn a_drawn_hole_is_taken() {
        let hole = Point::new(30.0, 15.0);
        let (origin, at, lead) =
            site(&rectangle(), &[hole, Point::new(50.0, 5.0)], 0.8).start(&rough(&rectangle(), -1.0));
        assert_eq!((origin, at), (StartOrigin::Drawn, hole));
        assert_eq!(lead.vertices[0].at, hole);
    }

    #[test]
    fn a_hole_wider_than_its_slot_shows_in_the_room() {
        let slot = Polyline::closed([
            (0.0, 0.0, 0.0),
            (20.0, 0.0, 0.0),
            (20.0, 1.0, 0.0),
            (0.0, 1.0, 0.0),
        ]);
        let site = site(&slot, &[], 0.8);
        let (origin, at, _) = site.start(&rough(&slot, -1.0));
        assert_eq!(origin, StartOrigin::Roomiest);
        assert!(site.room(at) < site.needed_mm && site.room(at) > 0.49);
    }

    #[test]
    fn the_roomiest_place_of_an_l_is_in_its_elbow() {
        let bay = Polyline::closed([
            (0.0, 0.0, 0.0),
            (6.0, 0.0, 0.0),
            (6.0, 6.0, 0.0),
            (4.0, 6.0, 0.0),
            (4.0, 2.0, 0.0),
            (0.0, 2.0, 0.0),
        ]);
        let at = roomiest(&SegmentIndex::of([&bay]), bay.bounds());
        // The circle that touches both outer walls and the inner corner: 6 − x = y, distance to (4, 2) the same.
        let radius = 2.0 * 2f64.sqrt() / (1.0 + 2f64.sqrt());
        assert!(
            (bay.segments()
                .map(|s| s.distance(at))
                .fold(f64::INFINITY, f64::min)
                - radius)
                .abs()
                < 0.03
        );
    }
}

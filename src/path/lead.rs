//! How the wire comes onto each of its paths, and off again.
//!
//! The lead-in runs from the start to the place where the path is entered: straight, or straight and then by an arc that
//! arrives along the path. Past the closing point the wire runs on for a short overlap, and leaves the way it came. Later passes enter
//! where the first one does, square to the wall, and cross the open kerf without cutting.

use std::f64::consts::{PI, TAU};

use super::path_line::{PathLine, open_run};
use super::start::{Start, Starts};
use super::surroundings::Surroundings;
use super::{Paths, Separation};
use crate::geometry::{Point, Polyline, Segment, SegmentIndex, Vector};
use crate::job::LeadShape;
use crate::tolerance::{PATH_MM, SHARP_CORNER_RAD};

/// The way of the wire on and off one loop.
#[derive(Clone, Debug, PartialEq)]
pub struct Leads {
    /// Index in [`Paths::starts`].
    pub start: usize,
    /// Where the wire comes onto the loop.
    pub entry: Point,
    /// Along the loop from its first vertex to there, mm.
    pub entry_mm: f64,
    /// From the start onto the loop.
    pub lead_in: Polyline,
    /// What the rough pass cuts of the lead-in, mm: from the edge of the start hole on. 0 in later passes.
    pub lead_cut_mm: f64,
    /// The wire runs this far past the closing point, mm.
    pub overlap_mm: f64,
    /// From the end of the overlap back to the start.
    pub lead_out: Polyline,
    /// Where a lead comes nearer to a wall than the pass may, and by how much, mm.
    pub blocked: Option<(Point, f64)>,
}

/// A place where a path may be entered.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct EntryPoint {
    /// Segment of the path.
    pub segment: usize,
    /// Where.
    pub entry: Point,
    /// Unit direction of travel there.
    pub along: Vector,
    /// How the wire comes onto it.
    pub shape: LeadShape,
}

impl EntryPoint {
    /// On a point of segment `i` of a path.
    pub(super) fn on(path: &Polyline, i: usize, entry: Point, shape: LeadShape) -> Self {
        let segment = path.segment(i);
        Self {
            segment: i,
            entry,
            along: segment.direction(segment.parameter(entry)),
            shape,
        }
    }

    /// Unit direction away from the wall: paths keep the material on their left.
    pub(super) fn away(&self) -> Vector {
        -self.along.left()
    }
}

/// Where a path may be entered, best first: in the middles of its straights, then of its arcs; of each those farthest
/// towards the clamped side first, and among equals, or without such a side, the longest. Outside corners instead, the
/// sharpest first, where they are wanted; the others follow them.
pub(super) fn landings(
    path: &Polyline,
    offset_mm: f64,
    towards: Option<Vector>,
    wanted: Option<LeadShape>,
) -> Vec<EntryPoint> {
    let shape = wanted.unwrap_or_default();
    let far = |p: Point| (p - Point::default()).dot(towards.unwrap_or_default());
    let mut order: Vec<(bool, f64, f64, usize)> = path
        .segments()
        .enumerate()
        .map(|(i, s)| (s.is_arc(), far(s.at(0.5)), s.length(), i))
        .collect();
    order.sort_by(|a, b| {
        let by_place = b.1.total_cmp(&a.1).then(b.2.total_cmp(&a.2));
        a.0.cmp(&b.0).then(by_place).then(a.3.cmp(&b.3))
    });
    let middle = |i: usize| EntryPoint::on(path, i, path.segment(i).at(0.5), shape);
    let faces = order.into_iter().map(|(_, _, _, i)| middle(i));
    if wanted == Some(LeadShape::Corner) {
        corners(path, offset_mm).into_iter().chain(faces).collect()
    } else {
        faces.collect()
    }
}

/// The outside corners of a path `offset_mm` from its wall: rolls round a corner of the wall, and sharp turns to the left;
/// the sharpest first.
fn corners(path: &Polyline, offset_mm: f64) -> Vec<EntryPoint> {
    let n = path.segment_count();
    let mut found: Vec<(f64, EntryPoint)> = Vec::new();
    for i in 0..n {
        let segment = path.segment(i);
        let rolled = segment.bulge > 0.0 && (segment.radius() - offset_mm).abs() <= PATH_MM;
        if rolled && segment.sweep() > SHARP_CORNER_RAD && segment.sweep() < PI {
            found.push((
                segment.sweep(),
                EntryPoint::on(path, i, segment.at(0.5), LeadShape::Corner),
            ));
        }
        let before = path.segment((i + n - 1) % n).direction(1.0);
        let turn = before.turn_to(segment.direction(0.0));
        if turn > SHARP_CORNER_RAD {
            let along = before.turned(0.5 * turn);
            let landing = EntryPoint {
                segment: i,
                entry: segment.from,
                along,
                shape: LeadShape::Corner,
            };
            found.push((turn, landing));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.segment.cmp(&b.1.segment)));
    found.into_iter().map(|(_, landing)| landing).collect()
}

/// The runs of all loops, in their order. `overlap_mm` says how far the wire runs past the closing point of a contour,
/// `offset_mm` how far the path of a loop stays from its wall.
pub(super) fn runs(
    site: &Surroundings<'_>,
    paths: &Paths,
    Starts { list, of_loop, .. }: &Starts,
    overlap_mm: impl Fn(usize) -> f64,
    offset_mm: impl Fn(usize) -> f64,
) -> Vec<Leads> {
    let mut cleared = vec![None; paths.loops.len()];
    for separation in &paths.separations {
        cleared[separation.piece.wire_loop] = end_of_rings(separation);
    }
    let run = |i: usize| {
        let start = &list[of_loop[i]];
        let wire = &paths.loops[i];
        let from = cleared[i];
        let way = LeadBuilder {
            path: &wire.polyline,
            start,
            from: from.unwrap_or(start.at),
            lead_radius_mm: site.lead_radius_mm(),
            landing: landing(&wire.polyline, i, start, from),
        };
        let mut run = way.run(of_loop[i], overlap_mm(wire.contour));
        run.lead_cut_mm = match from {
            _ if i != start.wire_loop => 0.0,
            Some(_) => run.lead_in.length(),
            None => cut_beyond(
                &run.lead_in,
                start.hole_mm.map_or(start.required_clearance_mm, |mm| 0.5 * mm),
            ),
        };
        if from.is_none() {
            keep_clear(&mut run, site, offset_mm(i));
        }
        run
    };
    (0..paths.loops.len()).map(run).collect()
}

/// Where the wire stands when a slug is cleared away up to its last ring.
fn end_of_rings(separation: &Separation) -> Option<Point> {
    let coreless = separation.coreless()?;
    coreless.run.vertices.last().map(|v| v.at)
}

/// Where a loop is entered: as its start says, or as near to that, or to the end of the rings in it, as it can be.
fn landing(path: &Polyline, wire_loop: usize, start: &Start, rings: Option<Point>) -> EntryPoint {
    if wire_loop == start.wire_loop && rings.is_none() {
        return start.landing;
    }
    let wanted = rings.unwrap_or(start.landing.entry);
    let index = SegmentIndex::of([path]);
    let nearest = index.nearest(wanted, path.bounds().diagonal().max(PATH_MM));
    nearest.map_or(start.landing, |(i, entry, _)| {
        let shape = if rings.is_some() {
            LeadShape::Straight
        } else {
            start.landing.shape
        };
        EntryPoint::on(path, i, entry, shape)
    })
}

/// Length of a lead farther than `within_mm` from where it begins; leads only ever go away from there.
fn cut_beyond(lead: &Polyline, within_mm: f64) -> f64 {
    const HALVINGS: usize = 50;
    let Some(begins) = lead.vertices.first().map(|v| v.at) else {
        return 0.0;
    };
    let beyond = |segment: Segment| {
        if begins.distance(segment.from) >= within_mm {
            return segment.length();
        }
        let (mut near, mut far) = (0.0, 1.0);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (near + far);
            if begins.distance(segment.at(middle)) < within_mm {
                near = middle;
            } else {
                far = middle;
            }
        }
        segment.length() * (1.0 - far)
    };
    lead.segments().map(beyond).sum()
}

/// A way onto a loop and off it.
struct LeadBuilder<'a> {
    path: &'a Polyline,
    start: &'a Start,
    /// Where the wire comes from.
    from: Point,
    landing: EntryPoint,
    lead_radius_mm: f64,
}

impl LeadBuilder<'_> {
    fn run(&self, start: usize, overlap_mm: f64) -> Leads {
        let line = PathLine::new(self.path);
        let EntryPoint {
            segment,
            entry,
            along,
            shape,
        } = self.landing;
        let share = self.path.segment(segment).parameter(entry);
        let entry_mm = line.begins_mm[segment] + share * self.path.segment(segment).length();
        let overlap_mm = overlap_mm.min(0.5 * line.length_mm);
        let (exit, leaving) = line.heading(entry_mm + overlap_mm);
        // Off the path as onto it, the other way.
        let lead_out = self.onto(self.start.at, exit, -leaving, shape).into_iter().rev();
        Leads {
            start,
            entry,
            entry_mm,
            lead_in: open_run(&self.onto(self.from, entry, along, shape)),
            lead_cut_mm: 0.0,
            overlap_mm,
            lead_out: open_run(&lead_out.map(Segment::reversed).collect::<Vec<_>>()),
            blocked: None,
        }
    }

    /// From `from` onto the path at `entry`, where it goes `along`.
    fn onto(&self, from: Point, entry: Point, along: Vector, shape: LeadShape) -> Vec<Segment> {
        let arc = (shape == LeadShape::Arc).then(|| arriving(from, entry, along, self.lead_radius_mm));
        arc.flatten().unwrap_or_else(|| vec![Segment::line(from, entry)])
    }
}

/// Straight leads where arcs would come too near to a wall, and what of them comes too near still.
fn keep_clear(run: &mut Leads, site: &Surroundings<'_>, offset_mm: f64) {
    for lead in [&mut run.lead_in, &mut run.lead_out] {
        if site.blocked(lead, offset_mm).is_none() {
            continue;
        }
        let ends = [lead.vertices.first(), lead.vertices.last()].map(|v| v.map_or(run.entry, |v| v.at));
        *lead = open_run(&[Segment::line(ends[0], ends[1])]);
        run.blocked = run.blocked.or(site.blocked(lead, offset_mm));
    }
}

/// Straight and then by an arc that arrives `along` the path: the straight is a tangent of the arc. The arc has
/// `radius_mm`, or half the distance square to the path, when it is a half circle and there is no straight. `None` where
/// `from` does not lie beside the path.
fn arriving(from: Point, entry: Point, along: Vector, radius_mm: f64) -> Option<Vec<Segment>> {
    let side = along.cross(from - entry).signum();
    let away = along.left() * side;
    let distance_mm = (from - entry).dot(away);
    let radius = radius_mm.min(0.5 * distance_mm);
    if radius <= PATH_MM {
        return None;
    }
    let center = entry + away * radius;
    let out = (from - center).normalized()?;
    // The tangent from there to the arc.
    let far_mm = from.distance(center);
    let tangent_mm = ((far_mm - radius) * (far_mm + radius)).max(0.0).sqrt();
    let has_tangent = tangent_mm > PATH_MM;
    let turn = if has_tangent {
        tangent_mm.atan2(radius)
    } else {
        0.0
    };
    let touch = center + out.turned(side * turn) * radius;
    let sweep = (touch - center).turn_to(entry - center).rem_euclid(TAU);
    let sweep = if side > 0.0 { sweep } else { sweep - TAU };
    let straight = Segment::line(from, touch);
    let arc = Segment::arc(touch, entry, (0.25 * sweep).tan());
    Some(if has_tangent {
        vec![straight, arc]
    } else {
        vec![Segment::arc(from, entry, (0.25 * sweep).tan())]
    })
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, PI};

    use super::*;

    fn length(lead: &[Segment]) -> f64 {
        lead.iter().map(|s| s.length()).sum()
    }

    /// From square above the path the arc alone is a half circle where it has just room, else a tangent and an arc: with
    /// d from the path and radius r, the tangent is √((d − r)² − r²) long and the arc turns π − acos(r / (d − r)).
    #[test]
    fn an_arc_arrives_along_the_path() {
        let (entry, along) = (Point::new(3.0, 4.0), Vector::new(0.6, 0.8));
        for side in [1.0, -1.0] {
            for (distance, radius) in [(1.8f64, 1.0f64), (2.0, 1.0), (5.8, 1.0), (40.0, 2.5)] {
                let from = entry + along.left() * (side * distance);
                let lead = arriving(from, entry, along, radius).expect("beside the path");
                let last = lead.last().expect("a segment");
                assert_eq!((lead[0].from, last.to), (from, entry));
                assert!((last.direction(1.0) - along).length() < 1e-9);
                assert!(
                    lead.windows(2)
                        .all(|pair| (pair[0].direction(1.0) - pair[1].direction(0.0)).length() < 1e-9)
                );
                let r = radius.min(0.5 * distance);
                let far = distance - r;
                let right = (far * far - r * r).max(0.0).sqrt() + r * (PI - (r / far).acos());
                assert!(
                    (length(&lead) - right).abs() < 1e-6,
                    "{} is not {right}",
                    length(&lead)
                );
            }
        }
    }

    #[test]
    fn an_arc_from_a_place_that_is_not_square_above_arrives_too() {
        let (entry, along) = (Point::default(), Vector::new(1.0, 0.0));
        for from in [Point::new(-3.0, 2.0), Point::new(3.0, 2.0), Point::new(0.2, -1.0)] {
            let lead = arriving(from, entry, along, 1.0).expect("beside the path");
            let last = lead.last().expect("a segment");
            assert!((last.direction(1.0) - along).length() < 1e-9);
            assert!(lead.len() == 1 || (lead[0].direction(1.0) - last.direction(0.0)).length() < 1e-9);
        }
        assert_eq!(arriving(Point::new(-2.0, 0.0), entry, along, 1.0), None);
    }

    /// Straight from the middle of the hole: the way less its radius. By a half circle of diameter D: the chord of the
    /// hole's radius r takes D·asin(r / D).
    #[test]
    fn what_lies_within_the_hole_is_not_cut() {
        let from = Point::default();
        let straight = open_run(&[Segment::line(from, Point::new(3.0, 4.0))]);
        assert!((cut_beyond(&straight, 1.5) - 3.5).abs() < 1e-9);
        assert_eq!(cut_beyond(&straight, 6.0).round(), 0.0);
        let half = open_run(&[Segment::arc(from, Point::new(4.0, 0.0), 1.0)]);
        let right = 4.0 * FRAC_PI_2 - 4.0 * (0.25f64 * 1.5).asin();
        assert!((cut_beyond(&half, 1.5) - right).abs() < 1e-9);
    }

    #[test]
    fn corners_are_entered_along_their_bisector() {
        let path = crate::path::offset(
            &Polyline::closed([(0.0, 0.0, 0.0), (4.0, 0.0, 0.0), (0.0, 4.0, 0.0)]),
            0.2,
        );
        let path = path.expect("verified").loops.remove(0);
        let found = landings(&path, 0.2, None, Some(LeadShape::Corner));
        let s = 0.5f64.sqrt();
        assert_eq!(found.len(), 3 + path.segment_count());
        // Two corners of 45°, whose bisectors lie 22.5° off the legs, come before the right angle.
        for landing in &found[..2] {
            let away = landing.away();
            let off_leg = away.x.abs().min(away.y.abs());
            assert!((off_leg - (PI / 8.0).sin()).abs() < 1e-9, "{away:?}");
        }
        let right_angle = found[2].away();
        assert!(
            (right_angle - Vector::new(-s, -s)).length() < 1e-9,
            "{right_angle:?}"
        );
    }
}

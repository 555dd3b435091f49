//! How the wire comes onto each of its paths, and off again.
//!
//! The lead-in runs from the start to the place where the path is entered: straight, or straight and then by an arc that
//! arrives along the path. Past the closing point the wire runs on for a short overlap, and leaves the way it came. Later passes enter
//! where the first one does, square to the wall, and cross the open kerf without cutting.

use std::f64::consts::TAU;

use super::entry::EntryPoint;
use super::path_line::PathLine;
use super::separation::Separation;
use super::start::{Start, Starts};
use super::surroundings::Surroundings;
use crate::elementary::{atan2, tan};
use crate::geometry::{Point, Polyline, Segment, Vector};
use crate::id::{ContourId, LoopId};
use crate::job::LeadShape;
use crate::tolerance::PATH_MM;
use crate::toolpath::{CutEnd, OpenCut, WireLoop};

/// The way of the wire on and off one loop.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Leads {
    /// Index in [`Process::starts`](super::Process::starts).
    pub start: usize,
    /// Where the wire comes onto the loop.
    pub entry: Point,
    /// Along the loop from its first vertex to there, mm.
    pub entry_mm: f64,
    /// Back through the open kerf of the pass before, where an open cut is skimmed one way.
    pub return_run: Option<Box<Polyline>>,
    /// From the start, or from there, onto the loop.
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

/// The leads of all loops, in their order. `overlap_mm` says how far the wire runs past the closing point of a contour,
/// `offset_mm` how far the path of a loop stays from its wall.
pub(super) fn leads(
    site: &Surroundings<'_>,
    loops: &[WireLoop],
    separations: &[Separation],
    Starts { list, of_loop, .. }: &Starts,
    overlap_mm: impl Fn(ContourId) -> f64,
    offset_mm: impl Fn(&WireLoop) -> f64,
) -> Vec<Leads> {
    let mut cleared = vec![None; loops.len()];
    for separation in separations {
        cleared[separation.piece.wire_loop.index()] = end_of_rings(separation);
    }
    let run = |(id, wire): (LoopId, &WireLoop)| {
        let from = cleared[id.index()];
        let start_index = of_loop[id.index()];
        let start = &list[start_index];
        if let Some(cut) = &wire.open {
            // A skim that is cut to and fro begins where the pass before ended.
            let before = id.index().checked_sub(1).map(|i| &loops[i]);
            let before = before.filter(|before| {
                before.contour == wire.contour && (!before.pass.is_rough() || cut.runs_back)
            });
            return of_open_cut(site, wire, cut, (start_index, start), (before, offset_mm(wire)));
        }
        let way = LeadBuilder {
            path: &wire.polyline,
            start,
            from: from.unwrap_or(start.at),
            lead_radius_mm: site.lead_radius_mm(),
            landing: landing(&wire.polyline, id, start, from),
        };
        let mut run = way.run(start_index, overlap_mm(wire.contour));
        run.lead_cut_mm = match from {
            _ if id != start.wire_loop => 0.0,
            Some(_) => run.lead_in.length(),
            None => cut_beyond(
                &run.lead_in,
                start.hole_mm.map_or(start.required_clearance_mm, |mm| 0.5 * mm),
            ),
        };
        if from.is_none() {
            keep_clear(&mut run, site, offset_mm(wire), start.bore);
        }
        run
    };
    LoopId::numbered(loops).map(run).collect()
}

/// The way onto an open cut and off it: straight from its start, or from the end of the pass before, to the first end of the path; where
/// both passes run the same way, back along the kerf of the one before. Where the path ends in the material the wire backs out along its
/// kerf; else it is cut there.
fn of_open_cut(
    site: &Surroundings<'_>,
    wire: &WireLoop,
    cut: &OpenCut,
    (start_index, start): (usize, &Start),
    (before, half_kerf_mm): (Option<&WireLoop>, f64),
) -> Leads {
    let entry = wire.polyline.vertices[0].at;
    let runs_on = |before: &&WireLoop| before.open.as_ref().is_some_and(|cut| !cut.runs_back);
    let is_one_way = !cut.runs_back && cut.band.is_none();
    let returned = before.filter(runs_on).filter(|_| is_one_way);
    let return_run = returned.map(|before| Box::new(before.polyline.reversed()));
    let ended = return_run.as_deref().or(before.map(|before| &before.polyline));
    let ended = ended.and_then(|path| path.vertices.last());
    let on = Segment::line(ended.map_or(start.at, |v| v.at), entry);
    let on: Vec<Segment> = (on.length() > PATH_MM).then_some(on).into_iter().collect();
    let lead_in = Polyline::run(&on);
    let back = wire.polyline.reversed();
    let back = back.segments().chain(on.iter().map(|s| s.reversed()));
    let lead_out = match cut.ends[1] {
        CutEnd::Blind | CutEnd::Hole => Polyline::run(&back.collect::<Vec<_>>()),
        CutEnd::Air | CutEnd::Waste => Polyline::run(&[]),
    };
    let within_mm = start.hole_mm.map_or(start.required_clearance_mm, |mm| 0.5 * mm);
    let blocked = (cut.ends[0] != CutEnd::Hole).then(|| site.blocked(&lead_in, half_kerf_mm, start.bore));
    Leads {
        start: start_index,
        entry,
        entry_mm: 0.0,
        lead_cut_mm: if wire.pass.is_rough() {
            cut_beyond(&lead_in, within_mm)
        } else {
            0.0
        },
        return_run,
        lead_in,
        overlap_mm: 0.0,
        lead_out,
        blocked: blocked.flatten(),
    }
}

/// Where the wire stands when a slug is cleared away up to its last ring.
fn end_of_rings(separation: &Separation) -> Option<Point> {
    let coreless = separation.coreless()?;
    coreless.run.vertices.last().map(|v| v.at)
}

/// Where a loop is entered: as its start says, or as near to that, or to the end of the rings in it, as it can be.
fn landing(path: &Polyline, wire_loop: LoopId, start: &Start, rings: Option<Point>) -> EntryPoint {
    if wire_loop == start.wire_loop && rings.is_none() {
        return start.landing;
    }
    let wanted = rings.unwrap_or(start.landing.entry);
    path.nearest(wanted).map_or(start.landing, |(i, entry, _)| {
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
            return_run: None,
            entry,
            entry_mm,
            lead_in: Polyline::run(&self.onto(self.from, entry, along, shape)),
            lead_cut_mm: 0.0,
            overlap_mm,
            lead_out: Polyline::run(&lead_out.map(Segment::reversed).collect::<Vec<_>>()),
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
fn keep_clear(run: &mut Leads, site: &Surroundings<'_>, offset_mm: f64, bore: Option<ContourId>) {
    for lead in [&mut run.lead_in, &mut run.lead_out] {
        if site.blocked(lead, offset_mm, bore).is_none() {
            continue;
        }
        let ends = [lead.vertices.first(), lead.vertices.last()].map(|v| v.map_or(run.entry, |v| v.at));
        *lead = Polyline::run(&[Segment::line(ends[0], ends[1])]);
        run.blocked = run.blocked.or(site.blocked(lead, offset_mm, bore));
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
        atan2(tangent_mm, radius)
    } else {
        0.0
    };
    let touch = center + out.turned(side * turn) * radius;
    let sweep = (touch - center).turn_to(entry - center).rem_euclid(TAU);
    let sweep = if side > 0.0 { sweep } else { sweep - TAU };
    let straight = Segment::line(from, touch);
    let arc = Segment::arc(touch, entry, tan(0.25 * sweep));
    Some(if has_tangent {
        vec![straight, arc]
    } else {
        vec![Segment::arc(from, entry, tan(0.25 * sweep))]
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
        let straight = Polyline::run(&[Segment::line(from, Point::new(3.0, 4.0))]);
        assert!((cut_beyond(&straight, 1.5) - 3.5).abs() < 1e-9);
        assert_eq!(cut_beyond(&straight, 6.0).round(), 0.0);
        let half = Polyline::run(&[Segment::arc(from, Point::new(4.0, 0.0), 1.0)]);
        let right = 4.0 * FRAC_PI_2 - 4.0 * (0.25f64 * 1.5).asin();
        assert!((cut_beyond(&half, 1.5) - right).abs() < 1e-9);
    }
}

//! The path of a slit: the drawn line itself, from where its kerf comes into the kept material to where it has left it.
//!
//! An overhang is neither followed nor missed: where the kerf has left the material the wire goes straight on, along the line's
//! tangent, until the kerf is clear by the run-out. An end nearer to an edge than half the kerf, and heading for it, is on it. A
//! path is judged apart from how it was made: it lies on the line and its tangents, it leaves out nothing of the line whose kerf
//! meets the material, and its run-outs cut nothing that is kept.

use std::collections::BTreeSet;

use geo::buffer::{BufferStyle, LineCap, LineJoin};
use geo::{Buffer, Coord, LineString, MultiPolygon};

use super::offset::RefusedOffset;
use super::polygon::joints;
use super::refusal::RefusalReason;
use super::verify::PathFault;
use super::{CutEnd, OpenCut};
use crate::cancel::{checkpoint, uninterrupted_or_panicked};
use crate::contour::{Contour, KeptMaterial};
use crate::geometry::{Point, Polyline, Segment, SegmentIndex, Vector, Vertex, reversed_run};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{PATH_MM, RUN_OUT_END_MM, SAME_POINT_MM};

/// An edge may be left so flatly that the kerf is out after this many half kerfs (about 10°).
const FLATTEST_HALF_KERFS: f64 = 6.0;

/// A way along which the distance from the edges is followed takes no more steps than this.
const MOST_STEPS: usize = 20_000;

/// Largest chord of the round joins of a kerf told as polygons, radians.
const JOIN_RAD: f64 = 0.1;

/// A path with what is known of its ends.
pub(super) struct SlitPath {
    pub(super) path: Polyline,
    pub(super) cut: OpenCut,
    /// Along the path to where it first comes into the material, mm.
    entered_mm: f64,
    /// Worst deviation from the drawn line and its tangents, mm.
    pub(super) verified_mm: f64,
}

/// What the path of a slit goes by.
#[derive(Clone, Copy)]
pub(super) struct Slitting<'a> {
    pub(super) kept: &'a KeptMaterial<'a>,
    pub(super) half_kerf_mm: f64,
    pub(super) run_out_mm: f64,
}

/// A run up to one of its ends, and the straight way on from there out of the material; none at a blind end.
struct RunEnd {
    line: Vec<Segment>,
    out: Option<Segment>,
}

pub(super) const fn refused(at: Point, reason: RefusalReason) -> RefusedOffset {
    RefusedOffset { at, reason }
}

impl Slitting<'_> {
    /// Lays the path of a slit, or says why it cannot be.
    pub(super) fn path(&self, contour: &Contour) -> Result<SlitPath, RefusedOffset> {
        let drawn = self.line(contour)?;
        let start = drawn[0].from;
        let ahead = self.ended(drawn.clone())?;
        let back = self.ended(reversed_run(&ahead.line))?;
        let run = Run {
            line: reversed_run(&back.line),
            outs: [back.out.map(Segment::reversed), ahead.out],
        };
        let path = run.joined();
        let met = self.met(&path)?;
        if met.length_mm <= PATH_MM {
            return Err(refused(start, RefusalReason::MeetsNoMaterial));
        }
        if met.parts.len() > 1 {
            return Err(refused(start, RefusalReason::SeveralParts));
        }
        let ends = [
            self.end(path[0].from, run.outs[0].is_none())?,
            self.end(last_of(&path).to, run.outs[1].is_none())?,
        ];
        if ends == [CutEnd::Blind; 2] {
            return Err(refused(start, RefusalReason::NoPlaceToStart));
        }
        let polyline = Polyline::run(&path);
        if self.kerf_meets_itself(&polyline)? {
            return Err(refused(start, RefusalReason::KerfMeetsItself));
        }
        let verified_mm = self.judged(&drawn, &run)?;
        let cut = OpenCut {
            ends,
            part: met.parts.first().copied(),
            crossed: met.crossed.into_iter().collect(),
            met_mm: met.length_mm,
            left_mm: met.left_mm,
            runs_back: false,
            waste: None,
            band: None,
            offcut: None,
            kept_drops: false,
        };
        let path = SlitPath {
            path: polyline,
            cut,
            entered_mm: met.entered_mm,
            verified_mm,
        };
        Ok(path.begun_at_better_end())
    }

    /// The drawn line without points given twice.
    pub(super) fn line(&self, contour: &Contour) -> Result<Vec<Segment>, RefusedOffset> {
        let polyline = &contour.polyline;
        let at = polyline.vertices.first().map_or_else(Point::default, |v| v.at);
        let is_finite = |v: &Vertex| v.at.is_finite() && v.bulge.is_finite();
        if polyline.closed {
            return Err(refused(at, RefusalReason::SlitClosed));
        }
        if !polyline.vertices.iter().all(is_finite) {
            return Err(refused(at, RefusalReason::NotFinite));
        }
        if let Some(contour) = self.kept.unsettled() {
            return Err(refused(at, RefusalReason::SideOpen { contour }));
        }
        let mut line: Vec<Segment> = Vec::with_capacity(polyline.segment_count());
        for segment in polyline.segments() {
            let from = line.last().map_or(segment.from, |last| last.to);
            if segment.length() >= SAME_POINT_MM {
                line.push(Segment { from, ..segment });
            }
        }
        if line.is_empty() {
            return Err(refused(at, RefusalReason::MeetsNoMaterial));
        }
        Ok(line)
    }

    /// The run with its last end as it is cut.
    fn ended(&self, mut line: Vec<Segment>) -> Result<RunEnd, RefusedOffset> {
        let end = last_of(&line);
        let mut begin_mm = 0.0;
        if self.kept.keeps(end.to) {
            let Some(gap_mm) = self.leaves_within(end) else {
                return Ok(RunEnd { line, out: None });
            };
            begin_mm = gap_mm;
        } else {
            line = self.without_overhang(line)?;
        }
        let end = last_of(&line);
        let heading = end.direction(1.0);
        let out_mm = self.way_out_mm(end.to, heading, begin_mm)?;
        let out = Segment::line(end.to, end.to + heading * out_mm);
        Ok(RunEnd { line, out: Some(out) })
    }

    /// How far ahead of the end of a segment an edge is crossed, where that is within half a kerf, mm.
    pub(super) fn leaves_within(&self, end: Segment) -> Option<f64> {
        let ahead = Segment::line(end.to, end.to + end.direction(1.0) * self.half_kerf_mm);
        let meetings = self.kept.meetings(ahead).ok()?;
        let ahead_mm = meetings.first().map(|(share, _)| share * ahead.length())?;
        (ahead_mm < self.half_kerf_mm).then_some(ahead_mm)
    }

    /// The run up to where its kerf has left the material, when its end lies outside of it.
    pub(super) fn without_overhang(&self, mut line: Vec<Segment>) -> Result<Vec<Segment>, RefusedOffset> {
        let begin = line[0].from;
        while let Some(segment) = line.pop() {
            let length_mm = segment.length();
            let mut back_mm = 0.0;
            for _ in 0..MOST_STEPS {
                checkpoint();
                if back_mm >= length_mm {
                    break;
                }
                let share = 1.0 - back_mm / length_mm;
                let clear_mm = self.kept.distance(segment.at(share)) - self.half_kerf_mm;
                if clear_mm <= RUN_OUT_END_MM {
                    line.push(if back_mm == 0.0 {
                        segment
                    } else {
                        segment.part(0.0, share)
                    });
                    return Ok(line);
                }
                back_mm += clear_mm;
            }
        }
        Err(refused(begin, RefusalReason::MeetsNoMaterial))
    }

    /// How far the wire runs straight on from a place until its kerf has left the material by the run-out, mm. The edge is crossed
    /// after `begin_mm`.
    pub(super) fn way_out_mm(
        &self,
        from: Point,
        heading: Vector,
        begin_mm: f64,
    ) -> Result<f64, RefusedOffset> {
        let at = |mm: f64| from + heading * mm;
        let left_mm = self.clear_after_mm(from, heading, begin_mm, self.half_kerf_mm)?;
        let out_mm = self.clear_after_mm(from, heading, left_mm, self.half_kerf_mm + self.run_out_mm)?;
        if left_mm - begin_mm > FLATTEST_HALF_KERFS * self.half_kerf_mm {
            return Err(refused(from, RefusalReason::LeavesTooFlat));
        }
        let leaving = Segment::line(at(begin_mm), at(left_mm));
        let crossed = self.kept.meetings(leaving).unwrap_or_default().into_iter();
        let mut crossed = crossed.filter(|(share, _)| share * leaving.length() > PATH_MM);
        if let Some((share, contour)) = crossed.next() {
            return Err(refused(
                leaving.at(share),
                RefusalReason::RunOutCutsWall { contour },
            ));
        }
        let beyond = Segment::line(at(left_mm), at(out_mm));
        // What lies beyond the edge may be kept by another contour.
        let reach_mm = if self.kept.keeps(beyond.to) {
            2.0 * (self.half_kerf_mm + self.run_out_mm)
        } else {
            self.half_kerf_mm - PATH_MM
        };
        match self.kept.nearest_edge(beyond, reach_mm) {
            Some((_, contour)) => Err(refused(beyond.to, RefusalReason::RunOutCutsWall { contour })),
            None => Ok(out_mm),
        }
    }

    /// How far on from a place, straight, no edge is nearer than `clear_mm`: the first such place from `begin_mm` on, mm.
    pub(super) fn clear_after_mm(
        &self,
        from: Point,
        heading: Vector,
        begin_mm: f64,
        clear_mm: f64,
    ) -> Result<f64, RefusedOffset> {
        let mut way_mm = begin_mm;
        for _ in 0..MOST_STEPS {
            checkpoint();
            let p = from + heading * way_mm;
            let short_mm = clear_mm - self.kept.distance_to_edge(p);
            if short_mm <= RUN_OUT_END_MM {
                return Ok(way_mm);
            }
            way_mm += short_mm;
        }
        Err(refused(from, RefusalReason::LeavesTooFlat))
    }

    /// What a path meets of the kept material.
    pub(super) fn met(&self, path: &[Segment]) -> Result<MetMaterial, RefusedOffset> {
        let mut met = MetMaterial::default();
        let mut begins_mm = 0.0;
        for &segment in path {
            let meetings = self.kept.meetings(segment);
            let meetings = meetings
                .map_err(|contour| refused(segment.from, RefusalReason::RunsAlongEdge { contour }))?;
            for [from, to] in self.kept.parts_within(segment, &meetings) {
                if met.length_mm == 0.0 {
                    met.entered_mm = begins_mm + from * segment.length();
                }
                met.length_mm += (to - from) * segment.length();
                met.left_mm = begins_mm + to * segment.length();
                let part = self.kept.outline_at(segment.at(0.5 * (from + to)));
                met.parts
                    .extend(part.filter(|&id| self.kept.contours[id].purpose == Purpose::Cut));
            }
            met.crossed.extend(meetings.into_iter().map(|(_, edge)| edge));
            begins_mm += segment.length();
        }
        Ok(met)
    }

    /// What an end of a path lies in.
    fn end(&self, p: Point, is_blind: bool) -> Result<CutEnd, RefusedOffset> {
        if is_blind && self.kept.is_unbounded(p) {
            return Err(refused(p, RefusalReason::NoOutline));
        }
        Ok(match is_blind {
            true if self.kept.has_hole(p) => CutEnd::Hole,
            true => CutEnd::Blind,
            false if self.kept.is_air(p) => CutEnd::Air,
            false => CutEnd::Waste,
        })
    }

    /// Whether the kerf closes round something: a piece would drop of which nobody is told.
    fn kerf_meets_itself(&self, path: &Polyline) -> Result<bool, RefusedOffset> {
        let kerf = kerf_area(path, self.half_kerf_mm + PATH_MM);
        let kerf = kerf.ok_or_else(|| refused(path.vertices[0].at, RefusalReason::NoneFound))?;
        Ok(kerf.iter().any(|polygon| !polygon.interiors().is_empty()))
    }

    /// The worst deviation of a run from the drawn line, mm. It is refused where it strays, leaves out what meets the material, turns
    /// at an end, or does not come clear of the material there.
    fn judged(&self, drawn: &[Segment], run: &Run) -> Result<f64, RefusedOffset> {
        let fault = |at: Point, fault| Err(refused(at, RefusalReason::NoneVerified(fault)));
        let index = SegmentIndex::new(drawn.to_vec());
        let mut worst_mm = 0.0f64;
        for segment in &run.line {
            // Two segments that share both ends and the middle are the same.
            for p in [segment.from, segment.middle(), segment.to] {
                let Some((_, _, away_mm)) = index.nearest_within(p, PATH_MM) else {
                    return fault(p, PathFault::TooFar);
                };
                worst_mm = worst_mm.max(away_mm);
            }
        }
        let back = (
            reversed_run(drawn),
            reversed_run(&run.line),
            run.outs[0].map(Segment::reversed),
        );
        for (drawn, line, out) in [(drawn.to_vec(), run.line.clone(), run.outs[1]), back] {
            let end = last_of(&line);
            let Some(out) = out else {
                if !self.kept.keeps(end.to) {
                    return fault(end.to, PathFault::Missing);
                }
                continue;
            };
            if end.direction(1.0).cross(out.direction(0.0)).abs() * out.length() > PATH_MM {
                return fault(out.to, PathFault::TooFar);
            }
            let clear_mm = self.half_kerf_mm + self.run_out_mm - PATH_MM;
            if self.kept.keeps(out.to) || self.kept.distance_to_edge(out.to) < clear_mm {
                return fault(out.to, PathFault::Missing);
            }
            for stretch in beyond(&drawn, end.to) {
                let near = self.kept.nearest_edge(stretch, self.half_kerf_mm - PATH_MM);
                if stretch.length() > PATH_MM && (near.is_some() || self.kept.keeps(stretch.to)) {
                    return fault(stretch.to, PathFault::Missing);
                }
            }
        }
        Ok(worst_mm)
    }
}

/// What a slit is run along.
struct Run {
    /// The drawn line, less its overhangs.
    line: Vec<Segment>,
    /// The ways in and out, in the direction of the line.
    outs: [Option<Segment>; 2],
}

impl Run {
    /// All of it, straights that go on straight as one.
    fn joined(&self) -> Vec<Segment> {
        let [first, last] = self.outs;
        let mut joined = self.line.clone();
        match first {
            Some(first) if !joined[0].is_arc() => joined[0].from = first.from,
            Some(first) => joined.insert(0, first),
            None => {}
        }
        let end = joined.len() - 1;
        match last {
            Some(last) if !joined[end].is_arc() => joined[end].to = last.to,
            Some(last) => joined.push(last),
            None => {}
        }
        joined
    }
}

/// What of a line lies beyond a place on it.
fn beyond(line: &[Segment], place: Point) -> Vec<Segment> {
    let Some(last) = line.iter().rposition(|s| s.distance(place) <= PATH_MM) else {
        return Vec::new();
    };
    let rest = line[last].part(line[last].share(place), 1.0);
    std::iter::once(rest)
        .chain(line[last + 1..].iter().copied())
        .collect()
}

/// The area that a wire takes along an open run, as polygons.
pub(super) fn kerf_area(path: &Polyline, half_kerf_mm: f64) -> Option<MultiPolygon> {
    let mut points = joints(path);
    points.extend(path.vertices.last().map(|v| v.at));
    let line: LineString = points.into_iter().map(|p| Coord { x: p.x, y: p.y }).collect();
    let style = BufferStyle::new(half_kerf_mm)
        .line_join(LineJoin::Round(JOIN_RAD))
        .line_cap(LineCap::Round(JOIN_RAD));
    uninterrupted_or_panicked(|| line.buffer_with_style(style))
}

impl SlitPath {
    /// As drawn, or the other way where its last end is the better one to thread the wire at.
    fn begun_at_better_end(self) -> Self {
        if self.cut.ends[0] <= self.cut.ends[1] {
            self
        } else {
            self.turned()
        }
    }

    /// The same path the other way.
    pub(super) fn turned(self) -> Self {
        let [first, last] = self.cut.ends;
        let length_mm = self.path.length();
        Self {
            path: self.path.reversed(),
            entered_mm: length_mm - self.cut.left_mm,
            cut: OpenCut {
                ends: [last, first],
                left_mm: length_mm - self.entered_mm,
                ..self.cut
            },
            verified_mm: self.verified_mm,
        }
    }
}

/// What a path meets.
#[derive(Default)]
pub(super) struct MetMaterial {
    pub(super) length_mm: f64,
    /// Along the path to where it first comes into the material, mm.
    pub(super) entered_mm: f64,
    /// Along the path to where it leaves the material for the last time, mm.
    pub(super) left_mm: f64,
    /// Outlines to be cut in whose material it lies.
    pub(super) parts: BTreeSet<ContourId>,
    crossed: BTreeSet<ContourId>,
}

pub(super) fn last_of(line: &[Segment]) -> Segment {
    line[line.len() - 1]
}

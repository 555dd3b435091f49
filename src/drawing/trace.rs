//! One entity's line as it grows: exact lines and arcs, arcs in place of what is neither, and its length as drawn.

use std::f64::consts::PI;

use super::place::Plane;
use crate::cancel::{asked, checkpoint_each};
use crate::elementary::tan;
use crate::geometry::biarc::{ArcFit, TooManyArcs, fit};
use crate::geometry::{EllipticArc, Point, Polyline, Segment, Vector, Vertex};
use crate::tolerance::{ROUNDING, SAME_POINT_MM};

/// A line in the making.
#[derive(Clone, Default)]
pub(super) struct LineBuilder {
    vertices: Vec<Vertex>,
    length_mm: f64,
    deviation_mm: f64,
    heights: Heights,
}

/// A finished line.
pub(super) struct Traced {
    pub(super) polyline: Polyline,
    /// As drawn, mm.
    pub(super) length_mm: f64,
    /// Of the polyline from what is drawn, mm.
    pub(super) deviation_mm: f64,
}

/// The range of z that a line runs through, mm.
#[derive(Clone, Copy)]
struct Heights {
    low: f64,
    high: f64,
}

impl Default for Heights {
    fn default() -> Self {
        Self {
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
        }
    }
}

impl LineBuilder {
    /// Makes an empty line that will have about so many vertices.
    pub(super) fn with_room_for(vertices: usize) -> Self {
        Self {
            vertices: Vec::with_capacity(vertices),
            ..Self::default()
        }
    }

    /// Notes that the line passes this height.
    pub(super) fn height(&mut self, z: f64) {
        self.heights.low = self.heights.low.min(z);
        self.heights.high = self.heights.high.max(z);
    }

    /// Whether arcs stand in for what is neither line nor arc.
    pub(super) fn is_fitted(&self) -> bool {
        self.deviation_mm > 0.0
    }

    /// Moves all of it.
    pub(super) fn shift(&mut self, by: [f64; 3]) {
        for vertex in &mut self.vertices {
            vertex.at = vertex.at + Vector::new(by[0], by[1]);
        }
        self.heights.low += by[2];
        self.heights.high += by[2];
    }

    /// How much z varies along the line, mm.
    pub(super) fn rise(&self) -> f64 {
        (self.heights.high - self.heights.low).max(0.0)
    }

    /// Adds a line or arc in the world's plane; an arc longer than a half turn is divided.
    pub(super) fn segment(&mut self, segment: Segment) {
        self.segment_of_length(segment, segment.length());
    }

    /// The same, for a segment that stands in, to rounding, for a curve of `length_mm`.
    pub(super) fn segment_of_length(&mut self, segment: Segment, length_mm: f64) {
        checkpoint_each(self.vertices.len());
        self.length_mm += length_mm;
        if segment.bulge.abs() > 1.0 {
            let bulge = tan(segment.sweep() / 8.0);
            self.corner(segment.from, bulge);
            self.corner(segment.at(0.5), bulge);
        } else {
            self.corner(segment.from, segment.bulge);
        }
    }

    /// Adds a line or arc given in `plane`.
    pub(super) fn segment_in(
        &mut self,
        plane: &Plane,
        segment: Segment,
        fit_mm: Option<f64>,
    ) -> Result<(), TooManyArcs> {
        if plane.tilt.length() > 0.0 {
            for p in [
                segment.from,
                segment.to,
                segment.at(0.25),
                segment.at(0.5),
                segment.at(0.75),
            ] {
                self.height(plane.height_at(p));
            }
        } else {
            self.height(plane.height);
        }
        let ends = (plane.at(segment.from), plane.at(segment.to));
        match (segment.center(), plane.mirrored) {
            (None, _) => self.segment(Segment::line(ends.0, ends.1)),
            (_, Some(false)) => self.segment(Segment::arc(ends.0, ends.1, segment.bulge)),
            (_, Some(true)) => self.segment(Segment::arc(ends.0, ends.1, -segment.bulge)),
            (Some(center), None) => {
                let radius = segment.radius();
                let arc = EllipticArc {
                    center: plane.at(center),
                    u: plane.x * radius,
                    v: plane.y * radius,
                    start_rad: (segment.from - center).angle(),
                    sweep_rad: segment.sweep(),
                };
                let first = self.vertices.len();
                self.elliptic(&arc, fit_mm)?;
                // The corner is the better known place than what centre and angle lead to.
                if let Some(vertex) = self.vertices.get_mut(first) {
                    vertex.at = ends.0;
                }
            }
        }
        Ok(())
    }

    /// Adds an elliptic arc: exact when it is circular, else fitted, or its quarters' ends without `fit_mm`; nothing when it has no width.
    pub(super) fn elliptic(&mut self, arc: &EllipticArc, fit_mm: Option<f64>) -> Result<(), TooManyArcs> {
        use crate::geometry::biarc::ParametricCurve as _;
        let (major, minor) = arc.half_axes();
        if minor <= SAME_POINT_MM {
            // Seen edge on, or of no size: no line that could be cut.
            return Ok(());
        }
        if major - minor <= SAME_POINT_MM.max(ROUNDING * major) {
            let radius = 0.5 * (major + minor);
            let parts = (arc.sweep_rad.abs() / PI - ROUNDING).ceil().max(1.0);
            let step = arc.sweep_rad / parts;
            let bulge = tan(step.abs() / 4.0);
            let bulge = if arc.is_counter_clockwise() { bulge } else { -bulge };
            for i in 0..parts as usize {
                self.corner(arc.point(arc.start_rad + step * i as f64), bulge);
            }
            self.length_mm += radius * arc.sweep_rad.abs();
        } else if let Some(fit_mm) = fit_mm {
            self.fitted(fit(arc, arc.start_rad, arc.end_rad(), fit_mm)?, arc.length());
        } else {
            for quarter in [0.0, 0.25, 0.5, 0.75] {
                self.unfitted(arc.point(arc.start_rad + quarter * arc.sweep_rad));
            }
        }
        Ok(())
    }

    /// Adds fitted arcs that stand in for a curve of `length_mm`.
    pub(super) fn fitted(&mut self, fit: ArcFit, length_mm: f64) {
        let ends_before = fit.vertices.len().saturating_sub(1);
        self.vertices.extend(fit.vertices.into_iter().take(ends_before));
        self.deviation_mm = self.deviation_mm.max(fit.deviation_mm);
        self.length_mm += length_mm;
    }

    /// Adds a point of a curve that is only judged.
    pub(super) fn unfitted(&mut self, at: Point) {
        self.corner(at, 0.0);
    }

    /// Returns the middle of the heights that the line passes, mm.
    pub(super) fn level(&self) -> f64 {
        self.heights.low.midpoint(self.heights.high)
    }

    /// Returns the largest coordinate or length so far, mm; no number when one of them is none.
    pub(super) fn reach_mm(&self) -> f64 {
        let reach = |p: Point| p.x.abs().max(p.y.abs());
        self.vertices
            .iter()
            .map(|v| reach(v.at))
            .chain([self.length_mm])
            .fold(0.0, |a, b| if a > b || a.is_nan() { a } else { b })
    }

    /// Where the line starts.
    pub(super) fn start(&self) -> Point {
        self.vertices.first().map_or(Point::default(), |v| v.at)
    }

    /// Ends an open line at `end`. Pieces of no length are dropped; a line that comes back to its start is
    /// closed. `None` when no length is left.
    pub(super) fn end_at(mut self, end: Point) -> Option<Traced> {
        self.corner(end, 0.0);
        let start = self.start();
        self.drop_pieces_of_no_length(false);
        let closed = self.vertices.len() > 2 && start.distance(end) <= SAME_POINT_MM;
        if closed {
            self.vertices.pop();
        }
        self.finish(closed)
    }

    /// Ends a loop: the last piece leads back to the start.
    pub(super) fn close(mut self) -> Option<Traced> {
        self.drop_pieces_of_no_length(true);
        self.finish(true)
    }

    fn finish(mut self, closed: bool) -> Option<Traced> {
        self.vertices.shrink_to_fit();
        (self.length_mm > SAME_POINT_MM && self.vertices.len() > 1).then_some(Traced {
            polyline: Polyline {
                vertices: self.vertices,
                closed,
            },
            length_mm: self.length_mm,
            deviation_mm: self.deviation_mm,
        })
    }

    fn corner(&mut self, at: Point, bulge: f64) {
        self.vertices.push(Vertex { at, bulge });
    }

    /// Takes out vertices whose piece has no length, but never the end of an open line.
    fn drop_pieces_of_no_length(&mut self, closed: bool) {
        let n = self.vertices.len();
        let Some(&first) = self.vertices.first() else {
            return;
        };
        let mut kept = 0;
        for i in asked(0..n) {
            let this = self.vertices[i];
            let next = self.vertices.get(i + 1).copied().unwrap_or(first);
            let is_end = i + 1 == n && !closed;
            if is_end || Segment::arc(this.at, next.at, this.bulge).length() > SAME_POINT_MM {
                self.vertices[kept] = this;
                kept += 1;
            }
        }
        self.vertices.truncate(kept);
    }
}

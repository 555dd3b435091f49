use serde::Serialize;

use super::{Bounds, Point, Segment};
use crate::cancel::{checkpoint, checkpoint_each};

/// A corner of a polyline: a place, and the bulge of the segment that starts there. Written as `[x, y, bulge]`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline))]
#[serde(into = "[f64; 3]")]
pub struct Vertex {
    /// Where it is.
    pub at: Point,
    /// tan(sweep / 4) of the segment from here to the next vertex; 0 for a line.
    pub bulge: f64,
}

/// A run of line and arc segments, each starting where the one before ends. When closed, the last vertex's
/// segment leads back to the first; when open, the last vertex's bulge has no meaning. Written as the list of its corners.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline))]
#[serde(transparent)]
pub struct Polyline {
    /// The corners in order.
    pub vertices: Vec<Vertex>,
    /// Whether it is a loop.
    #[serde(skip)]
    pub closed: bool,
}

impl From<Vertex> for [f64; 3] {
    fn from(vertex: Vertex) -> Self {
        [vertex.at.x, vertex.at.y, vertex.bulge]
    }
}

impl Polyline {
    /// Makes a loop through `(x, y, bulge)` triples.
    pub fn closed(vertices: impl IntoIterator<Item = (f64, f64, f64)>) -> Self {
        Self {
            vertices: vertices.into_iter().map(vertex).collect(),
            closed: true,
        }
    }

    /// Makes an open run through `(x, y, bulge)` triples.
    pub fn open(vertices: impl IntoIterator<Item = (f64, f64, f64)>) -> Self {
        Self {
            vertices: vertices.into_iter().map(vertex).collect(),
            closed: false,
        }
    }

    /// Makes an open run of segments that follow one another; nothing of none.
    pub fn run(segments: &[Segment]) -> Self {
        let vertex = |at: Point, bulge: f64| Vertex { at, bulge };
        let mut vertices = Vec::with_capacity(segments.len() + 1);
        vertices.extend(segments.iter().map(|s| vertex(s.from, s.bulge)));
        vertices.extend(segments.last().map(|s| vertex(s.to, 0.0)));
        Self {
            vertices,
            closed: false,
        }
    }

    /// Makes a full circle, counter-clockwise, as two half circles starting on its right.
    pub fn circle(center: Point, radius: f64) -> Self {
        Self::closed([
            (center.x + radius, center.y, 1.0),
            (center.x - radius, center.y, 1.0),
        ])
    }

    /// Returns the segments in order.
    #[inline]
    pub fn segments(&self) -> impl DoubleEndedIterator<Item = Segment> + ExactSizeIterator + '_ {
        checkpoint();
        (0..self.segment_count()).map(|i| {
            checkpoint_each(i);
            self.segment(i)
        })
    }

    /// How many segments there are.
    #[inline]
    pub fn segment_count(&self) -> usize {
        if self.closed {
            self.vertices.len()
        } else {
            self.vertices.len().saturating_sub(1)
        }
    }

    /// Returns the `i`-th segment.
    #[inline]
    pub fn segment(&self, i: usize) -> Segment {
        let from = self.vertices[i];
        let next = if i + 1 < self.vertices.len() { i + 1 } else { 0 };
        let to = self.vertices[next];
        Segment::arc(from.at, to.at, from.bulge)
    }

    /// Computes the length along the run, mm.
    pub fn length(&self) -> f64 {
        self.segments().map(Segment::length).sum()
    }

    /// Computes the area enclosed by a loop, mm², positive when counter-clockwise. Shoelace relative to the first vertex
    /// (so that a part far from the origin loses no digits) plus the caps of the arcs; 0 for an open run.
    pub fn area(&self) -> f64 {
        if !self.closed || self.vertices.is_empty() {
            return 0.0;
        }
        let origin = self.vertices[0].at;
        self.segments()
            .map(|s| 0.5 * (s.from - origin).cross(s.to - origin) + s.cap_area())
            .sum()
    }

    /// Bounds, exact for arcs.
    pub fn bounds(&self) -> Bounds {
        let vertices = Bounds::of(self.vertices.iter().map(|v| v.at));
        self.segments().map(Segment::bounds).fold(vertices, Bounds::union)
    }

    /// Makes the same run walked the other way; a loop keeps its first vertex.
    #[must_use]
    pub fn reversed(&self) -> Self {
        checkpoint();
        let n = self.vertices.len();
        let vertices = (0..n)
            .map(|i| {
                let i = if self.closed { (n - i) % n } else { n - 1 - i };
                let before = if i > 0 {
                    self.vertices[i - 1].bulge
                } else if self.closed {
                    self.vertices[n - 1].bulge
                } else {
                    0.0
                };
                Vertex {
                    at: self.vertices[i].at,
                    bulge: -before,
                }
            })
            .collect();
        Self {
            vertices,
            closed: self.closed,
        }
    }

    /// Finds the segment nearest to `p`, the first of equals: its number, the point of it and the distance; `None` when there is none. Looks at
    /// all of them: an index is for more than a few questions.
    pub fn nearest(&self, p: Point) -> Option<(usize, Point, f64)> {
        let feet = self.segments().enumerate().map(|(i, segment)| {
            let foot = segment.nearest(p);
            (i, foot, p.distance(foot))
        });
        feet.min_by(|a, b| a.2.total_cmp(&b.2))
    }

    /// How often a loop goes round `p`, counter-clockwise positive; arcs are arcs. A point *on* the loop
    /// gives either neighbour's number: ask for the distance first where that matters.
    pub fn winding(&self, p: Point) -> i32 {
        self.segments().map(|s| s.winding(p)).sum()
    }
}

impl Segment {
    /// What it adds to [`Polyline::winding`] round `p`: 0 unless its bounds meet the ray from `p` to the
    /// right, so an index can leave out all others.
    pub fn winding(self, p: Point) -> i32 {
        half_open_crossing(self.from, self.to, p) + cap_crossing(self, p)
    }
}

fn vertex((x, y, bulge): (f64, f64, f64)) -> Vertex {
    Vertex {
        at: Point::new(x, y),
        bulge,
    }
}

/// Crossing of the ray from `p` to the right by the chord, +1 upward, −1 downward, half open in y so that a
/// vertex is counted once.
fn half_open_crossing(from: Point, to: Point, p: Point) -> i32 {
    let left_of_chord = (to - from).cross(p - from);
    if from.y <= p.y && to.y > p.y && left_of_chord > 0.0 {
        1
    } else if from.y > p.y && to.y <= p.y && left_of_chord < 0.0 {
        -1
    } else {
        0
    }
}

/// ±1 when `p` lies between the chord and the arc: the loop "arc forward, chord back" then goes round it.
fn cap_crossing(s: Segment, p: Point) -> i32 {
    let Some(center) = s.center() else { return 0 };
    let side = (s.to - s.from).cross(p - s.from);
    // A chord is no boundary, so a point on it must be given to the same side as `half_open_crossing` does:
    // to the right of an upward chord, above a level one.
    let up = s.from.y < s.to.y || (s.from.y == s.to.y && s.from.x > s.to.x);
    let right_of_chord = if up { side <= 0.0 } else { side < 0.0 };
    // A cap lies on the right of the chord for a counter-clockwise arc, on the left for a clockwise one.
    if p.distance(center) >= s.radius() || right_of_chord != (s.bulge > 0.0) {
        0
    } else if s.bulge > 0.0 {
        1
    } else {
        -1
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn circle_has_closed_form_measures() {
        let circle = Polyline::circle(Point::new(1e5, -1e5), 2.0);
        assert!((circle.length() - 4.0 * PI).abs() < 1e-9);
        assert!((circle.area() - 4.0 * PI).abs() < 1e-9);
        assert!((circle.reversed().area() + 4.0 * PI).abs() < 1e-9);
        assert!((circle.bounds().height() - 4.0).abs() < 1e-9);
    }

    #[test]
    fn a_point_on_a_chord_is_counted_once() {
        for start in 0..8 {
            let out = crate::geometry::Vector::unit(f64::from(start) * PI / 4.0);
            let circle = Polyline::closed([(out.x, out.y, 1.0), (-out.x, -out.y, 1.0)]);
            for t in [-0.5, 0.0, 0.3] {
                let p = Point::new(out.x * t, out.y * t);
                assert_eq!(circle.winding(p), 1);
                assert_eq!(circle.reversed().winding(p), -1);
            }
        }
    }

    #[test]
    fn reversing_twice_changes_nothing() {
        for closed in [true, false] {
            let mut run = Polyline::open([(0.0, 0.0, 0.0), (4.0, 0.0, 0.5), (4.0, 3.0, 0.0)]);
            run.closed = closed;
            assert_eq!(run.reversed().reversed(), run);
            assert!((run.reversed().length() - run.length()).abs() < 1e-12);
        }
    }

    #[test]
    fn winding_counts_caps_and_bays() {
        // A square whose right side bulges out and whose left side is a bay.
        let shape = Polyline::closed([
            (0.0, 0.0, 0.0),
            (4.0, 0.0, 0.5),
            (4.0, 4.0, 0.0),
            (0.0, 4.0, -0.5),
        ]);
        for (x, y, expected) in [
            (2.0, 2.0, 1),
            (4.5, 2.0, 1),
            (5.5, 2.0, 0),
            (0.5, 2.0, 0),
            (-0.5, 2.0, 0),
        ] {
            assert_eq!(shape.winding(Point::new(x, y)), expected, "at {x}, {y}");
            assert_eq!(
                shape.reversed().winding(Point::new(x, y)),
                -expected,
                "reversed at {x}, {y}"
            );
        }
    }
}

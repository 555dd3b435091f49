//! The reverse repair: runs of short chords that sample an arc or a smooth curve become arcs again.
//!
//! A *facet* is a straight segment of such a run. Facets turn a little at each joint, their lengths change
//! gradually, and none of the turns stands out; a turn that does is a real corner and ends the run. Through the
//! joints of a run goes a smooth curve (at each joint in the direction of the circle through it and its two
//! neighbours); how far its arcs rise above the facets is the *chord error*, which is what faceting has cost.

mod circle;
mod facets;
mod run;
#[cfg(test)]
mod tests;

use super::{Point, Polyline, Segment, Vector, Vertex};
use facets::runs;
use run::FacetedArc;

/// Fewest facets in a run: three make a chamfered corner as often as a rounded one.
pub const FEWEST_FACETS: usize = 4;

/// A run of facets.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct FacetedRun {
    /// Index of its first segment.
    pub first: usize,
    /// How many segments it has; in a loop they may run over the end of the list.
    pub count: usize,
    /// Largest rise of the smooth curve over a facet, mm.
    pub chord_error_mm: f64,
    /// Radius, mm, where all joints lie on one circle.
    pub radius_mm: Option<f64>,
    /// A joint half-way along.
    pub at: Point,
}

/// A polyline with its facets replaced.
#[derive(Clone, Debug, PartialEq)]
pub struct Refit {
    /// Arcs in place of facets; everything else is unchanged. A loop may start at another vertex.
    pub polyline: Polyline,
    /// For each segment of `polyline`, the segment of the original that it is, or the first of the run that it
    /// stands for.
    pub sources: Vec<usize>,
    /// Runs that were replaced.
    pub replaced: Vec<FacetedRun>,
    /// Runs that no arcs within the tolerance can stand for: their chord error is larger.
    pub left: Vec<FacetedRun>,
    /// The new line and the old one lie no farther apart than this, mm.
    pub deviation_mm: f64,
}

/// Computes the runs of facets in a polyline. Linear in its segments.
pub fn faceted_runs(line: &Polyline) -> Vec<FacetedRun> {
    runs(line).iter().map(FacetedArc::facts).collect()
}

/// Replaces runs of facets by arcs with a common tangent, within `tolerance_mm` of the polyline; a run on one circle
/// becomes an arc of it. Runs keep their ends, and their direction there where a neighbour goes on smoothly.
/// Linear in the segments.
pub fn refit(line: &Polyline, tolerance_mm: f64) -> Refit {
    let mut result = Refit {
        polyline: Polyline {
            vertices: Vec::new(),
            closed: line.closed,
        },
        sources: Vec::new(),
        replaced: Vec::new(),
        left: Vec::new(),
        deviation_mm: 0.0,
    };
    let found = runs(line);
    let n = line.segment_count();
    // A loop is walked from the start of its first run, so that no run is cut by the end of the list.
    let start = found.first().filter(|_| line.closed).map_or(0, |run| run.first);
    let mut done = 0;
    for run in &found {
        let from = (run.first + n - start) % n;
        for i in done..from {
            result.keep(line, (start + i) % n);
        }
        done = from + run.count;
        if let Some((vertices, deviation_mm)) = run.arcs(tolerance_mm) {
            result.sources.extend(vertices.iter().map(|_| run.first));
            result.polyline.vertices.extend(vertices);
            result.deviation_mm = result.deviation_mm.max(deviation_mm);
            result.replaced.push(run.facts());
        } else {
            for i in from..done {
                result.keep(line, (start + i) % n);
            }
            result.left.push(run.facts());
        }
    }
    for i in done..n {
        result.keep(line, (start + i) % n);
    }
    if !line.closed {
        result.polyline.vertices.extend(line.vertices.last().copied());
    }
    result
}

impl Refit {
    fn keep(&mut self, line: &Polyline, segment: usize) {
        self.polyline.vertices.push(line.vertices[segment]);
        self.sources.push(segment);
    }
}

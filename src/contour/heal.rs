//! Removes tiny segments from a chained line, and replaces chords of a curve by arcs where the job says so.

use super::draft::DraftContour;
use super::facts::{Crumbs, Facets, Facts};
use crate::cancel::checkpoint_each;
use crate::geometry::refit::refit;
use crate::geometry::{Bounds, Polyline, Segment, Vertex};
use crate::tolerance::SAME_POINT_MM;

/// Merges consecutive vertices that lie within the join tolerance of each other. The ends of an
/// open line stay where they are. Returns what went.
pub(super) fn heal(line: &mut DraftContour, join_mm: f64) -> Option<Crumbs> {
    let Polyline { vertices, closed } = &line.polyline;
    let reach = join_mm.max(SAME_POINT_MM);
    let short = |s: Segment| s.chord() <= reach;
    if !line.polyline.segments().any(short) {
        return None;
    }
    // Runs of vertices: start, end, bounds.
    let mut groups: Vec<(usize, usize, Bounds)> = Vec::new();
    for (i, vertex) in vertices.iter().enumerate() {
        checkpoint_each(i);
        match groups.last_mut() {
            Some((_, end, bounds)) if bounds.with_point(vertex.at).diagonal() <= reach => {
                *end = i + 1;
                *bounds = bounds.with_point(vertex.at);
            }
            _ => groups.push((i, i + 1, Bounds::of([vertex.at]))),
        }
    }
    let last = groups.len() - 1;
    if *closed && last > 0 && groups[0].2.union(groups[last].2).diagonal() <= reach {
        groups[0].2 = groups[0].2.union(groups[last].2);
        groups.pop();
    }
    let removed = vertices.len() - groups.len();
    if removed == 0 || groups.len() < 2 {
        return None;
    }
    let last = groups.len() - 1;
    let mut healed = Vec::with_capacity(groups.len());
    let mut sources = Vec::new();
    let mut first_crumb = None;
    for (k, &(start, end, bounds)) in groups.iter().enumerate() {
        checkpoint_each(k);
        let at = if !closed && k == 0 {
            vertices[0].at
        } else if !closed && k == last {
            vertices[vertices.len() - 1].at
        } else if bounds.diagonal() > 0.0 {
            bounds.center()
        } else {
            bounds.min
        };
        if end - start > 1 && first_crumb.is_none() {
            first_crumb = Some((at, start));
        }
        healed.push(Vertex {
            at,
            bulge: vertices[end - 1].bulge,
        });
        if let Some(&source) = line.sources.get(end - 1) {
            sources.push(source);
        }
    }
    let (at, segment) = first_crumb.unwrap_or((healed[0].at, vertices.len() - 1));
    let crumbs = Crumbs {
        at,
        count: removed,
        curve: line
            .sources
            .get(segment)
            .map_or(line.curves[0], |&curve| curve as usize),
    };
    line.polyline.vertices = healed;
    line.sources = sources;
    Some(crumbs)
}

/// Replaces chords that stand for a curve by arcs. The number of the contour is filled in later.
pub(super) fn fit_arcs(line: &mut DraftContour, tolerance_mm: f64, facts: &mut Facts) {
    let fitted = refit(&line.polyline, tolerance_mm);
    if fitted.replaced.is_empty() {
        return;
    }
    facts.facets.extend(fitted.replaced.iter().map(|&run| Facets {
        contour: None,
        curve: line.curve_of(run.first),
        run,
        deviation_mm: Some(fitted.deviation_mm),
    }));
    if !line.sources.is_empty() {
        line.sources = fitted.sources.iter().map(|&i| line.sources[i]).collect();
    }
    line.polyline = fitted.polyline;
}

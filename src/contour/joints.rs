//! What single segments and joints of a contour tell: kinks that were meant to be smooth, very short segments,
//! and runs of chords that stand for a curve.

use rayon::prelude::*;

use super::facts::{Facets, Facts, Kink, ShortSegments};
use super::measure::turn_at;
use super::{Contour, Role};
use crate::drawing::Drawing;
use crate::geometry::refit::faceted_runs;
use crate::job::Purpose;
use crate::tolerance::{NEARLY_SMOOTH_RAD, SHORT_SEGMENT_MM, SMOOTH_JOINT_RAD};

/// How many contours one core looks at, at a time.
const CHUNK: usize = 1024;

/// Looks at every contour to be cut.
pub(super) fn note(drawing: &Drawing, list: &[Contour], facts: &mut Facts) {
    let found = list.par_chunks(CHUNK).map(|chunk| {
        let mut facts = Facts::default();
        note_chunk(drawing, chunk, &mut facts);
        facts
    });
    for part in found.collect::<Vec<Facts>>() {
        facts.append(part);
    }
}

fn note_chunk(drawing: &Drawing, list: &[Contour], facts: &mut Facts) {
    for contour in list.iter().filter(|contour| contour.purpose == Purpose::Cut) {
        note_short(drawing, contour, facts);
        let count = contour.polyline.segment_count();
        let mut within_facets = vec![false; count];
        for run in faceted_runs(&contour.polyline) {
            for i in 0..=run.count {
                within_facets[(run.first + i) % count] = true;
            }
            facts.facets.push(Facets {
                contour: Some(contour.id),
                curve: contour.curve_of(run.first),
                run,
                deviation_mm: None,
            });
        }
        let first = usize::from(contour.role == Role::Open);
        for i in (first..count).filter(|&i| !within_facets[i]) {
            let angle_rad = turn_at(&contour.polyline, i).abs();
            if angle_rad > SMOOTH_JOINT_RAD && angle_rad < NEARLY_SMOOTH_RAD {
                facts.kinks.push(Kink {
                    at: contour.polyline.vertices[i].at,
                    angle_rad,
                    contour: contour.id,
                    curve: contour.curve_of(i),
                });
            }
        }
    }
}

/// Counts the segments that are crumbs, but for the arcs that stand in for splines and ellipses.
fn note_short(drawing: &Drawing, contour: &Contour, facts: &mut Facts) {
    let mut short: Option<ShortSegments> = None;
    for (i, segment) in contour.polyline.segments().enumerate() {
        let length_mm = segment.length();
        let curve = contour.curve_of(i);
        if length_mm >= SHORT_SEGMENT_MM || drawing.curves[curve].fit_deviation_mm > 0.0 {
            continue;
        }
        let short = short.get_or_insert(ShortSegments {
            contour: contour.id,
            count: 0,
            shortest_mm: f64::INFINITY,
            at: segment.from,
            curve,
        });
        short.count += 1;
        if length_mm < short.shortest_mm {
            (short.shortest_mm, short.at, short.curve) = (length_mm, segment.from, curve);
        }
    }
    facts.short_segments.extend(short);
}

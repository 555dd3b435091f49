//! Measures local widths: the narrowest slot that the wire has to enter, and the thinnest wall that it leaves.
//!
//! Different contours are measured by their distance: `regions` finds it for all pairs, and which side it lies on, exactly. Two
//! places of one contour face each other by the balls between them, which `walk` looks for. What both are is said at
//! [`Width`].
//!
//! From a point of a wall the largest ball is sought that touches the wall there and holds no other wall (the balls
//! of the medial axis; J. Ma, S. Bae, S. Choi, "3D medial axis point approximation using nearest neighbors and the
//! normal field", The Visual Computer 28 (2012) 7–19, find them by shrinking). Where it touches on opposite sides,
//! within 30° of straight across, the two walls face each other. The width is the exact nearest distance of the two
//! walls if nothing stands between them there, else that of the points that the smallest ball touches. Two walls that meet in a corner are no
//! slot, however sharp the corner.
//!
//! The walls in view are looked for from both ends of every segment, from an arc at least every 20° of turning, and
//! from the places between where the view changes from one wall to another: there, where a ball touches three walls,
//! is the narrowest place between walls that draw near to each other. Two overlapping balls clear the wall between
//! them, which spares most of these places. Segments that are short against the width are looked from no denser than
//! needed; from the narrowest place found the search then goes on to the neighbouring segments of both walls as long
//! as the width falls. On both sides of 3000 random polygons no width was more than 0.2 % above that found by trying
//! all pairs. What is missed or coarse: walls that stand at more than 30° to each other count as a corner, not as a
//! slot; among segments shorter than a twentieth of the width a place that does not continue along them may be
//! passed over.
//!
//! A ball never needs to be larger than the narrowest width found so far on this side of the contour, so the
//! search stays local and the cost near-linear. Where walls far apart all face one another alike it does not: then wide places are
//! looked for only until enough walls were tried ([`WALLS_PER_SEGMENT`]).

mod regions;
mod walk;
mod walls;

use std::ops::ControlFlow;

use rayon::prelude::*;

use self::regions::{WallRegions, around};
use self::walk::{WidthPlace, WidthWalk};
use self::walls::Walls;
use super::facts::{Facts, Width};
use super::{Contour, Role};
use crate::cancel::{asking, checkpoint};
use crate::geometry::{BoxIndex, NearestStack};
use crate::job::Purpose;

/// How many walls the balls of one side of a contour may be tried against, for each of its segments and of all sides together, before
/// nothing wider than 10 mm is looked for between its own walls any more: a ball that fills a ring of teeth touches them all.
const WALLS_PER_SEGMENT: usize = 50;
const WALLS_AT_LEAST: usize = 10_000_000;

/// Fills in the narrowest slot and the thinnest wall of every closed contour to be cut, and lists all narrow
/// places. Walls of what exists already count as walls.
pub(super) fn measure(list: &mut [Contour], facts: &mut Facts) {
    let walls = Walls::new(list);
    let regions = WallRegions::new(list, &walls);
    let edges = (0..list.len()).filter(|&i| list[i].bounds_material());
    let sides: Vec<(usize, bool)> = edges.flat_map(|i| [(i, false), (i, true)]).collect();
    let share = WALLS_AT_LEAST / sides.len().max(1);
    let contours: &[Contour] = list;
    let found: Vec<(Option<Width>, Vec<WidthPlace>)> = sides
        .par_iter()
        .map_init(NearestStack::default, |stack, &(i, inside)| {
            let neighbors = regions.neighbors(contours, &walls, (i, inside), stack);
            let affordable = WALLS_PER_SEGMENT * contours[i].polyline.segment_count() + share;
            let mut walk = WidthWalk::new(&walls, &contours[i], inside, neighbors, affordable, stack);
            if contours[i].purpose == Purpose::Cut {
                walk.go_round();
            }
            walk.found()
        })
        .collect();
    let (mut slots, mut thin) = (Vec::new(), Vec::new());
    for ((i, inside), (narrowest, places)) in sides.into_iter().zip(found) {
        checkpoint();
        let region = around(list, i, inside);
        for place in places {
            let cut = place.narrowest.contours.0.index();
            let material = (region == Some(cut)) == (list[cut].role == Role::Outside);
            if material { &mut thin } else { &mut slots }.push(place);
        }
        let material = inside == (list[i].role == Role::Outside);
        let kept = if material {
            &mut list[i].thinnest_wall
        } else {
            &mut list[i].narrowest_slot
        };
        *kept = narrowest.map(Box::new);
    }
    facts.narrow_slots = once_each(slots);
    facts.thin_walls = once_each(thin);
}

/// Keeps the narrower of the two views of each narrow place, which is seen from both of its walls.
fn once_each(mut places: Vec<WidthPlace>) -> Vec<Width> {
    places.sort_by(asking(|a: &WidthPlace, b: &WidthPlace| {
        a.narrowest.width_mm.total_cmp(&b.narrowest.width_mm)
    }));
    checkpoint();
    let index = BoxIndex::new(places.iter().map(|place| place.bounds));
    let mut stack = Vec::new();
    let kept = (0..places.len()).filter(|&i| {
        let mut seen = false;
        let area = places[i].bounds.grown(places[i].narrowest.width_mm);
        index.overlapping(area, &mut stack, |j| {
            let (a, b) = (places[i].narrowest.contours, places[j].narrowest.contours);
            if j < i && (a == b || a == (b.1, b.0)) {
                seen = true;
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        });
        !seen
    });
    kept.map(|i| places[i].narrowest).collect()
}

#[cfg(test)]
mod tests;

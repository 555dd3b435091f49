//! Finds the nearest places of different contours that bound one piece of the plane: of a part the material between its outline
//! and its openings, of a sheet of parts what lies between them.
//!
//! Within such a region the two nearest points of a contour and of any other see each other across it, since a contour
//! between them would be nearer: the distance of all pairs is the width, and no side needs to be looked for.

use std::collections::BTreeMap;

use super::super::Contour;
use super::walls::{Facing, NarrowRun, Walls};
use crate::geometry::{Bounds, BoxIndex, NearestStack, NodeLabels, STOP_SEARCH};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{NEAR_BALL, SAME_POINT_MM, WIDTH_LISTED_MM};

/// The label of all edges that are not cut: a wall between two of them is none that this job makes.
const NOT_CUT: usize = usize::MAX;

/// The edges that bound one connected piece of the plane, where one of them is cut and there are others.
struct Region {
    /// Walls of these edges.
    walls: Vec<usize>,
    index: BoxIndex,
    labels: NodeLabels,
}

/// All such pieces, by the contour around them.
pub(super) struct WallRegions(BTreeMap<Option<usize>, Region>);

/// What a contour comes near to on one side.
#[derive(Default)]
pub(super) struct Neighbors {
    /// The nearest place, were it ever so far.
    pub narrowest: Option<Facing>,
    /// All narrow places.
    pub places: Vec<NarrowRun>,
}

impl WallRegions {
    pub(super) fn new(list: &[Contour], walls: &Walls) -> Self {
        let mut members: BTreeMap<Option<usize>, Vec<usize>> = BTreeMap::new();
        for i in (0..list.len()).filter(|&i| list[i].bounds_material()) {
            for inside in [true, false] {
                members.entry(around(list, i, inside)).or_default().push(i);
            }
        }
        members.retain(|_, edges| edges.len() > 1 && edges.iter().any(|&i| label(list, i) != NOT_CUT));
        let region = |edges: Vec<usize>| {
            let runs = edges.iter().map(|&i| walls.runs[i]);
            let walls_of: Vec<usize> = runs.flat_map(|(start, count)| start..start + count).collect();
            let index = BoxIndex::new(walls_of.iter().map(|&wall| walls.segments[wall].bounds()));
            let labels = index.node_labels(|item| label(list, walls.owners[walls_of[item]].contour.index()));
            Region {
                walls: walls_of,
                index,
                labels,
            }
        };
        Self(
            members
                .into_iter()
                .map(|(key, edges)| (key, region(edges)))
                .collect(),
        )
    }

    /// Finds what contour `i` comes near to inside or outside of it; of one that is not cut only the narrow places before those that are.
    pub(super) fn neighbors(
        &self,
        list: &[Contour],
        walls: &Walls,
        (i, inside): (usize, bool),
        stack: &mut NearestStack,
    ) -> Neighbors {
        let mut found = Neighbors::default();
        let Some(region) = self.0.get(&around(list, i, inside)) else {
            return found;
        };
        let own_label = label(list, i);
        let mut last: Option<Facing> = None;
        let (start, count) = walls.runs[i];
        for own in start..start + count {
            let reach = match found.narrowest {
                _ if own_label == NOT_CUT => WIDTH_LISTED_MM,
                Some(narrowest) => narrowest.width_mm.max(WIDTH_LISTED_MM),
                None => f64::INFINITY,
            };
            let facing = region.nearest(walls, own, own_label, reach, stack);
            let before = last.take();
            let Some(facing) = facing else { continue };
            if found
                .narrowest
                .is_none_or(|narrowest| facing.width_mm < narrowest.width_mm)
            {
                found.narrowest = Some(facing);
            }
            if facing.width_mm <= WIDTH_LISTED_MM {
                found.list(walls, before, facing);
                last = Some(facing);
            }
        }
        if own_label == NOT_CUT {
            found.narrowest = None;
            for run in &mut found.places {
                let seen = run.narrowest;
                run.narrowest = Facing {
                    own: seen.opposite,
                    opposite: seen.own,
                    from: seen.to,
                    to: seen.from,
                    ..seen
                };
            }
        }
        found
    }
}

impl Region {
    /// Finds the wall of another contour nearest to wall `own`, if nearer than `reach`; `None` where the two touch, or where a neighbour of
    /// `own` is nearer to the place.
    fn nearest(
        &self,
        walls: &Walls,
        own: usize,
        own_label: usize,
        reach: f64,
        stack: &mut NearestStack,
    ) -> Option<Facing> {
        let s = walls.segments[own];
        let (mut best, mut found) = (reach, None);
        self.index
            .closest_of_others((&self.labels, own_label), s.bounds(), reach, stack, |item| {
                let opposite = self.walls[item];
                let (width_mm, from, to) = s.closest(walls.segments[opposite]);
                if width_mm < best {
                    best = width_mm;
                    found = Some(Facing {
                        own,
                        opposite,
                        width_mm,
                        from,
                        to,
                    });
                }
                // What touches has no width, however many do.
                if best > SAME_POINT_MM { best } else { STOP_SEARCH }
            });
        let clear = 0.5 * best * (1.0 - NEAR_BALL);
        found.filter(|facing| best > SAME_POINT_MM && walls.clear(facing.from, facing.to, clear, stack))
    }
}

impl Neighbors {
    /// Adds a narrow place to the run that it continues from the wall `before`, or begins a new one.
    fn list(&mut self, walls: &Walls, before: Option<Facing>, facing: Facing) {
        let (s, o) = (walls.segments[facing.own], walls.segments[facing.opposite]);
        let near = |&p: &crate::geometry::Point| o.distance(p) <= WIDTH_LISTED_MM;
        let ends = [s.from, s.to]
            .into_iter()
            .filter(near)
            .map(|p| p.midpoint(o.nearest(p)));
        let bounds = Bounds::of(ends).with_point(facing.from.midpoint(facing.to));
        let contour = |wall: usize| walls.owners[wall].contour;
        let goes_on = before.is_some_and(|before| contour(before.opposite) == contour(facing.opposite))
            && near(&s.from);
        match self.places.last_mut() {
            Some(run) if goes_on => {
                run.bounds = run.bounds.union(bounds);
                if facing.width_mm < run.narrowest.width_mm {
                    run.narrowest = facing;
                }
            }
            _ => self.places.push(NarrowRun {
                narrowest: facing,
                bounds,
            }),
        }
    }
}

/// Returns the contour round the region inside or outside of contour `i`; `None` for all that is round the outermost.
pub(super) fn around(list: &[Contour], i: usize, inside: bool) -> Option<usize> {
    if inside {
        Some(i)
    } else {
        list[i].parent.map(ContourId::index)
    }
}

fn label(list: &[Contour], i: usize) -> usize {
    if list[i].purpose == Purpose::Cut {
        i
    } else {
        NOT_CUT
    }
}

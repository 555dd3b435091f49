//! Finds what an open line cuts off the material at one edge: the pieces on its two sides. And what open line a closed one means that
//! is drawn across an edge.

use super::measure::inside_corners;
use super::{Contour, Contours, KeptMaterial, Role};
use crate::geometry::{Point, Polyline, Segment, SegmentIndex, loop_of, part_between, reversed_run};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::JOIN_MM;

/// An open line that runs through the material from an edge to the same edge.
pub(crate) struct EdgeCut {
    /// The edge.
    pub edge: ContourId,
    /// The line, between its two crossings.
    pub inside: Vec<Segment>,
    /// What lies between the line and the edge as that runs on from the line's last end.
    on: CutPiece,
    /// What lies on the other side.
    back: CutPiece,
}

/// What lies between a line and one way along the edge.
pub(crate) struct CutPiece {
    /// Its outline.
    pub outline: Polyline,
    /// The edge's part of that.
    pub edge_run: Vec<Segment>,
}

/// Why a line cuts nothing off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum NoEdgeCut {
    /// It runs along an edge.
    RunsAlong(ContourId),
    /// It runs through no material.
    MeetsNothing,
    /// It runs from one edge to another.
    FromEdgeToEdge,
    /// It crosses edges more than twice.
    CrossesAgain,
}

/// Why a place cannot be what stays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum CannotStay {
    /// It lies on neither side, or where no material is.
    Elsewhere,
    /// It lies in the small piece in the wall of an opening: all the rest would be waste.
    WasteHasNoEnd,
}

impl EdgeCut {
    /// Finds it for a line that runs out of the material at both ends, or ends on its edge.
    pub(crate) fn of(kept: &KeptMaterial<'_>, line: &[Segment]) -> Result<Self, NoEdgeCut> {
        let crossings = edge_crossings(kept, line)?;
        let [first, last] = crossings.as_slice() else {
            return Err(if crossings.len() < 2 {
                NoEdgeCut::MeetsNothing
            } else {
                NoEdgeCut::CrossesAgain
            });
        };
        if first.edge != last.edge {
            return Err(NoEdgeCut::FromEdgeToEdge);
        }
        let inside = part_between(line, [first.place, last.place]);
        if !is_kept_inside(kept, &inside) {
            return Err(NoEdgeCut::MeetsNothing);
        }
        let (from, to) = (inside[0].from, inside[inside.len() - 1].to);
        let around = &kept.contours[first.edge].polyline;
        let on = around.stretch(to, from);
        let back = reversed_run(&around.stretch(from, to));
        let [on, back] = [on, back].map(|edge_run| {
            let all: Vec<Segment> = inside.iter().chain(&edge_run).copied().collect();
            CutPiece {
                outline: loop_of(&all),
                edge_run,
            }
        });
        Ok(Self {
            edge: first.edge,
            inside,
            on,
            back,
        })
    }

    /// Returns the piece between the line and the edge as that runs on from the line's last end; or the other one.
    pub(crate) fn piece(&self, goes_on: bool) -> &CutPiece {
        if goes_on { &self.on } else { &self.back }
    }

    /// Whether the smaller of the two is where the edge runs on. Beside an opening the larger one holds the opening too, and is the rest of
    /// the material.
    pub(crate) fn smaller_goes_on(&self) -> bool {
        self.on.outline.area().abs() < self.back.outline.area().abs()
    }

    /// Whether the waste is where the edge runs on, when a place stays.
    pub(crate) fn waste_beside(&self, kept: &KeptMaterial<'_>, stays: Point) -> Result<bool, CannotStay> {
        if !kept.keeps(stays) {
            return Err(CannotStay::Elsewhere);
        }
        let [in_on, in_back] = [&self.on, &self.back].map(|piece| piece.outline.winding(stays) != 0);
        if kept.contours[self.edge].role == Role::Opening {
            let small = self.smaller_goes_on();
            let in_small = if small { in_on } else { in_back };
            return if in_small {
                Err(CannotStay::WasteHasNoEnd)
            } else {
                Ok(small)
            };
        }
        match (in_on, in_back) {
            (true, false) => Ok(false),
            (false, true) => Ok(true),
            _ => Err(CannotStay::Elsewhere),
        }
    }
}

/// Where a line crosses an edge.
struct EdgeCrossing {
    /// The number of its segment and the share of that.
    place: (usize, f64),
    at: Point,
    edge: ContourId,
}

/// Lists where a line crosses edges, along it.
fn edge_crossings(kept: &KeptMaterial<'_>, line: &[Segment]) -> Result<Vec<EdgeCrossing>, NoEdgeCut> {
    let mut found: Vec<EdgeCrossing> = Vec::new();
    for (i, &segment) in line.iter().enumerate() {
        for (share, edge) in kept.meetings(segment).map_err(NoEdgeCut::RunsAlong)? {
            let at = segment.at(share);
            // An edge that is met at a joint is met by both of its segments.
            if found.last().is_none_or(|known| known.at.distance(at) > JOIN_MM) {
                found.push(EdgeCrossing {
                    place: (i, share),
                    at,
                    edge,
                });
            }
        }
    }
    Ok(found)
}

/// Whether a run that crosses no edge lies in the material.
fn is_kept_inside(kept: &KeptMaterial<'_>, run: &[Segment]) -> bool {
    let middle = run.get(run.len() / 2).map(|segment| segment.at(0.5));
    middle.is_some_and(|p| kept.keeps(p))
}

/// Returns the run of a loop through the material, where it crosses one edge twice; `None` of any other.
pub(crate) fn run_through_material(kept: &KeptMaterial<'_>, outline: &Polyline) -> Option<Vec<Segment>> {
    let segments: Vec<Segment> = outline.segments().collect();
    let mut crossings = edge_crossings(kept, &segments).ok()?;
    // The first joint is that of the last segment too.
    let ends = crossings.first().zip(crossings.last());
    if crossings.len() > 2 && ends.is_some_and(|(a, b)| a.at.distance(b.at) <= JOIN_MM) {
        crossings.pop();
    }
    let [a, b] = crossings.as_slice() else { return None };
    if a.edge != b.edge {
        return None;
    }
    let runs = [outline.stretch(a.at, b.at), outline.stretch(b.at, a.at)];
    let kept_runs = runs.iter().filter(|run| is_kept_inside(kept, run)).count();
    let run = runs.into_iter().find(|run| is_kept_inside(kept, run));
    run.filter(|_| kept_runs == 1)
}

impl Contours {
    /// Makes closed trims the open lines that they mean: their run through the material, where they cross one edge twice.
    pub(crate) fn open_closed_trims(&mut self) {
        let is_closed_trim = |c: &&Contour| c.purpose == Purpose::Trim && c.polyline.closed;
        if !self.list.iter().any(|c| is_closed_trim(&c)) {
            return;
        }
        let kept = KeptMaterial::new(self);
        let closed = self.list.iter().filter(is_closed_trim);
        let opened = closed.filter_map(|c| Some((c.id, run_through_material(&kept, &c.polyline)?)));
        let opened: Vec<(ContourId, Vec<Segment>)> = opened.collect();
        for (id, run) in opened {
            self.list[id.index()].become_line(Polyline::run(&run), Role::Open);
            let mut crossings = std::mem::take(&mut self.facts.edge_crossings);
            crossings.retain(|contact| contact.contours.0 != id && contact.contours.1 != id);
            self.facts.edge_crossings = crossings;
        }
    }
}

impl Contour {
    /// Returns what the wire cuts round in the place of an open line: an opening of that outline.
    pub(crate) fn as_opening(&self, polyline: Polyline) -> Self {
        Self {
            role: Role::Opening,
            perimeter_mm: polyline.length(),
            area_mm2: polyline.area().abs(),
            bounds: polyline.bounds(),
            polyline,
            sources: Vec::new(),
            ..self.clone()
        }
    }

    /// Becomes a line of another shape and role that lies along its own: each segment comes from the curve next to it.
    pub(super) fn become_line(&mut self, polyline: Polyline, role: Role) {
        if !self.sources.is_empty() {
            let index = SegmentIndex::of([&self.polyline]);
            let reach_mm = self.bounds.union(polyline.bounds()).diagonal();
            let of = |segment: Segment| {
                let nearest = index.nearest(segment.at(0.5), reach_mm);
                nearest.map_or(self.sources[0], |(i, ..)| self.sources[i])
            };
            self.sources = polyline.segments().map(of).collect();
        }
        self.role = role;
        self.perimeter_mm = polyline.length();
        self.area_mm2 = if polyline.closed {
            polyline.area().abs()
        } else {
            0.0
        };
        self.bounds = polyline.bounds();
        self.polyline = polyline;
        inside_corners(self);
    }
}

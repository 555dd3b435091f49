//! The material that is kept, as the sides of all edges have it: what an open cut is judged by.

use std::collections::BTreeSet;

use super::{Contour, Contours, Regions, Role, SideFrom};
use crate::geometry::{Meeting, Point, Polyline, Segment, SegmentIndex, meet};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{JOIN_MM, SAME_POINT_MM};

/// The material inside outlines and outside openings. The blank counts only where no outline lies in the drawing.
pub(crate) struct KeptMaterial<'a> {
    pub(crate) contours: &'a Contours,
    regions: Regions<'a>,
    edges: SegmentIndex,
    /// The contour of each segment of `edges`.
    owner: Vec<ContourId>,
    blank: Option<&'a Contour>,
    /// An outline is drawn: what lies outside of all edges is not kept.
    has_outline: bool,
    /// The edges that something lies in.
    parents: BTreeSet<ContourId>,
    holes: Vec<(Point, f64)>,
}

impl<'a> KeptMaterial<'a> {
    pub(crate) fn new(contours: &'a Contours) -> Self {
        Self::without(contours, &BTreeSet::new())
    }

    /// As if some of the edges, in which no other lies, were not there.
    pub(crate) fn without(contours: &'a Contours, left_out: &BTreeSet<ContourId>) -> Self {
        let list = || contours.list.iter();
        let edges = || {
            let edges = list().filter(|c| c.bounds_material());
            edges.filter(|c| !left_out.contains(&c.id))
        };
        let has_outline = edges().any(|c| c.role == Role::Outside);
        let blank = list().filter(|c| c.purpose == Purpose::Blank && c.polyline.closed && !has_outline);
        let blank = blank.max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
        let bounding = || edges().chain(blank);
        Self {
            contours,
            regions: Regions::of_edges(edges().collect()),
            edges: SegmentIndex::of(bounding().map(|c| &c.polyline)),
            owner: bounding()
                .flat_map(|c| std::iter::repeat_n(c.id, c.polyline.segment_count()))
                .collect(),
            blank,
            has_outline,
            parents: edges().filter_map(|c| c.parent).collect(),
            holes: holes(contours),
        }
    }

    /// An edge of which it is open which side stays.
    pub(crate) fn unsettled(&self) -> Option<ContourId> {
        let mut edges = self.contours.list.iter().filter(|c| c.bounds_material());
        edges.find(|c| c.side_from == SideFrom::Unclear).map(|c| c.id)
    }

    /// Whether the material at a place is kept.
    pub(crate) fn keeps(&self, p: Point) -> bool {
        match (self.regions.of(p), self.blank) {
            (Some(edge), _) => self.contours[edge].role == Role::Outside,
            (None, _) if self.has_outline => false,
            (None, Some(blank)) => blank.polyline.winding(p) != 0,
            (None, None) => true,
        }
    }

    /// Whether material is kept at a place of which nothing tells where it ends.
    pub(crate) fn is_unbounded(&self, p: Point) -> bool {
        self.regions.of(p).is_none() && !self.has_outline && self.blank.is_none()
    }

    /// The innermost outline that keeps the material at a place.
    pub(crate) fn outline_at(&self, p: Point) -> Option<ContourId> {
        self.regions
            .of(p)
            .filter(|&id| self.contours[id].role == Role::Outside)
    }

    /// Whether a place is air when open cuts are made: in an opening that is there or is cut before, with nothing in it, or beside an
    /// outline that is there already.
    pub(crate) fn is_air(&self, p: Point) -> bool {
        let outermost = |c: &&Contour| c.bounds_material() && c.parent.is_none();
        match self.regions.of(p).map(|id| &self.contours[id]) {
            Some(edge) if edge.role == Role::Outside => false,
            Some(edge) => match edge.purpose {
                Purpose::Existing => true,
                Purpose::Cut => !self.parents.contains(&edge.id),
                _ => false,
            },
            None => {
                let mut around = self.contours.list.iter().filter(outermost);
                !self.keeps(p) && around.all(|c| c.purpose == Purpose::Existing || c.role == Role::Opening)
            }
        }
    }

    /// Distance from a place to the nearest edge, mm.
    pub(crate) fn distance_to_edge(&self, p: Point) -> f64 {
        const REACH_MM: f64 = 1.0;
        self.edges
            .nearest(p, REACH_MM)
            .map_or(f64::INFINITY, |(_, _, mm)| mm)
    }

    /// Distance from a place to what is kept, mm.
    pub(crate) fn distance(&self, p: Point) -> f64 {
        if self.keeps(p) {
            0.0
        } else {
            self.distance_to_edge(p)
        }
    }

    /// The least distance of a segment from all edges where that is below `reach_mm`, and the edge.
    pub(crate) fn nearest_edge(&self, segment: Segment, reach_mm: f64) -> Option<(f64, ContourId)> {
        let near = self.edges.around(segment.bounds(), reach_mm).into_iter();
        let apart = near.map(|i| (segment.clearance(self.edges.segments()[i]), self.owner[i]));
        apart
            .filter(|(mm, _)| *mm < reach_mm)
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Where a segment meets edges, by its share; or the edge that it runs along.
    pub(crate) fn meetings(&self, segment: Segment) -> Result<Vec<(f64, ContourId)>, ContourId> {
        let mut found = Vec::new();
        for i in self.edges.near(segment.bounds().grown(SAME_POINT_MM)) {
            match meet(segment, self.edges.segments()[i], SAME_POINT_MM) {
                Meeting::Points(points) => {
                    found.extend(points.into_iter().map(|p| (segment.share(p), self.owner[i])));
                }
                Meeting::Along(..) => return Err(self.owner[i]),
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        Ok(found)
    }

    /// Which parts of a segment lie in the material, by their shares, when it meets edges at `meetings`.
    pub(crate) fn parts_within(&self, segment: Segment, meetings: &[(f64, ContourId)]) -> Vec<[f64; 2]> {
        let inner = meetings.iter().map(|(share, _)| *share);
        let shares: Vec<f64> = [0.0].into_iter().chain(inner).chain([1.0]).collect();
        let parts = shares.windows(2).map(|pair| [pair[0], pair[1]]);
        let within = |[from, to]: &[f64; 2]| {
            let length_mm = (to - from) * segment.length();
            length_mm > SAME_POINT_MM && self.keeps(segment.at(0.5 * (from + to)))
        };
        parts.filter(within).collect()
    }

    /// Whether a place lies on a wall: in the material, or at its edge.
    pub(crate) fn is_at_wall(&self, p: Point) -> bool {
        self.keeps(p) || self.distance_to_edge(p) <= JOIN_MM
    }

    /// Whether a drawn hole for the wire lies at a place.
    pub(crate) fn has_hole(&self, p: Point) -> bool {
        self.holes
            .iter()
            .any(|(middle, radius_mm)| middle.distance(p) <= *radius_mm)
    }

    /// The edges that lie within a loop.
    pub(crate) fn edges_within(&self, outline: &Polyline) -> Vec<ContourId> {
        let bounds = outline.bounds();
        let edges = self.contours.list.iter().filter(|c| c.bounds_material());
        let within = edges.filter(|c| bounds.contains_bounds(c.bounds));
        let within = within.filter(|c| c.polyline.vertices.iter().all(|v| outline.winding(v.at) != 0));
        within.map(|c| c.id).collect()
    }

    /// Area of a loop in the material less that of the edges within it, mm².
    pub(crate) fn area_within(&self, outline: &Polyline) -> f64 {
        let within = self.edges_within(outline).into_iter();
        let within: f64 = within.map(|id| self.contours[id].area_mm2).sum();
        outline.area().abs() - within
    }

    /// The loops that bound it, each outline with the openings in it.
    pub(crate) fn bodies(&self) -> Vec<(&'a Polyline, Vec<&'a Polyline>)> {
        let role_of = |c: &Contour| c.parent.map(|id| self.contours[id].role);
        let edges = || self.contours.list.iter().filter(|c| c.bounds_material());
        let openings = |around: Option<ContourId>| {
            let inside = edges().filter(move |c| c.role == Role::Opening && c.parent == around);
            inside.map(|c| &c.polyline).collect()
        };
        let outlines = edges().filter(|c| c.role == Role::Outside && role_of(c) != Some(Role::Outside));
        let bodies = outlines.map(|c| (&c.polyline, openings(Some(c.id))));
        let blank = self.blank.map(|blank| (&blank.polyline, openings(None)));
        bodies.chain(blank).collect()
    }

    /// The outermost openings where nothing tells where the material round them ends.
    pub(crate) fn openings_without_end(&self) -> Vec<&'a Polyline> {
        let is_round = |c: &&Contour| c.bounds_material() && c.role == Role::Opening && c.parent.is_none();
        let open = !self.has_outline && self.blank.is_none();
        let all = self.contours.list.iter().filter(is_round).filter(|_| open);
        all.map(|c| &c.polyline).collect()
    }
}

/// Middles and radii of drawn holes for the wire; a point is one of the least radius.
fn holes(contours: &Contours) -> Vec<(Point, f64)> {
    let is_hole =
        |c: &&Contour| matches!(c.purpose, Purpose::StartHole | Purpose::ReadyHole) && c.polyline.closed;
    let circles = contours.list.iter().filter(is_hole);
    let circles = circles.map(|c| (c.bounds.center(), 0.5 * c.bounds.width().max(c.bounds.height())));
    let points = contours.start_points.iter().chain(&contours.ready_points);
    circles.chain(points.map(|&p| (p, JOIN_MM))).collect()
}

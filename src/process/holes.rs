//! Start holes that are drawn or given, and what they lie in.

use std::collections::BTreeSet;

use super::start::StartOrigin;
use super::widest::widest;
use crate::contour::{Contour, Contours, Regions, Role};
use crate::geometry::{Bounds, BoxIndex, NearestStack, Point, Segment, SegmentIndex};
use crate::id::ContourId;
use crate::job::Purpose;

/// A hole that is drawn or given.
pub(super) struct Hole {
    pub at: Point,
    pub diameter_mm: Option<f64>,
    /// Number of the circle that it is; `None` of a point.
    pub contour: Option<ContourId>,
    /// How it comes to be there.
    pub kind: HoleKind,
    /// The innermost contour that bounds material and holds it.
    pub region: Option<ContourId>,
    /// The outside contour beside which it lies.
    pub beside: Option<ContourId>,
}

impl Hole {
    /// Number of the opening that it is, where that is there already and no start hole.
    pub(super) fn bore(&self) -> Option<ContourId> {
        self.contour.filter(|_| self.kind == HoleKind::Existing)
    }
}

/// How a hole comes to be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum HoleKind {
    /// It is there already.
    Ready,
    /// An opening that is machined already, in waste.
    Existing,
    /// It is drawn, to be drilled.
    Drawn,
    /// It is given, to be drilled.
    Given,
}

impl HoleKind {
    /// Returns where a start comes from that takes such a hole.
    pub(super) const fn origin(self) -> StartOrigin {
        match self {
            Self::Ready => StartOrigin::Ready,
            Self::Existing => StartOrigin::ExistingOpening,
            Self::Drawn => StartOrigin::Drawn,
            Self::Given => StartOrigin::Given,
        }
    }

    /// Whether it has to be drilled for this job.
    pub(super) fn is_drilled(self) -> bool {
        matches!(self, Self::Drawn | Self::Given)
    }
}

/// The holes of a drawing, and those given beside them.
pub(super) fn holes(contours: &Contours, given: &[Point], regions: &Regions<'_>) -> Vec<Hole> {
    let outsides = Outsides::new(contours);
    let list = contours.list.iter();
    let drawn =
        list.filter(|c| matches!(c.purpose, Purpose::StartHole | Purpose::ReadyHole) && c.role != Role::Open);
    let drawn = drawn.map(|c| {
        let across = c.bounds.width().max(c.bounds.height());
        let kind = if c.purpose == Purpose::ReadyHole {
            HoleKind::Ready
        } else {
            HoleKind::Drawn
        };
        (c.bounds.center(), Some(across), Some(c.id), kind)
    });
    let points = contours
        .start_points
        .iter()
        .map(|&at| (at, None, None, HoleKind::Drawn));
    let ready = contours
        .ready_points
        .iter()
        .map(|&at| (at, None, None, HoleKind::Ready));
    let given = given.iter().map(|&at| (at, None, None, HoleKind::Given));
    drawn
        .chain(points)
        .chain(ready)
        .chain(given)
        .map(|(at, diameter_mm, contour, kind)| {
            let region = regions.of(at);
            Hole {
                at,
                diameter_mm,
                contour,
                kind,
                region,
                beside: outsides.nearest(at, region),
            }
        })
        .collect()
}

/// Openings that are machined already and lie in waste: within an opening that is cut, where nothing else lies in them, and beside
/// parts that are cut out of the same material. Each with the contour in which it lies.
pub(super) fn bores(contours: &Contours) -> Vec<(ContourId, Hole)> {
    let edges = || contours.list.iter().filter(|c| c.bounds_material());
    let mut parents: BTreeSet<ContourId> = BTreeSet::new();
    let mut holds_part: BTreeSet<ContourId> = BTreeSet::new();
    for contour in edges() {
        parents.extend(contour.parent);
        if contour.purpose == Purpose::Cut && contour.role == Role::Outside {
            holds_part.extend(contour.parent);
        }
    }
    let in_waste = |c: &&Contour| {
        let around = c.parent.map(|id| &contours[id]);
        c.purpose == Purpose::Existing
            && c.polyline.closed
            && around.is_some_and(|around| match (c.role, around.role) {
                (Role::Opening, Role::Outside) => holds_part.contains(&around.id),
                (_, Role::Opening) => around.purpose == Purpose::Cut && !parents.contains(&c.id),
                _ => false,
            })
    };
    let bore = |c: &Contour| {
        let region = c.parent?;
        let index = SegmentIndex::of([&c.polyline]);
        let at = c
            .polyline
            .circle_center()
            .unwrap_or_else(|| widest(&index, c.bounds));
        let (_, _, radius_mm) = index.nearest(at, c.bounds.diagonal())?;
        let hole = Hole {
            at,
            diameter_mm: Some(2.0 * radius_mm),
            contour: Some(c.id),
            kind: HoleKind::Existing,
            region: Some(region),
            beside: None,
        };
        Some((region, hole))
    };
    edges().filter(in_waste).filter_map(bore).collect()
}

/// Returns the contours to be cut that have a hole or an opening that is there already to start from, as far as contours alone
/// tell: nothing is drilled for them.
pub fn started_undrilled(contours: &Contours) -> BTreeSet<ContourId> {
    let is_there = |c: &&Contour| matches!(c.purpose, Purpose::ReadyHole | Purpose::Existing);
    if contours.ready_points.is_empty() && !contours.list.iter().any(|c| is_there(&c)) {
        return BTreeSet::new();
    }
    let holes = holes(contours, &[], &Regions::new(contours));
    let ready = holes.iter().filter(|hole| hole.kind == HoleKind::Ready);
    let mut started: BTreeSet<ContourId> = ready
        .filter_map(|hole| {
            let region = hole.region.map(|id| &contours[id]);
            let opening = region.filter(|c| c.role == Role::Opening && c.purpose == Purpose::Cut);
            opening.map(|c| c.id).or(hole.beside)
        })
        .collect();
    let waste: BTreeSet<ContourId> = bores(contours).into_iter().map(|(region, _)| region).collect();
    let cut = contours.list.iter().filter(|c| c.purpose == Purpose::Cut);
    started.extend(cut.filter_map(|c| match c.role {
        Role::Opening => waste.contains(&c.id).then_some(c.id),
        Role::Outside => waste.contains(&c.parent?).then_some(c.id),
        Role::Open => None,
    }));
    started
}

/// All outside contours to be cut, to be found by place.
struct Outsides {
    segments: Vec<Segment>,
    /// Number of the contour and of what holds it, by segment.
    owner: Vec<(ContourId, Option<ContourId>)>,
    boxes: BoxIndex,
    half_kerf_mm: f64,
}

impl Outsides {
    fn new(contours: &Contours) -> Self {
        let list = contours.list.iter();
        let outside = list.filter(|c| c.purpose == Purpose::Cut && c.role == Role::Outside);
        let mut segments = Vec::new();
        let mut owner = Vec::new();
        for contour in outside {
            segments.extend(contour.polyline.segments());
            owner.resize(segments.len(), (contour.id, contour.parent));
        }
        let boxes = BoxIndex::new(segments.iter().map(|s: &Segment| s.bounds()));
        Self {
            half_kerf_mm: boxes.bounds().map_or(0.0, Bounds::diagonal),
            segments,
            owner,
            boxes,
        }
    }

    /// The outside contour nearest to a place among those that `region` holds directly; none within it.
    fn nearest(&self, p: Point, region: Option<ContourId>) -> Option<ContourId> {
        let distance = |i: usize| {
            if self.owner[i].1 == region {
                self.segments[i].distance(p)
            } else {
                f64::INFINITY
            }
        };
        let reach = self.half_kerf_mm + self.boxes.bounds()?.center().distance(p);
        let (i, _) = self
            .boxes
            .nearest(p, reach, &mut NearestStack::default(), distance)?;
        Some(self.owner[i].0)
    }
}

//! Start holes that are drawn or given, and what they lie in.

use std::cell::OnceCell;

use crate::contour::{Contour, Contours, Role};
use crate::geometry::{Bounds, BoxIndex, NearestStack, Point, Segment, SegmentIndex};
use crate::id::ContourId;
use crate::job::Purpose;

/// A hole that is drawn or given.
pub(super) struct Hole {
    pub at: Point,
    pub diameter_mm: Option<f64>,
    /// Number of the circle that it is; `None` of a point.
    pub contour: Option<ContourId>,
    /// It stands in the drawing.
    pub drawn: bool,
    /// The innermost contour that bounds material and holds it.
    pub region: Option<ContourId>,
    /// The outside contour beside which it lies.
    pub beside: Option<ContourId>,
}

/// The holes of a drawing, and those given beside them.
pub(super) fn holes(contours: &Contours, given: &[Point], regions: &Regions<'_>) -> Vec<Hole> {
    let outsides = Outsides::new(contours);
    let list = contours.list.iter();
    let drawn =
        list.filter(|c| matches!(c.purpose, Purpose::StartHole | Purpose::ReadyHole) && c.role != Role::Open);
    let drawn = drawn.map(|c| {
        let across = c.bounds.width().max(c.bounds.height());
        (c.bounds.center(), Some(across), Some(c.id), true)
    });
    let points = contours.start_points.iter().map(|&at| (at, None, None, true));
    let given = given.iter().map(|&at| (at, None, None, false));
    drawn
        .chain(points)
        .chain(given)
        .map(|(at, diameter_mm, contour, drawn)| {
            let region = regions.of(at);
            Hole {
                at,
                diameter_mm,
                contour,
                drawn,
                region,
                beside: outsides.nearest(at, region),
            }
        })
        .collect()
}

/// Which contour holds a point innermost.
pub(super) struct Regions<'a> {
    bounding: Vec<&'a Contour>,
    boxes: BoxIndex,
    indices: Vec<OnceCell<SegmentIndex>>,
}

impl<'a> Regions<'a> {
    pub(super) fn new(contours: &'a Contours) -> Self {
        let bounding: Vec<&Contour> = contours.list.iter().filter(|c| c.bounds_material()).collect();
        Self {
            boxes: BoxIndex::new(bounding.iter().map(|c| c.bounds)),
            indices: bounding.iter().map(|_| OnceCell::new()).collect(),
            bounding,
        }
    }

    pub(super) fn of(&self, p: Point) -> Option<ContourId> {
        let holds = |&i: &usize| {
            let index = self.indices[i].get_or_init(|| SegmentIndex::of([&self.bounding[i].polyline]));
            index.winding(p) != 0
        };
        let around = self.boxes.within(Bounds::of([p])).filter(holds);
        let innermost = around.max_by_key(|&i| (self.bounding[i].depth, self.bounding[i].id));
        innermost.map(|i| self.bounding[i].id)
    }
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

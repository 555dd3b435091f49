use static_aabb2d_index::{StaticAABB2DIndex, StaticAABB2DIndexBuilder};

use super::{Bounds, Point, Polyline, Segment};

/// Segments that can be found by place. Building costs n log n; a query costs log n and what it finds.
pub struct SegmentIndex {
    segments: Vec<Segment>,
    /// Absent when there are no segments or a coordinate is not a number.
    boxes: Option<StaticAABB2DIndex<f64>>,
}

impl SegmentIndex {
    /// An index of `segments`, which keep their order as their numbers.
    pub fn new(segments: Vec<Segment>) -> Self {
        let mut builder = StaticAABB2DIndexBuilder::new(segments.len());
        let mut finite = true;
        for bounds in segments.iter().map(|s| s.bounds()) {
            finite &= bounds.min.is_finite() && bounds.max.is_finite();
            builder.add(bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y);
        }
        let boxes = if finite { builder.build().ok() } else { None };
        Self { segments, boxes }
    }

    /// An index of all segments of `polylines`, numbered through.
    pub fn of<'a>(polylines: impl IntoIterator<Item = &'a Polyline>) -> Self {
        Self::new(polylines.into_iter().flat_map(Polyline::segments).collect())
    }

    /// The segments, in order of their numbers.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// Numbers of the segments whose bounds share a point with `bounds`.
    pub fn near(&self, bounds: Bounds) -> impl Iterator<Item = usize> + '_ {
        self.boxes
            .iter()
            .flat_map(move |boxes| boxes.query_iter(bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y))
    }

    /// The segment nearest to `p` among those within `reach` mm: its number, the point of it and the distance.
    pub fn nearest_within(&self, p: Point, reach: f64) -> Option<(usize, Point, f64)> {
        self.near(Bounds::of([p]).grown(reach))
            .map(|i| {
                let foot = self.segments[i].nearest(p);
                (i, foot, p.distance(foot))
            })
            .filter(|&(_, _, distance)| distance <= reach)
            .min_by(|a, b| a.2.total_cmp(&b.2).then(a.0.cmp(&b.0)))
    }

    /// The segment nearest to `p`, as [`Self::nearest_within`], however far it is; `None` when there is none.
    /// Looks within `reach` mm first and doubles it until something is found.
    pub fn nearest(&self, p: Point, reach: f64) -> Option<(usize, Point, f64)> {
        let all = self.boxes.as_ref()?.bounds()?;
        let whole = Bounds::of([
            Point::new(all.min_x, all.min_y),
            Point::new(all.max_x, all.max_y),
            p,
        ])
        .diagonal();
        // Doubling nothing would lead nowhere.
        let mut reach = if reach > 0.0 { reach } else { whole / 1024.0 };
        loop {
            let found = self.nearest_within(p, reach);
            if found.is_some() || reach.is_nan() || reach > whole {
                return found;
            }
            reach *= 2.0;
        }
    }

    /// How often the indexed loops go round `p`, counter-clockwise positive. See [`Polyline::winding`].
    pub fn winding(&self, p: Point) -> i32 {
        let ray = Bounds {
            min: p,
            max: Point::new(f64::INFINITY, p.y),
        };
        self.near(ray).map(|i| self.segments[i].winding(p)).sum()
    }
}

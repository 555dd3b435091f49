use super::Point;
use crate::elementary::hypot;

/// An upright rectangle that holds something, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lower left corner.
    pub min: Point,
    /// Upper right corner.
    pub max: Point,
}

impl Bounds {
    /// The bounds of nothing: growing them by a point gives that point.
    pub const EMPTY: Self = Self {
        min: Point::new(f64::INFINITY, f64::INFINITY),
        max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    /// Makes the bounds of `points`.
    #[inline]
    pub fn of(points: impl IntoIterator<Item = Point>) -> Self {
        points.into_iter().fold(Self::EMPTY, Self::with_point)
    }

    /// Whether nothing is inside.
    #[inline]
    pub fn is_empty(self) -> bool {
        self.min.x > self.max.x || self.min.y > self.max.y
    }

    /// Grown to hold `p`.
    #[must_use]
    #[inline]
    pub fn with_point(self, p: Point) -> Self {
        Self {
            min: Point::new(lesser(self.min.x, p.x), lesser(self.min.y, p.y)),
            max: Point::new(greater(self.max.x, p.x), greater(self.max.y, p.y)),
        }
    }

    /// Grown to hold `other`.
    #[must_use]
    #[inline]
    pub fn union(self, other: Self) -> Self {
        if other.is_empty() {
            self
        } else {
            self.with_point(other.min).with_point(other.max)
        }
    }

    /// What the two have in common; empty when that is nothing.
    #[must_use]
    #[inline]
    pub fn common(self, other: Self) -> Self {
        Self {
            min: Point::new(self.min.x.max(other.min.x), self.min.y.max(other.min.y)),
            max: Point::new(self.max.x.min(other.max.x), self.max.y.min(other.max.y)),
        }
    }

    /// Grown by `margin` mm on every side.
    #[must_use]
    #[inline]
    pub fn grown(self, margin: f64) -> Self {
        Self {
            min: Point::new(self.min.x - margin, self.min.y - margin),
            max: Point::new(self.max.x + margin, self.max.y + margin),
        }
    }

    /// Extent along x, mm.
    #[inline]
    pub fn width(self) -> f64 {
        self.max.x - self.min.x
    }

    /// Extent along y, mm.
    #[inline]
    pub fn height(self) -> f64 {
        self.max.y - self.min.y
    }

    /// Computes the length of the diagonal, mm; 0 when empty.
    pub fn diagonal(self) -> f64 {
        if self.is_empty() {
            0.0
        } else {
            hypot(self.width(), self.height())
        }
    }

    /// Returns the middle.
    #[inline]
    pub fn center(self) -> Point {
        self.min.midpoint(self.max)
    }

    /// Whether `p` lies inside or on the edge.
    #[inline]
    pub fn contains(self, p: Point) -> bool {
        p.x >= self.min.x && p.x <= self.max.x && p.y >= self.min.y && p.y <= self.max.y
    }

    /// Whether `other` lies wholly inside or on the edge.
    #[inline]
    pub fn contains_bounds(self, other: Self) -> bool {
        self.contains(other.min) && self.contains(other.max)
    }

    /// Whether the two come within `reach` mm of one another.
    #[inline]
    pub fn is_within(self, reach: f64, other: Self) -> bool {
        self.square_apart(other) <= reach * reach
    }

    /// Computes the square of the distance between the two, mm²; 0 where they share a point.
    #[inline]
    pub fn square_apart(self, other: Self) -> f64 {
        let dx = greater(0.0, greater(self.min.x - other.max.x, other.min.x - self.max.x));
        let dy = greater(0.0, greater(self.min.y - other.max.y, other.min.y - self.max.y));
        dx * dx + dy * dy
    }

    /// Whether the two share a point.
    #[inline]
    pub fn overlaps(self, other: Self) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }
}

/// The smaller of two numbers, or the first where the second is none: one instruction, where `f64::min` looks for either to be none.
#[inline]
fn lesser(first: f64, second: f64) -> f64 {
    if second < first { second } else { first }
}

/// The larger, likewise.
#[inline]
fn greater(first: f64, second: f64) -> f64 {
    if second > first { second } else { first }
}

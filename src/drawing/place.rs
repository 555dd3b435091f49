//! Where an entity's own coordinates lie in the world: object coordinate systems, insertions, unit scale.

use crate::dxf::document::{Block, Insert};
use crate::elementary::{hypot, sin_cos};
use crate::geometry::spline::Triple;
use crate::geometry::{Point, Vector};
use crate::tolerance::ROUNDING;

/// An affine map of space: from coordinates of an entity, block or object coordinate system to world
/// coordinates in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placement {
    /// Images of the unit vectors.
    axes: [Triple; 3],
    /// Image of the origin.
    origin: Triple,
}

impl Placement {
    /// From drawing units to mm.
    pub(super) fn scaled(factor: f64) -> Self {
        Self {
            axes: [[factor, 0.0, 0.0], [0.0, factor, 0.0], [0.0, 0.0, factor]],
            origin: [0.0; 3],
        }
    }

    /// Returns the images of the unit vectors, bit by bit: placements that have them in common differ by a shift.
    pub(super) fn turn_and_scale(&self) -> [[u64; 3]; 3] {
        self.axes.map(|axis| axis.map(f64::to_bits))
    }

    /// Returns the shift from another placement that turns and scales alike.
    pub(super) fn shift_from(&self, other: &Self) -> Triple {
        std::array::from_fn(|i| self.origin[i] - other.origin[i])
    }

    /// Returns the image of a point.
    pub(super) fn point(&self, p: Triple) -> Triple {
        let v = self.vector(p);
        [
            v[0] + self.origin[0],
            v[1] + self.origin[1],
            v[2] + self.origin[2],
        ]
    }

    /// Returns the image of a displacement.
    pub(super) fn vector(&self, v: Triple) -> Triple {
        let [x, y, z] = &self.axes;
        std::array::from_fn(|i| x[i] * v[0] + y[i] * v[1] + z[i] * v[2])
    }

    /// First `inner`, then this one.
    fn after(&self, inner: &Self) -> Self {
        Self {
            axes: inner.axes.map(|axis| self.vector(axis)),
            origin: self.point(inner.origin),
        }
    }

    /// This map, fed with object coordinates of an entity whose extrusion is `normal`: the arbitrary axis
    /// algorithm of the DXF reference. A normal of no length counts as 0,0,1.
    pub(super) fn of_object(&self, normal: Triple) -> Self {
        if normal[0] == 0.0 && normal[1] == 0.0 && normal[2] >= 0.0 {
            return *self;
        }
        let z = unit(normal);
        let helper = if z[0].abs() < NEAR_POLE && z[1].abs() < NEAR_POLE {
            [0.0, 1.0, 0.0]
        } else {
            [0.0, 0.0, 1.0]
        };
        let x = unit(cross(helper, z));
        let y = unit(cross(z, x));
        self.after(&Self {
            axes: [x, y, z],
            origin: [0.0; 3],
        })
    }

    /// This map, fed with coordinates of `block` as `insert` places it at `column` and `row` of its array. The
    /// array's spacing is turned with the insertion but not scaled; the block's base point comes to lie at the
    /// insertion point. A z scale of 0 counts as 1.
    pub(super) fn of_insert(
        &self,
        insert: &Insert,
        normal: Triple,
        block: &Block,
        column: i64,
        row: i64,
    ) -> Self {
        let (sin, cos) = turn(insert.rotation_deg);
        let [sx, sy, sz] = insert.scale;
        let sz = if sz == 0.0 { 1.0 } else { sz };
        let axes = [
            [cos * sx, sin * sx, 0.0],
            [-sin * sy, cos * sy, 0.0],
            [0.0, 0.0, sz],
        ];
        let (along, across) = (
            insert.column_spacing * column as f64,
            insert.row_spacing * row as f64,
        );
        let turned = Self {
            axes,
            origin: [0.0; 3],
        };
        let base = turned.vector(block.base);
        let origin = [
            insert.at[0] + along * cos - across * sin - base[0],
            insert.at[1] + along * sin + across * cos - base[1],
            insert.at[2] - base[2],
        ];
        self.of_object(normal).after(&Self { axes, origin })
    }

    /// How the plane at height `elevation` of the coordinates that are fed lies in the world.
    pub(super) fn plane(&self, elevation: f64) -> Plane {
        let [x, y, _] = self.axes;
        let origin = self.point([0.0, 0.0, elevation]);
        let (along_x, along_y) = (Vector::new(x[0], x[1]), Vector::new(y[0], y[1]));
        Plane {
            x: along_x,
            y: along_y,
            origin: Point::new(origin[0], origin[1]),
            height: origin[2],
            tilt: Vector::new(x[2], y[2]),
            mirrored: similar(along_x, along_y).then_some(along_x.cross(along_y) < 0.0),
        }
    }
}

/// The arbitrary axis algorithm takes a normal whose x and y are both below this for one along z (DXF
/// reference: 1/64).
const NEAR_POLE: f64 = 1.0 / 64.0;

/// A plane of an entity's own, seen from above.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    /// Image of the unit vector along x.
    pub(super) x: Vector,
    /// Image of the unit vector along y.
    pub(super) y: Vector,
    /// Image of the origin.
    pub(super) origin: Point,
    /// z of the image of the origin.
    pub(super) height: f64,
    /// Rise in z of the unit vectors along x and y.
    pub(super) tilt: Vector,
    /// Where circles stay circles: whether they change their sense of turning. `None` where they become ellipses.
    pub(super) mirrored: Option<bool>,
}

impl Plane {
    /// Returns the image of a point of the plane.
    pub(super) fn at(&self, p: Point) -> Point {
        self.origin + self.x * p.x + self.y * p.y
    }

    /// z of the image of a point of the plane.
    pub(super) fn height_at(&self, p: Point) -> f64 {
        self.height + self.tilt.x * p.x + self.tilt.y * p.y
    }
}

/// Whether two vectors are of one length and square to each other.
fn similar(x: Vector, y: Vector) -> bool {
    let square = x.dot(x).max(y.dot(y));
    (x.dot(x) - y.dot(y)).abs() <= ROUNDING * square && x.dot(y).abs() <= ROUNDING * square
}

/// Sine and cosine of an angle in degrees, exact for quarter turns.
pub(super) fn turn(degrees: f64) -> (f64, f64) {
    let within = degrees.rem_euclid(360.0);
    match within {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        _ => sin_cos(within.to_radians()),
    }
}

/// Scaled to length 1; unchanged when it has no length.
pub(super) fn unit(v: Triple) -> Triple {
    let length = hypot(hypot(v[0], v[1]), v[2]);
    if length > 0.0 { v.map(|c| c / length) } else { v }
}

/// Vector product.
pub(super) fn cross(a: Triple, b: Triple) -> Triple {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

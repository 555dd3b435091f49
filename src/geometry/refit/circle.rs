//! The one circle that the joints of a run may lie on.

use super::{Point, Vector};

/// The circle that all joints of a run lie on.
#[derive(Clone, Copy)]
pub(super) struct Circle {
    pub(super) center: Point,
    pub(super) radius: f64,
    /// How far the worst joint lies beside it, mm.
    pub(super) off_mm: f64,
    /// Whether it stands in for a loop, which has no end to keep.
    pub(super) whole: bool,
}

/// Computes the circle nearest to all joints: of those through both ends, or for a loop of all.
pub(super) fn circle_through(joints: &[Point], looped: bool) -> Option<Circle> {
    let (first, last) = (joints[0], *joints.last()?);
    let origin = if looped {
        centroid(&joints[1..])
    } else {
        first.midpoint(last)
    };
    // |p|² = 2·c·p + rest, with p from the origin, is linear in the centre c and in the rest.
    let relative: Vec<Vector> = joints.iter().map(|&p| p - origin).collect();
    let center = if looped {
        nearest_center(&relative[1..])?
    } else {
        let half = relative[0];
        let normal = half.left().normalized()?;
        let (mut above, mut below) = (0.0, 0.0);
        for p in &relative {
            let height = p.dot(normal);
            above += height * (p.dot(*p) - half.dot(half));
            below += 2.0 * height * height;
        }
        normal * (above / below)
    };
    let distances = relative.iter().map(|&p| (p - center).length());
    let radius = if looped {
        distances.clone().skip(1).sum::<f64>() / (joints.len() - 1) as f64
    } else {
        (relative[0] - center).length()
    };
    let off_mm = distances.map(|d| (d - radius).abs()).fold(0.0, f64::max);
    radius.is_finite().then_some(Circle {
        center: origin + center,
        radius,
        off_mm,
        whole: looped,
    })
}

fn centroid(points: &[Point]) -> Point {
    let sum = points
        .iter()
        .fold(Vector::default(), |sum, &p| sum + (p - points[0]));
    points[0] + sum * (1.0 / points.len() as f64)
}

/// Centre of the circle nearest to `points`, which are given from their centroid (I. Kåsa, "A circle fitting procedure and
/// its error analysis", IEEE Trans. Instrum. Meas. 25 (1976) 8–14).
fn nearest_center(points: &[Vector]) -> Option<Vector> {
    let (mut xx, mut xy, mut yy, mut x_square, mut y_square) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for p in points {
        let square = p.dot(*p);
        xx += p.x * p.x;
        xy += p.x * p.y;
        yy += p.y * p.y;
        x_square += p.x * square;
        y_square += p.y * square;
    }
    let determinant = 2.0 * (xx * yy - xy * xy);
    (determinant > 0.0).then(|| {
        Vector::new(x_square * yy - y_square * xy, y_square * xx - x_square * xy) * (1.0 / determinant)
    })
}

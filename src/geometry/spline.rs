//! Splines: from knots and control points to Bézier pieces, and a smooth curve through points.

/// A place or displacement in space.
type Triple = [f64; 3];

/// The control points of the Bézier pieces of a B-spline, one `Vec` of `degree + 1` points a piece, in order;
/// pieces over an empty parameter range are left out. `control` holds points of any dimension `N` (x, y, z, w with
/// x, y, z already multiplied by the weight w for rational splines).
///
/// `knots` must not fall and hold `control.len() + degree + 1` values; the curve runs from the knot number
/// `degree` to the last but `degree`. Each Bézier point is a value of the blossom (L. Ramshaw, "Blossoms are polar
/// forms", CAGD 6 (1989) 323–358), so the work is that of `degree`³ a piece.
pub fn bezier_pieces<const N: usize>(
    degree: usize,
    knots: &[f64],
    control: &[[f64; N]],
) -> Vec<Vec<[f64; N]>> {
    (degree..control.len())
        .filter(|&k| knots[k] < knots[k + 1])
        .map(|k| {
            let (from, to) = (knots[k], knots[k + 1]);
            (0..=degree)
                .map(|j| {
                    let mut work = control[k - degree..=k].to_vec();
                    for round in 1..=degree {
                        let at = if round <= j { to } else { from };
                        for i in (round..=degree).rev() {
                            let (low, high) = (knots[k - degree + i], knots[k + 1 + i - round]);
                            let part = (at - low) / (high - low);
                            work[i] =
                                std::array::from_fn(|c| work[i - 1][c] * (1.0 - part) + work[i][c] * part);
                        }
                    }
                    work[degree]
                })
                .collect()
        })
        .collect()
}

/// How a curve through points ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// It goes round: from the last point back to the first, smoothly.
    Loop,
    /// It leaves the first and reaches the last point in these directions; where there is none, without bending.
    Open {
        /// Direction at the first point.
        start: Option<[f64; 3]>,
        /// Direction at the last point.
        end: Option<[f64; 3]>,
    },
}

/// Control points of the cubic Bézier pieces of the smoothest usual curve through `points`, which must differ
/// from their neighbours: the cubic spline with continuous second derivative, its parameter running with the
/// chords' lengths (C. de Boor, A Practical Guide to Splines, chapter IV). Linear work.
pub fn through_points(points: &[Triple], ends: Ends) -> Vec<[Triple; 4]> {
    let n = points.len();
    if n < 2 {
        return Vec::new();
    }
    let looped = ends == Ends::Loop;
    let next = |i: usize| points[(i + 1) % n];
    let pieces = if looped { n } else { n - 1 };
    let chords: Vec<Triple> = (0..pieces).map(|i| less(next(i), points[i])).collect();
    let spans: Vec<f64> = chords.iter().map(|&c| norm(c)).collect();
    let slopes: Vec<Triple> = chords
        .iter()
        .zip(&spans)
        .map(|(&c, &h)| times(c, 1.0 / h))
        .collect();

    // One row a point: before·m[i−1] + middle·m[i] + after·m[i+1] = right, m the derivatives.
    let mut rows: Vec<Row> = (0..n)
        .map(|i| {
            let (back, ahead) = ((i + pieces - 1) % pieces, i % pieces);
            let (h, k) = (spans[back], spans[ahead]);
            Row {
                before: k,
                middle: 2.0 * (h + k),
                after: h,
                right: times(plus(times(slopes[back], k), times(slopes[ahead], h)), 3.0),
            }
        })
        .collect();
    let derivatives = if let Ends::Open { start, end } = ends {
        rows[0] = Row::end(start, slopes[0]);
        rows[n - 1] = Row::end(end, slopes[pieces - 1]).mirrored();
        solve(&rows, |row| row.right)
    } else {
        solve_loop(&mut rows)
    };
    (0..pieces)
        .map(|i| {
            let (from, to, third) = (points[i], next(i), spans[i] / 3.0);
            [
                from,
                plus(from, times(derivatives[i], third)),
                less(to, times(derivatives[(i + 1) % n], third)),
                to,
            ]
        })
        .collect()
}

/// A row of a tridiagonal system.
#[derive(Clone, Copy)]
struct Row {
    before: f64,
    middle: f64,
    after: f64,
    right: Triple,
}

impl Row {
    /// The first row: a given direction, or no bending.
    fn end(direction: Option<Triple>, slope: Triple) -> Self {
        match direction.filter(|&d| norm(d) > 0.0) {
            Some(d) => Self {
                before: 0.0,
                middle: 1.0,
                after: 0.0,
                right: times(d, 1.0 / norm(d)),
            },
            None => Self {
                before: 0.0,
                middle: 2.0,
                after: 1.0,
                right: times(slope, 3.0),
            },
        }
    }

    fn mirrored(self) -> Self {
        Self {
            before: self.after,
            after: self.before,
            ..self
        }
    }
}

/// Thomas's elimination; the rows are dominated by their diagonal.
fn solve(rows: &[Row], right: impl Fn(&Row) -> Triple) -> Vec<Triple> {
    let mut ratio = vec![0.0; rows.len()];
    let mut value = vec![[0.0; 3]; rows.len()];
    for (i, row) in rows.iter().enumerate() {
        let (before, r, v) = if i > 0 {
            (row.before, ratio[i - 1], value[i - 1])
        } else {
            (0.0, 0.0, [0.0; 3])
        };
        let pivot = row.middle - before * r;
        ratio[i] = row.after / pivot;
        value[i] = times(less(right(row), times(v, before)), 1.0 / pivot);
    }
    for i in (0..rows.len().saturating_sub(1)).rev() {
        value[i] = less(value[i], times(value[i + 1], ratio[i]));
    }
    value
}

/// A system whose first row reaches round to the last unknown and the last to the first: Sherman and Morrison's
/// formula on top of [`solve`].
fn solve_loop(rows: &mut [Row]) -> Vec<Triple> {
    let n = rows.len();
    let (first, last) = (rows[0], rows[n - 1]);
    if n == 2 {
        // Both neighbours of each point are the other point.
        rows[0].after += rows[0].before;
        rows[1].before += rows[1].after;
        return solve(rows, |row| row.right);
    }
    let corner = -first.middle;
    rows[0].middle -= corner;
    rows[n - 1].middle -= last.after * first.before / corner;
    let plain = solve(rows, |row| row.right);
    for (i, row) in rows.iter_mut().enumerate() {
        let u = match i {
            0 => corner,
            _ if i == n - 1 => last.after,
            _ => 0.0,
        };
        row.right = [u, 0.0, 0.0];
    }
    let bent: Vec<f64> = solve(rows, |row| row.right).iter().map(|v| v[0]).collect();
    let share = first.before / corner;
    let weight = 1.0 + bent[0] + share * bent[n - 1];
    let top = plus(plain[0], times(plain[n - 1], share));
    let factor = times(top, 1.0 / weight);
    plain
        .iter()
        .zip(bent)
        .map(|(&v, b)| less(v, times(factor, b)))
        .collect()
}

fn plus(a: Triple, b: Triple) -> Triple {
    std::array::from_fn(|i| a[i] + b[i])
}

fn less(a: Triple, b: Triple) -> Triple {
    std::array::from_fn(|i| a[i] - b[i])
}

fn times(a: Triple, factor: f64) -> Triple {
    a.map(|c| c * factor)
}

fn norm(a: Triple) -> f64 {
    a[0].hypot(a[1]).hypot(a[2])
}

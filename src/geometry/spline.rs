//! Splines: from knots and control points to Bézier pieces, and a smooth curve through points.

use crate::cancel::{asked, checkpoint_each};
use crate::elementary::hypot;

/// A place or displacement in space.
pub type Triple = [f64; 3];

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
            checkpoint_each(k);
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
    let spans: Vec<f64> = asked(chords.iter()).map(|&c| norm(c)).collect();
    let slopes: Vec<Triple> = chords
        .iter()
        .zip(&spans)
        .map(|(&c, &h)| times(c, 1.0 / h))
        .collect();

    // One row a point: before·m[i−1] + middle·m[i] + after·m[i+1] = right, m the derivatives.
    let mut rows: Vec<TridiagonalRow> = asked(0..n)
        .map(|i| {
            let (back, ahead) = ((i + pieces - 1) % pieces, i % pieces);
            let (h, k) = (spans[back], spans[ahead]);
            TridiagonalRow {
                before: k,
                middle: 2.0 * (h + k),
                after: h,
                right: times(plus(times(slopes[back], k), times(slopes[ahead], h)), 3.0),
            }
        })
        .collect();
    let derivatives = if let Ends::Open { start, end } = ends {
        rows[0] = TridiagonalRow::end(start, slopes[0]);
        rows[n - 1] = TridiagonalRow::end(end, slopes[pieces - 1]).mirrored();
        solve(&rows, |row| row.right)
    } else {
        solve_loop(&mut rows)
    };
    asked(0..pieces)
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
struct TridiagonalRow {
    before: f64,
    middle: f64,
    after: f64,
    right: Triple,
}

impl TridiagonalRow {
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
fn solve(rows: &[TridiagonalRow], right: impl Fn(&TridiagonalRow) -> Triple) -> Vec<Triple> {
    let mut ratio = vec![0.0; rows.len()];
    let mut value = vec![[0.0; 3]; rows.len()];
    for (i, row) in rows.iter().enumerate() {
        checkpoint_each(i);
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

/// Solves a system whose first row reaches round to the last unknown and the last to the first: Sherman and Morrison's
/// formula on top of [`solve`].
fn solve_loop(rows: &mut [TridiagonalRow]) -> Vec<Triple> {
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
    hypot(hypot(a[0], a[1]), a[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the uniform cubic B-spline at its knots: (P₀ + 4·P₁ + P₂)/6 (de Boor, A Practical Guide to Splines,
    /// chapter X).
    #[test]
    fn uniform_cubic_pieces_meet_at_the_known_points() {
        let control = [[0.0, 0.0], [1.0, 5.0], [3.0, -2.0], [6.0, 4.0], [7.0, 7.0]];
        let knots: Vec<f64> = (0..9).map(f64::from).collect();
        let pieces = bezier_pieces(3, &knots, &control);
        assert_eq!(pieces.len(), 2);
        for (i, piece) in pieces.iter().enumerate() {
            for axis in 0..2 {
                let at = |k: usize| control[i + k][axis];
                let start = (at(0) + 4.0 * at(1) + at(2)) / 6.0;
                let end = (at(1) + 4.0 * at(2) + at(3)) / 6.0;
                assert!((piece[0][axis] - start).abs() < 1e-14);
                assert!((piece[3][axis] - end).abs() < 1e-14);
            }
        }
    }

    #[test]
    fn clamped_knots_give_back_the_control_points() {
        let control = [[0.0], [1.0], [4.0], [9.0]];
        let pieces = bezier_pieces(3, &[2.0, 2.0, 2.0, 2.0, 5.0, 5.0, 5.0, 5.0], &control);
        assert_eq!(pieces, [control.to_vec()]);
        // A knot of full multiplicity parts a spline into its Béziers.
        let double = [[0.0], [1.0], [4.0], [2.0], [7.0]];
        let pieces = bezier_pieces(2, &[0.0, 0.0, 0.0, 1.0, 1.0, 3.0, 3.0, 3.0], &double);
        assert_eq!(pieces, [double[..3].to_vec(), double[2..].to_vec()]);
    }

    /// Second derivative of a piece at its start and end, by the parameter that runs with the chord.
    fn bending(piece: &[Triple; 4]) -> (Triple, Triple) {
        let chord = norm(less(piece[3], piece[0]));
        let second = |a, b, c| times(plus(less(a, times(b, 2.0)), c), 6.0 / (chord * chord));
        (
            second(piece[0], piece[1], piece[2]),
            second(piece[1], piece[2], piece[3]),
        )
    }

    fn close(a: Triple, b: Triple) {
        assert!(norm(less(a, b)) < 1e-12, "{a:?} is not {b:?}");
    }

    const POINTS: [Triple; 5] = [
        [0.0, 0.0, 0.0],
        [10.0, 5.0, 0.0],
        [14.0, 2.0, 1.0],
        [20.0, 0.0, 0.0],
        [30.0, 5.0, 0.0],
    ];

    #[test]
    fn the_curve_through_points_bends_evenly_and_ends_without_bending() {
        let ends = Ends::Open {
            start: None,
            end: None,
        };
        let pieces = through_points(&POINTS, ends);
        for (i, pair) in pieces.windows(2).enumerate() {
            close(pair[0][3], POINTS[i + 1]);
            close(bending(&pair[0]).1, bending(&pair[1]).0);
        }
        close(bending(&pieces[0]).0, [0.0; 3]);
        close(bending(&pieces[3]).1, [0.0; 3]);
    }

    #[test]
    fn given_directions_are_kept() {
        let ends = Ends::Open {
            start: Some([0.0, 3.0, 0.0]),
            end: Some([2.0, 0.0, 0.0]),
        };
        let pieces = through_points(&POINTS, ends);
        let leaving = less(pieces[0][1], pieces[0][0]);
        close(times(leaving, 1.0 / norm(leaving)), [0.0, 1.0, 0.0]);
        let arriving = less(pieces[3][3], pieces[3][2]);
        close(times(arriving, 1.0 / norm(arriving)), [1.0, 0.0, 0.0]);
    }

    #[test]
    fn a_loop_has_no_seam() {
        for n in 2..=5 {
            let pieces = through_points(&POINTS[..n], Ends::Loop);
            assert_eq!(pieces.len(), n);
            for i in 0..n {
                let (one, next) = (&pieces[i], &pieces[(i + 1) % n]);
                close(one[3], next[0]);
                close(bending(one).1, bending(next).0);
            }
        }
    }

    #[test]
    fn points_on_a_line_give_the_line() {
        let pieces = through_points(
            &[[0.0; 3], [1.0, 2.0, 0.0], [5.0, 10.0, 0.0]],
            Ends::Open {
                start: None,
                end: None,
            },
        );
        assert!(pieces.iter().flatten().all(|p| (p[1] - 2.0 * p[0]).abs() < 1e-12));
        assert_eq!(through_points(&[[0.0; 3]], Ends::Loop), Vec::<[Triple; 4]>::new());
    }
}

//! A straight line through points whose errors are relative, some of them wild.

/// y = intercept + slope · x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) intercept: f64,
    pub(super) slope: f64,
}

impl Line {
    pub(super) fn at(self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }

    /// Logarithm of y over what the line says.
    pub(super) fn residual(self, (x, y): (f64, f64)) -> f64 {
        (y / self.at(x)).ln()
    }
}

/// Of the middle of sorted values; 0 for none.
pub(super) fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[half],
        _ => f64::midpoint(values[half - 1], values[half]),
    }
}

/// Median absolute deviation as a standard deviation (of a normal distribution).
pub(super) fn spread(residuals: &[f64]) -> f64 {
    const NORMAL_PER_MAD: f64 = 1.4826;
    NORMAL_PER_MAD * median(residuals.iter().map(|r| r.abs()).collect())
}

/// Pairs tried for a start at most, so that a long log costs no more than a short one.
const MOST_PAIRS: usize = 4_000;

/// Reweighted least squares on relative errors with Tukey's biweight (4.685 keeps 95 % efficiency on normal
/// errors; Huber & Ronchetti, Robust Statistics), from the pair of points whose line has the smallest median error,
/// so that wild points do not even draw the start. The intercept is never negative; it is held at `held` where
/// given. `None` when no line rises.
pub(super) fn robust_line(points: &[(f64, f64)], held: Option<f64>) -> Option<Line> {
    reweighted(points, held, start(points, held)?)
}

/// The same from a line that is known to be near.
pub(super) fn reweighted(points: &[(f64, f64)], held: Option<f64>, near: Line) -> Option<Line> {
    const TUKEY: f64 = 4.685;
    const ROUNDS: usize = 50;
    // A share of the slope far below any doubt of a log.
    const SETTLED: f64 = 1.0 / 10_000_000.0;
    // Below this the points lie on the line and weights have nothing to divide by.
    const SMALLEST_SPREAD: f64 = 0.001;
    let mut line = near;
    for _ in 0..ROUNDS {
        let residuals: Vec<f64> = points.iter().map(|p| line.residual(*p)).collect();
        let reach = TUKEY * spread(&residuals).max(SMALLEST_SPREAD);
        let weighted = points
            .iter()
            .zip(&residuals)
            .filter(|(_, r)| r.abs() < reach)
            .map(|((x, y), r)| {
                let weight = (1.0 - (r / reach).powi(2)).powi(2) / line.at(*x).powi(2);
                (*x, *y, weight)
            });
        let next = least_squares(weighted, held)?;
        let settled = (next.slope - line.slope).abs() <= SETTLED * line.slope;
        line = next;
        if settled {
            break;
        }
    }
    Some(line)
}

fn start(points: &[(f64, f64)], held: Option<f64>) -> Option<Line> {
    let through = |(x, y): (f64, f64), intercept: f64| Line {
        intercept,
        slope: (y - intercept) / x,
    };
    let n = points.len();
    let stride = (n * n / 2 / MOST_PAIRS).max(1);
    let pairs = (0..n)
        .flat_map(|i| (i + 1..n).map(move |j| (i, j)))
        .step_by(stride);
    let candidates: Vec<Line> = match held {
        Some(intercept) => points.iter().map(|p| through(*p, intercept)).collect(),
        None => pairs
            .map(|(i, j)| {
                let ((x1, y1), (x2, y2)) = (points[i], points[j]);
                let slope = (y2 - y1) / (x2 - x1);
                Line {
                    intercept: y1 - slope * x1,
                    slope,
                }
            })
            .chain(points.iter().map(|p| through(*p, 0.0)))
            .collect(),
    };
    let error = |line: &Line| median(points.iter().map(|p| line.residual(*p).abs()).collect());
    candidates
        .into_iter()
        .filter(|line| line.slope > 0.0 && line.slope.is_finite() && line.intercept >= 0.0)
        .map(|line| (error(&line), line))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, line)| line)
}

/// Of points (x, y, weight).
fn least_squares(points: impl Iterator<Item = (f64, f64, f64)>, held: Option<f64>) -> Option<Line> {
    let [w, wx, wy, wxx, wxy] = points.fold([0.0; 5], |[w, wx, wy, wxx, wxy], (x, y, weight)| {
        let (vx, vy) = (weight * x, weight * y);
        [w + weight, wx + vx, wy + vy, wxx + vx * x, wxy + vx * y]
    });
    let fixed = |intercept: f64| Line {
        intercept,
        slope: (wxy - intercept * wx) / wxx,
    };
    let line = if let Some(intercept) = held {
        fixed(intercept)
    } else {
        let slope = (w * wxy - wx * wy) / (w * wxx - wx * wx);
        let free = Line {
            intercept: (wy - slope * wx) / w,
            slope,
        };
        if free.intercept >= 0.0 { free } else { fixed(0.0) }
    };
    (line.slope.is_finite() && line.slope > 0.0).then_some(line)
}

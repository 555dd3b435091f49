//! A straight line through points whose errors are relative, some of them wild.

use super::student;

/// y = intercept + slope · x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FittedLine {
    pub(super) intercept: f64,
    pub(super) slope: f64,
}

impl FittedLine {
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

/// Share of logs without a wild point in which one is called wild all the same (Bonferroni's bound over the points).
const FALSE_ALARM: f64 = 0.05;

/// A line with what its points leave open.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fitted {
    pub(super) line: FittedLine,
    /// Whether each point had weight; the others are wild.
    pub(super) kept: Vec<bool>,
    /// Standard deviation of the relative errors of the points that had weight.
    pub(super) deviation: f64,
    /// Degrees of freedom that are left.
    pub(super) degrees: usize,
    /// Standard error of the slope.
    pub(super) slope_error: f64,
    /// Standard error of the intercept; 0 where it is held.
    pub(super) intercept_error: f64,
}

/// Reweighted least squares on relative errors (Rousseeuw & Leroy, Robust Regression and Outlier Detection, 1987,
/// ch. 5): the start is the line through two of the points that has the smallest median error, so that wild points do
/// not even draw it; points beyond what chance explains around it lose all weight; least squares through the others
/// then gives line and standard errors. The intercept is never negative; it is held at `held` where given. `None`
/// when no line rises, or fewer than half of the points agree.
pub(super) fn robust_line(points: &[(f64, f64)], held: Option<f64>) -> Option<Fitted> {
    reweighted(points, held, start(points, held)?)
}

/// The same from a line that is known to be near.
pub(super) fn reweighted(points: &[(f64, f64)], held: Option<f64>, near: FittedLine) -> Option<Fitted> {
    const ROUNDS: usize = 50;
    let degrees = |points: usize| {
        points
            .checked_sub(free_terms(held))
            .filter(|degrees| *degrees > 0)
    };
    let residuals: Vec<f64> = points.iter().map(|p| near.residual(*p)).collect();
    // Rousseeuw & Leroy's factor against the smallness of the sample.
    let of_start = spread(&residuals) * (1.0 + 5.0 / degrees(points.len())? as f64);
    let mut kept = inliers(points, near, of_start, degrees(points.len())?);
    let mut line = near;
    for _ in 0..ROUNDS {
        let counted: Vec<(f64, f64)> = points
            .iter()
            .zip(&kept)
            .filter_map(|(point, kept)| kept.then_some(*point))
            .collect();
        if 2 * counted.len() < points.len() {
            return None;
        }
        let left = degrees(counted.len())?;
        let (next, scatter) = relative_least_squares(&counted, held, line)?;
        let squares: f64 = counted.iter().map(|p| next.residual(*p).powi(2)).sum();
        let deviation = (squares / left as f64).sqrt();
        let share = counted.len() as f64 / points.len() as f64;
        let now = inliers(points, next, deviation * untrimmed(share), left);
        line = next;
        if now == kept {
            let [slope, intercept] = scatter;
            return Some(Fitted {
                line,
                kept,
                deviation,
                degrees: left,
                slope_error: deviation * slope,
                intercept_error: deviation * intercept,
            });
        }
        kept = now;
    }
    None
}

/// What the deviation of the nearest `share` of a normal sample has to be multiplied by to be that of the whole: without
/// it the points that are left call the next ones wild, and so on (the consistency factor of least trimmed squares,
/// Rousseeuw & Leroy, as above).
fn untrimmed(share: f64) -> f64 {
    // As good as the normal distribution here.
    const MANY: usize = 400;
    if share >= 1.0 {
        return 1.0;
    }
    let reach = student::half_width(1.0 - share, MANY);
    let density = (-0.5 * reach * reach).exp() / std::f64::consts::TAU.sqrt();
    (1.0 - 2.0 * reach * density / share).sqrt().recip()
}

/// Numbers that a line is free in.
fn free_terms(held: Option<f64>) -> usize {
    if held.is_some() { 1 } else { 2 }
}

/// Which points lie no farther from a line than chance explains.
fn inliers(points: &[(f64, f64)], line: FittedLine, deviation: f64, degrees: usize) -> Vec<bool> {
    // Below this the points lie on the line and there is nothing to divide by.
    const SMALLEST_DEVIATION: f64 = 0.001;
    let reach = student::half_width(FALSE_ALARM / points.len() as f64, degrees);
    let reach = reach * deviation.max(SMALLEST_DEVIATION);
    points.iter().map(|p| line.residual(*p).abs() <= reach).collect()
}

/// Least squares with weights 1 / line², taken from line to line until it stands; and the standard errors of slope and
/// intercept for a deviation of 1.
fn relative_least_squares(
    points: &[(f64, f64)],
    held: Option<f64>,
    near: FittedLine,
) -> Option<(FittedLine, [f64; 2])> {
    const ROUNDS: usize = 50;
    // A share of the slope far below any doubt of a log.
    const SETTLED: f64 = 1.0 / 10_000_000.0;
    let mut line = near;
    for _ in 0..ROUNDS {
        let weighted = points.iter().map(|(x, y)| (*x, *y, line.at(*x).powi(-2)));
        let (next, scatter) = least_squares(weighted, held)?;
        let settled = (next.slope - line.slope).abs() <= SETTLED * line.slope;
        line = next;
        if settled {
            return Some((line, scatter));
        }
    }
    None
}

fn start(points: &[(f64, f64)], held: Option<f64>) -> Option<FittedLine> {
    let through = |(x, y): (f64, f64), intercept: f64| FittedLine {
        intercept,
        slope: (y - intercept) / x,
    };
    let n = points.len();
    let stride = (n * n / 2 / MOST_PAIRS).max(1);
    let pairs = (0..n)
        .flat_map(|i| (i + 1..n).map(move |j| (i, j)))
        .step_by(stride);
    let candidates: Vec<FittedLine> = match held {
        Some(intercept) => points.iter().map(|p| through(*p, intercept)).collect(),
        None => pairs
            .map(|(i, j)| {
                let ((x1, y1), (x2, y2)) = (points[i], points[j]);
                let slope = (y2 - y1) / (x2 - x1);
                FittedLine {
                    intercept: y1 - slope * x1,
                    slope,
                }
            })
            .chain(points.iter().map(|p| through(*p, 0.0)))
            .collect(),
    };
    let error = |line: &FittedLine| median(points.iter().map(|p| line.residual(*p).abs()).collect());
    candidates
        .into_iter()
        .filter(|line| line.slope > 0.0 && line.slope.is_finite() && line.intercept >= 0.0)
        .map(|line| (error(&line), line))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, line)| line)
}

/// Of points (x, y, weight): the line, and the standard errors of slope and intercept for a deviation of 1.
fn least_squares(
    points: impl Iterator<Item = (f64, f64, f64)>,
    held: Option<f64>,
) -> Option<(FittedLine, [f64; 2])> {
    let [w, wx, wy, wxx, wxy] = points.fold([0.0; 5], |[w, wx, wy, wxx, wxy], (x, y, weight)| {
        let (vx, vy) = (weight * x, weight * y);
        [w + weight, wx + vx, wy + vy, wxx + vx * x, wxy + vx * y]
    });
    let fixed = |intercept: f64| FittedLine {
        intercept,
        slope: (wxy - intercept * wx) / wxx,
    };
    let (line, scatter) = if let Some(intercept) = held {
        (fixed(intercept), [wxx.recip().sqrt(), 0.0])
    } else {
        let determinant = w * wxx - wx * wx;
        let slope = (w * wxy - wx * wy) / determinant;
        let free = FittedLine {
            intercept: (wy - slope * wx) / w,
            slope,
        };
        let scatter = [(w / determinant).sqrt(), (wxx / determinant).sqrt()];
        (if free.intercept >= 0.0 { free } else { fixed(0.0) }, scatter)
    };
    let sound = line.slope.is_finite() && line.slope > 0.0 && scatter.iter().all(|error| error.is_finite());
    sound.then_some((line, scatter))
}

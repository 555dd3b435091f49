//! Fits rate and set-up to finished jobs whose errors are relative, some of them wild.

use super::student;
use crate::elementary::{exp, hypot, ln};
use crate::estimate::PacedMinutes;

/// Share of logs without a wild job in which one is called wild all the same: as large as the intervals of such logs allow.
const FALSE_ALARM: f64 = 0.015;

/// A finished job as the fit sees it: what the model counts of that which its minutes hold.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sample {
    /// Cutting.
    pub(super) paced: Vec<PacedMinutes>,
    /// What does not go with the rate: threading, stops ….
    pub(super) other_min: f64,
    /// Whether a set-up is in its minutes.
    pub(super) has_setup: bool,
    /// Minutes that it took.
    pub(super) real_min: f64,
}

/// Minutes = paced minutes × slowness + others + set-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Terms {
    /// Logarithm of the minutes of cutting against the book's: the rate factor is exp of its negative.
    pub(super) ln_slowness: f64,
    /// Minutes of a set-up.
    pub(super) setup_min: f64,
}

impl Sample {
    pub(super) fn expected_min(&self, terms: Terms) -> f64 {
        let slowness = exp(terms.ln_slowness);
        let cut = self.paced.iter();
        let cut: f64 = cut
            .map(|part| (part.minutes * slowness).max(part.least_minutes))
            .sum();
        cut + self.other_min + if self.has_setup { terms.setup_min } else { 0.0 }
    }

    /// Logarithm of the real minutes over what these terms say.
    pub(super) fn residual(&self, terms: Terms) -> f64 {
        ln(self.real_min / self.expected_min(terms))
    }

    /// How the logarithm of the minutes changes with each term.
    pub(super) fn gradient(&self, terms: Terms) -> [f64; 2] {
        let slowness = exp(terms.ln_slowness);
        let paced = self
            .paced
            .iter()
            .map(|part| (part.minutes * slowness, part.least_minutes));
        let paced: f64 = paced.filter(|(now, least)| now > least).map(|(now, _)| now).sum();
        let setup = if self.has_setup { 1.0 } else { 0.0 };
        [paced, setup].map(|part| part / self.expected_min(terms))
    }

    /// This job on a machine that is slower by this logarithm.
    pub(super) fn slowed(&self, ln_slower: f64) -> Self {
        let slow = |part: &PacedMinutes| PacedMinutes {
            minutes: part.minutes * exp(ln_slower),
            ..*part
        };
        Self {
            paced: self.paced.iter().map(slow).collect(),
            ..self.clone()
        }
    }
}

/// What was fitted, with what the jobs leave open.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fitted {
    pub(super) terms: Terms,
    /// Whether each job had weight; the others are wild.
    pub(super) kept: Vec<bool>,
    /// Standard deviation of the relative errors of the jobs that had weight.
    pub(super) deviation: f64,
    /// Degrees of freedom that are left.
    pub(super) degrees: usize,
    /// Covariances of the terms for a deviation of 1; 0 for a set-up that is held.
    covariance: [[f64; 2]; 2],
    /// By how much the logarithm of the slowness falls for a minute more of a set-up that is held.
    tilt: f64,
}

impl Fitted {
    /// Returns the standard error of the logarithm of the rate; a set-up that is held may be off by `setup_doubt_min`.
    pub(super) fn rate_error(&self, setup_doubt_min: f64) -> f64 {
        let scatter = self.deviation * self.covariance[0][0].sqrt();
        hypot(scatter, self.tilt * setup_doubt_min)
    }

    /// Returns the standard error of the set-up; 0 where it is held.
    pub(super) fn setup_error(&self) -> f64 {
        self.deviation * self.covariance[1][1].sqrt()
    }

    /// Returns the job that lies farthest off among those that have weight, and how far against the fit through the others, in
    /// standard errors: its externally studentised residual.
    fn farthest(&self, jobs: &[Sample]) -> Option<(usize, f64)> {
        // Below this the jobs lie on the fit and there is nothing to divide by.
        const SMALLEST_DEVIATION: f64 = 0.001;
        let degrees = self.degrees as f64;
        let kept = (0..jobs.len()).filter(|i| self.kept[*i]);
        let offs = kept.map(|i| {
            let left = self.left(&jobs[i]);
            let deviation = self.deviation.max(SMALLEST_DEVIATION);
            let inside = (jobs[i].residual(self.terms) / deviation).powi(2) / left;
            // All of the scatter is this one job.
            let outside = (degrees - inside).max(f64::EPSILON);
            (i, (inside * (degrees - 1.0) / outside).sqrt())
        });
        offs.max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Standard deviation of the relative error of a job that the fit has not seen, like those that have weight.
    pub(super) fn unseen_deviation(&self, jobs: &[Sample]) -> f64 {
        let kept = jobs.iter().zip(&self.kept).filter(|(_, kept)| **kept);
        let unseen: Vec<f64> = kept.map(|(job, _)| self.left(job).recip()).collect();
        self.deviation * (unseen.iter().sum::<f64>() / unseen.len() as f64).sqrt()
    }

    /// Returns the residual of each job against the fit through all others (Allen, The relationship between variable selection and
    /// data augmentation and a method for prediction, Technometrics 16 (1974), 125-127).
    pub(super) fn unseen_residuals(&self, jobs: &[Sample]) -> Vec<f64> {
        let pairs = jobs.iter().zip(&self.kept);
        let unseen =
            pairs.map(|(job, kept)| job.residual(self.terms) / if *kept { self.left(job) } else { 1.0 });
        unseen.collect()
    }

    /// Share of the variance of a job that is left in its residual when it is part of the fit.
    fn left(&self, job: &Sample) -> f64 {
        (1.0 - self.leverage(job)).max(f64::EPSILON)
    }

    /// Share of its own variance that a job leaves to the fit that it is part of.
    fn leverage(&self, job: &Sample) -> f64 {
        let [rate, setup] = job.gradient(self.terms);
        let [[rr, rs], [_, ss]] = self.covariance;
        rate * rate * rr + 2.0 * rate * setup * rs + setup * setup * ss
    }
}

/// Fits least squares on relative errors to the jobs that are not wild. One after the other the job that lies farthest off the fit
/// through those that are left is put aside, up to a quarter of them; wild are those up to the last one that lies farther off
/// than chance explains, so that two wild jobs do not hide each other (Paul & Fung, A generalized extreme studentized residual
/// multiple-outlier-detection procedure in linear regression, Technometrics 33 (1991), 339-348). The set-up is never negative; it
/// is held at `held_min` where given. `None` where the jobs do not determine the terms.
pub(super) fn fit(jobs: &[Sample], held_min: Option<f64>) -> Option<Fitted> {
    let mut now = least_squares(jobs, &vec![true; jobs.len()], held_min, start(jobs, held_min))?;
    let mut found = now.clone();
    for left in (jobs.len() - jobs.len() / 4 + 1..=jobs.len()).rev() {
        let (farthest, off) = now.farthest(jobs)?;
        let mut members = now.kept.clone();
        members[farthest] = false;
        let Some(next) = least_squares(jobs, &members, held_min, now.terms) else {
            break;
        };
        let is_wild = off > student::half_width(FALSE_ALARM / left as f64, next.degrees as f64);
        now = next;
        if is_wild {
            found.clone_from(&now);
        }
    }
    let share = found.kept.iter().filter(|kept| **kept).count() as f64 / jobs.len() as f64;
    found.deviation *= untrimmed(share);
    Some(found)
}

/// What the deviation of the nearest `share` of a normal sample has to be multiplied by to be that of the whole (the consistency
/// factor of least trimmed squares, Rousseeuw & Leroy, Robust Regression and Outlier Detection, 1987, ch. 4): a job that is put
/// aside may have been no more than the farthest of the others.
fn untrimmed(share: f64) -> f64 {
    // As good as the normal distribution here.
    const MANY: f64 = 400.0;
    if share >= 1.0 {
        return 1.0;
    }
    let reach = student::half_width(1.0 - share, MANY);
    let density = exp(-0.5 * reach * reach) / std::f64::consts::TAU.sqrt();
    (1.0 - 2.0 * reach * density / share).sqrt().recip()
}

/// Terms to begin with: the set-up that is held or none, and the median of what the rate would be of each job.
pub(super) fn start(jobs: &[Sample], held_min: Option<f64>) -> Terms {
    let setup_min = held_min.unwrap_or(0.0);
    let at_book = Terms {
        ln_slowness: 0.0,
        setup_min,
    };
    Terms {
        ln_slowness: median(jobs.iter().map(|job| job.residual(at_book)).collect()),
        setup_min,
    }
}

/// Numbers that a fit is free in.
fn free_terms(held_min: Option<f64>) -> usize {
    if held_min.is_some() { 1 } else { 2 }
}

/// Fits the jobs that are `members` and no others; `near` are terms near the fit.
fn least_squares(jobs: &[Sample], members: &[bool], held_min: Option<f64>, near: Terms) -> Option<Fitted> {
    let (terms, covariance, tilt) = descend(jobs, members, held_min, near)?;
    let kept = members.iter().filter(|kept| **kept).count();
    let degrees = kept.checked_sub(free_terms(held_min)).filter(|left| *left > 0)?;
    Some(Fitted {
        terms,
        kept: members.to_vec(),
        deviation: (squares(jobs, members, terms) / degrees as f64).sqrt(),
        degrees,
        covariance,
        tilt: if held_min.is_some() { tilt } else { 0.0 },
    })
}

/// Finds the least squares of the residuals of `members`: by Gauss and Newton's steps, and where the fastest feed of a skim keeps
/// them from settling by halving. Returns the covariances for a deviation of 1 and the tilt too.
fn descend(
    jobs: &[Sample],
    members: &[bool],
    held_min: Option<f64>,
    near: Terms,
) -> Option<(Terms, [[f64; 2]; 2], f64)> {
    let terms = Terms {
        setup_min: held_min.unwrap_or(near.setup_min),
        ..near
    };
    let is_free = held_min.is_none();
    let terms = stepped(jobs, members, is_free, terms).or_else(|| halved(jobs, members, is_free, terms))?;
    // At a bend the side that tells less.
    let beside = Terms {
        ln_slowness: terms.ln_slowness - 10.0 * SETTLED,
        ..terms
    };
    let NormalSums { rr, rs, ss, .. } = NormalSums::of(jobs, members, beside);
    let determinant = rr * ss - rs * rs;
    let covariance = if is_free {
        [
            [ss / determinant, -rs / determinant],
            [-rs / determinant, rr / determinant],
        ]
    } else {
        [[rr.recip(), 0.0], [0.0, 0.0]]
    };
    let is_told = covariance.as_flattened().iter().all(|c| c.is_finite());
    is_told.then_some((terms, covariance, rs / rr))
}

/// A share of the rate, or minutes, far below any doubt of a log.
const SETTLED: f64 = 1.0 / 10_000_000.0;

/// Gauss and Newton's steps; `None` where they do not settle.
fn stepped(jobs: &[Sample], members: &[bool], is_free: bool, near: Terms) -> Option<Terms> {
    const ROUNDS: usize = 15;
    // Farther than this the tangent says nothing.
    const LONGEST_STEP: f64 = 0.7;
    let mut terms = near;
    for _ in 0..ROUNDS {
        let NormalSums { rr, rs, ss, r, s } = NormalSums::of(jobs, members, terms);
        let mut step = [r / rr, 0.0];
        if is_free {
            let determinant = rr * ss - rs * rs;
            let both = [(ss * r - rs * s) / determinant, (rr * s - rs * r) / determinant];
            // Where it would be negative: the best rate without a set-up.
            step = if terms.setup_min + both[1] >= 0.0 {
                both
            } else {
                [(r + rs * terms.setup_min) / rr, -terms.setup_min]
            };
        }
        let share = (LONGEST_STEP / step[0].abs()).min(1.0);
        terms.ln_slowness += share * step[0];
        terms.setup_min += share * step[1];
        if !(terms.ln_slowness.is_finite() && terms.setup_min.is_finite()) {
            return None;
        }
        if step[0].abs() <= SETTLED && step[1].abs() <= SETTLED * (1.0 + terms.setup_min) {
            return Some(terms);
        }
    }
    None
}

/// Halves to where a slower rate no longer makes the squares less, each time with the best set-up; `None` where that is nowhere near.
fn halved(jobs: &[Sample], members: &[bool], is_free: bool, near: Terms) -> Option<Terms> {
    const HALVINGS: usize = 40;
    const WIDTH: f64 = 3.0;
    let at = |ln_slowness: f64| {
        let mut terms = Terms { ln_slowness, ..near };
        for _ in 0..HALVINGS {
            let NormalSums { ss, s, .. } = NormalSums::of(jobs, members, terms);
            let next_min = if is_free {
                (terms.setup_min + s / ss).max(0.0)
            } else {
                terms.setup_min
            };
            let moved_min = (next_min - terms.setup_min).abs();
            terms.setup_min = next_min;
            if moved_min <= SETTLED {
                break;
            }
        }
        (terms, NormalSums::of(jobs, members, terms).r)
    };
    let (mut low, mut high) = (near.ln_slowness - WIDTH, near.ln_slowness + WIDTH);
    if !(at(low).1 > 0.0 && at(high).1 < 0.0) {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if at(middle).1 > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(at(high).0)
}

/// Sums over members of the products of gradients (of rate r and set-up s), and of both with the residual.
struct NormalSums {
    rr: f64,
    rs: f64,
    ss: f64,
    r: f64,
    s: f64,
}

impl NormalSums {
    fn of(jobs: &[Sample], members: &[bool], terms: Terms) -> Self {
        let mut sums = Self {
            rr: 0.0,
            rs: 0.0,
            ss: 0.0,
            r: 0.0,
            s: 0.0,
        };
        for (job, _) in jobs.iter().zip(members).filter(|(_, kept)| **kept) {
            let ([rate, setup], off) = (job.gradient(terms), job.residual(terms));
            sums.rr += rate * rate;
            sums.rs += rate * setup;
            sums.ss += setup * setup;
            sums.r += rate * off;
            sums.s += setup * off;
        }
        sums
    }
}

fn squares(jobs: &[Sample], members: &[bool], terms: Terms) -> f64 {
    let kept = jobs.iter().zip(members).filter(|(_, kept)| **kept);
    kept.map(|(job, _)| job.residual(terms).powi(2)).sum()
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

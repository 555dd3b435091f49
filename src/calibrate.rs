//! Learning from finished jobs: minutes = fixed + model minutes / rate factor, fitted robustly for each material
//! and wire, judged by jobs that the fit has not seen.

mod job_log;
mod robust_line;
mod student;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use thiserror::Error;

use crate::pass::{self, PassRequest};
use crate::shop::Book;
use crate::units::{Band, UM_PER_MM};

use robust_line::{Fitted, FittedLine, median, reweighted, robust_line, spread};

pub use job_log::{LogFlaw, LogJob, read_log};

/// Fewest jobs of one material and wire that a fit is made from.
pub const FEWEST_JOBS: usize = 5;

/// The largest job has to take this many times the model minutes of the smallest for fixed minutes and rate to be
/// told apart.
const WIDTH_TO_SPLIT: f64 = 2.0;

/// A fit whose typical error on unseen jobs is above this says nothing, and likewise one whose rate it cannot tell
/// better than this.
const LARGEST_ERROR_PERCENT: f64 = 50.0;

/// A rate that the log tells no better than this, at 95 %, is said to be so, with the number of jobs that would.
pub const WELL_TOLD_PERCENT: f64 = 3.0;

/// Share of the cases that every interval here leaves outside.
const OUTSIDE: f64 = 0.05;

/// What was learned of one material and wire.
#[derive(Clone, Debug, PartialEq)]
pub struct RateFit {
    /// Material.
    pub material: String,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// Jobs it was fitted to.
    pub jobs: usize,
    /// Jobs of the log that lie so far off that they had no weight, by line.
    pub wild_lines: Vec<usize>,
    /// Area rates against the book's.
    pub rate_factor: Band,
    /// Half of the interval that holds the rate factor with 95 %, percent of it (Student's t).
    pub rate_told_within_percent: f64,
    /// Minutes that do not go with length.
    pub fixed_min: Band,
    /// Whether the fixed minutes come from the log; else they are the book's set-up.
    pub fixed_is_fitted: bool,
    /// Median error of the book before, percent.
    pub error_before_percent: f64,
    /// Median error on jobs that the fit had not seen (leave-one-out), percent.
    pub error_after_percent: f64,
    /// Measured Ra against the book's, and how many measured it.
    pub ra_ratio: Option<(Band, usize)>,
    /// Median of the offset corrections, µm, and how many were logged.
    pub offset_correction_um: Option<(Band, usize)>,
}

/// A material and wire that the log cannot support a fit for.
#[derive(Clone, Debug, PartialEq)]
pub struct NoFit {
    /// Material.
    pub material: String,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// Jobs there are.
    pub jobs: usize,
    /// Why not.
    pub reason: NoFitReason,
}

/// Why a log cannot support a fit.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum NoFitReason {
    /// It holds too few jobs.
    #[error("{jobs} jobs; a fit needs at least {FEWEST_JOBS}")]
    TooFewJobs {
        /// Jobs there are.
        jobs: usize,
    },
    /// Longer jobs did not take more minutes.
    #[error(
        "longer jobs did not take more minutes: the log does not hold together, or its minutes are not of these jobs"
    )]
    NotRising,
    /// Jobs that the fit has not seen are too far off.
    #[error(
        "jobs that the fit has not seen are typically {error_percent:.0} % off: too scattered to learn from"
    )]
    Scattered {
        /// Their median error, percent.
        error_percent: f64,
    },
    /// The rate is told too badly.
    #[error("the rate cannot be told to better than {within_percent:.0} %: log more jobs, short and long")]
    RateUncertain {
        /// How far it may be off, percent.
        within_percent: f64,
    },
}

/// All that a log has taught.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Calibrated {
    /// What was learned.
    pub fits: Vec<RateFit>,
    /// What could not be.
    pub refused: Vec<NoFit>,
    /// Rows that could not be used.
    pub flaws: Vec<LogFlaw>,
}

/// One job as the fit sees it.
struct JobSample {
    line: usize,
    model_min: f64,
    real_min: f64,
    ra_ratio: Option<f64>,
    correction_um: Option<f64>,
}

/// Fits every material and wire of the log against the book as it stands without calibrations.
pub fn calibrate(book: &Book, jobs: &[LogJob]) -> Calibrated {
    let plain = Book {
        calibrations: Vec::new(),
        ..book.clone()
    };
    let mut result = Calibrated::default();
    let mut groups: BTreeMap<(String, String, String), (f64, Vec<JobSample>)> = BTreeMap::new();
    for job in jobs {
        match seen(&plain, job) {
            Ok((material, wire_mm, kind, seen)) => {
                let key = (material, format!("{wire_mm:.3}"), kind);
                groups
                    .entry(key)
                    .or_insert_with(|| (wire_mm, Vec::new()))
                    .1
                    .push(seen);
            }
            Err(reason) => result.flaws.push(LogFlaw {
                line: job.line,
                reason,
            }),
        }
    }
    for ((material, _, wire_kind), (wire_mm, seen)) in groups {
        let jobs = seen.len();
        match fit(&plain, &seen) {
            Ok(found) => result.fits.push(RateFit {
                material,
                wire_mm,
                wire_kind,
                ..found
            }),
            Err(reason) => result.refused.push(NoFit {
                material,
                wire_mm,
                wire_kind,
                jobs,
                reason,
            }),
        }
    }
    result
}

fn seen(book: &Book, job: &LogJob) -> Result<(String, f64, String, JobSample), String> {
    let length_mm = job.length_mm.ok_or("its drawing gave no length")?;
    let mut request = PassRequest::new(&job.material, job.thickness_mm, job.wire_mm, job.passes);
    request.wire_kind.clone_from(&job.wire_kind);
    let setting = request.setting(book).map_err(|error| error.to_string())?;
    let passes = pass::passes(book, &request).map_err(|error| error.to_string())?;
    let area_mm2 = length_mm * job.thickness_mm;
    let model_min = passes
        .iter()
        .map(|pass| area_mm2 / pass.area_rate_mm2_min.expected)
        .sum();
    let ra_model_um = passes.last().map(|pass| pass.ra_um.expected);
    let seen = JobSample {
        line: job.line,
        model_min,
        real_min: job.minutes,
        ra_ratio: job.ra_um.zip(ra_model_um).map(|(real, model)| real / model),
        correction_um: job.offset_correction_mm.map(|mm| mm * UM_PER_MM),
    };
    Ok((
        setting.material.name.clone(),
        setting.wire.size.diameter_mm,
        setting.wire.kind.name.clone(),
        seen,
    ))
}

fn fit(book: &Book, seen: &[JobSample]) -> Result<RateFit, NoFitReason> {
    if seen.len() < FEWEST_JOBS {
        return Err(NoFitReason::TooFewJobs { jobs: seen.len() });
    }
    let points: Vec<(f64, f64)> = seen.iter().map(|job| (job.model_min, job.real_min)).collect();
    let smallest = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let largest = points.iter().map(|p| p.0).fold(0.0, f64::max);
    let setup_min = book.times.setup_min.value();
    let fixed_is_fitted = largest >= WIDTH_TO_SPLIT * smallest;
    let held = (!fixed_is_fitted).then_some(setup_min);
    let fitted = robust_line(&points, held).ok_or(NoFitReason::NotRising)?;
    let line = fitted.line;

    let unseen: Vec<f64> = (0..points.len())
        .filter_map(|i| left_out(&points, i, held, line))
        .collect();
    let percent =
        |residuals: &[f64]| 100.0 * median(residuals.iter().map(|r| (r.exp() - 1.0).abs()).collect());
    let before: Vec<f64> = points.iter().map(|(x, y)| (y / (setup_min + x)).ln()).collect();
    let error_after_percent = percent(&unseen);
    if error_after_percent > LARGEST_ERROR_PERCENT {
        return Err(NoFitReason::Scattered {
            error_percent: error_after_percent,
        });
    }
    let student = student::half_width(OUTSIDE, fitted.degrees);
    let rate_told_within_percent = 100.0 * student * fitted.slope_error / line.slope;
    if rate_told_within_percent > LARGEST_ERROR_PERCENT {
        return Err(NoFitReason::RateUncertain {
            within_percent: rate_told_within_percent,
        });
    }
    // Of a job that the fit has not seen.
    let wide = (student * spread(&unseen).max(fitted.deviation)).exp();
    let factor = line.slope.recip();
    Ok(RateFit {
        material: String::new(),
        wire_mm: 0.0,
        wire_kind: String::new(),
        jobs: seen.len(),
        wild_lines: wild(seen, &fitted),
        rate_factor: Band {
            low: factor / wide,
            expected: factor,
            high: factor * wide,
        },
        rate_told_within_percent,
        fixed_min: fixed_band(&fitted, student),
        fixed_is_fitted,
        error_before_percent: percent(&before),
        error_after_percent,
        ra_ratio: middle(seen.iter().filter_map(|job| job.ra_ratio).collect()),
        offset_correction_um: middle(seen.iter().filter_map(|job| job.correction_um).collect()),
    })
}

/// Residual of a job against the line through all others.
fn left_out(points: &[(f64, f64)], i: usize, held: Option<f64>, all: FittedLine) -> Option<f64> {
    let others: Vec<(f64, f64)> = points
        .iter()
        .enumerate()
        .filter(|(j, _)| *j != i)
        .map(|(_, point)| *point)
        .collect();
    reweighted(&others, held, all).map(|fitted| fitted.line.residual(points[i]))
}

fn wild(seen: &[JobSample], fitted: &Fitted) -> Vec<usize> {
    seen.iter()
        .zip(&fitted.kept)
        .filter(|(_, kept)| !**kept)
        .map(|(job, _)| job.line)
        .collect()
}

/// Computes the intercept with its 95 % interval, never below 0.
fn fixed_band(fitted: &Fitted, student: f64) -> Band {
    let half = student * fitted.intercept_error;
    let expected = fitted.line.intercept;
    Band {
        low: (expected - half).max(0.0),
        expected,
        high: expected + half,
    }
}

/// Median with the quarter points as its band, of three values or more.
fn middle(mut values: Vec<f64>) -> Option<(Band, usize)> {
    const FEWEST: usize = 3;
    if values.len() < FEWEST {
        return None;
    }
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let expected = median(values.clone());
    Some((
        Band {
            low: values[n / 4].min(expected),
            expected,
            high: values[n - 1 - n / 4].max(expected),
        },
        n,
    ))
}

impl Calibrated {
    /// Writes a fragment of a book that holds what was learned, in TOML.
    pub fn fragment(&self, book: &Book) -> String {
        let mut text = String::new();
        for fit in &self.fits {
            fit.write(&mut text);
        }
        let mut by_material: BTreeMap<&str, Vec<&RateFit>> = BTreeMap::new();
        for fit in self.fits.iter().filter(|fit| fit.ra_ratio.is_some()) {
            by_material.entry(&fit.material).or_default().push(fit);
        }
        for (material, fits) in by_material {
            // The wire that was measured most often speaks for the material.
            let best = fits
                .iter()
                .filter_map(|fit| fit.ra_ratio)
                .max_by_key(|(_, count)| *count);
            if let Some(((ratio, count), old)) = best.zip(book.materials.get(material)) {
                let factor = ratio.scaled(old.ra_factor.value());
                let _ = writeln!(text, "[material.{}]", quoted(material));
                let _ = writeln!(
                    text,
                    "ra_factor = {}\n",
                    number(factor, &format!("measured on {count} jobs"))
                );
            }
        }
        text
    }
}

impl RateFit {
    /// Whether the log tells the rate as well as 3 % at 95 %.
    pub fn is_well_told(&self) -> bool {
        self.rate_told_within_percent <= WELL_TOLD_PERCENT
    }

    /// Jobs like these, short and long, that would tell the rate as well: the error falls with the root of their number.
    pub fn jobs_to_be_well_told(&self) -> usize {
        let times = (self.rate_told_within_percent / WELL_TOLD_PERCENT)
            .powi(2)
            .max(1.0);
        (self.jobs as f64 * times).ceil() as usize
    }

    /// Writing to a text cannot fail.
    fn write(&self, text: &mut String) {
        let Self {
            material,
            wire_mm,
            wire_kind,
            jobs,
            ..
        } = self;
        let source = format!(
            "fitted to {jobs} jobs of the shop's log, which tell it to ±{:.1} %",
            self.rate_told_within_percent
        );
        let fixed = if self.fixed_is_fitted {
            "fitted to the same jobs"
        } else {
            "the book's set-up: the jobs were too alike to fit it"
        };
        let name = quoted(&format!("{material} {wire_mm:.2} {wire_kind}"));
        let _ = writeln!(text, "[calibration.{name}]");
        let _ = writeln!(text, "material = {}\nwire_mm = {wire_mm}", quoted(material));
        let _ = writeln!(text, "wire_kind = {}", quoted(wire_kind));
        let _ = writeln!(text, "rate_factor = {}", number(self.rate_factor, &source));
        let _ = writeln!(text, "fixed_min = {}", number(self.fixed_min, fixed));
        if let Some((correction, count)) = self.offset_correction_um {
            let source = format!("measured on {count} jobs");
            let _ = writeln!(text, "offset_correction_um = {}", number(correction, &source));
        }
        let _ = writeln!(
            text,
            "jobs = {jobs}\ntypical_error_percent = {:.1}\n",
            self.error_after_percent
        );
    }
}

/// Quotes a name of the book as TOML writes it, whatever is in it.
fn quoted(name: &str) -> String {
    toml::Value::from(name).to_string()
}

fn number(band: Band, source: &str) -> String {
    let Band { low, expected, high } = band;
    format!(
        "{{ value = {expected:.6}, low = {low:.6}, high = {high:.6}, basis = \"shop\", source = \"{source}\" }}"
    )
}

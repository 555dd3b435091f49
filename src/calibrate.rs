//! Learning from finished jobs: minutes = cutting / rate factor + the model's other terms (+ set-up), fitted robustly for each
//! material, wire and machine, judged by jobs that the fit has not seen.

pub(crate) mod fragment;
mod job_fit;
mod job_log;
mod job_sample;
mod log_table;
mod machines;
pub(crate) mod student;
#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, BTreeSet};

use serde::{Serialize, Serializer};
use thiserror::Error;

use crate::elementary::{exp, exp_m1, hypot, ln};
use crate::shop::{Book, MinutesHold};
use crate::units::Band;

use job_fit::{Fitted, Sample, Terms, fit, median};
use job_sample::{JobSample, Work, sample};
use machines::{PooledFit, fit_together};

pub use job_log::{FurtherColumn, JobLog, LogJob, read_log};
pub use log_table::LogFlaw;
pub(crate) use log_table::{LogRow, LogTable};

/// Fewest jobs of one material and wire that a fit is made from.
pub const FEWEST_JOBS: usize = 5;

/// Fewest jobs of one machine that it gets a fit of its own from: with fewer, what all machines say is the better guide.
pub const FEWEST_JOBS_OF_A_MACHINE: usize = 8;

/// The largest job has to take this many times the model minutes of the smallest for set-up and rate to be told apart.
const WIDTH_TO_SPLIT: f64 = 2.0;

/// Fewest jobs with a set-up in their minutes that it is fitted from.
const FEWEST_SETUPS: usize = 3;

/// A fit whose typical error on unseen jobs is above this says nothing.
const LARGEST_ERROR_PERCENT: f64 = 50.0;

/// A rate that is told no better than may be half or double is told no better than by a book without calibration.
const LARGEST_DOUBT_PERCENT: f64 = 100.0;

/// What is further off than this is said to be off by this.
const MOST_PRINTED_PERCENT: f64 = 999.0;

/// A rate that the log tells no better than this, at 95 %, is said to be so, with the number of jobs that would.
pub const WELL_TOLD_PERCENT: f64 = 3.0;

/// Share of the cases that every interval here leaves outside.
const OUTSIDE: f64 = 0.05;

/// What was learned of one material and wire, on one machine or on all.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "FitRow"))]
#[non_exhaustive]
pub struct RateFit {
    /// Name of the material.
    pub material: String,
    /// Diameter of the wire, mm.
    pub wire_mm: f64,
    /// Kind of the wire.
    pub wire_kind: String,
    /// The machine that it is for; null for those that have none of their own.
    pub machine: Option<String>,
    /// Whether jobs of other machines speak in it too.
    pub is_pooled: bool,
    /// What the minutes of the jobs hold.
    pub minutes_hold: Vec<MinutesHold>,
    /// Jobs it was fitted to; of the machine, where it is for one.
    pub jobs: usize,
    /// Jobs of the log that lie so far off that they had no weight, by line.
    pub wild_lines: Vec<usize>,
    /// What the area rates of the book are to be multiplied by; the band is that of a job which the fit has not seen.
    pub rate_factor: Band,
    /// How far the rate factor may be off with 95 %, percent of it (Student's t).
    pub rate_told_within_percent: f64,
    /// Minutes of a set-up.
    pub fixed_min: Band,
    /// Whether these come from the log; else they are the book's.
    pub fixed_is_fitted: bool,
    /// Median error of the book before, percent.
    pub error_before_percent: f64,
    /// Median error on jobs that the fit had not seen (leave-one-out), percent.
    pub error_after_percent: f64,
    // The next two with how many jobs they are of, which is not written.
    /// Measured Ra over expected Ra; null where none was measured.
    #[serde(serialize_with = "without_count")]
    #[cfg_attr(test, schemars(with = "Option<Band>"))]
    pub ra_ratio: Option<(Band, usize)>,
    /// Median of the offset corrections of the log, µm; null where it has none.
    #[serde(serialize_with = "without_count")]
    #[cfg_attr(test, schemars(with = "Option<Band>"))]
    pub offset_correction_um: Option<(Band, usize)>,
}

/// A finished job beside what the fit says of it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct JobOutcome {
    /// Line of the log.
    pub line: usize,
    /// Material.
    pub material: String,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// Machine.
    pub machine: Option<String>,
    /// What both minutes hold.
    pub minutes_hold: MinutesHold,
    /// Minutes that it took.
    pub real_min: f64,
    /// Minutes by the fit; the band holds 95 % of such jobs.
    pub expected_min: Band,
    /// Whether it had no weight in the fit.
    pub is_wild: bool,
}

/// A material and wire that the log cannot support a fit for.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "RefusedRow"))]
#[non_exhaustive]
pub struct NoFit {
    /// Name of the material.
    pub material: String,
    /// Diameter of the wire, mm.
    pub wire_mm: f64,
    /// Kind of the wire.
    pub wire_kind: String,
    /// How many jobs there are.
    pub jobs: usize,
    /// Why they are not enough, one sentence.
    #[serde(serialize_with = "as_text")]
    #[cfg_attr(test, schemars(with = "String"))]
    pub reason: NoFitReason,
}

/// Why a log cannot support a fit.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
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
#[non_exhaustive]
pub struct Calibrated {
    /// What was learned: of each material and wire that of all machines first.
    pub fits: Vec<RateFit>,
    /// The jobs that were fitted, those worst off first.
    pub jobs: Vec<JobOutcome>,
    /// What could not be learned.
    pub refused: Vec<NoFit>,
    /// Rows that could not be used.
    pub flaws: Vec<LogFlaw>,
    /// Columns that were not used.
    pub further: Vec<FurtherColumn>,
    /// Lines of jobs without a drawing: what is done beside the cut was taken as usual.
    pub without_drawing: Vec<usize>,
    /// Machines of the log that the book does not have: their jobs were modelled on its usual one.
    pub machines_not_in_book: BTreeSet<String>,
}

/// Fits every material, wire and machine of the log against the book as it stands without calibrations.
pub fn calibrate(book: &Book, jobs: &[LogJob]) -> Calibrated {
    let plain = book.without_calibrations();
    let mut result = Calibrated::default();
    let mut groups: BTreeMap<(String, String, String), (Work, Vec<JobSample>)> = BTreeMap::new();
    for job in jobs {
        match sample(&plain, job) {
            Ok((work, seen)) => {
                let key = (
                    work.material.clone(),
                    format!("{:.3}", work.wire_mm),
                    work.wire_kind.clone(),
                );
                groups
                    .entry(key)
                    .or_insert_with(|| (work, Vec::new()))
                    .1
                    .push(seen);
            }
            Err(reason) => result.flaws.push(LogFlaw {
                line: job.line,
                reason,
            }),
        }
    }
    result.without_drawing = jobs
        .iter()
        .filter(|job| job.planned.is_none())
        .map(|job| job.line)
        .collect();
    let named = jobs.iter().filter_map(|job| job.machine.clone());
    result.machines_not_in_book = named.filter(|name| !book.machines.contains_key(name)).collect();
    for (work, seen) in groups.into_values() {
        let group = JobGroup {
            book: &plain,
            work,
            jobs: &seen,
        };
        match group.learn() {
            Ok((fits, jobs)) => {
                result.fits.extend(fits);
                result.jobs.extend(jobs);
            }
            Err(reason) => result.refused.push(NoFit {
                material: group.work.material,
                wire_mm: group.work.wire_mm,
                wire_kind: group.work.wire_kind,
                jobs: seen.len(),
                reason,
            }),
        }
    }
    result
        .jobs
        .sort_by(|a, b| b.off().abs().total_cmp(&a.off().abs()));
    result
}

/// The jobs of one material and wire.
struct JobGroup<'a> {
    book: &'a Book,
    work: Work,
    jobs: &'a [JobSample],
}

/// Rate and set-up of some jobs.
struct Learned {
    fitted: Fitted,
    /// The jobs, as if all had been cut on one machine.
    samples: Vec<Sample>,
    /// Minutes of a set-up that were held, and one standard deviation of them; `None` where they were fitted.
    held_min: Option<(f64, f64)>,
    /// Errors of jobs that the fit has not seen, as logarithms.
    unseen: Vec<f64>,
}

/// A machine against those that a fit was made from.
#[derive(Clone, Copy)]
struct MachineEffect<'a> {
    name: Option<&'a str>,
    /// Logarithm of how much slower it is.
    slower: f64,
    /// Variance of that.
    open: f64,
    is_pooled: bool,
}

impl JobGroup<'_> {
    /// Learns from all jobs together and, where the log names several machines, of each of them.
    fn learn(&self) -> Result<(Vec<RateFit>, Vec<JobOutcome>), NoFitReason> {
        let all: Vec<&JobSample> = self.jobs.iter().collect();
        if all.len() < FEWEST_JOBS {
            return Err(NoFitReason::TooFewJobs { jobs: all.len() });
        }
        let machines: BTreeSet<Option<&str>> = self.jobs.iter().map(JobSample::machine).collect();
        let machines: Vec<Option<&str>> = machines.into_iter().collect();
        if let [name] = machines[..] {
            let (found, jobs) = self.told_alone(&all, name)?;
            return Ok((vec![found], jobs));
        }
        let (learned, pooled) = self.learned_together(&all, &machines)?;
        let pooled_effect = |name, slower, open| MachineEffect {
            name,
            slower,
            open,
            is_pooled: true,
        };
        let spread = pooled.between * (1.0 + (machines.len() as f64).recip());
        let (usual, _) = self.told(&learned, &all, pooled_effect(None, 0.0, spread))?;
        let mut fits = vec![usual];
        let mut outcomes = Vec::new();
        for (name, (slower, open)) in machines.iter().zip(&pooled.slower) {
            let own: Vec<&JobSample> = all.iter().copied().filter(|job| job.machine() == *name).collect();
            let are_enough = name.is_some() && own.len() >= FEWEST_JOBS_OF_A_MACHINE;
            // Jobs that do not support a fit of their own have the others beside them.
            let alone = are_enough.then(|| self.told_alone(&own, *name).ok()).flatten();
            let (found, jobs) = match alone {
                Some(told) => told,
                None => self.told(&learned, &own, pooled_effect(*name, *slower, *open))?,
            };
            outcomes.extend(jobs);
            // Jobs of which no machine is told speak for all of them.
            fits.extend(name.map(|_| found));
        }
        Ok((fits, outcomes))
    }

    /// What these jobs by themselves tell.
    fn told_alone(
        &self,
        jobs: &[&JobSample],
        name: Option<&str>,
    ) -> Result<(RateFit, Vec<JobOutcome>), NoFitReason> {
        let alone = MachineEffect {
            name,
            slower: 0.0,
            open: 0.0,
            is_pooled: false,
        };
        self.told(&self.learned(jobs)?, jobs, alone)
    }

    /// What was learned of a machine, and its jobs beside it.
    fn told(
        &self,
        learned: &Learned,
        jobs: &[&JobSample],
        machine: MachineEffect<'_>,
    ) -> Result<(RateFit, Vec<JobOutcome>), NoFitReason> {
        let found = self.rate_fit(learned, jobs, machine)?;
        let outcomes = self.outcomes(&found, learned, jobs, machine);
        Ok((found, outcomes))
    }

    /// The minutes of a set-up that are held, and one standard deviation of them, where the jobs cannot tell them.
    fn held_min(&self, jobs: &[&JobSample]) -> Option<(f64, f64)> {
        let cutting = |job: &&JobSample| job.sample.paced.iter().map(|part| part.minutes).sum::<f64>();
        let with: Vec<f64> = jobs
            .iter()
            .filter(|job| job.sample.has_setup)
            .map(cutting)
            .collect();
        let smallest = with.iter().copied().fold(f64::INFINITY, f64::min);
        let largest = with.iter().copied().fold(0.0, f64::max);
        let is_told =
            with.len() >= FEWEST_SETUPS && (largest >= WIDTH_TO_SPLIT * smallest || with.len() < jobs.len());
        // A band of the book is taken as two standard deviations to each side.
        let setup = self.book.times.setup_min.band;
        (!is_told).then(|| (setup.expected, (setup.high - setup.low) / 4.0))
    }

    fn learned(&self, jobs: &[&JobSample]) -> Result<Learned, NoFitReason> {
        let samples: Vec<Sample> = jobs.iter().map(|job| job.sample.clone()).collect();
        let held_min = self.held_min(jobs);
        let fitted = fit(&samples, held_min.map(|held| held.0)).ok_or(NoFitReason::NotRising)?;
        Ok(Learned::new(fitted, samples, held_min))
    }

    fn learned_together(
        &self,
        jobs: &[&JobSample],
        machines: &[Option<&str>],
    ) -> Result<(Learned, PooledFit), NoFitReason> {
        let samples: Vec<Sample> = jobs.iter().map(|job| job.sample.clone()).collect();
        let number = |job: &&JobSample| {
            machines
                .iter()
                .position(|name| *name == job.machine())
                .unwrap_or(0)
        };
        let machine: Vec<usize> = jobs.iter().map(number).collect();
        let held_min = self.held_min(jobs);
        let held = held_min.map(|held| held.0);
        let least = self.book.rules.calibration.machine_spread_share.value();
        let pooled =
            fit_together(&samples, &machine, machines.len(), held, least).ok_or(NoFitReason::NotRising)?;
        let learned = Learned::new(pooled.fitted.clone(), pooled.levelled.clone(), held_min);
        Ok((learned, pooled))
    }

    /// What was learned of a machine, with the figures of its own jobs.
    fn rate_fit(
        &self,
        learned: &Learned,
        jobs: &[&JobSample],
        machine: MachineEffect<'_>,
    ) -> Result<RateFit, NoFitReason> {
        let setup = self.book.times.setup_min.band;
        let at_book = Terms {
            ln_slowness: 0.0,
            setup_min: setup.expected,
        };
        let before = jobs.iter().map(|job| job.sample.residual(at_book));
        let error_after_percent = typical_percent(learned.unseen.iter().copied());
        if error_after_percent > LARGEST_ERROR_PERCENT {
            return Err(NoFitReason::Scattered {
                error_percent: error_after_percent.min(MOST_PRINTED_PERCENT),
            });
        }
        let student = student::half_width(OUTSIDE, learned.fitted.degrees as f64);
        let open = hypot(learned.rate_error(), machine.open.sqrt());
        let rate_told_within_percent = 100.0 * exp_m1(student * open);
        // What is no number is no better.
        if rate_told_within_percent.is_nan() || rate_told_within_percent > LARGEST_DOUBT_PERCENT {
            return Err(NoFitReason::RateUncertain {
                within_percent: rate_told_within_percent.min(MOST_PRINTED_PERCENT),
            });
        }
        let wide = learned.unseen_factor(machine);
        let unseen_within_percent = 100.0 * (wide - 1.0);
        // Few jobs, one of them far from all others, may leave the next one a band without end.
        if unseen_within_percent.is_nan() || unseen_within_percent > MOST_PRINTED_PERCENT {
            return Err(NoFitReason::RateUncertain {
                within_percent: MOST_PRINTED_PERCENT,
            });
        }
        let factor = exp(-learned.fitted.terms.ln_slowness - machine.slower);
        let holds: BTreeSet<MinutesHold> = jobs.iter().map(|job| job.minutes_hold).collect();
        let fixed_is_fitted = learned.held_min.is_none();
        Ok(RateFit {
            material: self.work.material.clone(),
            wire_mm: self.work.wire_mm,
            wire_kind: self.work.wire_kind.clone(),
            machine: machine.name.map(str::to_owned),
            is_pooled: machine.is_pooled,
            minutes_hold: holds.into_iter().collect(),
            jobs: jobs.len(),
            wild_lines: self.wild(learned, jobs, machine),
            rate_factor: Band {
                low: factor / wide,
                expected: factor,
                high: factor * wide,
            },
            rate_told_within_percent,
            fixed_min: if fixed_is_fitted {
                learned.setup_band(student)
            } else {
                setup
            },
            fixed_is_fitted,
            error_before_percent: typical_percent(before),
            error_after_percent,
            ra_ratio: middle(jobs.iter().filter_map(|job| job.ra_ratio).collect()),
            offset_correction_um: middle(jobs.iter().filter_map(|job| job.correction_um).collect()),
        })
    }

    /// Lines of those of `jobs` that had no weight.
    fn wild(&self, learned: &Learned, jobs: &[&JobSample], machine: MachineEffect<'_>) -> Vec<usize> {
        let fitted: Vec<usize> = if machine.is_pooled {
            self.jobs.iter().map(|job| job.line).collect()
        } else {
            jobs.iter().map(|job| job.line).collect()
        };
        let without = fitted
            .iter()
            .zip(&learned.fitted.kept)
            .filter(|(_, kept)| !**kept);
        let without = without.map(|(line, _)| *line);
        without
            .filter(|line| jobs.iter().any(|job| job.line == *line))
            .collect()
    }

    fn outcomes(
        &self,
        found: &RateFit,
        learned: &Learned,
        jobs: &[&JobSample],
        machine: MachineEffect<'_>,
    ) -> Vec<JobOutcome> {
        let wide = learned.unseen_factor(machine);
        let outcome = |job: &&JobSample| {
            let expected = job
                .sample
                .slowed(machine.slower)
                .expected_min(learned.fitted.terms);
            JobOutcome {
                line: job.line,
                material: self.work.material.clone(),
                wire_mm: self.work.wire_mm,
                wire_kind: self.work.wire_kind.clone(),
                machine: job.machine.clone(),
                minutes_hold: job.minutes_hold,
                real_min: job.sample.real_min,
                expected_min: Band {
                    low: expected / wide,
                    expected,
                    high: expected * wide,
                },
                is_wild: found.wild_lines.contains(&job.line),
            }
        };
        jobs.iter().map(outcome).collect()
    }
}

impl Learned {
    fn new(fitted: Fitted, samples: Vec<Sample>, held_min: Option<(f64, f64)>) -> Self {
        let unseen = fitted.unseen_residuals(&samples);
        Self {
            fitted,
            samples,
            held_min,
            unseen,
        }
    }

    /// Standard error of the logarithm of the rate.
    fn rate_error(&self) -> f64 {
        self.fitted.rate_error(self.held_min.map_or(0.0, |held| held.1))
    }

    /// By what factor a job that the fit has not seen may be off with 95 %.
    fn unseen_factor(&self, machine: MachineEffect<'_>) -> f64 {
        let student = student::half_width(OUTSIDE, self.fitted.degrees as f64);
        exp(student * hypot(self.fitted.unseen_deviation(&self.samples), machine.open.sqrt()))
    }

    /// The set-up with its 95 % interval, never below 0.
    fn setup_band(&self, student: f64) -> Band {
        let half = student * self.fitted.setup_error();
        let expected = self.fitted.terms.setup_min;
        Band {
            low: (expected - half).max(0.0),
            expected,
            high: expected + half,
        }
    }
}

/// Median error, percent, of errors that are logarithms.
fn typical_percent(residuals: impl Iterator<Item = f64>) -> f64 {
    100.0 * median(residuals.map(|r| exp_m1(r).abs()).collect())
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

#[expect(clippy::ref_option, reason = "the shape serde asks for")]
fn without_count<S: Serializer>(counted: &Option<(Band, usize)>, to: S) -> Result<S::Ok, S::Error> {
    counted.map(|(value, _)| value).serialize(to)
}

fn as_text<S: Serializer>(reason: &NoFitReason, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(reason)
}

impl JobOutcome {
    /// Logarithm of the real minutes over the expected ones.
    pub fn off(&self) -> f64 {
        ln(self.real_min / self.expected_min.expected)
    }

    /// By how much the real minutes are more than the expected ones, percent.
    pub fn off_percent(&self) -> f64 {
        100.0 * exp_m1(self.off())
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
}

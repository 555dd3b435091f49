//! What the machines of a shop do to the rate, where single ones have too few jobs for a fit of their own.

use super::job_fit::{Fitted, Sample, fit, median, start};

/// One fit through the jobs of all machines.
#[derive(Clone, Debug)]
pub(super) struct PooledFit {
    pub(super) fitted: Fitted,
    /// The jobs as if all had been cut on a usual machine.
    pub(super) levelled: Vec<Sample>,
    /// Logarithm of how much slower each machine is, with the variance of what the jobs leave open.
    pub(super) slower: Vec<(f64, f64)>,
    /// Variance of that logarithm from machine to machine.
    pub(super) between: f64,
}

/// Fits all jobs together; `machine` has the number of the machine of each job, below `machines`. What a machine's own jobs say
/// of it is drawn towards the usual machine, the more the fewer they are: by the share that the variance between machines has
/// in the sum of both (best linear unbiased prediction; Robinson, That BLUP is a good thing, Statistical Science 6 (1991),
/// 15-32). That variance is what the jobs say (DerSimonian & Laird, Meta-analysis in clinical trials, Controlled Clinical Trials 7
/// (1986), 177-188), and at least the square of `least_spread`.
pub(super) fn fit_together(
    samples: &[Sample],
    machine: &[usize],
    machines: usize,
    held_min: Option<f64>,
    least_spread: f64,
) -> Option<PooledFit> {
    // Each round takes off most of what the one before left.
    const ROUNDS: usize = 20;
    let mut slower = begin(samples, machine, machines, held_min);
    let mut between = least_spread.powi(2);
    for _ in 0..ROUNDS {
        let (fitted, _) = levelled_fit(samples, machine, &slower, held_min)?;
        let own = own_effects(samples, machine, &slower, &fitted);
        between = spread_between(&own).max(least_spread.powi(2));
        let (sum, weights) = own.iter().fold((0.0, 0.0), |(sum, weights), (effect, variance)| {
            let weight = (variance + between).recip();
            (sum + weight * effect, weights + weight)
        });
        let usual = sum / weights;
        slower = own
            .iter()
            .map(|(effect, variance)| {
                let share = between / (between + variance);
                let open = if variance.is_finite() {
                    share * variance
                } else {
                    between
                };
                (share * (effect - usual), open)
            })
            .collect();
    }
    let (fitted, levelled) = levelled_fit(samples, machine, &slower, held_min)?;
    Some(PooledFit {
        fitted,
        levelled,
        slower,
        between,
    })
}

/// The median of what the jobs of each machine say against all, so that no job is taken for wild because of its machine.
fn begin(samples: &[Sample], machine: &[usize], machines: usize, held_min: Option<f64>) -> Vec<(f64, f64)> {
    let terms = start(samples, held_min);
    let of = |wanted: usize| {
        let own = samples
            .iter()
            .zip(machine)
            .filter(|(_, machine)| **machine == wanted);
        median(
            own.map(|(job, _)| job.residual(terms) / job.gradient(terms)[0].max(f64::EPSILON))
                .collect(),
        )
    };
    (0..machines).map(|wanted| (of(wanted), 0.0)).collect()
}

fn levelled_fit(
    samples: &[Sample],
    machine: &[usize],
    slower: &[(f64, f64)],
    held_min: Option<f64>,
) -> Option<(Fitted, Vec<Sample>)> {
    let pairs = samples.iter().zip(machine);
    let levelled: Vec<Sample> = pairs
        .map(|(job, machine)| job.slowed(slower[*machine].0))
        .collect();
    fit(&levelled, held_min).map(|fitted| (fitted, levelled))
}

/// What the jobs of each machine by themselves say of it, with its variance; infinite where none of them has weight.
fn own_effects(
    samples: &[Sample],
    machine: &[usize],
    slower: &[(f64, f64)],
    fitted: &Fitted,
) -> Vec<(f64, f64)> {
    let mut sums = vec![(0.0, 0.0); slower.len()];
    for ((job, machine), _) in samples
        .iter()
        .zip(machine)
        .zip(&fitted.kept)
        .filter(|(_, kept)| **kept)
    {
        let now = slower[*machine].0;
        let job = job.slowed(now);
        let rate = job.gradient(fitted.terms)[0];
        let (products, squares) = &mut sums[*machine];
        *products += rate * (job.residual(fitted.terms) + rate * now);
        *squares += rate * rate;
    }
    let effect = |(products, squares): (f64, f64)| {
        if squares > 0.0 {
            (products / squares, fitted.deviation.powi(2) / squares)
        } else {
            (0.0, f64::INFINITY)
        }
    };
    sums.into_iter().map(effect).collect()
}

/// The variance between machines by the method of moments; 0 where they differ no more than chance explains.
fn spread_between(own: &[(f64, f64)]) -> f64 {
    let known = || {
        own.iter()
            .filter(|(_, variance)| variance.is_finite() && *variance > 0.0)
    };
    let [w, wx, ww] = known().fold([0.0; 3], |[w, wx, ww], (effect, variance)| {
        let weight = variance.recip();
        [w + weight, wx + weight * effect, ww + weight * weight]
    });
    let mean = wx / w;
    let excess: f64 = known()
        .map(|(effect, variance)| (effect - mean).powi(2) / variance - 1.0)
        .sum::<f64>()
        + 1.0;
    let spread = excess / (w - ww / w);
    if spread.is_finite() { spread.max(0.0) } else { 0.0 }
}

//! Readings that lie farther from the others than chance explains, by Grubbs' test (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1).
//! They are named and stay in.

use serde::Serialize;

use crate::calibrate::student;

/// Fewest readings that the test is made on: with six or fewer it names too many (the same page of the e-Handbook).
const FEWEST: usize = 7;

/// Share of the samples without an outlier in which one is named all the same.
const FALSE_ALARM: f64 = 0.05;

/// A reading that lies farther from the others than chance explains.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct OutlyingReading {
    /// Line of the readings, from 1.
    pub line: usize,
    /// How far it lies from the mean of its place, in standard deviations of all such distances.
    pub distance: f64,
    /// More than this is more than chance explains, of so many readings.
    pub limit: f64,
}

/// Returns the reading that is farthest from the others where it is too far; `readings` are lines with how far each lies from
/// the mean of its place.
pub(super) fn outlying(readings: &[(usize, f64)]) -> Option<OutlyingReading> {
    let count = readings.len();
    if count < FEWEST {
        return None;
    }
    let mean = readings.iter().map(|(_, off)| off).sum::<f64>() / count as f64;
    let squares: f64 = readings.iter().map(|(_, off)| (off - mean).powi(2)).sum();
    let deviation = (squares / (count - 1) as f64).sqrt();
    let farthest = readings
        .iter()
        .max_by(|(_, a), (_, b)| (a - mean).abs().total_cmp(&(b - mean).abs()));
    let &(line, off) = farthest.filter(|_| deviation > 0.0)?;
    let (distance, limit) = (
        (off - mean).abs() / deviation,
        farthest_by_chance(count, FALSE_ALARM),
    );
    (distance > limit).then_some(OutlyingReading {
        line,
        distance,
        limit,
    })
}

/// The largest distance that chance explains among `count` readings, on either side, in standard deviations.
fn farthest_by_chance(count: usize, outside: f64) -> f64 {
    let n = count as f64;
    // t of the upper share outside/(2n) with n - 2 degrees of freedom.
    let t = student::half_width(outside / n, n - 2.0);
    (n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1, the uranium isotope data (from memory, not verified): G = 2.4688 for the
    /// largest of eight, critical value on one side at 5 % 2.032.
    #[test]
    fn the_example_of_the_handbook() {
        let data = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
        let readings: Vec<(usize, f64)> = (1..).zip(data).collect();
        let found = outlying(&readings).expect("one lies far off");
        assert_eq!(found.line, 8);
        assert!((found.distance - 2.4688).abs() < 5e-5, "{found:?}");
        // One side at 5 % is either side at 10 %.
        let one_sided = farthest_by_chance(8, 0.10);
        assert!((one_sided - 2.032).abs() < 5e-4, "{one_sided}");
    }

    #[test]
    fn readings_that_belong_together_are_left_alone() {
        let readings: Vec<(usize, f64)> = (1..).zip([0.1, -0.2, 0.3, 0.0, -0.3, 0.2, -0.1]).collect();
        assert_eq!(outlying(&readings), None);
        assert_eq!(outlying(&[(1, 0.0); 9]), None, "all alike");
        assert_eq!(
            outlying(&[(1, 0.0), (2, 0.0), (3, 50.0)]),
            None,
            "too few for the test"
        );
    }
}

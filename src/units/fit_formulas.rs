//! The tables of ISO 286 against the rules that they were made by. The formulas of ISO 286-1 (annex on the bases of the
//! system) are from memory; that they give all these columns is the proof of both.

use super::UM_PER_MM;
use super::fit::{Class, grade_um};
use crate::elementary::{cbrt, powf};

/// Steps of nominal size above 3 mm up to 500 mm. Below, the standard rounds by other rules.
const STEPS_MM: [f64; 13] = [
    3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0, 180.0, 250.0, 315.0, 400.0, 500.0,
];

/// The finer steps of the deviations.
const FINE_STEPS_MM: [f64; 25] = [
    3.0, 6.0, 10.0, 14.0, 18.0, 24.0, 30.0, 40.0, 50.0, 65.0, 80.0, 100.0, 120.0, 140.0, 160.0, 180.0, 200.0,
    225.0, 250.0, 280.0, 315.0, 355.0, 400.0, 450.0, 500.0,
];

const COARSE_STEPS_MM: [f64; 9] = [
    500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0,
];

/// Multiples of the tolerance unit, grades 5 to 18.
const MULTIPLES: [(usize, f64); 14] = [
    (5, 7.0),
    (6, 10.0),
    (7, 16.0),
    (8, 25.0),
    (9, 40.0),
    (10, 64.0),
    (11, 100.0),
    (12, 160.0),
    (13, 250.0),
    (14, 400.0),
    (15, 640.0),
    (16, 1000.0),
    (17, 1600.0),
    (18, 2500.0),
];

fn width_um(grade: usize, size_mm: f64) -> f64 {
    grade_um(grade, size_mm).expect("in the table")
}

/// Computes both limits of a class, µm, at the upper end of a step.
fn limits_um(class: &str, size_mm: f64) -> (f64, f64) {
    let class = Class::parse(class).expect("a class");
    let limits = class.limits(size_mm).expect("in the table");
    (limits.lower_mm * UM_PER_MM, limits.upper_mm * UM_PER_MM)
}

/// Geometric means of a step: its own, and that of the coarser step that it is part of.
fn means_mm(over_mm: f64, to_mm: f64) -> [f64; 2] {
    let coarse = STEPS_MM
        .windows(2)
        .find(|step| step[0] <= over_mm && to_mm <= step[1])
        .expect("part of a step");
    [(over_mm * to_mm).sqrt(), (coarse[0] * coarse[1]).sqrt()]
}

/// i = 0.45·∛D + 0.001·D up to 500 mm, I = 0.004·D + 2.1 above. The standard rounds each value, and evens out the steps:
/// by 5.3 % at most, above 3 mm up to 6 mm by 8.5 % (IT6 is 8 µm, not 7.3).
#[test]
fn grades_are_multiples_of_the_tolerance_unit() {
    let mut checked = 0;
    for steps in [&STEPS_MM[..], &COARSE_STEPS_MM[..]] {
        for step in steps.windows(2) {
            let mean_mm = (step[0] * step[1]).sqrt();
            let unit_um = if step[1] <= 500.0 {
                0.45 * cbrt(mean_mm) + 0.001 * mean_mm
            } else {
                0.004 * mean_mm + 2.1
            };
            let most_off = if step[1] <= 6.0 { 0.085 } else { 0.053 };
            for (grade, multiple) in MULTIPLES {
                let (formula_um, table_um) = (multiple * unit_um, width_um(grade, step[1]));
                assert!(
                    (formula_um / table_um - 1.0).abs() < most_off,
                    "IT{grade} up to {} mm: {formula_um} against {table_um}",
                    step[1]
                );
                checked += 1;
            }
        }
    }
    assert_eq!(checked, 20 * 14);
}

/// Five grades on, a tolerance is ten times as wide: exactly so from IT7.
#[test]
fn five_grades_are_a_factor_of_ten() {
    for size_mm in STEPS_MM.iter().chain(&COARSE_STEPS_MM) {
        for grade in 7..=13 {
            assert_eq!(
                width_um(grade + 5, *size_mm),
                10.0 * width_um(grade, *size_mm),
                "{size_mm}"
            );
        }
    }
}

/// Deviations by the standard's powers of D: d 16·D^0.44, e 11·D^0.41, f 5.5·D^0.41, g 2.5·D^0.34, n 5·D^0.34,
/// k 0.6·∛D for IT4 to IT7. Rounded to a micrometre; the standard evens out a few of them by up to 2.3 %.
#[test]
fn deviations_follow_the_powers_of_the_standard() {
    let mut checked = 0;
    for (class, factor, power) in [
        ("d7", 16.0, 0.44),
        ("e7", 11.0, 0.41),
        ("f7", 5.5, 0.41),
        ("g7", 2.5, 0.34),
        ("n7", 5.0, 0.34),
        ("k7", 0.6, 1.0 / 3.0),
    ] {
        for step in FINE_STEPS_MM.windows(2) {
            let (lower_um, upper_um) = limits_um(class, step[1]);
            let table_um = if class < "h" { -upper_um } else { lower_um };
            let off_um = means_mm(step[0], step[1])
                .map(|d: f64| (factor * powf(d, power) - table_um).abs())
                .into_iter()
                .fold(f64::INFINITY, f64::min);
            assert!(
                off_um < 0.45 + 0.023 * table_um,
                "{class} up to {} mm: {table_um}, off by {off_um}",
                step[1]
            );
            checked += 1;
        }
    }
    assert_eq!(checked, 6 * 24);
}

/// m = IT7 − IT6; p = IT7 and 0 to 5 µm; s = IT8 and 1 to 4 µm up to 50 mm, IT7 + 0.4·D above; r the geometric mean of
/// p and s; h is 0.
#[test]
fn close_fits_follow_from_grades() {
    for step in FINE_STEPS_MM.windows(2) {
        let to_mm = step[1];
        let lower_um = |class: &str| limits_um(class, to_mm).0;
        let [it6, it7, it8] = [6, 7, 8].map(|grade| width_um(grade, to_mm));
        let [m, p, r, s] = ["m7", "p7", "r7", "s7"].map(lower_um);
        assert!((m - (it7 - it6)).abs() < 1e-9, "m up to {to_mm} mm: {m}");
        let past = p - it7;
        assert!((-1e-9..5.0 + 1e-9).contains(&past), "p up to {to_mm} mm: {p}");
        let (least, most) = if to_mm <= 50.0 {
            (it8 + 1.0, it8 + 4.0)
        } else {
            let formula_um = it7 + 0.4 * (step[0] * to_mm).sqrt();
            (formula_um - 1.0, formula_um + 1.0)
        };
        assert!(
            (least - 1e-9..=most + 1e-9).contains(&s),
            "s up to {to_mm} mm: {s} not in {least} to {most}"
        );
        assert!(((p * s).sqrt() - r).abs() < 1.2, "r up to {to_mm} mm: {r}");
        assert!(limits_um("h7", to_mm).1.abs() < 1e-9);
    }
}

//! Scales of surface roughness.

use super::{MM_PER_INCH, UM_PER_MM};
use crate::elementary::{log10, powf};

/// ISO 1302 grades N1 to N12, Ra in µm (also ISO 21920-1, which keeps them for old drawings).
pub const N_GRADES_RA_UM: [f64; 12] = [0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25.0, 50.0];

/// Microinches in a micrometre.
pub const UIN_PER_UM: f64 = 1e6 / (MM_PER_INCH * UM_PER_MM);

/// VDI 3400 class of an Ra in µm, unrounded: 20·log10(10·Ra).
pub fn vdi_class_of_ra_um(ra_um: f64) -> f64 {
    20.0 * log10(10.0 * ra_um)
}

/// Ra in µm of a VDI 3400 class.
pub fn ra_um_of_vdi_class(class: f64) -> f64 {
    powf(10.0_f64, class / 20.0) / 10.0
}

/// Ra in µm of an ISO 1302 grade from 1 to 12.
pub fn ra_um_of_n_grade(grade: usize) -> Option<f64> {
    N_GRADES_RA_UM.get(grade.checked_sub(1)?).copied()
}

/// Returns the finest ISO 1302 grade whose limit an Ra in µm keeps; `None` above N12.
pub fn n_grade_of_ra_um(ra_um: f64) -> Option<usize> {
    N_GRADES_RA_UM
        .iter()
        .position(|limit| ra_um <= *limit)
        .map(|i| i + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// VDI 3400 values as printed in EDM Today, Fall 2024, p. 12. Printed values are rounded: within 3 %.
    #[test]
    fn vdi_classes_match_the_published_table() {
        let table = [
            (0.0, 0.10),
            (4.0, 0.16),
            (12.0, 0.40),
            (15.0, 0.56),
            (24.0, 1.6),
            (27.0, 2.2),
            (30.0, 3.2),
            (33.0, 4.5),
            (36.0, 6.3),
            (39.0, 8.9),
        ];
        for (class, ra_um) in table {
            let computed = ra_um_of_vdi_class(class);
            assert!(
                (computed / ra_um - 1.0).abs() < 0.03,
                "class {class}: {computed} against {ra_um}"
            );
            assert!((vdi_class_of_ra_um(computed) - class).abs() < 1e-9);
        }
    }

    /// Classes 12, 24, 30, 39 to four figures (from memory, not verified in a document).
    #[test]
    fn vdi_classes_to_four_figures() {
        for (class, ra_um) in [(12.0, 0.398), (24.0, 1.585), (30.0, 3.162), (39.0, 8.913)] {
            assert!((ra_um_of_vdi_class(class) - ra_um).abs() < 5e-4);
        }
    }

    /// ISO 1302:1992 table of grades; microinch column from memory, not verified in a document.
    #[test]
    fn n_grades_match_iso_1302() {
        let inches = [
            1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0,
        ];
        for (i, uin) in inches.into_iter().enumerate() {
            let ra_um = ra_um_of_n_grade(i + 1).expect("a grade from 1 to 12");
            assert!((ra_um * UIN_PER_UM / uin - 1.0).abs() < 0.02, "N{}", i + 1);
        }
        assert_eq!(ra_um_of_n_grade(5), Some(0.4));
        assert_eq!(ra_um_of_n_grade(0), None);
        assert_eq!(ra_um_of_n_grade(13), None);
        assert_eq!(n_grade_of_ra_um(0.5), Some(6));
        assert_eq!(n_grade_of_ra_um(0.4), Some(5));
        assert_eq!(n_grade_of_ra_um(51.0), None);
    }

    /// 1 µm = 39.37 µin (from 1 in = 25.4 mm, exact).
    #[test]
    fn micrometres_in_microinches() {
        assert!((UIN_PER_UM - 39.37).abs() < 1e-3);
    }
}

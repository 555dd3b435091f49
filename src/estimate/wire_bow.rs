//! The wire as a taut string. Lag lies along the cut: it spoils corners and small arcs of the rough cut, not
//! straight walls. The belly of skims is in the form error of the pass table, so nothing here enters the budget.

use crate::pass::Setting;
use crate::shop::{Book, Figure, Term};
use crate::units::{Band, UM_PER_MM};

/// How the wire stands in the rough cut.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WireBow {
    /// Working tension, N.
    pub tension_n: Figure,
    /// Lag behind the guides at mid height, µm.
    pub lag_um: Figure,
    /// Bow across the height of the part, µm.
    pub bow_um: Figure,
    /// First mode of vibration between the guides, Hz.
    pub first_mode_hz: Figure,
}

/// Lag, µm, at mid height of a part of height H between guides L apart, loaded by q along its height: q·H·(2L − H)/(8F).
/// N/m · mm² / N is µm.
fn lag_um(load_n_per_m: Band, height_mm: f64, span_mm: Band, tension_n: Band) -> Band {
    let reach_mm = span_mm.scaled(2.0).plus(-height_mm);
    let height_mm = Band::exact(height_mm / 8.0);
    Band::product(&[load_n_per_m, height_mm, reach_mm, tension_n.divide(1.0)])
}

/// Bow, µm, across the height of the part alone: q·H²/(8F).
fn bow_um(load_n_per_m: Band, height_mm: f64, tension_n: Band) -> Band {
    let squared_mm2 = Band::exact(height_mm.powi(2) / 8.0);
    Band::product(&[load_n_per_m, squared_mm2, tension_n.divide(1.0)])
}

/// First mode, Hz, of a string of a span in mm: √(F/µ) / 2L.
fn first_mode_hz(span_mm: Band, tension_n: Band, kg_per_m: Band) -> Band {
    let Band { low, expected, high } = Band::product(&[tension_n, kg_per_m.divide(1.0)]);
    let speed_m_s = Band {
        low: low.sqrt(),
        expected: expected.sqrt(),
        high: high.sqrt(),
    };
    Band::product(&[speed_m_s, span_mm.scaled(2.0 / UM_PER_MM).divide(1.0)])
}

/// Furthest that a small arc of the rough cut comes out wrong, mm: lag² / 2R.
pub fn arc_error_mm(lag_um: f64, radius_mm: f64) -> f64 {
    (lag_um / UM_PER_MM).powi(2) / (2.0 * radius_mm)
}

/// Returns the wire in the rough cut of a part so thick.
pub fn wire_bow(book: &Book, setting: Setting<'_>, thickness_mm: f64) -> WireBow {
    let wire = setting.wire;
    let diameter_mm = wire.size.diameter_mm;
    let area_mm2 = std::f64::consts::FRAC_PI_4 * diameter_mm.powi(2);
    let share = &book.wire.working_tension_share;
    let tension = Figure::new(
        "working tension",
        Band::product(&[wire.kind.tensile_n_mm2.band, share.band, Band::exact(area_mm2)]),
        "N",
        "breaking stress × π/4 × wire diameter² × share",
        vec![
            Term::of("breaking stress", &wire.kind.tensile_n_mm2, "N/mm²"),
            Term::given("wire diameter", diameter_mm, "mm", "given"),
            Term::of("share of the breaking load", share, ""),
        ],
    );
    let load = &book.wire.rough_load_n_per_m;
    let standoff = &book.wire.guide_standoff_mm;
    let span_mm = standoff.band.scaled(2.0).plus(thickness_mm);
    let density = &wire.kind.density_g_cm3;
    // mm² · g/cm³ is g/m.
    let kg_per_m = density.band.scaled(area_mm2 / 1000.0);
    let shape = || {
        vec![
            Term::of("load along the wire", load, "N/m"),
            Term::given("thickness", thickness_mm, "mm", "given"),
            Term::of("guide beyond the part, each side", standoff, "mm"),
            tension.term(),
        ]
    };
    let lag = lag_um(load.band, thickness_mm, span_mm, tension.value);
    let bow = bow_um(load.band, thickness_mm, tension.value);
    let mode = first_mode_hz(span_mm, tension.value, kg_per_m);
    WireBow {
        lag_um: Figure::new(
            "wire lag",
            lag,
            "µm",
            "load × H × (2 × span - H) / (8 × tension)",
            shape(),
        ),
        bow_um: Figure::new("wire bow", bow, "µm", "load × H² / (8 × tension)", shape()),
        first_mode_hz: Figure::new(
            "first mode",
            mode,
            "Hz",
            "√(tension / mass per length) / (2 × span)",
            shape()
                .into_iter()
                .skip(1)
                .chain([Term::of("wire density", density, "g/cm³")])
                .collect(),
        ),
        tension_n: tension,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pass::PassRequest;

    /// Mechanics of a taut string, worked by hand: q = 0.64 N/m, H 50, L 70 mm, F 12 N (q is illustrative).
    #[test]
    fn lag_and_bow_of_the_worked_example() {
        let [load, span, tension] = [0.64, 70.0, 12.0].map(Band::exact);
        assert!((lag_um(load, 50.0, span, tension).expected - 30.0).abs() < 0.05);
        assert!((bow_um(load, 50.0, tension).expected - 16.7).abs() < 0.05);
        // 30 µm of lag on a radius of 0.5 mm.
        assert!((arc_error_mm(30.0, 0.5) - 0.0009).abs() < 1e-12);
    }

    /// By hand: twice the load or half the tension is twice the lag, both together 2^√2; guides so far away that
    /// 2L − H is 120 instead of 90 mm are a third more.
    #[test]
    fn all_that_is_open_of_the_wire_is_open_of_its_lag() {
        let [load, span, tension] = [0.64, 70.0, 12.0].map(Band::exact);
        let lag = |load, span, tension| {
            let lag = lag_um(load, 50.0, span, tension);
            lag.high / lag.expected
        };
        let far = Band { high: 85.0, ..span };
        let twice = Band { high: 1.28, ..load };
        let slack = Band { low: 6.0, ..tension };
        assert!((lag(load, far, tension) - 4.0 / 3.0).abs() < 1e-12);
        assert!((lag(twice, span, tension) - 2.0).abs() < 1e-12);
        assert!((lag(twice, span, slack) - 2.0_f64.powf(2.0_f64.sqrt())).abs() < 1e-12);
    }

    /// L 100 mm, 12 N, 0.25 mm brass of 8.45 g/cm³ (density from memory, not verified): 850 Hz.
    #[test]
    fn first_mode_of_the_worked_example() {
        let book = Book::built_in().expect("sound");
        let kg_per_m = book.wire(0.25, "brass").expect("in the book").kg_per_m();
        let [span, tension, kg_per_m] = [100.0, 12.0, kg_per_m].map(Band::exact);
        assert!((first_mode_hz(span, tension, kg_per_m).expected - 850.0).abs() < 1.0);
    }

    /// R. Kern, EDM Today, Mar/Apr 2008: hard wire has 900 N/mm² and more, so that 0.25 mm breaks at 44.2 N.
    #[test]
    fn tension_stays_a_share_of_the_breaking_load() {
        let book = Book::built_in().expect("sound");
        let request = PassRequest::new("tool-steel", 50.0, 0.25, 1);
        let bow = wire_bow(&book, request.setting(&book).expect("served"), 50.0);
        let breaking_n = 900.0 * std::f64::consts::FRAC_PI_4 * 0.25_f64.powi(2);
        assert!((breaking_n - 44.2).abs() < 0.05);
        assert!((bow.tension_n.value.expected - 0.35 * breaking_n).abs() < 1e-9);
        for figure in [&bow.lag_um, &bow.bow_um, &bow.first_mode_hz] {
            assert!(figure.value.low <= figure.value.expected && figure.value.expected <= figure.value.high);
        }
    }
}

use super::entry::{Entry, Limit};
use super::numbers::numbers;
use super::{Figure, Number, Term};
use crate::elementary::powf;
use crate::units::Band;

numbers! {
    /// Time beside the cut itself.
    Times {
        /// Set-up of a load, min.
        setup_min: "setup_min" NotNegative,
        /// Threading by the machine, min.
        thread_automatic_min: "thread_automatic_min" NotNegative,
        /// Threading by hand, min.
        thread_by_hand_min: "thread_by_hand_min" NotNegative,
        /// Cutting off one tab, min.
        tab_cut_off_min: "tab_cut_off_min" NotNegative,
        /// Taking out one slug or part, min.
        slug_handling_min: "slug_handling_min" NotNegative,
        /// Adjustment between two passes, min.
        adjust_between_passes_min: "adjust_between_passes_min" NotNegative,
        /// Lost in the rough cut at a corner sharper than 135°, min.
        corner_min: "corner_min" NotNegative,
        /// Feed of a lead-in as a share of the roughing feed.
        lead_feed_share: "lead_feed_share" Positive,
        /// Feed from one start to the next, without cutting, mm/min.
        travel_mm_min: "travel_mm_min" Positive,
        /// Allowance for wire breaks, min in an hour of cutting.
        wire_break_min_per_hour: "wire_break_min_per_hour" NotNegative,
        /// Share of the cutting hours that the operator is present.
        attended_share: "attended_share" Share,
        /// Change of a spool of wire, min.
        spool_change_min: "spool_change_min" NotNegative,
        /// Length of a shift, h.
        shift_hours: "shift_hours" Positive,
        /// Days of a week that have a shift.
        work_days_per_week: "work_days_per_week" Positive,
    }
}

numbers! {
    /// Prices, in the currency of the book.
    Prices {
        /// An hour of the machine.
        machine_per_hour: "machine_per_hour" NotNegative,
        /// An hour of labour.
        labour_per_hour: "labour_per_hour" NotNegative,
        /// Overhead on labour, as a share of it.
        labour_overhead_share: "labour_overhead_share" NotNegative,
        /// Filters and resin, an hour of cutting.
        filters_and_resin_per_hour: "filters_and_resin_per_hour" NotNegative,
        /// An hour of the machine that drills start holes, with who tends it.
        drill_per_hour: "drill_per_hour" NotNegative,
        /// A start hole, beside its time.
        start_hole_each: "start_hole_each" NotNegative,
        /// Programming an order, beside its contours, min.
        programming_min: "programming_min" NotNegative,
        /// Programming a contour, once an order, min.
        programming_min_per_contour: "programming_min_per_contour" NotNegative,
        /// Inspecting an order, beside its features, min.
        inspection_min: "inspection_min" NotNegative,
        /// Inspecting a feature of a piece: a contour that is cut, min.
        inspection_min_per_feature: "inspection_min_per_feature" NotNegative,
        /// Share of pieces that are inspected; one piece at least.
        inspected_share: "inspected_share" Share,
        /// Least that an order is charged.
        minimum_charge: "minimum_charge" NotNegative,
        /// Share of pieces lost.
        scrap_share: "scrap_share" Loss,
        /// Margin as a share of the cost.
        margin_share: "margin_share" NotNegative,
    }
}

numbers! {
    /// The room and the dielectric.
    Room {
        /// Set-point of the dielectric, °C.
        dielectric_c: "dielectric_c" Finite,
        /// It keeps it within plus or minus, K.
        dielectric_band_k: "dielectric_band_k" NotNegative,
        /// Swing of the room from night to day, K.
        room_swing_k: "room_swing_k" NotNegative,
        /// Share of that which reaches the part.
        share_reaching_part: "share_reaching_part" Share,
        /// The offset is set by a test piece to within plus or minus, µm per side.
        gauging_um: "gauging_um" NotNegative,
        /// A shop is kept from this temperature on, °C.
        kept_from_c: "kept_from_c" Finite,
        /// And up to this one, °C.
        kept_to_c: "kept_to_c" Finite,
        /// And at no more than this relative humidity, %.
        humidity_percent: "humidity_percent" NotNegative,
    }
}

numbers! {
    /// How a test piece is gauged: plus or minus, where the readings do not say it.
    GaugingErrors {
        /// Of what is gauged outside, µm.
        outside_um: "outside_um" NotNegative,
        /// Of what is gauged inside, µm.
        inside_um: "inside_um" NotNegative,
        /// How far the two may disagree on one master, µm.
        inside_against_outside_um: "inside_against_outside_um" NotNegative,
        /// How far piece and instruments may be apart in temperature, K.
        temperature_k: "temperature_k" NotNegative,
        /// Share of a length by which the machine's scale may be off.
        machine_scale: "machine_scale" NotNegative,
        /// Share of the thickness gauged by which work may be thinner or thicker for the gauged recipe to hold.
        thickness_share: "thickness_share" Share,
    }
}

numbers! {
    /// The test piece by which offsets are gauged.
    TestPieceSizes {
        /// Its pins across x, mm.
        pin_x_mm: "pin_x_mm" Positive,
        /// Its pins across y, mm.
        pin_y_mm: "pin_y_mm" Positive,
        /// Material between what is cut, and about it, mm.
        web_mm: "web_mm" Positive,
        /// The inside radius of its openings, mm.
        inside_radius_mm: "inside_radius_mm" Positive,
    }
}

numbers! {
    /// What an hour of the machine is made of.
    MachineRate {
        /// First cost.
        first_cost: "first_cost" Positive,
        /// Years of use.
        life_years: "life_years" Positive,
        /// Interest a year, as a share.
        interest_share: "interest_share" NotNegative,
        /// Hours it works in a year.
        hours_per_year: "hours_per_year" Positive,
        /// Overhead on the machine, as a share of its cost.
        overhead_share: "overhead_share" NotNegative,
    }
}

/// Computes the capital recovery factor (A/P, interest, years): the yearly return on a sum spent now.
pub fn capital_recovery_factor(interest_share: f64, years: f64) -> f64 {
    if interest_share == 0.0 {
        return years.recip();
    }
    let growth = powf(1.0 + interest_share, years);
    interest_share * growth / (growth - 1.0)
}

impl MachineRate {
    /// Computes the cost of an hour: first cost × (A/P) / hours × (1 + overhead).
    pub fn per_hour(&self) -> Figure {
        let (interest, years) = (self.interest_share.band, self.life_years.band);
        let recovery = Band {
            low: capital_recovery_factor(interest.low, years.high),
            expected: capital_recovery_factor(interest.expected, years.expected),
            high: capital_recovery_factor(interest.high, years.low),
        };
        let rate = Band::product(&[
            self.first_cost.band,
            recovery,
            self.hours_per_year.band.divide(1.0),
            self.overhead_share.band.plus(1.0),
        ]);
        Figure::new(
            "machine rate",
            rate,
            "/h",
            "first cost × (A/P, interest, years) / hours × (1 + overhead)",
            vec![
                Term::of("first cost", &self.first_cost, ""),
                Term::of("years of use", &self.life_years, ""),
                Term::of("interest", &self.interest_share, ""),
                Term::of("hours a year", &self.hours_per_year, "h"),
                Term::of("machine overhead", &self.overhead_share, ""),
            ],
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// (A/P, 10 %, 4) = 0.31547: interest tables, as in Groover, Fundamentals of Modern Manufacturing (from
    /// memory, not verified).
    #[test]
    fn capital_recovery_factor_matches_the_table() {
        assert!((capital_recovery_factor(0.10, 4.0) - 0.315_47).abs() < 5e-6);
        assert_eq!(capital_recovery_factor(0.0, 4.0), 0.25);
        assert!((capital_recovery_factor(1e-9, 4.0) - 0.25).abs() < 1e-6);
    }

    /// By hand: 4000 × 0.25 / 1000 × 1.5, with hours from 800 and up to twice the first cost.
    #[test]
    fn an_hour_of_the_machine_is_as_open_as_what_it_is_made_of() {
        let text = "[machine-rate]\nfirst_cost = { value = 4000, times = 2 }\nlife_years = 4\ninterest_share = 0\n\
            hours_per_year = { value = 1000, low = 800, high = 1000 }\noverhead_share = 0.5\n";
        let book = crate::shop::Book::layered(text).expect("sound");
        let rate = book.machine_per_hour().value;
        assert!((rate.expected - 1.5).abs() < 1e-12);
        assert!((rate.low - 0.75).abs() < 1e-12, "{rate:?}");
        let high = 1.5 * (2_f64.ln().powi(2) + 1.25_f64.ln().powi(2)).sqrt().exp();
        assert!((rate.high - high).abs() < 1e-12, "{rate:?}");
    }

    #[test]
    fn a_shop_that_loses_nearly_all_has_no_price() {
        let with = |share: f64| crate::shop::Book::layered(&format!("[money]\nscrap_share = {share}\n"));
        let flaws = with(0.95).expect_err("too much").to_string();
        assert!(flaws.contains("a number from 0 to 0.9"), "{flaws}");
        assert!(with(0.9).is_ok());
    }
}

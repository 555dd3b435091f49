//! What was gauged as a piece of a book: a recipe of the shop.

use std::fmt::Write as _;

use super::gauging::{FormError, GaugedPass, Gauging};
use super::half_kerf::GaugedValue;
use crate::calibrate::fragment::{number, quoted};
use crate::message::number::{fixed, short};
use crate::shop::Book;
use crate::units::{Band, UM_PER_MM};

impl Gauging {
    /// Writes a recipe of the shop that holds what was gauged, in TOML.
    pub fn fragment(&self, book: &Book) -> String {
        let facts = &self.facts;
        let mut text = String::new();
        let kind = facts
            .wire_kind
            .as_ref()
            .map_or_else(String::new, |kind| format!(" {kind}"));
        let on = facts
            .machine
            .as_ref()
            .map_or_else(String::new, |name| format!(" on {name}"));
        let name = format!(
            "{} {} mm, {:.2}{kind}, passes: {}{on}",
            facts.material,
            short(facts.thickness_mm, 3),
            facts.wire_mm,
            self.passes.len(),
        );
        // Writing to a text cannot fail.
        let _ = writeln!(text, "[recipe.{}]", quoted(&name));
        let _ = writeln!(text, "materials = [{}]", quoted(&facts.material));
        let _ = writeln!(text, "wire_mm = {}", facts.wire_mm);
        if let Some(kind) = &facts.wire_kind {
            let _ = writeln!(text, "wire_kind = {}", quoted(kind));
        }
        if let Some(machine) = &facts.machine {
            let _ = writeln!(text, "machine = {}", quoted(machine));
        }
        let share = book.gauging.thickness_share.value();
        let [thinnest, thickest] =
            [1.0 - share, 1.0 + share].map(|times| short(facts.thickness_mm * times, 3));
        let _ = writeln!(
            text,
            "# Gauged in {} mm; the gap is taken to hold as far as this: change it as your own experience goes.",
            short(facts.thickness_mm, 3)
        );
        let _ = writeln!(text, "thickness_mm = [{thinnest}, {thickest}]");
        let _ = writeln!(text, "gauged = {}", quoted(&facts.date));
        let _ = writeln!(text, "pass = [");
        for pass in &self.passes {
            let _ = writeln!(text, "  {{ {} }},", self.row(pass).join(", "));
        }
        let _ = writeln!(text, "]");
        text
    }

    /// The values of a pass. Only the offset can be gauged: half the kerf is written as the gap that goes with the wire's nominal diameter,
    /// so that the offset comes out as gauged whatever the wire measures.
    fn row(&self, pass: &GaugedPass) -> Vec<String> {
        let half_wire_um = 0.5 * self.facts.wire_mm * UM_PER_MM;
        let kerf = &pass.half_kerf;
        let gap = band_of(kerf.value_um - half_wire_um, kerf.uncertainty.expanded_um);
        let gap_source = self.source(kerf, "half the kerf less half the nominal wire");
        let mut values = vec![format!("spark_gap_um = {}", number(gap, &gap_source))];
        if let Some(taken) = &pass.taken {
            let band = band_of(taken.value_um, taken.uncertainty.expanded_um);
            let source = self.source(taken, "the difference of the steps");
            values.push(format!("taken_um = {}", number(band, &source)));
        }
        // What is no larger than its uncertainty says nothing of its low end, and a book takes no Ra of 0.
        let ra = pass
            .ra
            .as_ref()
            .filter(|ra| ra.uncertainty.expanded_um < ra.value_um);
        if let Some(ra) = ra {
            let band = band_of(ra.value_um, ra.uncertainty.expanded_um);
            values.push(format!(
                "ra_um = {}",
                number(band, &self.source(ra, "Ra as read"))
            ));
        }
        if let Some(form) = pass.form_error {
            let source = format!(
                "gauged on {} at several heights, ± {} µm (95 %)",
                self.facts.date,
                fixed(form.expanded_um, 2)
            );
            values.push(format!("form_error_um = {}", number(form.band(), &source)));
        }
        values
    }

    fn source(&self, value: &GaugedValue, what: &str) -> String {
        let uncertainty = value.uncertainty;
        format!(
            "{what}, gauged on {}: ± {} µm (95 %, k = {})",
            self.facts.date,
            fixed(uncertainty.expanded_um, 2),
            fixed(uncertainty.k, 2)
        )
    }
}

impl FormError {
    /// Returns what it may be: where it is no larger than its uncertainty, no less than that.
    fn band(self) -> Band {
        let expected = self.half_um.max(self.expanded_um);
        let low = self.half_um - self.expanded_um;
        Band {
            low: if low > 0.0 { low } else { expected },
            expected,
            high: expected + self.expanded_um,
        }
    }
}

/// A length that is not negative, with how far it may be off.
fn band_of(expected: f64, expanded: f64) -> Band {
    Band {
        low: (expected - expanded).max(0.0),
        expected,
        high: expected + expanded,
    }
}

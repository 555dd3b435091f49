//! What was learned as a piece of a book.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::{Calibrated, RateFit};
use crate::shop::Book;
use crate::units::Band;

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
    /// Writing to a text cannot fail.
    fn write(&self, text: &mut String) {
        let Self {
            material,
            wire_mm,
            wire_kind,
            machine,
            jobs,
            ..
        } = self;
        let others = match (machine, self.is_pooled) {
            (Some(_), true) => " of this machine, with those of the others",
            (None, true) => " of several machines",
            _ => "",
        };
        let source = format!(
            "fitted to {jobs} jobs{others} in the shop's log, which tell it to ±{:.1} %",
            self.rate_told_within_percent
        );
        let on = machine
            .as_ref()
            .map_or_else(String::new, |machine| format!(" on {machine}"));
        let name = quoted(&format!("{material} {wire_mm:.2} {wire_kind}{on}"));
        let _ = writeln!(text, "[calibration.{name}]");
        let _ = writeln!(text, "material = {}\nwire_mm = {wire_mm}", quoted(material));
        let _ = writeln!(text, "wire_kind = {}", quoted(wire_kind));
        if let Some(machine) = machine {
            let _ = writeln!(text, "machine = {}", quoted(machine));
        }
        let holds: Vec<String> = self
            .minutes_hold
            .iter()
            .map(|hold| quoted(&hold.to_string()))
            .collect();
        let _ = writeln!(text, "minutes_hold = [{}]", holds.join(", "));
        let _ = writeln!(text, "rate_factor = {}", number(self.rate_factor, &source));
        if self.fixed_is_fitted {
            let _ = writeln!(
                text,
                "fixed_min = {}",
                number(self.fixed_min, "set-up, fitted to the same jobs")
            );
        }
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
pub(crate) fn quoted(name: &str) -> String {
    toml::Value::from(name).to_string()
}

/// Writes a number of the shop as TOML; what is said of its source may hold anything.
pub(crate) fn number(band: Band, source: &str) -> String {
    let Band { low, expected, high } = band;
    format!(
        "{{ value = {expected:.6}, low = {low:.6}, high = {high:.6}, basis = \"shop\", source = {} }}",
        quoted(source)
    )
}

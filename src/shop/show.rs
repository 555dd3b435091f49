use serde::Serialize;

use super::{Book, Calibration, Material, Number, RecipePass};
use crate::id::PassNo;

/// A number of the book with its place in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "NumberRow"))]
#[non_exhaustive]
pub struct Listed<'a> {
    /// Where it stands in the book, such as `material.tool-steel.rate_mm2_min`; the unit is in the name.
    pub entry: String,
    /// The number in force.
    #[serde(flatten)]
    pub number: &'a Number,
}

/// The text of a new book of the shop's own: every part with an example, all of it commented out.
pub const STARTER: &str = include_str!("../data/starter-book.toml");

impl Book {
    /// Every number in force, part by part in the order of the text.
    pub fn numbers(&self) -> Vec<Listed<'_>> {
        let mut list = List(Vec::new());
        for (name, material) in &self.materials {
            list.material(&format!("material.{name}"), material);
        }
        list.push(
            "wire",
            &[
                ("run_speed_m_min", &self.wire.run_speed_m_min),
                ("spool_kg", &self.wire.spool_kg),
                ("working_tension_share", &self.wire.working_tension_share),
                ("rough_load_n_per_m", &self.wire.rough_load_n_per_m),
                ("guide_standoff_mm", &self.wire.guide_standoff_mm),
            ],
        );
        for (name, kind) in &self.wire_kinds {
            list.push(
                &format!("wire-kind.{name}"),
                &[
                    ("rate_factor", &kind.rate_factor),
                    ("density_g_cm3", &kind.density_g_cm3),
                    ("tensile_n_mm2", &kind.tensile_n_mm2),
                    ("price_per_kg", &kind.price_per_kg),
                ],
            );
        }
        for size in &self.wire_sizes {
            list.push(
                &format!("wire-size.\"{:.2}\"", size.diameter_mm),
                &[("thickest_mm", &size.thickest_mm)],
            );
        }
        for (pass, row) in PassNo::numbered(&self.pass_table) {
            list.row(&format!("pass-table.{pass}"), row, "skim_rate_mm2_min");
        }
        list.push(
            "single-cut",
            &[
                ("rate_factor", &self.single_cut.rate_factor),
                ("ra_um", &self.single_cut.ra_um),
            ],
        );
        for recipe in &self.recipes {
            for (pass, row) in PassNo::numbered(&recipe.rows) {
                list.row(
                    &format!("recipe.{}.pass[{pass}]", recipe.name),
                    row,
                    "rate_mm2_min",
                );
            }
            list.push_if(
                &format!("recipe.{}", recipe.name),
                "offset_correction_um",
                recipe.offset_correction_um.as_ref(),
            );
        }
        for (name, numbers) in self.rules.numbers() {
            list.push(&format!("rule.{name}"), &numbers);
        }
        for (name, machine) in &self.machines {
            list.push(&format!("machine.{name}"), &machine.numbers());
        }
        list.push("time", &self.times.numbers());
        list.push("money", &self.prices.numbers());
        if let Some(rate) = &self.machine_rate {
            list.push("machine-rate", &rate.numbers());
        }
        list.push("room", &self.room.numbers());
        list.push("gauging", &self.gauging.numbers());
        list.push("test-piece", &self.test_piece.numbers());
        for calibration in &self.calibrations {
            list.calibration(calibration);
        }
        list.0
    }
}

struct List<'a>(Vec<Listed<'a>>);

impl<'a> List<'a> {
    fn push_if(&mut self, part: &str, name: &str, number: Option<&'a Number>) {
        if let Some(number) = number {
            self.push(part, &[(name, number)]);
        }
    }

    fn push(&mut self, part: &str, numbers: &[(&str, &'a Number)]) {
        self.0.extend(numbers.iter().map(|(name, number)| Listed {
            entry: format!("{part}.{name}"),
            number,
        }));
    }

    fn material(&mut self, entry: &str, material: &'a Material) {
        self.push(
            entry,
            &[
                ("rate_mm2_min", &material.rate_mm2_min),
                ("ra_factor", &material.ra_factor),
                ("expansion_um_per_m_k", &material.expansion_um_per_m_k),
                ("density_g_cm3", &material.density_g_cm3),
                ("drill_mm_min", &material.drill_mm_min),
            ],
        );
        self.push_if(entry, "gap_factor", material.gap_factor.as_ref());
        self.push_if(entry, "skim_factor", material.skim_factor.as_ref());
        self.push_if(entry, "price_per_kg", material.price_per_kg.as_ref());
    }

    fn calibration(&mut self, calibration: &'a Calibration) {
        let entry = format!("calibration.{}", calibration.name);
        self.push(&entry, &[("rate_factor", &calibration.rate_factor)]);
        self.push_if(&entry, "fixed_min", calibration.fixed_min.as_ref());
        let correction_um = calibration.offset_correction_um.as_ref();
        self.push_if(&entry, "offset_correction_um", correction_um);
    }

    fn row(&mut self, part: &str, row: &'a RecipePass, rate_key: &str) {
        let maybe = [
            (rate_key, row.rate_mm2_min.as_ref()),
            ("taken_um", row.taken_um.as_ref()),
        ];
        for (name, number) in maybe
            .into_iter()
            .filter_map(|(name, number)| Some((name, number?)))
        {
            self.push(part, &[(name, number)]);
        }
        self.push(
            part,
            &[
                ("spark_gap_um", &row.spark_gap_um),
                ("ra_um", &row.ra_um),
                ("form_error_um", &row.form_error_um),
            ],
        );
    }
}

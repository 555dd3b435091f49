//! Tells which numbers of a schedule were made for other work, and how much wider that makes their bands.

use super::rate::Rates;
use crate::elementary::powf;
use crate::shop::{Basis, Number, Recipe, RecipePass, Term, ThicknessRule};
use crate::units::Band;

/// Numbers that were made for other work than what is cut.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Borrowed {
    /// Spark gaps of steel in another material, in which nobody has gauged them.
    Gaps {
        /// Title of the material.
        material: String,
        /// What the gaps are expected to be against those of steel.
        factor: Number,
    },
    /// Skim rates of a material by nothing but judgement.
    SkimRates {
        /// Title of the material.
        material: String,
        /// What they are expected to be against those of the pass table.
        factor: Number,
    },
    /// Work thinner or thicker than the rates are made for.
    Thickness(BeyondThickness),
}

/// How far work lies outside the thicknesses that the numbers are made for.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct BeyondThickness {
    /// Thickness of the work, mm.
    pub thickness_mm: f64,
    /// Thickness that the numbers are made for, nearest to it, mm.
    pub limit_mm: f64,
    /// The factor by which bands are wider for it.
    pub times: f64,
}

impl BeyondThickness {
    fn of(rule: &ThicknessRule, thickness_mm: f64) -> Option<Self> {
        let limit_mm = thickness_mm.clamp(
            rule.thin_below_mm.value(),
            rule.made_to_mm.value().max(rule.thin_below_mm.value()),
        );
        let ratio = (thickness_mm / limit_mm).max(limit_mm / thickness_mm);
        (ratio > 1.0).then(|| Self {
            thickness_mm,
            limit_mm,
            times: powf(ratio, rule.doubt_exponent.value()),
        })
    }

    /// Whether the work is thinner than that.
    pub fn is_thin(&self) -> bool {
        self.thickness_mm < self.limit_mm
    }

    fn term(&self, rule: &ThicknessRule, low: f64) -> Term {
        Term {
            name: format!(
                "{} than made for: {} mm",
                if self.is_thin() { "thinner" } else { "thicker" },
                self.limit_mm
            ),
            value: Band {
                low,
                expected: 1.0,
                high: self.times,
            },
            unit: "",
            source: rule.doubt_exponent.source.clone(),
            basis: rule.doubt_exponent.basis,
            is_figure: false,
        }
    }
}

impl Rates<'_> {
    fn beyond_thickness(&self) -> Option<BeyondThickness> {
        BeyondThickness::of(&self.book.rules.thickness, self.request.thickness_mm)
    }

    /// Returns what is open of a rate in work thinner or thicker than the numbers are made for; `None` within, and for a rate
    /// of an own recipe that names a thickness. Thinner work is no slower than at the limit.
    pub(super) fn thickness_doubt(&self, own: Option<&Recipe>) -> Option<Term> {
        let names = |recipe: &Recipe| recipe.thickness_mm.is_some() || recipe.rates_at_mm.is_some();
        let beyond = self.beyond_thickness().filter(|_| !own.is_some_and(names))?;
        let low = if beyond.is_thin() {
            1.0
        } else {
            beyond.times.recip()
        };
        Some(beyond.term(&self.book.rules.thickness, low))
    }

    /// Returns what makes the gap of a row another one in this material, and what is open of it in thick work. Once gauged
    /// it is known.
    pub(super) fn gap_factors(&self, row: &RecipePass) -> Vec<Term> {
        let names_thickness = |recipe: &Recipe| row.own.spark_gap && recipe.thickness_mm.is_some();
        let known = self.is_gauged() || self.recipe.is_some_and(names_thickness);
        let thick = self
            .beyond_thickness()
            .filter(|beyond| !(known || beyond.is_thin()));
        let thick = thick.map(|thick| thick.term(&self.book.rules.thickness, 1.0));
        let mut terms: Vec<Term> = self.gap_of_material(row).into_iter().chain(thick).collect();
        terms.retain(|term| term.value != Band::exact(1.0));
        terms
    }

    fn is_gauged(&self) -> bool {
        self.recipe.is_some_and(|recipe| recipe.gauged.is_some()) || self.offset_correction_um().is_some()
    }

    /// Returns what the offsets are corrected by, away from the wall, µm. A recipe's own correction goes before that of finished jobs,
    /// and what was gauged on a test piece is not corrected by jobs that were cut before.
    pub(super) fn offset_correction_um(&self) -> Option<&Number> {
        match self.recipe {
            Some(recipe) if recipe.gauged.is_some() || recipe.offset_correction_um.is_some() => {
                recipe.offset_correction_um.as_ref()
            }
            _ => self.calibration?.offset_correction_um.as_ref(),
        }
    }

    /// The gap of this material against that of a row of the pass table; `None` where an own recipe of the material gives it.
    fn gap_of_material(&self, row: &RecipePass) -> Option<Term> {
        if row.own.spark_gap && self.is_recipe_of_material() {
            return None;
        }
        let mut term = Term::of("gap against that in steel", self.gap_factor(), "");
        if self.is_gauged() {
            term.value = Band::exact(term.value.expected);
        }
        Some(term)
    }

    fn gap_factor(&self) -> &Number {
        let rule = &self.book.rules.spark_gap;
        let own = self.setting.material.gap_factor.as_ref();
        own.unwrap_or(&rule.other_material)
    }

    fn is_recipe_of_material(&self) -> bool {
        self.recipe.is_some_and(|recipe| !recipe.materials.is_empty())
    }

    /// Lists which numbers of `rows` were made for other work.
    pub(super) fn borrowed(&self, rows: &[RecipePass]) -> Vec<Borrowed> {
        let material = &self.setting.material;
        let is_open = |factor: &Term| factor.value.low < factor.value.high && factor.basis != Basis::Shop;
        let mut gaps = rows.iter().filter_map(|row| self.gap_of_material(row));
        let gaps = gaps.any(|factor| is_open(&factor)).then(|| Borrowed::Gaps {
            material: material.title.clone(),
            factor: self.gap_factor().clone(),
        });
        let mut skims = rows.iter().skip(1);
        let by_factor = skims.any(|row| !(row.own.rate && self.is_recipe_of_material()));
        let factor = material.skim_factor.as_ref();
        let factor = factor.filter(|factor| by_factor && factor.basis != Basis::Shop);
        let skims = factor.map(|factor| Borrowed::SkimRates {
            material: material.title.clone(),
            factor: factor.clone(),
        });
        let own = |row: &RecipePass| self.recipe.filter(|_| row.own.rate);
        let mut doubts = rows.iter().filter_map(|row| self.thickness_doubt(own(row)));
        let thickness = doubts.next().and_then(|_| self.beyond_thickness());
        let lists = gaps.into_iter().chain(skims);
        lists.chain(thickness.map(Borrowed::Thickness)).collect()
    }
}

use std::collections::BTreeMap;

use super::Number;
use super::entry::{Entry, Limit};

/// A work material.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Material {
    /// Kebab-case name, as given.
    pub name: String,
    /// Its name in words.
    pub title: String,
    /// Other names it answers to.
    pub aliases: Vec<String>,
    /// What standards call it, or a grade that is cut like it.
    pub designations: Vec<Designation>,
    /// Area rate of the rough cut at the reference (0.25 mm plain brass, 60 mm, sealed nozzles), mm²/min.
    pub rate_mm2_min: Number,
    /// Ra against that of the pass table.
    pub ra_factor: Number,
    /// Spark gaps against those of the pass table; `None` for what the rule of gaps says of other materials.
    pub gap_factor: Option<Number>,
    /// Skim rates against those of the pass table; `None` for what the rule of skims makes of the rough rate.
    pub skim_factor: Option<Number>,
    /// Linear expansion, µm per metre and kelvin (10⁻⁶/K).
    pub expansion_um_per_m_k: Number,
    /// Density, g/cm³.
    pub density_g_cm3: Number,
    /// Feed of spark-drilling a 1 mm start hole, mm/min.
    pub drill_mm_min: Number,
    /// Price of the blank a kg; the built-in book has none.
    pub price_per_kg: Option<Number>,
}

/// The name of a material in a standard.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Designation {
    /// The name.
    pub name: String,
    /// The standard that gives it.
    pub standard: String,
}

/// A name that can mean more than one material.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct AmbiguousMaterial {
    /// Other names that are as open.
    pub aliases: Vec<String>,
    /// What it can mean, and what to give for each.
    pub readings: Vec<String>,
}

/// A material that is not cut.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct RefusedMaterial {
    /// Other names it answers to.
    pub aliases: Vec<String>,
    /// Why not.
    pub reason: String,
}

/// Why the book gives no material.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum MaterialError {
    /// The book has no such material.
    #[error("no material `{asked}` in the book{}; it has {}", did_you_mean(suggestion.as_deref()), known.join(", "))]
    Unknown {
        /// As given.
        asked: String,
        /// The name most like it.
        suggestion: Option<String>,
        /// All names of the book.
        known: Vec<String>,
    },
    /// It can mean more than one material.
    #[error("`{asked}` does not tell the material: {}", readings.join("; or "))]
    Ambiguous {
        /// As given.
        asked: String,
        /// What it can mean.
        readings: Vec<String>,
    },
    /// The book says not to cut it.
    #[error("`{asked}` is not cut: {reason}")]
    Refused {
        /// As given.
        asked: String,
        /// Why not.
        reason: String,
    },
}

pub(super) fn did_you_mean(suggestion: Option<&str>) -> String {
    suggestion.map_or_else(String::new, |word| format!(" (did you mean `{word}`?)"))
}

/// Whether two names of materials are the same: case, blanks, hyphens and underscores do not tell them apart.
pub(super) fn same_name(a: &str, b: &str) -> bool {
    fn letters(name: &str) -> impl Iterator<Item = char> {
        let told = name
            .chars()
            .filter(|c| !(c.is_whitespace() || "-_–".contains(*c)));
        told.map(|c| c.to_ascii_lowercase())
    }
    letters(a).eq(letters(b))
}

impl Material {
    /// Returns every name that it answers to, its own first.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let designations = self.designations.iter().map(|designation| &designation.name);
        let others = self.aliases.iter().chain(designations);
        std::iter::once(&self.name).chain(others).map(String::as_str)
    }

    /// Returns the designation of a standard by which it was asked for; `None` where it has another name.
    pub fn designation(&self, asked: &str) -> Option<&Designation> {
        self.designations
            .iter()
            .find(|known| same_name(&known.name, asked))
    }

    /// Computes the mass of a volume of it, kg.
    pub fn mass_kg(&self, volume_mm3: f64) -> f64 {
        const KG_PER_MM3_OF_G_PER_CM3: f64 = 1.0 / 1_000_000.0;
        volume_mm3 * self.density_g_cm3.value() * KG_PER_MM3_OF_G_PER_CM3
    }

    /// Reads `[material.NAME]` over what the book had under that name, or under the name in `like`.
    pub(super) fn read(entry: &Entry<'_, '_>, name: &str, had: &BTreeMap<String, Self>) -> Option<Self> {
        let like = entry.text_if("like");
        if let Some(other) = like.as_deref().filter(|other| !had.contains_key(*other)) {
            entry.flaw_at("like", format!("no material `{other}` in the book"));
        }
        let old = had
            .get(name)
            .or_else(|| like.as_deref().and_then(|other| had.get(other)));
        let own = had.get(name);
        let title = entry.text(
            "title",
            own.map(|m| m.title.as_str()).or(like.as_ref().map(|_| name)),
        );
        let aliases = entry
            .text_list("aliases")
            .or_else(|| own.map(|m| m.aliases.clone()));
        let designations = if entry.has("designations") {
            Designation::read(entry)
        } else {
            own.map_or_else(Vec::new, |m| m.designations.clone())
        };
        let rate_mm2_min = entry.number("rate_mm2_min", old.map(|m| &m.rate_mm2_min), Limit::Positive);
        let ra_factor = entry.number("ra_factor", old.map(|m| &m.ra_factor), Limit::Positive);
        let gap_factor = old.and_then(|m| m.gap_factor.as_ref());
        let gap_factor = entry.number_if("gap_factor", gap_factor, Limit::Positive);
        let skim_factor = old.and_then(|m| m.skim_factor.as_ref());
        let skim_factor = entry.number_if("skim_factor", skim_factor, Limit::Positive);
        let expansion_um_per_m_k = entry.number(
            "expansion_um_per_m_k",
            old.map(|m| &m.expansion_um_per_m_k),
            Limit::NotNegative,
        );
        let density_g_cm3 = entry.number("density_g_cm3", old.map(|m| &m.density_g_cm3), Limit::Positive);
        let drill_mm_min = entry.number("drill_mm_min", old.map(|m| &m.drill_mm_min), Limit::Positive);
        let old_price = old.and_then(|m| m.price_per_kg.as_ref());
        let price_per_kg = entry.number_if("price_per_kg", old_price, Limit::NotNegative);
        entry.finish();
        Some(Self {
            name: name.to_owned(),
            title: title?,
            aliases: aliases.unwrap_or_default(),
            designations,
            gap_factor,
            skim_factor,
            rate_mm2_min: rate_mm2_min?,
            ra_factor: ra_factor?,
            expansion_um_per_m_k: expansion_um_per_m_k?,
            density_g_cm3: density_g_cm3?,
            drill_mm_min: drill_mm_min?,
            price_per_kg,
        })
    }
}

impl Designation {
    /// Reads `designations = { "STANDARD" = ["NAME", …] }`.
    fn read(entry: &Entry<'_, '_>) -> Vec<Self> {
        let Some(child) = entry.child("designations") else {
            return Vec::new();
        };
        let mut list = Vec::new();
        for standard in child.keys() {
            let names = child.text_list(&standard).unwrap_or_default();
            list.extend(names.into_iter().map(|name| Self {
                name,
                standard: standard.clone(),
            }));
        }
        list
    }
}

impl AmbiguousMaterial {
    /// Reads `[ambiguous.NAME]`.
    pub(super) fn read(entry: &Entry<'_, '_>) -> Self {
        let aliases = entry.text_list("aliases").unwrap_or_default();
        let readings = entry.text_list("readings").unwrap_or_default();
        if readings.is_empty() {
            entry.flaw("`readings` is missing: what the name can mean, and what to give for each");
        }
        entry.finish();
        Self { aliases, readings }
    }
}

impl RefusedMaterial {
    /// Reads `[refused.NAME]`.
    pub(super) fn read(entry: &Entry<'_, '_>) -> Option<Self> {
        let aliases = entry.text_list("aliases").unwrap_or_default();
        let reason = entry.text("reason", None);
        entry.finish();
        Some(Self {
            aliases,
            reason: reason?,
        })
    }
}

use std::collections::BTreeMap;

use super::Number;
use super::entry::{Entry, Limit};

/// A work material.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Kebab-case name, as given.
    pub name: String,
    /// Its name in words.
    pub title: String,
    /// Other names it answers to.
    pub aliases: Vec<String>,
    /// Area rate of the rough cut at the reference (0.25 mm plain brass, 60 mm, sealed nozzles), mm²/min.
    pub rate_mm2_min: Number,
    /// Ra against that of the pass table.
    pub ra_factor: Number,
    /// Linear expansion, µm per metre and kelvin (10⁻⁶/K).
    pub expansion_um_per_m_k: Number,
    /// Density, g/cm³.
    pub density_g_cm3: Number,
    /// Feed of spark-drilling a 1 mm start hole, mm/min.
    pub drill_mm_min: Number,
    /// Price of the blank a kg; the built-in book has none.
    pub price_per_kg: Option<Number>,
}

/// A material that is not cut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RefusedMaterial {
    /// Other names it answers to.
    pub aliases: Vec<String>,
    /// Why not.
    pub reason: String,
}

/// Why the book gives no material.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
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

impl Material {
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
        let rate_mm2_min = entry.number("rate_mm2_min", old.map(|m| &m.rate_mm2_min), Limit::Positive);
        let ra_factor = entry.number("ra_factor", old.map(|m| &m.ra_factor), Limit::Positive);
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
            rate_mm2_min: rate_mm2_min?,
            ra_factor: ra_factor?,
            expansion_um_per_m_k: expansion_um_per_m_k?,
            density_g_cm3: density_g_cm3?,
            drill_mm_min: drill_mm_min?,
            price_per_kg,
        })
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

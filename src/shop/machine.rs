use super::Number;
use super::entry::{Entry, Limit};
use super::material::did_you_mean;

/// How a machine threads its wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Threading {
    /// By itself.
    Automatic,
    /// Somebody has to come.
    Hand,
}

/// How a machine measures its position.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Drive {
    /// Scales on the axes: screw heat and pitch do not count.
    LinearScale,
    /// The turning of the screw.
    RotaryEncoder,
}

/// A machine of the shop.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Machine {
    /// Kebab-case name.
    pub name: String,
    /// Its name in words.
    pub title: String,
    /// Travel along x, mm.
    pub travel_x_mm: Number,
    /// Travel along y, mm.
    pub travel_y_mm: Number,
    /// Greatest work height, mm.
    pub height_mm: Number,
    /// Greatest work mass, kg.
    pub table_load_kg: Number,
    /// Thinnest wire it runs, mm.
    pub thinnest_wire_mm: Number,
    /// Thickest wire it runs, mm.
    pub thickest_wire_mm: Number,
    /// Most passes its generator has settings for.
    pub most_passes: Number,
    /// Rough rate against the book's.
    pub rate_factor: Number,
    /// How it threads.
    pub threading: Threading,
    /// Positioning error, plus or minus, µm.
    pub positioning_um: Number,
    /// Repeatability, plus or minus, µm.
    pub repeatability_um: Number,
    /// Linear expansion of its scales, µm per metre and kelvin.
    pub scale_expansion_um_per_m_k: Number,
    /// How much warmer its screws run than the scales would, K; counts for [`Drive::RotaryEncoder`] only.
    pub screw_warming_k: Number,
    /// What it measures its position by.
    pub drive: Drive,
}

/// The book has no such machine.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no machine `{asked}` in the book{}; it has {}", did_you_mean(suggestion.as_deref()), known.join(", "))]
#[non_exhaustive]
pub struct MachineError {
    /// As given.
    pub asked: String,
    /// The name most like it.
    pub suggestion: Option<String>,
    /// All machines of the book.
    pub known: Vec<String>,
}

impl Machine {
    /// Returns its numbers by their names in the book.
    pub fn numbers(&self) -> Vec<(&'static str, &Number)> {
        vec![
            ("travel_x_mm", &self.travel_x_mm),
            ("travel_y_mm", &self.travel_y_mm),
            ("height_mm", &self.height_mm),
            ("table_load_kg", &self.table_load_kg),
            ("thinnest_wire_mm", &self.thinnest_wire_mm),
            ("thickest_wire_mm", &self.thickest_wire_mm),
            ("most_passes", &self.most_passes),
            ("rate_factor", &self.rate_factor),
            ("positioning_um", &self.positioning_um),
            ("repeatability_um", &self.repeatability_um),
            ("scale_expansion_um_per_m_k", &self.scale_expansion_um_per_m_k),
            ("screw_warming_k", &self.screw_warming_k),
        ]
    }

    /// Reads `[machine.NAME]`; what is absent is taken from `like`.
    pub(super) fn read(
        entry: &Entry<'_, '_>,
        name: &str,
        own: Option<&Self>,
        like: Option<&Self>,
    ) -> Option<Self> {
        let old = own.or(like);
        let number = |key: &str, of: fn(&Self) -> &Number, limit| entry.number(key, old.map(of), limit);
        let title = entry.text("title", own.map(|m| m.title.as_str()).or(Some(name)));
        let travel_x_mm = number("travel_x_mm", |m| &m.travel_x_mm, Limit::Positive);
        let travel_y_mm = number("travel_y_mm", |m| &m.travel_y_mm, Limit::Positive);
        let height_mm = number("height_mm", |m| &m.height_mm, Limit::Positive);
        let table_load_kg = number("table_load_kg", |m| &m.table_load_kg, Limit::Positive);
        let thinnest_wire_mm = number("thinnest_wire_mm", |m| &m.thinnest_wire_mm, Limit::Positive);
        let thickest_wire_mm = number("thickest_wire_mm", |m| &m.thickest_wire_mm, Limit::Positive);
        let most_passes = number("most_passes", |m| &m.most_passes, Limit::Positive);
        let rate_factor = number("rate_factor", |m| &m.rate_factor, Limit::Positive);
        let positioning_um = number("positioning_um", |m| &m.positioning_um, Limit::NotNegative);
        let repeatability_um = number("repeatability_um", |m| &m.repeatability_um, Limit::NotNegative);
        let scale_expansion_um_per_m_k = number(
            "scale_expansion_um_per_m_k",
            |m| &m.scale_expansion_um_per_m_k,
            Limit::NotNegative,
        );
        let screw_warming_k = number("screw_warming_k", |m| &m.screw_warming_k, Limit::NotNegative);
        let threading = choice(
            entry,
            "threading",
            old.map(|m| m.threading),
            &[("automatic", Threading::Automatic), ("hand", Threading::Hand)],
        );
        let drive = choice(
            entry,
            "drive",
            old.map(|m| m.drive),
            &[
                ("linear-scale", Drive::LinearScale),
                ("rotary-encoder", Drive::RotaryEncoder),
            ],
        );
        entry.finish();
        Some(Self {
            name: name.to_owned(),
            title: title?,
            travel_x_mm: travel_x_mm?,
            travel_y_mm: travel_y_mm?,
            height_mm: height_mm?,
            table_load_kg: table_load_kg?,
            thinnest_wire_mm: thinnest_wire_mm?,
            thickest_wire_mm: thickest_wire_mm?,
            most_passes: most_passes?,
            rate_factor: rate_factor?,
            threading: threading?,
            positioning_um: positioning_um?,
            repeatability_um: repeatability_um?,
            scale_expansion_um_per_m_k: scale_expansion_um_per_m_k?,
            screw_warming_k: screw_warming_k?,
            drive: drive?,
        })
    }
}

fn choice<T: Copy>(entry: &Entry<'_, '_>, key: &str, old: Option<T>, words: &[(&str, T)]) -> Option<T> {
    let accepted = || {
        words
            .iter()
            .map(|(word, _)| format!("`{word}`"))
            .collect::<Vec<_>>()
            .join(" or ")
    };
    let Some(word) = entry.text_if(key) else {
        if old.is_none() && !entry.has(key) {
            entry.flaw(format!("`{key}` is missing: {}", accepted()));
        }
        return old;
    };
    let found = words
        .iter()
        .find(|(known, _)| *known == word)
        .map(|(_, value)| *value);
    if found.is_none() {
        entry.flaw_at(key, format!("`{word}`: use {}", accepted()));
    }
    found
}

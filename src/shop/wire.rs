use super::Number;
use super::entry::{Entry, Limit};
use super::material::did_you_mean;
use crate::message::{Message, message, mm};

/// What holds for all wires.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WireDefaults {
    /// The kind that is used where none is given.
    pub kind: String,
    /// Run-off speed, m/min.
    pub run_speed_m_min: Number,
    /// Wire on a full spool, kg.
    pub spool_kg: Number,
    /// Working tension as a share of the breaking load.
    pub working_tension_share: Number,
    /// Load along the wire in the rough cut, N/m.
    pub rough_load_n_per_m: Number,
    /// From the part to the guide, each side, mm.
    pub guide_standoff_mm: Number,
}

/// What a wire is made of.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WireKind {
    /// Kebab-case name.
    pub name: String,
    /// Its name in words.
    pub title: String,
    /// Diameters it is made in, mm.
    pub sizes_mm: Vec<f64>,
    /// Rough rate against plain brass.
    pub rate_factor: Number,
    /// Density, g/cm³.
    pub density_g_cm3: Number,
    /// Breaking stress, N/mm².
    pub tensile_n_mm2: Number,
    /// Price of a kilogram, in the currency of the book.
    pub price_per_kg: Number,
}

/// A diameter of wire.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WireSize {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Thickest work it cuts, mm.
    pub thickest_mm: Number,
}

/// A wire of the book.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Wire<'a> {
    /// How thick.
    pub size: &'a WireSize,
    /// What it is made of.
    pub kind: &'a WireKind,
}

impl Wire<'_> {
    /// Mass of a metre of wire at the expected density, kg.
    pub fn kg_per_m(&self) -> f64 {
        // mm² · g/cm³ is g/m.
        const KG_PER_G: f64 = 0.001;
        let area_mm2 = std::f64::consts::FRAC_PI_4 * self.size.diameter_mm.powi(2);
        area_mm2 * self.kind.density_g_cm3.value() * KG_PER_G
    }
}

/// Why a wire cannot be had from the book.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", self.message())]
#[non_exhaustive]
pub enum WireError {
    /// No wire of that diameter.
    Size {
        /// As given, mm.
        asked_mm: f64,
        /// Diameters of the book, mm.
        known_mm: Vec<f64>,
    },
    /// No wire of that kind.
    Kind {
        /// As given.
        asked: String,
        /// The name most like it.
        suggestion: Option<String>,
        /// All kinds of the book.
        known: Vec<String>,
    },
    /// Both exist, but not together.
    NotMade {
        /// Kind as given.
        kind: String,
        /// Diameter as given, mm.
        asked_mm: f64,
        /// Diameters of that kind, mm.
        known_mm: Vec<f64>,
    },
}

impl WireError {
    /// Says it.
    pub fn message(&self) -> Message {
        match self {
            Self::Size { asked_mm, known_mm } => message!(
                "no wire of {} in the book; it has {}",
                mm(*asked_mm),
                listed(known_mm)
            ),
            Self::Kind {
                asked,
                suggestion,
                known,
            } => message!(
                "no wire kind `{}` in the book{}; it has {}",
                asked,
                did_you_mean(suggestion.as_deref()),
                known.join(", ")
            ),
            Self::NotMade {
                kind,
                asked_mm,
                known_mm,
            } => message!(
                "no {} wire of {} in the book; it comes in {}",
                kind,
                mm(*asked_mm),
                listed(known_mm)
            ),
        }
    }
}

fn listed(sizes_mm: &[f64]) -> Message {
    let sizes = sizes_mm
        .iter()
        .map(|&size_mm| message!("{}", mm(size_mm).fixed(2)));
    Message::joined(sizes, ", ")
}

impl WireDefaults {
    /// Reads `[wire]`.
    pub(super) fn read(entry: &Entry<'_, '_>, old: Option<&Self>) -> Option<Self> {
        let kind = entry.text("default_kind", old.map(|w| w.kind.as_str()));
        let run_speed_m_min = entry.number(
            "run_speed_m_min",
            old.map(|w| &w.run_speed_m_min),
            Limit::Positive,
        );
        let spool_kg = entry.number("spool_kg", old.map(|w| &w.spool_kg), Limit::Positive);
        let working_tension_share = entry.number(
            "working_tension_share",
            old.map(|w| &w.working_tension_share),
            Limit::Share,
        );
        let rough_load_n_per_m = entry.number(
            "rough_load_n_per_m",
            old.map(|w| &w.rough_load_n_per_m),
            Limit::Positive,
        );
        let guide_standoff_mm = entry.number(
            "guide_standoff_mm",
            old.map(|w| &w.guide_standoff_mm),
            Limit::NotNegative,
        );
        entry.finish();
        Some(Self {
            kind: kind?,
            run_speed_m_min: run_speed_m_min?,
            spool_kg: spool_kg?,
            working_tension_share: working_tension_share?,
            rough_load_n_per_m: rough_load_n_per_m?,
            guide_standoff_mm: guide_standoff_mm?,
        })
    }
}

impl WireKind {
    /// Reads `[wire-kind.NAME]`.
    pub(super) fn read(entry: &Entry<'_, '_>, name: &str, old: Option<&Self>) -> Option<Self> {
        let title = entry.text("title", old.map(|k| k.title.as_str()));
        let sizes_mm = entry
            .plain_list("sizes_mm", Limit::Positive)
            .or_else(|| old.map(|k| k.sizes_mm.clone()));
        if sizes_mm.is_none() && !entry.has("sizes_mm") {
            entry.flaw("`sizes_mm` is missing: the diameters it is made in, such as [0.20, 0.25]");
        }
        let rate_factor = entry.number("rate_factor", old.map(|k| &k.rate_factor), Limit::Positive);
        let density_g_cm3 = entry.number("density_g_cm3", old.map(|k| &k.density_g_cm3), Limit::Positive);
        let tensile_n_mm2 = entry.number("tensile_n_mm2", old.map(|k| &k.tensile_n_mm2), Limit::Positive);
        let price_per_kg = entry.number("price_per_kg", old.map(|k| &k.price_per_kg), Limit::NotNegative);
        entry.finish();
        Some(Self {
            name: name.to_owned(),
            title: title?,
            sizes_mm: sizes_mm?,
            rate_factor: rate_factor?,
            density_g_cm3: density_g_cm3?,
            tensile_n_mm2: tensile_n_mm2?,
            price_per_kg: price_per_kg?,
        })
    }
}

impl WireSize {
    /// Reads `[wire-size."DIAMETER"]`.
    pub(super) fn read(entry: &Entry<'_, '_>, name: &str, old: Option<&Self>) -> Option<Self> {
        let diameter_mm = entry
            .plain_if("diameter_mm", Limit::Positive)
            .or_else(|| old.map(|size| size.diameter_mm))
            .or_else(|| name.parse().ok().filter(|d: &f64| d.is_finite() && *d > 0.0));
        if diameter_mm.is_none() && !entry.has("diameter_mm") {
            entry.flaw("`diameter_mm` is missing: a number above 0");
        }
        let thickest_mm = entry.number("thickest_mm", old.map(|size| &size.thickest_mm), Limit::Positive);
        entry.finish();
        Some(Self {
            diameter_mm: diameter_mm?,
            thickest_mm: thickest_mm?,
        })
    }
}

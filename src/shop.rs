//! The shop's book: materials, wires, pass recipes, machines, rates, room. Typed and validated TOML; the
//! built-in book is embedded, the user's own is layered over it. Knows nothing of drawings.

mod number;
mod figure;
mod flaw;
mod nearest;
mod entry;
mod material;
mod wire;
mod date;
mod recipe;
mod numbers;
mod rule;
mod handling;
mod machine;
mod rates;
mod calibration;
mod layers;
mod book;
mod sense;
mod show;
#[cfg(test)]
mod tests;

pub use book::Book;
pub use calibration::{Calibration, MinutesHold, UnknownMinutes};
pub use date::is_date;
pub use figure::{Figure, Term};
pub use flaw::{Flaw, FlawSource, Flaws};
pub use handling::{HoldingRule, OpenCutRule, PieceRule, SlugRule, StartHoleRule, TabRule};
pub use machine::{Drive, Machine, MachineError, Threading};
pub use material::{AmbiguousMaterial, Designation, Material, MaterialError, RefusedMaterial};
pub use nearest::nearest;
pub use number::{Basis, Number};
pub use rates::{GaugingErrors, MachineRate, Prices, Room, TestPieceSizes, Times, capital_recovery_factor};
pub use recipe::{Case, OwnValues, Recipe, RecipePass, SingleCut};
pub use rule::{
    CalibrationRule, FlushingRule, FormErrorRule, Rules, SkimRule, SparkGapRule, SurfaceRule, ThicknessRule,
    WireDiameterRule,
};
pub use sense::Doubt;
pub use show::{Listed, STARTER};
pub use wire::{Wire, WireDefaults, WireError, WireKind, WireSize};

/// Whether two diameters (mm) name the same wire.
pub fn same_wire(a_mm: f64, b_mm: f64) -> bool {
    (a_mm - b_mm).abs() <= crate::tolerance::SAME_WIRE_MM
}

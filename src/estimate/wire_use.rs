//! The wire that runs off: in all minutes in which it runs, not only along the passes.

use super::cut::total;
use crate::shop::{Book, Figure, Term, Wire};
use crate::units::Band;

/// What is drawn, cut once, takes so much wire.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WireUse {
    /// The wire runs, min: the cut with all that lengthens or slows it, and tabs while they are cut off.
    pub minutes: Figure,
    /// It runs off, m.
    pub metres: Figure,
    /// Its mass, kg.
    pub kg: Figure,
}

/// Computes the wire that runs off while `running` is cut, and while tabs are cut off. While a broken wire is threaded again none
/// runs.
pub(super) fn wire_use(book: &Book, wire: Wire<'_>, running: &Figure, tabs: Option<&Figure>) -> WireUse {
    let all: Vec<Figure> = std::iter::once(running).chain(tabs).cloned().collect();
    let minutes = total("wire running, tabs too", "min", &all);
    let metres = wire_run(book, &minutes);
    WireUse {
        kg: wire_mass(wire, &metres),
        metres,
        minutes,
    }
}

fn wire_run(book: &Book, minutes: &Figure) -> Figure {
    let speed = &book.wire.run_speed_m_min;
    Figure::new(
        "wire run off",
        Band::product(&[minutes.value, speed.band]),
        "m",
        "minutes × wire speed",
        vec![minutes.term(), Term::of("wire speed", speed, "m/min")],
    )
}

fn wire_mass(wire: Wire<'_>, metres: &Figure) -> Figure {
    // mm² · g/cm³ is g/m.
    const KG_PER_G: f64 = 0.001;
    let diameter_mm = wire.size.diameter_mm;
    let density = &wire.kind.density_g_cm3;
    let area_mm2 = std::f64::consts::FRAC_PI_4 * diameter_mm.powi(2);
    Figure::new(
        "wire mass",
        Band::product(&[metres.value, density.band, Band::exact(area_mm2 * KG_PER_G)]),
        "kg",
        "wire run off × π/4 × wire diameter² × density",
        vec![
            metres.term(),
            Term::given("wire diameter", diameter_mm, "mm", "given"),
            Term::of("wire density", density, "g/cm³"),
        ],
    )
}

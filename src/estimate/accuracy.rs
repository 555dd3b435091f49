//! The accuracy budget, in the manner of JCGM 100 (GUM): known effects added as they are, uncertainties combined
//! by squares, k = 2. Decision by ISO 14253-1. ISO 1: sizes hold at 20 °C.

use serde::Serialize;

use crate::elementary::sin;
use crate::job::{OffsetBasis, Scope};
use crate::pass::{PassTrace, Setting};
use crate::shop::{Book, Drive, Figure, Number, Room, Term};
use crate::units::{Band, Limits, UM_PER_MM};

/// Coverage factor of the expanded uncertainty.
pub const COVERAGE_K: f64 = 2.0;

/// Where the offset stands among the terms before they are sorted.
const OFFSET_TERM: usize = 1;

/// Reference temperature of sizes, °C (ISO 1).
const REFERENCE_C: f64 = 20.0;

/// What the budget is made for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AccuracyInput {
    /// Nominal size of the feature, mm.
    pub size_mm: f64,
    /// Distance from the feature to its pick-up, mm.
    pub pickup_mm: f64,
    /// Hours from pick-up to the end of the last pass.
    pub hours: f64,
    /// How well the offset is known.
    pub offset_basis: OffsetBasis,
    /// Swing of the room from night to day, K, where it is not the book's.
    pub room_swing_k: Option<f64>,
}

/// One uncertainty of the budget.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct BudgetTerm {
    /// Half-width on one wall, with its trace, µm.
    pub half_width_um: Figure,
    /// Standard uncertainty of one wall, µm: half-width / √3, rectangular; of an offset that was gauged, half-width / 2.
    pub per_side_um: Band,
    /// Standard uncertainty on a size between two walls, µm.
    pub on_size_um: Band,
    /// What would make it smaller.
    pub remedy: &'static str,
}

impl BudgetTerm {
    /// Returns its standard uncertainty on size or of one wall, µm.
    pub const fn standard_um(&self, scope: Scope) -> Band {
        match scope {
            Scope::OnSize => self.on_size_um,
            Scope::PerSide => self.per_side_um,
        }
    }
}

/// The budget, per side and on size.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Accuracy {
    /// Its uncertainties, largest on size first.
    pub terms: Vec<BudgetTerm>,
    /// Known shift of a wall away from its pick-up at 20 °C, µm, signed.
    pub bias_per_side_um: Figure,
    /// Known shift of the size at 20 °C, µm, signed.
    pub bias_on_size_um: Figure,
    /// Expanded uncertainty of one wall, µm.
    pub expanded_per_side_um: Band,
    /// Expanded uncertainty on size, µm.
    pub expanded_on_size_um: Band,
    /// How these two came about.
    pub combined: [Figure; 2],
    /// Whether the offset is gauged in all this.
    pub offset_basis: OffsetBasis,
    /// The day on which the offset was gauged on a test piece, year-month-day; `None` where it was not.
    pub gauged_on: Option<String>,
    /// The expanded uncertainty of one wall and on size before a test piece is gauged, with the offset as modelled, µm.
    pub modelled: [Figure; 2],
    /// Coverage factor.
    pub k: f64,
}

/// What ISO 14253-1 lets one say before measuring.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Verdict {
    /// The model expects it inside the limits by more than the uncertainty.
    ExpectedInside,
    /// The uncertainty reaches over a limit: neither can be said.
    Undecided,
    /// The model expects it outside the limits by more than the uncertainty.
    ExpectedOutside,
}

/// Computes the budget of the last pass.
pub fn accuracy(book: &Book, setting: Setting<'_>, last: &PassTrace, occasion: AccuracyInput) -> Accuracy {
    let AccuracyInput {
        size_mm,
        pickup_mm,
        hours,
        offset_basis,
        room_swing_k,
    } = occasion;
    let machine = setting.machine;
    let room = &book.room;
    let alpha = &setting.material.expansion_um_per_m_k;
    // An error of the offset or a form error stands on both walls of a size: it counts twice. Two positions of
    // the machine are independent: √2. Heat goes with the length concerned.
    let mut terms = vec![
        term(
            form_error(&last.form_error),
            2.0,
            "more passes, or less thickness",
        ),
        offset_term(room, last, offset_basis),
        term(
            of_machine("positioning", &machine.positioning_um),
            std::f64::consts::SQRT_2,
            "a machine tested better",
        ),
        term(
            of_machine("repeatability", &machine.repeatability_um),
            std::f64::consts::SQRT_2,
            "a machine tested better",
        ),
    ];
    let lengths = [pickup_mm, size_mm];
    let dielectric = Warming::of("dielectric", &room.dielectric_band_k, "a steadier dielectric");
    terms.push(dielectric.moves(alpha, lengths));
    let given_swing = room_swing_k.map(Number::given);
    let swing_k = given_swing.as_ref().unwrap_or(&room.room_swing_k);
    terms.push(swing(swing_k, &room.share_reaching_part, hours).moves(alpha, lengths));
    if machine.drive == Drive::RotaryEncoder {
        let screws = Warming::of("warm screws", &machine.screw_warming_k, "a machine with scales");
        terms.push(screws.moves(&machine.scale_expansion_um_per_m_k, lengths));
    }
    let bias = |name: &str, length_mm: f64| {
        known_heat(name, room, alpha, &machine.scale_expansion_um_per_m_k, length_mm)
    };
    let is_gauged = last.gauged_on.is_some();
    let modelled = {
        let mut terms = terms.clone();
        terms[OFFSET_TERM] = offset_term(room, last, OffsetBasis::Modelled);
        side_and_size(", offset as modelled", is_gauged, &terms)
    };
    terms.sort_by(|a, b| b.on_size_um.expected.total_cmp(&a.on_size_um.expected));
    let combined = side_and_size("", is_gauged, &terms);
    let [expanded_per_side_um, expanded_on_size_um] = combined.each_ref().map(|figure| figure.value);
    Accuracy {
        bias_per_side_um: bias("known shift of a wall", pickup_mm),
        bias_on_size_um: bias("known shift of the size", size_mm),
        expanded_per_side_um,
        expanded_on_size_um,
        combined,
        modelled,
        offset_basis,
        gauged_on: last.gauged_on.clone(),
        terms,
        k: COVERAGE_K,
    }
}

impl Accuracy {
    /// Largest expected error on size, µm: known shift and expanded uncertainty.
    pub fn worst_on_size_um(&self) -> f64 {
        self.bias_on_size_um.value.expected.abs() + self.expanded_on_size_um.expected
    }

    /// Largest expected error on size before a test piece is gauged, µm.
    pub fn worst_on_size_modelled_um(&self) -> f64 {
        self.bias_on_size_um.value.expected.abs() + self.modelled[1].value.expected
    }

    /// Largest expected error of one wall, µm.
    pub fn worst_per_side_um(&self) -> f64 {
        self.bias_per_side_um.value.expected.abs() + self.expanded_per_side_um.expected
    }

    /// Returns its uncertainties by what they are judged by, on size or of one wall, largest first.
    pub fn ranked(&self, scope: Scope) -> Vec<&BudgetTerm> {
        let mut terms: Vec<&BudgetTerm> = self.terms.iter().collect();
        terms.sort_by(|a, b| {
            b.standard_um(scope)
                .expected
                .total_cmp(&a.standard_um(scope).expected)
        });
        terms
    }

    /// Held against limits, when each wall is aimed `off_middle_mm` beside their middle. Known shifts are taken to add
    /// up where that speaks against the cut, and to cancel where it speaks for it.
    pub fn against(&self, limits: Limits, scope: Scope, off_middle_mm: f64) -> Verdict {
        let half_um = limits.half_width_mm() * UM_PER_MM;
        let walls = match scope {
            Scope::OnSize => 2.0,
            Scope::PerSide => 1.0,
        };
        let off_um = walls * off_middle_mm.abs() * UM_PER_MM;
        let (bias_um, expanded_um) = match scope {
            Scope::OnSize => (
                self.bias_on_size_um.value.expected,
                self.expanded_on_size_um.expected,
            ),
            Scope::PerSide => (
                self.bias_per_side_um.value.expected,
                self.expanded_per_side_um.expected,
            ),
        };
        if bias_um.abs() + off_um + expanded_um <= half_um {
            Verdict::ExpectedInside
        } else if (bias_um.abs() - off_um).abs() - expanded_um > half_um {
            Verdict::ExpectedOutside
        } else {
            Verdict::Undecided
        }
    }
}

/// What the offset may be off: twice on a size.
fn offset_term(room: &Room, last: &PassTrace, basis: OffsetBasis) -> BudgetTerm {
    let offset = known_offset(room, last, basis);
    match (&last.gauged_on, basis) {
        (Some(_), _) => expanded_term(offset, 2.0, "gauge more readings of a test piece"),
        (None, OffsetBasis::Gauged) => term(offset, 2.0, "gauge the test piece more closely"),
        (None, OffsetBasis::Modelled) => term(offset, 2.0, "cut and gauge a test piece first"),
    }
}

fn term(half_width: Figure, walls: f64, remedy: &'static str) -> BudgetTerm {
    let per_side = half_width.value.scaled(3.0_f64.sqrt().recip());
    budget_term(half_width, per_side, walls, remedy)
}

/// A term whose half-width is itself an expanded uncertainty: alone it comes out of the budget as it went in (JCGM 100, 4.3.3).
fn expanded_term(half_width: Figure, walls: f64, remedy: &'static str) -> BudgetTerm {
    let per_side = half_width.value.scaled(COVERAGE_K.recip());
    budget_term(half_width, per_side, walls, remedy)
}

fn budget_term(half_width: Figure, per_side: Band, walls: f64, remedy: &'static str) -> BudgetTerm {
    BudgetTerm {
        per_side_um: per_side,
        on_size_um: per_side.scaled(walls),
        half_width_um: half_width,
        remedy,
    }
}

/// Computes the expanded uncertainty of a wall and of a size.
fn side_and_size(known: &str, is_gauged: bool, terms: &[BudgetTerm]) -> [Figure; 2] {
    [
        combined(&format!("of a wall{known}"), is_gauged, terms, |term| {
            term.per_side_um
        }),
        combined(&format!("on size{known}"), is_gauged, terms, |term| {
            term.on_size_um
        }),
    ]
}

/// Computes the expanded uncertainty of what `on` takes of each term (JCGM 100:2008, 5.1 and 6.2).
fn combined(what: &str, is_gauged: bool, terms: &[BudgetTerm], on: fn(&BudgetTerm) -> Band) -> Figure {
    let standard = |term: &BudgetTerm| Term {
        name: format!("standard uncertainty {what}: {}", term.half_width_um.name),
        value: on(term),
        is_figure: false,
        ..term.half_width_um.term()
    };
    Figure::new(
        format!("expanded uncertainty {what}"),
        expanded(terms.iter().map(on)),
        "µm",
        if is_gauged {
            "k × root of the sum of the squares of its terms, k = 2; a term is its half-width / √3, that of the gauged offset / 2, times how often or how far it counts"
        } else {
            "k × root of the sum of the squares of its terms, k = 2; a term is its half-width / √3 times how often or how far it counts"
        },
        terms.iter().map(standard).collect(),
    )
}

/// Root of the sum of squares, end by end, times k.
fn expanded(terms: impl Iterator<Item = Band>) -> Band {
    let square = |band: Band| Band {
        low: band.low.powi(2),
        expected: band.expected.powi(2),
        high: band.high.powi(2),
    };
    let sum = Band::sum(terms.map(square));
    Band {
        low: sum.low.sqrt(),
        expected: sum.expected.sqrt(),
        high: sum.high.sqrt(),
    }
    .scaled(COVERAGE_K)
}

/// The belly of the wire is in it: it is not counted again.
fn form_error(of_pass: &Figure) -> Figure {
    let formula = "form error of the last pass, belly of the wire in it";
    Figure::new("form error", of_pass.value, "µm", formula, vec![of_pass.term()])
}

/// What was gauged on a test piece is known that well, whatever the plan takes for granted.
fn known_offset(room: &Room, last: &PassTrace, offset_basis: OffsetBasis) -> Figure {
    let offset = &last.offset;
    let half_um = (offset.value.high - offset.value.low) / 2.0 * UM_PER_MM;
    if let Some(date) = &last.gauged_on {
        return Figure::new(
            format!("offset, gauged on {date}"),
            Band::exact(half_um),
            "µm",
            "half the band of the offset, its expanded uncertainty as gauged",
            vec![offset.term()],
        );
    }
    match offset_basis {
        OffsetBasis::Gauged => {
            let term = Term::of("gauging of a test piece", &room.gauging_um, "µm");
            Figure::new(
                "offset, gauged",
                room.gauging_um.band,
                "µm",
                "gauging of a test piece",
                vec![term],
            )
        }
        OffsetBasis::Modelled => {
            let formula = "half the band of the offset";
            Figure::new(
                "offset, as modelled",
                Band::exact(half_um),
                "µm",
                formula,
                vec![offset.term()],
            )
        }
    }
}

fn of_machine(name: &'static str, number: &Number) -> Figure {
    Figure::new(
        name,
        number.band,
        "µm",
        "as tested",
        vec![Term::of(name, number, "µm")],
    )
}

/// A change of temperature, K, with its trace.
struct Warming {
    name: &'static str,
    kelvin: Band,
    terms: Vec<Term>,
    formula: &'static str,
    remedy: &'static str,
}

impl Warming {
    /// Makes a change as the book gives it.
    fn of(name: &'static str, kelvin: &Number, remedy: &'static str) -> Self {
        Self {
            name,
            kelvin: kelvin.band,
            terms: vec![Term::of(name, kelvin, "K")],
            formula: "expansion × distance × temperature",
            remedy,
        }
    }

    /// What it does over the distance to the pick-up and over a size: α·L·ΔT, µm/(m·K) · mm/1000 · K.
    fn moves(self, alpha: &Number, [pickup_mm, size_mm]: [f64; 2]) -> BudgetTerm {
        let moved =
            |length_mm: f64| Band::product(&[Band::exact(length_mm / UM_PER_MM), alpha.band, self.kelvin]);
        let mut terms = vec![
            Term::of("expansion", alpha, "µm/(m·K)"),
            Term::given(
                "distance to the pick-up",
                pickup_mm,
                "mm",
                "given, or the farthest cut",
            ),
        ];
        terms.extend(self.terms);
        let figure = Figure::new(self.name, moved(pickup_mm), "µm", self.formula, terms);
        let mut term = term(figure, 1.0, self.remedy);
        term.on_size_um = moved(size_mm).scaled(3.0_f64.sqrt().recip());
        term
    }
}

/// Largest change of a daily swing of 1 within so many hours: sin(π·t/24), all of it from 12 h on.
pub fn share_of_swing(hours: f64) -> f64 {
    const HALF_DAY_HOURS: f64 = 12.0;
    sin(std::f64::consts::FRAC_PI_2 * (hours / HALF_DAY_HOURS).clamp(0.0, 1.0))
}

fn swing(swing: &Number, reaching: &Number, hours: f64) -> Warming {
    Warming {
        name: "day/night swing of room temperature",
        kelvin: Band::product(&[swing.band, reaching.band]).scaled(share_of_swing(hours)),
        terms: vec![
            Term::of("swing of room temperature, night to day", swing, "K"),
            Term::of("share reaching the part", reaching, ""),
            Term::given("hours", hours, "h", "machine time of the cut"),
        ],
        formula: "expansion × distance × swing × share × sin(π · hours / 24), all of it from 12 h on",
        remedy: "fewer hours, or a steadier room",
    }
}

/// Shift at 20 °C of a length cut at the dielectric's temperature: the scale has grown by its own expansion,
/// the part will shrink by its.
fn known_heat(name: &str, room: &Room, part: &Number, scale: &Number, length_mm: f64) -> Figure {
    let off_k = room.dielectric_c.value() - REFERENCE_C;
    let shift = |scale: f64, part: f64| (scale - part) * length_mm / UM_PER_MM * off_k;
    let ends = [
        shift(scale.band.low, part.band.high),
        shift(scale.band.high, part.band.low),
    ];
    Figure::new(
        name,
        Band {
            low: ends[0].min(ends[1]),
            expected: shift(scale.value(), part.value()),
            high: ends[0].max(ends[1]),
        },
        "µm",
        "(expansion of the scale - of the part) × length × (dielectric - 20 °C)",
        vec![
            Term::of("expansion of the scale", scale, "µm/(m·K)"),
            Term::of("expansion of the part", part, "µm/(m·K)"),
            Term::given("length", length_mm, "mm", "given"),
            Term::of("dielectric", &room.dielectric_c, "°C"),
        ],
    )
}

#[cfg(test)]
mod tests;

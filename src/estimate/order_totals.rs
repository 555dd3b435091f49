//! All pieces of an order: hours, shifts, spools, work in the office, material.

use super::cut::total;
use super::order::Order;
use super::time::{AuxiliaryWork, Time, shifts};
use crate::pass::Setting;
use crate::shop::{Book, Figure, Number, Term};
use crate::units::{Band, MIN_PER_HOUR};

/// What an order takes, all its pieces and loads together. Pieces that are lost are left aside: the ledger has an allowance for them.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct OrderTotals {
    /// Set-ups of all loads, min.
    pub setup_minutes: Figure,
    /// The share of a piece in them, min.
    pub setup_share: Figure,
    /// All pieces take the machine, min, without set-ups.
    pub pieces_minutes: Figure,
    /// Somebody is at the machine for all pieces, min, without set-ups.
    pub pieces_attended_minutes: Figure,
    /// The machine is taken: all pieces, set-ups and changes of spools, min.
    pub machine_minutes: Figure,
    /// The same, h.
    pub machine_hours: Figure,
    /// Somebody is at the machine, min.
    pub attended_minutes: Figure,
    /// Start holes take their own machine, min; `None` where none are drilled.
    pub drilling_minutes: Option<Figure>,
    /// Shifts of machine time.
    pub shifts: Figure,
    /// Wire run off, m.
    pub wire_m: Figure,
    /// Its mass, kg.
    pub wire_kg: Figure,
    /// Full spools that it takes.
    pub spools: Figure,
    /// Times that an empty spool is changed for a full one.
    pub spool_changes: Figure,
    /// The machine stands for it, min.
    pub spool_minutes: Figure,
    /// Programming, min.
    pub programming_minutes: Figure,
    /// Inspection, min.
    pub inspection_minutes: Figure,
    /// Mass of a blank, kg; `None` where nothing says how large it is.
    pub blank_each_kg: Option<Figure>,
    /// Mass of all blanks, kg.
    pub blank_kg: Option<Figure>,
}

/// Computes what an order takes.
pub(super) fn order_totals(
    book: &Book,
    setting: Setting<'_>,
    time: &Time,
    work: &AuxiliaryWork,
    order: Order,
) -> OrderTotals {
    let times = &book.times;
    let all = AllPieces(order);
    let blank_each_kg = work.blank_mm3.map(|mm3| blank_mass(setting, mm3));
    let setup_minutes = set_ups(&time.setup, order);
    let wire_kg = all.of("wire mass, order", &time.wire.kg);
    let spools = spools(&wire_kg, &book.wire.spool_kg);
    let spool_changes = spool_changes(&spools);
    let spool_minutes = spool_minutes(&spool_changes, &times.spool_change_min);
    let pieces_minutes = all.of("machine time of all pieces", &time.machine_minutes);
    let pieces_attended_minutes = all.of("attended time of all pieces", &time.attended_minutes);
    let sum = |name, pieces: &Figure| {
        let all = [pieces, &setup_minutes, &spool_minutes].map(Clone::clone);
        total(name, "min", &all)
    };
    let machine_minutes = sum("machine time of the order", &pieces_minutes);
    OrderTotals {
        setup_share: share_of_piece(&setup_minutes, order),
        machine_hours: hours(&machine_minutes),
        attended_minutes: sum("attended time of the order", &pieces_attended_minutes),
        drilling_minutes: time
            .drilling()
            .map(|minutes| all.of("start holes of the order", minutes)),
        shifts: shifts("shifts of the order", &machine_minutes, &times.shift_hours),
        wire_m: all.of("wire run off, order", &time.wire.metres),
        programming_minutes: programming(book, work, order),
        inspection_minutes: inspection(book, work, order),
        blank_kg: blank_each_kg.as_ref().map(|kg| all.of("mass of all blanks", kg)),
        blank_each_kg,
        pieces_minutes,
        pieces_attended_minutes,
        setup_minutes,
        machine_minutes,
        wire_kg,
        spools,
        spool_changes,
        spool_minutes,
    }
}

impl OrderTotals {
    /// Returns its figures in the order in which they are made.
    pub fn figures(&self) -> Vec<&Figure> {
        let mut figures = vec![
            &self.setup_minutes,
            &self.setup_share,
            &self.wire_m,
            &self.wire_kg,
            &self.spools,
        ];
        figures.extend([&self.spool_changes, &self.spool_minutes]);
        figures.extend([
            &self.pieces_minutes,
            &self.machine_minutes,
            &self.machine_hours,
            &self.shifts,
        ]);
        figures.extend([&self.pieces_attended_minutes, &self.attended_minutes]);
        figures.extend(&self.drilling_minutes);
        figures.extend([&self.programming_minutes, &self.inspection_minutes]);
        figures.extend(self.blank_each_kg.iter().chain(&self.blank_kg));
        figures
    }
}

/// All pieces of an order, of which the drawing holds some.
#[derive(Clone, Copy)]
struct AllPieces(Order);

impl AllPieces {
    /// What they take of what is drawn, cut once.
    fn of(self, name: &'static str, drawn_once: &Figure) -> Figure {
        let Self(order) = self;
        Figure::new(
            name,
            drawn_once.value.scaled(order.times_drawn()),
            drawn_once.unit,
            "all pieces drawn × pieces ordered / pieces drawn",
            vec![drawn_once.term(), pieces_ordered(order), pieces_drawn(order)],
        )
    }
}

fn pieces_ordered(order: Order) -> Term {
    Term::given("pieces ordered", order.quantity as f64, "", "given")
}

fn pieces_drawn(order: Order) -> Term {
    Term::given("pieces drawn", order.drawn as f64, "", "equal parts, counted")
}

fn set_ups(setup: &Figure, order: Order) -> Figure {
    let loads = order.loads() as f64;
    Figure::new(
        "set-ups of the order",
        setup.value.scaled(loads),
        "min",
        "loads × set-up",
        vec![
            Term::given("loads", loads, "", "pieces / pieces per load, rounded up"),
            setup.term(),
        ],
    )
}

fn share_of_piece(setups: &Figure, order: Order) -> Figure {
    Figure::new(
        "set-up, share of a piece",
        setups.value.scaled((order.quantity as f64).recip()),
        "min",
        "set-ups / pieces ordered",
        vec![setups.term(), pieces_ordered(order)],
    )
}

fn hours(minutes: &Figure) -> Figure {
    let value = minutes.value.scaled(MIN_PER_HOUR.recip());
    Figure::new(
        "machine hours of the order",
        value,
        "h",
        "minutes / 60",
        vec![minutes.term()],
    )
}

fn spools(kg: &Figure, spool: &Number) -> Figure {
    // A spool is as large as the shop buys it: its range is choice, not doubt.
    Figure::new(
        "spools of wire",
        kg.value.scaled(spool.value().recip()),
        "",
        "wire mass / wire on a spool",
        vec![kg.term(), Term::of("wire on a spool", spool, "kg")],
    )
}

/// The order begins with a full spool.
fn spool_changes(spools: &Figure) -> Figure {
    let changes = |spools: f64| (spools.ceil() - 1.0).max(0.0);
    let Band { low, expected, high } = spools.value;
    let value = Band {
        low: changes(low),
        expected: changes(expected),
        high: changes(high),
    };
    Figure::new(
        "spool changes",
        value,
        "",
        "spools, rounded up, less the first",
        vec![spools.term()],
    )
}

fn spool_minutes(changes: &Figure, each: &Number) -> Figure {
    Figure::new(
        "spools changed",
        changes.value.times(each.band),
        "min",
        "changes × minutes each",
        vec![changes.term(), Term::of("minutes a change of spool", each, "min")],
    )
}

/// Equal parts are programmed once.
fn programming(book: &Book, work: &AuxiliaryWork, order: Order) -> Figure {
    let prices = &book.prices;
    let contours = work.contours as f64 / order.drawn as f64;
    Figure::new(
        "programming time",
        Band::sum([
            prices.programming_min.band,
            prices.programming_min_per_contour.band.scaled(contours),
        ]),
        "min",
        "minutes an order + contours of a piece × minutes each",
        vec![
            Term::of("minutes an order", &prices.programming_min, "min"),
            Term::given(
                "contours of a piece",
                contours,
                "",
                "contours to be cut / pieces drawn",
            ),
            Term::of("minutes a contour", &prices.programming_min_per_contour, "min"),
        ],
    )
}

/// At least one piece is inspected.
fn inspection(book: &Book, work: &AuxiliaryWork, order: Order) -> Figure {
    let prices = &book.prices;
    let (contours, quantity) = (work.contours as f64 / order.drawn as f64, order.quantity as f64);
    let Band { low, expected, high } = prices.inspected_share.band;
    let [low, expected, high] = [low, expected, high].map(|share| (share * quantity).max(1.0) * contours);
    let features = Band { low, expected, high };
    Figure::new(
        "inspection time",
        Band::sum([
            prices.inspection_min.band,
            features.times(prices.inspection_min_per_feature.band),
        ]),
        "min",
        "minutes an order + pieces ordered × share inspected (at least 1 piece) × contours of a piece × minutes each",
        vec![
            Term::of("minutes an order", &prices.inspection_min, "min"),
            pieces_ordered(order),
            Term::of("share of pieces inspected", &prices.inspected_share, ""),
            Term::given(
                "contours of a piece",
                contours,
                "",
                "contours to be cut / pieces drawn",
            ),
            Term::of("minutes a feature", &prices.inspection_min_per_feature, "min"),
        ],
    )
}

fn blank_mass(setting: Setting<'_>, blank_mm3: f64) -> Figure {
    const KG_PER_MM3_OF_G_PER_CM3: f64 = 1.0 / 1_000_000.0;
    let density = &setting.material.density_g_cm3;
    Figure::new(
        "mass of a blank",
        density.band.scaled(blank_mm3 * KG_PER_MM3_OF_G_PER_CM3),
        "kg",
        "volume × density",
        vec![
            Term::given("volume of a blank", blank_mm3, "mm³", "its outline × thickness"),
            Term::of("density of the material", density, "g/cm³"),
        ],
    )
}

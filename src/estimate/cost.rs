//! The ledger: what an order costs, fixed and per piece, each line with its trace.

use serde::Serialize;

use super::cut::total;
use super::order::Order;
use super::order_totals::{OrderTotals, order_totals};
use super::time::{AuxiliaryWork, Time};
use crate::pass::Setting;
use crate::shop::{Book, Figure, Number, Prices, Term};
use crate::units::{Band, MIN_PER_HOUR};

/// What an order costs.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct CostBreakdown {
    /// Currency of every figure.
    pub currency: String,
    /// Rates of an hour of labour and machine, and of drilling where start holes are drilled.
    pub rates: Vec<Figure>,
    /// Lines of the order as a whole.
    pub fixed: Vec<Figure>,
    /// Lines of all that is drawn, cut once: of one piece, or of several.
    pub each: Vec<Figure>,
    /// Sum of these lines before the allowance for scrap.
    pub before_scrap: Figure,
    /// Sum of the fixed lines.
    pub cost_fixed: Figure,
    /// Sum of the lines of all that is drawn.
    pub cost_each: Figure,
    /// Cost of one piece without the fixed lines: of all that is drawn over the pieces in it.
    pub cost_piece: Figure,
    /// What is ordered.
    pub order: Order,
    /// What the order takes.
    pub totals: OrderTotals,
    /// Whether its material is in the cost.
    pub blank: BlankMaterial,
    /// The order: fixed and all pieces.
    pub cost: Figure,
    /// With margin, at least the minimum charge.
    pub price: Figure,
    /// How far it can be trusted, to stand beside every price.
    pub confidence: Confidence,
}

impl CostBreakdown {
    /// Returns its sums in the order in which they are made; the cost of a piece stands apart where several are drawn.
    pub fn sums(&self) -> Vec<&Figure> {
        let piece = (self.order.drawn > 1).then_some(&self.cost_piece);
        let mut sums = vec![&self.cost_fixed, &self.cost_each];
        sums.extend(piece);
        sums.extend([&self.cost, &self.price]);
        sums
    }
}

/// Whether the material of the blanks is in the cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum BlankMaterial {
    /// By its mass.
    Included,
    /// The book has no price for it.
    NoPrice,
    /// Nothing says how large a blank is.
    NoBlank,
}

/// Computes the costs of an order. `calibration` is that of the schedule.
pub fn costs(
    book: &Book,
    setting: Setting<'_>,
    time: &Time,
    work: &AuxiliaryWork,
    order: Order,
    calibration: Option<(usize, f64)>,
) -> CostBreakdown {
    let prices = &book.prices;
    let quantity = order.quantity.max(1);
    let labour = labour_rate(book);
    let machine = book.machine_per_hour();
    let totals = order_totals(book, setting, time, work, order);
    let mut fixed = vec![
        by_time("programming", &totals.programming_minutes, &labour),
        machine_stands("set-ups", &totals.setup_minutes, &labour, &machine),
        by_time("inspection", &totals.inspection_minutes, &labour),
    ];
    if totals.spool_minutes.value.high > 0.0 {
        fixed.push(machine_stands(
            "changes of spools",
            &totals.spool_minutes,
            &labour,
            &machine,
        ));
    }
    let mut each = vec![
        by_time("machine", &time.machine_minutes, &machine),
        by_time("operator", &time.attended_minutes, &labour),
        wire(setting, &time.wire.kg),
        consumables(&time.machine_minutes, &prices.filters_and_resin_per_hour),
    ];
    let mut rates = vec![labour, machine];
    if let Some(drilling) = time.drilling() {
        let rate = drill_rate(prices);
        each.push(by_time("drilling of start holes", drilling, &rate));
        rates.push(rate);
    }
    if work.start_holes > 0 {
        each.push(start_holes(work.start_holes, &prices.start_hole_each));
    }
    let blank = match (&setting.material.price_per_kg, &totals.blank_each_kg) {
        (None, _) => BlankMaterial::NoPrice,
        (_, None) => BlankMaterial::NoBlank,
        (Some(price), Some(kg)) => {
            each.push(blank_material(kg, price));
            BlankMaterial::Included
        }
    };
    let before_scrap = total("cost before scrap", "", &each);
    each.push(scrap(&before_scrap, &prices.scrap_share));
    let cost_fixed = total("cost, fixed", "", &fixed);
    let drawn = order.drawn.max(1);
    let (cost_each, cost_piece) = if drawn == 1 {
        let each = total("cost of a piece", "", &each);
        (each.clone(), each)
    } else {
        let all = total("cost of all pieces drawn", "", &each);
        let piece = piece_cost(&all, drawn);
        (all, piece)
    };
    let cost = order_cost(&cost_fixed, &cost_piece, quantity);
    let price = price(&cost, &prices.margin_share, &prices.minimum_charge, calibration);
    CostBreakdown {
        currency: book.currency.clone(),
        rates,
        fixed,
        each,
        before_scrap,
        cost_fixed,
        cost_each,
        cost_piece,
        order,
        totals,
        blank,
        cost,
        price,
        confidence: Confidence::of(calibration),
    }
}

/// How far times and prices can be trusted.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Confidence {
    /// No finished job stands behind them.
    NotCalibrated,
    /// Finished jobs stand behind them.
    Calibrated {
        /// How many.
        jobs: usize,
        /// Typical error on a job that the fit has not seen, percent.
        typical_error_percent: f64,
    },
}

impl Confidence {
    /// Returns how far those of a schedule's calibration, jobs and typical error (percent), can be trusted.
    pub fn of(calibration: Option<(usize, f64)>) -> Self {
        calibration.map_or(Self::NotCalibrated, |(jobs, typical_error_percent)| {
            Self::Calibrated {
                jobs,
                typical_error_percent,
            }
        })
    }
}

fn labour_rate(book: &Book) -> Figure {
    let (rate, overhead) = (&book.prices.labour_per_hour, &book.prices.labour_overhead_share);
    Figure::new(
        "labour rate",
        Band::product(&[rate.band, overhead.band.plus(1.0)]),
        "/h",
        "labour price × (1 + overhead)",
        vec![
            Term::of("labour price", rate, "/h"),
            Term::of("labour overhead", overhead, ""),
        ],
    )
}

fn drill_rate(prices: &Prices) -> Figure {
    let price = &prices.drill_per_hour;
    let term = Term::of("price of the drilling machine", price, "/h");
    Figure::new(
        "drilling rate",
        price.band,
        "/h",
        "price of the drilling machine",
        vec![term],
    )
}

/// Minutes times an hourly rate.
fn by_time(name: &'static str, minutes: &Figure, rate: &Figure) -> Figure {
    let value = Band::product(&[minutes.value.scaled(MIN_PER_HOUR.recip()), rate.value]);
    Figure::new(
        name,
        value,
        "",
        "minutes / 60 × rate",
        vec![minutes.term(), rate.term()],
    )
}

/// The machine stands, and somebody works at it.
fn machine_stands(name: &'static str, minutes: &Figure, labour: &Figure, machine: &Figure) -> Figure {
    let both = Band::sum([labour.value, machine.value]);
    Figure::new(
        name,
        Band::product(&[minutes.value.scaled(MIN_PER_HOUR.recip()), both]),
        "",
        "minutes / 60 × (labour rate + machine rate)",
        vec![minutes.term(), labour.term(), machine.term()],
    )
}

fn blank_material(kg: &Figure, price: &Number) -> Figure {
    let terms = vec![kg.term(), Term::of("price of the material", price, "/kg")];
    Figure::new(
        "blank material",
        Band::product(&[kg.value, price.band]),
        "",
        "mass of a blank × price",
        terms,
    )
}

fn wire(setting: Setting<'_>, kg: &Figure) -> Figure {
    let price = &setting.wire.kind.price_per_kg;
    let value = Band::product(&[kg.value, price.band]);
    Figure::new(
        "wire",
        value,
        "",
        "wire mass × price",
        vec![kg.term(), Term::of("wire price", price, "/kg")],
    )
}

fn consumables(minutes: &Figure, price: &Number) -> Figure {
    let value = Band::product(&[minutes.value.scaled(MIN_PER_HOUR.recip()), price.band]);
    let terms = vec![minutes.term(), Term::of("filters and resin", price, "/h")];
    Figure::new("filters and resin", value, "", "minutes / 60 × price", terms)
}

fn start_holes(holes: usize, each: &Number) -> Figure {
    let terms = vec![
        Term::given("holes", holes as f64, "", "counted"),
        Term::of("price of a start hole", each, ""),
    ];
    Figure::new(
        "start hole charge",
        each.band.scaled(holes as f64),
        "",
        "holes × price",
        terms,
    )
}

/// To deliver n good pieces n / (1 − share) have to be cut.
fn scrap(before: &Figure, share: &Number) -> Figure {
    let extra = |cost: f64, share: f64| cost * (1.0 / (1.0 - share) - 1.0);
    let value = Band {
        low: extra(before.value.low, share.band.low),
        expected: extra(before.value.expected, share.value()),
        high: extra(before.value.high, share.band.high),
    };
    let terms = vec![before.term(), Term::of("scrap share", share, "")];
    Figure::new(
        "scrap allowance",
        value,
        "",
        "cost × (1 / (1 - share) - 1)",
        terms,
    )
}

fn piece_cost(all: &Figure, drawn: usize) -> Figure {
    Figure::new(
        "cost of a piece",
        all.value.scaled((drawn as f64).recip()),
        "",
        "all pieces drawn / their number",
        vec![
            all.term(),
            Term::given("pieces drawn", drawn as f64, "", "equal parts, counted"),
        ],
    )
}

fn order_cost(fixed: &Figure, each: &Figure, quantity: usize) -> Figure {
    Figure::new(
        "cost of the order",
        Band::sum([fixed.value, each.value.scaled(quantity as f64)]),
        "",
        "fixed + quantity × each",
        vec![
            fixed.term(),
            Term::given("quantity", quantity as f64, "", "given"),
            each.term(),
        ],
    )
}

/// Without a calibration the low end of the cost is a hope, and no price is made from it.
fn price(cost: &Figure, margin: &Number, minimum: &Number, calibration: Option<(usize, f64)>) -> Figure {
    let at_least = |cost: f64| (cost * (1.0 + margin.value())).max(minimum.value());
    let lowest = calibration.map_or(cost.value.expected, |_| cost.value.low);
    let formula = if calibration.is_some() {
        "cost × (1 + margin), at least the minimum charge"
    } else {
        "cost × (1 + margin), at least the minimum charge; not calibrated: from the expected cost up"
    };
    let value = Band {
        low: at_least(lowest),
        expected: at_least(cost.value.expected),
        high: at_least(cost.value.high),
    };
    let terms = vec![
        cost.term(),
        Term::of("margin", margin, ""),
        Term::of("minimum charge", minimum, ""),
    ];
    Figure::new("price of the order", value, "", formula, terms)
}

use serde::Serialize;

use crate::estimate::{Accuracy, BlankMaterial, CostBreakdown, JobTotals, Presence, TimeTerm, Verdict};
use crate::id::GroupId;
use crate::job::OffsetBasis;
use crate::message::Message;
use crate::pass::Surface;
use crate::plan::{OrderDays, Plan, order_days};
use crate::report::words;
use crate::shop::Figure;
use crate::units::Band;

/// Bands, null when something that is to be cut has no path, or the machine does not take the job. How each came about is in `figures`.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct EstimateRow<'a> {
    /// How far times and prices can be trusted.
    confidence: String,
    /// Why there is no total and no price: something that is to be cut has no path, or the machine does not take the job. Null where
    /// there are.
    no_totals: Option<Message>,
    /// Length of the rough paths × thickness, mm²: what is severed.
    rough_area_mm2: Option<f64>,
    /// Length of all paths × thickness, mm².
    pass_area_mm2: Option<f64>,
    /// Minutes of all passes of the drawing, cut once: of one piece, or of `pieces.drawn`; so in all that follows.
    cut_minutes: Option<Band>,
    /// The cut first, then every other reason for time of one piece.
    time_terms: Option<Vec<TimeRow<'a>>>,
    /// Minutes to set up a load.
    setup_minutes: Option<Band>,
    /// Minutes that all that is drawn, cut once, takes the machine, without set-up.
    machine_minutes: Option<Band>,
    /// Minutes that one piece takes the machine, without set-up: `machine_minutes` over `pieces.drawn`.
    piece_minutes: Option<Band>,
    /// Minutes that the order takes the machine: all pieces, set-ups and changes of spools.
    order_minutes: Option<Band>,
    /// Minutes that somebody is at the machine for one piece, without set-up.
    attended_minutes: Option<Band>,
    /// Old: minutes of all that is drawn, cut once, with a set-up and its start holes.
    total_minutes: Option<Band>,
    /// Hours that one piece runs unattended.
    unattended_hours: Option<Band>,
    /// Shifts that the machine time of one piece takes.
    shifts: Option<Band>,
    /// Wire run off for the drawing, cut once, in all minutes in which it runs, m.
    wire_m: Option<Band>,
    /// Its mass, kg.
    wire_kg: Option<Band>,
    /// Full spools that the order takes, all its pieces together.
    spools: Option<Band>,
    /// Currency of all costs.
    currency: Option<&'a str>,
    /// Old: the same as `cost_order`.
    cost: Option<Band>,
    /// Cost of the order: the fixed part and all pieces, without margin.
    cost_order: Option<Band>,
    /// Its lines for the order as a whole.
    cost_fixed: Option<Band>,
    /// Old: its lines for all that is drawn, cut once: of one piece, or of `pieces.drawn`.
    cost_each: Option<Band>,
    /// Cost of one piece, without the lines for the order as a whole: `cost_each` over `pieces.drawn`.
    cost_piece: Option<Band>,
    /// Old: the same as `price_indicative`.
    price: Option<Band>,
    /// Price of the order with margin, at least the minimum charge; to be checked before it is offered.
    price_indicative: Option<Band>,
    /// What the cost is made of.
    ledger: Option<LedgerRow<'a>>,
    /// What the order takes, all its pieces together.
    order: Option<OrderRow>,
}

/// What an order takes, all its pieces and loads together; pieces that are lost are left aside.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct OrderRow {
    /// Minutes that it takes the machine: all pieces, set-ups and changes of spools.
    machine_minutes: Band,
    /// The same, hours.
    machine_hours: Band,
    /// Minutes that somebody is at the machine.
    attended_minutes: Band,
    /// Minutes that start holes take their own machine; null where none are drilled.
    drilling_minutes: Option<Band>,
    /// Minutes of all set-ups.
    setup_minutes: Band,
    /// The share of a piece in them, minutes.
    setup_share_minutes: Band,
    /// Shifts of machine time.
    shifts: Band,
    /// Days with a shift that it takes in the expected times, the first and the last counted; what needs somebody waits for the next
    /// shift.
    work_days: u64,
    /// The same with the days of the week that have no shift; it begins on the first day of a week.
    calendar_days: u64,
    /// Wire run off, m.
    wire_m: Band,
    /// Its mass, kg.
    wire_kg: Band,
    /// Full spools that it takes.
    spools: Band,
    /// Times that an empty spool is changed for a full one.
    spool_changes: Band,
    /// Minutes of programming.
    programming_minutes: Band,
    /// Minutes of inspection.
    inspection_minutes: Band,
    /// Mass of all blanks, kg; null where nothing says how large they are.
    blank_kg: Option<Band>,
    /// Whether their material is in the cost.
    blank_material: BlankMaterial,
}

/// One reason for time, minutes.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TimeRow<'a> {
    #[serde(flatten)]
    term: TermRow<'a>,
    /// Who is there.
    presence: Presence,
}

/// A term with its band, in the unit of the list that holds it.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TermRow<'a> {
    /// What it is, in words.
    name: &'a str,
    #[serde(flatten)]
    band: Band,
}

/// Lines in the currency of the estimate.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct LedgerRow<'a> {
    /// Lines of the order as a whole.
    fixed: Vec<TermRow<'a>>,
    /// Lines of the drawing, cut once.
    each: Vec<TermRow<'a>>,
}

impl<'a> EstimateRow<'a> {
    pub(super) fn new(plan: &'a Plan) -> Self {
        let estimate = &plan.estimate;
        let (cut, time, ledger) = (&estimate.cut, estimate.time.as_ref(), estimate.costs.as_ref());
        let band = |figure: Option<&Figure>| figure.map(|figure| figure.value);
        let totals = estimate.totals();
        let of = |figure: fn(JobTotals) -> Band| totals.map(figure);
        Self {
            confidence: words::confidence(estimate.confidence),
            no_totals: words::no_totals(plan),
            rough_area_mm2: cut.rough_area_mm2,
            pass_area_mm2: cut.pass_area_mm2,
            cut_minutes: band(cut.minutes.as_ref()),
            time_terms: time.map(|time| time.piece.iter().map(time_row).collect()),
            setup_minutes: band(time.map(|time| &time.setup)),
            machine_minutes: of(|totals| totals.machine_minutes),
            piece_minutes: of(|totals| totals.piece_minutes),
            order_minutes: of(|totals| totals.order_minutes),
            attended_minutes: band(time.map(|time| &time.attended_minutes)),
            total_minutes: band(time.map(|time| &time.total_minutes)),
            unattended_hours: band(time.map(|time| &time.unattended_hours)),
            shifts: band(time.map(|time| &time.shifts)),
            wire_m: band(time.map(|time| &time.wire.metres)),
            wire_kg: band(time.map(|time| &time.wire.kg)),
            spools: band(ledger.map(|ledger| &ledger.totals.spools)),
            currency: ledger.map(|ledger| ledger.currency.as_str()),
            cost: of(|totals| totals.cost_order),
            cost_order: of(|totals| totals.cost_order),
            cost_fixed: band(ledger.map(|ledger| &ledger.cost_fixed)),
            cost_each: band(ledger.map(|ledger| &ledger.cost_each)),
            cost_piece: of(|totals| totals.cost_piece),
            price: of(|totals| totals.price_indicative),
            price_indicative: of(|totals| totals.price_indicative),
            ledger: ledger.map(ledger_row),
            order: order_days(plan)
                .zip(ledger)
                .map(|(days, ledger)| OrderRow::new(days, ledger)),
        }
    }
}

impl OrderRow {
    fn new(days: OrderDays, ledger: &CostBreakdown) -> Self {
        let totals = &ledger.totals;
        let band = |figure: &Option<Figure>| figure.as_ref().map(|figure| figure.value);
        Self {
            machine_minutes: totals.machine_minutes.value,
            machine_hours: totals.machine_hours.value,
            attended_minutes: totals.attended_minutes.value,
            drilling_minutes: band(&totals.drilling_minutes),
            setup_minutes: totals.setup_minutes.value,
            setup_share_minutes: totals.setup_share.value,
            shifts: totals.shifts.value,
            work_days: days.work_days,
            calendar_days: days.calendar_days,
            wire_m: totals.wire_m.value,
            wire_kg: totals.wire_kg.value,
            spools: totals.spools.value,
            spool_changes: totals.spool_changes.value,
            programming_minutes: totals.programming_minutes.value,
            inspection_minutes: totals.inspection_minutes.value,
            blank_kg: band(&totals.blank_kg),
            blank_material: ledger.blank,
        }
    }
}

fn time_row(term: &TimeTerm) -> TimeRow<'_> {
    TimeRow {
        term: term_row(&term.minutes),
        presence: term.presence,
    }
}

fn term_row(figure: &Figure) -> TermRow<'_> {
    TermRow {
        name: &figure.name,
        band: figure.value,
    }
}

fn ledger_row(ledger: &CostBreakdown) -> LedgerRow<'_> {
    LedgerRow {
        fixed: ledger.fixed.iter().map(term_row).collect(),
        each: ledger.each.iter().map(term_row).collect(),
    }
}

/// The accuracy budget of a demand group's last pass, µm.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct AccuracyRow<'a> {
    /// Number of the demand group.
    group: GroupId,
    /// Its uncertainties, largest on size first.
    terms: Vec<BudgetRow<'a>>,
    /// Known shift of a wall away from its pick-up at 20 °C, µm, signed.
    bias_per_side_um: Band,
    /// Known shift of the size at 20 °C, µm, signed.
    bias_on_size_um: Band,
    /// Expanded uncertainty of one wall, µm.
    expanded_per_side_um: Band,
    /// Expanded uncertainty of a size between two walls, µm.
    expanded_um: Band,
    /// Whether the offset is taken as gauged on a test piece in all this, or as modelled.
    offset_basis: OffsetBasis,
    /// The day on which the offset was gauged on a test piece, year-month-day; null where the book holds no such gauging.
    gauged_on: Option<&'a str>,
    /// Expanded uncertainty of one wall before a test piece is gauged, with the offset as modelled, µm.
    expanded_per_side_modelled_um: Band,
    /// The same of a size between two walls, µm.
    expanded_modelled_um: Band,
    /// Coverage factor.
    k: f64,
}

/// One uncertainty of the budget.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct BudgetRow<'a> {
    /// What it is, in words.
    name: &'a str,
    /// Half-width on one wall, before it is divided by √3 (by 2 where it is an offset's that was gauged), µm.
    half_width_um: Band,
    /// Standard uncertainty of one wall, µm.
    per_side_um: Band,
    /// Standard uncertainty of a size between two walls, µm.
    on_size_um: Band,
    /// What would make it smaller.
    remedy: &'static str,
}

/// The wall that a demand group is expected to get.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct QualityRow<'a> {
    /// Number of the demand group.
    group: GroupId,
    /// Its surface.
    surface: &'a Surface,
    /// Its accuracy budget; null where the estimate has no totals, and where a part is not skimmed.
    accuracy: Option<AccuracyRow<'a>>,
    /// Against the limits that are asked (ISO 14253-1), before measuring; null where none are.
    verdict: Option<Verdict>,
}

/// Returns the budget of the demand group that is expected to be farthest off; `None` where
/// there are no totals.
pub(super) fn accuracy(plan: &Plan) -> Option<AccuracyRow<'_>> {
    let groups = plan.groups.iter();
    let budgets = groups.filter_map(|group| Some((group.group, group.quality.accuracy.as_ref()?)));
    let (group, worst) =
        budgets.max_by(|(_, a), (_, b)| a.worst_on_size_um().total_cmp(&b.worst_on_size_um()))?;
    Some(accuracy_row(group, worst))
}

/// Returns the wall of every demand group.
pub(super) fn quality(plan: &Plan) -> Vec<QualityRow<'_>> {
    let groups = plan.groups.iter();
    groups
        .map(|group| QualityRow {
            group: group.group,
            surface: &group.quality.surface,
            accuracy: group
                .quality
                .accuracy
                .as_ref()
                .map(|budget| accuracy_row(group.group, budget)),
            verdict: group.verdict(),
        })
        .collect()
}

fn accuracy_row(group: GroupId, budget: &Accuracy) -> AccuracyRow<'_> {
    AccuracyRow {
        group,
        terms: budget
            .terms
            .iter()
            .map(|term| BudgetRow {
                name: &term.half_width_um.name,
                half_width_um: term.half_width_um.value,
                per_side_um: term.per_side_um,
                on_size_um: term.on_size_um,
                remedy: term.remedy,
            })
            .collect(),
        bias_per_side_um: budget.bias_per_side_um.value,
        bias_on_size_um: budget.bias_on_size_um.value,
        expanded_per_side_um: budget.expanded_per_side_um,
        expanded_um: budget.expanded_on_size_um,
        offset_basis: budget.offset_basis,
        gauged_on: budget.gauged_on.as_deref(),
        expanded_per_side_modelled_um: budget.modelled[0].value,
        expanded_modelled_um: budget.modelled[1].value,
        k: budget.k,
    }
}

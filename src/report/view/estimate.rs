//! Time, wire and money, each with what it may be.

use super::frames::{ColumnOf, LONG, Pair, Section, SectionPart, Tone, ViewCell, ViewTable};
use super::requirements::no_totals;
use crate::estimate::{Confidence, CostBreakdown, Presence, Time, TimeTerm};
use crate::message::{Message, QuantityValue, UnitSymbol, message, mm2, of_unit};
use crate::plan::{Plan, order_days};
use crate::report::words;
use crate::shop::Figure;
use crate::units::Band;

/// Makes a time of minutes.
pub(super) fn duration(minutes: Band) -> QuantityValue {
    crate::message::minutes(minutes).fixed(1)
}

fn figure(figure: &Figure, decimals: usize) -> QuantityValue {
    QuantityValue::new(figure.value, UnitSymbol::named(figure.unit)).fixed(decimals)
}

fn pair(name: &'static str, value: QuantityValue) -> Pair {
    Pair::new(name, message!("{}", value))
}

/// Returns what is cut, and what it takes in all.
pub(super) fn sections(plan: &Plan) -> Vec<Section> {
    let estimate = &plan.estimate;
    let tone = if plan.is_calibrated() {
        Tone::Quiet
    } else {
        Tone::Strong
    };
    let mut sections = vec![
        Section::new("estimate", "estimate")
            .note("expected, in brackets the likely range; model estimate: confirm by measuring")
            .words(tone, words::confidence(estimate.confidence))
            .words(Tone::Alarm, no_totals(plan))
            .with(SectionPart::Pairs(cut(plan))),
    ];
    sections.extend(estimate.time.as_ref().map(|time| times(plan, time)));
    if let Some(costs) = &estimate.costs {
        sections.push(order(plan, costs));
        sections.push(ledger(costs));
    }
    sections
}

fn cut(plan: &Plan) -> Vec<Pair> {
    let cut = &plan.estimate.cut;
    let totals = plan.estimate.totals();
    let area = |value: Option<f64>| value.map(|area_mm2| mm2(area_mm2).fixed(1));
    let wire = plan.estimate.time.as_ref().map(|time| &time.wire);
    vec![
        Pair::known("cut area, rough", area(cut.rough_area_mm2)),
        Pair::known("cut area, all passes", area(cut.pass_area_mm2)),
        Pair::known(
            "cutting",
            cut.minutes.as_ref().map(|minutes| duration(minutes.value)),
        ),
        Pair::known(
            message!("{} at the machine", words::drawn(plan)),
            totals.map(|totals| duration(totals.machine_minutes)),
        ),
        Pair::known(
            "order at the machine, with set-ups",
            totals.map(|totals| duration(totals.order_minutes)),
        ),
        Pair::known("wire", wire.map(|wire| figure(&wire.metres, 0))),
        Pair::known("mass of the wire", wire.map(|wire| figure(&wire.kg, 2))),
    ]
}

fn times(plan: &Plan, time: &Time) -> Section {
    let columns = vec![
        ColumnOf::name("term", |row: &&TimeTerm| row.minutes.name.as_str()),
        ColumnOf::band("minutes", UnitSymbol::Same(""), |row: &&TimeTerm| {
            of_unit(row.minutes.value, "").fixed(1)
        }),
        ColumnOf::words("operator", |row: &&TimeTerm| words::presence(row.presence)),
    ];
    let mut table = ViewTable::new(columns, &time.piece, LONG);
    table.add_sum(vec![
        message!("{} at the machine", words::drawn(plan)).into(),
        of_unit(time.machine_minutes.value, "").fixed(1).into(),
        "".into(),
    ]);
    table.add_sum(vec![
        "set-up per load".into(),
        of_unit(time.setup.value, "").fixed(1).into(),
        words::presence(Presence::Attended).into(),
    ]);
    Section::new("time", message!("time of {}", words::drawn(plan)))
        .with(SectionPart::Table(table))
        .with(SectionPart::Pairs(vec![
            pair(
                "of that unattended",
                of_unit(time.unattended_hours.value, "h").fixed(1),
            ),
            pair("shifts of machine time", of_unit(time.shifts.value, "").fixed(2)),
        ]))
}

/// Returns what the order takes, all its pieces together.
fn order(plan: &Plan, costs: &CostBreakdown) -> Section {
    let totals = &costs.totals;
    let time = |name: &'static str, figure: &Figure| pair(name, duration(figure.value));
    let mut pairs = vec![
        time("machine, with set-ups", &totals.machine_minutes),
        pair("shifts of machine time", figure(&totals.shifts, 2)),
    ];
    pairs.extend(order_days(plan).map(|days| Pair::new("days", words::order_days(days))));
    pairs.push(time("operator, with set-ups", &totals.attended_minutes));
    pairs.push(time("set-ups", &totals.setup_minutes));
    pairs.push(time("set-up, share of a piece", &totals.setup_share));
    let drilling = totals.drilling_minutes.as_ref();
    pairs.extend(drilling.map(|drilling| time("start holes, on another machine", drilling)));
    pairs.push(time("programming", &totals.programming_minutes));
    pairs.push(time("inspection", &totals.inspection_minutes));
    pairs.push(pair("wire", figure(&totals.wire_m, 0)));
    pairs.push(pair("mass of the wire", figure(&totals.wire_kg, 2)));
    let enough = match totals.spools.value {
        Band { high, .. } if high <= 1.0 => "one is enough",
        Band { low, .. } if low > 1.0 => "one is not enough",
        _ => "one may not be enough",
    };
    pairs.push(Pair::new(
        "spools of wire",
        message!("{}: {}", figure(&totals.spools, 2), enough),
    ));
    pairs.push(pair("spool changes", figure(&totals.spool_changes, 0)));
    pairs.extend(
        totals
            .blank_kg
            .as_ref()
            .map(|kg| pair("mass of all blanks", figure(kg, 2))),
    );
    pairs.push(Pair::new("blank material", words::blank_material(costs.blank)));
    Section::new("order", message!("order of {}", words::ordered(plan))).with(SectionPart::Pairs(pairs))
}

/// A line of the ledger.
struct LedgerLine<'a> {
    kind: &'static str,
    figure: &'a Figure,
}

fn ledger(costs: &CostBreakdown) -> Section {
    type Row<'a> = LedgerLine<'a>;
    let columns = vec![
        ColumnOf::name("line", |row: &Row<'_>| {
            message!("{}{}", row.kind, row.figure.name)
        }),
        ColumnOf::band("amount", UnitSymbol::Same(""), |row: &Row<'_>| money(row.figure)),
    ];
    let each = if costs.order.drawn > 1 {
        "all drawn: "
    } else {
        "each: "
    };
    let fixed = costs.fixed.iter().map(|figure| LedgerLine {
        kind: "fixed: ",
        figure,
    });
    let lines = fixed.chain(costs.each.iter().map(|figure| LedgerLine { kind: each, figure }));
    let shown = lines.filter(|line| line.figure.value.high > 0.0);
    let mut table = ViewTable::new(columns, shown, LONG);
    for sum in costs.sums() {
        let name = if sum.name == costs.price.name && costs.confidence == Confidence::NotCalibrated {
            message!("indicative {}", sum.name)
        } else {
            message!("{}", sum.name)
        };
        table.add_sum(vec![name.into(), ViewCell::from(money(sum))]);
    }
    Section::new(
        "cost",
        message!("cost breakdown of the order, {}", costs.currency),
    )
    .note(Message::from(words::confidence(costs.confidence)))
    .with(SectionPart::Table(table))
}

/// Bands stand first where one cell holds them: the expected figure alone looks surer than it is.
fn money(figure: &Figure) -> QuantityValue {
    of_unit(figure.value, "").fixed(2).range_first()
}

//! What a gauged test piece says.

use super::frames::{ColumnOf, Pair, Section, SectionPart, ViewTable};
use crate::gauge::{GaugedPass, GaugedValue, Gauging, UncertaintyTerm};
use crate::message::number::fixed;
use crate::message::{Message, UnitSymbol, message, mm, of_unit, roughness_um, um, um_of_mm};
use crate::report::words;

/// As many rows as there are.
const ALL: (usize, usize) = (usize::MAX, usize::MAX);

/// Returns what a test piece says: the offsets from now on, each pass, what makes up the uncertainty, and what to know of the readings.
pub(in crate::report) fn gauged(gauging: &Gauging) -> Vec<Section> {
    let facts = &gauging.facts;
    let work = words::work(
        &facts.material,
        facts.wire_mm,
        facts.wire_kind.as_deref().unwrap_or_default(),
    );
    let offsets = gauging
        .passes
        .iter()
        .map(|pass| message!("{}", um_of_mm(pass.offset_mm).fixed(1)));
    let last = gauging.last();
    let mut pairs = vec![
        Pair::new("offsets from now on", Message::joined(offsets, ", ")),
        Pair::new(
            "offset of the last pass",
            message!(
                "{} ± {} (95 %, k = {}); it was cut with {}, correction {}",
                um_of_mm(last.offset_mm).fixed(2),
                um(last.half_kerf.uncertainty.expanded_um).fixed(2),
                fixed(last.half_kerf.uncertainty.k, 2),
                um_of_mm(last.offset_as_cut_mm).fixed(2),
                um(gauging.offset_correction_um).fixed(2).signed()
            ),
        ),
        Pair::new("to halve that", to_halve(last)),
        Pair::new(
            "machine",
            facts.machine.as_deref().unwrap_or("not given: for all"),
        ),
    ];
    pairs.extend(gauging.wire.as_ref().map(|wire| {
        Pair::new(
            "wire as read",
            message!(
                "{} ± {}",
                um(wire.value_um).fixed(1),
                um(wire.uncertainty.expanded_um).fixed(1)
            ),
        )
    }));
    let title = message!(
        "gauged on {}: {}, {} thick",
        facts.date,
        work,
        mm(facts.thickness_mm)
    );
    vec![
        Section::new("gauged", title).with(SectionPart::Pairs(pairs)),
        Section::new("gauged-passes", "passes, as gauged")
            .note("half kerf: from the wire's centre to the wall that the pass leaves; ± for 95 %, after JCGM 100")
            .with(SectionPart::Table(passes(gauging))),
        Section::new("gauged-uncertainty", "what makes up the ± of the last pass")
            .with(SectionPart::Table(uncertainty(&last.half_kerf))),
        Section::new("gauged-notes", "what to know of the readings").with(SectionPart::List(notes(gauging))),
    ]
}

fn to_halve(pass: &GaugedPass) -> Message {
    match pass.more_to_halve {
        Some(more) => message!("{} more readings of each place", more),
        None => "no number of readings: the instruments alone make up more than half of it".into(),
    }
}

fn passes(gauging: &Gauging) -> ViewTable {
    use UnitSymbol::{Um, UmOfRoughness};
    type Row = GaugedPass;
    let value = |value: &Option<GaugedValue>| value.as_ref().map(|value| um(value.value_um).fixed(1));
    let columns = vec![
        ColumnOf::name("pass", |row: &&Row| message!("{}", row.pass)),
        ColumnOf::number("cut with", Um, |row: &&Row| {
            um_of_mm(row.offset_as_cut_mm).fixed(1)
        }),
        ColumnOf::number("half kerf", Um, |row: &&Row| um(row.half_kerf.value_um).fixed(2)),
        ColumnOf::number("±", Um, |row: &&Row| {
            um(row.half_kerf.uncertainty.expanded_um).fixed(2)
        }),
        ColumnOf::number("k", UnitSymbol::Same(""), |row: &&Row| {
            of_unit(row.half_kerf.uncertainty.k, "").fixed(2)
        }),
        ColumnOf::number("offset from now on", Um, |row: &&Row| {
            um_of_mm(row.offset_mm).fixed(1)
        }),
        ColumnOf::number("spark gap", Um, move |row: &&Row| value(&row.spark_gap)),
        ColumnOf::number("taken off", Um, move |row: &&Row| value(&row.taken)),
        ColumnOf::number("form error ±", Um, |row: &&Row| {
            row.form_error.map(|form| um(form.half_um).fixed(1))
        }),
        ColumnOf::number("Ra", UmOfRoughness, |row: &&Row| {
            row.ra.as_ref().map(|ra| roughness_um(ra.value_um).fixed(2))
        }),
        ColumnOf::number("readings", UnitSymbol::Same(""), |row: &&Row| row.readings),
    ];
    ViewTable::new(columns, &gauging.passes, ALL)
}

fn uncertainty(value: &GaugedValue) -> ViewTable {
    type Row = UncertaintyTerm;
    let columns = vec![
        ColumnOf::name("source", |row: &&Row| row.name),
        ColumnOf::number("standard uncertainty", UnitSymbol::Um, |row: &&Row| {
            um(row.standard_um).fixed(3)
        }),
        ColumnOf::words("degrees of freedom", |row: &&Row| {
            if row.degrees.is_finite() {
                fixed(row.degrees, 1)
            } else {
                "limits, rectangular".to_owned()
            }
        }),
    ];
    ViewTable::new(columns, &value.terms, ALL)
}

/// What is odd about the readings, and what scale and lost motion come to.
fn notes(gauging: &Gauging) -> Vec<Message> {
    let mut notes: Vec<Message> = gauging
        .outlying
        .iter()
        .map(|reading| {
            message!(
                "line {}: {} standard deviations off the others, more than chance explains ({}; Grubbs' test at 5 %). It was not left out: \
                 read that place again, or say why it is so",
                reading.line,
                fixed(reading.distance, 2),
                fixed(reading.limit, 2)
            )
        })
        .collect();
    for pass in &gauging.passes {
        notes.extend(gauging.axes_apart_um(pass).map(|apart_um| {
            message!(
                "pass {}: half the kerf is {} more across x than across y: look at wire guides and tension",
                pass.pass,
                um(apart_um).fixed(1).signed()
            )
        }));
    }
    notes.extend(gauging.last().by_axis.iter().map(|axis| {
        message!(
            "across {}: the wire's path came out {} wider than programmed (minus: narrower), by scale and lost motion of the machine; the half \
             kerf holds neither",
            axis.across.to_string(),
            um(axis.path_off_um).fixed(1).signed()
        )
    }));
    notes
}

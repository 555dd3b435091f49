//! What is shown of a few plans, in outline: sections, names and values, heads and first rows of tables.

use std::fmt::Write as _;

use super::{Coverage, Outlet, Section, SectionPart};
use crate::job::JobFile;
use crate::message::Lengths;
use crate::plan::Planner;
use crate::report::sample;
use crate::shop::Book;

fn outline(sections: &[Section], outlet: Outlet, lengths: Lengths) -> String {
    let mut text = String::new();
    for section in sections.iter().filter(|section| !section.is_empty()) {
        let note = section.note.in_unit(lengths);
        let _ = writeln!(
            text,
            "# {} · {} · {note}",
            section.id,
            section.title.in_unit(lengths)
        );
        for part in section.parts(outlet) {
            text.push_str(&part_outline(part, outlet, lengths));
        }
    }
    text
}

fn part_outline(part: &SectionPart, outlet: Outlet, lengths: Lengths) -> String {
    const ROWS: usize = 2;
    match part {
        SectionPart::Heading(words) => format!("  ## {}\n", words.in_unit(lengths)),
        SectionPart::Words(tone, words) => format!("  {tone:?}: {}\n", words.in_unit(lengths)),
        SectionPart::Pairs(pairs) => pairs.iter().fold(String::new(), |mut text, pair| {
            let _ = writeln!(
                text,
                "  {} = {}",
                pair.name.in_unit(lengths),
                pair.value.in_unit(lengths)
            );
            text
        }),
        SectionPart::List(items) => items.iter().fold(String::new(), |mut text, item| {
            let _ = writeln!(text, "  - {}", item.in_unit(lengths));
            text
        }),
        SectionPart::Table(table) => {
            let columns = table.columns(outlet);
            let heads: Vec<String> = columns.iter().map(|(_, column)| column.head(lengths)).collect();
            let mut text = format!("  | {}\n", heads.join(" | "));
            for row in table.rows(outlet).iter().take(ROWS) {
                let cells: Vec<String> = columns
                    .iter()
                    .map(|(at, _)| row.cells[*at].text(lengths))
                    .collect();
                let _ = writeln!(text, "  | {}", cells.join(" | "));
            }
            text
        }
        SectionPart::Findings(groups) => groups.iter().fold(String::new(), |mut text, group| {
            let _ = writeln!(
                text,
                "  ({}) {}, {}: {} {} [{}]",
                group.number,
                group.names,
                group.places.in_unit(lengths),
                group.entries.len(),
                group.entries[0].says.in_unit(lengths),
                group.others.in_unit(lengths)
            );
            text
        }),
        SectionPart::Questions(entries) => format!("  {} questions\n", entries.len()),
        SectionPart::Picture(svg) => format!("  picture: {}\n", svg.starts_with("<svg")),
        SectionPart::DrawingSheet => "  drawing sheet\n".to_owned(),
        SectionPart::Blanks(names) => format!("  to write in: {}\n", names.len()),
        SectionPart::Folded(what, parts) => {
            format!("  folded: {}, {}\n", what.in_unit(lengths), !parts.is_empty())
        }
    }
}

#[test]
fn an_inspection_in_outline() {
    let mut plate = sample::plate();
    plate.findings = vec![sample::finding(); 5];
    insta::assert_snapshot!(outline(
        &super::inspected(&plate, Coverage::Usual),
        Outlet::TERMINAL,
        Lengths::Mm
    ));
}

#[test]
fn a_plan_in_outline_in_both_units() {
    let plan = sample::plan();
    let sections = super::planned(&plan, Coverage::Full);
    insta::assert_snapshot!(outline(&sections, Outlet::TERMINAL, Lengths::Mm));
    insta::assert_snapshot!(outline(&sections, Outlet::TERMINAL, Lengths::Inch));
}

#[test]
fn a_job_sheet_in_outline() {
    let drawing = sample::drawing("");
    let job = JobFile::new("tool-steel", 30.0)
        .finish("Ra 0.8")
        .tolerance("±0.01");
    let book = Book::built_in().expect("the built-in book is sound");
    let planned = Planner::new(&book)
        .job(&job)
        .plan("plate.dxf", drawing.as_bytes());
    let plan = planned.expect("a sound drawing");
    let alternatives = plan.alternatives().expect("the same job");
    let pictures = super::SheetPictures {
        part: "<svg/>".into(),
        working_day: None,
    };
    let full = super::FullSheet {
        alternatives: &alternatives,
        trade_off: Some("<svg/>".into()),
        budgets: vec![None],
    };
    let sections = super::job_sheet(&plan, alternatives.day.as_ref(), pictures, Some(full));
    insta::assert_snapshot!(outline(&sections, Outlet::JOB_SHEET, Lengths::Mm));
}

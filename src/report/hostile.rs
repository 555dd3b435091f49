//! Whatever a stranger's drawing or book has for names: what is written can be parsed, and steers no terminal.

use std::sync::{LazyLock, Mutex};

use proptest::prelude::*;
use roxmltree::Document;

use super::html::tests::tree;
use super::{Coverage, Lengths, html, job_file, sample, svg, terminal};
use crate::finding::Finding;
use crate::job::JobFile;
use crate::message::number::plain;
use crate::plan::{self, Alternatives, Comparison, Plan, Planner};
use crate::shop::Book;

const JOB: &str =
    "thickness_mm = 20\nmaterial = \"tool-steel\"\nassume_sides = true\nwire_mm = 0.25\npasses = 2\n";

/// Draws a plate with a hole in a block and a text, all with this name, and a line that stays open on a layer of its own.
fn drawing(name: &str) -> String {
    let name = name.replace(['\n', '\r'], "\\U+000A");
    let block = format!(
        "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\n{name}\n10\n0\n20\n0\n0\nCIRCLE\n8\n{name}\n10\n20\n20\n10\n40\n5\n0\nENDBLK\n0\nENDSEC\n"
    );
    let placed = format!(
        "0\nINSERT\n8\n{name}\n2\n{name}\n10\n0\n20\n0\n0\nINSERT\n8\n0\n2\n{name} gone\n10\n0\n20\n0\n\
         0\nTEXT\n8\n{name}\n1\n{name}\n10\n1\n20\n1\n40\n2\n0\nMTEXT\n8\n{name}\n1\n{name}\n10\n1\n20\n1\n40\n2\n\
         0\nLINE\n8\n{name} open\n6\n{name}\n10\n50\n20\n0\n11\n60\n21\n0\n0\nPROXY{name}\n8\n0\n"
    );
    sample::drawing(&placed).replacen(
        "0\nSECTION\n2\nENTITIES\n",
        &format!("{block}0\nSECTION\n2\nENTITIES\n"),
        1,
    )
}

static COMPARISON: LazyLock<Mutex<Comparison>> = LazyLock::new(|| {
    let (book, job) = (
        Book::built_in().expect("sound"),
        JobFile::parse(JOB).expect("sound"),
    );
    let compared = Planner::new(&book)
        .job(&job)
        .compare("a.dxf", drawing("a").as_bytes());
    Mutex::new(compared.expect("a choice"))
});

fn rename(plan: &mut Plan, name: &str) {
    plan.inspection.file = format!("{name}.dxf");
    plan.inspection.assumptions.push(name.into());
    plan.inspection.findings.push(Finding {
        message: name.into(),
        remedy: name.into(),
        layer: Some(name.to_owned()),
        entities: vec![name.to_owned()],
        ..sample::finding()
    });
    plan.setup.material = name.to_owned();
    plan.setup.wire_kind = Some(name.to_owned());
    plan.setup.machine = Some(name.to_owned());
    if let Some(costs) = &mut plan.estimate.costs {
        costs.currency = name.to_owned();
    }
}

fn rename_choice(comparison: &mut Comparison, name: &str) {
    comparison.inspection.file = name.to_owned();
    comparison.currency = name.to_owned();
    comparison.material = name.to_owned();
    for candidate in &mut comparison.candidates {
        candidate.wire_kind = name.to_owned();
        candidate.machine = name.to_owned();
    }
    if let Some(plan) = &mut comparison.chosen {
        rename(plan, name);
    }
}

/// Names of what strangers can write: controls, escape sequences, markup, what XML leaves out, and what turns the order of reading.
fn name() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "\u{1b}]0;title\u{7}",
        "\u{0}",
        "\u{fffe}",
        "\u{ffff}",
        "\u{202e}",
        "\u{2066}",
        "\u{200f}",
        "\u{61c}",
        "\u{9b}2J",
        "\u{b}",
        "\u{7f}",
        "\\U+001B",
        "\\U+FFFE",
        "\\U+0000",
        "\\U+202E",
        "]]>",
        "-->",
        "</script>",
        "</title>",
        "&",
        "&#0;",
        "<b>",
        "\"",
        "'",
        "%%C",
        "^J",
        "^[",
        "x",
        " ",
        "µ",
        "\u{10ffff}",
        "\u{1fffe}",
    ]);
    prop::collection::vec(piece, 1..8).prop_map(|pieces| pieces.concat())
}

/// Returns what a terminal gets beside line feeds and colours.
fn shown(text: &str) -> String {
    let mut parts = text.split("\u{1b}[");
    let first = parts.next().unwrap_or_default().to_owned();
    let rest = parts.map(|part| {
        let colour = part
            .trim_start_matches(|c: char| c.is_ascii_digit() || c == ';')
            .strip_prefix('m');
        colour.map_or_else(|| format!("\u{1b}[{part}"), str::to_owned)
    });
    rest.fold(first, |text, part| text + &part).replace('\n', "")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Names of the choice are put in afterwards: it takes long.
    /// Source: XML 1.0 (fifth edition), section 2.2, as the reader has it; HTML is read as XML too.
    #[test]
    fn names_break_no_output(name in name()) {
        let (book, job) = (Book::built_in().expect("sound"), JobFile::parse(JOB).expect("sound"));
        let bytes = drawing(&name);
        let mut plan = Planner::new(&book).job(&job).plan("a.dxf", bytes.as_bytes()).expect("a plan");
        rename(&mut plan, &name);
        let mut comparison = COMPARISON.lock().expect("no other test takes it");
        rename_choice(&mut comparison, &name);
        let alternatives = Alternatives { candidates: comparison.candidates.clone(), day: plan::day(&plan) };
        let mut pictures = vec![
            svg::plan(&plan, Lengths::Mm),
            svg::inspection(&plan.inspection, Lengths::Mm),
            svg::comparison(&comparison),
            svg::overlay(&plan.inspection, Some(&plan), Lengths::Mm),
            svg::wall_section(&plan, Lengths::Mm),
            svg::chart(&plan, &comparison.candidates),
        ];
        pictures.extend(svg::trade_off(&plan, &comparison.candidates));
        pictures.extend(alternatives.day.iter().flat_map(|day| [svg::shift_strip(day), svg::working_day(day)]));
        pictures.push(tree(&html::plan(&plan, Some(&alternatives))));
        for picture in pictures {
            let parsed = Document::parse(&picture);
            prop_assert!(parsed.is_ok(), "{:?}", parsed.err());
            let left = picture.find(['\u{202e}', '\u{2066}', '\u{200f}', '\u{61c}', '\u{7f}', '\u{9b}']);
            prop_assert_eq!(left.map(|at| &picture[at.saturating_sub(40)..at]), None);
        }
        let told = [
            terminal::inspection(&plan.inspection, Coverage::Full, Lengths::Mm),
            terminal::plan(&plan, Coverage::Full, Lengths::Mm),
            terminal::figures(&plan),
            terminal::comparison(&comparison, Lengths::Inch),
        ];
        for text in told {
            let text = shown(&text);
            let left = text.chars().find(|c| plain(&c.to_string()) != c.to_string());
            prop_assert_eq!(left.map(|left| &text[..text.find(left).unwrap_or(0)]), None);
        }
        let written = job_file::reading_job(&plan.inspection, &job, "a.dxf").expect("written");
        prop_assert!(JobFile::parse(&written).is_ok(), "{written}");
    }
}

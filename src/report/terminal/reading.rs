//! How the drawing is read, layer by layer, and what it leaves open.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::table::{Align, table};
use super::{ERROR, HEADING, QUIET};
use crate::check::question_words::{QuestionWords, in_words};
use crate::contour::Contour;
use crate::job::Purpose;
use crate::message::number::{counted, plain};
use crate::plan::Inspection;
use crate::question::Question;
use crate::report::layer_of;
use crate::report::lengths::Lengths;
use crate::report::sides::{KeptSide, kept_side, purpose_with_side, side_source, sizes_in_words};
use crate::report::words;

/// Most rows of the table, and most questions that are written out.
const LISTED: usize = 40;

/// Contours that are read alike: the layer, then the first that differs.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct ReadAlike<'a> {
    layer: &'a str,
    purpose: Purpose,
    purpose_from: &'static str,
    kept: Option<KeptSide>,
    side_from: Option<&'static str>,
}

/// Writes one row for the contours of a layer that are read alike.
pub(super) fn layers(inspection: &Inspection, lengths: Lengths) -> String {
    let mut groups: BTreeMap<ReadAlike<'_>, Vec<&Contour>> = BTreeMap::new();
    for contour in &inspection.contours.list {
        let alike = ReadAlike {
            layer: layer_of(contour, &inspection.drawing),
            purpose: purpose_with_side(contour),
            purpose_from: words::purpose_source(contour.purpose_from),
            kept: kept_side(contour),
            side_from: side_source(contour).map(words::side_source),
        };
        groups.entry(alike).or_default().push(contour);
    }
    if groups.is_empty() {
        return String::new();
    }
    let rows = groups
        .iter()
        .take(LISTED)
        .map(|(alike, contours)| layer_row(alike, contours));
    let rows: Vec<[String; 8]> = rows.collect();
    let heads = [
        ("layer", Align::Left),
        ("contours", Align::Right),
        ("smallest mm", Align::Left),
        ("largest mm", Align::Left),
        ("purpose", Align::Left),
        ("from", Align::Left),
        ("material stays", Align::Left),
        ("side", Align::Left),
    ];
    format!(
        "\n{HEADING}reading{HEADING:#}\n{}",
        table(heads, &rows, groups.len(), lengths)
    )
}

fn layer_row(alike: &ReadAlike<'_>, contours: &[&Contour]) -> [String; 8] {
    let (smallest, largest) = sizes_in_words(contours).unwrap_or_default();
    [
        plain(alike.layer),
        contours.len().to_string(),
        smallest.to_string(),
        if contours.len() > 1 {
            largest.to_string()
        } else {
            String::new()
        },
        words::purpose(alike.purpose).to_owned(),
        alike.purpose_from.to_owned(),
        alike.kept.map_or("–", KeptSide::word).to_owned(),
        alike.side_from.unwrap_or("–").to_owned(),
    ]
}

/// Writes the questions, numbered, each with its readings in order and how to give them.
pub(super) fn questions(inspection: &Inspection) -> String {
    let list = &inspection.questions.list;
    if list.is_empty() {
        return String::new();
    }
    let open = list.iter().filter(|question| !question.assumed).count();
    let rest = match (open, list.len() - open) {
        (0, _) => "the first reading of each is taken".to_owned(),
        (_, 0) => "no path and no price of these contours until each is answered".to_owned(),
        (_, assumed) => format!("{open} open, the first reading of {assumed} taken"),
    };
    let mut text = format!("\n{HEADING}questions{HEADING:#}: {rest}\n");
    for (number, question) in (1..).zip(list).take(LISTED) {
        let Inspection {
            drawing,
            contours,
            questions,
            ..
        } = inspection;
        let words = in_words(question, drawing, contours, questions);
        write_question(&mut text, number, question, &words);
    }
    if list.len() > LISTED {
        let _ = writeln!(text, "  … and {} more; `--json` lists all", list.len() - LISTED);
    }
    if open > 0 {
        let _ = writeln!(
            text,
            "  {QUIET}answer with the options below the readings or in a job file (`inspect --write-job part.toml`); `--assume-sides` takes\n  \
             the first reading of each{QUIET:#}"
        );
    }
    text
}

fn write_question(text: &mut String, number: usize, question: &Question, words: &QuestionWords) {
    let style = if question.assumed { HEADING } else { ERROR };
    let _ = writeln!(text, "  {style}{number}. {}{style:#}", plain(&words.asks));
    let _ = writeln!(text, "     {QUIET}{}{QUIET:#}", plain(&words.why));
    for (i, reading) in words.readings.iter().enumerate() {
        let taken = if question.assumed && i == 0 {
            " (taken)"
        } else {
            ""
        };
        let _ = writeln!(text, "     - {}{taken}", plain(&reading.says));
        let _ = writeln!(text, "       {}", reading.means);
        let _ = writeln!(text, "       {QUIET}{}{QUIET:#}", plain(&reading.options));
    }
}

/// Says in short how many questions there are.
pub(super) fn question_count(inspection: &Inspection) -> String {
    let list = &inspection.questions.list;
    let open = inspection.questions.open().count();
    match (open, list.len()) {
        (0, 0) => "no question".to_owned(),
        (0, n) => format!("{}, none open", counted(n, "question")),
        (open, n) if open == n => counted(n, "question"),
        (open, n) => format!("{}, {open} open", counted(n, "question")),
    }
}

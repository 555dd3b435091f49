//! What the drawing leaves open.

use super::entries::{QuestionEntry, ReadingEntry};
use super::frames::{Outlet, Section, SectionPart, Tone, more};
use crate::check::question_words::in_words;
use crate::message::message;
use crate::message::number::counted;
use crate::plan::Inspection;

/// Returns the questions, numbered, each with its readings in order and how to give them.
pub(super) fn section(inspection: &Inspection) -> Section {
    const MOST: usize = 40;
    let list = &inspection.questions.list;
    let open = list.iter().filter(|question| !question.assumed).count();
    let rest = match (open, list.len() - open) {
        (0, _) => "the first reading of each is taken".into(),
        (_, 0) => "no path and no price of these contours until each is answered".into(),
        (_, assumed) => message!("{} open, the first reading of {} taken", open, assumed),
    };
    let section = Section::new("questions", "questions");
    if list.is_empty() {
        return section;
    }
    let entries = (1..).zip(list).take(MOST).map(|(number, question)| {
        let Inspection {
            drawing,
            contours,
            questions,
            ..
        } = inspection;
        let words = in_words(question, drawing, contours, questions);
        let readings = words.readings.into_iter().map(|reading| ReadingEntry {
            says: reading.says,
            means: reading.means,
            options: reading.options.into(),
        });
        QuestionEntry {
            number,
            asks: words.asks,
            why: words.why.into(),
            readings: readings.collect(),
            is_assumed: question.assumed,
        }
    });
    let section = section.note(rest).with(SectionPart::Questions(entries.collect()));
    let section = section.words(
        Tone::Plain,
        more(list.len().saturating_sub(MOST)).unwrap_or_default(),
    );
    if open == 0 {
        return section;
    }
    section.with_on(
        Outlet::TERMINAL,
        SectionPart::Words(
            Tone::Quiet,
            "answer with the options below the readings or in a job file (`inspect --write-job part.toml`); `--assume-sides` takes the \
             first reading of each"
                .into(),
        ),
    )
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

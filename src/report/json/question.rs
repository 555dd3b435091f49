use serde::Serialize;

use crate::check::question_words::{ReadingWords, in_words};
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::Purpose;
use crate::message::Message;
use crate::plan::Inspection;
use crate::question::{Interpretation, KeptLoss, QuestionCase, QuestionKind};

/// What the drawing leaves open, with the ways to read it.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct QuestionRow<'a> {
    /// What is unclear: `frame-or-part`, `line-style`, `pitch-circle`, `tapped-hole`, `counterbore`, `start-hole`, `crosses-edge`,
    /// `on-edge`, `in-opening`, `several-within-one`, `given-both-sides`, `pieces-or-openings`, `outline-missing`, `side-turned`, `name-contradicts`,
    /// `open-chain`, `open-cut` or `trim-side`.
    #[cfg_attr(test, schemars(with = "String"))]
    kind: QuestionKind,
    /// It was not answered: the first reading is taken.
    assumed: bool,
    /// What is asked, in words.
    asks: Message,
    /// Why the drawing does not settle it, in words.
    why: String,
    /// The places where it is, all alike.
    cases: Vec<CaseRow<'a>>,
    /// The ways to read it, as nested first, then by how little kept material would be lost.
    readings: Vec<ReadingRow>,
}

/// One place where something is unclear.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct CaseRow<'a> {
    /// Numbers of the contours whose purpose or side is unclear, the outermost first.
    contours: &'a [ContourId],
    /// Numbers of the contours inside them whose side follows.
    inside: &'a [ContourId],
    /// The curve around them, where it hangs on that; else null.
    around: Option<AroundRow<'a>>,
    /// The word that says something else than the drawing; null where none does.
    word: Option<&'a str>,
}

/// A curve around contours.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct AroundRow<'a> {
    /// Its layer.
    layer: &'a str,
    /// Line in the DXF file where it begins.
    line: usize,
}

/// One way to read what is unclear.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct ReadingRow {
    /// What it says of the contours, in words.
    says: Message,
    /// What it would mean, in words.
    means: Message,
    /// What it makes of each contour.
    purposes: Vec<ContourPurposeRow>,
    /// Length to be cut of these and of those inside them, mm.
    cut_length_mm: f64,
    /// Kept material that would be lost if another reading were right.
    kept_loss: KeptLoss,
    /// The options that give it.
    options: String,
    /// The lines of a job file that give it.
    job_file: Vec<String>,
    /// The layer for which `options` and `job_file` give it; null where they name the contours.
    layer: Option<String>,
}

/// What a reading makes of a contour.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct ContourPurposeRow {
    /// Number of the contour.
    contour: ContourId,
    /// What it is for.
    purpose: Purpose,
    /// A place on the side that stays, of a trim; else null.
    keep_mm: Option<Point>,
}

pub(super) fn question_rows(inspection: &Inspection) -> Vec<QuestionRow<'_>> {
    let Inspection {
        drawing,
        contours,
        questions,
        ..
    } = inspection;
    let rows = questions.list.iter().map(|question| {
        let words = in_words(question, drawing, contours, questions);
        QuestionRow {
            kind: question.kind,
            assumed: question.assumed,
            asks: words.asks,
            why: words.why,
            cases: question
                .cases
                .iter()
                .map(|case| case_row(case, inspection))
                .collect(),
            readings: question
                .readings
                .iter()
                .zip(words.readings)
                .map(|(reading, words)| reading_row(reading, words))
                .collect(),
        }
    });
    rows.collect()
}

fn case_row<'a>(case: &'a QuestionCase, inspection: &'a Inspection) -> CaseRow<'a> {
    let drawing = &inspection.drawing;
    let around = case.around.and_then(|curve| drawing.curves.get(curve));
    CaseRow {
        contours: &case.contours,
        inside: &case.inside,
        around: around.map(|curve| AroundRow {
            layer: drawing
                .layers
                .get(curve.origin.layer as usize)
                .map_or("", |layer| &layer.name),
            line: curve.origin.line,
        }),
        word: case.word.as_deref(),
    }
}

fn reading_row(reading: &Interpretation, words: ReadingWords) -> ReadingRow {
    let purposes = reading.purposes.iter();
    ReadingRow {
        says: words.says,
        means: words.means,
        purposes: purposes
            .map(|&(contour, purpose)| ContourPurposeRow {
                contour,
                purpose,
                keep_mm: reading.staying_place(contour),
            })
            .collect(),
        cut_length_mm: reading.cut_length_mm,
        kept_loss: reading.loss,
        options: words.options,
        job_file: words.job_file,
        layer: words.layer,
    }
}

//! Says in words what a question asks, what each reading means, and how it is given on the command line.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::counted;
use crate::contour::{Contours, Role};
use crate::drawing::Drawing;
use crate::id::ContourId;
use crate::job::Purpose;
use crate::question::{Interpretation, KeptLoss, Question, QuestionCase, QuestionKind, Questions};

/// How many groups of like cases, and how many numbers of contours, are named one by one.
const NAMED: usize = 4;
const NUMBERED: usize = 24;

/// A question in words.
pub struct QuestionWords {
    /// What is asked: lower case, ends with a question mark.
    pub asks: String,
    /// Why the drawing does not settle it.
    pub why: String,
    /// The readings, in the order of the question.
    pub readings: Vec<ReadingWords>,
}

/// A reading in words.
pub struct ReadingWords {
    /// What it says of the contours.
    pub says: String,
    /// What it means: how much is cut, what is lost if it is wrong.
    pub means: String,
    /// The options that give it.
    pub options: String,
}

/// Says a question of a drawing in words.
pub fn in_words(
    question: &Question,
    drawing: &Drawing,
    contours: &Contours,
    questions: &Questions,
) -> QuestionWords {
    let scene = WordScene {
        drawing,
        contours,
        questions,
    };
    let (asks, why) = scene.asks(question);
    let readings = question.readings.iter().enumerate();
    QuestionWords {
        asks,
        why,
        readings: readings
            .map(|(i, reading)| ReadingWords {
                says: scene.says(question, reading),
                means: means(reading, i == 0),
                options: options(reading),
            })
            .collect(),
    }
}

/// Returns the name of the finding that reports an open question of this kind.
pub(super) const fn leaves_side_open(kind: QuestionKind) -> bool {
    matches!(
        kind,
        QuestionKind::SeveralWithinOne
            | QuestionKind::GivenBothSides
            | QuestionKind::PiecesOrOpenings
            | QuestionKind::OutlineMissing
            | QuestionKind::SideTurned
            | QuestionKind::NameContradicts
    )
}

struct WordScene<'a> {
    drawing: &'a Drawing,
    contours: &'a Contours,
    questions: &'a Questions,
}

impl WordScene<'_> {
    /// Returns what is asked, and why.
    fn asks(&self, question: &Question) -> (String, String) {
        let all = || numbers_of(question.cases.iter().flat_map(|case| &case.contours));
        let first = &question.cases[0];
        match question.kind {
            QuestionKind::FrameOrPart => (
                format!("{}: the outline of a plate, or the frame of the sheet?", all()),
                self.frame_sign(first),
            ),
            QuestionKind::LineStyle => (
                format!("{}: drawn to be cut, or for reference?", self.by_size(question)),
                "the linetype is one for centre, hidden or phantom lines".to_owned(),
            ),
            QuestionKind::PitchCircle => (
                format!("{}: a pitch circle, or to be cut?", self.by_size(question)),
                "it passes through the centres of equal circles, or across teeth".to_owned(),
            ),
            QuestionKind::TappedHole => (
                format!(
                    "{}: tapped {}?",
                    self.by_size(question),
                    if question.cases.len() == 1 {
                        "hole"
                    } else {
                        "holes"
                    }
                ),
                "an arc of about three quarters of a circle is the symbol of a thread".to_owned(),
            ),
            QuestionKind::Counterbore => (
                format!("{}: are all of them cut through?", self.by_size(question)),
                "the outer one of concentric circles in a plate is often a counterbore".to_owned(),
            ),
            QuestionKind::StartHole => (
                format!("{}: to be cut, or start holes?", self.by_size(question)),
                "they are small, and stand alone in an opening or outside every outline".to_owned(),
            ),
            QuestionKind::CrossesEdge => (
                format!("{}: what is to be cut of it?", all()),
                format!("it crosses an edge that is not cut{}", self.line_of(first)),
            ),
            QuestionKind::InOpening => (
                format!("{}: to be cut?", all()),
                format!(
                    "it lies in an opening that is there already{}, where nothing is left",
                    self.line_of(first)
                ),
            ),
            QuestionKind::SeveralWithinOne => (
                format!(
                    "the side given: of the outline only, or of all {}?",
                    counted_contours(question)
                ),
                format!("{} lie inside one another", all()),
            ),
            QuestionKind::GivenBothSides => (
                format!("{}: which side stays?", all()),
                "its curves are given as part and as opening".to_owned(),
            ),
            QuestionKind::PiecesOrOpenings => (
                format!(
                    "{}: pieces out of the outline around them, or openings in it?",
                    all()
                ),
                format!(
                    "they are equal, and the outline{} is not cut",
                    self.line_of(first)
                ),
            ),
            QuestionKind::OutlineMissing => (
                format!("{}: parts, or openings in a plate that is not drawn?", all()),
                "they are equal, with nothing around them and nothing in them".to_owned(),
            ),
            QuestionKind::SideTurned => (
                format!("{}: which side stays?", all()),
                format!(
                    "the closed curve around it{} is given as one that bounds nothing",
                    self.line_of(first)
                ),
            ),
            QuestionKind::NameContradicts => (
                format!("{}: as drawn, or as the name says?", all()),
                format!(
                    "the word `{}` in the name of its layer, or in the title, says something else than the drawing",
                    first.word.as_deref().unwrap_or_default()
                ),
            ),
            QuestionKind::OpenChain => (
                format!(
                    "{}: to be cut, or for reference?",
                    counted(question.cases.len(), "straight line")
                ),
                "they close nothing and end near no other line, as centre marks and dimension lines do"
                    .to_owned(),
            ),
        }
    }

    fn frame_sign(&self, case: &QuestionCase) -> String {
        use crate::question::FrameSign;
        let frames = self.questions.frames.iter();
        let sign = frames
            .filter(|frame| case.contours.contains(&frame.contour))
            .map(|frame| frame.sign)
            .next();
        let sign = match sign {
            None | Some(FrameSign::Name) => "its layer or linetype has the name of a frame or blank",
            Some(FrameSign::SheetSize) => "it has the size of a drawing sheet",
            Some(FrameSign::SheetRatio) => "it has the proportions of a drawing sheet, with texts in it",
            Some(FrameSign::DoubleBorder) => "it is one of two borders, one inside the other",
            Some(FrameSign::PartsWithin) => {
                "it stands alone on its layer and encloses parts with openings of their own"
            }
        };
        sign.to_owned()
    }

    /// Names the layer and the line of what is around a case.
    fn line_of(&self, case: &QuestionCase) -> String {
        let origin = case
            .around
            .and_then(|curve| self.drawing.curves.get(curve))
            .map(|curve| curve.origin);
        let Some(origin) = origin else {
            return String::new();
        };
        let layer = self
            .drawing
            .layers
            .get(origin.layer as usize)
            .map_or("", |layer| &layer.name);
        format!(" (layer `{layer}`, line {})", origin.line)
    }

    /// Names the cases by the diameters of their circles, alike ones once: `4 × Ø14/Ø8.5`.
    fn by_size(&self, question: &Question) -> String {
        let mut sizes: BTreeMap<String, usize> = BTreeMap::new();
        for case in &question.cases {
            *sizes.entry(self.sizes(case)).or_default() += 1;
        }
        let mut named: Vec<String> = sizes
            .iter()
            .take(NAMED)
            .map(|(size, count)| format!("{count} × {size}"))
            .collect();
        if sizes.len() > NAMED {
            named.push("…".to_owned());
        }
        let numbers = numbers_of(question.cases.iter().flat_map(|case| &case.contours));
        format!("{} ({numbers})", named.join(", "))
    }

    fn sizes(&self, case: &QuestionCase) -> String {
        let size = |&id: &ContourId| {
            let contour = self.contours.get(id)?;
            let (width, height) = (contour.bounds.width(), contour.bounds.height());
            Some(match (contour.role, (width - height).abs() < 0.005 * width) {
                (Role::Open, _) => "arc".to_owned(),
                (_, true) => format!("Ø{}", short(width)),
                _ => format!("{} × {} mm", short(width), short(height)),
            })
        };
        let sizes: Vec<String> = case.contours.iter().filter_map(size).collect();
        sizes.join("/")
    }

    fn says(&self, question: &Question, reading: &Interpretation) -> String {
        let mut by_purpose: BTreeMap<Purpose, usize> = BTreeMap::new();
        for (_, purpose) in &reading.purposes {
            *by_purpose.entry(*purpose).or_default() += 1;
        }
        let said: Vec<String> = by_purpose
            .iter()
            .map(|(&purpose, &count)| {
                if by_purpose.len() == 1 {
                    purpose_word(purpose, count)
                } else {
                    format!("{count} {}", purpose_word(purpose, count))
                }
            })
            .collect();
        let inside: usize = question.cases.iter().map(|case| case.inside.len()).sum();
        let follows = match inside {
            0 => String::new(),
            n => format!(
                ", {} inside as that makes {}",
                counted(n, "contour"),
                if n == 1 { "it" } else { "them" }
            ),
        };
        format!("{}{follows}", said.join(", "))
    }
}

fn counted_contours(question: &Question) -> usize {
    question.cases.iter().map(|case| case.contours.len()).sum()
}

fn purpose_word(purpose: Purpose, count: usize) -> String {
    let plural = if count == 1 { "" } else { "s" };
    match purpose {
        Purpose::Cut => "to be cut".to_owned(),
        Purpose::Part => format!("part{plural}: the wire runs outside"),
        Purpose::Opening => format!("opening{plural}: the wire runs inside"),
        Purpose::Existing => "there already".to_owned(),
        Purpose::NotNow => "not cut this time".to_owned(),
        Purpose::StartHole => format!("start hole{plural} to be made"),
        Purpose::ReadyHole => format!("start hole{plural}, there already"),
        Purpose::Blank => "outline of the blank".to_owned(),
        Purpose::Frame => "frame of the sheet".to_owned(),
        Purpose::Thread => "symbol of a thread".to_owned(),
        Purpose::Reference | Purpose::Ignore => "not cut, for reference".to_owned(),
    }
}

/// Says what a reading means.
fn means(reading: &Interpretation, nested: bool) -> String {
    let mut text = String::new();
    if nested {
        text.push_str("as drawn; ");
    }
    let _ = write!(text, "{:.3} mm to be cut", reading.cut_length_mm);
    let KeptLoss {
        kerf_along_mm,
        area_mm2,
        depth_mm,
    } = reading.loss;
    if area_mm2 > 0.0 {
        let depth = depth_mm.map_or_else(String::new, |mm| format!(", up to {} mm deep", short(mm)));
        let _ = write!(text, "; if wrong, {area_mm2:.2} mm² that should stay drop{depth}");
    } else if kerf_along_mm > 0.0 {
        let _ = write!(
            text,
            "; if wrong, a whole kerf is taken along {kerf_along_mm:.3} mm of wall that should stay"
        );
    } else {
        text.push_str("; if wrong, nothing is lost");
    }
    text
}

/// Writes the options that give a reading.
fn options(reading: &Interpretation) -> String {
    let mut by_purpose: BTreeMap<Purpose, Vec<ContourId>> = BTreeMap::new();
    for &(id, purpose) in &reading.purposes {
        by_purpose.entry(purpose).or_default().push(id);
    }
    let options = by_purpose.into_iter().map(|(purpose, ids)| {
        let word = serde_json::to_string(&purpose).unwrap_or_default();
        format!("--contour {}={}", ranges(ids), word.trim_matches('"'))
    });
    options.collect::<Vec<_>>().join(" ")
}

/// Writes numbers as `--contour` takes them: `3,5-8`.
pub fn ranges(ids: Vec<ContourId>) -> String {
    let mut numbers: Vec<usize> = ids.into_iter().map(ContourId::number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let runs = numbers.chunk_by(|a, b| a + 1 == *b);
    let runs = runs.map(|run| match run {
        [] => String::new(),
        [one] => one.to_string(),
        [a, b] => format!("{a},{b}"),
        [first, .., last] => format!("{first}-{last}"),
    });
    runs.collect::<Vec<_>>().join(",")
}

/// Names contours by their numbers, shortened where they are many.
fn numbers_of<'a>(ids: impl Iterator<Item = &'a ContourId>) -> String {
    let ids: Vec<ContourId> = ids.copied().collect();
    let noun = if ids.len() == 1 { "contour" } else { "contours" };
    match ids.iter().min() {
        Some(first) if ids.len() > NUMBERED => format!("{} {noun} from {first}", ids.len()),
        _ => format!("{noun} {}", ranges(ids).replace(',', ", ")),
    }
}

/// Writes a length with no more digits than it needs.
fn short(mm: f64) -> String {
    let text = format!("{mm:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

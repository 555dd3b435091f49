//! Says in words what a question asks, what each reading means, and how it is given on the command line and in a job file.

use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;
use std::fmt::Write as _;

use super::{Check, Subject, counted};
use crate::contour::{Contour, Contours, Role};
use crate::drawing::Drawing;
use crate::finding::{Finding, Quantity};
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::Purpose;
use crate::message::{Message, message, mm, mm2};
use crate::question::{
    FrameSign, Interpretation, KeptLoss, Question, QuestionCase, QuestionKind, Questions, StayingPlace,
};
use crate::tolerance::LOOKS_ROUND_SHARE;

/// How many groups of like cases, and how many numbers of contours, are named one by one.
const NAMED: usize = 4;
const NUMBERED: usize = 24;

/// A question in words.
pub struct QuestionWords {
    /// What is asked: lower case, ends with a question mark.
    pub asks: Message,
    /// Why the drawing does not settle it: lower case, no full stop.
    pub why: String,
    /// The readings, in the order of the question.
    pub readings: Vec<ReadingWords>,
}

/// A reading in words.
pub struct ReadingWords {
    /// What it says of the contours.
    pub says: Message,
    /// What it means: how much is cut, what is lost if it is wrong.
    pub means: Message,
    /// The options that give it.
    pub options: String,
    /// The lines of a job file that give it.
    pub job_file: Vec<String>,
    /// The layer whose contours these are, all of them and no others, where it may be given for that: they are many, and all become what
    /// bounds nothing.
    pub layer: Option<String>,
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
    let readings = question.readings.iter().enumerate();
    QuestionWords {
        asks: scene.asks(question),
        why: scene.why(question),
        readings: readings
            .map(|(i, reading)| {
                let by_purpose = by_purpose(reading);
                let layer = scene.layer_of(&by_purpose);
                ReadingWords {
                    says: scene.says(question, reading),
                    means: means(reading, i == 0 && question.kind != QuestionKind::TrimSide),
                    options: options(&by_purpose, reading, layer),
                    job_file: job_lines(reading, layer),
                    layer: layer.map(str::to_owned),
                }
            })
            .collect(),
    }
}

/// Whether an open question leaves a side open: else it leaves a purpose open.
pub(super) fn leaves_side_open(question: &Question) -> bool {
    let mut purposes = question.readings.iter().flat_map(|reading| &reading.purposes);
    question.kind == QuestionKind::TrimSide || purposes.all(|(_, purpose)| purpose.is_side())
}

/// Makes the finding of a check for an open question.
pub(super) fn finding(check: &Check, subject: &Subject<'_>, question: &Question) -> Finding {
    let words = in_words(question, subject.drawing, subject.contours, subject.questions);
    let answers = words.readings.iter();
    let answers: Vec<String> = answers
        .map(|reading| format!("{} ({})", reading.options, reading.says))
        .collect();
    let count: usize = question.cases.iter().map(|case| case.contours.len()).sum();
    let finding = Finding::new(
        check.name,
        check.severity,
        message!("{} {}", words.asks, words.why),
        "answer the question",
    )
    .option(answers.join(", or "));
    let first = question
        .cases
        .first()
        .and_then(|case| case.contours.first())
        .copied();
    let contour = first.and_then(|id| subject.contours.get(id));
    let finding = finding.measured(Quantity::count(count));
    match contour {
        Some(contour) => subject
            .about_curves(finding.on_contour(contour.id), &contour.curves)
            .at(contour.bounds.min),
        None => finding,
    }
}

struct WordScene<'a> {
    drawing: &'a Drawing,
    contours: &'a Contours,
    questions: &'a Questions,
}

impl WordScene<'_> {
    /// Returns what is asked.
    fn asks(&self, question: &Question) -> Message {
        let sizes = || self.by_size(question);
        let all = || numbers_of(question.cases.iter().flat_map(|case| &case.contours));
        let bracketed = || numbers_beside_count(question);
        let count = contour_count(question);
        match question.kind {
            QuestionKind::FrameOrPart => message!("{}: outline of a plate, or frame of the sheet?", sizes()),
            QuestionKind::LineStyle => message!("{}: cut, or for reference?", sizes()),
            QuestionKind::PitchCircle => message!("{}: pitch circle, or cut?", sizes()),
            QuestionKind::TappedHole => message!("{}: sign of a tapped hole, or cut?", sizes()),
            QuestionKind::Counterbore => {
                message!("{}: counterbored, or cut through at each diameter?", sizes())
            }
            QuestionKind::StartHole => message!("{}: start hole, or cut?", sizes()),
            QuestionKind::CrossesEdge => message!("{}: which side stays, or is it not cut?", all()),
            QuestionKind::OnEdge => message!("{}: cut again, or there already?", all()),
            QuestionKind::InOpening => message!("{}: cut, or for reference?", all()),
            QuestionKind::SeveralWithinOne => {
                let given = self.given_side(question);
                message!(
                    "{}, given as {}: the outline only, or all {}?",
                    all(),
                    given,
                    count
                )
            }
            QuestionKind::GivenBothSides | QuestionKind::SideTurned => {
                message!("{}: which side stays?", all())
            }
            QuestionKind::PiecesOrOpenings => message!(
                "{} equal contours ({}): parts cut out of the outline around them, or openings in it?",
                count,
                bracketed()
            ),
            QuestionKind::OutlineMissing => message!(
                "{} equal contours ({}): parts, or openings in a plate that is not drawn?",
                count,
                bracketed()
            ),
            QuestionKind::NameContradicts => {
                message!(
                    "{}: as drawn, or as the name says ({})?",
                    all(),
                    contradicting_words(question)
                )
            }
            QuestionKind::OpenChain => {
                let lines = counted(question.cases.len(), "straight line");
                message!("{} ({}): cut, or for reference?", lines, bracketed())
            }
            QuestionKind::OpenCut if question.readings.iter().any(|reading| !reading.stays.is_empty()) => {
                message!("{}: trim, slit, or for reference?", all())
            }
            QuestionKind::OpenCut => message!("{}: slit, or for reference?", all()),
            QuestionKind::TrimSide => message!("{}: which side of the trim stays?", all()),
        }
    }

    /// Returns why the drawing does not settle it.
    fn why(&self, question: &Question) -> String {
        let first = &question.cases[0];
        let around = || self.line_of(first);
        let fixed = match question.kind {
            QuestionKind::FrameOrPart => return self.frame_sign(first),
            QuestionKind::LineStyle => return self.linetype(first),
            QuestionKind::CrossesEdge => return format!("it crosses an edge that is not cut{}", around()),
            QuestionKind::OnEdge => return format!("it lies on an edge that is not cut{}", around()),
            QuestionKind::InOpening => {
                return format!(
                    "no material is left there: it lies in an opening that exists{}",
                    around()
                );
            }
            QuestionKind::PiecesOrOpenings => {
                return format!("they are equal, and the outline{} is not cut", around());
            }
            QuestionKind::SideTurned => {
                return format!(
                    "the curve around it{} bounds no material: it is given so, or it does not close",
                    around()
                );
            }
            QuestionKind::NameContradicts => {
                "a name of a layer, or the title, says something else than the drawing"
            }
            QuestionKind::PitchCircle => "it runs through the centres of equal circles, or across teeth",
            QuestionKind::TappedHole => "three quarters of a circle are the sign of a thread",
            QuestionKind::Counterbore => {
                "the outer one of two concentric circles in a plate is often a counterbore"
            }
            QuestionKind::StartHole => "it is small, and stands alone in an opening or outside every outline",
            QuestionKind::SeveralWithinOne => {
                "the side is given for all of them, and they lie inside one another"
            }
            QuestionKind::GivenBothSides => "some of its curves are given as part, others as opening",
            QuestionKind::OutlineMissing => "they are equal, with nothing around them and nothing in them",
            QuestionKind::OpenChain => {
                "they close nothing and end near no other line, like centre marks and dimension lines"
            }
            QuestionKind::OpenCut => "it does not close, and runs through the material",
            QuestionKind::TrimSide => "either side of it may be waste, and no place is given that stays",
        };
        fixed.to_owned()
    }

    /// Says which side was given.
    fn given_side(&self, question: &Question) -> &'static str {
        let ruled = question.cases[0]
            .contours
            .iter()
            .find_map(|&id| self.contours.get(id)?.ruled_side);
        if ruled == Some(Role::Opening) {
            "openings"
        } else {
            "parts"
        }
    }

    /// Names the linetype of a case.
    fn linetype(&self, case: &QuestionCase) -> String {
        let name = self.first_curve(case).and_then(|curve| {
            let linetype = self.drawing.curves.get(curve)?.origin.linetype;
            self.drawing.linetypes.get(linetype as usize)
        });
        let name = name.map_or("", String::as_str);
        format!("its linetype {name} is one for centre, hidden or phantom lines")
    }

    fn first_curve(&self, case: &QuestionCase) -> Option<usize> {
        let contour = self.contours.get(*case.contours.first()?)?;
        contour.curves.first().copied()
    }

    fn frame_sign(&self, case: &QuestionCase) -> String {
        let frames = self.questions.frames.iter();
        let sign = frames
            .filter(|frame| case.contours.contains(&frame.contour))
            .map(|frame| frame.sign)
            .next();
        frame_sign(sign.unwrap_or(FrameSign::Name)).to_owned()
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
        format!(" (layer {layer}, line {} of the file)", origin.line)
    }

    /// Names the cases by their sizes, alike ones once: `4 × Ø14/Ø8.5 mm (contours 2-9)`.
    fn by_size(&self, question: &Question) -> Message {
        let mut sizes: BTreeMap<String, (Message, usize)> = BTreeMap::new();
        for case in &question.cases {
            for size in self.sizes(question.kind, case) {
                sizes.entry(size.to_string()).or_insert((size, 0)).1 += 1;
            }
        }
        let count = |(size, count): &(Message, usize)| match count {
            1 => size.clone(),
            // `6 × 40 × 15 mm` would have three lengths.
            _ if size.contains(" × ") => message!("{} of {}", count, size),
            _ => message!("{} × {}", count, size),
        };
        let more = (sizes.len() > NAMED).then(|| "…".into());
        let named = sizes.values().take(NAMED).map(count).chain(more);
        message!(
            "{} ({})",
            Message::joined(named, ", "),
            numbers_beside_count(question)
        )
    }

    /// Returns the size of a case, or of each of its contours where these lie beside one another.
    fn sizes(&self, kind: QuestionKind, case: &QuestionCase) -> Vec<Message> {
        let contours = case.contours.iter().filter_map(|&id| self.contours.get(id));
        // Of a frame its borders say how large it is, not the lines that belong to it.
        let contours: Vec<&Contour> = contours
            .filter(|contour| kind != QuestionKind::FrameOrPart || contour.polyline.closed)
            .collect();
        let together = matches!(kind, QuestionKind::Counterbore | QuestionKind::TappedHole);
        // The last that has a size names the unit for those before it.
        let last = contours.iter().rposition(|contour| contour.role != Role::Open);
        let sizes = contours
            .iter()
            .enumerate()
            .map(|(i, contour)| match contour.role {
                Role::Open => "arc".into(),
                _ => size(contour, !together || Some(i) == last),
            });
        if together {
            vec![Message::joined(sizes, "/")]
        } else {
            sizes.collect()
        }
    }

    /// Says what a reading makes of the contours: `6 openings: the wire runs inside`; with their sizes where it makes several things of
    /// them.
    fn says(&self, question: &Question, reading: &Interpretation) -> Message {
        if !reading.stays.is_empty() {
            return trims_in_words(&reading.stays);
        }
        let mut by_purpose: Vec<(Purpose, Vec<&Contour>)> = Vec::new();
        for &(id, purpose) in &reading.purposes {
            let Some(contour) = self.contours.get(id) else {
                continue;
            };
            match by_purpose.iter_mut().find(|(other, _)| *other == purpose) {
                Some((_, contours)) => contours.push(contour),
                None => by_purpose.push((purpose, vec![contour])),
            }
        }
        let several = by_purpose.len() > 1;
        let said = by_purpose.iter().map(|(purpose, contours)| {
            let alike = contours
                .first()
                .filter(|_| several && *purpose != Purpose::Thread)
                .map(|first| size(first, true))
                .filter(|first| contours.iter().all(|contour| size(contour, true) == *first));
            purpose_in_words(*purpose, contours.len(), alike)
        });
        let inside: usize = question.cases.iter().map(|case| case.inside.len()).sum();
        let follows = match inside {
            0 => String::new(),
            1 => "; the contour inside follows".to_owned(),
            n => format!("; the {n} contours inside follow"),
        };
        message!("{}{}", Message::joined(said, "; "), follows)
    }

    /// Returns the layer whose contours those of a reading are, all of them and no others, where they are too many to be named and
    /// become what bounds nothing. A side or an edge given for a layer does not settle every question.
    fn layer_of(&self, by_purpose: &BTreeMap<Purpose, Vec<ContourId>>) -> Option<&str> {
        let (purpose, ids) = by_purpose.first_key_value().filter(|_| by_purpose.len() == 1)?;
        if purpose.is_edge() || ids.len() <= NUMBERED {
            return None;
        }
        let layer = |contour: &Contour| Some(self.drawing.curves.get(*contour.curves.first()?)?.origin.layer);
        let first = layer(self.contours.get(*ids.first()?)?)?;
        let ids: BTreeSet<ContourId> = ids.iter().copied().collect();
        let agrees = |contour: &Contour| (layer(contour) == Some(first)) == ids.contains(&contour.id);
        let name = &self.drawing.layers.get(first as usize)?.name;
        self.contours.list.iter().all(agrees).then_some(name)
    }
}

/// Says what makes a contour look like a frame.
pub(super) const fn frame_sign(sign: FrameSign) -> &'static str {
    match sign {
        FrameSign::Name => "its layer or linetype has the name of a frame or blank",
        FrameSign::SheetSize => "it has the size of a drawing sheet",
        FrameSign::SheetRatio => "it has the proportions of a drawing sheet",
        FrameSign::DoubleBorder => "it is one of two borders, one inside the other",
        FrameSign::PartsWithin => {
            "it stands alone on its layer and encloses parts with openings of their own"
        }
    }
}

/// Returns the size of a contour: `Ø14 mm`, `40 × 20 mm`, or without its unit.
pub fn size(contour: &Contour, with_unit: bool) -> Message {
    let bare = |length_mm: f64| mm(length_mm).at_most(3).bare();
    let last = |length_mm: f64| {
        if with_unit {
            mm(length_mm).at_most(3)
        } else {
            bare(length_mm)
        }
    };
    let (width, height) = (contour.bounds.width(), contour.bounds.height());
    let (length, area) = (contour.perimeter_mm, contour.area_mm2);
    // Nothing else encloses as much with its length.
    if 4.0 * PI * area >= (1.0 - LOOKS_ROUND_SHARE) * length * length {
        message!("Ø{}", last(width))
    } else {
        message!("{} × {}", bare(width), last(height))
    }
}

/// Names the words that say something else than the drawing, each once.
fn contradicting_words(question: &Question) -> String {
    let words: BTreeSet<&str> = question
        .cases
        .iter()
        .filter_map(|case| case.word.as_deref())
        .collect();
    let mut listed: Vec<String> = words.iter().take(NAMED).map(|word| format!("“{word}”")).collect();
    if words.len() > NAMED {
        listed.push("…".to_owned());
    }
    listed.join(", ")
}

fn contour_count(question: &Question) -> usize {
    question.cases.iter().map(|case| case.contours.len()).sum()
}

fn by_purpose(reading: &Interpretation) -> BTreeMap<Purpose, Vec<ContourId>> {
    let mut by_purpose: BTreeMap<Purpose, Vec<ContourId>> = BTreeMap::new();
    for &(id, purpose) in &reading.purposes {
        by_purpose.entry(purpose).or_default().push(id);
    }
    by_purpose
}

/// Says what drops of trims, and of one what stays.
fn trims_in_words(stays: &[StayingPlace]) -> Message {
    let piece = match stays {
        [one, ..] if one.smaller_drops => "smaller",
        _ => "larger",
    };
    match stays {
        [one] => message!(
            "trim: the {} piece drops, the material at x {} y {} stays",
            piece,
            mm(one.at.x).at_most(3).bare(),
            mm(one.at.y).at_most(3)
        ),
        all => message!("{} trims: the {} piece of each drops", all.len(), piece),
    }
}

/// Says what contours are, with their size where that says something.
fn purpose_in_words(purpose: Purpose, count: usize, size: Option<Message>) -> Message {
    let size = size.map(|size| message!(" {}", size));
    let of = |noun: &str| {
        if count == 1 {
            message!("{}{}", noun, size)
        } else {
            message!("{} {}s{}", count, noun, size)
        }
    };
    let rest = match purpose {
        Purpose::Part => return message!("{}: the wire runs outside", of("part")),
        Purpose::Opening => return message!("{}: the wire runs inside", of("opening")),
        Purpose::StartHole => return message!("{}, to be drilled", of("start hole")),
        Purpose::ReadyHole => return message!("{}, drilled already", of("start hole")),
        Purpose::Cut => "cut",
        Purpose::Slit => "slit, the wire runs on the line",
        Purpose::Trim => "trim, one side of the line stays",
        Purpose::Existing => "there already",
        Purpose::NotNow => "not cut this time",
        Purpose::Blank => "outline of the blank",
        Purpose::Frame => "frame of the sheet, not cut",
        Purpose::Thread => "sign of a thread, not cut",
        Purpose::Reference | Purpose::Ignore => "not cut, for reference",
    };
    if count == 1 && size.is_none() {
        rest.into()
    } else {
        message!("{}: {}", of("contour"), rest)
    }
}

/// Says what a reading means.
fn means(reading: &Interpretation, nested: bool) -> Message {
    let mut text = Message::from(if nested { "as drawn: " } else { "" });
    if reading.cut_length_mm > 0.0 {
        text += message!("{} cut", mm(reading.cut_length_mm).fixed(1));
    } else {
        text += "nothing cut";
    }
    let KeptLoss {
        kerf_along_mm,
        area_mm2,
        depth_mm,
    } = reading.loss;
    if area_mm2 > 0.0 {
        let depth = depth_mm.map(|depth_mm| message!(", {} deep", mm(depth_mm).at_most(3)));
        text += message!(
            "; if wrong, {} that should stay drops out{}",
            mm2(area_mm2).fixed(1),
            depth
        );
    } else if kerf_along_mm > 0.0 {
        text += message!(
            "; if wrong, the kerf lies in material that should stay, along {}",
            mm(kerf_along_mm).fixed(1)
        );
    } else {
        text += "; if wrong, nothing is lost";
    }
    text
}

/// Writes the options that give a reading.
fn options(
    by_purpose: &BTreeMap<Purpose, Vec<ContourId>>,
    reading: &Interpretation,
    layer: Option<&str>,
) -> String {
    let options = by_purpose.iter().map(|(&purpose, ids)| {
        let word = purpose_word(purpose);
        match layer {
            Some(layer)
                if layer
                    .chars()
                    .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_') =>
            {
                format!("--layer {layer}={word}")
            }
            // As a shell takes it for one word, whatever is in it.
            Some(layer) => format!("--layer '{}={word}'", layer.replace('\'', r"'\''")),
            None => format!("--contour {}={word}", ranges(ids.clone())),
        }
    });
    let stays = reading.stays.iter();
    let places = stays.map(|StayingPlace { contour, at, .. }| format!("--keep {contour}={},{}", at.x, at.y));
    options.chain(places).collect::<Vec<_>>().join(" ")
}

/// Writes the lines of a job file that give a reading.
fn job_lines(reading: &Interpretation, layer: Option<&str>) -> Vec<String> {
    let entry = |kind: &str, name: &str, purpose: Purpose| {
        [
            format!("[{kind}.{}]", toml_key(name)),
            format!("use = \"{}\"", purpose_word(purpose)),
        ]
    };
    if let (Some(layer), Some(&(_, purpose))) = (layer, reading.purposes.first()) {
        return entry("layer", layer, purpose).to_vec();
    }
    let contours = reading.purposes.iter();
    contours
        .flat_map(|&(id, purpose)| {
            let keep = reading.staying_place(id).map(keep_line);
            entry("contour", &id.to_string(), purpose).into_iter().chain(keep)
        })
        .collect()
}

/// Writes the line of a job file that gives the place on the side of a trim that stays.
pub fn keep_line(at: Point) -> String {
    format!("keep = [{:?}, {:?}]", at.x, at.y)
}

/// Writes a name as the key of a table in TOML: bare where that may be, else in quotes.
pub fn toml_key(name: &str) -> String {
    let bare = !name.is_empty()
        && name
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if bare {
        return name.to_owned();
    }
    let mut quoted = String::from("\"");
    for c in name.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// Returns the word of a purpose, as options and job files take it.
pub fn purpose_word(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Cut => "cut",
        Purpose::Part => "part",
        Purpose::Opening => "opening",
        Purpose::Slit => "slit",
        Purpose::Trim => "trim",
        Purpose::Existing => "existing",
        Purpose::NotNow => "not-now",
        Purpose::StartHole => "start-hole",
        Purpose::ReadyHole => "ready-hole",
        Purpose::Blank => "blank",
        Purpose::Frame => "frame",
        Purpose::Thread => "thread",
        Purpose::Reference => "reference",
        Purpose::Ignore => "ignore",
    }
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

/// Names the contours of a question where their count stands before.
fn numbers_beside_count(question: &Question) -> String {
    let ids = || question.cases.iter().flat_map(|case| &case.contours);
    match ids().min() {
        Some(first) if ids().count() > NUMBERED => format!("from contour {first}"),
        _ => numbers_of(ids()),
    }
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

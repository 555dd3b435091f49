//! The reading of a drawing as a job file, ready to be changed: every layer, and each question with its readings as lines that
//! only have to be taken out of their comment.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::layer_of;
use super::sides::sizes_in_words;
use super::words;
use crate::check::question_words::{in_words, keep_line, purpose_word, toml_key};
use crate::contour::{Contour, PurposeFrom, Role, SideFrom};
use crate::geometry::Point;
use crate::job::{JobFile, JobFileError, JobPart, Purpose};
use crate::message::number::{counted, plain};
use crate::plan::Inspection;
use crate::question::{Interpretation, Question};

/// Writes the job file of a drawing that was read for `job`; `drawing` is its path from where the file will stand. Read again, it gives
/// the same reading.
///
/// # Errors
/// Where the job cannot be written as TOML.
pub fn reading_job(inspection: &Inspection, job: &JobFile, drawing: &str) -> Result<String, JobFileError> {
    let whole = JobFile {
        drawing: Some(drawing.to_owned()),
        layers: BTreeMap::new(),
        contours: BTreeMap::new(),
        linetypes: BTreeMap::new(),
        colors: BTreeMap::new(),
        ignore_layers: Vec::new(),
        ..job.clone()
    };
    let mut text = format!(
        "## How {} is read. Change what is wrong, answer what is open: take the `# ` off the lines of a reading.\n\
         ## Numbers of contours are those that `inspect` prints for this reading.\n\n{}\n\
         ## A plan needs these too, here or on the command line:\n# material = \"tool-steel\"\n# thickness_mm = 30\n",
        plain(&inspection.file),
        whole.to_text()?
    );
    layers(&mut text, inspection, job);
    let by_rule = job
        .linetypes
        .iter()
        .map(|(name, part)| ("linetype", name, part.purpose));
    for (kind, name, purpose) in by_rule.chain(
        job.colors
            .iter()
            .map(|(name, part)| ("color", name, part.purpose)),
    ) {
        let _ = write!(text, "\n{}", entry(kind, name, purpose));
    }
    let given = job
        .contours
        .iter()
        .filter_map(|(name, part)| Some((name, part.purpose?, part)));
    for (name, purpose, part) in given {
        let _ = write!(
            text,
            "\n{}{}",
            entry("contour", name, purpose),
            place_and_width(part)
        );
    }
    questions(&mut text, inspection, job);
    Ok(text)
}

/// Writes the place that a trim keeps and the width of a slit, where they are given.
fn place_and_width(part: &JobPart) -> String {
    let keep = part.keep.map(|[x, y]| keep_line(Point::new(x, y)) + "\n");
    let width = part.width_mm.map(|width_mm| format!("width_mm = {width_mm:?}\n"));
    keep.into_iter().chain(width).collect()
}

fn entry(kind: &str, name: &str, purpose: Purpose) -> String {
    format!(
        "[{kind}.{}]\nuse = \"{}\"\n",
        toml_key(name),
        purpose_word(purpose)
    )
}

/// Writes every layer that holds curves, with its reading.
fn layers(text: &mut String, inspection: &Inspection, job: &JobFile) {
    let mut on_layer: BTreeMap<&str, Vec<&Contour>> = BTreeMap::new();
    for contour in &inspection.contours.list {
        on_layer
            .entry(layer_of(contour, &inspection.drawing))
            .or_default()
            .push(contour);
    }
    let used: BTreeSet<u32> = inspection
        .drawing
        .curves
        .iter()
        .map(|curve| curve.origin.layer)
        .collect();
    let names = used
        .into_iter()
        .filter_map(|layer| inspection.drawing.layers.get(layer as usize));
    for name in names.map(|layer| layer.name.as_str()) {
        let contours = on_layer.get(name).map_or(&[][..], Vec::as_slice);
        let purpose = given_for_layer(job, name).or_else(|| all_cut(contours));
        if contours.is_empty() && purpose.is_none() {
            continue;
        }
        let _ = write!(text, "\n## {}\n", read_as(contours));
        match purpose {
            Some(purpose) => {
                text.push_str(&entry("layer", name, purpose));
                text.extend(part_for_layer(job, name).map(place_and_width));
            }
            // One purpose for the layer would change what its contours are for.
            None => {
                let _ = writeln!(text, "# [layer.{}]\n# use = \"cut\"", toml_key(name));
            }
        }
    }
}

fn part_for_layer<'a>(job: &'a JobFile, name: &str) -> Option<&'a JobPart> {
    let mut layers = job.layers.iter();
    let same = |other: &str| other.to_lowercase() == name.to_lowercase();
    layers.find(|(other, _)| same(other)).map(|(_, part)| part)
}

fn given_for_layer(job: &JobFile, name: &str) -> Option<Purpose> {
    let same = |other: &str| other.to_lowercase() == name.to_lowercase();
    let given = job
        .layers
        .iter()
        .find(|(other, _)| same(other))
        .and_then(|(_, part)| part.purpose);
    let ignored = || {
        job.ignore_layers
            .iter()
            .any(|other| same(other))
            .then_some(Purpose::Ignore)
    };
    given.or_else(ignored)
}

/// Returns that contours are cut where nothing was given for any of them and this changes none.
fn all_cut(contours: &[&Contour]) -> Option<Purpose> {
    let mut open = contours
        .iter()
        .filter(|contour| contour.purpose_from != PurposeFrom::Contour)
        .peekable();
    open.peek()?;
    let stays = |contour: &&&Contour| {
        matches!(
            contour.purpose_from,
            PurposeFrom::Assumed | PurposeFrom::Size | PurposeFrom::Repeats
        )
    };
    open.all(|contour| stays(&contour)).then_some(Purpose::Cut)
}

/// Says what contours of a layer are read as: `9 contours, Ø8 to 100 × 60 mm: 1 part, 8 openings as the edges around them say`.
fn read_as(contours: &[&Contour]) -> String {
    let Some((smallest, largest)) = sizes_in_words(contours) else {
        return "no contour".to_owned();
    };
    let sizes = if smallest == largest {
        smallest.to_string()
    } else {
        format!("{smallest} to {largest}")
    };
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for contour in contours {
        *kinds.entry(read_kind(contour)).or_default() += 1;
    }
    let kinds: Vec<String> = kinds
        .iter()
        .map(|(kind, count)| format!("{count} {kind}"))
        .collect();
    format!(
        "{}, {sizes} mm: {}",
        counted(contours.len(), "contour"),
        kinds.join(", ")
    )
}

fn read_kind(contour: &Contour) -> String {
    let side = match contour.role {
        Role::Outside => "part",
        Role::Opening => "opening",
        Role::Open => "open chain",
    };
    match (contour.purpose, contour.side_from) {
        (Purpose::Cut, SideFrom::Unclear) => "to be settled, see the questions below".to_owned(),
        (Purpose::Cut, SideFrom::Drawn) if contour.role != Role::Open => {
            format!("{side} (the side follows from the edges around)")
        }
        (Purpose::Cut, SideFrom::Assumed) => format!("{side} (first reading)"),
        (Purpose::Cut, _) => side.to_owned(),
        (purpose, _) => format!(
            "{} ({})",
            words::purpose(purpose),
            words::purpose_source(contour.purpose_from)
        ),
    }
}

/// Writes the questions as comments, the readings as lines to be taken out of theirs.
fn questions(text: &mut String, inspection: &Inspection, job: &JobFile) {
    // A table of TOML stands once: what is there already is changed there.
    let mut written: BTreeSet<String> = job.contours.keys().cloned().collect();
    let count = inspection.questions.list.len();
    for (number, question) in (1..).zip(&inspection.questions.list) {
        let words = in_words(
            question,
            &inspection.drawing,
            &inspection.contours,
            &inspection.questions,
        );
        let assumed = if question.assumed {
            ", first reading taken (assume_sides)"
        } else {
            ""
        };
        let _ = writeln!(
            text,
            "\n## Question {number} of {count}{assumed}\n## {}\n## {}",
            plain(&words.asks),
            plain(&words.why)
        );
        for (reading, words) in question.readings.iter().zip(&words.readings) {
            let _ = writeln!(text, "##\n## - {}\n##   {}", plain(&words.says), words.means);
            write_reading(text, reading, &written);
        }
        written.extend(named(question));
    }
}

fn named(question: &Question) -> impl Iterator<Item = String> {
    let purposes = question.readings.iter().flat_map(|reading| &reading.purposes);
    purposes.map(|(id, _)| id.to_string())
}

fn write_reading(text: &mut String, reading: &Interpretation, written: &BTreeSet<String>) {
    for (id, purpose) in &reading.purposes {
        let word = purpose_word(*purpose);
        let is_written = written.contains(&id.to_string());
        let _ = if is_written {
            writeln!(text, "##   in [contour.{id}] above: use = \"{word}\"")
        } else {
            writeln!(text, "# [contour.{id}]\n# use = \"{word}\"")
        };
        if let Some(at) = reading.staying_place(*id) {
            let mark = if is_written { "##   and" } else { "#" };
            let _ = writeln!(text, "{mark} {}", keep_line(at));
        }
    }
}

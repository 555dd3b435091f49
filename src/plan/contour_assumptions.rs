//! States the assumptions about the contours, in words.

use crate::contour::{Contour, Role, SideFrom};
use crate::drawing::Drawing;
use crate::job::{Purpose, Purposes};
use crate::message::Message;
use crate::question::Questions;

/// How many outside contours are named one by one.
const NAMED: usize = 3;

/// Returns the sentences for the top of every output.
pub(super) fn assumptions(
    drawing: &Drawing,
    list: &[Contour],
    questions: &Questions,
    uses: &Purposes,
) -> Vec<Message> {
    let cut: Vec<&Contour> = list
        .iter()
        .filter(|c| c.purpose == Purpose::Cut && c.role != Role::Open)
        .collect();
    let mut sentences = Vec::new();
    if !cut.is_empty() {
        sentences.extend(closed_curves(drawing, &cut, uses));
    }
    let assumed = questions.list.iter().filter(|question| question.assumed).count();
    if assumed > 0 {
        sentences.push(format!(
            "{} not answered: the first reading of each is taken, as ordered",
            if assumed == 1 {
                "1 question is".to_owned()
            } else {
                format!("{assumed} questions are")
            }
        ));
    }
    sentences.into_iter().map(Into::into).collect()
}

/// Returns what is assumed of the closed curves to be cut.
fn closed_curves(drawing: &Drawing, cut: &[&Contour], uses: &Purposes) -> Vec<String> {
    let all = match cut.len() {
        1 => "the one closed curve is".to_owned(),
        n => format!("all {n} closed curves are"),
    };
    let nothing_said = *uses == Purposes::default();
    let mut sentences: Vec<String> = vec![if nothing_said {
        format!("{all} taken to be cut, since nothing is given of what is")
    } else {
        format!(
            "{} to be cut by the uses given: {}",
            plural(cut.len(), "closed curve"),
            ids(cut)
        )
    }];
    // Nothing is assumed of those whose side is unclear.
    let clear = || cut.iter().copied().filter(|c| c.side_from != SideFrom::Unclear);
    let outside: Vec<&Contour> = clear().filter(|c| c.role == Role::Outside).collect();
    let openings = clear().count() - outside.len();
    let named: Vec<String> = outside
        .iter()
        .take(NAMED)
        .map(|c| format!("{} (layer {})", c.id, layer(drawing, c)))
        .collect();
    let more = match outside.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    if !outside.is_empty() {
        sentences.push(format!(
            "contour {}{more} {} kept inside, the wire runs outside",
            named.join(", "),
            if outside.len() == 1 { "is" } else { "are" },
        ));
    }
    if openings > 0 {
        sentences.push(format!(
            "{} within {} kept outside, the wire runs inside",
            plural(openings, "contour"),
            if openings == 1 { "is" } else { "are" },
        ));
    }
    sentences
}

fn plural(count: usize, noun: &str) -> String {
    if count == 1 {
        format!("1 {noun}")
    } else {
        format!("{count} {noun}s")
    }
}

fn ids(list: &[&Contour]) -> String {
    const LISTED: usize = 12;
    let mut text: Vec<String> = list.iter().take(LISTED).map(|c| c.id.to_string()).collect();
    if list.len() > LISTED {
        text.push("…".to_owned());
    }
    text.join(", ")
}

fn layer<'a>(drawing: &'a Drawing, contour: &Contour) -> &'a str {
    let layer = drawing.curves[contour.curves[0]].origin.layer as usize;
    drawing.layers.get(layer).map_or("", |layer| &layer.name)
}

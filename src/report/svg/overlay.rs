//! Pictures for a page that brings the style sheet itself and lets the part be moved and magnified.

use svg::Document;

use super::sheet::{Area, alone, coordinate, view_box};
use super::view::View;
use super::{Content, chart, control_chart, document_text, part, plot, shift_strip, style};
use crate::message::Lengths;
use crate::plan::{Inspection, Plan};

/// Room of the part; what stands round it is the page's.
const ROOM: Area = Area::new(0.0, 0.0, 360.0, 240.0);
const PART_ALONE: Area = Area::new(0.0, 0.0, 190.0, 60.0);
const WALL_SECTION: Area = Area::new(0.0, 0.0, 183.0, 46.0);

/// Style of these pictures, within an element of class `ink`.
pub fn page_style() -> String {
    let style = [
        &style::style_sheet(),
        plot::STYLE,
        chart::STYLE,
        control_chart::STYLE,
        shift_strip::STYLE,
    ]
    .concat();
    format!(".ink{{\n{style}}}\n")
}

/// Returns the part alone, with every path of the wire when there is a plan. `data-scale` (sheet units a millimetre) and
/// `data-x`, `data-y` (the point of the part at the middle of the view) say where a point of the part lies, and
/// `data-step` below which length, mm of the part, the steps of a large drawing are drawn together.
pub fn overlay(inspection: &Inspection, plan: Option<&Plan>, lengths: Lengths) -> String {
    let content = Content {
        inspection,
        plan,
        lengths,
    };
    let (drawn, view, detail) = part::overlay(&content, ROOM);
    let document = Document::new()
        .set("viewBox", view_box(ROOM))
        .set("data-scale", view.scale)
        .set("data-x", view.center.x)
        .set("data-y", view.center.y)
        .set("data-step", coordinate(detail.finest_mm(&view)))
        .add(drawn);
    let text = document_text(&document);
    if inspection.contours.list.len() > MOST_TITLED {
        without_titles(&text)
    } else {
        text
    }
}

/// Of more contours what hovers over each is left out: it would be half of the picture, and the page says it elsewhere.
const MOST_TITLED: usize = 60;

fn without_titles(picture: &str) -> String {
    let mut text = String::with_capacity(picture.len());
    for (i, piece) in picture.split("<title>").enumerate() {
        let kept = match piece.split_once("</title>\n") {
            Some((_, rest)) if i > 0 => rest,
            _ => piece,
        };
        text.push_str(kept);
    }
    // What held nothing else is empty now.
    text.replace(">\n</path>", "/>").replace(">\n</circle>", "/>")
}

/// Returns the part with its dimensions, starts, tabs and order, as a picture for paper.
pub fn part_alone(plan: &Plan, lengths: Lengths) -> String {
    let content = Content {
        inspection: &plan.inspection,
        plan: Some(plan),
        lengths,
    };
    with_other_ids(&alone(
        PART_ALONE,
        part::draw(&content, &[], PART_ALONE, View::filling).drawn,
    ))
}

/// Gives the elements of a picture other ids, so that it can stand in a document beside the sheet that it is a part of.
fn with_other_ids(picture: &str) -> String {
    let renamed = picture.split_inclusive('>').map(|piece| {
        let (text, tag) = piece.split_at(piece.find('<').unwrap_or(piece.len()));
        let tag = tag
            .replace(" id=\"", " id=\"alone-")
            .replace("url(#", "url(#alone-");
        format!("{text}{tag}")
    });
    renamed.collect()
}

/// Returns the wall section strip alone.
pub fn wall_section(plan: &Plan, lengths: Lengths) -> String {
    alone(
        WALL_SECTION,
        super::wall_section::strip(plan, lengths, WALL_SECTION),
    )
}

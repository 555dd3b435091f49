use svg::node::element::Group;

use super::Content;
use super::part::ring;
use super::sheet::{Anchor, Area, Spot, arrow_head, group, line, rectangle, spot, text};
use super::tables;
use crate::contour::Role;
use crate::job::Use;
use crate::plan::Plan;
use crate::report::number::{duration, fixed, short};
use crate::report::totals::Totals;
use crate::report::words;

const SIZE: f64 = 2.3;

/// What the sheet shows, of what, for what: fields, pass table, legend and the caution that goes with offsets.
pub(super) fn draw(content: &Content<'_>, area: Area, scale_words: &str) -> Group {
    let mut drawn = group("title-block").add(rectangle("edge", area));
    let inner = area.inset(2.5, 2.0, 2.5, 2.0);
    let mut y = inner.y + 3.0;
    drawn = drawn.add(text(
        "strong",
        spot(inner.x, y),
        Anchor::Start,
        3.4,
        inner.width,
        &content.inspection.file,
    ));
    for pair in fields(content, scale_words).chunks(2) {
        y += 4.0;
        for (i, (name, value)) in pair.iter().enumerate() {
            let x = inner.x + i as f64 * 47.0;
            let room = if pair.len() == 1 { inner.width } else { 45.0 };
            drawn = drawn
                .add(text("quiet", spot(x, y), Anchor::Start, SIZE, 16.0, name))
                .add(text(
                    "",
                    spot(x + 16.0, y),
                    Anchor::Start,
                    SIZE,
                    room - 16.0,
                    value,
                ));
        }
    }
    let legend_height = 3.5;
    let foot = if content.plan.is_some() { 11.0 } else { 3.0 };
    let table = Area::new(
        inner.x,
        y + 2.5,
        inner.width,
        inner.bottom() - legend_height - foot - y - 2.5,
    );
    if let Some(plan) = content.plan {
        drawn = drawn.add(tables::passes(plan, table));
        let at = spot(inner.x, inner.bottom() - 5.0);
        drawn = drawn.add(text(
            "strong",
            at,
            Anchor::Start,
            SIZE,
            inner.width,
            &cutting(plan),
        ));
        let words = "model offsets: cut and gauge a test piece first";
        let at = spot(inner.x, inner.bottom() - 0.4);
        drawn = drawn.add(text("strong", at, Anchor::Start, 2.8, inner.width, words));
    }
    drawn.add(legend(content, spot(inner.x, inner.bottom() - foot)))
}

/// The time, with what it may be.
fn cutting(plan: &Plan) -> String {
    match &plan.cut.minutes {
        None => "cutting time not known: a path was refused".into(),
        Some(figure) => format!("cutting {}, without the rest of the job", duration(figure.value)),
    }
}

fn fields(content: &Content<'_>, scale_words: &str) -> Vec<(&'static str, String)> {
    let drawing = &content.inspection.drawing;
    let source = words::units_source(drawing.units.source);
    let totals = Totals::of(content.inspection);
    let units = ("units", format!("{}, {source}", drawing.units.name));
    let scale = ("scale", format!("{scale_words} on A4"));
    let perimeter = ("to cut", format!("{} mm", fixed(totals.cut_perimeter_mm, 3)));
    match content.plan {
        None => vec![
            units,
            scale,
            perimeter,
            (
                "contours",
                format!("{} closed, {} open", totals.closed_contours, totals.open_chains),
            ),
        ],
        Some(plan) => vec![
            units,
            scale,
            ("material", plan.ask.material.clone()),
            ("thickness", format!("{} mm", short(plan.ask.thickness_mm, 4))),
            ("wire", format!("{} mm", short(plan.ask.wire_mm, 4))),
            perimeter,
        ],
    }
}

fn legend(content: &Content<'_>, at: Spot) -> Group {
    const WORDS: f64 = 2.1;
    let y = at.y - 0.8;
    let mut x = at.x;
    // Each sample takes its width and leaves the rest to its name.
    let mut next = |width: f64, words: &str| {
        let left = x;
        x += width + 3.0 + super::text::width(words, WORDS);
        (
            left,
            text(
                "",
                spot(left + width + 1.0, at.y),
                Anchor::Start,
                WORDS,
                40.0,
                words,
            ),
        )
    };
    let (left, kept) = next(4.0, "kept");
    let mut drawn = group("legend")
        .add(rectangle("kept", Area::new(left, y - 1.1, 4.0, 2.2)))
        .add(kept);
    let (left, contour) = next(5.0, "contour");
    drawn = drawn
        .add(line("contour", spot(left, y), spot(left + 5.0, y)))
        .add(contour);
    let contours = &content.inspection.contours.list;
    if contours
        .iter()
        .any(|contour| contour.role == Role::Open && contour.purpose == Use::Cut)
    {
        let (left, open) = next(5.0, "open");
        drawn = drawn
            .add(line("contour open", spot(left, y), spot(left + 5.0, y)))
            .add(open);
    }
    if let Some(plan) = content.plan {
        let (left, kerf) = next(5.0, "rough kerf");
        let band = line("kerf", spot(left, y), spot(left + 5.0, y)).set("stroke-width", "2.2");
        drawn = drawn.add(band).add(kerf);
        let (left, start) = next(2.2, "start");
        drawn = drawn
            .add(arrow_head("start", spot(left + 2.2, y), (1.0, 0.0), 2.2))
            .add(start);
        if !plan.paths.unreached.is_empty() {
            let (left, unreached) = next(1.8, "not reached");
            drawn = drawn.add(ring(spot(left + 0.9, y))).add(unreached);
        }
    }
    drawn
}

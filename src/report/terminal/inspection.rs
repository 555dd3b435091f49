use std::fmt::Write as _;

use super::table::{Align, table};
use super::{HEADING, findings, reading};
use crate::check::Stage;
use crate::contour::Contour;
use crate::message::number::{counted, fixed, plain, short};
use crate::plan::Inspection;
use crate::report::layer_of;
use crate::report::lengths::Lengths;
use crate::report::sides::{SideSources, purpose_with_side, side_source};
use crate::report::totals::Totals;
use crate::report::words;

/// Most contours that are listed.
const LISTED: usize = 40;

/// Writes an inspected drawing, to be read at a terminal.
pub fn inspection(inspection: &Inspection, lengths: Lengths) -> String {
    let mut text = head(inspection);
    text.push_str(&reading::layers(inspection, lengths));
    text.push_str(&reading::questions(inspection));
    text.push_str(&drawing(inspection, lengths));
    text.push('\n');
    let text = lengths.prose(&text, &names(inspection));
    let (file, found) = (&inspection.file, &inspection.findings);
    text + &findings::findings(file, found, Stage::Contour, lengths)
}

/// Returns the names in a drawing, which are no lengths even where they read like one.
pub(super) fn names(inspection: &Inspection) -> Vec<&str> {
    let layers = inspection.drawing.layers.iter().map(|layer| layer.name.as_str());
    layers.chain([inspection.file.as_str()]).collect()
}

/// Says what the drawing is, how much of it there is, and where the sides come from.
pub(super) fn head(inspection: &Inspection) -> String {
    let mut text = String::new();
    let totals = Totals::of(inspection);
    let _ = writeln!(
        text,
        "{HEADING}{}{HEADING:#}: {}, {} mm to cut, {}",
        plain(&inspection.file),
        counted(inspection.contours.list.len(), "contour"),
        fixed(totals.cut_perimeter_mm, 4),
        reading::question_count(inspection),
    );
    let units = &inspection.drawing.units;
    let _ = writeln!(
        text,
        "read in {}, {}",
        units.name,
        words::units_source(units.source)
    );
    let sources = SideSources::of(inspection);
    if let Some(sources) = sources.in_words() {
        let _ = writeln!(text, "sides: {sources}");
    }
    text
}

/// What was assumed, the contours and their totals: the part that `inspect` and `plan` share.
pub(super) fn drawing(inspection: &Inspection, lengths: Lengths) -> String {
    let mut text = String::new();
    let totals = Totals::of(inspection);
    if !inspection.assumptions.is_empty() {
        let _ = writeln!(text, "\n{HEADING}assumed{HEADING:#}");
        for assumption in &inspection.assumptions {
            let _ = writeln!(text, "  - {}", plain(assumption));
        }
    }
    if !inspection.contours.list.is_empty() {
        let _ = writeln!(text, "\n{HEADING}contours{HEADING:#}");
        text.push_str(&contours(inspection, lengths));
    }
    let _ = writeln!(text, "\n{HEADING}totals{HEADING:#}");
    let _ = writeln!(
        text,
        "  all curves as drawn  {} mm",
        fixed(totals.curve_length_mm, 4)
    );
    let _ = writeln!(
        text,
        "  perimeter to cut     {} mm",
        fixed(totals.cut_perimeter_mm, 4)
    );
    let _ = writeln!(
        text,
        "  {}, {}",
        counted(totals.closed_contours, "closed contour"),
        counted(totals.open_chains, "open chain")
    );
    if !inspection.drawing.ignored.is_empty() {
        let _ = writeln!(text, "\n{HEADING}left out{HEADING:#}");
        for ignored in &inspection.drawing.ignored {
            let _ = writeln!(
                text,
                "  {} {}: {}",
                ignored.count,
                plain(&ignored.kind),
                plain(&ignored.reason)
            );
        }
    }
    text
}

fn contours(inspection: &Inspection, lengths: Lengths) -> String {
    let rows: Vec<[String; 13]> = inspection
        .contours
        .list
        .iter()
        .take(LISTED)
        .map(|contour| row(contour, inspection))
        .collect();
    let heads = [
        ("no.", Align::Right),
        ("layer", Align::Left),
        ("role", Align::Left),
        ("use", Align::Left),
        ("side", Align::Left),
        ("perimeter mm", Align::Right),
        ("area mm²", Align::Right),
        ("inside radius mm", Align::Right),
        ("sharp", Align::Right),
        ("slot mm", Align::Right),
        ("wall mm", Align::Right),
        ("wire mm", Align::Right),
        ("size mm", Align::Left),
    ];
    let mut text = table(heads, &rows, inspection.contours.list.len(), lengths);
    text.push_str("  side: drawn (as the edges around it have it), given, assumed (first reading of a question) or open (a question);\n");
    text.push_str("  sharp: inside corners without a radius; slot, wall: narrowest place on the wire's side and of the material;\n");
    text.push_str("  wire: thickest of the book that follows every radius and enters every slot (sharp corners left aside)\n");
    text
}

fn row(contour: &Contour, inspection: &Inspection) -> [String; 13] {
    [
        contour.id.to_string(),
        plain(layer_of(contour, &inspection.drawing)),
        words::role(contour.role).into(),
        words::purpose(purpose_with_side(contour)).into(),
        side_source(contour).map_or("–", words::side_source).into(),
        fixed(contour.perimeter_mm, 4),
        if contour.polyline.closed {
            fixed(contour.area_mm2, 4)
        } else {
            "–".into()
        },
        words::inside_radius(contour.min_inside_radius_mm),
        contour.sharp_inside_corners.len().to_string(),
        or_dash(contour.narrowest_slot.as_deref().map(|slot| slot.width_mm)),
        or_dash(contour.thinnest_wall.as_deref().map(|wall| wall.width_mm)),
        or_dash(inspection.thickest_wire_mm(contour)),
        format!(
            "{} × {}",
            short(contour.bounds.width(), 3),
            short(contour.bounds.height(), 3)
        ),
    ]
}

/// Writes a length with up to three decimals, or a dash.
fn or_dash(length_mm: Option<f64>) -> String {
    length_mm.map_or_else(|| "–".into(), |length_mm| short(length_mm, 3))
}

//! Dimensions of the part, and scale bars.

use svg::node::element::Group;

use super::labels::Labels;
use super::sheet::{
    Area, Lettering, SMALL, SheetSpot, arrow_head, coordinate, group, line, round_length, spot,
};
use super::view::View;
use crate::geometry::Bounds;
use crate::message::number::short;
use crate::message::{Lengths, UnitSymbol, mm, um_of_mm};
use crate::units::MM_PER_INCH;

/// Width and height of the part, clear of all that is drawn (`drawn_bounds`).
pub(super) fn dimensions(
    view: &View,
    (bounds, drawn_bounds): (Bounds, Bounds),
    lengths: Lengths,
    labels: &mut Labels,
) -> Group {
    const AWAY: f64 = 6.5;
    const HEAD: f64 = 1.8;
    const SIZE: f64 = 2.8;
    let drawn = group("dimensions");
    if bounds.is_empty() {
        return drawn;
    }
    let low = view.place(bounds.min);
    let high = view.place(bounds.max);
    let corner = view.place(drawn_bounds.min);
    let y = corner.y + AWAY;
    let x = corner.x - AWAY;
    let [width, height] =
        [bounds.width(), bounds.height()].map(|size_mm| mm(size_mm).at_most(3).written(lengths));
    // Nothing stands beyond a dimension line: what leads there would cross it.
    labels.take(Area::new(low.x, y - 1.0, high.x - low.x, view.area.height));
    let edge = x - view.area.width;
    labels.take(Area::new(edge, high.y, x + 1.0 - edge, low.y - high.y));
    // Of a small part the number is wider than the line below which it stands.
    let [wide, high_text] = [&width, &height].map(|words| super::text::width(words, SIZE));
    let (middle_x, middle_y) = (f64::midpoint(low.x, high.x), f64::midpoint(low.y, high.y));
    labels.take(Area::new(middle_x - 0.5 * wide, y - 1.0, wide, view.area.height));
    labels.take(Area::new(
        edge,
        middle_y - 0.5 * high_text,
        x + 1.0 - edge,
        high_text,
    ));
    let level =
        Lettering::middle("", SIZE).write(spot(f64::midpoint(low.x, high.x), y + SIZE + 0.5), 60.0, &width);
    let middle = spot(x - 1.0, f64::midpoint(low.y, high.y));
    let turn = format!("rotate(-90 {} {})", coordinate(middle.x), coordinate(middle.y));
    let upright = Lettering::middle("", SIZE)
        .write(middle, 60.0, &height)
        .set("transform", turn);
    drawn
        .add(line("dimension", spot(low.x, low.y + 1.0), spot(low.x, y + 1.0)))
        .add(line(
            "dimension",
            spot(high.x, low.y + 1.0),
            spot(high.x, y + 1.0),
        ))
        .add(line("dimension", spot(low.x, y), spot(high.x, y)))
        .add(arrow_head("dimension-arrow", spot(low.x, y), (-1.0, 0.0), HEAD))
        .add(arrow_head("dimension-arrow", spot(high.x, y), (1.0, 0.0), HEAD))
        .add(level)
        .add(line("dimension", spot(low.x - 1.0, low.y), spot(x - 1.0, low.y)))
        .add(line(
            "dimension",
            spot(low.x - 1.0, high.y),
            spot(x - 1.0, high.y),
        ))
        .add(line("dimension", spot(x, low.y), spot(x, high.y)))
        .add(arrow_head("dimension-arrow", spot(x, low.y), (0.0, 1.0), HEAD))
        .add(arrow_head("dimension-arrow", spot(x, high.y), (0.0, -1.0), HEAD))
        .add(upright)
}

pub(super) fn scale_bar(view: &View, area: Area, lengths: Lengths) -> Group {
    let (width, words) = round_bar(45.0, view.scale, lengths);
    let at = spot(area.x + 4.0, area.bottom() - 3.0);
    bar("scale-bar", at, width, &words)
}

/// Returns how long a bar of at most `most` mm of the sheet is drawn, and the round length that it stands for.
pub(super) fn round_bar(most: f64, scale: f64, lengths: Lengths) -> (f64, String) {
    let unit_mm = match lengths {
        Lengths::Inch => MM_PER_INCH,
        Lengths::Mm => 1.0,
    };
    let length = round_length(most / scale / unit_mm);
    let length_mm = length * unit_mm;
    let words = match lengths {
        Lengths::Inch => format!("{} {}", short(length, 9), UnitSymbol::Mm.symbol(lengths)),
        Lengths::Mm if length_mm < 1.0 => um_of_mm(length_mm).at_most(4).written(lengths),
        Lengths::Mm => mm(length_mm).at_most(4).written(lengths),
    };
    (length_mm * scale, words)
}

/// Writes a small length with the digits that it has in a table.
pub(super) fn um_in_full(length_mm: f64, lengths: Lengths) -> String {
    let length = um_of_mm(length_mm).at_most(1);
    format!("{} {}", length.cell(lengths), length.unit().symbol(lengths))
}

/// Draws a scale bar of `width` mm of the sheet from `at` to the right, its length in words after it.
pub(super) fn bar(id: &str, at: SheetSpot, width: f64, words: &str) -> Group {
    let tick = |x: f64| line("bar", spot(x, at.y - 1.0), spot(x, at.y + 0.4));
    group(id)
        .add(line("bar", at, spot(at.x + width, at.y)))
        .add(tick(at.x))
        .add(tick(at.x + width / 2.0))
        .add(tick(at.x + width))
        .add(Lettering::new("", SMALL).write(spot(at.x + width + 1.5, at.y + 0.3), 40.0, words))
}

//! Dimensions of the part, and scale bars.

use svg::node::element::Group;

use super::labels::Labels;
use super::sheet::{Area, Lettering, SheetSpot, arrow_head, coordinate, group, line, round_length, spot};
use super::view::View;
use crate::geometry::Bounds;
use crate::message::number::short;

/// Width and height of the part, clear of all that is drawn (`drawn_bounds`).
pub(super) fn dimensions(view: &View, bounds: Bounds, drawn_bounds: Bounds, labels: &mut Labels) -> Group {
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
    let (width, height) = (
        format!("{} mm", short(bounds.width(), 3)),
        format!("{} mm", short(bounds.height(), 3)),
    );
    // Nothing stands beyond a dimension line: what leads there would cross it.
    labels.take(Area::new(low.x, y - 1.0, high.x - low.x, view.area.height));
    let edge = x - view.area.width;
    labels.take(Area::new(edge, high.y, x + 1.0 - edge, low.y - high.y));
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

pub(super) fn scale_bar(view: &View, area: Area) -> Group {
    let length = round_length(45.0 / view.scale);
    let words = format!("{} mm", short(length, 6));
    let at = spot(area.x + 4.0, area.bottom() - 3.0);
    bar("scale-bar", at, length * view.scale, &words)
}

/// Draws a scale bar of `width` mm of the sheet from `at` to the right, its length in words after it.
pub(super) fn bar(id: &str, at: SheetSpot, width: f64, words: &str) -> Group {
    const SIZE: f64 = 2.3;
    let tick = |x: f64| line("bar", spot(x, at.y - 1.0), spot(x, at.y + 0.4));
    group(id)
        .add(line("bar", at, spot(at.x + width, at.y)))
        .add(tick(at.x))
        .add(tick(at.x + width / 2.0))
        .add(tick(at.x + width))
        .add(Lettering::new("", SIZE).write(spot(at.x + width + 1.5, at.y + 0.3), 30.0, words))
}

//! The blank, its clamps, the tabs, the last stretches of what has no tab, and the ways of coreless removal on the part.

use std::fmt::Write as _;

use svg::node::element::Group;

use super::detail::Detail;
use super::labels::Labels;
use super::sheet::{Area, Lettering, SheetSpot, coordinate, group, line, path, spot};
use super::signs::{LABELLED, MOST_LABELS};
use super::view::View;
use crate::geometry::Bounds;
use crate::message::number::fixed;
use crate::plan::Plan;
use crate::process::Separation;
use crate::report::pieces;

/// Draws the blank below everything.
pub(super) fn blank(plan: &Plan, view: &View, detail: Detail) -> Group {
    let drawn = group("blank");
    match &plan.process.blank {
        None => drawn,
        Some(blank) => drawn.add(path("blank", detail.data(view, &blank.outline), None)),
    }
}

/// Draws the strip of the blank that the clamps take.
pub(super) fn clamps(plan: &Plan, view: &View) -> Group {
    let drawn = group("clamps");
    let Some(zone) = plan.process.blank.as_ref().and_then(|blank| blank.clamp) else {
        return drawn;
    };
    let hover = format!(
        "clamps at the {}, {} mm deep",
        zone.side.word(),
        fixed(zone.depth_mm, 1)
    );
    let area = on_sheet(view, zone.bounds);
    drawn
        .add(path("clamps", area.data(), Some(hover)))
        .add(path("clamps-hatch", hatch(area), None))
}

/// Tabs and last stretches, and the rings by which slugs are cleared away.
pub(super) fn pieces(plan: &Plan, view: &View, detail: Detail) -> Group {
    let mut drawn = group("pieces");
    let shown = |separation: &&Separation| detail.is_all() || is_large(plan, view, separation);
    for separation in plan.process.separations.iter().filter(shown) {
        let piece = &separation.piece;
        let hover = || {
            format!(
                "contour {}, {} of {}: {}",
                piece.contour,
                pieces::kind(piece.kind),
                pieces::mass(separation),
                pieces::removal(separation)
            )
        };
        if let Some(uncut) = separation.uncut() {
            drawn = drawn.add(path("tab", view.data(&uncut.run), Some(hover())));
        } else if let Some(coreless) = separation.coreless() {
            drawn = drawn.add(path("coreless", view.data(&coreless.run), Some(hover())));
        }
    }
    drawn
}

/// Draws a word at each tab and last stretch.
pub(super) fn stops(plan: &Plan, view: &View, labels: &mut Labels) -> Group {
    const SIZE: f64 = 2.1;
    /// Nothing else is written this near to a tab, mm.
    const AROUND: f64 = 2.0;
    let mut drawn = group("stops-marked");
    let large = |separation: &&Separation| is_large(plan, view, separation);
    for separation in plan.process.separations.iter().filter(large).take(MOST_LABELS) {
        let Some(tab) = separation.uncut() else { continue };
        let what = if separation.tab().is_some() { "tab" } else { "last" };
        let words = format!("{what} {} mm", fixed(tab.length_mm, 1));
        let (at, width) = (view.place(tab.at), super::text::width(&words, SIZE));
        labels.take(Area::new(
            at.x - AROUND,
            at.y - AROUND,
            2.0 * AROUND,
            2.0 * AROUND,
        ));
        let Some(center) = labels.first_free(width + 0.8, SIZE + 0.5, alternatives(at, width)) else {
            continue;
        };
        drawn = drawn
            .add(line("mark-leader", at, edge(at, center, width)))
            .add(Lettering::middle("number", SIZE).write_level(center, 2.0 * width, &words));
    }
    drawn
}

/// Whether there is room to tell its tab from those of others.
fn is_large(plan: &Plan, view: &View, separation: &Separation) -> bool {
    let bounds = plan.toolpaths[separation.piece.wire_loop].polyline.bounds();
    bounds.width().max(bounds.height()) * view.scale >= 2.0 * LABELLED
}

/// Places for a word of that width at the right or left of a tab, level with it first.
fn alternatives(at: SheetSpot, width: f64) -> impl Iterator<Item = SheetSpot> {
    const AWAY: [f64; 5] = [3.0, 5.0, 9.0, 14.0, 20.0];
    const UP: [f64; 7] = [0.0, -3.5, 3.5, -6.0, 6.0, -10.0, 10.0];
    let place = move |away: f64, up: f64, side: f64| spot(at.x + side * (away + 0.5 * width), at.y + up);
    AWAY.into_iter()
        .flat_map(move |away| UP.into_iter().map(move |up| (away, up)))
        .flat_map(move |(away, up)| [1.0, -1.0].map(|side| place(away, up, side)))
}

/// Returns the end of a word that is nearer to what it is about.
fn edge(at: SheetSpot, center: SheetSpot, width: f64) -> SheetSpot {
    let side = if center.x > at.x { -1.0 } else { 1.0 };
    spot(center.x + side * (0.5 * width + 0.4), center.y)
}

fn on_sheet(view: &View, bounds: Bounds) -> Area {
    let (a, b) = (view.place(bounds.min), view.place(bounds.max));
    Area::new(a.x.min(b.x), a.y.min(b.y), (b.x - a.x).abs(), (b.y - a.y).abs())
}

/// Lines at 45° across an area.
fn hatch(area: Area) -> String {
    const STEP: f64 = 2.5;
    let mut data = String::new();
    let mut start = STEP - area.height;
    while start < area.width {
        // From the lower edge up to the right, as far as the area goes.
        let (from, to) = (start.max(0.0), (start + area.height).min(area.width));
        let _ = write!(
            data,
            "M{} {}L{} {}",
            coordinate(area.x + from),
            coordinate(area.bottom() - (from - start)),
            coordinate(area.x + to),
            coordinate(area.bottom() - (to - start))
        );
        start += STEP;
    }
    data
}

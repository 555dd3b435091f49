//! The blank, its clamps, the tabs, the last stretches of what has no tab, and the ways of coreless removal on the part.

use std::collections::HashMap;
use std::fmt::Write as _;

use svg::node::element::Group;

use super::detail::Detail;
use super::labels::Labels;
use super::register::Register;
use super::sheet::{Area, LARGE, Lettering, SheetSpot, coordinate, group, line, path, spot};
use super::signs::{LABELLED, MOST_LABELS};
use super::view::View;
use crate::geometry::Bounds;
use crate::message::{Lengths, message, mm};
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
pub(super) fn clamps(plan: &Plan, view: &View, lengths: Lengths) -> Group {
    let drawn = group("clamps");
    let Some(zone) = plan.process.blank.as_ref().and_then(|blank| blank.clamp) else {
        return drawn;
    };
    let hover = message!(
        "clamps at the {}, {} deep",
        zone.side.word(),
        mm(zone.depth_mm).fixed(1)
    );
    let hover = hover.shown(lengths);
    let area = on_sheet(view, zone.bounds);
    drawn
        .add(path("clamps", area.data(), Some(hover)))
        .add(path("clamps-hatch", hatch(area), None))
}

/// Tabs and last stretches, and the rings by which slugs are cleared away.
pub(super) fn pieces(plan: &Plan, (view, lengths): (&View, Lengths), detail: Detail) -> Group {
    let mut drawn = group("pieces");
    let shown = |separation: &&Separation| detail.is_all() || is_large(plan, view, separation);
    for separation in plan.process.separations.iter().filter(shown) {
        let piece = &separation.piece;
        let hover = || {
            let words = message!(
                "contour {}, {} of {}: {}",
                piece.contour,
                pieces::kind(piece.kind),
                pieces::about_mass(separation),
                pieces::removal(separation)
            );
            words.shown(lengths)
        };
        if let Some(uncut) = separation.uncut() {
            drawn = drawn.add(path("tab", view.data(&uncut.run), Some(hover())));
        } else if let Some(coreless) = separation.coreless() {
            drawn = drawn.add(path("coreless", view.data(&coreless.run), Some(hover())));
        }
    }
    drawn
}

/// Tabs or last stretches of which the same is said.
struct AlikeStops<'a> {
    words: String,
    of: Vec<&'a Separation>,
}

fn alike(plan: &Plan, lengths: Lengths) -> Vec<AlikeStops<'_>> {
    let mut all: Vec<AlikeStops<'_>> = Vec::new();
    let mut known: HashMap<String, usize> = HashMap::new();
    for separation in &plan.process.separations {
        let Some(uncut) = separation.uncut() else { continue };
        let what = if separation.tab().is_some() {
            "tab"
        } else {
            "last stretch"
        };
        let words = message!("{} {}", what, mm(uncut.length_mm).fixed(1)).shown(lengths);
        let at = *known.entry(words.clone()).or_insert_with(|| {
            all.push(AlikeStops {
                words,
                of: Vec::new(),
            });
            all.len() - 1
        });
        all[at].of.push(separation);
    }
    all
}

/// Draws a word at each tab and last stretch; of more than a few alike, one for all: `tab 1.0 mm, 50×`. Those without a place are left to the
/// register.
pub(super) fn stops(
    plan: &Plan,
    (view, lengths): (&View, Lengths),
    labels: &mut Labels,
    register: &mut Register<'_>,
) -> Group {
    const SIZE: f64 = LARGE;
    /// Nothing else is written this near to a tab, mm.
    const AROUND: f64 = 2.0;
    /// So many alike are named one by one.
    const FEW: usize = 3;
    let mut drawn = group("stops-marked");
    let all = alike(plan, lengths);
    // Where all are alike nobody asks which they are.
    let told_apart = all.iter().filter(|alike| alike.of.len() > FEW).count() > 1;
    for AlikeStops { words, of } in all {
        let large = || {
            of.iter()
                .copied()
                .filter(|separation| is_large(plan, view, separation))
        };
        for tab in large().take(MOST_LABELS).filter_map(Separation::uncut) {
            let at = view.place(tab.at);
            labels.take(Area::new(
                at.x - AROUND,
                at.y - AROUND,
                2.0 * AROUND,
                2.0 * AROUND,
            ));
        }
        let together = of.len() > FEW;
        let (said, count) = if together {
            (format!("{words}, {}×", of.len()), of.len())
        } else {
            (words.clone(), 1)
        };
        let width = super::text::width(&said, SIZE);
        let mut place = |separation: &Separation| {
            let at = view.place(separation.uncut()?.at);
            let center = labels.first_free(width + 0.8, SIZE + 0.5, alternatives(at, width))?;
            let label = Group::new()
                .set("data-label", "stop")
                .set("data-count", count)
                .add(line("mark-leader", at, edge(at, center, width)))
                .add(Lettering::middle("number", SIZE).write_level(center, 2.0 * width, &said));
            Some(label)
        };
        let contours = |list: &[&Separation]| list.iter().map(|one| one.piece.contour).collect();
        if together {
            // Any of them, one that is large first.
            let candidates = large().chain(of.iter().copied()).take(MOST_LABELS);
            match candidates.into_iter().find_map(&mut place) {
                Some(label) => {
                    drawn = drawn.add(label);
                    if told_apart {
                        register.alike_stops.push((words, contours(&of)));
                    }
                }
                None => register.stops.push((said.clone(), contours(&of))),
            }
            continue;
        }
        for separation in of {
            match place(separation) {
                Some(label) => drawn = drawn.add(label),
                None => register.stops.push((words.clone(), contours(&[separation]))),
            }
        }
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

use svg::node::element::Group;

use super::sheet::{Area, Lettering, SheetSpot, arrow_head, group, line, rectangle, spot};
use super::signs::{dot, ring};
use super::tables;
use super::{Content, overload};
use crate::contour::Role;
use crate::job::Purpose;
use crate::message::number::{fixed, short};
use crate::message::{message, minutes};
use crate::plan::Plan;
use crate::report::sides::SideSources;
use crate::report::{view, words};

const SIZE: f64 = 2.3;
/// Height of a row of the legend, mm.
const LEGEND_ROW: f64 = 3.5;

/// What the sheet shows, of what, for what: fields, pass table, legend and the caution that goes with offsets.
pub(super) fn draw(content: &Content<'_>, area: Area, scale_words: &str) -> Group {
    let mut drawn = group("title-block").add(rectangle("edge", area));
    let inner = area.inset(2.5, 2.0, 2.5, 2.0);
    let mut y = inner.y + 3.0;
    drawn = drawn.add(Lettering::new("strong", 3.4).write(
        spot(inner.x, y),
        inner.width,
        &content.inspection.file,
    ));
    for pair in fields(content, scale_words).chunks(2) {
        y += 4.0;
        for (i, (name, value)) in pair.iter().enumerate() {
            let x = inner.x + i as f64 * 47.0;
            let room = if pair.len() == 1 { inner.width } else { 45.0 };
            drawn = drawn
                .add(Lettering::new("quiet", SIZE).write(spot(x, y), 16.0, name))
                .add(Lettering::new("", SIZE).write(spot(x + 16.0, y), room - 16.0, value));
        }
    }
    let legend_rows = |y: f64| legend(content, spot(inner.x, y), inner.right());
    let legend_height = legend_rows(0.0).count * LEGEND_ROW;
    let foot = if content.plan.is_some() { 11.0 } else { 3.0 };
    let table = Area::new(
        inner.x,
        y + 2.5,
        inner.width,
        inner.bottom() - legend_height - foot - y - 2.5,
    );
    if let Some(plan) = content.plan {
        drawn = drawn.add(tables::draw("pass-table", &view::pass_table(plan), table));
        let at = spot(inner.x, inner.bottom() - 5.0);
        drawn = drawn.add(Lettering::new("strong", SIZE).write(at, inner.width, &cutting(plan)));
        let words = "model offsets: cut and gauge a test piece first";
        let at = spot(inner.x, inner.bottom() - 0.4);
        drawn = drawn.add(Lettering::new("strong", 2.8).write(at, inner.width, words));
    }
    drawn.add(legend_rows(inner.bottom() - foot - legend_height + LEGEND_ROW).drawn)
}

/// Returns the time, with what it may be.
fn cutting(plan: &Plan) -> String {
    if let Some(why) = words::no_totals_in_short(plan) {
        return format!("no time: {why}");
    }
    match &plan.estimate.cut.minutes {
        None => "no time: nothing is cut".into(),
        Some(figure) => message!("cutting time only: {}", minutes(figure.value).fixed(1)).to_string(),
    }
}

fn fields(content: &Content<'_>, scale_words: &str) -> Vec<(&'static str, String)> {
    let drawing = &content.inspection.drawing;
    let source = words::units_source(drawing.units.source);
    let totals = content.inspection.totals();
    let units = ("units", format!("{}, {source}", drawing.units.name));
    let scale = ("scale", format!("{scale_words} on A4"));
    let perimeter = ("to cut", format!("{} mm", fixed(totals.cut_perimeter_mm, 3)));
    let sides = SideSources::of(content.inspection).in_words();
    let sides = sides.map(|sources| ("sides", sources));
    let fields = match content.plan {
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
            ("material", plan.setup.material.clone()),
            ("thickness", format!("{} mm", short(plan.setup.thickness_mm, 4))),
            ("wire", format!("{} mm", short(plan.setup.wire_mm, 4))),
            perimeter,
        ],
    };
    fields.into_iter().chain(sides).collect()
}

/// Samples with their names, row below row.
struct SampleRows {
    left: f64,
    right: f64,
    x: f64,
    y: f64,
    count: f64,
    drawn: Group,
}

impl SampleRows {
    /// Goes on below.
    fn next(&mut self) {
        (self.x, self.y) = (self.left, self.y + LEGEND_ROW);
        self.count += 1.0;
    }

    /// A sample takes its width and leaves the rest to its name; both go on below where the row has no room for them.
    fn sample<T: Into<Box<dyn svg::Node>>>(
        &mut self,
        width: f64,
        words: &str,
        draw: impl Fn(SheetSpot) -> T,
    ) {
        const SIZE: f64 = 2.1;
        let room = width + 1.0 + super::text::width(words, SIZE);
        if self.x + room > self.right && self.x > self.left {
            self.next();
        }
        let name = Lettering::new("", SIZE).write(spot(self.x + width + 1.0, self.y), 60.0, words);
        let drawn = std::mem::replace(&mut self.drawn, Group::new());
        self.drawn = drawn.add(draw(spot(self.x, self.y - 0.8))).add(name);
        self.x += room + 2.0;
    }
}

/// Samples of what the part shows; what skims meet in a row of its own.
fn legend(content: &Content<'_>, at: SheetSpot, right: f64) -> SampleRows {
    let mut row = SampleRows {
        left: at.x,
        right,
        x: at.x,
        y: at.y,
        count: 1.0,
        drawn: group("legend"),
    };
    row.sample(4.0, "kept", |at| {
        rectangle("kept", Area::new(at.x, at.y - 1.1, 4.0, 2.2))
    });
    row.sample(5.0, "contour", |at| line("contour", at, spot(at.x + 5.0, at.y)));
    let contours = &content.inspection.contours.list;
    if contours
        .iter()
        .any(|contour| contour.role == Role::Open && contour.purpose == Purpose::Cut)
    {
        row.sample(5.0, "open", |at| line("contour open", at, spot(at.x + 5.0, at.y)));
    }
    if let Some(plan) = content.plan {
        row.sample(5.0, "rough kerf", |at| {
            line("kerf", at, spot(at.x + 5.0, at.y)).set("stroke-width", "2.2")
        });
        if !plan.toolpaths.unreached.is_empty() {
            row.sample(1.8, "not reached", |at| ring(spot(at.x + 0.9, at.y)));
        }
        let pieces = || plan.process.separations.iter();
        let uncut = match (
            pieces().any(|piece| piece.tab().is_some()),
            pieces().any(|piece| piece.last_stretch().is_some()),
        ) {
            (false, false) => None,
            (true, false) => Some("tab: stop"),
            (false, true) => Some("last stretch: stop"),
            (true, true) => Some("tab, last stretch: stop"),
        };
        if let Some(words) = uncut {
            row.sample(4.0, words, |at| line("tab", at, spot(at.x + 4.0, at.y)));
        }
        row.next();
        order(&mut row, plan);
        row.next();
        if let Some(highest) = overload::highest(plan) {
            for (step, from) in overload::STEPS.iter().enumerate().take(highest + 1) {
                let words = if step == 0 {
                    format!("skim stock above plan: {} × and more", short(*from, 1))
                } else {
                    format!("{} ×", short(*from, 1))
                };
                row.sample(5.0, &words, |at| {
                    line(
                        &overload::class(step),
                        spot(at.x + 1.1, at.y),
                        spot(at.x + 3.9, at.y),
                    )
                });
            }
        }
    }
    row
}

/// Where the wire is threaded, and the order of cutting.
fn order(row: &mut SampleRows, plan: &Plan) {
    if plan.process.starts.list.is_empty() {
        return;
    }
    row.sample(2.2, "start", |at| {
        arrow_head("start", spot(at.x + 2.2, at.y), (1.0, 0.0), 2.2)
    });
    row.sample(5.0, "start hole, lead", |at| {
        Group::new()
            .add(line("lead", at, spot(at.x + 5.0, at.y)))
            .add(dot("start-hole", spot(at.x + 1.0, at.y), 1.0))
    });
    row.sample(3.0, "order of cutting", |at| {
        let frame = Area::new(at.x, at.y - 1.3, 2.6, 2.6);
        let foot = spot(at.x + 1.3, at.y + 0.7);
        Group::new()
            .add(rectangle("order-frame", frame))
            .add(Lettering::middle("order", 2.0).write(foot, 2.6, "1"))
    });
    if plan.process.starts.list.len() > 1 {
        row.sample(5.0, "travel", |at| line("travel", at, spot(at.x + 5.0, at.y)));
    }
}

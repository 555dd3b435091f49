//! The legend: samples of what the part shows, each with its name.

use svg::Node;
use svg::node::element::Group;

use super::flow::{Flow, line_height};
use super::sheet::{Area, Lettering, SMALL, SheetSpot, arrow_head, line, rectangle, spot};
use super::signs::{dot, ring};
use super::text::width;
use super::{Content, overload};
use crate::contour::{Contour, Role};
use crate::job::Purpose;
use crate::message::number::short;
use crate::plan::Plan;

/// Samples with their names, row below row.
struct SampleRows<'f> {
    flow: &'f mut Flow,
    row: Area,
    x: f64,
}

impl<'f> SampleRows<'f> {
    fn new(flow: &'f mut Flow) -> Self {
        let row = flow.room(line_height(SMALL) + 0.4);
        Self { x: row.x, row, flow }
    }

    /// A sample takes its width and leaves the rest to its name; both go on below where the row has no room for them.
    fn sample<T: Into<Box<dyn Node>>>(&mut self, sample: f64, words: &str, draw: impl Fn(SheetSpot) -> T) {
        let room = sample + 1.0 + width(words, SMALL);
        if self.x + room > self.row.right() && self.x > self.row.x {
            self.row = self.flow.room(self.row.height);
            self.x = self.row.x;
        }
        let y = self.row.y + SMALL;
        let at = spot(self.x + sample + 1.0, y);
        self.flow.put(draw(spot(self.x, y - 0.9)));
        self.flow
            .put(Lettering::new("", SMALL).write(at, self.row.width, words));
        self.x += room + 2.5;
    }

    fn line(&mut self, class: &str, words: &str) {
        self.sample(6.0, words, |at| line(class, at, spot(at.x + 6.0, at.y)));
    }
}

/// Writes the legend: lines, then signs, then the shapes of numbers.
pub(super) fn draw(content: &Content<'_>, flow: &mut Flow) {
    flow.gap(1.5);
    flow.begin("legend");
    let mut rows = SampleRows::new(flow);
    lines(content, &mut rows);
    if let Some(plan) = content.plan {
        pieces(plan, &mut rows);
        starts(plan, &mut rows);
        overloads(plan, &mut rows);
    }
    numbers(content, &mut rows);
}

fn lines(content: &Content<'_>, rows: &mut SampleRows<'_>) {
    rows.sample(4.0, "kept", |at| {
        rectangle("kept", Area::new(at.x, at.y - 1.1, 4.0, 2.2))
    });
    rows.line("contour", "contour");
    let shows = |is: &dyn Fn(&Contour) -> bool| content.inspection.contours.list.iter().any(is);
    if shows(&|contour| contour.role == Role::Open && contour.purpose == Purpose::Cut) {
        rows.line("contour open", "open");
    }
    if shows(&|contour| matches!(contour.purpose, Purpose::Existing | Purpose::NotNow)) {
        rows.line("contour existing", "not cut: there already");
    }
    if content.plan.is_some() {
        rows.sample(5.0, "rough kerf", |at| {
            line("kerf", at, spot(at.x + 5.0, at.y)).set("stroke-width", "2.2")
        });
    }
}

fn pieces(plan: &Plan, rows: &mut SampleRows<'_>) {
    if !plan.toolpaths.unreached.is_empty() {
        rows.sample(1.8, "not reached", |at| ring(spot(at.x + 0.9, at.y)));
    }
    let pieces = || plan.process.separations.iter();
    let uncut = match (
        pieces().any(|piece| piece.tab().is_some()),
        pieces().any(|piece| piece.last_stretch().is_some()),
    ) {
        (false, false) => return,
        (true, false) => "tab: stop",
        (false, true) => "last stretch: stop",
        (true, true) => "tab, last stretch: stop",
    };
    rows.sample(4.0, uncut, |at| line("tab", at, spot(at.x + 4.0, at.y)));
}

/// Where the wire is threaded.
fn starts(plan: &Plan, rows: &mut SampleRows<'_>) {
    if plan.process.starts.list.is_empty() {
        return;
    }
    rows.sample(2.2, "start", |at| {
        arrow_head("start", spot(at.x + 2.2, at.y), (1.0, 0.0), 2.2)
    });
    rows.sample(5.0, "start hole, lead", |at| {
        Group::new()
            .add(line("lead", at, spot(at.x + 5.0, at.y)))
            .add(dot("start-hole", spot(at.x + 1.0, at.y), 1.0))
    });
    if plan.process.starts.list.len() > 1 {
        rows.line("travel", "travel");
    }
}

/// What skims meet.
fn overloads(plan: &Plan, rows: &mut SampleRows<'_>) {
    let Some(highest) = overload::highest(plan) else {
        return;
    };
    for (step, from) in overload::STEPS.iter().enumerate().take(highest + 1) {
        let words = if step == 0 {
            format!("skim stock above plan: {}×", short(*from, 1))
        } else {
            format!("{}×", short(*from, 1))
        };
        let class = overload::class(step);
        rows.sample(5.0, &words, |at| {
            line(&class, spot(at.x + 1.1, at.y), spot(at.x + 3.9, at.y))
        });
    }
}

/// The shapes of numbers: a bare one is a contour's, one in a ring a finding's, one in a box that of the order of cutting.
fn numbers(content: &Content<'_>, rows: &mut SampleRows<'_>) {
    let written = |class: &str, at: SheetSpot, words: &str| {
        Lettering::middle(class, SMALL).write(spot(at.x + 2.0, at.y + 0.93), 4.0, words)
    };
    rows.sample(4.0, "number of a contour", |at| written("strong", at, "1"));
    if !content.inspection.findings.is_empty() {
        rows.sample(4.4, "of a finding", |at| {
            Group::new()
                .add(dot("mark", spot(at.x + 2.0, at.y), 1.8))
                .add(written("strong", at, "1"))
        });
    }
    let Some(plan) = content.plan else { return };
    if !plan.process.starts.list.is_empty() {
        rows.sample(4.2, "in the order of cutting", |at| {
            let frame = Area::new(at.x + 0.4, at.y - 1.6, 3.2, 3.2);
            Group::new()
                .add(rectangle("order-frame", frame))
                .add(written("order", at, "1"))
        });
    }
    rows.sample(4.0, "magnified", |at| {
        Group::new()
            .add(dot("inset-place", spot(at.x + 2.0, at.y), 1.8))
            .add(written("strong", at, "A"))
    });
}

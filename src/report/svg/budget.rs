//! The accuracy budget as a picture: a bar for each uncertainty with what it may be, and their sum against what is
//! asked, all on one scale of micrometres.

use svg::Document;
use svg::node::element::{Group, Style, Title};

use super::sheet::{Anchor, Area, coordinate, group, line, rectangle, round_length, spot, text};
use super::style;
use crate::estimate::Accuracy;
use crate::job::Scope;
use crate::message::number::{fixed, short};
use crate::plan::{GroupPlan, WallRequirement};
use crate::units::{Band, UM_PER_MM};

const WIDTH: f64 = 190.0;
const NAMES: f64 = 58.0;
const VALUES: f64 = 30.0;
const TOP: f64 = 13.0;
const ROW: f64 = 6.2;
const BAR: f64 = 3.4;
const SIZE: f64 = 2.6;

/// Told apart by filling and outline first, so that grey paper keeps them.
const BUDGET_STYLE: &str = "
.budget-bar{fill:#b9cbd6;stroke:#0b5c7d;stroke-width:0.2}
.budget-sum{fill:#6f9bb3;stroke:#0b5c7d;stroke-width:0.2}
.budget-shift{fill:#f3d9a4;stroke:#8b6a1f;stroke-width:0.2}
.budget-may-be{fill:none;stroke:#1d1f23;stroke-width:0.3}
.budget-asked{fill:none;stroke:#a3141f;stroke-width:0.5;stroke-dasharray:2 1}
.budget-grid{fill:none;stroke:#d9d6cc;stroke-width:0.13}
";

/// What the bars are of.
struct BudgetWalls<'a> {
    words: &'static str,
    terms: Vec<(&'a str, Band)>,
    shift_um: f64,
    expanded_um: Band,
    asked_um: Option<f64>,
}

/// Returns the accuracy budget of a demand group, on size unless the limits are of one wall; `None` where a path is
/// missing.
pub fn accuracy_budget(planned: &GroupPlan) -> Option<String> {
    let accuracy = planned.quality.accuracy.as_ref()?;
    let walls = BudgetWalls::of(accuracy, &planned.requirement);
    let rows = walls.terms.len() + 2;
    let height = TOP + ROW * rows as f64 + 9.0;
    let all = Area::new(0.0, 0.0, WIDTH, height);
    let title = format!("Accuracy budget {}, demand group {}", walls.words, planned.group);
    let id = format!("budget-{}", planned.group);
    let mut drawn = Document::new()
        .set(
            "viewBox",
            format!("0 0 {} {}", coordinate(WIDTH), coordinate(height)),
        )
        .set("width", format!("{}mm", coordinate(WIDTH)))
        .set("height", format!("{}mm", coordinate(height)))
        .set("role", "img")
        .add(Title::new(title))
        .add(Style::new(format!("{}{BUDGET_STYLE}", style::style_sheet())))
        .add(
            group(&id)
                .add(rectangle("paper", all))
                .add(walls.draw(accuracy.k, all)),
        )
        .to_string();
    drawn.push('\n');
    Some(drawn)
}

impl<'a> BudgetWalls<'a> {
    fn of(accuracy: &'a Accuracy, requirement: &WallRequirement) -> Self {
        let limits = requirement.limits;
        let scope = limits.map_or(Scope::OnSize, |(_, scope)| scope);
        let terms = accuracy.ranked(scope).into_iter();
        let terms = terms.map(|term| (term.half_width_um.name.as_str(), term.standard_um(scope)));
        let (words, shift, expanded_um) = match scope {
            Scope::OnSize => ("on size", &accuracy.bias_on_size_um, accuracy.expanded_on_size_um),
            Scope::PerSide => (
                "a side",
                &accuracy.bias_per_side_um,
                accuracy.expanded_per_side_um,
            ),
        };
        Self {
            words,
            terms: terms.collect(),
            shift_um: shift.value.expected,
            expanded_um,
            asked_um: limits.map(|(limits, _)| limits.half_width_mm() * UM_PER_MM),
        }
    }

    /// Returns the largest value that has to find room, µm.
    fn widest_um(&self) -> f64 {
        let terms = self.terms.iter().map(|(_, um)| um.high);
        let sum = self.shift_um.abs() + self.expanded_um.high;
        terms.chain([sum]).chain(self.asked_um).fold(0.0, f64::max)
    }

    fn draw(&self, k: f64, all: Area) -> Group {
        let plot = all.inset(NAMES, TOP - 1.0, VALUES, 8.0);
        let widest_um = 1.05 * self.widest_um();
        let per_um = if widest_um > 0.0 {
            plot.width / widest_um
        } else {
            1.0
        };
        let heading = format!(
            "standard uncertainty {}, µm; the line shows what it may be",
            self.words
        );
        let mut drawn = Group::new()
            .add(text(
                "strong",
                spot(3.0, 5.5),
                Anchor::Start,
                3.0,
                WIDTH - 6.0,
                &heading,
            ))
            .add(grid(plot, per_um, widest_um));
        for (i, (name, um)) in self.terms.iter().enumerate() {
            let y = plot.y + ROW * (i as f64 + 0.5);
            drawn = drawn.add(bar(
                plot,
                y,
                per_um,
                ("budget-bar", 0.0, *um),
                name,
                &fixed(um.expected, 2),
            ));
        }
        let below = plot.y + ROW * (self.terms.len() as f64 + 0.5);
        let shift = self.shift_um.abs();
        let sum = format!("expanded, k = {}", short(k, 1));
        let value = if shift > 0.0 {
            format!("{} + {}", fixed(self.expanded_um.expected, 1), fixed(shift, 2))
        } else {
            fixed(self.expanded_um.expected, 1)
        };
        let at_once = ("budget-sum", shift, self.expanded_um);
        drawn = drawn.add(bar(plot, below, per_um, at_once, &sum, &value));
        if shift > 0.0 {
            let area = Area::new(plot.x, below - BAR / 2.0, shift * per_um, BAR);
            drawn = drawn.add(rectangle("budget-shift", area));
        }
        drawn.add(self.asked(plot, below + ROW, per_um))
    }

    /// The limits, as a line that the sum should not reach over.
    fn asked(&self, plot: Area, y: f64, per_um: f64) -> Group {
        let drawn = Group::new();
        let Some(asked_um) = self.asked_um else {
            return drawn;
        };
        let x = plot.x + asked_um * per_um;
        let foot = y + SIZE * 0.36;
        drawn
            .add(line("budget-asked", spot(x, plot.y), spot(x, plot.bottom())))
            .add(text(
                "strong",
                spot(3.0, foot),
                Anchor::Start,
                SIZE,
                NAMES - 6.0,
                "asked, half of the limits",
            ))
            .add(text(
                "strong",
                spot(plot.right() + VALUES - 3.0, foot),
                Anchor::End,
                SIZE,
                VALUES - 4.0,
                &format!("± {}", short(asked_um, 2)),
            ))
    }
}

/// Draws a bar that begins at `from` µm, with a line over what it may be.
fn bar(plot: Area, y: f64, per_um: f64, bar: (&str, f64, Band), name: &str, value: &str) -> Group {
    let (class, from_um, um) = bar;
    let at = |um: f64| plot.x + (from_um + um) * per_um;
    let area = Area::new(at(0.0), y - BAR / 2.0, um.expected * per_um, BAR);
    let foot = y + SIZE * 0.36;
    let mut drawn = Group::new()
        .add(text("", spot(3.0, foot), Anchor::Start, SIZE, NAMES - 6.0, name))
        .add(rectangle(class, area));
    if um.low < um.high {
        let tick = |x: f64| line("budget-may-be", spot(x, y - BAR * 0.3), spot(x, y + BAR * 0.3));
        drawn = drawn
            .add(line("budget-may-be", spot(at(um.low), y), spot(at(um.high), y)))
            .add(tick(at(um.low)))
            .add(tick(at(um.high)));
    }
    let end = spot(plot.right() + VALUES - 3.0, foot);
    drawn.add(text("", end, Anchor::End, SIZE, VALUES - 4.0, value))
}

/// Lines at round values, and the scale.
fn grid(plot: Area, per_um: f64, widest_um: f64) -> Group {
    const STEPS: f64 = 4.0;
    let step = round_length(widest_um / STEPS);
    let ticks = std::iter::successors(Some(0.0), |um| Some(um + step)).take_while(|um| *um <= widest_um);
    let drawn = Group::new().add(rectangle("edge", plot));
    ticks.fold(drawn, |drawn, um| {
        let x = plot.x + um * per_um;
        drawn
            .add(line("budget-grid", spot(x, plot.y), spot(x, plot.bottom())))
            .add(text(
                "quiet",
                spot(x, plot.bottom() + 4.0),
                Anchor::Middle,
                SIZE,
                14.0,
                &short(um, 3),
            ))
    })
}

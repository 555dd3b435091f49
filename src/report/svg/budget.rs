//! The accuracy budget as a picture: a bar for each uncertainty with what it may be, and their sum against what is
//! asked, all on one scale of micrometres.

use svg::node::element::Group;

use super::plot::{self, Plot, Scale};
use super::sheet::{Area, Lettering, group, line, picture, rectangle, spot};
use crate::estimate::Accuracy;
use crate::job::Scope;
use crate::message::number::{fixed, short};
use crate::plan::{GroupPlan, WallRequirement};
use crate::units::{Band, UM_PER_MM};

const WIDTH: f64 = 190.0;
const NAMES: f64 = 68.0;
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
    let frame = group(&id)
        .add(rectangle("paper", all))
        .add(walls.draw(accuracy.k, all));
    let mut drawn = picture(all, &title, &[BUDGET_STYLE, plot::STYLE].concat())
        .add(frame)
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
        let plot = Plot::new(all.inset(NAMES, TOP - 1.0, VALUES, 8.0), SIZE);
        let widest_um = 1.05 * self.widest_um();
        let scale = plot.even_across(0.0, if widest_um > 0.0 { widest_um } else { 1.0 });
        let heading = format!(
            "standard uncertainty {}, µm; the line shows the likely range",
            self.words
        );
        let mut drawn = Group::new()
            .add(Lettering::new("strong", 3.0).write(spot(3.0, 5.5), WIDTH - 6.0, &heading))
            .add(rectangle("edge", plot.area))
            .add(plot.foot(scale));
        let row = |i: usize| plot.area.y + ROW * (i as f64 + 0.5);
        for (i, (name, um)) in self.terms.iter().enumerate() {
            drawn = drawn.add(bar(scale, row(i), ("budget-bar", 0.0, *um))).add(words(
                plot,
                row(i),
                "",
                name,
                &fixed(um.expected, 2),
            ));
        }
        let below = row(self.terms.len());
        let shift = self.shift_um.abs();
        let sum = format!("expanded, k = {}", short(k, 1));
        let value = if shift > 0.0 {
            format!("{} + {}", fixed(self.expanded_um.expected, 1), fixed(shift, 2))
        } else {
            fixed(self.expanded_um.expected, 1)
        };
        drawn = drawn
            .add(bar(scale, below, ("budget-sum", shift, self.expanded_um)))
            .add(words(plot, below, "", &sum, &value));
        if shift > 0.0 {
            drawn = drawn.add(rectangle("budget-shift", bar_area(scale, below, 0.0, shift)));
        }
        // The limits, as a line that the sum should not reach over.
        if let Some(asked_um) = self.asked_um {
            let x = scale.at(asked_um);
            let (top, foot) = (spot(x, plot.area.y), spot(x, plot.area.bottom()));
            let asked = format!("± {}", short(asked_um, 2));
            drawn = drawn.add(line("budget-asked", top, foot)).add(words(
                plot,
                below + ROW,
                "strong",
                "called for, half of the limits",
                &asked,
            ));
        }
        drawn
    }
}

/// Writes the name of a row and, at the right edge, its value.
fn words(plot: Plot, y: f64, class: &str, name: &str, value: &str) -> Group {
    let end = spot(plot.area.right() + VALUES - 3.0, y);
    Group::new()
        .add(Lettering::new(class, SIZE).write_level(spot(3.0, y), NAMES - 6.0, name))
        .add(Lettering::end(class, SIZE).write_level(end, VALUES - 4.0, value))
}

/// Returns the area of a bar between two values.
fn bar_area(scale: Scale, y: f64, from_um: f64, to_um: f64) -> Area {
    let from = scale.at(from_um);
    Area::new(from, y - BAR / 2.0, scale.at(to_um) - from, BAR)
}

/// Draws a bar that begins at `from` µm, with a line over what it may be.
fn bar(scale: Scale, y: f64, (class, from_um, um): (&str, f64, Band)) -> Group {
    let drawn = Group::new().add(rectangle(
        class,
        bar_area(scale, y, from_um, from_um + um.expected),
    ));
    if um.low >= um.high {
        return drawn;
    }
    let [low, high] = [um.low, um.high].map(|um| scale.at(from_um + um));
    let tick = |x: f64| line("budget-may-be", spot(x, y - BAR * 0.3), spot(x, y + BAR * 0.3));
    drawn
        .add(line("budget-may-be", spot(low, y), spot(high, y)))
        .add(tick(low))
        .add(tick(high))
}

//! Charts of individuals and moving ranges, a recipe a pair: what is too much on a wall from piece to piece above, by how much it
//! changed below.

use std::ops::Range;

use svg::node::element::{Group, Title};

use super::plot::{self, Plot, Scale};
use super::sheet::{Area, Lettering, alone, group, line, picture, rectangle, spot};
use super::signs::dot;
use crate::gauge::{Baseline, ControlLimits, Drift, LimitState, RecipeDrift, SignalRule, moving_ranges};
use crate::message::number::{fixed, plain};
use crate::report::drift_words::{point_in_words, recipe_in_words};

const SIZE: f64 = 2.6;
const VALUES: Plot = Plot::new(Area::new(16.0, 16.0, 158.0, 66.0), SIZE);
const RANGES: Plot = Plot::new(Area::new(16.0, 96.0, 158.0, 28.0), SIZE);
const ROOM: Area = Area::new(0.0, 0.0, 178.0, 138.0);
/// Up to so many points are dots of full size.
const FULL_SIZE: f64 = 60.0;
const DOT: f64 = 0.8;
const LEAST_DOT: f64 = 0.3;

/// Told apart by dash, weight and outline first, so that grey paper keeps them.
pub(super) const STYLE: &str = "
.paper{fill:#fdfcf8}
.target{stroke:#366b40;stroke-width:0.35}
.mean{stroke:#1d1f23;stroke-width:0.25}
.limit{stroke:#97395c;stroke-width:0.35;stroke-dasharray:3 1.2}
.limit-provisional{stroke:#97395c;stroke-width:0.25;stroke-dasharray:0.9 0.9}
.baseline{stroke:#5a5c60;stroke-width:0.25;stroke-dasharray:1.8 0.7 0.4 0.7}
.course{stroke:#8b8c8f;stroke-width:0.2}
.reading{fill:#1d1f23}
.reading-signal{fill:#fdfcf8;stroke:#b3590a;stroke-width:0.6}
";

/// Returns the chart of a recipe; `None` where it has no points.
pub fn control_chart(recipe: &RecipeDrift) -> Option<String> {
    let drawn = chart(recipe)?;
    let name = format!("Walls of {}", recipe_in_words(&recipe.recipe));
    Some(picture(ROOM, &plain(&name), &style()).add(drawn).to_string())
}

/// Returns the charts of all recipes, one below the other.
pub fn control_charts(drift: &Drift) -> String {
    let (room, charts) = below_one_another(drift);
    let document = picture(room, "Walls from piece to piece", &style());
    document.add(charts).to_string() + "\n"
}

/// Returns the same for a page that brings the style sheet itself.
pub fn control_charts_alone(drift: &Drift) -> String {
    let (room, charts) = below_one_another(drift);
    alone(room, charts)
}

fn below_one_another(drift: &Drift) -> (Area, Group) {
    let charts: Vec<Group> = drift.recipes.iter().filter_map(chart).collect();
    let height = ROOM.height * charts.len() as f64;
    let mut all = group("control-charts");
    for (number, drawn) in charts.into_iter().enumerate() {
        let down = ROOM.height * number as f64;
        all = all.add(drawn.set("transform", format!("translate(0 {down})")));
    }
    (Area { height, ..ROOM }, all)
}

fn style() -> String {
    [plot::STYLE, STYLE].concat()
}

fn chart(recipe: &RecipeDrift) -> Option<Group> {
    let count: usize = recipe
        .baselines
        .iter()
        .map(|baseline| baseline.points.len())
        .sum();
    if count == 0 {
        return None;
    }
    let across = VALUES.even_across(0.5, count as f64 + 0.5);
    let values = recipe.baselines.iter().flat_map(of_values);
    let ranges = recipe.baselines.iter().flat_map(of_ranges);
    let upward = VALUES.even_upward(values);
    let ranging = RANGES.even_upward(ranges);
    let larger = SIZE * 1.2;
    let title = Lettering::new("strong", larger);
    let heading = title.write(
        spot(VALUES.area.x - 12.0, 5.5),
        166.0,
        &recipe_in_words(&recipe.recipe),
    );
    let above = |plot: Plot, words: &str| {
        Lettering::new("", larger).write(spot(plot.area.x - 12.0, plot.area.y - 2.5), 166.0, words)
    };
    let foot = spot(RANGES.area.center().x, RANGES.area.bottom() + SIZE * 3.4);
    let mut drawn = group("control-chart")
        .add(rectangle("paper", ROOM))
        .add(heading)
        .add(VALUES.window(upward))
        .add(RANGES.window(ranging))
        .add(RANGES.foot(across))
        .add(above(
            VALUES,
            "too much on a wall, µm; 0 is the target, above it is too much material",
        ))
        .add(above(RANGES, "change from point to point, µm"))
        .add(Lettering::middle("", larger).write(foot, 120.0, "points in the order of the log"));
    let (left, right) = (VALUES.area.x, VALUES.area.right());
    drawn = drawn.add(line(
        "target",
        spot(left, upward.at(0.0)),
        spot(right, upward.at(0.0)),
    ));
    let mut from = 0;
    for baseline in &recipe.baselines {
        let to = from + baseline.points.len();
        let view = BaselineView {
            baseline,
            first: from,
            across,
            dot: (DOT * FULL_SIZE / count as f64).clamp(LEAST_DOT, DOT),
        };
        drawn = drawn.add(view.values(upward)).add(view.ranges(ranging));
        from = to;
    }
    Some(drawn)
}

/// What the scale of the values has to hold: the target too.
fn of_values(baseline: &Baseline) -> Vec<f64> {
    let points = baseline.points.iter().map(|point| point.excess_um);
    let limits = baseline.limits.iter();
    let limits = limits.flat_map(|limits| [limits.lower_um, limits.upper_um]);
    points.chain(limits).chain([0.0]).collect()
}

fn of_ranges(baseline: &Baseline) -> Vec<f64> {
    let limits = baseline.limits.iter().map(|limits| limits.upper_range_um);
    ranges_um(baseline)
        .into_iter()
        .chain(limits)
        .chain([0.0])
        .collect()
}

fn ranges_um(baseline: &Baseline) -> Vec<f64> {
    let values: Vec<f64> = baseline.points.iter().map(|point| point.excess_um).collect();
    moving_ranges(&values)
}

/// The points of a baseline on the scale of all of them.
struct BaselineView<'a> {
    baseline: &'a Baseline,
    /// How many points stand before.
    first: usize,
    across: Scale,
    /// Radius of a point, mm.
    dot: f64,
}

impl BaselineView<'_> {
    /// Where its `i`-th point stands, from 0.
    fn x(&self, i: usize) -> f64 {
        self.across.at((self.first + i + 1) as f64)
    }

    /// From where to where it reaches.
    fn ends(&self) -> (f64, f64) {
        let edge = |points: usize| self.across.at(points as f64 + 0.5);
        (edge(self.first), edge(self.first + self.baseline.points.len()))
    }

    fn limit_class(&self) -> &'static str {
        match self.baseline.state {
            LimitState::Provisional => "limit-provisional",
            _ => "limit",
        }
    }

    fn values(&self, upward: Scale) -> Group {
        let (left, right) = self.ends();
        let mut drawn = Group::new();
        if self.first > 0 {
            let (top, foot) = (VALUES.area.y, RANGES.area.bottom());
            drawn = drawn.add(line("baseline", spot(left, top), spot(left, foot)));
        }
        if let Some(offset_mm) = self.baseline.offset_mm {
            let words = format!("offset {} mm", fixed(offset_mm, 4));
            let at = spot(left + 1.0, VALUES.area.y + 3.2);
            drawn = drawn.add(Lettering::new("quiet", SIZE).write(at, right - left - 1.0, &words));
        }
        if let Some(limits) = &self.baseline.limits {
            drawn = drawn.add(self.limits(limits, upward));
        }
        let points = &self.baseline.points;
        for (i, pair) in points.windows(2).enumerate() {
            let [from, to] = [0, 1].map(|k| spot(self.x(i + k), upward.at(pair[k].excess_um)));
            drawn = drawn.add(line("course", from, to));
        }
        for (i, point) in points.iter().enumerate() {
            let is_signal = self.told(&[SignalRule::BeyondLimits, SignalRule::RunOnOneSide], i);
            let class = if is_signal { "reading-signal" } else { "reading" };
            let at = spot(self.x(i), upward.at(point.excess_um));
            let hover = point_in_words(point);
            drawn = drawn.add(
                Group::new()
                    .add(Title::new(plain(&hover)))
                    .add(dot(class, at, self.dot)),
            );
        }
        drawn
    }

    fn limits(&self, limits: &ControlLimits, upward: Scale) -> Group {
        let (left, right) = self.ends();
        let level = |class: &'static str, um: f64| {
            let y = upward.at(um);
            line(class, spot(left, y), spot(right, y))
        };
        let limit = self.limit_class();
        Group::new()
            .add(level("mean", limits.mean_um))
            .add(level(limit, limits.lower_um))
            .add(level(limit, limits.upper_um))
    }

    fn ranges(&self, upward: Scale) -> Group {
        let (left, right) = self.ends();
        let mut drawn = Group::new();
        if let Some(limits) = &self.baseline.limits {
            let (mean, top) = (upward.at(limits.mean_range_um), upward.at(limits.upper_range_um));
            drawn = drawn
                .add(line("mean", spot(left, mean), spot(right, mean)))
                .add(line(self.limit_class(), spot(left, top), spot(right, top)));
        }
        let ranges = ranges_um(self.baseline);
        for (i, pair) in ranges.windows(2).enumerate() {
            let [from, to] = [0, 1].map(|k| spot(self.x(i + k + 1), upward.at(pair[k])));
            drawn = drawn.add(line("course", from, to));
        }
        for (i, um) in ranges.iter().enumerate() {
            let is_signal = self.told(&[SignalRule::JumpBeyondLimit], i + 1) && self.is_jump(*um);
            let class = if is_signal { "reading-signal" } else { "reading" };
            drawn = drawn.add(dot(class, spot(self.x(i + 1), upward.at(*um)), self.dot));
        }
        drawn
    }

    fn is_jump(&self, um: f64) -> bool {
        self.baseline
            .limits
            .is_some_and(|limits| um > limits.upper_range_um)
    }

    /// Whether one of these rules speaks of its `i`-th point.
    fn told(&self, rules: &[SignalRule], i: usize) -> bool {
        let holds = |points: &Range<usize>| points.contains(&i);
        let mut signals = self.baseline.signals.iter();
        signals.any(|signal| rules.contains(&signal.rule) && holds(&signal.points))
    }
}

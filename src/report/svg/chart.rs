//! The chart of a comparison: time across, finish upward, both in decades; the ring of a mark is as large
//! in area as its expected error on size. Nearer to the corner at the lower left is better.

mod jobs;
mod names;
mod side;

use svg::Document;
use svg::node::element::{Circle, Group, Style};

use super::sheet::{
    Anchor, Area, HEIGHT, SheetSpot, WIDTH, coordinate, group, line, rectangle, spot, text, title,
};
use super::style;
use crate::message::number::{fixed, plain, short};
use crate::message::{Lengths, minutes};
use crate::plan::{Candidate, Comparison, Plan, WallRequirement};
use crate::report::words;
use crate::units::Band;

pub use jobs::finished_jobs;

/// Where the marks stand, and the size of the texts round them, mm.
#[derive(Clone, Copy)]
struct ChartFrame {
    plot: Area,
    size: f64,
}

/// On a sheet.
const ON_SHEET: ChartFrame = ChartFrame {
    plot: Area::new(22.0, 22.0, 178.0, 166.0),
    size: SIZE,
};
const SIZE: f64 = 2.5;
/// Alone, to be read on a small screen too.
const ALONE: ChartFrame = ChartFrame {
    plot: Area::new(12.0, 9.0, 112.0, 84.0),
    size: 3.0,
};
const ROOM_ALONE: Area = Area::new(0.0, 0.0, 143.0, 106.0);
/// Radius of the widest ring, mm of the sheet, and of the dot inside.
const WIDEST: f64 = 5.0;
const DOT: f64 = 0.8;

/// Told apart by filling, dash and weight first, so that grey paper keeps them.
pub(super) const STYLE: &str = "
.grid{fill:none;stroke:#d9d6cc;stroke-width:0.13}
.ring{fill:#0b5c7d;fill-opacity:0.07;stroke:#0b5c7d;stroke-width:0.3}
.ring-short{fill:none;stroke:#8b8c8f;stroke-width:0.18;stroke-dasharray:0.7 0.7}
.ring-chosen{fill:#b3590a;fill-opacity:0.16;stroke:#b3590a;stroke-width:0.7}
.dot{fill:#1d1f23}
.dot-chosen{fill:#b3590a}
.may-be{fill:none;stroke:#b3590a;stroke-width:0.25}
.asked{fill:none;stroke:#1d1f23;stroke-width:0.3;stroke-dasharray:3 1.2}
";

/// What is weighed against what.
struct Weighed<'a> {
    file: String,
    material: &'a str,
    thickness_mm: f64,
    currency: &'a str,
    /// Lowest Ra called for, µm.
    asked_um: Option<f64>,
    /// How far times and prices can be trusted, in words.
    confidence: Option<String>,
    candidates: &'a [Candidate],
}

/// A candidate that can be drawn.
struct Mark<'a> {
    /// Among all candidates, from 0.
    number: usize,
    candidate: &'a Candidate,
    minutes: Band,
    ra_um: Band,
    error_um: f64,
}

/// A scale in decades.
#[derive(Clone, Copy)]
struct Decades {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
}

/// Returns the chart of a comparison.
pub fn comparison(comparison: &Comparison) -> String {
    draw(&Weighed {
        file: plain(&comparison.inspection.file),
        material: &comparison.material,
        thickness_mm: comparison.thickness_mm,
        currency: &comparison.currency,
        asked_um: strictest(comparison.demand_groups.iter().map(|group| &group.requirement)),
        confidence: comparison
            .chosen
            .as_ref()
            .map(|plan| words::confidence(plan.estimate.confidence)),
        candidates: &comparison.candidates,
    })
}

/// Returns the chart of what stands side by side for a plan; `None` where that is nothing.
pub fn trade_off(plan: &Plan, candidates: &[Candidate]) -> Option<String> {
    (!candidates.is_empty()).then(|| draw(&Weighed::of(plan, candidates)))
}

impl<'a> Weighed<'a> {
    /// What stands side by side for a plan.
    fn of(plan: &'a Plan, candidates: &'a [Candidate]) -> Self {
        Self {
            file: plain(&plan.inspection.file),
            material: &plan.setup.material,
            thickness_mm: plan.setup.thickness_mm,
            currency: plan
                .estimate
                .costs
                .as_ref()
                .map_or("", |costs| costs.currency.as_str()),
            asked_um: strictest(plan.groups.iter().map(|group| &group.requirement)),
            confidence: Some(words::confidence(plan.estimate.confidence)),
            candidates,
        }
    }
}

fn strictest<'a>(asked: impl Iterator<Item = &'a WallRequirement>) -> Option<f64> {
    asked.filter_map(|asked| asked.ra_um).min_by(f64::total_cmp)
}

fn draw(weighed: &Weighed<'_>) -> String {
    let all = Area::new(0.0, 0.0, WIDTH, HEIGHT);
    let marks = marks(weighed.candidates);
    let mut document = Document::new()
        .set("viewBox", format!("0 0 {WIDTH} {HEIGHT}"))
        .set("width", format!("{}mm", coordinate(WIDTH)))
        .set("height", format!("{}mm", coordinate(HEIGHT)))
        .set("role", "img")
        .add(title(&format!("Time against finish for {}", weighed.file)))
        .add(Style::new(format!("{}{STYLE}", style::style_sheet())))
        .add(
            group("chart-sheet")
                .add(rectangle("paper", all))
                .add(rectangle("frame", all.inset(5.0, 5.0, 5.0, 5.0))),
        );
    let widest_um = widest_um(&marks);
    if marks.is_empty() {
        let words = why_none(weighed.candidates);
        document = document.add(text(
            "strong",
            ON_SHEET.plot.center(),
            Anchor::Middle,
            4.0,
            ON_SHEET.plot.width,
            &words,
        ));
    } else {
        document = document.add(plot(ON_SHEET, weighed, &marks, widest_um));
    }
    let mut drawn = document.add(side::draw(weighed, widest_um)).to_string();
    drawn.push('\n');
    drawn
}

/// What all candidates lack, where that is the same.
fn why_none(candidates: &[Candidate]) -> String {
    let shared = candidates.first().and_then(|first| {
        let mut reasons = first.reasons.iter();
        reasons.find(|reason| candidates.iter().all(|other| other.reasons.contains(reason)))
    });
    shared.map_or_else(
        || "no wire and machine of the book can cut it".to_owned(),
        ToString::to_string,
    )
}

/// Returns the chart alone, for a page that brings the style and lets a mark be picked: each bears the number of its
/// candidate, from 0, in `data-candidate`.
pub fn chart(plan: &Plan, candidates: &[Candidate]) -> String {
    let weighed = Weighed::of(plan, candidates);
    let marks = marks(candidates);
    let drawn = if marks.is_empty() {
        Group::new()
    } else {
        plot(ALONE, &weighed, &marks, widest_um(&marks))
    };
    super::sheet::alone(ROOM_ALONE, drawn)
}

fn marks(candidates: &[Candidate]) -> Vec<Mark<'_>> {
    candidates.iter().enumerate().filter_map(mark).collect()
}

/// Largest expected error on size, µm.
fn widest_um(marks: &[Mark<'_>]) -> f64 {
    marks.iter().map(|mark| mark.error_um).fold(0.0, f64::max)
}

fn mark((number, candidate): (usize, &Candidate)) -> Option<Mark<'_>> {
    let (minutes, ra_um) = (candidate.totals?.order_minutes, candidate.ra_um?);
    let drawable = candidate.possible && minutes.expected > 0.0 && ra_um.expected > 0.0;
    drawable.then_some(Mark {
        number,
        candidate,
        minutes,
        ra_um,
        error_um: candidate.accuracy_um?,
    })
}

impl Decades {
    /// Over `values` with some room at both ends.
    fn over(values: impl Iterator<Item = f64> + Clone, from: f64, to: f64) -> Self {
        const ROOM: f64 = 1.15;
        Self {
            low: values.clone().fold(f64::INFINITY, f64::min) / ROOM,
            high: values.fold(0.0, f64::max) * ROOM,
            from,
            to,
        }
    }

    fn at(self, value: f64) -> f64 {
        let share = (value / self.low).ln() / (self.high / self.low).ln();
        self.from + share * (self.to - self.from)
    }

    /// 1, 2 and 5 times the powers of ten that lie on the scale, and what lies between where those are few.
    fn ticks(self) -> Vec<f64> {
        const FEW: usize = 4;
        let coarse = self.steps(&[1.0, 2.0, 5.0]);
        if coarse.len() < FEW {
            self.steps(&[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0])
        } else {
            coarse
        }
    }

    /// These times the powers of ten, as far as they lie on the scale.
    fn steps(self, steps: &[f64]) -> Vec<f64> {
        let (first, last) = (self.low.log10().floor() as i32, self.high.log10().ceil() as i32);
        let all = (first..=last).flat_map(|decade| steps.iter().map(move |step| step * 10f64.powi(decade)));
        all.filter(|tick| (self.low..=self.high).contains(tick)).collect()
    }
}

fn plot(frame: ChartFrame, weighed: &Weighed<'_>, marks: &[Mark<'_>], widest_um: f64) -> Group {
    let area = frame.plot;
    let chosen = marks.iter().filter(|mark| mark.candidate.chosen);
    let times = marks.iter().map(|mark| mark.minutes.expected);
    let times = times.chain(
        chosen
            .clone()
            .flat_map(|mark| [mark.minutes.low, mark.minutes.high]),
    );
    let across = Decades::over(times, area.x, area.right());
    let asked_um = weighed.asked_um;
    let finishes = marks.iter().map(|mark| mark.ra_um.expected).chain(asked_um);
    let finishes = finishes.chain(chosen.flat_map(|mark| [mark.ra_um.low, mark.ra_um.high]));
    let upward = Decades::over(finishes, area.bottom(), area.y);
    let mut drawn = axes(frame, across, upward);
    if let Some(asked_um) = asked_um {
        let y = upward.at(asked_um);
        let words = format!("asked: Ra {} µm, the strictest", short(asked_um, 3));
        drawn = drawn
            .add(line("asked", spot(area.x, y), spot(area.right(), y)))
            .add(text(
                "",
                spot(area.right() - 1.0, y + 3.2),
                Anchor::End,
                frame.size,
                90.0,
                &words,
            ));
    }
    let place = |mark: &Mark<'_>| spot(across.at(mark.minutes.expected), upward.at(mark.ra_um.expected));
    let radius = |mark: &Mark<'_>| ring_radius(mark.error_um, widest_um);
    // What falls short lies below, the chosen one on top.
    let rank = |mark: &Mark<'_>| {
        (
            mark.candidate.chosen,
            mark.candidate.feasible,
            mark.candidate.non_dominated,
        )
    };
    let mut order: Vec<&Mark<'_>> = marks.iter().collect();
    order.sort_by_key(|mark| rank(mark));
    for mark in &order {
        drawn = drawn.add(drawn_mark(weighed, mark, place(mark), radius(mark)));
        if mark.candidate.chosen {
            let at = place(mark);
            let [left, right] = [mark.minutes.low, mark.minutes.high].map(|minutes| across.at(minutes));
            let [low, high] = [mark.ra_um.low, mark.ra_um.high].map(|um| upward.at(um));
            drawn = drawn
                .add(line("may-be", spot(left, at.y), spot(right, at.y)))
                .add(line("may-be", spot(at.x, low), spot(at.x, high)));
        }
    }
    drawn
        .add(names::labels(frame, marks, place, radius))
        .add(names::rows(frame, marks, upward))
}

/// As large in area as the expected error on size, the largest of all as wide as there is room for.
fn ring_radius(error_um: f64, widest_um: f64) -> f64 {
    WIDEST * (error_um / widest_um).sqrt()
}

/// Draws the lines of both scales with their numbers.
fn grid(frame: ChartFrame, across: Decades, upward: Decades) -> Group {
    let ChartFrame { plot, size } = frame;
    let mut drawn = group("chart-axes").add(rectangle("window", plot));
    for tick in across.ticks() {
        let x = across.at(tick);
        drawn = drawn
            .add(line("grid", spot(x, plot.y), spot(x, plot.bottom())))
            .add(text(
                "quiet",
                spot(x, plot.bottom() + size * 1.6),
                Anchor::Middle,
                size,
                20.0,
                &short(tick, 3),
            ));
    }
    for tick in upward.ticks() {
        let y = upward.at(tick);
        drawn = drawn
            .add(line("grid", spot(plot.x, y), spot(plot.right(), y)))
            .add(text(
                "quiet",
                spot(plot.x - 1.5, y + size * 0.36),
                Anchor::End,
                size,
                12.0,
                &short(tick, 3),
            ));
    }
    drawn
}

fn axes(frame: ChartFrame, across: Decades, upward: Decades) -> Group {
    let ChartFrame { plot, size } = frame;
    let larger = size * 1.2;
    grid(frame, across, upward)
        .add(text(
            "",
            spot(plot.center().x, plot.bottom() + size * 3.4),
            Anchor::Middle,
            larger,
            plot.width,
            "minutes of the order at the machine",
        ))
        .add(text(
            "",
            spot(plot.x - 10.0, plot.y - 3.0),
            Anchor::Start,
            larger,
            90.0,
            "Ra of the finished wall, µm",
        ))
        .add(text(
            "quiet",
            spot(plot.x + 2.0, plot.bottom() - 2.0),
            Anchor::Start,
            size,
            80.0,
            "better is down and to the left",
        ))
}

fn drawn_mark(weighed: &Weighed<'_>, mark: &Mark<'_>, at: SheetSpot, radius: f64) -> Group {
    let candidate = mark.candidate;
    let (ring, dot) = match (candidate.chosen, candidate.feasible) {
        (true, _) => ("ring-chosen", "dot-chosen"),
        (false, true) => ("ring", "dot"),
        (false, false) => ("ring-short", "dot"),
    };
    let mut hover = format!(
        "{} mm {} on {}, passes {}: {}{}, cost {} {}, Ra {} µm, ±{} µm on size",
        fixed(candidate.wire_mm, 2),
        plain(&candidate.wire_kind),
        plain(&candidate.machine),
        words::passes(candidate),
        words::at_least(candidate.basis),
        minutes(mark.minutes).fixed(1).written(Lengths::Mm),
        candidate
            .totals
            .map_or_else(|| "–".into(), |totals| fixed(totals.cost_order.expected, 0)),
        plain(weighed.currency),
        fixed(mark.ra_um.expected, 2),
        fixed(mark.error_um, 1)
    );
    for reason in &candidate.reasons {
        hover.push_str("; ");
        hover.push_str(&plain(&reason.to_string()));
    }
    let drawn = Group::new()
        .set("data-candidate", mark.number)
        .add(title(&hover))
        .add(circle(ring, at, radius));
    if candidate.non_dominated {
        drawn.add(circle(dot, at, DOT))
    } else {
        drawn
    }
}

fn circle(class: &str, at: SheetSpot, radius: f64) -> Circle {
    Circle::new()
        .set("class", class)
        .set("cx", coordinate(at.x))
        .set("cy", coordinate(at.y))
        .set("r", coordinate(radius))
}

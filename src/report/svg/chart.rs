//! The chart of a comparison: time across, finish upward, both in decades; the ring of a mark is as large
//! in area as its expected error on size. Nearer to the corner at the lower left is better.

mod jobs;
mod names;
mod side;

use svg::node::element::Group;

use super::plot::{self, Plot, Scale};
use super::sheet::{Area, HEIGHT, Lettering, SheetSpot, WIDTH, group, line, picture, rectangle, spot, title};
use super::signs::dot;
use crate::message::number::{fixed, plain, short};
use crate::message::{Lengths, minutes};
use crate::plan::{Candidate, Comparison, Plan, WallRequirement};
use crate::report::words;
use crate::units::Band;

pub use jobs::finished_jobs;

/// On a sheet.
const ON_SHEET: Plot = Plot::new(Area::new(22.0, 22.0, 178.0, 166.0), SIZE);
const SIZE: f64 = 2.5;
/// Alone, to be read on a small screen too.
const ALONE: Plot = Plot::new(Area::new(12.0, 9.0, 112.0, 84.0), 3.0);
const ROOM_ALONE: Area = Area::new(0.0, 0.0, 143.0, 106.0);
/// Radius of the widest ring, mm of the sheet, and of the dot inside.
const WIDEST: f64 = 5.0;
const DOT: f64 = 0.8;

/// Told apart by filling, dash and weight first, so that grey paper keeps them.
pub(super) const STYLE: &str = "
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
    let name = format!("Time against finish for {}", weighed.file);
    let mut document = picture(all, &name, &[STYLE, plot::STYLE].concat()).add(
        group("chart-sheet")
            .add(rectangle("paper", all))
            .add(rectangle("frame", all.inset(5.0, 5.0, 5.0, 5.0))),
    );
    let widest_um = widest_um(&marks);
    if marks.is_empty() {
        let words = why_none(weighed.candidates);
        document = document.add(Lettering::middle("strong", 4.0).write(
            ON_SHEET.area.center(),
            ON_SHEET.area.width,
            &words,
        ));
    } else {
        document = document.add(draw_plot(ON_SHEET, weighed, &marks, widest_um));
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
        draw_plot(ALONE, &weighed, &marks, widest_um(&marks))
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

fn draw_plot(plot: Plot, weighed: &Weighed<'_>, marks: &[Mark<'_>], widest_um: f64) -> Group {
    let area = plot.area;
    let chosen = marks.iter().filter(|mark| mark.candidate.chosen);
    let times = marks.iter().map(|mark| mark.minutes.expected);
    let times = times.chain(
        chosen
            .clone()
            .flat_map(|mark| [mark.minutes.low, mark.minutes.high]),
    );
    let across = plot.across(times);
    let asked_um = weighed.asked_um;
    let finishes = marks.iter().map(|mark| mark.ra_um.expected).chain(asked_um);
    let finishes = finishes.chain(chosen.flat_map(|mark| [mark.ra_um.low, mark.ra_um.high]));
    let upward = plot.upward(finishes);
    let mut drawn = axes(plot, across, upward);
    if let Some(asked_um) = asked_um {
        let y = upward.at(asked_um);
        let words = format!("called for: Ra {} µm, the strictest", short(asked_um, 3));
        drawn = drawn
            .add(line("asked", spot(area.x, y), spot(area.right(), y)))
            .add(Lettering::end("", plot.size).write(spot(area.right() - 1.0, y + 3.2), 90.0, &words));
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
        .add(names::labels(plot, marks, place, radius))
        .add(names::rows(plot, marks, upward))
}

/// As large in area as the expected error on size, the largest of all as wide as there is room for.
fn ring_radius(error_um: f64, widest_um: f64) -> f64 {
    WIDEST * (error_um / widest_um).sqrt()
}

fn axes(plot: Plot, across: Scale, upward: Scale) -> Group {
    let Plot { area, size } = plot;
    let larger = size * 1.2;
    let foot = spot(area.center().x, area.bottom() + size * 3.4);
    let top = spot(area.x - 10.0, area.y - 3.0);
    let corner = spot(area.x + 2.0, area.bottom() - 2.0);
    let minutes = "minutes of the order at the machine";
    plot.axes(across, upward)
        .add(Lettering::middle("", larger).write(foot, area.width, minutes))
        .add(Lettering::new("", larger).write(top, 90.0, "Ra of the finished wall, µm"))
        .add(Lettering::new("quiet", size).write(corner, 80.0, "better is down and to the left"))
}

fn drawn_mark(weighed: &Weighed<'_>, mark: &Mark<'_>, at: SheetSpot, radius: f64) -> Group {
    let candidate = mark.candidate;
    let (ring, middle) = match (candidate.chosen, candidate.feasible) {
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
        .add(dot(ring, at, radius));
    if candidate.non_dominated {
        drawn.add(dot(middle, at, DOT))
    } else {
        drawn
    }
}

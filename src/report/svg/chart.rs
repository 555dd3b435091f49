//! The chart of a comparison: time across, finish upward, both in decades; the ring of a mark is as large
//! in area as its expected error on size. Nearer to the corner at the lower left is better.

mod side;

use std::collections::BTreeSet;

use svg::Document;
use svg::node::element::{Circle, Group, Style, Title};

use super::ink;
use super::sheet::{Anchor, Area, HEIGHT, Spot, WIDTH, coordinate, group, line, rectangle, spot, text};
use super::text::{BOLD, width};
use crate::plan::{Asked, Candidate, Comparison, Plan};
use crate::report::number::{duration, fixed, plain, short};
use crate::report::words;
use crate::units::Band;

const PLOT: Area = Area::new(22.0, 22.0, 178.0, 166.0);
const SIZE: f64 = 2.5;
/// Radius of the widest ring, mm of the sheet, and of the dot inside.
const WIDEST: f64 = 5.0;
const DOT: f64 = 0.8;

/// Told apart by filling, dash and weight first, so that grey paper keeps them.
const CHART_STYLE: &str = "
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
    /// Strictest Ra asked, µm.
    asked_um: Option<f64>,
    /// How far times and prices can be trusted, in words.
    confidence: Option<&'a str>,
    candidates: &'a [Candidate],
}

/// A candidate that can be drawn.
struct Mark<'a> {
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

/// The chart of a comparison.
pub fn comparison(comparison: &Comparison) -> String {
    draw(&Weighed {
        file: plain(&comparison.inspection.file),
        material: &comparison.material,
        thickness_mm: comparison.thickness_mm,
        currency: &comparison.currency,
        asked_um: strictest(comparison.outlines.iter().map(|outline| &outline.asked)),
        confidence: comparison
            .chosen
            .as_ref()
            .map(|plan| plan.estimate.confidence.as_str()),
        candidates: &comparison.candidates,
    })
}

/// The chart of what was weighed for a plan; `None` where wire and passes were given.
pub fn trade_off(plan: &Plan) -> Option<String> {
    let weighed = Weighed {
        file: plain(&plan.inspection.file),
        material: &plan.ask.material,
        thickness_mm: plan.ask.thickness_mm,
        currency: plan
            .estimate
            .ledger
            .as_ref()
            .map_or("", |ledger| ledger.currency.as_str()),
        asked_um: strictest(plan.asked.iter()),
        confidence: Some(&plan.estimate.confidence),
        candidates: &plan.candidates,
    };
    (!plan.candidates.is_empty()).then(|| draw(&weighed))
}

fn strictest<'a>(asked: impl Iterator<Item = &'a Asked>) -> Option<f64> {
    asked.filter_map(|asked| asked.ra_um).min_by(f64::total_cmp)
}

fn draw(weighed: &Weighed<'_>) -> String {
    let all = Area::new(0.0, 0.0, WIDTH, HEIGHT);
    let marks: Vec<Mark<'_>> = weighed.candidates.iter().filter_map(mark).collect();
    let mut document = Document::new()
        .set("viewBox", format!("0 0 {WIDTH} {HEIGHT}"))
        .set("width", format!("{}mm", coordinate(WIDTH)))
        .set("height", format!("{}mm", coordinate(HEIGHT)))
        .set("role", "img")
        .add(Title::new(format!("Time against finish for {}", weighed.file)))
        .add(Style::new(format!("{}{CHART_STYLE}", ink::style_sheet())))
        .add(
            group("chart-sheet")
                .add(rectangle("paper", all))
                .add(rectangle("frame", all.inset(5.0, 5.0, 5.0, 5.0))),
        );
    let widest_um = marks.iter().map(|mark| mark.error_um).fold(0.0, f64::max);
    if marks.is_empty() {
        let words = "no wire and machine of the book can cut it";
        document = document.add(text(
            "strong",
            PLOT.center(),
            Anchor::Middle,
            4.0,
            PLOT.width,
            words,
        ));
    } else {
        document = document.add(plot(weighed, &marks, widest_um));
    }
    let mut drawn = document.add(side::draw(weighed, widest_um)).to_string();
    drawn.push('\n');
    drawn
}

fn mark(candidate: &Candidate) -> Option<Mark<'_>> {
    let (minutes, ra_um) = (candidate.minutes?, candidate.ra_um?);
    let drawable = candidate.possible && minutes.expected > 0.0 && ra_um.expected > 0.0;
    drawable.then_some(Mark {
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

    /// 1, 2 and 5 times the powers of ten that lie on the scale.
    fn ticks(self) -> Vec<f64> {
        let (first, last) = (self.low.log10().floor() as i32, self.high.log10().ceil() as i32);
        let ticks = (first..=last).flat_map(|decade| [1.0, 2.0, 5.0].map(|step| step * 10f64.powi(decade)));
        ticks
            .filter(|tick| (self.low..=self.high).contains(tick))
            .collect()
    }
}

fn plot(weighed: &Weighed<'_>, marks: &[Mark<'_>], widest_um: f64) -> Group {
    let chosen = marks.iter().filter(|mark| mark.candidate.chosen);
    let times = marks.iter().map(|mark| mark.minutes.expected);
    let times = times.chain(
        chosen
            .clone()
            .flat_map(|mark| [mark.minutes.low, mark.minutes.high]),
    );
    let across = Decades::over(times, PLOT.x, PLOT.right());
    let asked_um = weighed.asked_um;
    let finishes = marks.iter().map(|mark| mark.ra_um.expected).chain(asked_um);
    let finishes = finishes.chain(chosen.flat_map(|mark| [mark.ra_um.low, mark.ra_um.high]));
    let upward = Decades::over(finishes, PLOT.bottom(), PLOT.y);
    let mut drawn = axes(across, upward);
    if let Some(asked_um) = asked_um {
        let y = upward.at(asked_um);
        let words = format!("asked: Ra {} µm, the strictest", short(asked_um, 3));
        drawn = drawn
            .add(line("asked", spot(PLOT.x, y), spot(PLOT.right(), y)))
            .add(text(
                "",
                spot(PLOT.right() - 1.0, y + 3.2),
                Anchor::End,
                SIZE,
                80.0,
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
    drawn.add(labels(marks, place, radius)).add(rows(marks, upward))
}

/// As large in area as the expected error on size, the largest of all as wide as there is room for.
fn ring_radius(error_um: f64, widest_um: f64) -> f64 {
    WIDEST * (error_um / widest_um).sqrt()
}

fn axes(across: Decades, upward: Decades) -> Group {
    let mut drawn = group("chart-axes").add(rectangle("window", PLOT));
    for tick in across.ticks() {
        let x = across.at(tick);
        drawn = drawn
            .add(line("grid", spot(x, PLOT.y), spot(x, PLOT.bottom())))
            .add(text(
                "quiet",
                spot(x, PLOT.bottom() + 4.0),
                Anchor::Middle,
                SIZE,
                20.0,
                &short(tick, 3),
            ));
    }
    for tick in upward.ticks() {
        let y = upward.at(tick);
        drawn = drawn
            .add(line("grid", spot(PLOT.x, y), spot(PLOT.right(), y)))
            .add(text(
                "quiet",
                spot(PLOT.x - 1.5, y + 0.9),
                Anchor::End,
                SIZE,
                12.0,
                &short(tick, 3),
            ));
    }
    drawn
        .add(text(
            "",
            spot(PLOT.center().x, PLOT.bottom() + 9.0),
            Anchor::Middle,
            3.0,
            PLOT.width,
            "minutes: one piece with its set-up",
        ))
        .add(text(
            "",
            spot(10.0, PLOT.y - 4.0),
            Anchor::Start,
            3.0,
            90.0,
            "Ra of the finished wall, µm",
        ))
        .add(text(
            "quiet",
            spot(PLOT.x + 2.0, PLOT.bottom() - 2.0),
            Anchor::Start,
            SIZE,
            80.0,
            "better is down and to the left",
        ))
}

fn drawn_mark(weighed: &Weighed<'_>, mark: &Mark<'_>, at: Spot, radius: f64) -> Group {
    let candidate = mark.candidate;
    let (ring, dot) = match (candidate.chosen, candidate.feasible) {
        (true, _) => ("ring-chosen", "dot-chosen"),
        (false, true) => ("ring", "dot"),
        (false, false) => ("ring-short", "dot"),
    };
    let mut hover = format!(
        "{} mm {} on {}, passes {}: {}, cost {} {}, Ra {} µm, ±{} µm on size",
        fixed(candidate.wire_mm, 2),
        plain(&candidate.wire_kind),
        plain(&candidate.machine),
        words::passes(candidate),
        duration(mark.minutes),
        candidate
            .cost
            .map_or_else(|| "–".into(), |cost| fixed(cost.expected, 0)),
        plain(weighed.currency),
        fixed(mark.ra_um.expected, 2),
        fixed(mark.error_um, 1)
    );
    for reason in &candidate.reasons {
        hover.push_str("; ");
        hover.push_str(&plain(reason));
    }
    let drawn = Group::new().add(Title::new(hover)).add(circle(ring, at, radius));
    if candidate.non_dominated {
        drawn.add(circle(dot, at, DOT))
    } else {
        drawn
    }
}

/// Names beside the chosen mark, and beside the fastest and the cheapest of each number of passes that reach what is
/// asked, as far as they find room.
fn labels(marks: &[Mark<'_>], place: impl Fn(&Mark<'_>) -> Spot, radius: impl Fn(&Mark<'_>) -> f64) -> Group {
    let name = |mark: &Mark<'_>| {
        let candidate = mark.candidate;
        format!("{} {}", fixed(candidate.wire_mm, 2), plain(&candidate.wire_kind))
    };
    let feasible: Vec<&Mark<'_>> = marks.iter().filter(|mark| mark.candidate.feasible).collect();
    let mut named: Vec<(&Mark<'_>, String, Side)> = Vec::new();
    if let Some(mark) = feasible.iter().find(|mark| mark.candidate.chosen) {
        named.push((mark, name(mark), Side::Above));
    }
    let numbers: BTreeSet<&[usize]> = feasible
        .iter()
        .map(|mark| mark.candidate.passes_by_group.as_slice())
        .collect();
    let cost = |mark: &Mark<'_>| mark.candidate.cost.map_or(f64::INFINITY, |cost| cost.expected);
    for passes in numbers {
        let row = || {
            feasible
                .iter()
                .filter(|mark| mark.candidate.passes_by_group == passes)
        };
        let fastest = row().min_by(|a, b| a.minutes.expected.total_cmp(&b.minutes.expected));
        let cheapest = row().min_by(|a, b| cost(a).total_cmp(&cost(b)));
        if let Some(mark) = fastest.filter(|mark| !mark.candidate.chosen) {
            named.push((mark, format!("fastest: {}", name(mark)), Side::Above));
        }
        if let Some(mark) = cheapest.filter(|mark| !mark.candidate.chosen) {
            named.push((mark, format!("cheapest: {}", name(mark)), Side::Below));
        }
    }
    let mut drawn = group("chart-labels");
    let mut taken: Vec<Area> = Vec::new();
    for (mark, words, side) in named {
        let (class, size) = if mark.candidate.chosen {
            ("strong number", 2.8)
        } else {
            ("number", 2.1)
        };
        let (at, r) = (place(mark), radius(mark));
        let wide = width(&words, size) * BOLD;
        let y = match side {
            Side::Above => at.y - r - 1.0,
            Side::Below => at.y + r + size,
        };
        let area = |x: f64| Area::new(x, y - size, wide, size * 1.2);
        let free = |x: &f64| PLOT.contains(area(*x)) && !taken.iter().any(|other| other.overlaps(area(*x)));
        let tries = [at.x - wide / 2.0, at.x - r, at.x + r - wide];
        if let Some(x) = tries.into_iter().find(free) {
            taken.push(area(x));
            let room = wide * BOLD;
            drawn = drawn.add(text(class, spot(x, y), Anchor::Start, size, room, &words));
        }
    }
    drawn
}

/// Where a name stands.
#[derive(Clone, Copy)]
enum Side {
    Above,
    Below,
}

/// The numbers of passes at the right edge, each at the finish that it leaves.
fn rows(marks: &[Mark<'_>], upward: Decades) -> Group {
    let mut seen: Vec<(String, f64)> = Vec::new();
    for mark in marks {
        let (passes, y) = (words::passes(mark.candidate), upward.at(mark.ra_um.expected));
        if seen.iter().all(|(_, other)| (other - y).abs() > SIZE) {
            seen.push((passes, y));
        }
    }
    seen.into_iter()
        .fold(group("chart-passes"), |drawn, (passes, y)| {
            let words = if passes == "1" {
                "1 pass".into()
            } else {
                format!("{passes} passes")
            };
            drawn.add(text(
                "quiet",
                spot(PLOT.right() + 1.5, y + 0.9),
                Anchor::Start,
                SIZE,
                14.0,
                &words,
            ))
        })
}

fn circle(class: &str, at: Spot, radius: f64) -> Circle {
    Circle::new()
        .set("class", class)
        .set("cx", coordinate(at.x))
        .set("cy", coordinate(at.y))
        .set("r", coordinate(radius))
}

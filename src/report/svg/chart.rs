//! The chart of a comparison: time across, finish upward, both in decades; the ring of a mark is as wide as its
//! expected error on size. Nearer to the corner at the lower left is better.

use svg::Document;
use svg::node::element::{Circle, Group, Style, Title};

use super::ink;
use super::sheet::{
    Anchor, Area, HEIGHT, Spot, WIDTH, coordinate, group, line, rectangle, round_length, spot, text,
};
use super::text::{width, wrapped};
use crate::plan::{Candidate, Comparison};
use crate::report::number::{duration, fixed, plain, short, significant};
use crate::report::words;
use crate::units::Band;

const PLOT: Area = Area::new(22.0, 22.0, 178.0, 166.0);
const SIDE: Area = Area::new(216.0, 10.0, 73.0, 190.0);
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
    let all = Area::new(0.0, 0.0, WIDTH, HEIGHT);
    let marks: Vec<Mark<'_>> = comparison.candidates.iter().filter_map(mark).collect();
    let file = plain(&comparison.inspection.file);
    let mut document = Document::new()
        .set("viewBox", format!("0 0 {WIDTH} {HEIGHT}"))
        .set("width", format!("{}mm", coordinate(WIDTH)))
        .set("height", format!("{}mm", coordinate(HEIGHT)))
        .set("role", "img")
        .add(Title::new(format!("Time against finish for {file}")))
        .add(Style::new(format!("{}{CHART_STYLE}", ink::style_sheet())))
        .add(
            group("sheet")
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
        document = document.add(plot(comparison, &marks, widest_um));
    }
    let mut drawn = document.add(side(comparison, widest_um)).to_string();
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

fn plot(comparison: &Comparison, marks: &[Mark<'_>], widest_um: f64) -> Group {
    let chosen = marks.iter().filter(|mark| mark.candidate.chosen);
    let times = marks.iter().map(|mark| mark.minutes.expected);
    let times = times.chain(
        chosen
            .clone()
            .flat_map(|mark| [mark.minutes.low, mark.minutes.high]),
    );
    let across = Decades::over(times, PLOT.x, PLOT.right());
    let asked_um = comparison
        .outlines
        .iter()
        .filter_map(|outline| outline.asked.ra_um);
    let asked_um = asked_um.min_by(f64::total_cmp);
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
        drawn = drawn.add(drawn_mark(comparison, mark, place(mark), radius(mark)));
        if mark.candidate.chosen {
            let at = place(mark);
            let [left, right] = [mark.minutes.low, mark.minutes.high].map(|minutes| across.at(minutes));
            let [low, high] = [mark.ra_um.low, mark.ra_um.high].map(|um| upward.at(um));
            drawn = drawn
                .add(line("may-be", spot(left, at.y), spot(right, at.y)))
                .add(line("may-be", spot(at.x, low), spot(at.x, high)));
        }
    }
    order.reverse();
    drawn = drawn.add(labels(&order, place, radius));
    drawn.add(rows(marks, upward))
}

/// As wide as the expected error on size, the widest of all as wide as there is room for.
fn ring_radius(error_um: f64, widest_um: f64) -> f64 {
    WIDEST * error_um / widest_um
}

fn axes(across: Decades, upward: Decades) -> Group {
    let mut drawn = group("axes").add(rectangle("window", PLOT));
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
            40.0,
            "better is down and to the left",
        ))
}

fn drawn_mark(comparison: &Comparison, mark: &Mark<'_>, at: Spot, radius: f64) -> Group {
    let candidate = mark.candidate;
    let circle = |class: &str, radius: f64| {
        Circle::new()
            .set("class", class)
            .set("cx", coordinate(at.x))
            .set("cy", coordinate(at.y))
            .set("r", coordinate(radius))
    };
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
        plain(&comparison.currency),
        fixed(mark.ra_um.expected, 2),
        fixed(mark.error_um, 1)
    );
    for reason in &candidate.reasons {
        hover.push_str("; ");
        hover.push_str(&plain(reason));
    }
    let drawn = Group::new().add(Title::new(hover)).add(circle(ring, radius));
    if candidate.non_dominated {
        drawn.add(circle(dot, DOT))
    } else {
        drawn
    }
}

/// Names beside the marks that no other beats, as far as they find room; the chosen one has the first choice.
fn labels(
    marks: &[&Mark<'_>],
    place: impl Fn(&Mark<'_>) -> Spot,
    radius: impl Fn(&Mark<'_>) -> f64,
) -> Group {
    let mut drawn = group("labels");
    let mut taken: Vec<Area> = Vec::new();
    for mark in marks {
        let candidate = mark.candidate;
        if !(candidate.chosen || candidate.feasible && candidate.non_dominated) {
            continue;
        }
        let words = format!("{} {}", fixed(candidate.wire_mm, 2), plain(&candidate.wire_kind));
        let (class, size) = if candidate.chosen {
            ("strong number", 2.8)
        } else {
            ("number", 2.1)
        };
        let (at, r) = (place(mark), radius(mark));
        let wide = width(&words, size) * 1.12;
        let tries = [
            spot(at.x - wide / 2.0, at.y - r - 1.0),
            spot(at.x - wide / 2.0, at.y + r + size),
            spot(at.x + r + 1.0, at.y + size / 3.0),
            spot(at.x - r - 1.0 - wide, at.y + size / 3.0),
            spot(at.x - wide / 2.0, at.y - r - 1.5 - size),
            spot(at.x - wide / 2.0, at.y + r + 2.2 * size),
        ];
        let area = |at: Spot| Area::new(at.x, at.y - size, wide, size * 1.2);
        let free =
            |at: &Spot| PLOT.contains(area(*at)) && !taken.iter().any(|other| other.overlaps(area(*at)));
        if let Some(free) = tries.into_iter().find(free) {
            taken.push(area(free));
            drawn = drawn.add(text(class, free, Anchor::Start, size, wide * 1.2, &words));
        }
    }
    drawn
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
    seen.into_iter().fold(group("passes"), |drawn, (passes, y)| {
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

/// What it is of, what was chosen, and how to read it.
fn side(comparison: &Comparison, widest_um: f64) -> Group {
    let mut column = Column {
        drawn: group("side"),
        y: SIDE.y + 5.0,
    };
    column.heading(&plain(&comparison.inspection.file), 4.2);
    column.words(&format!(
        "{}, {} mm thick",
        plain(&comparison.material),
        short(comparison.thickness_mm, 4)
    ));
    column.gap();
    match comparison.candidates.iter().find(|candidate| candidate.chosen) {
        Some(candidate) => column.chosen(candidate, &comparison.currency),
        None => column.heading("nothing in the book reaches what is asked", 2.9),
    }
    column.gap();
    if let Some(plan) = &comparison.chosen {
        column.words(&plan.estimate.confidence);
        column.gap();
    }
    column.heading("How to read it", 2.9);
    column.key(
        "dot",
        "ring",
        "no other is better in time, cost, finish and accuracy at once",
    );
    column.key("", "ring", "expected to reach what is asked");
    column.key("", "ring-short", "falls short of what is asked");
    column.key(
        "dot-chosen",
        "ring-chosen",
        "chosen; its lines show what time and Ra may be",
    );
    column.gap();
    if widest_um > 0.0 {
        column.ring_key(widest_um);
    }
    column.words(
        "Weighed from perimeter, radii and widths; only the chosen one is offset and verified. The model expects; \
         prove by measuring.",
    );
    column.drawn
}

struct Column {
    drawn: Group,
    y: f64,
}

impl Column {
    fn add(&mut self, node: impl Into<Box<dyn svg::Node>>) {
        let drawn = std::mem::replace(&mut self.drawn, Group::new());
        self.drawn = drawn.add(node);
    }

    fn gap(&mut self) {
        self.y += 4.0;
    }

    fn heading(&mut self, words: &str, size: f64) {
        for words in wrapped(words, size * 1.12, SIDE.width, 2) {
            self.add(text(
                "strong",
                spot(SIDE.x, self.y),
                Anchor::Start,
                size,
                SIDE.width,
                &words,
            ));
            self.y += size * 1.5;
        }
    }

    fn words(&mut self, words: &str) {
        for words in wrapped(words, SIZE, SIDE.width, 6) {
            self.add(text(
                "quiet",
                spot(SIDE.x, self.y),
                Anchor::Start,
                SIZE,
                SIDE.width,
                &words,
            ));
            self.y += SIZE * 1.5;
        }
    }

    fn field(&mut self, name: &str, value: &str) {
        const NAME: f64 = 21.0;
        self.add(text(
            "quiet",
            spot(SIDE.x, self.y),
            Anchor::Start,
            SIZE,
            NAME,
            name,
        ));
        let at = spot(SIDE.x + NAME, self.y);
        self.add(text("", at, Anchor::Start, SIZE, SIDE.width - NAME, value));
        self.y += SIZE * 1.6;
    }

    fn chosen(&mut self, candidate: &Candidate, currency: &str) {
        let band = |band: Option<Band>| {
            band.map_or_else(
                || "–".into(),
                |band| {
                    let [low, high] = [band.low, band.high].map(|value| significant(value, 0));
                    format!("{low} to {high}")
                },
            )
        };
        self.heading("Chosen", 2.9);
        let wire = format!(
            "{} mm {}",
            fixed(candidate.wire_mm, 2),
            plain(&candidate.wire_kind)
        );
        self.field("wire", &wire);
        self.field("machine", &plain(&candidate.machine));
        self.field("passes", &words::passes(candidate));
        self.field("time", &candidate.minutes.map_or_else(|| "–".into(), duration));
        self.field("cost", &format!("{} {}", band(candidate.cost), plain(currency)));
        self.field("Ra", &format!("{} µm", band(candidate.ra_um)));
        let error = candidate
            .accuracy_um
            .map_or_else(|| "–".into(), |um| format!("±{} µm", fixed(um, 1)));
        self.field("on size", &error);
        let radius = candidate
            .min_inside_radius_mm
            .map_or_else(|| "–".into(), |mm| format!("{} mm", fixed(mm, 3)));
        self.field("inside radius", &radius);
    }

    fn key(&mut self, dot: &str, ring: &str, words: &str) {
        let at = spot(SIDE.x + 2.5, self.y - 0.8);
        let circle = |class: &str, radius: f64| {
            Circle::new()
                .set("class", class)
                .set("cx", coordinate(at.x))
                .set("cy", coordinate(at.y))
                .set("r", coordinate(radius))
        };
        self.add(circle(ring, 1.9));
        if !dot.is_empty() {
            self.add(circle(dot, DOT));
        }
        for words in wrapped(words, SIZE, SIDE.width - 7.0, 2) {
            self.add(text(
                "",
                spot(SIDE.x + 7.0, self.y),
                Anchor::Start,
                SIZE,
                SIDE.width - 7.0,
                &words,
            ));
            self.y += SIZE * 1.4;
        }
        self.y += 1.4;
    }

    /// The width of a round error beside the rings.
    fn ring_key(&mut self, widest_um: f64) {
        let um = round_length(widest_um);
        let radius = ring_radius(um, widest_um);
        self.y += radius;
        let at = spot(SIDE.x + WIDEST, self.y - 0.8);
        self.add(
            Circle::new()
                .set("class", "ring")
                .set("cx", coordinate(at.x))
                .set("cy", coordinate(at.y))
                .set("r", coordinate(radius)),
        );
        let words = format!("expected error on size: ±{} µm", short(um, 3));
        let x = SIDE.x + 2.0 * WIDEST + 2.0;
        self.add(text(
            "",
            spot(x, self.y),
            Anchor::Start,
            SIZE,
            SIDE.right() - x,
            &words,
        ));
        self.y += radius + 5.0;
    }
}

use svg::node::element::Group;

use super::super::sheet::{Area, Lettering, group, round_length, spot};
use super::super::signs::dot;
use super::super::text::{BOLD, wrapped_at_most};
use super::{DOT, SIZE, WIDEST, Weighed, ring_radius};
use crate::message::number::{fixed, plain, short};
use crate::message::{Lengths, minutes, of_unit};
use crate::plan::Candidate;
use crate::report::words;
use crate::units::Band;

const SIDE: Area = Area::new(216.0, 10.0, 73.0, 190.0);

/// What it is of, what was chosen, and how to read it.
pub(super) fn draw(weighed: &Weighed<'_>, widest_um: f64) -> Group {
    let mut column = Column {
        drawn: group("chart-side"),
        y: SIDE.y + 5.0,
    };
    column.heading(&weighed.file, 4.2);
    column.words(&format!(
        "{}, {} mm thick",
        plain(weighed.material),
        short(weighed.thickness_mm, 4)
    ));
    column.gap();
    match weighed.candidates.iter().find(|candidate| candidate.chosen) {
        Some(candidate) => column.chosen(candidate, weighed.currency),
        None => column.heading("no wire and number of passes in the shop data reaches this", 2.9),
    }
    column.gap();
    if let Some(confidence) = &weighed.confidence {
        column.words(confidence);
        column.gap();
    }
    column.heading("How to read it", 2.9);
    column.key(
        "dot",
        "ring",
        "not beaten on all four: time, cost, finish, accuracy",
    );
    column.key("", "ring", "expected to reach the requirement, after gauging");
    column.key("", "ring-short", "falls short of the requirement");
    column.key(
        "dot-chosen",
        "ring-chosen",
        "chosen; its lines show the likely range of time and Ra",
    );
    column.gap();
    if widest_um > 0.0 {
        column.ring_key(widest_um);
    }
    column.words(
        "What no other beats is computed from its own paths, the others are estimated from perimeters and take no less. Model estimate: confirm by measuring.",
    );
    let not_drawn = weighed
        .candidates
        .iter()
        .filter(|candidate| !candidate.possible)
        .count();
    if not_drawn > 0 {
        column.gap();
        let words = format!(
            "not drawn, because it cannot be cut: {} of {}",
            not_drawn,
            weighed.candidates.len()
        );
        column.words(&words);
    }
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
        for words in wrapped_at_most(words, size * BOLD, SIDE.width, 2) {
            self.add(Lettering::new("strong", size).write(spot(SIDE.x, self.y), SIDE.width, &words));
            self.y += size * 1.5;
        }
    }

    fn words(&mut self, words: &str) {
        for words in wrapped_at_most(words, SIZE, SIDE.width, 6) {
            self.add(Lettering::new("quiet", SIZE).write(spot(SIDE.x, self.y), SIDE.width, &words));
            self.y += SIZE * 1.5;
        }
    }

    fn field(&mut self, name: &str, value: &str) {
        const NAME: f64 = 21.0;
        self.add(Lettering::new("quiet", SIZE).write(spot(SIDE.x, self.y), NAME, name));
        let at = spot(SIDE.x + NAME, self.y);
        self.add(Lettering::new("", SIZE).write(at, SIDE.width - NAME, value));
        self.y += SIZE * 1.6;
    }

    fn chosen(&mut self, candidate: &Candidate, currency: &str) {
        let band = |band: Option<Band>| {
            band.map_or_else(
                || "–".into(),
                |band| {
                    let [low, expected, high] = of_unit(band, "").fixed(2).cells(Lengths::Mm);
                    let ends = [low, high].map(|end| end.or_else(|| expected.clone()).unwrap_or_default());
                    if ends[0] == ends[1] {
                        ends[0].clone()
                    } else {
                        ends.join(" to ")
                    }
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
        let totals = candidate.totals;
        let time = totals.map_or_else(
            || "–".into(),
            |totals| minutes(totals.order_minutes).fixed(1).written(Lengths::Mm),
        );
        self.field("order", &time);
        let cost = band(totals.map(|totals| totals.cost_order));
        self.field("cost", &format!("{cost} {}", plain(currency)));
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

    fn key(&mut self, middle: &str, ring: &str, words: &str) {
        let at = spot(SIDE.x + 2.5, self.y - 0.8);
        self.add(dot(ring, at, 1.9));
        if !middle.is_empty() {
            self.add(dot(middle, at, DOT));
        }
        for words in wrapped_at_most(words, SIZE, SIDE.width - 7.0, 2) {
            self.add(Lettering::new("", SIZE).write(spot(SIDE.x + 7.0, self.y), SIDE.width - 7.0, &words));
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
        self.add(dot("ring", at, radius));
        let words = format!("expected error on size: ±{} µm", short(um, 3));
        let x = SIDE.x + 2.0 * WIDEST + 2.0;
        self.add(Lettering::new("", SIZE).write(spot(x, self.y), SIDE.right() - x, &words));
        self.y += radius + 5.0;
    }
}

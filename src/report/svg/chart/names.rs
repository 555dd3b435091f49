//! Names of the marks and of the rows.

use std::collections::BTreeSet;

use svg::node::element::Group;

use super::super::plot::{Plot, Scale};
use super::super::sheet::{Area, Lettering, SheetSpot, group, spot};
use super::super::text::{BOLD, width};
use super::Mark;
use crate::message::number::{fixed, plain};
use crate::report::words;

/// Names beside the chosen mark, and beside the fastest and the cheapest of each number of passes that reach what is
/// asked, as far as they find room.
pub(super) fn labels(
    plot: Plot,
    marks: &[Mark<'_>],
    place: impl Fn(&Mark<'_>) -> SheetSpot,
    radius: impl Fn(&Mark<'_>) -> f64,
) -> Group {
    let name = |mark: &Mark<'_>| {
        let candidate = mark.candidate;
        format!("{} {}", fixed(candidate.wire_mm, 2), plain(&candidate.wire_kind))
    };
    let feasible: Vec<&Mark<'_>> = marks.iter().filter(|mark| mark.candidate.feasible).collect();
    let mut named: Vec<(&Mark<'_>, String, NameSide)> = Vec::new();
    if let Some(mark) = feasible.iter().find(|mark| mark.candidate.chosen) {
        named.push((mark, name(mark), NameSide::Above));
    }
    let numbers: BTreeSet<&[usize]> = feasible
        .iter()
        .map(|mark| mark.candidate.passes_by_group.as_slice())
        .collect();
    let cost = |mark: &Mark<'_>| {
        mark.candidate
            .totals
            .map_or(f64::INFINITY, |totals| totals.cost_order.expected)
    };
    for passes in numbers {
        let row = || {
            feasible
                .iter()
                .filter(|mark| mark.candidate.passes_by_group == passes)
        };
        let fastest = row().min_by(|a, b| a.minutes.expected.total_cmp(&b.minutes.expected));
        let cheapest = row().min_by(|a, b| cost(a).total_cmp(&cost(b)));
        if let Some(mark) = fastest.filter(|mark| !mark.candidate.chosen) {
            named.push((mark, format!("fastest: {}", name(mark)), NameSide::Above));
        }
        if let Some(mark) = cheapest.filter(|mark| !mark.candidate.chosen) {
            named.push((mark, format!("cheapest: {}", name(mark)), NameSide::Below));
        }
    }
    let mut drawn = group("chart-labels");
    let mut taken: Vec<Area> = Vec::new();
    for (mark, words, side) in named {
        let (class, size) = if mark.candidate.chosen {
            ("strong number", plot.size * 1.12)
        } else {
            ("number", plot.size * 0.84)
        };
        let (at, r) = (place(mark), radius(mark));
        let wide = width(&words, size) * BOLD;
        let y = match side {
            NameSide::Above => at.y - r - 1.0,
            NameSide::Below => at.y + r + size,
        };
        let area = |x: f64| Area::new(x, y - size, wide, size * 1.2);
        let free =
            |x: &f64| plot.area.contains(area(*x)) && !taken.iter().any(|other| other.overlaps(area(*x)));
        let tries = [at.x - wide / 2.0, at.x - r, at.x + r - wide];
        if let Some(x) = tries.into_iter().find(free) {
            taken.push(area(x));
            let room = wide * BOLD;
            drawn = drawn.add(Lettering::new(class, size).write(spot(x, y), room, &words));
        }
    }
    drawn
}

/// Where a name stands.
#[derive(Clone, Copy)]
enum NameSide {
    Above,
    Below,
}

/// Draws the numbers of passes at the right edge, each at the finish that it leaves.
pub(super) fn rows(plot: Plot, marks: &[Mark<'_>], upward: Scale) -> Group {
    let mut seen: Vec<(String, f64)> = Vec::new();
    for mark in marks {
        let (passes, y) = (words::passes(mark.candidate), upward.at(mark.ra_um.expected));
        if seen.iter().all(|(_, other)| (other - y).abs() > plot.size) {
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
            drawn.add(Lettering::new("quiet", plot.size).write_level(
                spot(plot.area.right() + 1.5, y),
                plot.size * 5.6,
                &words,
            ))
        })
}

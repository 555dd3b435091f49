//! The labels that find no place on the part, in a table: none is left out.

use super::flow::Flow;
use super::repeats::{self, RegisterRow};
use super::sheet::{LARGE, SMALL};
use crate::contour::Contour;
use crate::id::ContourId;
use crate::message::Lengths;
use crate::report::words;

/// Most rows of a kind; what is left is one row more.
const MOST: usize = 150;
/// Most stretches of the order of cutting.
const MOST_RUNS: usize = 600;

/// Labels without a place.
#[derive(Default)]
pub(super) struct Register<'a> {
    pub(super) contours: Vec<&'a Contour>,
    /// Number in the order of cutting, and the contour that is cut.
    pub(super) order: Vec<(usize, ContourId)>,
    /// What is said at a stop, and the contours where it is.
    pub(super) stops: Vec<(String, Vec<ContourId>)>,
    /// What is written once on the part for many stops, and the contours where they are.
    pub(super) alike_stops: Vec<(String, Vec<ContourId>)>,
}

impl Register<'_> {
    pub(super) fn draw(&self, lengths: Lengths, flow: &mut Flow) {
        let contours = repeats::rows(self.contours.iter().copied(), MOST, lengths);
        let order = self.order_row();
        let stop_words = |(words, contours): &(String, Vec<ContourId>)| {
            let of = if contours.len() == 1 {
                "contour"
            } else {
                "contours"
            };
            format!(
                "{words}: {of} {}",
                words::number_runs(contours.iter().map(|id| id.number()))
            )
        };
        let stops = self.stops.iter().map(|stop| (stop_words(stop), stop.1.len()));
        let alike_stops = self.alike_stops.iter().map(|stop| (stop_words(stop), 0));
        let kinds = [
            (
                "stop",
                "stops: not written on the part",
                LARGE,
                shortened(stops.collect()),
            ),
            (
                "alike-stop",
                "stops: where the alike ones are",
                LARGE,
                alike_stops.collect(),
            ),
            ("contour", "contours: not numbered on the part", SMALL, contours),
            (
                "order",
                "order of cutting: not numbered on the part",
                SMALL,
                order.into_iter().collect(),
            ),
        ];
        for (kind, heading, size, rows) in kinds {
            if rows.is_empty() {
                continue;
            }
            flow.gap(2.0);
            flow.begin(&format!("register-{kind}"));
            flow.keep(4.0 * size);
            flow.words("strong", size, 0.0, heading);
            for (words, count) in rows {
                if count == 0 {
                    flow.words("", size, 0.0, &words);
                } else {
                    flow.labelled((kind, count), ("", size), 0.0, &words);
                }
            }
        }
    }
}

impl Register<'_> {
    /// Returns all numbers in one row: there are many where there are any.
    fn order_row(&self) -> Option<RegisterRow> {
        let words: Vec<String> = order_runs(&self.order);
        let shown = words.len().min(MOST_RUNS);
        let more = words.len() - shown;
        let more = if more > 0 {
            format!("; and {more} more: the JSON has each")
        } else {
            String::new()
        };
        let words = format!("number: contour. {}{more}", words[..shown].join("; "));
        (!self.order.is_empty()).then_some((words, self.order.len()))
    }
}

/// Returns as many rows as a sheet bears, the rest told in one.
fn shortened(mut rows: Vec<RegisterRow>) -> Vec<RegisterRow> {
    if rows.len() > MOST {
        let rest: usize = rows.drain(MOST..).map(|row| row.1).sum();
        rows.push((format!("and {rest} more: the JSON has each"), rest));
    }
    rows
}

/// Returns the order of cutting, stretches in which contours follow one another upward or downward in a row.
fn order_runs(order: &[(usize, ContourId)]) -> Vec<String> {
    let step = |a: &(usize, ContourId), b: &(usize, ContourId)| {
        let (from, to) = (a.1.number(), b.1.number());
        let is_step = a.0 + 1 == b.0 && from.abs_diff(to) == 1;
        is_step.then_some(from < to)
    };
    let mut rows = Vec::new();
    let mut rest = order;
    while let [first, ..] = rest {
        let way = rest.get(1).and_then(|second| step(first, second));
        let run = match way {
            None => 1,
            Some(way) => {
                1 + rest
                    .windows(2)
                    .take_while(|pair| step(&pair[0], &pair[1]) == Some(way))
                    .count()
            }
        };
        let last = rest[..run].last().unwrap_or(first);
        rows.push(if run == 1 {
            format!("{}:\u{a0}{}", first.0, first.1)
        } else {
            format!(
                "{}\u{a0}to\u{a0}{}:\u{a0}{}\u{a0}to\u{a0}{}",
                first.0, last.0, first.1, last.1
            )
        });
        rest = &rest[run..];
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_a_row_are_told_as_one() {
        assert_eq!(words::number_runs([1, 2, 3, 7, 9, 10]), "1–3, 7, 9, 10");
        let order =
            [(1, 5), (2, 6), (3, 7), (4, 6), (5, 5), (9, 1)].map(|(number, id)| (number, ContourId::nth(id)));
        let runs: Vec<String> = order_runs(&order)
            .iter()
            .map(|run| run.replace('\u{a0}', " "))
            .collect();
        assert_eq!(runs, ["1 to 3: 5 to 7", "4 to 5: 6 to 5", "9: 1"]);
    }
}

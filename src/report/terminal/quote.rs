use std::fmt::Write as _;

use super::{ERROR, HEADING, WARNING};
use crate::message::Lengths;
use crate::message::Message;
use crate::message::number::{counted, plain};
use crate::message::{minutes as minutes_of, of_unit};
use crate::report::quote::Sums;
use crate::units::Band;

/// Reasons listed at most.
const LISTED: usize = 20;

/// What a table of drawings comes to, and why rows of it are refused, to be settled or only the nearest.
pub fn quote(sums: &Sums, lengths: Lengths) -> String {
    let mut text = format!(
        "{HEADING}{}{HEADING:#}: {} planned, {} where nothing reaches the requirement, {} refused{}\n",
        counted(sums.rows(), "drawing"),
        sums.planned,
        sums.nearest,
        sums.refused,
        match sums.to_be_settled {
            0 => String::new(),
            count => format!(", {count} to be settled: in no total until their questions are answered"),
        }
    );
    if sums.with_errors > 0 {
        let _ = writeln!(
            text,
            "  {WARNING}{}{WARNING:#} with an error in the drawing: see worst_finding; its numbers may be short of what is missing",
            counted(sums.with_errors, "drawing")
        );
    }
    if sums.pieces > 0 {
        let [low, expected, high] = sums.minutes;
        let minutes = Band { low, expected, high };
        let _ = writeln!(
            text,
            "  {} on the machine, with set-ups: {}",
            counted(sums.pieces, "piece"),
            minutes_of(minutes).fixed(1).written(lengths)
        );
        match &sums.currency {
            Some(currency) => {
                let currency = plain(currency);
                let [low, expected, high] = sums.cost;
                let cost = of_unit(Band { low, expected, high }, "")
                    .fixed(2)
                    .range_first()
                    .written(lengths);
                let _ = writeln!(text, "  cost of all orders, without margin: {cost} {currency}");
            }
            None => text.push_str("  cost of all orders: not summed, the rows have several currencies\n"),
        }
    }
    // Rows come as they are done, in any order.
    let mut reasons: Vec<&(String, Message)> = sums.reasons.iter().collect();
    reasons.sort_by_key(|(file, reason)| (file.as_str(), reason.to_string()));
    for (file, reason) in reasons.iter().take(LISTED) {
        let _ = writeln!(
            text,
            "  {ERROR}{}{ERROR:#}: {}",
            plain(file),
            plain(&reason.in_unit(lengths))
        );
    }
    if reasons.len() > LISTED {
        let _ = writeln!(
            text,
            "  and {} more: see the column `reason`",
            reasons.len() - LISTED
        );
    }
    text
}

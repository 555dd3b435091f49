//! Computes what stopping for a slug takes, and what a minute of clearing one away costs against a minute of that.

use crate::pass::Setting;
use crate::shop::{Book, Threading};
use crate::units::MIN_PER_HOUR;

/// Returns the minutes of a stop for a slug (the tab cut, the slug removed, the wire threaded again), and the cost of a minute
/// of clearing a slug away over that of such a minute. Expected values of the book; the wire runs and the operator is
/// away but for the attended share while a slug is cleared away, the wire stands and the operator is there at a stop.
pub(super) fn slug_work(book: &Book, setting: Setting<'_>) -> (f64, f64) {
    let (times, prices) = (&book.times, &book.prices);
    let operator = prices.labour_per_hour.value() * (1.0 + prices.labour_overhead_share.value());
    let machine = book.machine_per_hour().value.expected + prices.filters_and_resin_per_hour.value();
    let (thread_min, threader) = match setting.machine.threading {
        Threading::Automatic => (times.thread_automatic_min.value(), 0.0),
        Threading::Hand => (times.thread_by_hand_min.value(), operator),
    };
    let hand_min = times.tab_cut_off_min.value() + times.slug_handling_min.value();
    let stop_min = hand_min + thread_min;
    let stop = (hand_min * (machine + operator) + thread_min * (machine + threader)) / stop_min;
    let clearing = machine + wire_per_hour(book, setting) + times.attended_share.value() * operator;
    // Where a stop takes no time, or costs nothing, minutes decide.
    (stop_min, if stop > 0.0 { clearing / stop } else { 1.0 })
}

/// Cost of the wire that runs off in an hour.
fn wire_per_hour(book: &Book, setting: Setting<'_>) -> f64 {
    let wire = setting.wire;
    let metres = book.wire.run_speed_m_min.value() * MIN_PER_HOUR;
    metres * wire.kg_per_m() * wire.kind.price_per_kg.value()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pass::PassRequest;

    /// By hand, from the built-in book: 3 + 3 + 1 min; (6 · (45 + 3 + 50) + 1 · 48)/7 at a stop, 45 + 3 + 0.2489 · 12 + 0.1 · 50
    /// while clearing, an hour.
    #[test]
    fn a_stop_and_a_minute_of_clearing_are_those_of_the_book() {
        let book = Book::built_in().expect("sound");
        let request = PassRequest::new("tool-steel", 60.0, 0.25, 4);
        let (stop_min, worth) = slug_work(&book, request.setting(&book).expect("served"));
        let machine = book.prices.machine_per_hour.value() + 3.0;
        let stop = (6.0 * (machine + 50.0) + machine) / 7.0;
        assert!((stop_min - 7.0).abs() < 1e-12);
        let right = (machine + 0.2489 * 12.0 + 5.0) / stop;
        assert!((worth - right).abs() < 1e-4, "{worth}, not {right}");
    }
}

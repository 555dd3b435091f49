//! What charts share: a scale of values along the sheet with its round ticks, and the plot that it stands on.

use svg::node::element::{Group, Text};

use super::sheet::{Area, Lettering, group, line, rectangle, round_length, spot};
use crate::elementary::{ln, log10};
use crate::message::number::short;

/// Where values are drawn, and the size of the words round it, mm.
#[derive(Clone, Copy)]
pub(super) struct Plot {
    pub(super) area: Area,
    pub(super) size: f64,
}

/// A scale of values between two places of the sheet, mm.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    in_decades: bool,
}

/// Style of the lines at the ticks.
pub(super) const STYLE: &str = "
.grid{fill:none;stroke:#d9d6cc;stroke-width:0.13}
";

impl Scale {
    /// Over `values` in decades, with some room at both ends.
    fn decades(values: impl Iterator<Item = f64> + Clone, from: f64, to: f64) -> Self {
        const ROOM: f64 = 1.15;
        Self {
            low: values.clone().fold(f64::INFINITY, f64::min) / ROOM,
            high: values.fold(0.0, f64::max) * ROOM,
            from,
            to,
            in_decades: true,
        }
    }

    /// Returns where a value stands.
    pub(super) fn at(self, value: f64) -> f64 {
        let share = if self.in_decades {
            ln(value / self.low) / ln(self.high / self.low)
        } else {
            (value - self.low) / (self.high - self.low)
        };
        self.from + share * (self.to - self.from)
    }

    /// Returns round values: in decades 1, 2 and 5 times the powers of ten; what lies between where those are few; equal steps where these are
    /// few too.
    fn ticks(self) -> Vec<f64> {
        const FEW: usize = 4;
        const COARSE: &[f64] = &[1.0, 2.0, 5.0];
        const FINE: &[f64] = &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0];
        if self.in_decades {
            let mut finer = [COARSE, FINE].into_iter().map(|steps| self.steps(steps));
            if let Some(ticks) = finer.find(|ticks| ticks.len() >= FEW) {
                return ticks;
            }
        }
        let step = round_length((self.high - self.low) / FEW as f64);
        let (first, last) = ((self.low / step).ceil(), (self.high / step).floor());
        (first as i32..=last as i32)
            .map(|tick| f64::from(tick) * step)
            .collect()
    }

    /// These times the powers of ten, as far as they lie on the scale.
    fn steps(self, steps: &[f64]) -> Vec<f64> {
        let (first, last) = (log10(self.low).floor() as i32, log10(self.high).ceil() as i32);
        let all = (first..=last).flat_map(|decade| steps.iter().map(move |step| step * 10f64.powi(decade)));
        all.filter(|tick| (self.low..=self.high).contains(tick)).collect()
    }
}

impl Plot {
    pub(super) const fn new(area: Area, size: f64) -> Self {
        Self { area, size }
    }

    /// Returns a scale from left to right, alike all along.
    pub(super) fn even_across(self, low: f64, high: f64) -> Scale {
        Scale {
            low,
            high,
            from: self.area.x,
            to: self.area.right(),
            in_decades: false,
        }
    }

    /// Returns a scale from left to right in decades.
    pub(super) fn across(self, values: impl Iterator<Item = f64> + Clone) -> Scale {
        Scale::decades(values, self.area.x, self.area.right())
    }

    /// Returns a scale from bottom to top in decades.
    pub(super) fn upward(self, values: impl Iterator<Item = f64> + Clone) -> Scale {
        Scale::decades(values, self.area.bottom(), self.area.y)
    }

    /// Returns a scale from bottom to top, alike all along, over `values` with some room at both ends.
    pub(super) fn even_upward(self, values: impl Iterator<Item = f64>) -> Scale {
        const ROOM: f64 = 0.08;
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        // Where all are alike the scale still has a height.
        let room = if high > low { ROOM * (high - low) } else { 1.0 };
        Scale {
            low: low - room,
            high: high + room,
            from: self.area.bottom(),
            to: self.area.y,
            in_decades: false,
        }
    }

    /// Returns words below its foot, their middle at `x`.
    pub(super) fn words_below(self, x: f64, words: &str) -> Text {
        const ROOM: f64 = 20.0;
        let at = spot(x, self.area.bottom() + self.size * 1.6);
        Lettering::middle("quiet", self.size).write(at, ROOM, words)
    }

    /// Draws the window of a plot with the lines and values of both scales.
    pub(super) fn axes(self, across: Scale, upward: Scale) -> Group {
        group("chart-axes")
            .add(rectangle("window", self.area))
            .add(self.foot(across))
            .add(self.side(upward))
    }

    /// Draws the window of a plot with the lines and values of its upward scale.
    pub(super) fn window(self, upward: Scale) -> Group {
        Group::new()
            .add(rectangle("window", self.area))
            .add(self.side(upward))
    }

    /// Draws a line at each tick of a scale from left to right, with its value below.
    pub(super) fn foot(self, across: Scale) -> Group {
        across.ticks().into_iter().fold(Group::new(), |drawn, tick| {
            let x = across.at(tick);
            drawn
                .add(line("grid", spot(x, self.area.y), spot(x, self.area.bottom())))
                .add(self.words_below(x, &short(tick, 3)))
        })
    }

    /// Draws a line at each tick of a scale from bottom to top, with its value to the left.
    fn side(self, upward: Scale) -> Group {
        const ROOM: f64 = 12.0;
        let values = Lettering::end("quiet", self.size);
        upward.ticks().into_iter().fold(Group::new(), |drawn, tick| {
            let y = upward.at(tick);
            let left = spot(self.area.x - 1.5, y);
            drawn
                .add(line("grid", spot(self.area.x, y), spot(self.area.right(), y)))
                .add(values.write_level(left, ROOM, &short(tick, 3)))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_scale_has_round_values_enough_to_be_read() {
        const PLOT: Plot = Plot::new(Area::new(10.0, 0.0, 100.0, 50.0), 2.0);
        let decades = |low, high| PLOT.across([low, high].into_iter()).ticks();
        assert_eq!(decades(1.2, 60.0), [2.0, 5.0, 10.0, 20.0, 50.0]);
        assert_eq!(decades(30.0, 90.0), [30.0, 40.0, 50.0, 60.0, 80.0, 100.0]);
        assert_eq!(decades(0.5, 0.5).len(), 7, "0.44 to 0.56");
        let even = PLOT.even_across(0.0, 17.2);
        assert_eq!(even.ticks(), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]);
        assert_eq!([0.0, 8.6, 17.2].map(|value| even.at(value)), [10.0, 60.0, 110.0]);
        let (low, middle, high) = (1.0, 10.0, 100.0);
        let upward = PLOT.upward([low, high].into_iter());
        let [below, at, above] = [low, middle, high].map(|value| upward.at(value));
        assert!(
            (below - at - (at - above)).abs() < 1e-9,
            "decades are equally high"
        );
    }
}

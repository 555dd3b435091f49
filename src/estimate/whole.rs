//! Everything that is estimated of a job, in one call.

use super::accuracy::{Accuracy, AccuracyInput, accuracy};
use super::cost::{Confidence, CostBreakdown, costs};
use super::cut::{Cut, CutGroup, PassLength, cut};
use super::order::Order;
use super::time::{AuxiliaryWork, Time, time};
use super::totals::JobTotals;
use super::wire_bow::{WireBow, wire_bow};
use crate::job::OffsetBasis;
use crate::pass::{Setting, Surface, surface};
use crate::shop::{Book, Figure};
use crate::units::MIN_PER_HOUR;

/// What an estimate is made of.
#[derive(Clone, Copy, Debug)]
pub struct EstimateInput<'a> {
    /// The book.
    pub book: &'a Book,
    /// Material, wire and machine.
    pub setting: Setting<'a>,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// The demand groups, their passes and walls.
    pub groups: &'a [CutGroup<'a>],
    /// Length of every pass of every group.
    pub lengths: &'a [PassLength],
    /// What a piece asks for beside its passes.
    pub work: &'a AuxiliaryWork,
    /// What is ordered.
    pub order: Order,
    /// Distance from the farthest feature to its pick-up, mm.
    pub pickup_mm: f64,
    /// How well the offset is known.
    pub offset_basis: OffsetBasis,
    /// Swing of the room from night to day, K, where it is not the book's.
    pub room_swing_k: Option<f64>,
    /// All that is to be cut has a path and the machine takes it; else nothing is summed up.
    pub is_whole: bool,
}

/// The wall that a demand group gets.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct GroupQuality {
    /// Its surface: that of the last pass, or of the first where a part of it is not skimmed.
    pub surface: Surface,
    /// Its accuracy budget; `None` when a path is missing or the machine does not take it, because heat goes with the hours, and when a part of it is
    /// not skimmed, because its wall is not that of the last pass.
    pub accuracy: Option<Accuracy>,
}

/// All that is estimated.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Estimate {
    /// The base: length × thickness / area rate, area and wire.
    pub cut: Cut,
    /// All terms of time; `None` when a path is missing or the machine does not take it.
    pub time: Option<Time>,
    /// The ledger; `None` when a path is missing or the machine does not take it.
    pub costs: Option<CostBreakdown>,
    /// How the wire stands in the rough cut.
    pub wire: WireBow,
    /// How far the times and prices can be trusted.
    pub confidence: Confidence,
}

/// Computes time, wire and money of a job, and accuracy and surface of each of its groups, in their order.
pub fn estimate(facts: EstimateInput<'_>) -> (Estimate, Vec<GroupQuality>) {
    let EstimateInput {
        book,
        setting,
        thickness_mm,
        groups,
        work,
        ..
    } = facts;
    let cut = cut(thickness_mm, groups, facts.lengths);
    let cut = if facts.is_whole { cut } else { cut.without_totals() };
    let time = time(book, setting, thickness_mm, groups, &cut, work);
    let calibration = groups.first().and_then(|group| group.schedule.calibration);
    let costs = time
        .as_ref()
        .map(|time| costs(book, setting, time, work, facts.order, calibration));
    let hours = time
        .as_ref()
        .map(|time| time.machine_minutes.value.expected / MIN_PER_HOUR);
    let quality = groups.iter().map(|group| quality(&facts, group, hours)).collect();
    let estimate = Estimate {
        cut,
        time,
        costs,
        wire: wire_bow(book, setting, thickness_mm),
        confidence: Confidence::of(calibration),
    };
    (estimate, quality)
}

/// The wall of one group; `hours` are those that the machine is held.
fn quality(facts: &EstimateInput<'_>, group: &CutGroup<'_>, hours: Option<f64>) -> GroupQuality {
    let last = group.schedule.left_by(group.skimmed);
    let input = |hours| AccuracyInput {
        size_mm: group.size_mm,
        pickup_mm: facts.pickup_mm,
        hours,
        offset_basis: facts.offset_basis,
        room_swing_k: facts.room_swing_k,
    };
    GroupQuality {
        surface: surface(facts.book, &last.ra),
        accuracy: hours
            .filter(|_| group.skimmed)
            .map(|hours| accuracy(facts.book, facts.setting, last, input(hours))),
    }
}

impl Estimate {
    /// Returns what the job takes and costs; `None` where there are no totals.
    pub fn totals(&self) -> Option<JobTotals> {
        Some(JobTotals::of(self.time.as_ref()?, self.costs.as_ref()?))
    }

    /// Every figure of the estimate and of the walls of its groups with its terms, in the order in which they are made.
    pub fn figures<'a>(&'a self, quality: impl IntoIterator<Item = &'a GroupQuality>) -> Vec<&'a Figure> {
        let mut figures: Vec<&Figure> = self.cut.figures.iter().collect();
        if let Some(time) = &self.time {
            // The first term of a piece is the base, listed with the cut.
            figures.extend(time.piece.iter().skip(1).map(|term| &term.minutes));
            figures.extend([&time.running, &time.attendance, &time.setup]);
            figures.extend([&time.wire.minutes, &time.wire.metres, &time.wire.kg]);
            figures.extend([&time.machine_minutes, &time.attended_minutes]);
            figures.extend([&time.total_minutes, &time.unattended_hours, &time.shifts]);
        }
        if let Some(costs) = &self.costs {
            figures.extend(costs.totals.figures());
            figures.extend(&costs.rates);
            figures.push(&costs.before_scrap);
            figures.extend(costs.fixed.iter().chain(&costs.each));
            figures.extend(costs.sums());
        }
        for quality in quality {
            figures.extend(&quality.surface.scales);
            figures.extend([&quality.surface.rz_um, &quality.surface.recast_um]);
            if let Some(accuracy) = &quality.accuracy {
                figures.extend(accuracy.terms.iter().map(|term| &term.half_width_um));
                figures.extend(accuracy.combined.iter().chain(&accuracy.modelled));
                figures.extend([&accuracy.bias_per_side_um, &accuracy.bias_on_size_um]);
            }
        }
        figures.extend([
            &self.wire.tension_n,
            &self.wire.lag_um,
            &self.wire.bow_um,
            &self.wire.first_mode_hz,
        ]);
        figures
    }
}

//! Weighs one combination of wire, machine and passes: estimated from perimeter, radii and widths before any path is laid, or
//! computed from its own paths.

use std::f64::consts::SQRT_2;

use serde::Serialize;

use super::Shortfall;
use super::cut_facts::CutFacts;
use super::demand_group::DemandGroup;
use super::requirement::obstacles;
use super::selection_input::SelectionInput;
use super::wire_and_machine::WireAndMachine;
use crate::elementary::sin;
use crate::estimate::{
    self, Accuracy, AccuracyInput, AuxiliaryWork, CostBreakdown, CutGroup, JobTotals, PassLength, Time,
};
use crate::id::GroupId;
use crate::job::Scope;
use crate::pass::{self, Pass, PassKind, Schedule};
use crate::tolerance::SMOOTH_JOINT_RAD;
use crate::toolpath::Incomplete;
use crate::units::{Band, MIN_PER_HOUR, UM_PER_MM};

/// Where the figures of a candidate come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum FigureBasis {
    /// From perimeters: minutes, cost and expected error are no more than its own paths would give.
    #[default]
    Estimated,
    /// From its own verified paths and the order in which they are cut.
    Computed,
}

/// An expected error, held against what is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct WorstError {
    /// Known shift and expanded uncertainty, with what a prescribed aim lies off the middle, µm.
    pub error_um: f64,
    /// On size or of one wall, as the limits are.
    pub scope: Scope,
    /// Half the width of the limits, µm; `None` where none are asked.
    pub half_um: Option<f64>,
}

impl WorstError {
    /// The error as a share of its limit; of what has none the error itself, behind all that have.
    fn against_limit(self) -> (bool, f64) {
        let share = self.half_um.map(|half_um| self.error_um / half_um);
        (share.is_some(), share.unwrap_or(self.error_um))
    }
}

/// A combination, weighed.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Candidate {
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// Machine.
    pub machine: String,
    /// Most passes of any demand group.
    pub passes: usize,
    /// Passes of each demand group, in the order of the outlines.
    pub passes_by_group: Vec<usize>,
    /// It can be cut, whatever the requirement.
    pub possible: bool,
    /// It can be cut, and is expected to meet all requirements.
    pub feasible: bool,
    /// Why it is not feasible.
    pub reasons: Vec<Shortfall>,
    /// Demand groups that more passes may help.
    pub(super) failing_groups: Vec<GroupId>,
    /// By how much it falls short of the requirements, as a sum of relative excesses; 0 when it misses nothing.
    pub shortfall: f64,
    /// Where its minutes, cost and accuracy come from.
    pub basis: FigureBasis,
    /// What it takes and costs.
    pub totals: Option<JobTotals>,
    /// All that is drawn, cut once, with its set-up and its start holes, min.
    pub minutes: Option<Band>,
    /// Roughest Ra of any demand group, µm.
    pub ra_um: Option<Band>,
    /// Largest expected error on size of any demand group: known shift and expanded uncertainty, µm; `None` where a part
    /// is not skimmed, too.
    pub accuracy_um: Option<f64>,
    /// The same before a test piece is gauged, with the offset as modelled, µm.
    pub accuracy_modelled_um: Option<f64>,
    /// The error that is largest against its limits; on size where none are asked. `None` as for the accuracy.
    pub worst_error: Option<WorstError>,
    /// Smallest inside radius left on the part, mm.
    pub min_inside_radius_mm: Option<f64>,
    /// Largest deviation at inside corners that the wire does not reach, µm; `None` without inside corners, and
    /// for a cusp, where only the path tells.
    pub unreached_um: Option<f64>,
    /// No other possible candidate is at least as good in time, cost, finish and accuracy and better in one.
    pub non_dominated: bool,
    /// The one that is taken.
    pub chosen: bool,
}

/// Weighs one combination before its paths are laid. `passes` are those of each group.
pub fn evaluate(input: &SelectionInput<'_>, setup: &WireAndMachine, passes: &[usize]) -> Candidate {
    weigh(input, setup, passes, None)
}

/// Weighs one combination by its own paths, where they are computed.
pub(super) fn weigh(
    input: &SelectionInput<'_>,
    setup: &WireAndMachine,
    passes: &[usize],
    computed: Option<CutFacts<'_>>,
) -> Candidate {
    let mut candidate = Candidate {
        wire_mm: setup.wire_mm,
        wire_kind: setup.wire_kind.clone(),
        machine: setup.machine.clone(),
        basis: computed.map_or(FigureBasis::Estimated, |_| FigureBasis::Computed),
        passes: passes.iter().copied().max().unwrap_or(0),
        passes_by_group: passes.to_vec(),
        possible: false,
        feasible: false,
        reasons: Vec::new(),
        failing_groups: Vec::new(),
        shortfall: 0.0,
        totals: None,
        minutes: None,
        ra_um: None,
        accuracy_um: None,
        accuracy_modelled_um: None,
        worst_error: None,
        min_inside_radius_mm: None,
        unreached_um: None,
        non_dominated: false,
        chosen: false,
    };
    if let Err(reason) = candidate.fill(input, setup, passes, computed) {
        candidate.reasons.push(reason);
    }
    candidate.feasible = candidate.possible && candidate.reasons.is_empty();
    match computed {
        Some(computed) => candidate.with_computed(computed),
        None => candidate,
    }
}

/// Computes the length of the wire paths of a pass. Parts that would be loose are not skimmed.
fn path_length_mm(group: &DemandGroup, pass: &Pass) -> f64 {
    let lengths = match pass.kind {
        PassKind::Rough => &group.roughed,
        PassKind::Skim => &group.skimmed,
    };
    lengths.at_mm(pass.offset_mm)
}

impl Candidate {
    /// Its wire and machine.
    pub(super) fn wire_and_machine(&self) -> WireAndMachine {
        WireAndMachine {
            wire_mm: self.wire_mm,
            wire_kind: self.wire_kind.clone(),
            machine: self.machine.clone(),
        }
    }

    /// By how much the finish falls short, as a sum of relative excesses.
    pub(super) fn finish_excess(&self) -> f64 {
        let finishes = self.reasons.iter().filter_map(Shortfall::finish_excess);
        finishes.sum()
    }

    /// Whether the limits of the machine are all that keeps it from being cut.
    pub(super) fn is_only_beyond_machine(&self) -> bool {
        let mut obstacles = self.reasons.iter().filter(|reason| reason.is_obstacle());
        self.is_beyond_machine() && obstacles.all(Shortfall::is_beyond_machine)
    }

    /// Whether it is beyond a limit of the machine, and its paths can be computed all the same.
    pub(super) fn is_beyond_machine(&self) -> bool {
        let mut reasons = self.reasons.iter();
        reasons.any(Shortfall::is_beyond_machine) && self.has_paths()
    }

    /// Whether its paths can be computed.
    pub(super) fn has_paths(&self) -> bool {
        !self.reasons.iter().any(Shortfall::keeps_from_planning)
    }

    /// This candidate with what its own paths miss.
    fn with_computed(mut self, computed: CutFacts<'_>) -> Self {
        // Its paths say better than its contours which limits of the machine it goes beyond.
        let beyond = computed.process.beyond_machine.iter().cloned();
        self.reasons.retain(|reason| !reason.is_beyond_machine());
        self.reasons.extend(beyond.map(Shortfall::BeyondMachine));
        self.possible = !self.reasons.iter().any(Shortfall::is_obstacle);
        self.feasible = self.possible && self.reasons.is_empty();
        if self.feasible {
            self.reasons = computed.missed();
            self.feasible = self.reasons.is_empty();
        }
        let left = computed
            .toolpaths
            .unreached
            .iter()
            .map(|place| place.deviation_mm);
        let left_um = left.max_by(f64::total_cmp).map(|mm| mm * UM_PER_MM);
        self.unreached_um = left_um.or(self.unreached_um.map(|_| 0.0));
        self.without_part_totals(&computed.toolpaths.incomplete)
    }

    /// This candidate without its time and cost where something that is to be cut has no path, as the contours of `incomplete`, or
    /// the machine does not take it.
    pub(super) fn without_part_totals(mut self, incomplete: &[Incomplete]) -> Self {
        let lacking = Shortfall::of_incomplete(incomplete);
        self.reasons
            .extend(lacking.filter(|lacking| !self.reasons.contains(lacking)));
        if self.reasons.iter().any(Shortfall::is_obstacle) {
            (self.totals, self.minutes) = (None, None);
            (self.possible, self.feasible) = (false, false);
            (self.chosen, self.non_dominated) = (false, false);
        }
        self
    }

    fn fill(
        &mut self,
        input: &SelectionInput<'_>,
        setup: &WireAndMachine,
        passes: &[usize],
        computed: Option<CutFacts<'_>>,
    ) -> Result<(), Shortfall> {
        let demand_groups = &input.demand_groups;
        let mut requests = Vec::with_capacity(demand_groups.len());
        for (group, passes) in demand_groups.iter().zip(passes) {
            requests.push(input.request(setup, group, *passes));
        }
        let first = requests.first().ok_or(Shortfall::NothingToCut)?;
        let setting = first.setting(input.book).map_err(|error| {
            if let pass::Error::TooThick { thickest_mm, .. } = error {
                // Of wires that are all too thin the thickest comes nearest.
                self.shortfall += input.thickness_mm / thickest_mm - 1.0;
            }
            Shortfall::NoPasses(error)
        })?;
        self.reasons = obstacles(
            setting.machine,
            setting.wire,
            input.thickness_mm,
            self.passes,
            &input.blank,
        );
        let schedules = requests.iter().map(|request| pass::schedule(input.book, request));
        let schedules = schedules
            .collect::<Result<Vec<Schedule>, _>>()
            .map_err(Shortfall::NoPasses)?;
        self.reach(demand_groups, &schedules);
        self.possible = self.reasons.is_empty();
        let bound;
        let estimate = if let Some(computed) = computed {
            let estimate = computed.estimate;
            estimate.time.as_ref().zip(estimate.costs.as_ref())
        } else {
            bound = least_estimate(input, setting, &schedules).ok_or(Shortfall::PathMissing)?;
            Some((&bound.0, &bound.1))
        };
        self.totals = estimate.map(|(time, costs)| JobTotals::of(time, costs));
        self.minutes = estimate.map(|(time, _)| time.total_minutes.value);
        let hours = self
            .totals
            .map(|totals| totals.machine_minutes.expected / MIN_PER_HOUR);
        for (outline, schedule) in demand_groups.iter().zip(&schedules) {
            self.judge(input, setting, outline, schedule, hours);
        }
        if demand_groups.iter().zip(passes).any(is_left_rough) {
            // How far a wall is off that is only roughed is not known.
            (self.accuracy_um, self.accuracy_modelled_um, self.worst_error) = (None, None, None);
        }
        Ok(())
    }

    /// Checks which radii and slots the wire cannot enter.
    fn reach(&mut self, demand_groups: &[DemandGroup], schedules: &[Schedule]) {
        for (outline, schedule) in demand_groups.iter().zip(schedules) {
            let Some(last) = schedule.passes.last() else {
                continue;
            };
            let left_mm = self.wire_mm / 2.0 + last.spark_gap_mm;
            raise(&mut self.min_inside_radius_mm, Some(left_mm));
            let sharp_mm = sharp_unreached_mm(outline, last.offset_mm, left_mm);
            let round_mm = outline
                .min_inside_radius_mm
                .map(|mm| round_unreached_mm(mm, last.offset_mm));
            let unreached_mm = sharp_mm.into_iter().chain(round_mm).max_by(f64::total_cmp);
            raise(&mut self.unreached_um, unreached_mm.map(|mm| mm * UM_PER_MM));
            let tolerance_mm = outline.requirement.tolerance_mm();
            if let Some(radius_mm) = outline.min_inside_radius_mm
                && !outline.requirement.may_stay_round(left_mm)
                && round_unreached_mm(radius_mm, last.offset_mm) > tolerance_mm.unwrap_or(0.0)
            {
                self.reasons.push(Shortfall::RadiusBelowOffset {
                    radius_mm,
                    offset_mm: last.offset_mm,
                });
            }
            if let Some(radius_mm) = outline.requirement.inside_radius_mm.filter(|mm| *mm < left_mm) {
                self.reasons
                    .push(Shortfall::RadiusTooLarge { radius_mm, left_mm });
            }
            if let Some(slot_mm) = outline
                .narrowest_slot_mm
                .filter(|mm| *mm < 2.0 * schedule.passes[0].offset_mm)
            {
                self.reasons.push(Shortfall::SlotTooNarrow {
                    slot_mm,
                    needed_mm: 2.0 * schedule.passes[0].offset_mm,
                });
            }
        }
    }

    /// Checks sharp inside corners against the tolerance. No wire reaches into them, so one that stays farther off than
    /// the limit does not count against this wire: where all fail, the others of its figures decide.
    fn hold_corners(&mut self, outline: &DemandGroup, schedule: &Schedule) {
        let (Some(last), Some(tolerance_mm)) = (schedule.passes.last(), outline.requirement.tolerance_mm())
        else {
            return;
        };
        let left_mm = self.wire_mm / 2.0 + last.spark_gap_mm;
        if outline.requirement.may_stay_round(left_mm) {
            return;
        }
        let tolerance_um = tolerance_mm * UM_PER_MM;
        if outline.sharpest_inside_corner_rad.is_some_and(is_cusp) {
            self.reasons.push(Shortfall::Cusp { tolerance_um });
        }
        if let Some(off_mm) = sharp_unreached_mm(outline, last.offset_mm, left_mm)
            && off_mm > tolerance_mm
        {
            self.reasons.push(Shortfall::SharpCorner {
                off_um: off_mm * UM_PER_MM,
                tolerance_um,
            });
        }
    }

    /// Checks finish and accuracy of the last pass against the requirement.
    fn judge(
        &mut self,
        input: &SelectionInput<'_>,
        setting: pass::Setting<'_>,
        outline: &DemandGroup,
        schedule: &Schedule,
        hours: Option<f64>,
    ) {
        let Some(last) = schedule.traces.last() else {
            return;
        };
        let unskimmed = is_left_rough((outline, &schedule.passes.len()));
        if unskimmed {
            self.reasons.push(Shortfall::NotSkimmed {
                contours: outline.loose.clone(),
            });
        }
        let ra_um = last.ra.value;
        let rough = schedule.traces.first().filter(|_| unskimmed);
        let left_um = rough.map_or(ra_um, |rough| rough.ra.value);
        let roughest = self.ra_um.is_none_or(|ra| ra.expected < left_um.expected);
        if roughest {
            self.ra_um = Some(left_um);
        }
        let occasion = |hours| AccuracyInput {
            size_mm: outline.size_mm,
            pickup_mm: input.pickup_mm,
            hours,
            offset_basis: input.offset_basis,
            room_swing_k: input.room_swing_k,
        };
        let accuracy = hours.map(|hours| estimate::accuracy(input.book, setting, last, occasion(hours)));
        let worst = |of: fn(&Accuracy) -> f64| accuracy.as_ref().map(of);
        raise(&mut self.accuracy_um, worst(Accuracy::worst_on_size_um));
        raise(
            &mut self.accuracy_modelled_um,
            worst(Accuracy::worst_on_size_modelled_um),
        );
        self.hold_corners(outline, schedule);
        let short_before = self.reasons.len();
        if let Some(asked_um) = outline
            .requirement
            .ra_um
            .filter(|asked_um| ra_um.expected > *asked_um)
        {
            self.shortfall += ra_um.expected / asked_um - 1.0;
            self.reasons.push(Shortfall::Finish {
                passes: schedule.passes.len(),
                expected_um: ra_um.expected,
                limit_um: asked_um,
            });
        }
        if let Some(accuracy) = &accuracy {
            let worst = worst_error(outline, accuracy);
            if self
                .worst_error
                .is_none_or(|held| worst.against_limit() > held.against_limit())
            {
                self.worst_error = Some(worst);
            }
            if let Some(half_um) = worst.half_um.filter(|half_um| worst.error_um > *half_um) {
                self.shortfall += worst.error_um / half_um - 1.0;
                let largest = accuracy.ranked(worst.scope).into_iter().next();
                self.reasons.push(Shortfall::Size {
                    passes: schedule.passes.len(),
                    error_um: worst.error_um,
                    scope: worst.scope,
                    half_um,
                    largest: largest.map(|term| (term.half_width_um.name.clone(), term.remedy)),
                });
            }
        }
        if self.reasons.len() > short_before {
            self.failing_groups.push(outline.group);
        }
    }
}

/// Computes time and cost from the least that the paths are long, and the least work beside them: no more than the whole plan has.
fn least_estimate(
    input: &SelectionInput<'_>,
    setting: pass::Setting<'_>,
    schedules: &[Schedule],
) -> Option<(Time, CostBreakdown)> {
    let SelectionInput {
        book,
        thickness_mm,
        demand_groups,
        ..
    } = input;
    let each = || demand_groups.iter().zip(schedules);
    let groups: Vec<CutGroup<'_>> = each()
        .map(|(group, schedule)| CutGroup {
            group: group.group,
            schedule,
            size_mm: group.size_mm,
            skimmed: !is_left_rough((group, &schedule.passes.len())),
        })
        .collect();
    let lengths: Vec<PassLength> = each()
        .flat_map(|(group, schedule)| lengths(group, schedule))
        .collect();
    let passes = schedules.iter().map(|schedule| schedule.passes.len());
    let stops = demand_groups.iter().map(|group| group.sure_stops).sum::<usize>();
    // A slug that is out leaves the wire to be threaded again, where skims follow.
    let skimmed = each().filter(|(_, schedule)| schedule.passes.len() > 1);
    let again = skimmed.map(|(group, _)| group.sure_stops).sum::<usize>();
    let work = AuxiliaryWork {
        pass_changes: passes.max()?.saturating_sub(1),
        threads: input.work.threads + again,
        tabs: input.work.tabs + stops,
        slugs: input.work.slugs + stops,
        engagement: each()
            .flat_map(|(group, schedule)| engagement(group, schedule))
            .collect(),
        ..input.work.clone()
    };
    let cut = estimate::cut(*thickness_mm, &groups, &lengths);
    let time = estimate::time(book, setting, *thickness_mm, &groups, &cut, &work)?;
    let calibration = schedules.first()?.calibration;
    let costs = estimate::costs(book, setting, &time, &work, input.order, calibration);
    Some((time, costs))
}

/// What the skims of a group meet more on its inside arcs than on straights, as path length: on a wall of radius R, with stock from s₁
/// to s₀ left by the pass before, a wire at offset ρ meets (R − (s₀ + s₁)/2) / (R − ρ) of it along its path of (R − ρ)·θ.
fn engagement(group: &DemandGroup, schedule: &Schedule) -> Vec<PassLength> {
    let pairs = schedule.passes.windows(2);
    pairs
        .map(|pair| PassLength {
            group: group.group,
            pass: pair[1].pass,
            path_length_mm: Some(
                group.followed_turn_rad
                    * (pair[1].offset_mm - 0.5 * (pair[0].stock_mm + pair[1].stock_mm)).max(0.0),
            ),
        })
        .collect()
}

/// Raises the largest of some values by another.
fn raise(largest: &mut Option<f64>, value: Option<f64>) {
    *largest = largest.iter().copied().chain(value).max_by(f64::total_cmp);
}

/// The expected error of a group as its limits count it.
fn worst_error(group: &DemandGroup, accuracy: &Accuracy) -> WorstError {
    let requirement = &group.requirement;
    let off_um = requirement.off_middle_mm.abs() * UM_PER_MM;
    let scope = requirement.limits.map_or(Scope::OnSize, |(_, scope)| scope);
    WorstError {
        error_um: match scope {
            Scope::OnSize => accuracy.worst_on_size_um() + 2.0 * off_um,
            Scope::PerSide => accuracy.worst_per_side_um() + off_um,
        },
        scope,
        half_um: requirement
            .limits
            .map(|(limits, _)| limits.half_width_mm() * UM_PER_MM),
    }
}

/// Whether a part of a demand group that is to be cut in that many passes is not skimmed.
fn is_left_rough((outline, passes): (&DemandGroup, &usize)) -> bool {
    *passes > 1 && !outline.loose.is_empty()
}

/// Distance, mm, that the wall stays from the apex of the sharpest inside corner: at an angle θ between its walls
/// offset / sin(θ/2) less the radius that the wire leaves. `None` for a cusp, where it is the bend of the walls that
/// decides, and only the path tells.
fn sharp_unreached_mm(outline: &DemandGroup, offset_mm: f64, left_mm: f64) -> Option<f64> {
    let angle_rad = outline.sharpest_inside_corner_rad?;
    (!is_cusp(angle_rad)).then(|| offset_mm / sin(angle_rad / 2.0) - left_mm)
}

/// Whether the walls of an inside corner run together without an angle.
fn is_cusp(angle_rad: f64) -> bool {
    angle_rad < SMOOTH_JOINT_RAD
}

/// Computes the same where an inside radius is below the offset, as for walls at 90°.
fn round_unreached_mm(radius_mm: f64, offset_mm: f64) -> f64 {
    (SQRT_2 - 1.0) * (offset_mm - radius_mm).max(0.0)
}

fn lengths(outline: &DemandGroup, schedule: &Schedule) -> Vec<PassLength> {
    schedule
        .passes
        .iter()
        .map(|pass| PassLength {
            group: outline.group,
            pass: pass.pass,
            path_length_mm: Some(path_length_mm(outline, pass)),
        })
        .collect()
}

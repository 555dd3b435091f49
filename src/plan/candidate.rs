//! Evaluates one combination of wire, machine and passes before any path is computed: from perimeter, radii and
//! widths alone. The chosen one is offset and verified afterwards.

use std::f64::consts::{SQRT_2, TAU};
use std::fmt;

use super::Shortfall;
use super::demand_group::DemandGroup;
use super::requirement::obstacles;
use super::selection_input::SelectionInput;
use crate::estimate::{self, AccuracyInput, AuxiliaryWork, CutGroup, PassLength};
use crate::id::GroupId;
use crate::job::Scope;
use crate::pass::{self, Pass, PassKind, PassRequest, Schedule};
use crate::process::BeyondMachine;
use crate::tolerance::SMOOTH_JOINT_RAD;
use crate::toolpath::Incomplete;
use crate::units::{Band, MIN_PER_HOUR, UM_PER_MM};

/// A wire on a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct WireAndMachine {
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// Machine.
    pub machine: String,
}

/// A combination, weighed.
#[derive(Clone, Debug, PartialEq)]
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
    /// One piece with its set-up, min.
    pub minutes: Option<Band>,
    /// The order, in the currency of the book.
    pub cost: Option<Band>,
    /// Roughest Ra of any demand group, µm.
    pub ra_um: Option<Band>,
    /// Largest expected error on size of any demand group: known shift and expanded uncertainty, µm; `None` where a part
    /// is not skimmed, too.
    pub accuracy_um: Option<f64>,
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

impl fmt::Display for WireAndMachine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            wire_mm,
            wire_kind,
            machine,
        } = self;
        write!(f, "{wire_kind} wire of {wire_mm} mm on machine {machine}")
    }
}

/// Weighs one combination. `passes` are those of each outline.
pub fn evaluate(input: &SelectionInput<'_>, setup: &WireAndMachine, passes: &[usize]) -> Candidate {
    let mut candidate = Candidate {
        wire_mm: setup.wire_mm,
        wire_kind: setup.wire_kind.clone(),
        machine: setup.machine.clone(),
        passes: passes.iter().copied().max().unwrap_or(0),
        passes_by_group: passes.to_vec(),
        possible: false,
        feasible: false,
        reasons: Vec::new(),
        failing_groups: Vec::new(),
        shortfall: 0.0,
        minutes: None,
        cost: None,
        ra_um: None,
        accuracy_um: None,
        min_inside_radius_mm: None,
        unreached_um: None,
        non_dominated: false,
        chosen: false,
    };
    if let Err(reason) = candidate.fill(input, passes) {
        candidate.reasons.push(reason);
    }
    candidate.feasible = candidate.possible && candidate.reasons.is_empty();
    candidate
}

/// Computes the length of the wire paths of a pass by Steiner's formula: exact where the contour is smooth or convex and
/// the wire reaches everything, which the path engine then settles. Parts that would be loose are not skimmed.
fn path_length_mm(outline: &DemandGroup, pass: &Pass) -> f64 {
    let (gone, gone_mm) = match pass.kind {
        PassKind::Rough => (0, 0.0),
        PassKind::Skim => (outline.loose.len(), outline.loose_perimeter_mm),
    };
    let turns = outline.outsides as f64 - outline.openings as f64 - gone as f64;
    (outline.perimeter_mm - gone_mm + turns * TAU * pass.offset_mm).max(0.0)
}

impl Candidate {
    /// This candidate, which misses what is asked, for these reasons too.
    pub(super) fn short_of(mut self, missed: Vec<Shortfall>) -> Self {
        self.feasible = false;
        self.chosen = false;
        self.reasons.extend(missed);
        self
    }

    /// Whether the limits of the machine are all that keeps it from being cut.
    pub(super) fn is_only_beyond_machine(&self) -> bool {
        let mut obstacles = self.reasons.iter().filter(|reason| reason.is_obstacle());
        self.is_beyond_machine() && obstacles.all(Shortfall::is_beyond_machine)
    }

    /// Whether it is beyond a limit of the machine, and its paths can be computed all the same.
    pub(super) fn is_beyond_machine(&self) -> bool {
        let mut reasons = self.reasons.iter();
        reasons.any(Shortfall::is_beyond_machine) && !self.reasons.iter().any(Shortfall::keeps_from_planning)
    }

    /// This candidate with the limits of the machine that its real paths go beyond, in place of those that its contours do.
    pub(super) fn with_limits_of_paths(mut self, beyond: &[BeyondMachine]) -> Self {
        let reasons = self.reasons.len();
        self.reasons.retain(|reason| !reason.is_beyond_machine());
        if self.reasons.len() < reasons && beyond.is_empty() {
            self.possible = !self.reasons.iter().any(Shortfall::is_obstacle);
            self.feasible = self.possible && self.reasons.is_empty();
        }
        let beyond = beyond.iter().cloned();
        self.reasons.extend(beyond.map(Shortfall::BeyondMachine));
        self
    }

    /// This candidate without its time and cost where something that is to be cut has no path, as the contours of `incomplete`, or
    /// the machine does not take it.
    pub(super) fn without_part_totals(mut self, incomplete: &[Incomplete]) -> Self {
        let lacking = Shortfall::of_incomplete(incomplete);
        self.reasons
            .extend(lacking.filter(|lacking| !self.reasons.contains(lacking)));
        if self.reasons.iter().any(Shortfall::leaves_no_total) {
            (self.minutes, self.cost) = (None, None);
            (self.possible, self.feasible) = (false, false);
            (self.chosen, self.non_dominated) = (false, false);
        }
        self
    }

    fn fill(&mut self, input: &SelectionInput<'_>, passes: &[usize]) -> Result<(), Shortfall> {
        let SelectionInput {
            book,
            thickness_mm,
            demand_groups,
            ..
        } = input;
        let request = |outline: &DemandGroup, passes: usize| PassRequest {
            material: input.material.to_owned(),
            thickness_mm: *thickness_mm,
            wire_mm: self.wire_mm,
            wire_kind: Some(self.wire_kind.clone()),
            passes,
            aim_mm: outline.requirement.aim_mm,
            nozzles: input.nozzles,
            machine: Some(self.machine.clone()),
        };
        let asks: Vec<PassRequest> = demand_groups
            .iter()
            .zip(passes)
            .map(|(outline, n)| request(outline, *n))
            .collect();
        let first = asks.first().ok_or(Shortfall::NothingToCut)?;
        let setting = first.setting(book).map_err(|error| {
            if let pass::Error::TooThick { thickest_mm, .. } = error {
                // Of wires that are all too thin the thickest comes nearest.
                self.shortfall += thickness_mm / thickest_mm - 1.0;
            }
            Shortfall::NoPasses(error)
        })?;
        self.reasons = obstacles(
            setting.machine,
            setting.wire,
            *thickness_mm,
            self.passes,
            &input.blank,
        );
        let schedules = asks
            .iter()
            .map(|request| pass::schedule(book, request))
            .collect::<Result<Vec<Schedule>, _>>();
        let schedules = schedules.map_err(Shortfall::NoPasses)?;
        self.reach(demand_groups, &schedules);
        self.possible = self.reasons.is_empty();

        let groups: Vec<CutGroup<'_>> = demand_groups
            .iter()
            .zip(&schedules)
            .map(|(outline, schedule)| CutGroup {
                group: outline.group,
                schedule,
                size_mm: outline.size_mm,
                skimmed: !is_left_rough((outline, &schedule.passes.len())),
            })
            .collect();
        let lengths: Vec<PassLength> = demand_groups
            .iter()
            .zip(&schedules)
            .flat_map(|(o, s)| lengths(o, s))
            .collect();
        let work = AuxiliaryWork {
            pass_changes: pass_changes(demand_groups, passes),
            ..input.work.clone()
        };
        let cut = estimate::cut(*thickness_mm, &groups, &lengths);
        let time = estimate::time(book, setting, *thickness_mm, &groups, &cut, &work)
            .ok_or(Shortfall::PathMissing)?;
        let calibration = schedules[0].calibration;
        let costs = estimate::costs(book, setting, &time, &work, input.order, calibration);
        self.minutes = Some(time.total_minutes.value);
        self.cost = Some(costs.cost.value);
        let hours = time.machine_minutes.value.expected / MIN_PER_HOUR;
        for (outline, schedule) in demand_groups.iter().zip(&schedules) {
            self.judge(input, setting, outline, schedule, hours);
        }
        if demand_groups.iter().zip(passes).any(is_left_rough) {
            // How far a wall is off that is only roughed is not known.
            self.accuracy_um = None;
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
            self.min_inside_radius_mm = Some(self.min_inside_radius_mm.map_or(left_mm, |mm| mm.max(left_mm)));
            let sharp_mm = sharp_unreached_mm(outline, last.offset_mm, left_mm);
            let round_mm = outline
                .min_inside_radius_mm
                .map(|mm| round_unreached_mm(mm, last.offset_mm));
            if let Some(unreached_mm) = sharp_mm.into_iter().chain(round_mm).max_by(f64::total_cmp) {
                let unreached_um = unreached_mm * UM_PER_MM;
                self.unreached_um = Some(self.unreached_um.map_or(unreached_um, |um| um.max(unreached_um)));
            }
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
        hours: f64,
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
        let occasion = AccuracyInput {
            size_mm: outline.size_mm,
            pickup_mm: input.pickup_mm,
            hours,
            offset_basis: input.offset_basis,
            room_swing_k: input.room_swing_k,
        };
        let accuracy = estimate::accuracy(input.book, setting, last, occasion);
        let worst_um = accuracy.worst_on_size_um();
        self.accuracy_um = Some(self.accuracy_um.map_or(worst_um, |um| um.max(worst_um)));
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
        if let Some((limits, scope)) = outline.requirement.limits {
            let off_um = outline.requirement.off_middle_mm.abs() * UM_PER_MM;
            let error_um = match scope {
                Scope::OnSize => worst_um + 2.0 * off_um,
                Scope::PerSide => accuracy.worst_per_side_um() + off_um,
            };
            let half_um = limits.half_width_mm() * UM_PER_MM;
            if error_um > half_um {
                self.shortfall += error_um / half_um - 1.0;
                let largest = accuracy.terms.first();
                self.reasons.push(Shortfall::Size {
                    passes: schedule.passes.len(),
                    error_um,
                    scope,
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

/// How often the machine changes from one pass to the next.
fn pass_changes(groups: &[DemandGroup], passes: &[usize]) -> usize {
    let skimmed = |group: &DemandGroup| group.outsides + group.openings - group.loose.len();
    let changes = groups.iter().zip(passes);
    changes.map(|(group, passes)| skimmed(group) * (passes - 1)).sum()
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
    (!is_cusp(angle_rad)).then(|| offset_mm / (angle_rad / 2.0).sin() - left_mm)
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

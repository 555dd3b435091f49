//! Time beside the base of length × thickness / area rate: each reason a named term of its own.

use serde::Serialize;

use super::cut::{Cut, CutGroup, PassLength, total};
use super::wire_use::{WireUse, wire_use};
use crate::pass::Setting;
use crate::shop::{Book, Figure, Number, Term, Threading, Times};
use crate::units::{Band, MIN_PER_HOUR};

/// How start holes are made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum StartHoles {
    /// Spark-drilled for this job.
    #[default]
    SparkDrilled,
    /// Drilled before hardening, or there already: no time of this job.
    There,
}

/// What one piece asks for beside its passes; counted on its paths.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct AuxiliaryWork {
    /// Start holes.
    pub start_holes: usize,
    /// How they are made.
    pub start_holes_are: StartHoles,
    /// Times the wire is threaded.
    pub threads: usize,
    /// Tabs cut off.
    pub tabs: usize,
    /// Slugs and parts taken out by hand.
    pub slugs: usize,
    /// Changes from one pass to the next.
    pub pass_changes: usize,
    /// Corners of the rough cut sharper than 135°.
    pub rough_corners: usize,
    /// Lead-ins cut by the first pass of a region, by group.
    pub leads: Vec<PassLength>,
    /// What each pass runs past its closing points.
    pub overlaps: Vec<PassLength>,
    /// Way from start to start, and back through open kerfs, mm.
    pub travel_mm: f64,
    /// Path length that each skim would have to be longer for the extra material that it meets on inside
    /// radii and in corners; see `arc_extra_mm`.
    pub engagement: Vec<PassLength>,
    /// Path cut by the rough pass to clear slugs away instead of dropping them, by group.
    pub coreless: Vec<PassLength>,
    /// Contours that are cut, each to be programmed and inspected.
    pub contours: usize,
    /// Volume of the blank, mm³; `None` where nothing says how large it is.
    pub blank_mm3: Option<f64>,
}

/// Who is there while a term runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Presence {
    /// The machine runs unattended.
    Unattended,
    /// Somebody has to be at the machine.
    Attended,
    /// Not on this machine.
    Elsewhere,
}

/// One reason for time.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct TimeTerm {
    /// Minutes, with their trace.
    pub minutes: Figure,
    /// Who is there.
    pub presence: Presence,
}

/// All the time of one piece, and of a load.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Time {
    /// Terms of one piece: the cut itself first.
    pub piece: Vec<TimeTerm>,
    /// The wire runs for one piece, min: the cut, engagement, leads, coreless removal, corners.
    pub running: Figure,
    /// The wire that runs off for it.
    pub wire: WireUse,
    /// The operator is present while it runs, min.
    pub attendance: Figure,
    /// Set-up of a load.
    pub setup: Figure,
    /// The machine is taken by one piece, min, without set-up.
    pub machine_minutes: Figure,
    /// Somebody is at the machine for one piece, min, without set-up.
    pub attended_minutes: Figure,
    /// One piece and one set-up, min.
    pub total_minutes: Figure,
    /// One piece runs unattended, h.
    pub unattended_hours: Figure,
    /// Shifts that the machine time of one piece takes.
    pub shifts: Figure,
    /// The part of `running` that goes with the area rates, path by path.
    pub paced: Vec<PacedMinutes>,
}

/// Minutes along paths: they go with the area rate, down to what the fastest feed takes.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct PacedMinutes {
    /// Minutes without the fastest feed.
    pub minutes: f64,
    /// Minutes at the fastest feed; 0 where there is none.
    pub least_minutes: f64,
}

/// Equivalent extra path length, mm, of a skim along an inside arc: on a wall of radius R with the wire at
/// offset ρ it meets R / (R − ρ) times the stock per path length that it meets on a straight. Outside arcs meet
/// less and are not credited. 0 where the wire cannot follow the arc: there the path has no arc either.
pub fn arc_extra_mm(path_length_mm: f64, wall_radius_mm: f64, offset_mm: f64) -> f64 {
    if wall_radius_mm <= offset_mm {
        return 0.0;
    }
    path_length_mm * (wall_radius_mm / (wall_radius_mm - offset_mm) - 1.0)
}

/// Computes all terms of time for one piece; `None` when a path is missing. Where the book is calibrated for this
/// material and wire, the fitted minutes stand for the set-up; all other terms stay, since the fit took them off.
pub fn time(
    book: &Book,
    setting: Setting<'_>,
    thickness_mm: f64,
    groups: &[CutGroup<'_>],
    cut: &Cut,
    work: &AuxiliaryWork,
) -> Option<Time> {
    let (material, wire) = (setting.material, setting.wire);
    let job = TimeInput {
        times: &book.times,
        setup_min: book
            .calibration(
                &material.name,
                wire.size.diameter_mm,
                &wire.kind.name,
                &setting.machine.name,
            )
            .and_then(|calibration| calibration.fixed_min.as_ref())
            .unwrap_or(&book.times.setup_min),
        setting,
        thickness_mm,
        groups,
        work,
    };
    let cutting = job.cutting(cut)?;
    let running = total("wire running", "min", &cutting);
    let piece: Vec<TimeTerm> = unattended_terms(cutting)
        .chain(term(
            wire_breaks(&running, &book.times.wire_break_min_per_hour),
            Presence::Unattended,
        ))
        .chain(job.threading())
        .chain(job.travel())
        .chain(job.by_hand())
        .chain(job.start_holes())
        .collect();
    let tabs = piece.iter().find(|term| term.minutes.name == TABS_CUT_OFF);
    let wire = wire_use(book, wire, &running, tabs.map(|term| &term.minutes));
    let mut time = job.summed(piece, running, wire);
    time.paced = job.paced(cut)?;
    Some(time)
}

impl Time {
    /// Returns the minutes that start holes take their own machine; `None` where none are drilled.
    pub fn drilling(&self) -> Option<&Figure> {
        let elsewhere = self
            .piece
            .iter()
            .find(|term| term.presence == Presence::Elsewhere);
        elsewhere.map(|term| &term.minutes)
    }
}

/// Name of the term of tabs: the wire runs while they are cut off, though somebody is there.
const TABS_CUT_OFF: &str = "tabs cut off";

/// What the time of a piece goes by.
struct TimeInput<'a> {
    times: &'a Times,
    setup_min: &'a Number,
    setting: Setting<'a>,
    thickness_mm: f64,
    groups: &'a [CutGroup<'a>],
    work: &'a AuxiliaryWork,
}

impl TimeInput<'_> {
    /// The cut itself and what slows or lengthens it, the wire running; `None` when a path is missing.
    fn cutting(&self, cut: &Cut) -> Option<Vec<Figure>> {
        let work = self.work;
        let besides = [
            self.along("engagement of skims", &work.engagement, None)?,
            self.along("lead-in", &work.leads, Some(&self.times.lead_feed_share))?,
            self.along("overlap at the closing point", &work.overlaps, None)?,
            self.along("coreless removal", &work.coreless, None)?,
            count(
                "rough corners",
                work.rough_corners,
                "corner",
                &self.times.corner_min,
            ),
        ];
        let mut cutting = vec![cut.minutes.clone()?];
        cutting.extend(besides.into_iter().filter(takes_time));
        Some(cutting)
    }

    fn along(&self, name: &'static str, lengths: &[PassLength], share: Option<&Number>) -> Option<Figure> {
        time_along(name, lengths, share, self.groups, self.thickness_mm)
    }

    /// What goes with the area rates, as [`Time::paced`]; `None` when a path is missing.
    fn paced(&self, cut: &Cut) -> Option<Vec<PacedMinutes>> {
        let work = self.work;
        let rows = cut.rows.iter().map(|row| PassLength {
            group: row.group,
            pass: row.pass,
            path_length_mm: row.path_length_mm,
        });
        let beside = [&work.engagement, &work.overlaps, &work.coreless]
            .into_iter()
            .flatten();
        let along = rows.chain(beside.copied()).map(|length| (length, 1.0));
        let leads = work
            .leads
            .iter()
            .map(|length| (*length, self.times.lead_feed_share.value()));
        let paced = along.chain(leads).map(|(length, share)| {
            let group = self.groups.iter().find(|group| group.group == length.group)?;
            let trace = group.schedule.trace(length.pass)?;
            let area_mm2 = length.path_length_mm? * self.thickness_mm / share;
            Some(PacedMinutes {
                minutes: area_mm2 / trace.unlimited_mm2_min,
                least_minutes: trace.fastest_mm2_min.map_or(0.0, |fastest| area_mm2 / fastest),
            })
        });
        paced.collect()
    }

    fn threading(&self) -> Option<TimeTerm> {
        let times = self.times;
        let (each, presence) = match self.setting.machine.threading {
            Threading::Automatic => (&times.thread_automatic_min, Presence::Unattended),
            Threading::Hand => (&times.thread_by_hand_min, Presence::Attended),
        };
        term(count("threading", self.work.threads, "threading", each), presence)
    }

    fn travel(&self) -> Option<TimeTerm> {
        term(
            travel(self.work.travel_mm, &self.times.travel_mm_min),
            Presence::Unattended,
        )
    }

    /// What the operator does at stops and between passes.
    fn by_hand(&self) -> impl Iterator<Item = TimeTerm> + use<> {
        let (work, times) = (self.work, self.times);
        let all = [
            count(TABS_CUT_OFF, work.tabs, "tab", &times.tab_cut_off_min),
            count(
                "slugs and parts taken out",
                work.slugs,
                "slug",
                &times.slug_handling_min,
            ),
            count(
                "adjustment between passes",
                work.pass_changes,
                "change",
                &times.adjust_between_passes_min,
            ),
        ];
        all.into_iter()
            .filter_map(|minutes| term(minutes, Presence::Attended))
    }

    /// Of another machine, where they are made for this job.
    fn start_holes(&self) -> Option<TimeTerm> {
        if self.work.start_holes_are != StartHoles::SparkDrilled {
            return None;
        }
        let minutes = drilling(self.setting, self.thickness_mm, self.work.start_holes);
        term(minutes, Presence::Elsewhere)
    }

    /// The terms of a piece with their sums.
    fn summed(&self, piece: Vec<TimeTerm>, running: Figure, wire: WireUse) -> Time {
        use Presence::{Attended, Elsewhere, Unattended};
        let attendance = attendance(&running, &self.times.attended_share);
        let setup = count("set-up", 1, "load", self.setup_min);
        let machine_minutes = total(
            "machine time",
            "min",
            &minutes_of(&piece, &[Unattended, Attended]),
        );
        let mut attended = minutes_of(&piece, &[Attended]);
        attended.push(attendance.clone());
        let attended_minutes = total("attended time", "min", &attended);
        let mut all = minutes_of(&piece, &[Unattended, Attended, Elsewhere]);
        all.push(setup.clone());
        Time {
            total_minutes: total("total time", "min", &all),
            unattended_hours: unattended(&machine_minutes, &attended_minutes),
            shifts: shifts("shifts", &machine_minutes, &self.times.shift_hours),
            piece,
            running,
            wire,
            attendance,
            setup,
            machine_minutes,
            attended_minutes,
            paced: Vec::new(),
        }
    }
}

/// What the machine does unattended, term by term.
fn unattended_terms(cutting: Vec<Figure>) -> impl Iterator<Item = TimeTerm> {
    cutting.into_iter().map(|minutes| TimeTerm {
        minutes,
        presence: Presence::Unattended,
    })
}

/// A term, if it takes any time.
fn term(minutes: Figure, presence: Presence) -> Option<TimeTerm> {
    takes_time(&minutes).then_some(TimeTerm { minutes, presence })
}

/// The minutes of those terms while which somebody is where `wanted` says.
fn minutes_of(piece: &[TimeTerm], wanted: &[Presence]) -> Vec<Figure> {
    let chosen = piece.iter().filter(|term| wanted.contains(&term.presence));
    chosen.map(|term| term.minutes.clone()).collect()
}

fn takes_time(minutes: &Figure) -> bool {
    minutes.value.high > 0.0
}

/// Minutes along extra lengths at the rate of their pass, or at a share of it.
fn time_along(
    name: &'static str,
    lengths: &[PassLength],
    share: Option<&Number>,
    groups: &[CutGroup<'_>],
    thickness_mm: f64,
) -> Option<Figure> {
    let mut terms = vec![Term::given("thickness", thickness_mm, "mm", "given")];
    let mut bands = Vec::new();
    for length in lengths {
        let group = groups.iter().find(|group| group.group == length.group)?;
        let rate = &group.schedule.trace(length.pass)?.rate;
        let mm = length.path_length_mm?;
        terms.push(Term::given(
            format!("length of pass {}", length.pass),
            mm,
            "mm",
            "measured on the path",
        ));
        terms.push(rate.term());
        bands.push(rate.value.divide(mm * thickness_mm));
    }
    let mut value = Band::sum(bands);
    let formula = if let Some(share) = share {
        terms.push(Term::of("share of the feed", share, ""));
        // A quotient of bands: the reciprocal of the share joins as a factor.
        value = Band::product(&[value, share.band.divide(1.0)]);
        "length × thickness / (area rate × share)"
    } else {
        "length × thickness / area rate, summed"
    };
    Some(Figure::new(name, value, "min", formula, terms))
}

fn count(name: &'static str, count: usize, one: &str, each: &Number) -> Figure {
    Figure::new(
        name,
        each.band.scaled(count as f64),
        "min",
        "count × minutes each",
        vec![
            Term::given(format!("{one} count"), count as f64, "", "counted"),
            Term::of(format!("minutes a {one}"), each, "min"),
        ],
    )
}

fn travel(way_mm: f64, feed: &Number) -> Figure {
    Figure::new(
        "travel without cutting",
        feed.band.divide(way_mm),
        "min",
        "way / feed",
        vec![
            Term::given(
                "way",
                way_mm,
                "mm",
                "measured from start to start, and back through open kerfs",
            ),
            Term::of("feed of travel", feed, "mm/min"),
        ],
    )
}

fn wire_breaks(running: &Figure, allowance: &Number) -> Figure {
    // The allowance may be nothing at its low end, so that the ends are multiplied, not the logarithms.
    let (hours, each) = (running.value.scaled(MIN_PER_HOUR.recip()), allowance.band);
    let value = hours.times(each);
    let terms = vec![running.term(), Term::of("allowance", allowance, "min/h")];
    Figure::new(
        "wire breaks",
        value,
        "min",
        "running minutes / 60 × allowance",
        terms,
    )
}

fn drilling(setting: Setting<'_>, thickness_mm: f64, holes: usize) -> Figure {
    let feed = &setting.material.drill_mm_min;
    Figure::new(
        "start holes",
        feed.band.divide(holes as f64 * thickness_mm),
        "min",
        "holes × thickness / drilling feed",
        vec![
            Term::given("holes", holes as f64, "", "counted"),
            Term::given("thickness", thickness_mm, "mm", "given"),
            Term::of("drilling feed", feed, "mm/min"),
        ],
    )
}

fn attendance(running: &Figure, share: &Number) -> Figure {
    let terms = vec![running.term(), Term::of("share attended", share, "")];
    let value = running.value.times(share.band);
    Figure::new("operator present", value, "min", "running minutes × share", terms)
}

fn unattended(machine: &Figure, attended: &Figure) -> Figure {
    let hours = |end: fn(&Band) -> f64| (end(&machine.value) - end(&attended.value)).max(0.0) / MIN_PER_HOUR;
    let ends = [
        hours(|band| band.low),
        hours(|band| band.expected),
        hours(|band| band.high),
    ];
    let value = Band {
        low: ends[0].min(ends[1]),
        expected: ends[1],
        high: ends[2].max(ends[1]),
    };
    Figure::new(
        "unattended hours",
        value,
        "h",
        "(machine time - attended time) / 60",
        vec![machine.term(), attended.term()],
    )
}

/// Computes how many shifts the machine is taken.
pub(super) fn shifts(name: &'static str, machine: &Figure, shift_hours: &Number) -> Figure {
    Figure::new(
        name,
        machine.value.scaled((MIN_PER_HOUR * shift_hours.value()).recip()),
        "",
        "machine time / 60 / hours of a shift",
        vec![machine.term(), Term::of("hours of a shift", shift_hours, "h")],
    )
}

#[cfg(test)]
mod tests;

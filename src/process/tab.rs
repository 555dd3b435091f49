//! The tab that holds a piece until the attended stop: how long it has to be, and where it stands. A piece that gets
//! none hangs on the last stretch of its path as on a tab.
//!
//! The piece hangs on the tab as on a short bracket of length w along the contour and of the full thickness T. Its
//! weight and the flushing, W = m·g + F, act at the centre of area, e from the tab. With the stress borne s = strength
//! over safety:
//! - bending down: σ = 6·W·e / (w·T²), so w ≥ 6·W·e / (s·T²);
//! - bending sideways by the flushing: σ = 6·F·e / (T·w²), so w ≥ √(6·F·e / (s·T));
//! - shear: τ = 3·W / (2·w·T) ≤ s/2, so w ≥ 3·W / (s·T).
//!
//! Where that is more than a tab may have, two or three tabs that share the load may hold the piece; else it is clamped or
//! supported.
//!
//! The flexure formula, the shear of a rectangle and the maximum shear theory of any textbook on the strength of
//! materials (Gere and Goodno, Mechanics of Materials; from memory, not verified).

use serde::Serialize;

use super::entry::steps;
use super::path_line::PathLine;
use crate::elementary::atan;
use crate::geometry::{Point, Polyline, Segment, Vector};
use crate::job::TabOptions;
use crate::shop::TabRule;
use crate::tolerance::SMOOTH_JOINT_RAD;

/// More tabs than this are not proposed: each has its own stop, and a clamp is sooner set.
const MOST_TABS: usize = 3;

/// Acceleration of gravity, m/s² (standard value, 3rd General Conference on Weights and Measures, 1901).
const GRAVITY_M_S2: f64 = 9.806_65;

/// A stretch of a path that stays uncut until the attended stop, where the piece is secured.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "TabRow"))]
#[non_exhaustive]
pub struct Tab {
    /// Where it begins, along the rough path from its first vertex, mm.
    pub from_mm: f64,
    /// Its length along the path, mm.
    pub length_mm: f64,
    /// Length that the piece asks for, mm. More than `length_mm` where there is no room for it, or a shorter one is asked
    /// for.
    #[serde(rename = "needed_mm")]
    pub required_clearance_mm: f64,
    /// Tabs of the book's length that would hold the piece, where this one is too short to; `None` where no three would.
    #[serde(skip)]
    pub several: Option<SeveralTabs>,
    /// Its middle, mm.
    #[serde(rename = "at_mm")]
    pub at: Point,
    /// The tab itself, along the path.
    #[serde(skip)]
    pub run: Polyline,
    /// It stands on a straight.
    pub on_straight: bool,
}

/// Tabs that share the load of a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct SeveralTabs {
    /// How many.
    pub count: usize,
    /// Length of each, mm.
    pub length_mm: f64,
}

/// What a tab has to hold.
#[derive(Clone, Copy, Debug)]
pub(super) struct Load {
    /// Mass of the piece, kg.
    pub mass_kg: f64,
    /// Its centre of area.
    pub centroid: Point,
    /// Thickness, mm.
    pub thickness_mm: f64,
}

/// Where a tab is wanted.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct TabPlace {
    /// Unit direction of the clamped side, where one is named.
    pub towards: Option<Vector>,
    /// Where the path is entered: the tab ends there unless the clamped side is elsewhere.
    pub entry: Option<Point>,
}

/// Length that a tab needs, mm, with the piece's centre `lever_mm` away.
pub fn tab_length_mm(rule: &TabRule, mass_kg: f64, lever_mm: f64, thickness_mm: f64) -> f64 {
    shared_length_mm(rule, mass_kg, lever_mm, thickness_mm, 1)
}

/// Length that each of `count` tabs needs that share the load, mm, each as far from the piece's centre.
fn shared_length_mm(rule: &TabRule, mass_kg: f64, lever_mm: f64, thickness_mm: f64, count: usize) -> f64 {
    let flush_n = rule.flush_n.value() / count as f64;
    let load_n = mass_kg / count as f64 * GRAVITY_M_S2 + flush_n;
    let borne_mpa = rule.strength_mpa.value() / rule.safety.value();
    let down = 6.0 * load_n * lever_mm / (borne_mpa * thickness_mm * thickness_mm);
    let sideways = (6.0 * flush_n * lever_mm / (borne_mpa * thickness_mm)).sqrt();
    let shear = 3.0 * load_n / (borne_mpa * thickness_mm);
    down.max(sideways).max(shear).max(rule.least_mm.value())
}

/// The tab of a loop; `None` where none is asked for.
pub(super) fn tab(
    path: &Polyline,
    load: &Load,
    rule: &TabRule,
    ask: &TabOptions,
    place: &TabPlace,
) -> Option<Tab> {
    let planner = TabPlanner {
        line: PathLine::new(path),
        load,
        rule,
        ask: *ask,
    };
    (!ask.is_left_out()).then(|| planner.tab(place))
}

/// The last stretch of a loop that ends at `entry`, as long as a tab there would be.
pub(super) fn last_stretch(path: &Polyline, load: &Load, rule: &TabRule, entry: Point) -> Tab {
    let planner = TabPlanner {
        line: PathLine::new(path),
        load,
        rule,
        ask: TabOptions::default(),
    };
    planner.ending_at(planner.line.position(entry))
}

/// The last stretch of an open path that leaves the material at `left_mm`: before that as long as a tab there would be, and on to the
/// path's end.
pub(super) fn last_stretch_of_open(
    path: &Polyline,
    load: &Load,
    rule: &TabRule,
    ask: TabOptions,
    left_mm: f64,
) -> Tab {
    let planner = TabPlanner {
        line: PathLine::new(path),
        load,
        rule,
        ask,
    };
    let line = &planner.line;
    let at = line.at(left_mm);
    let held_mm = planner.length_at(at).min(left_mm);
    let from_mm = left_mm - held_mm;
    let (first, share) = line.place(from_mm);
    let begin = path.segment(first).part(share, 1.0);
    let rest = (first + 1..path.segment_count()).map(|i| path.segment(i));
    let run = Polyline::run(&std::iter::once(begin).chain(rest).collect::<Vec<_>>());
    let beyond_mm = line.length_mm - left_mm;
    Tab {
        from_mm,
        length_mm: held_mm + beyond_mm,
        required_clearance_mm: planner.required_mm(at, 1) + beyond_mm,
        several: None,
        at: line.at(left_mm - 0.5 * held_mm),
        on_straight: is_straight(&run),
        run,
    }
}

/// What places a tab on a loop.
struct TabPlanner<'a> {
    line: PathLine<'a>,
    load: &'a Load,
    rule: &'a TabRule,
    ask: TabOptions,
}

impl TabPlanner<'_> {
    fn tab(&self, place: &TabPlace) -> Tab {
        if let Some(at) = self.ask.at {
            let middle_mm = self.line.position(at);
            let at = self.line.at(middle_mm);
            return self.on(middle_mm - 0.5 * self.length_at(at), at);
        }
        let entry_mm = place.entry.map_or(0.0, |entry| self.line.position(entry));
        if place.towards.is_none() && place.entry.is_some() {
            let at_end = self.ending_at(entry_mm);
            if !self.goes_round(&at_end) {
                return at_end;
            }
            let straights = self
                .line
                .all_stretches()
                .filter(|stretch| !stretch.segment.is_arc());
            let near = straights.filter_map(|stretch| self.near(&stretch, entry_mm));
            let mut near: Vec<NearStretch> = near.collect();
            // Among those as near the longest.
            near.sort_by_key(|near| (steps(near.distance_mm), -steps(near.straight_mm)));
            let mut tabs = near.into_iter().map(|near| self.on(near.from_mm, near.at));
            return tabs.find(|tab| !self.goes_round(tab)).unwrap_or(at_end);
        }
        let stretches = self.line.stretches(place.towards);
        let beside = stretches.iter().filter_map(|stretch| {
            let at = stretch.segment.at(0.5);
            let from_mm = stretch.place(self.length_at(at), place.entry.map(|_| entry_mm))?;
            Some(self.on(from_mm, at))
        });
        let mut beside = beside.peekable();
        let first = beside.peek().cloned();
        // Without room anywhere the tab is the end of the path.
        let clear = beside.find(|tab| !self.goes_round(tab));
        clear.or(first).unwrap_or_else(|| self.ending_at(entry_mm))
    }

    /// Length of the longest tab that the book makes, mm.
    fn longest_mm(&self) -> f64 {
        self.share_mm().min(self.rule.most_mm.value())
    }

    fn share_mm(&self) -> f64 {
        self.rule.most_share.value() * self.line.length_mm
    }

    /// Length that a tab at a place gets, mm.
    fn length_at(&self, at: Point) -> f64 {
        let by_book = || self.required_mm(at, 1).min(self.longest_mm());
        self.ask.length_mm.unwrap_or_else(by_book).min(self.share_mm())
    }

    /// Length that the piece asks for of each of `count` tabs at a place, mm.
    fn required_mm(&self, at: Point, count: usize) -> f64 {
        let Load {
            mass_kg,
            centroid,
            thickness_mm,
        } = *self.load;
        shared_length_mm(self.rule, mass_kg, at.distance(centroid), thickness_mm, count)
    }

    /// The tab from a place along the loop, as long as one at `at` asks for.
    fn on(&self, from_mm: f64, at: Point) -> Tab {
        let line = &self.line;
        let (length_mm, required_mm) = (self.length_at(at), self.required_mm(at, 1));
        let run = line.run(from_mm, length_mm);
        let several = || {
            let tabs = (1..=MOST_TABS).map(|count| SeveralTabs {
                count,
                length_mm: self.required_mm(at, count),
            });
            tabs.into_iter().find(|tabs| tabs.length_mm <= self.longest_mm())
        };
        Tab {
            from_mm: from_mm.rem_euclid(line.length_mm),
            at: line.at(from_mm + 0.5 * length_mm),
            length_mm,
            required_clearance_mm: required_mm,
            several: if length_mm < required_mm { several() } else { None },
            on_straight: is_straight(&run),
            run,
        }
    }

    /// The tab that is the end of a path entered at `entry_mm`.
    fn ending_at(&self, entry_mm: f64) -> Tab {
        let at = self.line.at(entry_mm);
        self.on(entry_mm - self.length_at(at), at)
    }

    /// Where a tab stands on a straight, at its end nearest to the entry; `None` without room or where it is too far. It stays off
    /// the corner by its length, where the straight is as long.
    fn near(&self, stretch: &LoopStretch, entry_mm: f64) -> Option<NearStretch> {
        let at = stretch.segment.at(0.5);
        let length_mm = self.length_at(at);
        let spare_mm = stretch.length_mm - length_mm;
        let off_mm = length_mm.min(0.5 * spare_mm);
        let ends = [stretch.from_mm + off_mm, stretch.from_mm + spare_mm - off_mm];
        let round_mm = self.line.length_mm;
        let distance = |from_mm: f64| {
            let ahead_mm = (from_mm + 0.5 * length_mm - entry_mm).rem_euclid(round_mm);
            ahead_mm.min(round_mm - ahead_mm)
        };
        let from_mm = ends
            .into_iter()
            .min_by(|a, b| distance(*a).total_cmp(&distance(*b)))?;
        let near = NearStretch {
            from_mm,
            at,
            distance_mm: distance(from_mm),
            straight_mm: stretch.length_mm,
        };
        (spare_mm >= 0.0 && near.distance_mm <= self.rule.straight_within_mm.value()).then_some(near)
    }

    /// Whether a tab goes round a corner or across a tip, such as a tooth's.
    fn goes_round(&self, tab: &Tab) -> bool {
        let around = self.line.run(tab.from_mm - tab.length_mm, 3.0 * tab.length_mm);
        turn_deg(&tab.run) > self.rule.corner_deg.value()
            || 3.0 * tab.length_mm < self.line.length_mm && turn_deg(&around) > self.rule.tip_deg.value()
    }
}

/// By how much an open run turns, to either side, degrees.
fn turn_deg(run: &Polyline) -> f64 {
    let segments: Vec<Segment> = run.segments().collect();
    let joints = segments.windows(2);
    let joints = joints.map(|pair| pair[0].direction(1.0).turn_to(pair[1].direction(0.0)).abs());
    let arcs = segments.iter().map(|segment| 4.0 * atan(segment.bulge.abs()));
    joints.chain(arcs).sum::<f64>().to_degrees()
}

/// Whether a run has no arc and goes straight on at each of its joints.
fn is_straight(run: &Polyline) -> bool {
    if run.segments().any(Segment::is_arc) {
        return false;
    }
    let directions: Vec<Vector> = run.segments().map(|s| s.direction(0.5)).collect();
    directions
        .windows(2)
        .all(|pair| pair[0].turn_to(pair[1]).abs() < SMOOTH_JOINT_RAD)
}

impl Tab {
    /// Where it ends, along the loop, mm; beyond the length of the loop where it runs over its first vertex.
    pub fn to_mm(&self) -> f64 {
        self.from_mm + self.length_mm
    }
}

/// A place for a tab on a straight near the entry of its path.
struct NearStretch {
    from_mm: f64,
    /// Middle of the straight.
    at: Point,
    distance_mm: f64,
    /// Length of the straight.
    straight_mm: f64,
}

/// A straight or an arc of the loop.
struct LoopStretch {
    segment: Segment,
    from_mm: f64,
    length_mm: f64,
}

impl LoopStretch {
    /// Where a tab of `length_mm` begins on it: at its middle, or just before the entry where that lies on it. `None`
    /// when it is too short.
    fn place(&self, length_mm: f64, entry_mm: Option<f64>) -> Option<f64> {
        if let Some(entry_mm) = entry_mm
            && (0.0..=self.length_mm).contains(&(entry_mm - self.from_mm))
        {
            return (entry_mm - self.from_mm >= length_mm).then_some(entry_mm - length_mm);
        }
        (self.length_mm >= length_mm).then_some(self.from_mm + 0.5 * (self.length_mm - length_mm))
    }
}

impl PathLine<'_> {
    /// Its straights and arcs, in their order.
    fn all_stretches(&self) -> impl Iterator<Item = LoopStretch> + '_ {
        let stretch = |(segment, &from_mm): (Segment, &f64)| LoopStretch {
            segment,
            from_mm,
            length_mm: segment.length(),
        };
        self.path.segments().zip(&self.begins_mm).map(stretch)
    }

    /// Where a tab may stand: the straights, then the arcs; of each those farthest towards the clamped side first, and
    /// among equals, or without such a side, the longest.
    fn stretches(&self, towards: Option<Vector>) -> Vec<LoopStretch> {
        let mut list: Vec<LoopStretch> = self.all_stretches().collect();
        let towards = towards.unwrap_or_default();
        let far = |stretch: &LoopStretch| (stretch.segment.middle() - Point::default()).dot(towards);
        list.sort_by_key(|stretch| {
            (
                stretch.segment.is_arc(),
                -steps(far(stretch)),
                -steps(stretch.length_mm),
            )
        });
        list
    }
}

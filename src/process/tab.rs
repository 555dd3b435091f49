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
//! The flexure formula, the shear of a rectangle and the maximum shear theory of any textbook on the strength of
//! materials (Gere and Goodno, Mechanics of Materials; from memory, not verified).

use super::path_line::PathLine;
use crate::geometry::{Point, Polyline, Segment, Vector};
use crate::job::TabOptions;
use crate::shop::TabRule;
use crate::tolerance::SMOOTH_JOINT_RAD;

/// Acceleration of gravity, m/s² (standard value, 3rd General Conference on Weights and Measures, 1901).
const GRAVITY_M_S2: f64 = 9.806_65;

/// A stretch of a path that stays uncut until the attended stop, where the piece is secured.
#[derive(Clone, Debug, PartialEq)]
pub struct Tab {
    /// Where it begins, along the loop from its first vertex, mm.
    pub from_mm: f64,
    /// Its length along the path, mm.
    pub length_mm: f64,
    /// Length that the piece asks for, mm. More than `length_mm` where there is no room for it, or a shorter one is asked
    /// for.
    pub required_clearance_mm: f64,
    /// Its middle.
    pub at: Point,
    /// The tab itself, along the path.
    pub run: Polyline,
    /// It stands on a straight.
    pub on_straight: bool,
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
    let flush_n = rule.flush_n.value();
    let load_n = mass_kg * GRAVITY_M_S2 + flush_n;
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
    (!ask.is_left_out()).then(|| placed(path, load, rule, ask, place))
}

/// The last stretch of a loop that ends at `entry`, as long as a tab there would be.
pub(super) fn last_stretch(path: &Polyline, load: &Load, rule: &TabRule, entry: Point) -> Tab {
    let place = TabPlace {
        towards: None,
        entry: Some(entry),
    };
    placed(path, load, rule, &TabOptions::default(), &place)
}

fn placed(path: &Polyline, load: &Load, rule: &TabRule, ask: &TabOptions, place: &TabPlace) -> Tab {
    let line = PathLine::new(path);
    let most_mm = rule.most_share.value() * line.length_mm;
    // Length that the piece asks for at a place, and the length that the tab gets.
    let lengths_at = |at: Point| {
        let lever_mm = at.distance(load.centroid);
        let required_clearance_mm = tab_length_mm(rule, load.mass_kg, lever_mm, load.thickness_mm);
        (
            required_clearance_mm,
            ask.length_mm.unwrap_or(required_clearance_mm).min(most_mm),
        )
    };
    let on = |from_mm: f64, (required_clearance_mm, length_mm): (f64, f64)| {
        let run = line.run(from_mm, length_mm);
        Tab {
            from_mm: from_mm.rem_euclid(line.length_mm),
            at: line.at(from_mm + 0.5 * length_mm),
            length_mm,
            required_clearance_mm,
            on_straight: is_straight(&run),
            run,
        }
    };
    if let Some(at) = ask.at {
        let middle_mm = line.position(at);
        let lengths = lengths_at(line.at(middle_mm));
        return on(middle_mm - 0.5 * lengths.1, lengths);
    }
    let entry_mm = place.entry.map_or(0.0, |entry| line.position(entry));
    let stretches = match (place.towards, place.entry) {
        (None, Some(_)) => Vec::new(),
        (towards, _) => line.stretches(towards),
    };
    let beside = stretches.iter().find_map(|stretch| {
        let lengths = lengths_at(stretch.segment.at(0.5));
        let from_mm = stretch.place(lengths.1, place.entry.map(|_| entry_mm))?;
        Some(on(from_mm, lengths))
    });
    beside.unwrap_or_else(|| {
        // No side is clamped, or nothing has room: the tab is the end of the path.
        let lengths = lengths_at(line.at(entry_mm));
        on(entry_mm - lengths.1, lengths)
    })
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
    /// Where a tab may stand: the straights, then the arcs; of each those farthest towards the clamped side first, and
    /// among equals, or without such a side, the longest.
    fn stretches(&self, towards: Option<Vector>) -> Vec<LoopStretch> {
        let mut list: Vec<LoopStretch> = (0..self.path.segment_count())
            .map(|i| LoopStretch {
                segment: self.path.segment(i),
                from_mm: self.begins_mm[i],
                length_mm: self.path.segment(i).length(),
            })
            .collect();
        let towards = towards.unwrap_or_default();
        let far = |stretch: &LoopStretch| (stretch.segment.at(0.5) - Point::default()).dot(towards);
        list.sort_by(|a, b| {
            let by_kind = a.segment.is_arc().cmp(&b.segment.is_arc());
            let by_place = far(b).total_cmp(&far(a));
            by_kind.then(by_place).then(b.length_mm.total_cmp(&a.length_mm))
        });
        list
    }
}

//! Groups contours by their requirements and measures the groups for the evaluation of candidates.

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_4;

use super::equal_parts::{DrawnParts, drawn_parts};
use super::parallel_length::ParallelLength;
use super::requirement::{WallRequirement, with_default};
use crate::contour::{Contour, Contours, Role, turn_at};
use crate::elementary::hypot;
use crate::estimate::AuxiliaryWork;
use crate::geometry::Bounds;
use crate::id::{ContourId, GroupId};
use crate::job::{DemandError, Demands, Purpose, Tolerance};
use crate::message::{Message, message};
use crate::process::started_undrilled;
use crate::shop::Book;
use crate::units::{Feature, UM_PER_MM};

/// Contours with one requirement, and their measures.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(not(feature = "internals"), non_exhaustive)]
pub struct DemandGroup {
    /// Demand group, from 1.
    pub group: GroupId,
    /// Numbers of its contours.
    pub contours: Vec<ContourId>,
    /// What is asked.
    pub requirement: WallRequirement,
    /// They are slits of one kerf: one pass, and their walls are as the wire leaves them.
    pub are_slits: bool,
    /// How long the paths of the rough pass are, of all of them.
    pub roughed: ParallelLength,
    /// How long those of each skim are: of all but the loose parts.
    pub skimmed: ParallelLength,
    /// Turn of all inside arcs of what is skimmed that any wire follows from end to end, radians.
    pub followed_turn_rad: f64,
    /// Slugs of its openings for which the machine stops, or takes longer over them, whatever the wire.
    pub sure_stops: usize,
    /// Numbers of the parts among them that would be skimmed loose, since they get no tab: they are only roughed.
    pub loose: Vec<ContourId>,
    /// Smallest inside radius above 0, mm.
    pub min_inside_radius_mm: Option<f64>,
    /// Smallest angle between the walls of a sharp inside corner, which no wire reaches, radians.
    pub sharpest_inside_corner_rad: Option<f64>,
    /// Narrowest slot that the wire has to pass, mm.
    pub narrowest_slot_mm: Option<f64>,
    /// Largest extent among them, mm: heat moves it most.
    pub size_mm: f64,
}

impl DemandGroup {
    /// Makes a group that has no contours yet.
    pub fn new(group: GroupId, requirement: WallRequirement) -> Self {
        Self {
            group,
            contours: Vec::new(),
            requirement,
            are_slits: false,
            roughed: ParallelLength::default(),
            skimmed: ParallelLength::default(),
            followed_turn_rad: 0.0,
            sure_stops: 0,
            loose: Vec::new(),
            min_inside_radius_mm: None,
            sharpest_inside_corner_rad: None,
            narrowest_slot_mm: None,
            size_mm: 0.0,
        }
    }
}

/// The contours to be cut, in groups.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct DemandGroups {
    /// One outline for each different demand.
    pub demand_groups: Vec<DemandGroup>,
    /// What a piece asks for beside its passes at the least, as far as contours alone tell.
    pub work: AuxiliaryWork,
    /// Extent of all that is cut, mm.
    pub extent_mm: [f64; 2],
    /// Numbers of the open contours among those to be cut: they are in no group.
    pub open: Vec<ContourId>,
    /// The parts of the drawing.
    pub parts: DrawnParts,
    /// Assumptions, in words.
    pub assumptions: Vec<Message>,
}

/// Groups the contours to be cut by their requirements. `layer_of` names the layer of a contour. A tolerance by
/// size takes the smaller extent of the contour, which has the tighter limits.
pub fn group_by_demand<'l>(
    contours: &Contours,
    layer_of: impl Fn(&Contour) -> &'l str,
    demands: &Demands,
    book: &Book,
) -> Result<DemandGroups, DemandError> {
    let mut sorted = DemandGroups::default();
    let mut all = Bounds::of([]);
    let mut slits: Vec<&Contour> = Vec::new();
    let mut stopped: BTreeMap<usize, Vec<ContourId>> = BTreeMap::new();
    for contour in contours.list.iter().filter(|contour| contour.purpose.is_cut()) {
        if contour.is_one_kerf_wide() {
            if is_asked_itself(demands, contour.id, layer_of(contour)) {
                sorted.assumptions.push(message!(
                    "contour {}: a slit is cut in one pass and its walls are as the wire leaves them; what is called for of it does not hold",
                    contour.id
                ));
            }
            slits.push(contour);
            all = all.union(contour.bounds);
            continue;
        }
        let feature = match contour.role {
            Role::Outside => Feature::Shaft,
            Role::Opening => Feature::Hole,
            Role::Open if contour.purpose == Purpose::Slit => Feature::Hole,
            // A trim has one wall: what is written for a hole or a shaft says which it is.
            Role::Open if contour.purpose == Purpose::Trim => {
                let demand = demands.on(contour.id, layer_of(contour));
                let written = demand.tolerance.as_ref().and_then(Tolerance::feature);
                written.unwrap_or(Feature::Shaft)
            }
            Role::Open => {
                sorted.open.push(contour.id);
                continue;
            }
        };
        let (demand, assumed) = with_default(&demands.on(contour.id, layer_of(contour)), book)?;
        let extent_mm = contour.bounds.width().min(contour.bounds.height());
        let extent_mm = contour.width_mm.unwrap_or(extent_mm);
        let requirement = WallRequirement::new(&demand, feature, extent_mm)?;
        if let Some(words) = assumed.filter(|words| !sorted.assumptions.contains(words)) {
            sorted.assumptions.insert(0, words);
        }
        if let Some(last) = requirement.stop_after {
            stopped.entry(last).or_default().push(contour.id);
        }
        let written_for = demand
            .tolerance
            .as_ref()
            .and_then(|t| Some((t.feature()?, &t.written)));
        if let Some((_, written)) = written_for.filter(|(written_for, _)| *written_for != feature) {
            sorted.assumptions.push(message!(
                "contour {}: {} is written for the other side of the wall than the one that is kept",
                contour.id,
                written
            ));
        }
        sorted.take(contour, requirement);
        all = all.union(contour.bounds);
    }
    sorted.assumptions.extend(
        stopped
            .iter()
            .map(|(last, contours)| stopped_in_words(*last, contours)),
    );
    // The wall of a slit is as the wire leaves it.
    for slit in slits {
        sorted.take_slit(slit);
    }
    sorted.extent_mm = if all.is_empty() {
        [0.0, 0.0]
    } else {
        [all.width(), all.height()]
    };
    let undrilled = started_undrilled(contours).into_iter();
    let undrilled = undrilled.filter(|&id| contours[id].role == Role::Opening).count();
    sorted.work.start_holes = sorted.work.start_holes.saturating_sub(undrilled);
    sorted.parts = sorted.count_parts(contours, book);
    Ok(sorted)
}

/// Says which contours are left for later passes.
fn stopped_in_words(last: usize, contours: &[ContourId]) -> Message {
    let contours = contours.iter().map(|id| message!("{}", id));
    message!(
        "contours {}: pass {} is the last that is run; what the later ones take off stays on, and neither finish nor limits are judged",
        Message::joined(contours, ", "),
        last
    )
}

/// Whether something is called for of a contour, or of its layer, by itself.
fn is_asked_itself(demands: &Demands, id: ContourId, layer: &str) -> bool {
    let mut layers = demands.layers.iter();
    let of_layer = layers.find(|(name, _)| name.to_lowercase() == layer.to_lowercase());
    demands.contours.contains_key(&id) || of_layer.is_some()
}

impl DemandGroups {
    /// Returns the largest size of all that is cut, mm.
    pub fn largest_mm(&self) -> f64 {
        self.demand_groups
            .iter()
            .map(|outline| outline.size_mm)
            .fold(0.0, f64::max)
    }

    /// Returns the diagonal of all that is cut, mm: the farthest that a feature can be from its pick-up.
    pub fn diagonal_mm(&self) -> f64 {
        hypot(self.extent_mm[0], self.extent_mm[1])
    }

    fn count_parts(&self, contours: &Contours, book: &Book) -> DrawnParts {
        let groups = self.demand_groups.iter();
        let group_of: BTreeMap<ContourId, GroupId> = groups
            .flat_map(|group| group.contours.iter().map(|&id| (id, group.group)))
            .collect();
        let alike_mm = book.rules.piece.alike_um.value() / UM_PER_MM;
        drawn_parts(contours, |id| group_of.get(&id).copied(), alike_mm)
    }

    /// Takes a slit.
    fn take_slit(&mut self, contour: &Contour) {
        let requirement = WallRequirement {
            passes: Some(1),
            ..WallRequirement::default()
        };
        self.take_open(contour, requirement, true);
    }

    /// Takes an open cut: of its path no more is sure than that it is there.
    fn take_open(&mut self, contour: &Contour, requirement: WallRequirement, are_slits: bool) {
        self.work.threads += 1;
        self.work.contours += 1;
        self.work.rough_corners += rough_corners(contour);
        let group = self.group_of(requirement, are_slits);
        group.contours.push(contour.id);
        let size_mm = contour.bounds.width().max(contour.bounds.height());
        group.size_mm = group.size_mm.max(size_mm);
    }

    /// The group of a requirement, of slits or of walls, a new one where there is none.
    fn group_of(&mut self, requirement: WallRequirement, are_slits: bool) -> &mut DemandGroup {
        let mut known = self.demand_groups.iter();
        let at = known.position(|group| group.requirement == requirement && group.are_slits == are_slits);
        let at = at.unwrap_or_else(|| {
            let group = GroupId::from_index(self.demand_groups.len());
            self.demand_groups.push(DemandGroup {
                are_slits,
                ..DemandGroup::new(group, requirement)
            });
            group.index()
        });
        &mut self.demand_groups[at]
    }

    fn take(&mut self, contour: &Contour, requirement: WallRequirement) {
        if contour.purpose.is_open_cut() {
            return self.take_open(contour, requirement, false);
        }
        let opening = contour.role == Role::Opening;
        // No more than is sure: a slug may be cleared away, and a part started from the edge.
        self.work.threads += 1;
        self.work.start_holes += usize::from(opening);
        self.work.tabs += usize::from(!opening);
        self.work.slugs += usize::from(!opening);
        self.work.contours += 1;
        self.work.rough_corners += rough_corners(contour);
        let outline = self.group_of(requirement, false);
        outline.contours.push(contour.id);
        outline.roughed.add(contour.role, contour.perimeter_mm);
        outline.skimmed = outline.roughed;
        outline.size_mm = outline
            .size_mm
            .max(contour.bounds.width())
            .max(contour.bounds.height());
        let angles = contour.sharp_inside_corners.iter().map(|corner| corner.angle_rad);
        least(&mut outline.sharpest_inside_corner_rad, angles);
        least(
            &mut outline.min_inside_radius_mm,
            contour.inside_arcs().map(|(_, arc)| arc.radius()),
        );
        least(
            &mut outline.narrowest_slot_mm,
            contour.narrowest_slot.iter().map(|slot| slot.width_mm),
        );
    }
}

fn least(held: &mut Option<f64>, values: impl Iterator<Item = f64>) {
    *held = held.iter().copied().chain(values).min_by(f64::total_cmp);
}

/// Counts corners sharper than 135°, inside and outside alike: there the feed waits for the lagging wire.
pub(super) fn rough_corners(contour: &Contour) -> usize {
    let polyline = &contour.polyline;
    let corners = 0..polyline.segment_count();
    corners
        .filter(|&i| turn_at(polyline, i).abs() > FRAC_PI_4)
        .count()
}

#[cfg(test)]
mod tests;

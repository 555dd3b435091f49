//! Makes contours from curves: chains, orients, nests and measures them, arcs as arcs. Does not know the wire.

mod alike;
mod assemble;
mod blind_slots;
mod by_purpose;
mod chain;
mod contacts;
mod cut_off;
mod doubles;
mod draft;
mod facts;
mod gaps;
mod heal;
mod join;
mod joints;
mod kept;
mod measure;
mod names;
mod nest;
mod number;
mod overlap;
mod purposes;
mod regions;
mod width;

use std::ops::Index;

use rayon::prelude::*;
use serde::Serialize;

use self::by_purpose::{Chained, Searched, chained, members};
use self::contacts::{Contacts, ContourView, LineContact};
use self::number::{Numbered, number};
use self::overlap::Stretches;
use self::purposes::PurposeRules;
use crate::drawing::Drawing;
use crate::geometry::{Bounds, Point, Polyline};
use crate::id::ContourId;
use crate::job::{Purpose, Purposes, Reading};

pub(crate) use cut_off::{CannotStay, CutPiece, EdgeCut, NoEdgeCut, run_through_material};
pub use facts::{
    Branch, Contact, ContactCounts, Crumbs, DuplicateContour, DuplicateCurve, Facets, Facts, Gap, Kink,
    MergedJoint, Overlap, ShortSegments, Width,
};
pub(crate) use kept::KeptMaterial;
pub use measure::Corner;
pub(crate) use measure::turn_at;
pub use names::{KnownNames, MissingName, missing_names};
pub use nest::ClosedLine;
pub(crate) use nest::{DEEPEST_NEST, Enclosing, NestView, first_of_coincident};
pub use purposes::StyleNotCut;
pub(crate) use purposes::shows_no_edge;
pub(crate) use regions::Regions;

/// Which side of a contour is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Role {
    /// Material inside is kept: the wire runs outside.
    Outside,
    /// Material outside is kept: the wire runs inside.
    Opening,
    /// No loop: nothing is kept.
    Open,
}

/// How the kept side of a contour was decided.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum SideFrom {
    /// It was given.
    Given,
    /// It follows from the edges around it.
    #[default]
    Drawn,
    /// It is the first reading of a question that was not answered.
    Assumed,
    /// A question about it is open: no path is made of it.
    Unclear,
}

/// How the purpose of a contour was decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum PurposeFrom {
    /// Given for the contour.
    Contour,
    /// Given for its layer.
    Layer,
    /// Given for its linetype.
    Linetype,
    /// Given for its colour.
    Color,
    /// Other layers are given as those to be cut.
    CutLayers,
    /// Its linetype shows no edge.
    LineStyle,
    /// It is a circle smaller than the limit given for start holes.
    Size,
    /// It repeats another contour.
    Repeats,
    /// Nothing was given.
    Assumed,
}

/// A contour.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Contour {
    /// Number, from 1, in the order of the contours' first curves in the drawing.
    pub id: ContourId,
    /// Its line. A loop runs counter-clockwise whatever its role.
    pub polyline: Polyline,
    /// Indices of the curves it was chained from, in order.
    pub curves: Vec<usize>,
    /// Curve of each segment; empty when all are of the one curve in `curves`. Ask [`Contour::curve_of`].
    pub sources: Vec<u32>,
    /// Which side is kept.
    pub role: Role,
    /// A place on the side that stays, where one is given for a trim.
    pub keep: Option<Point>,
    /// Width of a slit, where one is given, mm; else it is one kerf wide.
    pub width_mm: Option<f64>,
    /// Where the kept side comes from.
    pub side_from: SideFrom,
    /// The side given for its layer, linetype or colour; what lies within another contour of that rule may have the other.
    pub ruled_side: Option<Role>,
    /// What it is for; [`Purpose::Cut`] where a side is given too.
    pub purpose: Purpose,
    /// Where that comes from.
    pub purpose_from: PurposeFrom,
    /// How many contours enclose it, of the edges ([`Purpose::is_edge`]) if it is one of them, else of its own use.
    pub depth: usize,
    /// Number of the contour that encloses it directly, counted as for `depth`.
    pub parent: Option<ContourId>,
    /// Length, mm.
    pub perimeter_mm: f64,
    /// Enclosed area, mm², positive; 0 when open.
    pub area_mm2: f64,
    /// Bounds, mm.
    pub bounds: Bounds,
    /// Smallest radius that the *wire* has to go round on the inside of (concave as seen from the wire's side);
    /// 0 for a sharp inside corner; `None` when there is none.
    pub min_inside_radius_mm: Option<f64>,
    /// Where that is.
    pub min_inside_radius_at: Option<Point>,
    /// Sharp corners that the wire has to go round on the inside of.
    pub sharp_inside_corners: Vec<Corner>,
    /// Narrowest place between opposite walls on the wire's side.
    pub narrowest_slot: Option<Box<Width>>,
    /// Thinnest place of the material that it bounds, to itself or to another contour, cut or not.
    pub thinnest_wall: Option<Box<Width>>,
    /// It passes or ends at a place where three or more ends meet: the drawing can be read in another way.
    pub branched: bool,
}

impl Contour {
    /// Whether it is a loop that bounds material: to be cut, or machined already.
    pub fn bounds_material(&self) -> bool {
        self.purpose.is_edge() && self.role != Role::Open
    }

    /// Whether it is a loop that bounds material on a side that is known.
    pub fn keeps_known_side(&self) -> bool {
        self.bounds_material() && self.side_from != SideFrom::Unclear
    }

    /// Whether it is a slit that is one kerf wide.
    pub fn is_one_kerf_wide(&self) -> bool {
        self.purpose == Purpose::Slit && self.width_mm.is_none()
    }

    fn view(&self) -> ContourView<'_> {
        ContourView {
            polyline: &self.polyline,
            curves: &self.curves,
            sources: &self.sources,
            passed_over: false,
        }
    }

    /// Finds the narrowest width between its own walls across from the side that makes it an outside or an opening: a slot
    /// that runs into a part, a tongue that stands into an opening. `None` where its walls do not face each other there.
    pub fn reverse_width(&self) -> Option<Width> {
        let of = |contour: &Self| match contour.role {
            Role::Outside => contour.narrowest_slot.as_deref().copied(),
            Role::Opening => contour.thinnest_wall.as_deref().copied(),
            Role::Open => None,
        };
        let found = of(self)?;
        if found.contours == (self.id, self.id) {
            return Some(found);
        }
        // Another contour is nearer: its own walls are looked at alone.
        let mut alone = [Self {
            id: ContourId::from_index(0),
            ..self.clone()
        }];
        width::measure(&mut alone, &mut Facts::default());
        of(&alone[0])
    }

    /// Returns the index in the drawing of the curve that segment `i` comes from.
    pub fn curve_of(&self, i: usize) -> usize {
        self.sources
            .get(i)
            .map_or(self.curves[0], |&curve| curve as usize)
    }
}

/// All contours of a drawing, and the facts found while making them.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct Contours {
    /// The contours, in order of their numbers.
    pub list: Vec<Contour>,
    /// What was found and what was repaired.
    pub facts: Facts,
    /// Closed lines that are left out altogether, without numbers.
    pub left_out: Vec<ClosedLine>,
    /// Points of the drawing on layers of start holes.
    pub start_points: Vec<Point>,
    /// Points of the drawing on layers of holes that are there already.
    pub ready_points: Vec<Point>,
    /// The contour of each curve of the drawing; `None` for those in none.
    contour_of: Vec<Option<ContourId>>,
}

impl Contours {
    /// Fills in the narrowest slot and the thinnest wall of every contour to be cut, and lists the narrow places;
    /// on all cores, with the same result for any number of them. Contours that were not nested have none, nor do contours that run along
    /// themselves or one another in more places than are listed.
    pub fn measure_widths(&mut self) {
        if self.are_nested() && self.facts.contacts.leave_widths() {
            width::measure(&mut self.list, &mut self.facts);
        }
    }

    /// Whether it is known which contours lie in which: neither do they meet in more places than are looked for, nor lie too deep.
    pub fn are_nested(&self) -> bool {
        !self.facts.contacts.cut_off && self.facts.too_deep.is_none()
    }

    /// Returns the number of the contour that a curve is part of; `None` for curves left out.
    pub fn of_curve(&self, curve: usize) -> Option<ContourId> {
        self.contour_of.get(curve).copied().flatten()
    }

    /// Returns the contour of a number; `None` where the drawing has none of it.
    pub fn get(&self, id: ContourId) -> Option<&Contour> {
        self.list.get(id.index())
    }
}

impl Index<ContourId> for Contours {
    type Output = Contour;

    /// Returns the contour of a number that one of these contours bears.
    fn index(&self, id: ContourId) -> &Contour {
        &self.list[id.index()]
    }
}

/// Makes the contours of a drawing and measures their slots and walls: [`chain`](fn@chain), then
/// [`Contours::measure_widths`]. Cost is near-linear in segments.
pub fn build(drawing: &Drawing, reading: &Reading, uses: &Purposes) -> Contours {
    let mut contours = chain(drawing, reading, uses);
    contours.measure_widths();
    contours
}

/// Makes the contours of a drawing: purpose by purpose, ends joined within `reading.join_mm`, numbered in the order of
/// the drawing, loops counter-clockwise, nested, with their roles, and with all that is wrong with them; but
/// without local widths, which cost more than all the rest.
pub fn chain(drawing: &Drawing, reading: &Reading, uses: &Purposes) -> Contours {
    let rules = PurposeRules::new(drawing, uses);
    let (use_of, styles_not_cut) = purposes::of_curves(drawing, &rules);
    let Chained {
        lines,
        contacts,
        mut facts,
        for_reference,
    } = chained(drawing, reading, &use_of);
    facts.styles_not_cut = styles_not_cut;
    let Numbered { mut list, places } = number(lines, drawing, &rules, uses);
    give_places_and_widths(&mut list, drawing, uses);
    add_contacts(&list, places.as_deref(), contacts, reading.join_mm, &mut facts);
    repeat_sides(drawing, &mut list, &facts);
    facts.edge_crossings = edge_crossings(&list, &mut facts, reading.join_mm);
    // Of a tangle it takes the square of the contours to tell which lies in which.
    if !facts.contacts.are_too_many() {
        facts.too_deep = nest::place(&mut list).err();
    }
    if facts.contacts.cut_off {
        nest::leave_apart(&mut list);
    }
    list.par_iter_mut().for_each(measure::inside_corners);
    let contour_of = contour_of(drawing, &list);
    keep_what_bounds(&list, &contour_of, for_reference, &mut facts);
    joints::note(drawing, &list, &mut facts);
    log::debug!(
        "{} contours nested, their corners and joints looked at",
        list.len()
    );
    let mut contours = Contours {
        list,
        facts,
        left_out: ignored_loops(drawing, reading, &use_of),
        start_points: purposes::points(drawing, &rules, Purpose::StartHole),
        ready_points: purposes::points(drawing, &rules, Purpose::ReadyHole),
        contour_of,
    };
    if contours.are_nested() {
        contours.open_closed_trims();
    }
    contours
}

/// Gives trims the places that they keep, and slits their widths: their own, else that of their layer.
fn give_places_and_widths(list: &mut [Contour], drawing: &Drawing, uses: &Purposes) {
    for contour in list.iter_mut().filter(|contour| contour.purpose.is_open_cut()) {
        let layer = drawing.curves[contour.curves[0]].origin.layer as usize;
        let layer = drawing.layers.get(layer).map(|layer| layer.name.to_lowercase());
        let layer = layer.unwrap_or_default();
        if contour.purpose == Purpose::Trim {
            let of_layer = || uses.layer_keeps.get(&layer);
            contour.keep = uses.keeps.get(&contour.id).or_else(of_layer).copied();
        } else {
            let of_layer = || uses.layer_widths_mm.get(&layer);
            contour.width_mm = uses.widths_mm.get(&contour.id).or_else(of_layer).copied();
        }
    }
}

/// Adds the contacts between contours to be cut. `places` are the numbers of the lines that were searched for them; `None` where
/// others are to be cut: then, and where lines were mended since, the contours are searched.
fn add_contacts(
    list: &[Contour],
    places: Option<&[ContourId]>,
    found: Searched,
    join_mm: f64,
    facts: &mut Facts,
) {
    if let (Some(contacts), Some(places)) = (found.contacts, places) {
        note_contacts(list, places, contacts, facts);
    } else {
        let cut: Vec<ContourId> = (list.iter().filter(|c| c.purpose == Purpose::Cut).map(|c| c.id)).collect();
        let views: Vec<ContourView<'_>> = cut.iter().map(|id| list[id.index()].view()).collect();
        let contacts = contacts::contacts(&views, &facts.branches, join_mm);
        note_contacts(list, &cut, contacts, facts);
    }
    facts.overlaps.extend(found.overlaps);
}

/// Records the contacts of lines to be cut by the numbers of their contours, less those that the user has given another
/// purpose.
fn note_contacts(list: &[Contour], searched: &[ContourId], found: Contacts, facts: &mut Facts) {
    let is_cut = |id: ContourId| list[id.index()].purpose == Purpose::Cut;
    let numbered = |contacts: Vec<LineContact>| -> Vec<Contact> {
        let contacts = contacts.into_iter().map(|found| Contact {
            at: found.at,
            contours: (searched[found.lines.0], searched[found.lines.1]),
            curves: found.curves,
        });
        contacts
            .filter(|contact| is_cut(contact.contours.0) && is_cut(contact.contours.1))
            .collect()
    };
    let within_one = |contact: &Contact| contact.contours.0 == contact.contours.1;
    (facts.self_crossings, facts.crossings) = numbered(found.crossings).into_iter().partition(within_one);
    facts.touches = numbered(found.touches);
    facts.overlaps = found.overlaps.into_iter().map(|along| along.overlap).collect();
    facts.contacts = found.counts;
}

/// Gives a contour the side that was given for the one that repeats it and is left out; where it has another, its side is unclear.
fn repeat_sides(drawing: &Drawing, list: &mut [Contour], facts: &Facts) {
    if facts.duplicate_contours.is_empty() {
        return;
    }
    let contour_of = contour_of(drawing, list);
    for double in facts.duplicate_contours.iter().filter(|double| double.left_out) {
        let (Some(left_out), Some(kept)) = (contour_of[double.curve], contour_of[double.kept]) else {
            continue;
        };
        let Some(side) = list[left_out.index()].ruled_side else {
            continue;
        };
        let kept = &mut list[kept.index()];
        match (kept.side_from, kept.ruled_side) {
            (SideFrom::Drawn, None) if kept.purpose == Purpose::Cut => {
                (kept.role, kept.side_from, kept.ruled_side) = (side, SideFrom::Given, Some(side));
            }
            (SideFrom::Given, Some(other)) if other != side => kept.side_from = SideFrom::Unclear,
            _ => {}
        }
    }
}

/// Finds where contours to be cut pass through edges that are not, and where those pass through one another.
fn edge_crossings(list: &[Contour], facts: &mut Facts, join_mm: f64) -> Vec<Contact> {
    let is_left = |c: &&Contour| matches!(c.purpose, Purpose::Existing | Purpose::NotNow);
    if !list.iter().any(|c| is_left(&c)) {
        return Vec::new();
    }
    let edges: Vec<&Contour> = list.iter().filter(|c| c.purpose.is_edge()).collect();
    let views: Vec<ContourView<'_>> = edges.iter().map(|c| c.view()).collect();
    let found = contacts::contacts(&views, &facts.branches, join_mm);
    facts.contacts.cut_off |= found.counts.cut_off;
    let of_two = found.crossings.into_iter().filter_map(|found| {
        let (a, b) = (edges[found.lines.0], edges[found.lines.1]);
        (a.id != b.id && (is_left(&a) || is_left(&b))).then_some(Contact {
            at: found.at,
            contours: (a.id, b.id),
            curves: found.curves,
        })
    });
    of_two.collect()
}

/// Lists the loops among the curves that are left out altogether, without numbers, and what nearly closes.
fn ignored_loops(drawing: &Drawing, reading: &Reading, use_of: &[Purpose]) -> Vec<ClosedLine> {
    let members = members(use_of, Purpose::Ignore);
    let made = assemble::assemble(&drawing.curves, &members, &Stretches::new(), reading);
    let lines = made.lines.into_iter();
    lines
        .filter_map(|line| ClosedLine::of(line.polyline, line.curves[0]))
        .collect()
}

/// Tells the contour of each curve; `None` for those in none.
fn contour_of(drawing: &Drawing, list: &[Contour]) -> Vec<Option<ContourId>> {
    let mut contour_of = vec![None; drawing.curves.len()];
    for contour in list {
        for &curve in &contour.curves {
            contour_of[curve] = Some(contour.id);
        }
    }
    contour_of
}

/// Drops what concerns no contour that bounds material: one that the user has given another use has no flaws worth telling.
/// Adds of what was found `for_reference` what concerns one that does.
fn keep_what_bounds(
    list: &[Contour],
    contour_of: &[Option<ContourId>],
    for_reference: Facts,
    facts: &mut Facts,
) {
    for facets in &mut facts.facets {
        facets.contour = contour_of[facets.curve];
    }
    let bounds_material = |curve: usize| {
        let purpose = list[contour_of[curve]?.index()].purpose;
        Some(purpose.is_cut() || purpose == Purpose::Existing)
    };
    facts.retain(bounds_material);
    // The ends of open cuts are meant to be open.
    let is_open = |curve: usize| contour_of[curve].is_some_and(|id| list[id.index()].purpose.is_open_cut());
    facts
        .gaps
        .retain(|gap| !is_open(gap.curves.0) && !is_open(gap.curves.1));
    facts.append_concerning(for_reference, |curve| bounds_material(curve) == Some(true));
}

#[cfg(test)]
pub(crate) mod tests;

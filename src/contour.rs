//! Makes contours from curves: chains, orients, nests and measures them, arcs as arcs. Does not know the wire.

mod assemble;
mod assume;
mod chain;
mod contacts;
mod doubles;
mod facts;
mod frame;
mod gaps;
mod heal;
mod join;
mod joints;
mod measure;
mod names;
mod nest;
mod overlap;
mod sides;
mod purposes;
mod width;

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::Serialize;

use self::assemble::{Assembled, DraftContour};
use self::contacts::{Contacts, ContourView};
use self::overlap::Stretches;
use crate::drawing::Drawing;
use crate::geometry::{Bounds, Point, Polyline};
use crate::job::{Purpose, Purposes, Reading};

pub use facts::{
    Branch, Contact, Crumbs, DuplicateContour, DuplicateCurve, Facets, Facts, FrameSign, Gap, Kink, Overlap,
    SheetFrame, ShortSegments,
};
pub use measure::Corner;
pub use names::{MissingName, missing_names};
pub use purposes::StyleNotCut;
pub use sides::SideUnclear;
pub use width::Width;

/// Which side of a contour is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Material inside is kept: the wire runs outside.
    Outside,
    /// Material outside is kept: the wire runs inside.
    Opening,
    /// No loop: nothing is kept.
    Open,
}

/// How the kept side of a contour was decided.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum SideFrom {
    /// It was given for the contour.
    Given,
    /// It follows from the edges around it.
    #[default]
    Drawn,
    /// The only closed curve that is drawn around it bounds nothing: no path is made of it.
    Unclear,
}

/// A contour.
#[derive(Clone, Debug)]
pub struct Contour {
    /// Number, from 1, in the order of the contours' first curves in the drawing.
    pub id: usize,
    /// Its line. A loop runs counter-clockwise whatever its role.
    pub polyline: Polyline,
    /// Indices of the curves it was chained from, in order.
    pub curves: Vec<usize>,
    /// Curve of each segment; empty when all are of the one curve in `curves`. Ask [`Contour::curve_of`].
    pub sources: Vec<u32>,
    /// Which side is kept.
    pub role: Role,
    /// Where that comes from.
    pub side_from: SideFrom,
    /// What it is for; [`Purpose::Cut`] where a side is given too.
    pub purpose: Purpose,
    /// How many contours enclose it, of the edges ([`Purpose::is_edge`]) if it is one of them, else of its own use.
    pub depth: usize,
    /// Number of the contour that encloses it directly, counted as for `depth`.
    pub parent: Option<usize>,
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
    /// Thinnest place of the material that it bounds, to itself or to another contour.
    pub thinnest_wall: Option<Box<Width>>,
    /// It passes or ends at a place where three or more ends meet: the drawing can be read in another way.
    pub branched: bool,
}

impl Contour {
    /// Whether it is a loop that bounds material: to be cut, or machined already.
    pub fn bounds_material(&self) -> bool {
        self.purpose.is_edge() && self.role != Role::Open
    }

    fn view(&self) -> ContourView<'_> {
        ContourView {
            polyline: &self.polyline,
            curves: &self.curves,
            sources: &self.sources,
            passed_over: false,
        }
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
pub struct Contours {
    /// The contours, in order of their numbers.
    pub list: Vec<Contour>,
    /// Assumptions, in words, for the top of every output.
    pub assumptions: Vec<String>,
    /// What was found and what was repaired.
    pub facts: Facts,
    /// No purpose was given for any curve.
    pub uses_assumed: bool,
    /// Points of the drawing on layers of start holes.
    pub start_points: Vec<Point>,
    /// Number of the contour of each curve of the drawing; 0 for those in none.
    contour_of: Vec<u32>,
}

impl Contours {
    /// Fills in the narrowest slot and the thinnest wall of every contour to be cut, and lists the narrow places;
    /// on all cores, with the same result for any number of them.
    pub fn measure_widths(&mut self) {
        width::measure(&mut self.list, &mut self.facts);
    }

    /// Returns the number of the contour that a curve is part of; `None` for curves left out.
    pub fn of_curve(&self, curve: usize) -> Option<usize> {
        self.contour_of
            .get(curve)
            .map(|&id| id as usize)
            .filter(|&id| id > 0)
    }
}

/// The purposes whose curves are chained, in this order; [`Purpose::Ignore`] is left out altogether.
const CHAINED: [Purpose; 6] = [
    Purpose::Cut,
    Purpose::Existing,
    Purpose::NotNow,
    Purpose::StartHole,
    Purpose::Blank,
    Purpose::Reference,
];

/// Makes the contours of a drawing and measures their slots and walls: [`chain`], then
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
    let (use_of, styles_not_cut) = purposes::of_curves(drawing, uses);
    let mut facts = Facts {
        styles_not_cut,
        ..Facts::default()
    };
    let Chained {
        mut lines,
        contacts,
        overlaps,
        for_reference,
    } = chained(drawing, reading, &use_of, &mut facts);
    lines
        .sort_unstable_by_key(|(purpose, place, line)| (line.curves.iter().min().copied(), *purpose, *place));
    let mut searched = vec![0; lines.len()];
    let mut made_cut = false;
    // What repeats another loop is listed and measured, but not cut again.
    let drawn = |purpose: Purpose, line: &DraftContour| match purpose {
        _ if line.double => Purpose::Ignore,
        Purpose::Cut if purposes::is_start_hole(&line.polyline, uses) => Purpose::StartHole,
        purpose => purpose,
    };
    let said = |id: usize, drawn: Purpose| uses.contours.get(&id).copied().unwrap_or(drawn);
    for (i, (purpose, place, line)) in lines.iter().enumerate() {
        let (id, drawn) = (i + 1, drawn(*purpose, line));
        if *purpose == Purpose::Cut {
            searched[*place] = id;
        }
        made_cut |= drawn != Purpose::Cut && cut_side(said(id, drawn)).0 == Purpose::Cut;
    }
    let mut list: Vec<Contour> = (lines.into_par_iter().enumerate())
        .map(|(i, (purpose, _, line))| {
            let (purpose, side) = cut_side(said(i + 1, drawn(purpose, &line)));
            contour(i + 1, purpose, side, line)
        })
        .collect();
    let contacts = match contacts {
        Some(contacts) if !made_cut => contacts,
        // Lines were mended since, or lines that were not searched are to be cut after all.
        _ => {
            searched = (list.iter().filter(|c| c.purpose == Purpose::Cut).map(|c| c.id)).collect();
            let strands: Vec<ContourView<'_>> = searched.iter().map(|id| list[id - 1].view()).collect();
            contacts::contacts(&strands, &facts.branches, reading.join_mm)
        }
    };
    note_contacts(&list, &searched, contacts, &mut facts);
    facts.overlaps.extend(overlaps);
    sides::set_frames_aside(drawing, &mut list);
    place(&mut list);
    let ignored = ignored_loops(drawing, reading, &use_of);
    facts.sides_unclear = sides::find_unclear(drawing, &mut list, &ignored, uses);
    list.par_iter_mut().for_each(measure::inside_corners);
    let contour_of = contour_ids(&list, drawing.curves.len());
    for facets in &mut facts.facets {
        facets.contour = contour_of[facets.curve] as usize;
    }
    // A contour that the user has given another purpose has no flaws worth reporting either.
    let bounds_material = |curve: usize| match contour_of[curve] {
        0 => None,
        id => Some(matches!(
            list[id as usize - 1].purpose,
            Purpose::Cut | Purpose::Existing
        )),
    };
    facts.retain(bounds_material);
    facts.append_concerning(for_reference, |curve| bounds_material(curve) == Some(true));
    joints::note(drawing, &list, &mut facts);
    facts.frames = frame::frames(drawing, &list);
    log::debug!(
        "{} contours nested, their corners and joints looked at",
        list.len()
    );
    let assumptions = assume::assumptions(drawing, &list, &facts.frames, uses);
    Contours {
        list,
        assumptions,
        facts,
        uses_assumed: *uses == Purposes::default(),
        start_points: purposes::start_points(drawing, uses),
        contour_of,
    }
}

/// Returns the number of the contour that each curve is in, 0 where it is in none.
fn contour_ids(list: &[Contour], curves: usize) -> Vec<u32> {
    let mut ids = vec![0; curves];
    for contour in list {
        for &curve in &contour.curves {
            ids[curve] = contour.id as u32;
        }
    }
    ids
}

/// The draft contours of all purposes, and the facts found while making them.
struct Chained {
    /// Each with its use and its place among those of that use.
    lines: Vec<(Purpose, usize, DraftContour)>,
    /// Of those to be cut, named by their places; `None` where lines were cut up since they were searched.
    contacts: Option<Contacts>,
    /// Overlaps with one side given up.
    overlaps: Vec<Overlap>,
    /// What was found among the lines for orientation only, which has no flaws worth telling unless one of them is
    /// to be cut after all.
    for_reference: Facts,
}

fn chained(drawing: &Drawing, reading: &Reading, use_of: &[Purpose], facts: &mut Facts) -> Chained {
    let mut chained = Chained {
        lines: Vec::new(),
        contacts: None,
        overlaps: Vec::new(),
        for_reference: Facts::default(),
    };
    for purpose in CHAINED {
        let members: Vec<usize> = (0..use_of.len()).filter(|&i| use_of[i] == purpose).collect();
        let assemble = |stretches: &_| assemble::assemble(&drawing.curves, &members, stretches, reading);
        let gaps = |loose: &[_]| gaps::gaps(loose, reading.gap_search_mm);
        let mut made = assemble(&Stretches::new());
        if purpose == Purpose::Cut {
            let strands: Vec<ContourView<'_>> = made.lines.iter().map(DraftContour::view).collect();
            let (between, mut found) = rayon::join(
                || gaps(&made.loose),
                || contacts::contacts(&strands, &made.facts.branches, reading.join_mm),
            );
            drop(strands);
            log::debug!("gaps, crossings and touches looked for");
            made.facts.gaps = between;
            let stretches = overlap::stretches(&made.lines, &mut found.overlaps, reading.join_mm);
            if stretches.is_empty() {
                chained.contacts = Some(found);
            } else {
                let mended = found.overlaps.into_iter().map(|along| along.overlap);
                chained.overlaps = mended.filter(|overlap| overlap.repaired).collect();
                made = assemble(&stretches);
                made.facts.gaps = gaps(&made.loose);
            }
        } else {
            made.facts.gaps = gaps(&made.loose);
        }
        let Assembled {
            lines, facts: own, ..
        } = made;
        if matches!(purpose, Purpose::NotNow | Purpose::Reference) {
            chained.for_reference.append(own);
        } else {
            facts.append(own);
        }
        (chained.lines).extend(lines.into_iter().enumerate().map(|(i, line)| (purpose, i, line)));
    }
    chained
}

/// Records the contacts of lines to be cut by the numbers of their contours, less those that the user has given another
/// purpose.
fn note_contacts(list: &[Contour], searched: &[usize], found: Contacts, facts: &mut Facts) {
    let numbered = |mut contacts: Vec<Contact>| {
        for contact in &mut contacts {
            let (a, b) = contact.contours;
            contact.contours = (searched[a], searched[b]);
        }
        contacts.retain(|contact| {
            [contact.contours.0, contact.contours.1]
                .iter()
                .all(|id| list[id - 1].purpose == Purpose::Cut)
        });
        contacts
    };
    let within_one = |contact: &Contact| contact.contours.0 == contact.contours.1;
    (facts.self_crossings, facts.crossings) = numbered(found.crossings).into_iter().partition(within_one);
    facts.touches = numbered(found.touches);
    facts.overlaps = found.overlaps.into_iter().map(|along| along.overlap).collect();
    facts.contacts_unfinished = found.unfinished;
}

/// Splits a purpose into cut or not, and the side where one is given.
fn cut_side(purpose: Purpose) -> (Purpose, Option<Role>) {
    match purpose {
        Purpose::Part => (Purpose::Cut, Some(Role::Outside)),
        Purpose::Opening => (Purpose::Cut, Some(Role::Opening)),
        other => (other, None),
    }
}

/// Returns the loops among the curves that are left out altogether, without numbers.
fn ignored_loops(drawing: &Drawing, reading: &Reading, use_of: &[Purpose]) -> Vec<Contour> {
    let members: Vec<usize> = (0..use_of.len())
        .filter(|&i| use_of[i] == Purpose::Ignore)
        .collect();
    let made = assemble::assemble(&drawing.curves, &members, &Stretches::new(), reading);
    let loops = made.lines.into_iter().filter(|line| line.polyline.closed);
    loops
        .map(|line| contour(0, Purpose::Ignore, None, line))
        .collect()
}

fn contour(id: usize, purpose: Purpose, side: Option<Role>, line: DraftContour) -> Contour {
    let mut polyline = line.polyline;
    let mut sources = line.sources;
    let area = polyline.area();
    if area < 0.0 {
        polyline = polyline.reversed();
        // Vertex 0 stays, so the last segment becomes the first.
        sources.reverse();
    }
    Contour {
        id,
        curves: line.curves,
        sources,
        role: side.filter(|_| polyline.closed).unwrap_or(Role::Open),
        side_from: match side {
            Some(_) => SideFrom::Given,
            None => SideFrom::Drawn,
        },
        purpose,
        depth: 0,
        parent: None,
        perimeter_mm: polyline.length(),
        area_mm2: area.abs(),
        bounds: polyline.bounds(),
        min_inside_radius_mm: None,
        min_inside_radius_at: None,
        sharp_inside_corners: Vec::new(),
        narrowest_slot: None,
        thinnest_wall: None,
        branched: line.branched,
        polyline,
    }
}

/// Fills in depth, parent and role. A given side stays; the sides of contours within follow from it.
fn place(list: &mut [Contour]) {
    // All edges are nested together, whether they are cut or not.
    let nested_with = |purpose: Purpose| if purpose.is_edge() { Purpose::Cut } else { purpose };
    let mut together: BTreeMap<Purpose, Vec<usize>> = BTreeMap::new();
    for (i, contour) in list.iter().enumerate() {
        together.entry(nested_with(contour.purpose)).or_default().push(i);
    }
    for mut members in together.into_values() {
        for (&i, (depth, parent)) in members.iter().zip(nest::nest(list, &members)) {
            list[i].parent = parent.map(|p| list[p].id);
            list[i].depth = depth;
        }
        members.sort_by_key(|&i| list[i].depth);
        // Those whose side is given, or follows from one that is.
        let mut settled: BTreeSet<usize> = BTreeSet::new();
        for i in members {
            let parent = list[i].parent.filter(|id| settled.contains(id));
            if list[i].side_from == SideFrom::Given || parent.is_some() {
                settled.insert(list[i].id);
            }
            if !list[i].polyline.closed || list[i].side_from == SideFrom::Given {
                continue;
            }
            list[i].role = match parent.map(|id| list[id - 1].role) {
                Some(Role::Outside) => Role::Opening,
                None if list[i].depth % 2 == 1 => Role::Opening,
                Some(Role::Opening | Role::Open) | None => Role::Outside,
            };
        }
    }
}

#[cfg(test)]
pub(crate) mod tests;

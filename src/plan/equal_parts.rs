//! Counts the parts of a drawing: outlines with all that lies in them, equal ones together, mirror images apart.
//!
//! A part is an outline that is cut, or one in which something is cut; openings without an outline around them are in one part
//! that is not drawn. Candidates are gathered by what lies in them and by their areas, and proved congruent, so that the cost is
//! near-linear in segments.

use std::cell::OnceCell;
use std::collections::BTreeMap;

use crate::contour::{Contour, Contours, Enclosing, NestView, Role};
use crate::geometry::{FlatShape, Polyline, ShapeSums};
use crate::id::{ContourId, GroupId};
use crate::job::Purpose;

/// Parts that are equal.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct EqualParts {
    /// The outline of each; `None` of one whose outline is not drawn.
    pub outlines: Vec<Option<ContourId>>,
    /// Index in [`DrawnParts::kinds`] of those that they are mirror images of: left and right hand.
    pub mirror_of: Option<usize>,
}

impl EqualParts {
    /// Returns how many there are.
    pub fn count(&self) -> usize {
        self.outlines.len()
    }
}

/// The parts of a drawing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct DrawnParts {
    /// In the order of their first outlines, one that is not drawn last.
    pub kinds: Vec<EqualParts>,
}

impl DrawnParts {
    /// Returns how many pieces the drawing holds: parts where all are equal, else sets of the parts as they are drawn (three left and
    /// three right hands are three sets); at least 1.
    pub fn pieces(&self) -> usize {
        let counts = self.kinds.iter().map(EqualParts::count);
        counts.reduce(gcd).unwrap_or(1).max(1)
    }

    /// Returns how many parts the drawing holds.
    pub fn count(&self) -> usize {
        self.kinds.iter().map(EqualParts::count).sum()
    }
}

fn gcd(a: usize, b: usize) -> usize {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Counts the parts of a drawing that are alike to within `alike_mm`; `group_of` returns the demand group of a contour: what is
/// cut otherwise is another part.
pub(super) fn drawn_parts(
    contours: &Contours,
    group_of: impl Fn(ContourId) -> Option<GroupId>,
    alike_mm: f64,
) -> DrawnParts {
    let mut parts: BTreeMap<ContourId, PartOutline<'_>> = BTreeMap::new();
    let mut undrawn = false;
    let edges = || contours.list.iter().filter(|c| c.keeps_known_side());
    for outline in edges().filter(|c| c.role == Role::Outside) {
        parts.insert(outline.id, PartOutline::new(outline, group_of(outline.id)));
    }
    for opening in edges().filter(|c| c.role == Role::Opening) {
        match opening.parent.and_then(|id| parts.get_mut(&id)) {
            Some(part) => part.take(opening, group_of(opening.id)),
            None => undrawn |= opening.purpose == Purpose::Cut,
        }
    }
    place_marks(contours, &mut parts);
    let parts: Vec<PartOutline<'_>> = parts.into_values().filter(|part| part.is_cut).collect();
    let mut drawn = DrawnParts {
        kinds: kinds(&parts, alike_mm),
    };
    if undrawn {
        drawn.kinds.push(EqualParts {
            outlines: vec![None],
            mirror_of: None,
        });
    }
    drawn
}

/// Adds tapped holes and open cuts to the parts that they lie in.
fn place_marks<'a>(contours: &'a Contours, parts: &mut BTreeMap<ContourId, PartOutline<'a>>) {
    let is_mark = |c: &&Contour| c.purpose == Purpose::Thread || (c.purpose.is_cut() && c.role == Role::Open);
    let mut marks = contours.list.iter().filter(is_mark).peekable();
    if marks.peek().is_none() {
        return;
    }
    let edges: Vec<&Contour> = contours.list.iter().filter(|c| c.keeps_known_side()).collect();
    let mut enclosing = Enclosing::new(edges.iter().map(|c| NestView::of(c)).collect());
    for mark in marks {
        let around = enclosing.of(NestView::of(mark)).into_iter().map(|i| edges[i]);
        let inmost = around.min_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
        if let Some(part) = inmost.and_then(|edge| parts.get_mut(&edge.id)) {
            part.take(mark, None);
        }
    }
}

/// What a line of a part is: only like lines are compared.
type LineKind = (Purpose, bool, Option<GroupId>);

/// A part as it is drawn.
struct PartOutline<'a> {
    outline: &'a Contour,
    kind: LineKind,
    /// What lies in it.
    inside: BTreeMap<LineKind, Vec<&'a Polyline>>,
    /// Something of it is cut.
    is_cut: bool,
}

impl<'a> PartOutline<'a> {
    fn new(outline: &'a Contour, group: Option<GroupId>) -> Self {
        Self {
            outline,
            kind: (outline.purpose, true, group),
            inside: BTreeMap::new(),
            is_cut: outline.purpose.is_cut(),
        }
    }

    fn take(&mut self, line: &'a Contour, group: Option<GroupId>) {
        let kind = (line.purpose, line.polyline.closed, group);
        self.inside.entry(kind).or_default().push(&line.polyline);
        self.is_cut |= line.purpose.is_cut();
    }

    fn sums(&self) -> ShapeSums {
        let inside: Vec<Vec<&Polyline>> = self.inside.values().cloned().collect();
        ShapeSums::of(&self.outline.polyline, &inside)
    }

    fn shape(&self) -> FlatShape {
        let copied = |lines: &Vec<&Polyline>| lines.iter().map(|&line| line.clone()).collect();
        FlatShape::new(
            self.outline.polyline.clone(),
            self.inside.values().map(copied).collect(),
        )
    }
}

/// Parts that were found equal so far.
struct Kind {
    sums: ShapeSums,
    /// Those of the first of them, as drawn and mirrored, once they are needed.
    shape: OnceCell<FlatShape>,
    /// Indices of the parts.
    members: Vec<usize>,
    /// Index of the kind of which these are mirror images.
    mirror_of: Option<usize>,
}

/// The kinds of parts, in the order of their first outlines.
fn kinds(parts: &[PartOutline<'_>], alike_mm: f64) -> Vec<EqualParts> {
    let mut by_lines: BTreeMap<(LineKind, Vec<LineKind>), Vec<usize>> = BTreeMap::new();
    for (i, part) in parts.iter().enumerate() {
        let lines = part.inside.keys().copied().collect();
        by_lines.entry((part.kind, lines)).or_default().push(i);
    }
    let mut kinds: Vec<Kind> = Vec::new();
    for members in by_lines.into_values() {
        sort_into(&mut kinds, parts, &members, alike_mm);
    }
    let mut order: Vec<usize> = (0..kinds.len()).collect();
    let first = |kind: &Kind| kind.members.iter().copied().min();
    order.sort_by_key(|&k| first(&kinds[k]));
    let mut place = vec![0; kinds.len()];
    order.iter().enumerate().for_each(|(at, &k)| place[k] = at);
    let mut listed: Vec<EqualParts> = Vec::with_capacity(kinds.len());
    for &k in &order {
        let mut members = kinds[k].members.clone();
        members.sort_unstable();
        listed.push(EqualParts {
            outlines: members.into_iter().map(|i| Some(parts[i].outline.id)).collect(),
            mirror_of: None,
        });
    }
    for (k, kind) in kinds.iter().enumerate() {
        if let Some(other) = kind.mirror_of {
            // The later one is the image of the earlier one.
            let (a, b) = (place[k], place[other]);
            listed[a.max(b)].mirror_of = Some(a.min(b));
        }
    }
    listed
}

/// Sorts parts with like lines into kinds. Walks them by area, so that each is tried against few kinds.
fn sort_into(kinds: &mut Vec<Kind>, parts: &[PartOutline<'_>], members: &[usize], alike_mm: f64) {
    let mut sums: Vec<(usize, ShapeSums)> = members.iter().map(|&i| (i, parts[i].sums())).collect();
    sums.sort_by(|(i, a), (j, b)| a.area_mm2().total_cmp(&b.area_mm2()).then(i.cmp(j)));
    let begin = kinds.len();
    let mut from = begin;
    for (i, sums) in sums {
        while from < kinds.len()
            && kinds[from].sums.area_mm2() < sums.area_mm2() - sums.area_slack_mm2(alike_mm)
        {
            from += 1;
        }
        let near: Vec<usize> = (from..kinds.len())
            .filter(|&k| kinds[k].sums.may_be_alike(&sums, alike_mm))
            .collect();
        let mut shape = OnceCell::new();
        let mut found = None;
        let mut mirror_of = None;
        if !near.is_empty() {
            let made = shape.get_or_init(|| parts[i].shape());
            let first = |k: usize| kinds[k].shape.get_or_init(|| parts[kinds[k].members[0]].shape());
            found = near
                .iter()
                .copied()
                .find(|&k| first(k).is_congruent(made, alike_mm));
            if found.is_none() {
                let mirrored = made.mirrored();
                mirror_of = near
                    .iter()
                    .copied()
                    .find(|&k| first(k).is_congruent(&mirrored, alike_mm));
            }
        }
        match found {
            Some(k) => kinds[k].members.push(i),
            None => kinds.push(Kind {
                sums,
                shape: shape.take().map_or_else(OnceCell::new, OnceCell::from),
                members: vec![i],
                mirror_of,
            }),
        }
    }
}

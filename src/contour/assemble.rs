//! Makes draft contours from the curves of one purpose: removes doubles, joins ends, walks chains, heals tiny segments.

use std::borrow::Cow;

use rayon::prelude::*;

use super::chain::{Chain, chain};
use super::doubles::mark_double_loops;
use super::draft::DraftContour;
use super::facts::{Branch, Crumbs, DuplicateCurve, Facts, Gap, MergedJoint};
use super::gaps::LooseEnd;
use super::heal::{fit_arcs, heal};
use super::join::{Nodes, join};
use super::overlap::{self, Stretches};
use crate::cancel::{asked, asking, checkpoint, checkpoint_each};
use crate::drawing::Curve;
use crate::elementary::{atan, tan};
use crate::geometry::{Point, Polyline, Segment, Vertex};
use crate::job::Reading;
use crate::tolerance::{JOIN_MM, SAME_POINT_MM};

/// How many curves a [`Branch`] names.
const BRANCH_CURVES: usize = 6;

/// An open part of the drawing between two ends.
struct OpenPiece<'a> {
    curve: usize,
    line: Cow<'a, Polyline>,
    /// It is all of its curve.
    whole: bool,
}

/// The draft contours of one purpose.
pub(super) struct Assembled {
    /// In order of their lowest curve.
    pub lines: Vec<DraftContour>,
    /// What was found.
    pub facts: Facts,
    /// Where open lines stop with nothing there to join; what is nearest to them is not yet looked for.
    pub loose: Vec<LooseEnd>,
}

/// Makes all draft contours of the curves numbered `members`. Open curves with `stretches` are cut there.
pub(super) fn assemble(
    curves: &[Curve],
    members: &[usize],
    stretches: &Stretches,
    reading: &Reading,
) -> Assembled {
    let mut facts = Facts::default();
    let mut lines = Vec::new();
    let mut pieces = Vec::with_capacity(members.len());
    for &i in asked(members.iter()) {
        let polyline = &curves[i].polyline;
        if polyline.segment_count() == 0 {
            continue;
        }
        if polyline.closed {
            lines.push(DraftContour {
                polyline: halved(polyline).into_owned(),
                curves: vec![i],
                sources: Vec::new(),
                branched: false,
                double: false,
            });
        } else if let Some(stretches) = stretches.get(&i) {
            let parts = overlap::parts(&halved(polyline), stretches, reading.join_mm);
            pieces.extend(parts.into_iter().map(|line| OpenPiece {
                curve: i,
                line,
                whole: false,
            }));
        } else {
            pieces.push(OpenPiece {
                curve: i,
                line: halved(polyline),
                whole: true,
            });
        }
    }
    let mut ends = Vec::with_capacity(2 * pieces.len());
    for OpenPiece { line, .. } in asked(pieces.iter()) {
        ends.extend([line.vertices[0].at, line.vertices[line.vertices.len() - 1].at]);
    }
    let nodes = join(&ends, reading.join_mm);
    let mut alive = vec![true; pieces.len()];
    drop_crumbs(&pieces, &nodes, reading.join_mm, &mut alive, &mut facts);
    drop_doubles(&pieces, &nodes, reading.join_mm, &mut alive, &mut facts);
    checkpoint();
    note_joints(&pieces, &ends, &nodes, &alive, &mut facts);
    checkpoint();

    let runs: Vec<&Polyline> = pieces.iter().map(|piece| piece.line.as_ref()).collect();
    let (chains, branches) = chain(&runs, &nodes, &alive);
    checkpoint();
    note_branches(&pieces, &nodes, &alive, &branches, &mut facts);
    lines.par_extend(chains.par_iter().map(|chain| line_of(chain, &pieces, &nodes)));
    let healed = lines
        .par_iter_mut()
        .filter_map(|line| heal(line, reading.join_mm));
    facts.crumbs.par_extend(healed);
    checkpoint();
    if let Some(tolerance_mm) = reading.refit_mm {
        for line in &mut lines {
            fit_arcs(line, tolerance_mm, &mut facts);
        }
    }
    let first = |line: &DraftContour| line.curves.iter().min().copied();
    lines.sort_unstable_by(asking(|a, b| first(a).cmp(&first(b))));
    checkpoint();
    mark_double_loops(&mut lines, reading.join_mm, &mut facts);
    if !members.is_empty() {
        log::debug!("{} curves joined and chained", members.len());
    }
    let loose = loose_ends(&chains, &branches, &pieces, &nodes, &ends);
    Assembled { lines, facts, loose }
}

/// Splits every arc of more than a half turn in two: only then does a small shift of an end move
/// all of the arc by no more than that.
fn halved(polyline: &Polyline) -> Cow<'_, Polyline> {
    if polyline.vertices.iter().all(|v| v.bulge.abs() <= 1.0) {
        return Cow::Borrowed(polyline);
    }
    let mut vertices = Vec::with_capacity(polyline.vertices.len() + 2);
    for (i, &vertex) in polyline.vertices.iter().enumerate() {
        if i < polyline.segment_count() && vertex.bulge.abs() > 1.0 {
            let bulge = tan(atan(vertex.bulge) / 2.0);
            let middle = polyline.segment(i).at(0.5);
            vertices.extend([vertex.at, middle].map(|at| Vertex { at, bulge }));
        } else {
            vertices.push(vertex);
        }
    }
    Cow::Owned(Polyline {
        vertices,
        closed: polyline.closed,
    })
}

fn ends_of(nodes: &Nodes, piece: usize) -> (u32, u32) {
    (nodes.of_end[2 * piece], nodes.of_end[2 * piece + 1])
}

/// Leaves out pieces that lie wholly within the join tolerance and begin and end at one node.
fn drop_crumbs(pieces: &[OpenPiece<'_>], nodes: &Nodes, join_mm: f64, alive: &mut [bool], facts: &mut Facts) {
    let mut crumbs: Option<Crumbs> = None;
    for (i, piece) in pieces.iter().enumerate() {
        checkpoint_each(i);
        let (from, to) = ends_of(nodes, i);
        if from == to && piece.line.bounds().diagonal() <= join_mm.max(SAME_POINT_MM) {
            alive[i] = false;
            crumbs
                .get_or_insert(Crumbs {
                    at: piece.line.vertices[0].at,
                    count: 0,
                    curve: piece.curve,
                })
                .count += 1;
        }
    }
    facts.crumbs.extend(crumbs);
}

/// Leaves out every piece that runs as another one does, in either direction; the one that stands first in
/// the drawing is kept.
fn drop_doubles(
    pieces: &[OpenPiece<'_>],
    nodes: &Nodes,
    join_mm: f64,
    alive: &mut [bool],
    facts: &mut Facts,
) {
    // How many ends each node has, and what the numbers of the nodes at the other ends leave of one another: nothing
    // where two ends lead to the same node.
    let mut shared = vec![(0u32, 0u32); nodes.at.len()];
    for (end, &node) in nodes.of_end.iter().enumerate() {
        checkpoint_each(end);
        let (count, others) = &mut shared[node as usize];
        *count += 1;
        *others ^= nodes.of_end[end ^ 1];
    }
    let may_double = |node: u32| match shared[node as usize] {
        (0 | 1, _) => false,
        (2, others) => others == 0,
        _ => true,
    };
    let mut by_ends: Vec<(u32, u32, usize)> = asked(0..pieces.len())
        .filter(|&i| alive[i])
        .map(|i| {
            let (from, to) = ends_of(nodes, i);
            (from.min(to), from.max(to), i)
        })
        .filter(|&(from, to, _)| may_double(from) && may_double(to))
        .collect();
    by_ends.par_sort_unstable_by(asking(Ord::cmp));
    let mut found = Vec::new();
    for group in by_ends.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        let mut kept: Vec<usize> = Vec::new();
        for &(_, _, i) in group {
            let double = kept
                .iter()
                .find(|&&k| same_run(&pieces[k].line, &pieces[i].line, join_mm));
            match double {
                Some(&k) => {
                    alive[i] = false;
                    // Parts of curves are cut only where an overlap is known.
                    if pieces[i].whole && pieces[k].whole {
                        found.push(DuplicateCurve {
                            curve: pieces[i].curve,
                            kept: pieces[k].curve,
                        });
                    }
                }
                None => kept.push(i),
            }
        }
    }
    found.sort_unstable_by_key(|double| double.curve);
    facts.duplicate_curves.extend(found);
}

/// Whether two open runs lie within `join_mm` of each other vertex by vertex and arc by arc, in either
/// direction.
fn same_run(a: &Polyline, b: &Polyline, join_mm: f64) -> bool {
    let n = a.segment_count();
    let near = |p: Point, q: Point| p.distance(q) <= join_mm.max(SAME_POINT_MM);
    let same =
        |s: Segment, t: Segment| near(s.from, t.from) && near(s.to, t.to) && near(s.at(0.5), t.at(0.5));
    n == b.segment_count()
        && ((0..n).all(|i| same(a.segment(i), b.segment(i)))
            || (0..n).all(|i| same(a.segment(i), b.segment(n - 1 - i).reversed())))
}

/// Counts the joints that were brought together, and notes those wider than the default tolerance.
fn note_joints(pieces: &[OpenPiece<'_>], ends: &[Point], nodes: &Nodes, alive: &[bool], facts: &mut Facts) {
    let mut wide = std::collections::BTreeMap::new();
    let mut widest = (0, 0.0);
    for (node, &spread) in nodes.spread_mm.iter().enumerate() {
        checkpoint_each(node);
        if spread > JOIN_MM {
            wide.insert(node as u32, Vec::new());
        } else if spread > SAME_POINT_MM {
            facts.merged_joints += 1;
            if spread > widest.1 {
                widest = (node, spread);
            }
        }
    }
    let of_widest = nodes.of_end.iter().position(|&node| node as usize == widest.0);
    facts.widest_merge = of_widest.filter(|_| widest.1 > 0.0).map(|end| MergedJoint {
        size_mm: widest.1,
        at: ends[end],
        curve: pieces[end / 2].curve,
    });
    if wide.is_empty() {
        return;
    }
    for (end, node) in nodes.of_end.iter().enumerate() {
        if alive[end / 2]
            && let Some(list) = wide.get_mut(node)
        {
            list.push(end);
        }
    }
    for list in wide.values() {
        if let [first, rest @ ..] = list.as_slice()
            && let Some(far) = rest.iter().max_by(|a, b| {
                ends[**a]
                    .distance(ends[*first])
                    .total_cmp(&ends[**b].distance(ends[*first]))
            })
        {
            facts.gaps_closed.push(Gap {
                size_mm: ends[*first].distance(ends[*far]),
                from: ends[*first],
                to: ends[*far],
                curves: (pieces[first / 2].curve, pieces[far / 2].curve),
            });
        }
    }
}

fn note_branches(
    pieces: &[OpenPiece<'_>],
    nodes: &Nodes,
    alive: &[bool],
    branches: &[u32],
    facts: &mut Facts,
) {
    if branches.is_empty() {
        return;
    }
    let first = facts.branches.len();
    let mut place = vec![usize::MAX; nodes.at.len()];
    for &node in branches {
        place[node as usize] = facts.branches.len();
        facts.branches.push(Branch {
            at: nodes.at[node as usize],
            ends: 0,
            curves: Vec::new(),
        });
    }
    for (end, &node) in nodes.of_end.iter().enumerate() {
        if !alive[end / 2] || place[node as usize] == usize::MAX {
            continue;
        }
        let branch = &mut facts.branches[place[node as usize]];
        branch.ends += 1;
        if branch.curves.len() < BRANCH_CURVES && !branch.curves.contains(&pieces[end / 2].curve) {
            branch.curves.push(pieces[end / 2].curve);
        }
    }
    facts.branches[first..].sort_by_key(|branch| branch.curves.first().copied());
}

/// Returns all ends of open chains that do not stop at a branching node.
fn loose_ends(
    chains: &[Chain],
    branches: &[u32],
    pieces: &[OpenPiece<'_>],
    nodes: &Nodes,
    ends: &[Point],
) -> Vec<LooseEnd> {
    let mut is_branch = vec![false; nodes.at.len()];
    for &node in branches {
        is_branch[node as usize] = true;
    }
    chains
        .par_iter()
        .filter(|chain| !chain.closed)
        .flat_map_iter(Chain::ends)
        .filter(|&end| !is_branch[nodes.of_end[end as usize] as usize])
        .map(|end| LooseEnd {
            at: ends[end as usize],
            piece: end / 2,
            piece_mm: pieces[end as usize / 2].line.length(),
            curve: pieces[end as usize / 2].curve as u32,
        })
        .collect()
}

/// Makes the line of a chain, with every end at its node.
fn line_of(chain: &Chain, pieces: &[OpenPiece<'_>], nodes: &Nodes) -> DraftContour {
    let single = chain.pieces.len() == 1;
    let segments = chain
        .pieces
        .iter()
        .map(|&(piece, _)| pieces[piece as usize].line.segment_count());
    let mut vertices: Vec<Vertex> = Vec::with_capacity(segments.sum::<usize>() + 1);
    let mut curves = Vec::with_capacity(chain.pieces.len());
    let mut sources = Vec::new();
    for &(piece, reversed) in &chain.pieces {
        let OpenPiece { curve, line, .. } = &pieces[piece as usize];
        let (from, to) = ends_of(nodes, piece as usize);
        let (from, to) = if reversed { (to, from) } else { (from, to) };
        let start = vertices.len();
        if reversed {
            vertices.extend(line.reversed().vertices);
        } else {
            vertices.extend_from_slice(&line.vertices);
        }
        let end = vertices.len() - 1;
        vertices[start].at = nodes.at[from as usize];
        vertices[end].at = nodes.at[to as usize];
        // The next piece brings this vertex again.
        vertices.truncate(end);
        if !single {
            sources.extend(std::iter::repeat_n(*curve as u32, end - start));
        }
        if curves.last() != Some(curve) {
            curves.push(*curve);
        }
    }
    if !chain.closed {
        let last = chain.pieces[chain.pieces.len() - 1];
        let (from, to) = ends_of(nodes, last.0 as usize);
        vertices.push(Vertex {
            at: nodes.at[if last.1 { from } else { to } as usize],
            bulge: 0.0,
        });
    }
    DraftContour {
        polyline: Polyline {
            vertices,
            closed: chain.closed,
        },
        curves,
        sources,
        branched: chain.branched,
        double: false,
    }
}

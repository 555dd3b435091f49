//! Chains open pieces into chains and loops.
//!
//! Ends meet in nodes (see [`super::join`]). Where two ends meet, the chain goes on. Where three or more meet,
//! the drawing can be read in several ways; the reading taken is this: pieces that belong to some loop go on
//! among themselves, straightest pair first; pieces that lead to a loop or away from it come after. A walk
//! that comes back to a node gives off the loop it made, so every loop is simple. What is left over is
//! paired again, as long as that yields more loops.

use super::join::Nodes;
use crate::cancel::checkpoint;
use crate::geometry::{Polyline, Vector};

/// No end.
const NONE: u32 = u32::MAX;

/// More ends than this at one node are not paired by direction: they stay loose ends.
const PAIRED_ENDS: usize = 64;

/// How often what is left over at branching nodes is paired again.
const ROUNDS: usize = 8;

/// Pieces in order, each with whether it is walked backwards.
pub(super) struct Chain {
    pub pieces: Vec<(u32, bool)>,
    pub closed: bool,
    /// Passes or ends at a node where three or more ends meet.
    pub branched: bool,
}

/// Returns all chains of the `pieces` that are `alive`, and the nodes where three or more ends meet.
pub(super) fn chain(pieces: &[&Polyline], nodes: &Nodes, alive: &[bool]) -> (Vec<Chain>, Vec<u32>) {
    let mut graph = Graph::new(pieces, nodes, alive.to_vec());
    let branches: Vec<u32> = (0..nodes.at.len() as u32)
        .filter(|&node| graph.ends_at(node).len() > 2)
        .collect();
    let mut is_branch = vec![false; nodes.at.len()];
    for &node in &branches {
        is_branch[node as usize] = true;
    }
    let mut chains = Vec::new();
    for round in 0.. {
        let mates = graph.mates();
        let mut open = Vec::new();
        let loops_before = chains.len();
        checkpoint();
        graph.walk(&mates, |walk, closed| {
            checkpoint();
            split(&graph, walk, closed, &is_branch, &mut chains, &mut open);
        });
        let between_branches = |chain: &Chain| {
            chain
                .ends()
                .iter()
                .all(|&end| is_branch[nodes.of_end[end as usize] as usize])
        };
        let more = round < ROUNDS && chains.len() > loops_before && open.iter().any(between_branches);
        if !more {
            chains.extend(open);
            break;
        }
        let mut left = vec![false; pieces.len()];
        for chain in open {
            if between_branches(&chain) {
                for &(piece, _) in &chain.pieces {
                    left[piece as usize] = true;
                }
            } else {
                chains.push(chain);
            }
        }
        graph = Graph::new(pieces, nodes, left);
    }
    (chains, branches)
}

impl Chain {
    /// Returns the ends of the pieces where the chain begins and stops.
    pub(super) fn ends(&self) -> [u32; 2] {
        let (first, reversed) = self.pieces[0];
        let (last, last_reversed) = self.pieces[self.pieces.len() - 1];
        [
            2 * first + u32::from(reversed),
            2 * last + u32::from(!last_reversed),
        ]
    }
}

/// Splits off the loops of a walk that comes back to a branching node.
fn split(
    graph: &Graph<'_>,
    walk: Vec<(u32, bool)>,
    closed: bool,
    is_branch: &[bool],
    loops: &mut Vec<Chain>,
    open: &mut Vec<Chain>,
) {
    let node_of = |end: u32| graph.nodes.of_end[end as usize];
    let branched = walk
        .iter()
        .any(|&(piece, _)| (0..2).any(|side| is_branch[node_of(2 * piece + side) as usize]));
    if !branched {
        let list = if closed { loops } else { open };
        list.push(Chain {
            pieces: walk,
            closed,
            branched,
        });
        return;
    }
    let start = node_of(2 * walk[0].0 + u32::from(walk[0].1));
    let mut seen = std::collections::HashMap::from([(start, 0)]);
    let mut stack: Vec<(u32, bool)> = Vec::new();
    for (piece, reversed) in walk {
        stack.push((piece, reversed));
        let node = node_of(2 * piece + u32::from(!reversed));
        if !is_branch[node as usize] && node != start {
            continue;
        }
        if let Some(&depth) = seen.get(&node) {
            let pieces = stack.split_off(depth);
            for &(piece, reversed) in &pieces[..pieces.len() - 1] {
                seen.remove(&node_of(2 * piece + u32::from(!reversed)));
            }
            loops.push(Chain {
                pieces,
                closed: true,
                branched,
            });
        } else {
            seen.insert(node, stack.len());
        }
    }
    if !stack.is_empty() {
        open.push(Chain {
            pieces: stack,
            closed: false,
            branched,
        });
    }
}

/// Pieces as edges between nodes. End `2·i` is the start of piece `i`, end `2·i + 1` its other end.
struct Graph<'a> {
    pieces: &'a [&'a Polyline],
    nodes: &'a Nodes,
    alive: Vec<bool>,
    /// Where each node's ends begin in `ends`.
    starts: Vec<u32>,
    ends: Vec<u32>,
}

impl<'a> Graph<'a> {
    fn new(pieces: &'a [&'a Polyline], nodes: &'a Nodes, alive: Vec<bool>) -> Self {
        let mut starts = vec![0u32; nodes.at.len() + 1];
        let living = |end: &u32| alive[*end as usize / 2];
        let all = 0..2 * pieces.len() as u32;
        for end in all.clone().filter(living) {
            starts[nodes.of_end[end as usize] as usize + 1] += 1;
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut fill = starts.clone();
        let mut ends = vec![0; starts[nodes.at.len()] as usize];
        for end in all.filter(living) {
            let slot = &mut fill[nodes.of_end[end as usize] as usize];
            ends[*slot as usize] = end;
            *slot += 1;
        }
        Self {
            pieces,
            nodes,
            alive,
            starts,
            ends,
        }
    }

    fn ends_at(&self, node: u32) -> &[u32] {
        let node = node as usize;
        &self.ends[self.starts[node] as usize..self.starts[node + 1] as usize]
    }

    /// Returns the unit direction away from the node along the piece of `end`.
    fn direction(&self, end: u32) -> Vector {
        let piece = self.pieces[end as usize / 2];
        if end.is_multiple_of(2) {
            piece.segment(0).direction(0.0)
        } else {
            -piece.segment(piece.segment_count() - 1).direction(1.0)
        }
    }

    /// Pairs each end with the one that continues it, or [`NONE`].
    fn mates(&self) -> Vec<u32> {
        let mut mates = vec![NONE; 2 * self.pieces.len()];
        let mut bridges = None;
        for node in 0..self.nodes.at.len() as u32 {
            let ends = self.ends_at(node);
            match *ends {
                [] | [_] => {}
                [a, b] => {
                    mates[a as usize] = b;
                    mates[b as usize] = a;
                }
                _ => {
                    let bridges = bridges.get_or_insert_with(|| self.bridges());
                    self.pair(ends, bridges, &mut mates);
                }
            }
        }
        mates
    }

    /// Pairs the ends at one node: those within loops first, the straightest pair first.
    fn pair(&self, ends: &[u32], bridges: &[bool], mates: &mut [u32]) {
        // A piece that begins and ends here is a loop of its own.
        for &end in ends {
            if end % 2 == 0 && self.nodes.of_end[end as usize] == self.nodes.of_end[end as usize + 1] {
                mates[end as usize] = end + 1;
                mates[end as usize + 1] = end;
            }
        }
        if ends.len() > PAIRED_ENDS {
            return;
        }
        let directions: Vec<Vector> = ends.iter().map(|&end| self.direction(end)).collect();
        let mut pairs = Vec::new();
        for i in 0..ends.len() {
            for j in i + 1..ends.len() {
                let (a, b) = (ends[i], ends[j]);
                let outside = bridges[a as usize / 2] || bridges[b as usize / 2];
                // −1 when straight on.
                pairs.push((outside, directions[i].dot(directions[j]), a, b));
            }
        }
        pairs.sort_by(|p, q| {
            (p.0.cmp(&q.0))
                .then(p.1.total_cmp(&q.1))
                .then((p.2, p.3).cmp(&(q.2, q.3)))
        });
        for (_, _, a, b) in pairs {
            if mates[a as usize] == NONE && mates[b as usize] == NONE {
                mates[a as usize] = b;
                mates[b as usize] = a;
            }
        }
    }

    /// Returns for each piece whether it lies on no loop: removing it would disconnect what it joins.
    /// R. Tarjan, "A note on finding the bridges of a graph", Information Processing Letters 2 (1974) 160.
    fn bridges(&self) -> Vec<bool> {
        let mut bridge = vec![false; self.pieces.len()];
        let mut order = vec![0u32; self.nodes.at.len()];
        let mut low = vec![0u32; self.nodes.at.len()];
        let mut count = 0;
        // Node, end by which it was entered, next of its ends to look at.
        let mut stack: Vec<(u32, u32, usize)> = Vec::new();
        for root in 0..self.nodes.at.len() as u32 {
            if order[root as usize] != 0 {
                continue;
            }
            count += 1;
            (order[root as usize], low[root as usize]) = (count, count);
            stack.push((root, NONE, 0));
            while let Some((node, entered, next)) = stack.last_mut() {
                let (node, entered) = (*node, *entered);
                if let Some(&end) = self.ends_at(node).get(*next) {
                    *next += 1;
                    if end == entered {
                        continue;
                    }
                    let other_end = end ^ 1;
                    let other = self.nodes.of_end[other_end as usize];
                    if order[other as usize] == 0 {
                        count += 1;
                        (order[other as usize], low[other as usize]) = (count, count);
                        stack.push((other, other_end, 0));
                    } else {
                        low[node as usize] = low[node as usize].min(order[other as usize]);
                    }
                } else {
                    stack.pop();
                    if let Some(&(parent, _, _)) = stack.last() {
                        low[parent as usize] = low[parent as usize].min(low[node as usize]);
                        if low[node as usize] > order[parent as usize] {
                            bridge[entered as usize / 2] = true;
                        }
                    }
                }
            }
        }
        bridge
    }

    /// Walks every chain of mated ends; the lowest piece of each is walked forwards.
    fn walk(&self, mates: &[u32], mut emit: impl FnMut(Vec<(u32, bool)>, bool)) {
        let mut done = vec![false; self.pieces.len()];
        for first in 0..self.pieces.len() as u32 {
            if done[first as usize] || !self.alive[first as usize] {
                continue;
            }
            // Back to where the chain begins, or once round the loop.
            let mut start = 2 * first;
            let mut closed = false;
            while mates[start as usize] != NONE {
                start = mates[start as usize] ^ 1;
                if start == 2 * first {
                    closed = true;
                    break;
                }
            }
            let mut walk = Vec::with_capacity(1);
            let mut end = start;
            loop {
                let piece = end / 2;
                done[piece as usize] = true;
                walk.push((piece, end % 2 == 1));
                end = mates[(end ^ 1) as usize];
                if end == NONE || end == start {
                    break;
                }
            }
            emit(walk, closed);
        }
    }
}

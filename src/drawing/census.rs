//! How much a document draws once its blocks are expanded, counted before anything is expanded.

use super::Error;
use crate::cancel::checkpoint_each;
use crate::dxf::Document;
use crate::dxf::document::{BlockIndex, Entity, Shape};

/// INSERTs may be nested so deep. Drawings nest a handful; the stack that expands them is bounded by this.
pub const DEEPEST_NEST: usize = 128;

/// All INSERTs together may place so many vertices (and inserts, and control points), about 0.1 GB. Entities that are
/// not in blocks do not count, the file holds them anyway.
pub const MOST_PLACED: u64 = 1_000_000;

/// Fitted arcs may be so many in one drawing, and [`FITTED_A_WEIGHT`] more for each vertex or control point in the
/// file: else a short file could ask for a curve of thousands of arcs a hundred thousand times.
const MOST_FITTED: u64 = 250_000;
const FITTED_A_WEIGHT: u64 = 64;

/// What a block places, its own inserts expanded.
#[derive(Clone, Copy, Default)]
struct Extent {
    placed: u64,
    depth: usize,
}

/// Where the walk through one block's entities stands.
struct Visit {
    block: usize,
    next: usize,
    extent: Extent,
}

/// How many fitted arcs `document` may become.
pub(super) fn most_fitted(document: &Document) -> u64 {
    let in_blocks = document.blocks.iter().flat_map(|block| &block.entities);
    let own: u64 = document
        .entities
        .iter()
        .chain(in_blocks)
        .enumerate()
        .map(|(i, entity)| {
            checkpoint_each(i);
            weight(&entity.shape)
        })
        .sum();
    MOST_FITTED + FITTED_A_WEIGHT * own
}

/// Refuses blocks that insert each other, nests deeper than [`DEEPEST_NEST`] and insertions of more than
/// [`MOST_PLACED`]. Linear in the entities of the file, whatever they expand to, and without recursion.
pub(super) fn check(document: &Document, blocks: &BlockIndex) -> Result<(), Error> {
    let mut known: Vec<Option<Extent>> = vec![None; document.blocks.len()];
    let mut open = vec![false; document.blocks.len()];
    let mut placed: u64 = 0;
    for (entity, name) in inserts(&document.entities) {
        let Some(block) = blocks.find(name) else { continue };
        measure(document, blocks, block, entity.line, &mut known, &mut open)?;
        let extent = known[block].unwrap_or_default();
        placed = placed.saturating_add(copies(entity).saturating_mul(extent.placed.saturating_add(1)));
        if placed > MOST_PLACED {
            return Err(Error::TooMuch {
                line: entity.line,
                found: placed,
                limit: MOST_PLACED,
            });
        }
    }
    Ok(())
}

/// Fills in the extent of `root` and of all that it inserts.
fn measure(
    document: &Document,
    blocks: &BlockIndex,
    root: usize,
    line: usize,
    known: &mut [Option<Extent>],
    open: &mut [bool],
) -> Result<(), Error> {
    if known[root].is_some() {
        return Ok(());
    }
    let visit = |block| Visit {
        block,
        next: 0,
        extent: Extent { placed: 0, depth: 1 },
    };
    open[root] = true;
    let mut stack = vec![visit(root)];
    while let Some(top) = stack.last_mut() {
        let entities = &document.blocks[top.block].entities;
        let Some(entity) = entities.get(top.next) else {
            open[top.block] = false;
            known[top.block] = Some(top.extent);
            stack.pop();
            continue;
        };
        let Shape::Insert(insert) = &entity.shape else {
            top.extent.placed = top.extent.placed.saturating_add(weight(&entity.shape));
            top.next += 1;
            continue;
        };
        let Some(inner) = blocks.find(&insert.block) else {
            top.next += 1;
            continue;
        };
        if let Some(extent) = known[inner] {
            let each = extent.placed.saturating_add(1);
            top.extent.placed = top
                .extent
                .placed
                .saturating_add(copies(entity).saturating_mul(each));
            top.extent.depth = top.extent.depth.max(extent.depth + 1);
            top.next += 1;
            if top.extent.depth > DEEPEST_NEST {
                return Err(too_deep(line));
            }
        } else if open[inner] {
            return Err(Error::CyclicBlock {
                line: entity.line,
                name: document.blocks[inner].name.clone(),
            });
        } else if stack.len() >= DEEPEST_NEST {
            return Err(too_deep(line));
        } else {
            open[inner] = true;
            stack.push(visit(inner));
        }
    }
    Ok(())
}

fn too_deep(line: usize) -> Error {
    Error::TooDeep {
        line,
        limit: DEEPEST_NEST,
    }
}

fn inserts(entities: &[Entity]) -> impl Iterator<Item = (&Entity, &str)> {
    entities.iter().filter_map(|entity| match &entity.shape {
        Shape::Insert(insert) => Some((entity, insert.block.as_str())),
        _ => None,
    })
}

/// How often an INSERT places its block: rows times columns, each at least 1.
fn copies(entity: &Entity) -> u64 {
    match &entity.shape {
        Shape::Insert(insert) => {
            let count = |n: i64| u64::try_from(n).unwrap_or(0).max(1);
            count(insert.columns).saturating_mul(count(insert.rows))
        }
        _ => 1,
    }
}

/// What one entity costs to place.
fn weight(shape: &Shape) -> u64 {
    let count = match shape {
        Shape::LwPolyline(line) => line.vertices.len(),
        Shape::Polyline(line) => line.vertices.len(),
        // Each span of a spline becomes a few arcs; an ellipse about sixty.
        Shape::Spline(spline) => 4 * (spline.control.len() + spline.fit_points.len()),
        Shape::Ellipse(_) => 64,
        Shape::Mline(line) => line.vertices.iter().map(Vec::len).sum(),
        _ => 2,
    };
    count as u64 + 1
}

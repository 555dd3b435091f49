//! Model space drawn on all cores: parts of it are walked through side by side and put together in order.

use std::collections::HashMap;
use std::sync::atomic::{AtomicU64, Ordering};

use rayon::prelude::*;

use super::Error;
use super::census;
use super::expanded::Expanded;
use super::inherit::Styles;
use super::place::Placement;
use super::walk::DrawingWalk;
use crate::cancel::checkpoint;
use crate::dxf::Document;
use crate::dxf::document::{Entity, Shape};

/// How many entities of model space one core walks through at a time, and how many such chunks before what they draw is
/// put together.
const CHUNK: usize = 4096;
const CHUNKS_AT_ONCE: usize = 16;

/// Walks through the document's model space, on all cores; also the names of all linetypes.
pub(super) fn expand(
    document: &Document,
    factor_to_mm: f64,
    fit_mm: f64,
) -> Result<(Expanded, Vec<String>), Error> {
    let blocks = document.block_index();
    census::check(document, &blocks)?;
    let (styles, linetypes) = Styles::new(document);
    let most_fitted = census::most_fitted(document);
    let fitted = AtomicU64::new(0);
    let walk = |entities: &[Entity], fit_mm: Option<f64>| {
        let walk = DrawingWalk {
            blocks: &document.blocks,
            block_index: &blocks,
            styles: &styles,
            fit_mm,
            fitted: &fitted,
            most_fitted,
            expanded: Expanded::default(),
            fits: HashMap::new(),
            fitted_here: 0,
        };
        walk.through(entities, Placement::scaled(factor_to_mm))
    };
    let in_parts = |fit_mm: Option<f64>| {
        let mut expanded = Expanded::default();
        expanded.curves.reserve(document.entities.len());
        for entities in document.entities.chunks(CHUNK * CHUNKS_AT_ONCE) {
            let parts = entities.par_chunks(CHUNK).map(|entities| walk(entities, fit_mm));
            for part in parts.collect::<Result<Vec<Expanded>, Error>>()? {
                checkpoint();
                expanded.append(part);
            }
        }
        Ok(expanded)
    };
    let whole = |fit_mm: Option<f64>| {
        in_parts(fit_mm).or_else(|error| {
            if document.entities.len() <= CHUNK {
                return Err(error);
            }
            // The first entity to blame, whichever core came upon one first.
            fitted.store(0, Ordering::Relaxed);
            walk(&document.entities, fit_mm)
        })
    };
    // Fitting is what takes long: a bad entity anywhere is told before.
    if asks_for_arcs(document) {
        whole(None)?;
    }
    let mut expanded = whole(Some(fit_mm))?;
    let levels = std::mem::take(&mut expanded.levels);
    expanded.facts.extend(levels.into_facts(&expanded.curves));
    Ok((expanded, linetypes))
}

/// Whether arcs may have to be fitted to something in the file.
fn asks_for_arcs(document: &Document) -> bool {
    let in_blocks = document.blocks.iter().flat_map(|block| &block.entities);
    let mut all = document.entities.iter().chain(in_blocks);
    all.any(|entity| {
        let [x, y, _] = entity.extrusion;
        let by_itself = match &entity.shape {
            Shape::Spline(_) | Shape::Ellipse(_) => true,
            Shape::Insert(insert) => insert.scale[0].abs() != insert.scale[1].abs(),
            _ => false,
        };
        by_itself || x != 0.0 || y != 0.0
    })
}

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
use crate::dxf::document::Entity;

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
    let walk = |entities: &[Entity]| {
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
    let in_parts = || {
        let mut expanded = Expanded::default();
        expanded.curves.reserve(document.entities.len());
        for entities in document.entities.chunks(CHUNK * CHUNKS_AT_ONCE) {
            let parts = entities.par_chunks(CHUNK).map(walk);
            for part in parts.collect::<Result<Vec<Expanded>, Error>>()? {
                checkpoint();
                expanded.append(part);
            }
        }
        Ok(expanded)
    };
    let mut expanded = in_parts().or_else(|error| {
        if document.entities.len() <= CHUNK {
            return Err(error);
        }
        // The first entity to blame, whichever core came upon one first.
        fitted.store(0, Ordering::Relaxed);
        walk(&document.entities)
    })?;
    let levels = std::mem::take(&mut expanded.levels);
    expanded.facts.extend(levels.into_facts(&expanded.curves));
    Ok((expanded, linetypes))
}

//! What an entity is drawn with: layer, colour, linetype and visibility, its own or taken over from the INSERT and the
//! layer.

use std::collections::HashMap;

use super::{Origin, ignored};
use crate::cancel::{checkpoint, checkpoint_each};
use crate::dxf::Document;
use crate::dxf::document::{Entity, Layer, fold_name};

/// Colour numbers with a meaning of their own (DXF reference, common group codes, group 62).
const BY_BLOCK: i32 = 0;
const BY_LAYER: i32 = 256;
/// The colour of an entity by block that is in none.
const FOREGROUND: i32 = 7;

/// What a block's entities take over from the INSERT; for an entity, what it is drawn with.
#[derive(Clone, Copy)]
pub(super) struct Inherited {
    /// Inside a block.
    inserted: bool,
    pub(super) layer: u32,
    color: i32,
    linetype: u32,
    /// Why it is not seen.
    pub(super) hidden: Option<&'static str>,
    insert_handle: u64,
}

impl Inherited {
    /// What the entities of the block that `insert` places take over, when the INSERT itself is drawn with this. A layer
    /// that is off hides only what is on it; frozen and invisible hide all of the block.
    pub(super) fn into_block(self, insert: &Entity) -> Self {
        Self {
            inserted: true,
            hidden: self.hidden.filter(|reason| *reason != ignored::OFF),
            insert_handle: if self.inserted {
                self.insert_handle
            } else {
                insert.handle
            },
            ..self
        }
    }

    /// Where a curve of `entity` comes from.
    pub(super) fn origin(&self, entity: &Entity, kind: &'static str) -> Origin {
        Origin {
            entity: kind,
            layer: self.layer,
            linetype: self.linetype,
            color: self.color,
            handle: entity.handle,
            insert_handle: self.insert_handle,
            line: entity.line,
        }
    }
}

/// The layers, and the linetypes that they bring.
pub(super) struct Styles<'a> {
    layers: &'a [Layer],
    /// Of each layer.
    layer_linetypes: Vec<u32>,
    /// Index of layer `0`.
    layer_zero: Option<u32>,
    continuous: u32,
    by_block: Option<u32>,
}

impl<'a> Styles<'a> {
    pub(super) fn name_of_layer(&self, layer: u32) -> Option<&'a str> {
        self.layers.get(layer as usize).map(|layer| layer.name.as_str())
    }

    /// Returns the styles of a document, and the names of all linetypes: its own first, then those that only layers name.
    pub(super) fn new(document: &'a Document) -> (Self, Vec<String>) {
        let mut names = document.linetypes.clone();
        if names.is_empty() {
            names.push("ByLayer".to_owned());
        }
        let mut known: HashMap<String, u32> = HashMap::new();
        for (i, name) in names.iter().enumerate() {
            checkpoint_each(i);
            known.entry(fold_name(name)).or_insert(i as u32);
        }
        let by_block = known.get("byblock").copied();
        let mut index = |name: &str| {
            *known.entry(fold_name(name)).or_insert_with(|| {
                names.push(name.to_owned());
                names.len() as u32 - 1
            })
        };
        let continuous = index("Continuous");
        let layers = &document.layers;
        let styles = Self {
            layers,
            layer_linetypes: layers
                .iter()
                .map(|layer| {
                    checkpoint();
                    index(&layer.linetype)
                })
                .collect(),
            layer_zero: layers
                .iter()
                .position(|layer| layer.name == "0")
                .map(|i| i as u32),
            continuous,
            by_block,
        };
        (styles, names)
    }

    /// What entities of model space take over.
    pub(super) fn of_model_space(&self) -> Inherited {
        Inherited {
            inserted: false,
            layer: self.layer_zero.unwrap_or_default(),
            color: FOREGROUND,
            linetype: self.continuous,
            hidden: None,
            insert_handle: 0,
        }
    }

    /// What `entity` is drawn with where `outer` is inherited.
    pub(super) fn inherit(&self, entity: &Entity, outer: &Inherited) -> Inherited {
        let layer = if outer.inserted && Some(entity.layer) == self.layer_zero {
            outer.layer
        } else {
            entity.layer
        };
        let properties = &self.layers[layer as usize];
        let color = match entity.color {
            BY_LAYER => properties.color,
            BY_BLOCK => outer.color,
            color => color.abs(),
        };
        let linetype = match entity.linetype {
            0 => self.layer_linetypes[layer as usize],
            by_block if Some(by_block) == self.by_block => outer.linetype,
            linetype => linetype,
        };
        let hidden = if entity.paper_space && !outer.inserted {
            Some(ignored::PAPER_SPACE)
        } else if outer.hidden.is_some() {
            outer.hidden
        } else if entity.invisible {
            Some(ignored::INVISIBLE)
        } else if properties.frozen {
            Some(ignored::FROZEN)
        } else if properties.off {
            Some(ignored::OFF)
        } else {
            None
        };
        Inherited {
            layer,
            color,
            linetype,
            hidden,
            ..*outer
        }
    }
}

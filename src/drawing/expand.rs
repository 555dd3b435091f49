//! The walk through model space and the blocks it inserts: what each entity inherits, what is seen, what is drawn.

use std::slice::Iter;

use super::census;
use super::ignored::{self, Account};
use super::place::Placement;
use super::shapes::{Failure, Stroke, strokes};
use super::{Curve, CurveFact, CurveFactKind, Error, Origin, PlacedPoint, PlacedText, spline};
use crate::dxf::Document;
use crate::dxf::document::{Block, BlockIndex, Entity, Insert, Layer, Shape, Text};
use crate::geometry::Point;
use crate::tolerance::{FARTHEST_MM, LIES_FLAT_MM};

/// All that model space holds.
#[derive(Default)]
pub(super) struct Expanded {
    pub(super) curves: Vec<Curve>,
    pub(super) account: Account,
    pub(super) texts: Vec<PlacedText>,
    pub(super) points: Vec<PlacedPoint>,
    pub(super) facts: Vec<CurveFact>,
    pub(super) linetypes: Vec<String>,
}

/// Walks through the document's model space. No recursion: what is open stands on a stack of at most
/// [`census::DEEPEST_NEST`] frames, and the census has bounded what comes out before.
pub(super) fn expand(document: &Document, factor_to_mm: f64, fit_mm: f64) -> Result<Expanded, Error> {
    let blocks = document.block_index();
    census::check(document, &blocks)?;
    let mut walk = Walk::new(document, fit_mm);
    let mut stack = vec![Frame {
        entities: document.entities.iter(),
        placement: Placement::scaled(factor_to_mm),
        inherited: walk.of_model_space(),
        array: None,
    }];
    while let Some(frame) = stack.last_mut() {
        let Some(entity) = frame.entities.next() else {
            if !frame.next_cell() {
                stack.pop();
            }
            continue;
        };
        let inherited = walk.inherit(entity, &frame.inherited);
        if let Shape::Insert(insert) = &entity.shape {
            if let Some(block) = walk.block_to_place(&blocks, entity, insert, &inherited, &frame.placement) {
                let array = Array {
                    outer: frame.placement,
                    insert,
                    normal: entity.extrusion,
                    block,
                    cell: 0,
                };
                stack.push(Frame {
                    entities: block.entities.iter(),
                    placement: array.placement(),
                    inherited: Inherited {
                        inserted: true,
                        hidden: inherited.hidden.filter(|h| *h != ignored::OFF),
                        insert_handle: if inherited.inserted {
                            inherited.insert_handle
                        } else {
                            entity.handle
                        },
                        ..inherited
                    },
                    array: Some(array),
                });
            }
        } else {
            let placement = frame.placement;
            walk.draw(entity, &inherited, &placement)?;
        }
    }
    Ok(walk.expanded)
}

/// What a block's entities take over from the INSERT; for an entity, what it is drawn with.
#[derive(Clone, Copy)]
struct Inherited {
    /// Inside a block.
    inserted: bool,
    layer: u32,
    color: i32,
    linetype: u32,
    /// Why it is not seen.
    hidden: Option<&'static str>,
    insert_handle: u64,
}

struct Frame<'a> {
    entities: Iter<'a, Entity>,
    placement: Placement,
    inherited: Inherited,
    array: Option<Array<'a>>,
}

impl Frame<'_> {
    /// Goes on to the next cell of the array, if there is one.
    fn next_cell(&mut self) -> bool {
        let Some(array) = &mut self.array else {
            return false;
        };
        array.cell += 1;
        if array.cell >= array.cells() {
            return false;
        }
        self.placement = array.placement();
        self.entities = array.block.entities.iter();
        true
    }
}

/// An INSERT that is being placed, cell by cell.
struct Array<'a> {
    outer: Placement,
    insert: &'a Insert,
    normal: [f64; 3],
    block: &'a Block,
    cell: i64,
}

impl Array<'_> {
    fn cells(&self) -> i64 {
        self.insert.columns.max(1) * self.insert.rows.max(1)
    }

    fn placement(&self) -> Placement {
        let columns = self.insert.columns.max(1);
        let (row, column) = (self.cell / columns, self.cell % columns);
        self.outer
            .of_insert(self.insert, self.normal, self.block, column, row)
    }
}

struct Walk<'a> {
    layers: &'a [Layer],
    blocks: &'a [Block],
    fit_mm: f64,
    /// Of each layer.
    layer_linetypes: Vec<u32>,
    /// Index of layer `0`.
    layer_zero: Option<u32>,
    continuous: u32,
    by_block: Option<u32>,
    expanded: Expanded,
}

/// Colour numbers with a meaning of their own (DXF reference, common group codes, group 62).
const BY_BLOCK: i32 = 0;
const BY_LAYER: i32 = 256;
/// The colour of an entity by block that is in none.
const FOREGROUND: i32 = 7;

impl<'a> Walk<'a> {
    fn new(document: &'a Document, fit_mm: f64) -> Self {
        let mut linetypes = document.linetypes.clone();
        if linetypes.is_empty() {
            linetypes.push("ByLayer".to_owned());
        }
        let mut index = |name: &str| {
            let known = linetypes
                .iter()
                .position(|known| known.eq_ignore_ascii_case(name));
            known.unwrap_or_else(|| {
                linetypes.push(name.to_owned());
                linetypes.len() - 1
            }) as u32
        };
        let continuous = index("Continuous");
        let layer_linetypes = document
            .layers
            .iter()
            .map(|layer| index(&layer.linetype))
            .collect();
        let by_block = linetypes
            .iter()
            .position(|name| name.eq_ignore_ascii_case("byblock"));
        Self {
            layers: &document.layers,
            blocks: &document.blocks,
            fit_mm,
            layer_linetypes,
            layer_zero: document
                .layers
                .iter()
                .position(|layer| layer.name == "0")
                .map(|i| i as u32),
            continuous,
            by_block: by_block.map(|i| i as u32),
            expanded: Expanded {
                linetypes,
                ..Expanded::default()
            },
        }
    }

    fn of_model_space(&self) -> Inherited {
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
    fn inherit(&self, entity: &Entity, outer: &Inherited) -> Inherited {
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

    /// The block that an INSERT places, if it can be placed; else that is noted.
    fn block_to_place(
        &mut self,
        blocks: &BlockIndex,
        entity: &Entity,
        insert: &Insert,
        inherited: &Inherited,
        placement: &Placement,
    ) -> Option<&'a Block> {
        if let Some(reason @ ignored::PAPER_SPACE) = inherited.hidden {
            self.expanded.account.add("INSERT", reason, entity.line);
            return None;
        }
        let block = blocks.find(&insert.block).map(|i| &self.blocks[i]);
        let reason = match block {
            None => format!("block `{}` is not in the file", insert.block),
            Some(_) if insert.scale[0] == 0.0 || insert.scale[1] == 0.0 => {
                format!("block `{}` is inserted with a scale of 0", insert.block)
            }
            Some(block) if block.entities.is_empty() => {
                format!(
                    "block `{}` is empty (an external reference, perhaps)",
                    insert.block
                )
            }
            Some(_) => return block,
        };
        self.expanded
            .account
            .add("INSERT", ignored::NOT_PLACED, entity.line);
        let at = placement.of_object(entity.extrusion).point(insert.at);
        self.fact(
            CurveFactKind::NotPlaced(reason),
            Point::new(at[0], at[1]),
            entity,
            inherited,
        );
        None
    }

    /// Takes one entity that is no INSERT.
    fn draw(&mut self, entity: &Entity, inherited: &Inherited, placement: &Placement) -> Result<(), Error> {
        if let Some(ignored::PAPER_SPACE) = inherited.hidden {
            self.leave_out(entity, ignored::PAPER_SPACE);
            return Ok(());
        }
        match strokes(entity, placement, self.fit_mm) {
            Ok(Some(strokes)) => {
                self.note_guesses(entity, inherited, strokes.first());
                for stroke in strokes {
                    self.take(stroke, entity, inherited)?;
                }
            }
            Ok(None) => self.note(entity, inherited, placement),
            Err(_) if inherited.hidden.is_some() => self.leave_out(entity, ignored::UNREADABLE),
            Err(Failure::TooManyArcs) => {
                return Err(Error::Unfittable {
                    line: entity.line,
                    entity: entity_type(&entity.shape).to_owned(),
                });
            }
            Err(Failure::BadSpline(bad)) => {
                return Err(Error::BadSpline {
                    line: entity.line,
                    reason: bad.0,
                });
            }
        }
        Ok(())
    }

    /// Takes a line that an entity draws: as a curve, or as what is said of it.
    fn take(&mut self, stroke: Stroke, entity: &Entity, inherited: &Inherited) -> Result<(), Error> {
        let start = stroke.trace.start();
        let rise = stroke.trace.rise();
        let reach = stroke.trace.reach_mm();
        if !(reach <= FARTHEST_MM) {
            return Err(Error::TooFar {
                line: entity.line,
                entity: entity_type(&entity.shape).to_owned(),
                reach_mm: reach,
            });
        }
        let traced = stroke.finish();
        if let Some(reason) = inherited.hidden {
            let length = traced.map_or(0.0, |t| t.length_mm);
            self.leave_out(entity, reason);
            self.fact(CurveFactKind::Hidden(length), start, entity, inherited);
        } else if rise > LIES_FLAT_MM {
            self.leave_out(entity, ignored::NOT_FLAT);
            self.fact(CurveFactKind::NotFlat(rise), start, entity, inherited);
        } else if let Some(traced) = traced {
            self.expanded.curves.push(Curve {
                polyline: traced.polyline,
                length_mm: traced.length_mm,
                fit_deviation_mm: traced.deviation_mm,
                origin: origin(entity, inherited),
            });
        } else {
            self.leave_out(entity, ignored::NO_LENGTH);
            self.fact(CurveFactKind::ZeroLength, start, entity, inherited);
        }
        Ok(())
    }

    /// Notes where a curve of this entity is our reading rather than the file's word.
    fn note_guesses(&mut self, entity: &Entity, inherited: &Inherited, first: Option<&Stroke>) {
        let kind = match &entity.shape {
            Shape::Spline(shape) if spline::is_guessed(shape) => CurveFactKind::FitPointsOnly,
            Shape::Mline(shape) if shape.broken => CurveFactKind::BreaksLeftOut,
            _ => return,
        };
        if let (Some(stroke), None) = (first, inherited.hidden) {
            self.fact(kind, stroke.trace.start(), entity, inherited);
        }
    }

    /// Notes an entity that draws no line.
    fn note(&mut self, entity: &Entity, inherited: &Inherited, placement: &Placement) {
        if let Some(reason) = inherited.hidden {
            self.leave_out(entity, reason);
            return;
        }
        match &entity.shape {
            Shape::Point { at } => {
                self.leave_out(entity, ignored::POINT);
                let at = placement.point(*at);
                self.expanded.points.push(PlacedPoint {
                    at: Point::new(at[0], at[1]),
                    layer: inherited.layer,
                    handle: entity.handle,
                });
            }
            Shape::Text(text) => {
                self.leave_out(entity, ignored::TEXT);
                self.place_text(text, entity, inherited, placement);
            }
            Shape::Polyline(_) => self.leave_out(entity, ignored::BODY),
            shape => self.leave_out(entity, ignored::reason_of_type(entity_type(shape))),
        }
    }

    fn place_text(&mut self, text: &Text, entity: &Entity, inherited: &Inherited, placement: &Placement) {
        // MTEXT stands in world coordinates, the others in object coordinates (DXF reference).
        let placement = if &*text.kind == "MTEXT" {
            *placement
        } else {
            placement.of_object(entity.extrusion)
        };
        let at = placement.point(text.at);
        self.expanded.texts.push(PlacedText {
            at: Point::new(at[0], at[1]),
            text: text.text.clone(),
            layer: inherited.layer,
            line: entity.line,
            handle: entity.handle,
        });
    }

    fn leave_out(&mut self, entity: &Entity, reason: &'static str) {
        self.expanded
            .account
            .add(entity_type(&entity.shape), reason, entity.line);
    }

    fn fact(&mut self, kind: CurveFactKind, at: Point, entity: &Entity, inherited: &Inherited) {
        self.expanded.facts.push(CurveFact {
            kind,
            at,
            origin: origin(entity, inherited),
        });
    }
}

fn origin(entity: &Entity, inherited: &Inherited) -> Origin {
    Origin {
        entity: static_type(&entity.shape),
        layer: inherited.layer,
        linetype: inherited.linetype,
        color: inherited.color,
        handle: entity.handle,
        insert_handle: inherited.insert_handle,
        line: entity.line,
    }
}

fn entity_type(shape: &Shape) -> &str {
    match shape {
        Shape::Text(text) => &text.kind,
        Shape::Other(kind) => kind,
        shape => static_type(shape),
    }
}

fn static_type(shape: &Shape) -> &'static str {
    match shape {
        Shape::Line { .. } => "LINE",
        Shape::Arc { .. } => "ARC",
        Shape::Circle { .. } => "CIRCLE",
        Shape::LwPolyline(_) => "LWPOLYLINE",
        Shape::Polyline(_) => "POLYLINE",
        Shape::Ellipse(_) => "ELLIPSE",
        Shape::Spline(_) => "SPLINE",
        Shape::Insert(_) => "INSERT",
        Shape::Mline(_) => "MLINE",
        Shape::Point { .. } => "POINT",
        Shape::Text(_) => "TEXT",
        Shape::Other(_) => "other",
    }
}

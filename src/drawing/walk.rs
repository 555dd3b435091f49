//! The walk through model space and the blocks it inserts: what each entity inherits, what is seen, what is drawn.

use std::collections::HashMap;
use std::slice::Iter;
use std::sync::atomic::{AtomicU64, Ordering};

use super::expanded::Expanded;
use super::ignored;
use super::inherit::{Inherited, Styles};
use super::place::Placement;
use super::shapes::{Strokes, strokes};
use super::stroke::{NotDrawn, Stroke};
use super::{Curve, CurveFact, CurveFactKind, Error, PlacedPoint, PlacedText, spline};
use crate::cancel::checkpoint;
use crate::dxf::document::{Block, BlockIndex, Entity, Insert, Shape, Text};
use crate::elementary::hypot;
use crate::geometry::Point;
use crate::tolerance::{FARTHEST_MM, LIES_FLAT_MM};

struct WalkFrame<'a> {
    entities: Iter<'a, Entity>,
    placement: Placement,
    inherited: Inherited,
    array: Option<Array<'a>>,
}

impl WalkFrame<'_> {
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

/// So many arcs are fitted for each copy of a block anew: moved, they would differ from those fitted in place by rounding.
const FITTED_ANEW: u64 = 50_000;

/// The address of an entity, and how it is turned and scaled.
pub(super) type FitKey = (usize, [[u64; 3]; 3]);

/// A walk, and what it has found so far.
pub(super) struct DrawingWalk<'a> {
    pub(super) blocks: &'a [Block],
    pub(super) block_index: &'a BlockIndex,
    pub(super) styles: &'a Styles<'a>,
    /// How near arcs keep to what they stand in for; `None` where all is only judged, before anything is fitted.
    pub(super) fit_mm: Option<f64>,
    /// Fitted arcs so far, of all parts, and how many are accepted.
    pub(super) fitted: &'a AtomicU64,
    pub(super) most_fitted: u64,
    pub(super) expanded: Expanded,
    /// What was fitted of the entities of blocks, and where.
    pub(super) fits: HashMap<FitKey, (Placement, Stroke)>,
    /// Arcs fitted so far in this walk.
    pub(super) fitted_here: u64,
}

impl<'a> DrawingWalk<'a> {
    /// Takes all that `entities` of model space draw. No recursion: what is open stands on a stack of at most
    /// [`super::DEEPEST_NEST`] frames, and the census has bounded what comes out before.
    pub(super) fn through(mut self, entities: &[Entity], placement: Placement) -> Result<Expanded, Error> {
        let mut stack = vec![WalkFrame {
            entities: entities.iter(),
            placement,
            inherited: self.styles.of_model_space(),
            array: None,
        }];
        while let Some(frame) = stack.last_mut() {
            checkpoint();
            let Some(entity) = frame.entities.next() else {
                if !frame.next_cell() {
                    stack.pop();
                }
                continue;
            };
            let inherited = self.styles.inherit(entity, &frame.inherited);
            if let Shape::Insert(insert) = &entity.shape {
                if let Some(block) = self.block_to_place(entity, insert, &inherited, &frame.placement) {
                    let array = Array {
                        outer: frame.placement,
                        insert,
                        normal: entity.extrusion,
                        block,
                        cell: 0,
                    };
                    stack.push(WalkFrame {
                        entities: block.entities.iter(),
                        placement: array.placement(),
                        inherited: inherited.into_block(entity),
                        array: Some(array),
                    });
                }
            } else {
                let (placement, in_block) = (frame.placement, frame.array.is_some());
                self.draw(entity, &inherited, &placement, in_block)?;
            }
        }
        Ok(self.expanded)
    }

    /// Returns the block that an INSERT places, if it can be placed; else that is noted.
    fn block_to_place(
        &mut self,
        entity: &Entity,
        insert: &Insert,
        inherited: &Inherited,
        placement: &Placement,
    ) -> Option<&'a Block> {
        if let Some(reason @ ignored::PAPER_SPACE) = inherited.hidden {
            self.expanded.account.add("INSERT", reason, entity.line);
            return None;
        }
        let block = self.block_index.find(&insert.block).map(|i| &self.blocks[i]);
        let reason = match block {
            None => format!("block “{}” is not in the file", insert.block),
            Some(_) if insert.scale[0] == 0.0 || insert.scale[1] == 0.0 => {
                format!("block “{}” is inserted with a scale of 0", insert.block)
            }
            Some(block) if block.entities.is_empty() => {
                format!(
                    "block “{}” is empty (an external reference, perhaps)",
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

    /// Returns the lines that an entity of a block draws; what was fitted for another copy, turned and scaled alike, is only moved.
    fn strokes_in_block(
        &mut self,
        entity: &Entity,
        placement: &Placement,
    ) -> Result<Option<Strokes>, NotDrawn> {
        let key = (std::ptr::from_ref(entity).addr(), placement.turn_and_scale());
        let many = self.fitted_here > FITTED_ANEW;
        if let Some((where_fitted, fitted)) = self.fits.get(&key).filter(|_| many) {
            return Ok(Some(Strokes {
                first: fitted.shifted(placement.shift_from(where_fitted)),
                more: Vec::new(),
            }));
        }
        let strokes = strokes(entity, placement, self.fit_mm)?;
        if let Some(Strokes { first, more }) = &strokes
            && more.is_empty()
            && first.trace.is_fitted()
        {
            self.fits.insert(key, (*placement, first.clone()));
        }
        Ok(strokes)
    }

    /// Takes one entity that is no INSERT.
    fn draw(
        &mut self,
        entity: &Entity,
        inherited: &Inherited,
        placement: &Placement,
        in_block: bool,
    ) -> Result<(), Error> {
        if let Some(ignored::PAPER_SPACE) = inherited.hidden {
            self.leave_out(entity, ignored::PAPER_SPACE);
            return Ok(());
        }
        let drawn = if in_block {
            self.strokes_in_block(entity, placement)
        } else {
            strokes(entity, placement, self.fit_mm)
        };
        match drawn {
            Ok(Some(Strokes { first, more })) => {
                self.note_guesses(entity, inherited, &first);
                self.take(first, entity, inherited)?;
                for stroke in more {
                    self.take(stroke, entity, inherited)?;
                }
            }
            Ok(None) => self.note(entity, inherited, placement),
            Err(_) if inherited.hidden.is_some() => self.leave_out(entity, ignored::UNREADABLE),
            Err(NotDrawn::TooManyArcs) => {
                return Err(Error::Unfittable {
                    line: entity.line,
                    entity: entity.shape.type_name().to_owned(),
                });
            }
            Err(NotDrawn::BadSpline(bad)) => {
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
        let (rise, level) = (stroke.trace.rise(), stroke.trace.level());
        let reach = stroke.trace.reach_mm();
        if reach.is_nan() || reach > FARTHEST_MM {
            return Err(Error::TooFar {
                line: entity.line,
                entity: entity.shape.type_name().to_owned(),
                reach_mm: reach,
            });
        }
        let traced = stroke.finish();
        if let Some(fitted) = traced.as_ref().filter(|traced| traced.deviation_mm > 0.0) {
            self.spend(fitted.polyline.vertices.len() as u64, entity)?;
        }
        if let Some(reason) = inherited.hidden {
            let length = traced.map_or(0.0, |t| t.length_mm);
            self.leave_out(entity, reason);
            self.fact(CurveFactKind::Hidden(length), start, entity, inherited);
        } else if rise > LIES_FLAT_MM {
            self.leave_out(entity, ignored::NOT_FLAT);
            self.fact(CurveFactKind::NotFlat(rise), start, entity, inherited);
        } else if let Some(traced) = traced {
            let number = self.expanded.curves.len();
            self.expanded.levels.count(level, number);
            self.expanded.curves.push(Curve {
                polyline: traced.polyline,
                length_mm: traced.length_mm,
                fit_deviation_mm: traced.deviation_mm,
                origin: inherited.origin(entity, entity.shape.known_type()),
            });
        } else {
            self.leave_out(entity, ignored::NO_LENGTH);
            self.fact(CurveFactKind::ZeroLength, start, entity, inherited);
        }
        Ok(())
    }

    /// Counts fitted arcs against what is accepted.
    fn spend(&mut self, arcs: u64, entity: &Entity) -> Result<(), Error> {
        self.fitted_here += arcs;
        let fitted = self.fitted.fetch_add(arcs, Ordering::Relaxed) + arcs;
        if fitted > self.most_fitted {
            return Err(Error::TooManyArcs {
                line: entity.line,
                limit: self.most_fitted,
            });
        }
        Ok(())
    }

    /// Notes where a curve of this entity is our reading rather than the file's word.
    fn note_guesses(&mut self, entity: &Entity, inherited: &Inherited, stroke: &Stroke) {
        let kind = match &entity.shape {
            Shape::Spline(shape) if spline::is_guessed(shape) => CurveFactKind::FitPointsOnly,
            Shape::Mline(shape) if shape.broken => CurveFactKind::BreaksLeftOut,
            _ => return,
        };
        if inherited.hidden.is_none() {
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
            Shape::Text(_) if self.is_on_caution_layer(inherited) => {}
            Shape::Text(text) => {
                self.leave_out(entity, ignored::TEXT);
                self.place_text(text, entity, inherited, placement);
            }
            Shape::Polyline(_) => self.leave_out(entity, ignored::BODY),
            shape => self.leave_out(entity, ignored::reason_of_type(shape.type_name())),
        }
    }

    /// Whether it lies where the cautions of exported paths stand.
    fn is_on_caution_layer(&self, inherited: &Inherited) -> bool {
        self.styles.name_of_layer(inherited.layer) == Some(ignored::CAUTION_LAYER)
    }

    fn place_text(&mut self, text: &Text, entity: &Entity, inherited: &Inherited, placement: &Placement) {
        // MTEXT stands in world coordinates, the others in object coordinates (DXF reference).
        let placement = if &*text.kind == "MTEXT" {
            *placement
        } else {
            placement.of_object(entity.extrusion)
        };
        let at = placement.point(text.at);
        let [x, y, z] = placement.vector([0.0, text.height, 0.0]);
        self.expanded.texts.push(PlacedText {
            at: Point::new(at[0], at[1]),
            text: text.text.clone(),
            height_mm: hypot(hypot(x, y), z),
            layer: inherited.layer,
            line: entity.line,
            handle: entity.handle,
        });
    }

    fn leave_out(&mut self, entity: &Entity, reason: &'static str) {
        self.expanded
            .account
            .add(entity.shape.type_name(), reason, entity.line);
    }

    fn fact(&mut self, kind: CurveFactKind, at: Point, entity: &Entity, inherited: &Inherited) {
        self.expanded.facts.push(CurveFact {
            kind,
            at,
            origin: inherited.origin(entity, entity.shape.known_type()),
        });
    }
}

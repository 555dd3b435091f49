//! Documents built by hand, for what no small file shows.

mod blocks;
mod shapes;
mod splines;

use super::*;
use crate::dxf::document::{
    Block, Ellipse, Entity, HeavyPolyline, HeavyVertex, Insert, Layer, LwPolyline, Mline, Shape, Spline,
};
use crate::tolerance::FIT_MM;
use crate::units::Unit;

fn layer(name: &str) -> Layer {
    Layer {
        name: name.to_owned(),
        color: 7,
        linetype: "Continuous".to_owned(),
        ..Layer::default()
    }
}

/// On layer `0`, all by layer.
fn entity(shape: Shape) -> Entity {
    Entity {
        shape,
        layer: 0,
        linetype: 0,
        color: 256,
        handle: 0x10,
        line: 7,
        paper_space: false,
        invisible: false,
        extrusion: [0.0, 0.0, 1.0],
    }
}

fn line(from: [f64; 3], to: [f64; 3]) -> Entity {
    entity(Shape::Line { from, to })
}

fn circle(x: f64, y: f64, radius: f64) -> Entity {
    entity(Shape::Circle {
        center: [x, y, 0.0],
        radius,
    })
}

fn insert(block: &str) -> Insert {
    Insert {
        block: block.to_owned(),
        at: [0.0; 3],
        scale: [1.0; 3],
        rotation_deg: 0.0,
        columns: 1,
        rows: 1,
        column_spacing: 0.0,
        row_spacing: 0.0,
    }
}

fn placed(insert: Insert) -> Entity {
    entity(Shape::Insert(Box::new(insert)))
}

fn block(name: &str, entities: Vec<Entity>) -> Block {
    Block {
        name: name.to_owned(),
        entities,
        ..Block::default()
    }
}

fn document(entities: Vec<Entity>, blocks: Vec<Block>) -> Document {
    Document {
        layers: vec![layer("0"), layer("A"), layer("B")],
        linetypes: vec!["ByLayer".to_owned(), "ByBlock".to_owned(), "CENTER".to_owned()],
        blocks,
        entities,
        ..Document::default()
    }
}

fn draw(document: &Document) -> Result<Drawing, Error> {
    from_document(document, &Reading::default())
}

fn drawn(entities: Vec<Entity>, blocks: Vec<Block>) -> Drawing {
    draw(&document(entities, blocks)).expect("it can be drawn")
}

fn close(value: f64, expected: f64) {
    assert!(
        (value - expected).abs() <= 1e-12 * expected.abs().max(1.0),
        "{value} is not {expected}"
    );
}

fn place(p: Point, x: f64, y: f64) {
    close(p.x, x);
    close(p.y, y);
}

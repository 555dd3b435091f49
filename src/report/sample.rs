//! A plate made by hand, so that a format can be tested without the rooms below.

use crate::contour::{Contour, Contours, Role};
use crate::drawing::{Curve, Drawing, Ignored, Origin, Units, UnitsSource};
use crate::dxf::document::Layer;
use crate::finding::{Finding, Quantity, Severity};
use crate::geometry::{Point, Polyline};
use crate::job::Use;
use crate::plan::Inspection;

/// A plate of 40 × 20 mm with a round opening of radius 5 in its middle.
pub(crate) fn plate() -> Inspection {
    let outside = Polyline::closed([
        (0.0, 0.0, 0.0),
        (40.0, 0.0, 0.0),
        (40.0, 20.0, 0.0),
        (0.0, 20.0, 0.0),
    ]);
    let opening = Polyline::circle(Point::new(20.0, 10.0), 5.0);
    let list = vec![
        contour(1, &outside, Role::Outside, None),
        contour(2, &opening, Role::Opening, Some(1)),
    ];
    Inspection {
        file: "plate.dxf".into(),
        drawing: drawing(vec![outside, opening]),
        contours: Contours {
            list,
            ..Contours::default()
        },
        findings: Vec::new(),
        assumptions: vec!["units are mm, as $INSUNITS says".into()],
    }
}

/// A finding at the corner of the plate.
pub(crate) fn finding() -> Finding {
    let mut finding = Finding::new(
        "open-contour",
        Severity::Error,
        "the contour does not close: its ends are 0.3 mm apart".into(),
        "close the gap in the drawing, or join it with `--join 0.3`",
    )
    .at(Point::new(40.0, 20.0))
    .on_contour(1)
    .measured(Quantity::mm(0.3))
    .limit(Quantity::um_of_mm(0.001));
    finding.layer = Some("CUT".into());
    finding.entities = vec!["2F".into()];
    finding.line = Some(812);
    finding
}

fn contour(id: usize, polyline: &Polyline, role: Role, parent: Option<usize>) -> Contour {
    Contour {
        id,
        polyline: polyline.clone(),
        curves: vec![id - 1],
        role,
        purpose: Use::Cut,
        depth: usize::from(parent.is_some()),
        parent,
        perimeter_mm: polyline.length(),
        area_mm2: polyline.area(),
        bounds: polyline.bounds(),
        min_inside_radius_mm: parent.map(|_| 5.0),
        min_inside_radius_at: parent.map(|_| Point::new(25.0, 10.0)),
    }
}

fn drawing(polylines: Vec<Polyline>) -> Drawing {
    let origin = Origin {
        entity: "LWPOLYLINE",
        layer: 0,
        linetype: 0,
        color: 7,
        handle: 0x2f,
        insert_handle: 0,
        line: 812,
    };
    Drawing {
        units: Units {
            name: "mm",
            factor_to_mm: 1.0,
            source: UnitsSource::Drawing,
        },
        insunits: Some(4),
        layers: vec![Layer {
            name: "CUT".into(),
            ..Layer::default()
        }],
        linetypes: vec!["Continuous".into()],
        curves: polylines
            .into_iter()
            .map(|polyline| Curve {
                length_mm: polyline.length(),
                polyline,
                fit_deviation_mm: 0.0,
                origin,
            })
            .collect(),
        ignored: vec![Ignored {
            kind: "TEXT".into(),
            count: 2,
            reason: "text is not cut geometry".into(),
            first_line: 900,
        }],
        texts: Vec::new(),
        points: Vec::new(),
        notices: Vec::new(),
        facts: Vec::new(),
        fit_deviation_mm: 0.0,
    }
}

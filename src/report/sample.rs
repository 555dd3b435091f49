//! A plate made by hand, so that a format can be tested without the rooms below.

use crate::contour::{Contour, Contours, Role};
use crate::drawing::{Curve, Drawing, Ignored, Origin, Units, UnitsSource};
use crate::dxf::document::Layer;
use crate::finding::{Finding, Quantity, Severity};
use crate::geometry::{Point, Polyline};
use crate::job::Use;
use crate::pass::{Group, Pass, PassKind};
use crate::path::{Paths, Unreached, UnreachedKind, WireLoop};
use crate::plan::{Ask, Inspection, Plan};
use crate::units::Band;

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

/// A plan of the plate with an L-shaped opening instead of the round one, four passes, paths made by hand.
pub(crate) fn plan() -> Plan {
    let mut inspection = plate();
    let bay = Polyline::closed([
        (12.0, 5.0, 0.0),
        (28.0, 5.0, 0.0),
        (28.0, 15.0, 0.0),
        (20.0, 15.0, 0.0),
        (20.0, 10.0, 0.0),
        (12.0, 10.0, 0.0),
    ]);
    inspection.contours.list[1] = Contour {
        min_inside_radius_mm: Some(0.0),
        min_inside_radius_at: Some(Point::new(28.0, 5.0)),
        ..contour(2, &bay, Role::Opening, Some(1))
    };
    let passes: Vec<Pass> = [
        (0.197, 0.040, 0.032),
        (0.152, 0.015, 0.012),
        (0.137, 0.008, 0.004),
        (0.130, 0.005, 0.0),
    ]
    .into_iter()
    .enumerate()
    .map(|(i, (offset_mm, spark_gap_mm, stock_mm))| Pass {
        pass: i + 1,
        kind: if i == 0 { PassKind::Rough } else { PassKind::Skim },
        offset_mm,
        spark_gap_mm,
        stock_mm,
        area_rate_mm2_min: Band {
            low: 100.0,
            expected: 150.0,
            high: 320.0,
        },
        feed_mm_min: Band {
            low: 2.0,
            expected: 2.5,
            high: 5.3,
        },
        ra_um: Band::exact(0.5),
        form_error_um: Band::exact(3.0),
    })
    .collect();
    let mut paths = Paths::default();
    for contour in &inspection.contours.list {
        for pass in &passes {
            let polyline = match contour.role {
                Role::Opening => square_inset(pass.offset_mm),
                _ => rolled_rectangle(40.0, 20.0, pass.offset_mm),
            };
            paths.loops.push(WireLoop {
                contour: contour.id,
                group: 1,
                pass: pass.pass,
                length_mm: polyline.length(),
                polyline,
                verified_mm: 0.0,
            });
        }
    }
    paths.unreached = vec![Unreached {
        contour: 2,
        at: Point::new(28.0, 5.0),
        area_mm2: (1.0 - std::f64::consts::FRAC_PI_4) * 0.130 * 0.130,
        deviation_mm: (2f64.sqrt() - 1.0) * 0.130,
        kind: UnreachedKind::SharpCorner,
    }];
    Plan {
        inspection,
        ask: Ask {
            thickness_mm: 60.0,
            material: "tool-steel".into(),
            wire_mm: 0.25,
            passes: 4,
            aim_mm: 0.0,
        },
        groups: vec![Group {
            group: 1,
            contours: vec![1, 2],
            passes,
        }],
        paths,
        findings: vec![finding()],
    }
}

/// Outside path of a rectangle, corners rolled, counter-clockwise.
fn rolled_rectangle(width: f64, height: f64, offset: f64) -> Polyline {
    let quarter = (std::f64::consts::PI / 8.0).tan();
    Polyline::closed([
        (0.0, -offset, 0.0),
        (width, -offset, quarter),
        (width + offset, 0.0, 0.0),
        (width + offset, height, quarter),
        (width, height + offset, 0.0),
        (0.0, height + offset, quarter),
        (-offset, height, 0.0),
        (-offset, 0.0, quarter),
    ])
}

/// Inside path of the L-shaped opening, clockwise; its one outside corner rolled.
fn square_inset(offset: f64) -> Polyline {
    let quarter = (std::f64::consts::PI / 8.0).tan();
    let (low, high) = (5.0 + offset, 15.0 - offset);
    Polyline::closed([
        (12.0 + offset, low, 0.0),
        (28.0 - offset, low, 0.0),
        (28.0 - offset, high, 0.0),
        (20.0 + offset, high, 0.0),
        (20.0 + offset, 10.0, -quarter),
        (20.0, 10.0 - offset, 0.0),
        (12.0 + offset, 10.0 - offset, 0.0),
    ])
    .reversed()
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

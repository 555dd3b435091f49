//! Slits: where their paths begin and end, what they take away, what they leave in pieces, where the wire is threaded and when
//! they are cut, against closed forms of plain drawings and a polygon library (crate `geo` 0.33). A 0.25 mm wire with a spark gap of
//! 0.040 mm in the rough cut (half a kerf of 0.165 mm) and a run-out of 0.5 mm, as the built-in book has them.

use std::f64::consts::{FRAC_PI_2, PI};
use std::fmt::Write as _;

use kerfwright::check::path_words::refusal_in_words;
use kerfwright::geometry::{Point, Polyline, Vertex};
use kerfwright::id::ContourId;
use kerfwright::job::{JobFile, Purpose};
use kerfwright::plan::{OperationKind, Plan, Planner};
use kerfwright::process::StartOrigin;
use kerfwright::toolpath::{CutEnd, RefusalReason, WireLoop};
use serde_json::Value;

use crate::common::book;

const HALF_KERF_MM: f64 = 0.165;
const RUN_OUT_MM: f64 = 0.5;
/// How far a path runs beyond an edge that it leaves at a right angle.
const BEYOND_MM: f64 = HALF_KERF_MM + RUN_OUT_MM;
const EXACT_MM: f64 = 1e-9;

/// A drawing in mm: lines with bulges on layers.
#[derive(Clone, Default)]
struct Sheet(String);

impl Sheet {
    fn line(mut self, layer: &str, line: &Polyline) -> Self {
        let closed = u8::from(line.closed);
        let _ = write!(self.0, "0\nPOLYLINE\n8\n{layer}\n66\n1\n70\n{closed}\n");
        for Vertex { at, bulge } in &line.vertices {
            let _ = write!(
                self.0,
                "0\nVERTEX\n8\n{layer}\n10\n{}\n20\n{}\n42\n{bulge}\n",
                at.x, at.y
            );
        }
        let _ = write!(self.0, "0\nSEQEND\n8\n{layer}\n");
        self
    }

    fn slit(self, points: &[(f64, f64)]) -> Self {
        let straight = points.iter().map(|&(x, y)| (x, y, 0.0));
        self.line("SLIT", &Polyline::open(straight))
    }

    fn circle(mut self, layer: &str, (x, y): (f64, f64), radius: f64) -> Self {
        let _ = write!(self.0, "0\nCIRCLE\n8\n{layer}\n10\n{x}\n20\n{y}\n40\n{radius}\n");
        self
    }

    fn rectangle(self, layer: &str, (x, y): (f64, f64), (width, height): (f64, f64)) -> Self {
        let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
        let corners = corners.map(|(x, y)| (x, y, 0.0));
        self.line(layer, &Polyline::closed(corners))
    }

    fn bytes(&self) -> Vec<u8> {
        let head = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n";
        format!("{head}0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n", self.0).into_bytes()
    }

    fn job(&self, more: &str) -> JobFile {
        let job = format!(
            "material = \"tool-steel\"\nthickness_mm = 20\nwire_mm = 0.25\n{more}\n[layer.SLIT]\nuse = \"slit\"\n\
             [layer.THERE]\nuse = \"existing\"\n[layer.BLANK]\nuse = \"blank\"\n[layer.HOLE]\nuse = \"ready-hole\"\n\
             [layer.START]\nuse = \"start-hole\"\n"
        );
        let mut job = JobFile::parse(&job).expect("a sound job");
        // Not every sheet has all layers.
        job.may_miss = job.names();
        job
    }

    fn plan_for(&self, more: &str) -> Plan {
        let plan = Planner::new(book()).job(&self.job(more)).plan("sheet.dxf", self.bytes());
        plan.expect("a sound drawing")
    }

    /// Planned in one pass.
    fn plan(&self) -> Plan {
        self.plan_for("passes = 1")
    }
}

/// A ring that is there already, about the origin.
fn ring(inner_mm: f64, outer_mm: f64) -> Sheet {
    Sheet::default()
        .circle("THERE", (0.0, 0.0), outer_mm)
        .circle("THERE", (0.0, 0.0), inner_mm)
}

/// A block of 60 × 40 that is there already, its lower edge on y = 0.
fn block() -> Sheet {
    Sheet::default().rectangle("THERE", (-30.0, 0.0), (60.0, 40.0))
}

fn only(plan: &Plan) -> &WireLoop {
    assert!(plan.toolpaths.refusals.is_empty(), "{:?}", plan.toolpaths.refusals);
    assert_eq!(plan.toolpaths.loops.len(), 1);
    &plan.toolpaths.loops[0]
}

fn ends(wire: &WireLoop) -> [CutEnd; 2] {
    wire.open.as_ref().expect("an open cut").ends
}

fn refusals(plan: &Plan) -> Vec<RefusalReason> {
    plan.toolpaths.refusals.iter().map(|refusal| refusal.reason).collect()
}

fn close(found: f64, right: f64) {
    assert!((found - right).abs() <= EXACT_MM, "{found} is not {right}");
}

/// Through 10 mm with a kerf of 0.33 mm: 10 + 2 · 0.5 + 2 · 0.165 = 11.330, whatever is drawn beyond the edges, and where the ends
/// fall short of them by less than half a kerf.
#[test]
fn a_slit_through_10_mm_is_11_33_long_whatever_the_overhang() {
    for beyond_mm in [0.0, 0.01, 0.1, 0.165, 0.3, 0.665, 3.0, 20.0, -0.05, -0.16] {
        let sheet = ring(30.0, 40.0).slit(&[(30.0 - beyond_mm, 0.0), (40.0 + beyond_mm, 0.0)]);
        let plan = sheet.plan();
        let wire = only(&plan);
        assert!((wire.length_mm - 11.330).abs() < 1e-6, "{beyond_mm}: {}", wire.length_mm);
        close(wire.length_mm, 10.0 + 2.0 * BEYOND_MM);
        assert_eq!(wire.polyline.segment_count(), 1);
        assert!(!wire.polyline.closed);
        close(wire.polyline.vertices[0].at.x, 30.0 - BEYOND_MM);
        close(wire.open.as_ref().expect("open").met_mm, 10.0);
        assert_eq!(ends(wire), [CutEnd::Air, CutEnd::Air]);
        assert!(wire.verified_mm <= EXACT_MM);
        let total = plan.estimate.cut.rows[0].path_length_mm.expect("a whole plan");
        close(total, wire.length_mm);
        assert!(plan.estimate.time.is_some() && plan.estimate.costs.is_some());
    }
}

/// One radial slit of a ring leaves it in one piece, two leave two: the second is refused, and there is no total.
#[test]
fn a_second_slit_parts_the_ring() {
    let one = ring(30.0, 50.0).slit(&[(29.0, 0.0), (51.0, 0.0)]);
    assert!(refusals(&one.plan()).is_empty());
    let two = one.slit(&[(-29.0, 0.0), (-51.0, 0.0)]).plan();
    assert_eq!(refusals(&two), [RefusalReason::CutsPieceOff]);
    assert_eq!(two.toolpaths.refusals[0].contour, ContourId::from_index(3));
    assert_eq!(two.toolpaths.loops.len(), 1);
    assert!(two.estimate.time.is_none() && two.estimate.costs.is_none());
    // A slit across a block parts it alone; so does one that meets another in the material.
    let across = block().slit(&[(0.0, -1.0), (0.0, 41.0)]).plan();
    assert_eq!(refusals(&across), [RefusalReason::CutsPieceOff]);
    let corner = block().slit(&[(0.0, -1.0), (0.0, 20.0)]).slit(&[(31.0, 20.0), (0.0, 20.0)]).plan();
    assert_eq!(refusals(&corner), [RefusalReason::CutsPieceOff]);
    // 1 µm more than the kerf apart they do not meet.
    let apart = 2.0 * HALF_KERF_MM + 1e-3;
    let corner = block().slit(&[(0.0, -1.0), (0.0, 20.0)]).slit(&[(31.0, 20.0), (apart, 20.0)]).plan();
    assert!(refusals(&corner).is_empty(), "{:?}", refusals(&corner));
}

/// A line that meets the edge at an angle of a has to go on by 0.665 / sin a. At its blind end it stops where it is drawn, and the wire
/// comes back the way it went.
#[test]
fn a_blind_slit_ends_where_it_is_drawn_and_runs_out_by_its_angle() {
    for angle_deg in [90.0f64, 60.0, 45.0, 20.0] {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let at = |mm: f64| (mm * cos, mm * sin);
        let plan = block().slit(&[at(-4.0), at(15.0)]).plan();
        let wire = only(&plan);
        close(wire.length_mm, 15.0 + BEYOND_MM / sin);
        assert_eq!(ends(wire), [CutEnd::Air, CutEnd::Blind]);
        let leads = &plan.process.leads[0];
        close(leads.lead_out.length(), wire.length_mm);
        assert_eq!((leads.lead_in.vertices.len(), leads.lead_cut_mm), (0, 0.0));
        let start = &plan.process.starts.list[0];
        assert_eq!((start.origin, start.hole_mm, start.drilled), (StartOrigin::Air, None, false));
        assert!(start.at.distance(wire.polyline.vertices[0].at) < EXACT_MM);
    }
    let flat = block().slit(&[(0.0, 0.0), (20.0, 2.0)]).plan();
    assert_eq!(refusals(&flat), [RefusalReason::LeavesTooFlat]);
}

/// A quarter of a circle of radius 5 that leaves the edge at a right angle runs on straight; drawn on as a circle, it is followed until
/// its kerf is out, at an angle a with 5 · sin a = 0.165, and leaves along the tangent there, 0.5 / cos a on.
#[test]
fn a_bent_slit_leaves_along_its_tangent() {
    let center = Point::new(5.0, 0.0);
    let arc = |beyond_rad: f64| {
        let from = (center.x - 5.0 * beyond_rad.cos(), -5.0 * beyond_rad.sin());
        let bulge = -((FRAC_PI_2 + beyond_rad) / 4.0).tan();
        Polyline::open([(from.0, from.1, bulge), (5.0, 5.0, 0.0)])
    };
    let plan = block().line("SLIT", &arc(0.0)).plan();
    close(only(&plan).length_mm, 5.0 * FRAC_PI_2 + BEYOND_MM);
    let a = (HALF_KERF_MM / 5.0).asin();
    for beyond_rad in [0.2, 0.5] {
        let plan = block().line("SLIT", &arc(beyond_rad)).plan();
        close(only(&plan).length_mm, 5.0 * (FRAC_PI_2 + a) + RUN_OUT_MM / a.cos());
    }
}

/// What cannot be planned is refused with its reason.
#[test]
fn what_cannot_be_slit_is_refused_with_its_reason() {
    let edge = ContourId::FIRST;
    let cases = [
        (block().slit(&[(-10.0, 20.0), (10.0, 20.0)]), RefusalReason::NoPlaceToStart),
        (block().slit(&[(-10.0, -5.0), (10.0, -5.0)]), RefusalReason::MeetsNoMaterial),
        (block().slit(&[(-10.0, -0.1), (10.0, -0.1)]), RefusalReason::LeavesTooFlat),
        (
            block().slit(&[(0.0, -3.0), (0.0, 0.0), (10.0, 0.0), (10.0, 5.0)]),
            RefusalReason::RunsAlongEdge { contour: edge },
        ),
        (Sheet::default().slit(&[(0.0, 0.0), (10.0, 0.0)]), RefusalReason::NoOutline),
        (
            block().line("SLIT", &Polyline::circle(Point::new(0.0, 20.0), 4.0)),
            RefusalReason::SlitClosed,
        ),
        // The slot of 1 mm is too narrow to run out: it needs 0.665 + 0.165.
        (
            block().rectangle("THERE", (9.6, 10.0), (0.8, 10.0)).slit(&[(-31.0, 15.0), (10.0, 15.0)]),
            RefusalReason::RunOutCutsWall {
                contour: ContourId::from_index(1),
            },
        ),
        (
            block().slit(&[(0.0, -3.0), (0.0, 20.0), (10.0, 20.0), (10.0, 10.0), (-5.0, 10.0)]),
            RefusalReason::KerfMeetsItself,
        ),
    ];
    for (sheet, reason) in cases {
        let plan = sheet.plan();
        assert_eq!(refusals(&plan), [reason]);
        assert!(plan.estimate.time.is_none(), "{reason:?}");
        let words = refusal_in_words(reason).to_string();
        let finding = plan.inspection.findings.iter().find(|f| f.name == "path-refused").expect("told");
        assert!(finding.message.to_string().contains(&words) && !finding.remedy.to_string().is_empty());
    }
}

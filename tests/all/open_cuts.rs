//! Slits and trims: where their paths begin and end, what they take away, what they leave in pieces, where the wire is threaded and when
//! they are cut, against closed forms of plain drawings and a polygon library (crate `geo` 0.33). A 0.25 mm wire with a spark gap of
//! 0.040 mm in the rough cut (half a kerf of 0.165 mm) and a run-out of 0.5 mm, as the built-in book has them.

use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};
use std::fmt::Write as _;
use std::fs;

use geo::buffer::{BufferStyle, LineCap, LineJoin};
use geo::{Area, BooleanOps, Buffer, Coord, LineString, MultiPolygon, Polygon};

use kerfwright::check::path_words::refusal_in_words;
use kerfwright::geometry::{Point, Polyline, Vertex};
use kerfwright::id::ContourId;
use kerfwright::job::{JobFile, JobPart, Purpose};
use kerfwright::plan::OperationKind::{self, CutOff, LeadIn, Remove, Rough, Skim, Stop, Thread, Travel};
use kerfwright::plan::{Plan, Planner};
use kerfwright::process::{PieceKind, StartOrigin};
use kerfwright::report::{dxf, json};
use kerfwright::toolpath::{CutEnd, RefusalReason, WireLoop};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use crate::common::{book, file_name, real_drawings};
use crate::random::{cases, config_of, loops};

const HALF_KERF_MM: f64 = 0.165;
pub(crate) const RUN_OUT_MM: f64 = 0.5;
/// How far a path runs beyond an edge that it leaves at a right angle.
const BEYOND_MM: f64 = HALF_KERF_MM + RUN_OUT_MM;
const EXACT_MM: f64 = 1e-9;

/// A drawing in mm: lines with bulges on layers.
#[derive(Clone, Default)]
pub(crate) struct Sheet(String);

impl Sheet {
    pub(crate) fn line(mut self, layer: &str, line: &Polyline) -> Self {
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

    pub(crate) fn slit(self, points: &[(f64, f64)]) -> Self {
        let straight = points.iter().map(|&(x, y)| (x, y, 0.0));
        self.line("SLIT", &Polyline::open(straight))
    }

    pub(crate) fn circle(mut self, layer: &str, (x, y): (f64, f64), radius: f64) -> Self {
        let _ = write!(self.0, "0\nCIRCLE\n8\n{layer}\n10\n{x}\n20\n{y}\n40\n{radius}\n");
        self
    }

    pub(crate) fn rectangle(self, layer: &str, (x, y): (f64, f64), (width, height): (f64, f64)) -> Self {
        let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
        let corners = corners.map(|(x, y)| (x, y, 0.0));
        self.line(layer, &Polyline::closed(corners))
    }

    fn bytes(&self) -> Vec<u8> {
        let head = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n";
        format!("{head}0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n", self.0).into_bytes()
    }

    fn job(more: &str) -> JobFile {
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

    pub(crate) fn plan_for(&self, more: &str) -> Plan {
        let plan = Planner::new(book())
            .job(&Self::job(more))
            .plan("sheet.dxf", self.bytes());
        plan.expect("a sound drawing")
    }

    /// Planned in one pass.
    pub(crate) fn plan(&self) -> Plan {
        self.plan_for("passes = 1")
    }
}

/// A ring that is there already, about the origin.
pub(crate) fn ring(inner_mm: f64, outer_mm: f64) -> Sheet {
    Sheet::default()
        .circle("THERE", (0.0, 0.0), outer_mm)
        .circle("THERE", (0.0, 0.0), inner_mm)
}

/// A block of 60 × 40 that is there already, its lower edge on y = 0.
pub(crate) fn block() -> Sheet {
    Sheet::default().rectangle("THERE", (-30.0, 0.0), (60.0, 40.0))
}

fn only(plan: &Plan) -> &WireLoop {
    assert!(
        plan.toolpaths.refusals.is_empty(),
        "{:?}",
        plan.toolpaths.refusals
    );
    assert_eq!(plan.toolpaths.loops.len(), 1);
    &plan.toolpaths.loops[0]
}

fn ends(wire: &WireLoop) -> [CutEnd; 2] {
    wire.open.as_ref().expect("an open cut").ends
}

pub(crate) fn refusals(plan: &Plan) -> Vec<RefusalReason> {
    plan.toolpaths
        .refusals
        .iter()
        .map(|refusal| refusal.reason)
        .collect()
}

pub(crate) fn close(found: f64, right: f64) {
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
        assert!(
            (wire.length_mm - 11.330).abs() < 1e-6,
            "{beyond_mm}: {}",
            wire.length_mm
        );
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

/// The area of a disc of radius `r` above the line y = h.
fn above(r: f64, h: f64) -> f64 {
    r * r * (h / r).acos() - h * (r * r - h * h).sqrt()
}

/// One radial slit of a ring leaves it in one piece, two leave two: half of it drops, less half a kerf on each side, from the attended
/// stop before the last stretch of the second slit on.
#[test]
fn a_second_slit_parts_the_ring() {
    let one = ring(30.0, 50.0).slit(&[(29.0, 0.0), (51.0, 0.0)]);
    let plan = one.plan();
    assert!(refusals(&plan).is_empty() && plan.process.separations.is_empty());
    let two = one.slit(&[(-29.0, 0.0), (-51.0, 0.0)]).plan();
    assert!(refusals(&two).is_empty(), "{:?}", refusals(&two));
    let [half] = two.process.separations.as_slice() else {
        panic!("one piece drops")
    };
    let area = above(50.0, HALF_KERF_MM) - above(30.0, HALF_KERF_MM);
    assert_eq!(
        (half.piece.kind, half.piece.contour),
        (PieceKind::Part, ContourId::from_index(3))
    );
    assert!(
        half.piece.area_mm2 >= area && half.piece.area_mm2 < area + 0.05,
        "{} {area}",
        half.piece.area_mm2
    );
    let steps = two.sequence();
    let steps: Vec<_> = steps
        .iter()
        .filter(|s| matches!(s.kind, Rough | Stop | CutOff | Remove))
        .collect();
    let kinds: Vec<_> = steps
        .iter()
        .map(|step| (step.contour.number(), step.kind))
        .collect();
    let threads = two
        .sequence()
        .iter()
        .filter(|step| step.kind == OperationKind::Thread)
        .count();
    assert_eq!(threads, 2);
    assert_eq!(
        kinds,
        [(3, Rough), (4, Rough), (4, Stop), (4, CutOff), (4, Remove)]
    );
    close(steps[1].length_mm + steps[3].length_mm, 20.0 + 2.0 * BEYOND_MM);
    // The last stretch is longer than the way out, so that the piece hangs on it.
    assert!(steps[3].length_mm > BEYOND_MM + 1.0);
    assert!(two.estimate.time.is_some() && two.estimate.costs.is_some());
    // A slit across a block parts it alone.
    let across = block().slit(&[(5.0, -1.0), (5.0, 41.0)]).plan();
    let area = (25.0 - HALF_KERF_MM) * 40.0;
    let [piece] = across.process.separations.as_slice() else {
        panic!("one piece drops")
    };
    assert!(piece.piece.area_mm2 >= area && piece.piece.area_mm2 < area + 0.01);
    // What drops before the end of a slit, or out of a part that is cut out, is refused, and there is no total.
    let corner = block()
        .slit(&[(0.0, -1.0), (0.0, 20.0)])
        .slit(&[(31.0, 20.0), (0.1, 20.0)])
        .plan();
    assert_eq!(refusals(&corner), [RefusalReason::CutsPieceOff]);
    assert!(corner.estimate.time.is_none() && corner.estimate.costs.is_none());
    let part = Sheet::default().rectangle("0", (-30.0, 0.0), (60.0, 40.0));
    let part = part.slit(&[(0.0, -1.0), (0.0, 41.0)]).plan();
    assert_eq!(refusals(&part), [RefusalReason::CutsPieceOff]);
    let several = block()
        .slit(&[(0.0, -1.0), (0.0, 41.0)])
        .slit(&[(-31.0, 20.0), (31.0, 20.0)])
        .plan();
    assert_eq!(refusals(&several), [RefusalReason::CutsPieceOff]);
    // 1 µm more than the kerf apart they do not meet.
    let apart = 2.0 * HALF_KERF_MM + 1e-3;
    let corner = block()
        .slit(&[(0.0, -1.0), (0.0, 20.0)])
        .slit(&[(31.0, 20.0), (apart, 20.0)])
        .plan();
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
        assert_eq!(
            (start.origin, start.hole_mm, start.drilled),
            (StartOrigin::Air, None, false)
        );
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
        close(
            only(&plan).length_mm,
            5.0 * (FRAC_PI_2 + a) + RUN_OUT_MM / a.cos(),
        );
    }
}

/// What cannot be planned is refused with its reason.
#[test]
fn what_cannot_be_slit_is_refused_with_its_reason() {
    let edge = ContourId::FIRST;
    let cases = [
        (
            block().slit(&[(-10.0, 20.0), (10.0, 20.0)]),
            RefusalReason::NoPlaceToStart,
        ),
        (
            block().slit(&[(-10.0, -5.0), (10.0, -5.0)]),
            RefusalReason::MeetsNoMaterial,
        ),
        (
            block().slit(&[(-10.0, -0.1), (10.0, -0.1)]),
            RefusalReason::LeavesTooFlat,
        ),
        (
            block().slit(&[(0.0, -3.0), (0.0, 0.0), (10.0, 0.0), (10.0, 5.0)]),
            RefusalReason::RunsAlongEdge { contour: edge },
        ),
        (
            Sheet::default().slit(&[(0.0, 0.0), (10.0, 0.0)]),
            RefusalReason::NoOutline,
        ),
        (
            block().line("SLIT", &Polyline::circle(Point::new(0.0, 20.0), 4.0)),
            RefusalReason::SlitClosed,
        ),
        // The slot of 1 mm is too narrow to run out: it needs 0.665 + 0.165.
        (
            block()
                .rectangle("THERE", (9.6, 10.0), (0.8, 10.0))
                .slit(&[(-31.0, 15.0), (10.0, 15.0)]),
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
        let told = |name: &str| ["path-refused", "run-out-cuts-wall"].contains(&name);
        let finding = plan
            .inspection
            .findings
            .iter()
            .find(|f| told(f.name))
            .expect("told");
        assert!(finding.message.to_string().contains(&words) && !finding.remedy.to_string().is_empty());
    }
}

/// A hole at the inner end is where the wire is threaded; without air and without a hole the wire is threaded in the waste ahead of the
/// line, as far from the edge as its hole asks for: half of 1 mm, 0.005 of 20 mm and 0.2 mm.
#[test]
fn the_wire_is_threaded_in_air_at_a_hole_or_in_waste() {
    let plan = block()
        .circle("HOLE", (10.0, 20.0), 1.0)
        .slit(&[(-10.0, 20.0), (10.3, 20.0)])
        .plan();
    let wire = only(&plan);
    assert_eq!(ends(wire), [CutEnd::Hole, CutEnd::Blind]);
    let start = &plan.process.starts.list[0];
    assert_eq!((start.origin, start.drilled), (StartOrigin::Ready, false));
    assert!(start.at.distance(Point::new(10.0, 20.0)) < EXACT_MM);
    close(plan.process.leads[0].lead_in.length(), 0.3);
    // One that a slit ends in, from air, is no start hole that is left over.
    let mouth = block()
        .circle("HOLE", (0.0, 20.0), 1.0)
        .slit(&[(0.0, -1.0), (0.0, 20.0)])
        .plan();
    assert_eq!(ends(only(&mouth)), [CutEnd::Air, CutEnd::Hole]);
    assert!(mouth.process.starts.unused.is_empty());
    // The part is cut out in the same job: what is round it is waste.
    let part = Sheet::default()
        .rectangle("0", (-30.0, 0.0), (60.0, 40.0))
        .slit(&[(0.0, -1.0), (0.0, 20.0)]);
    let plan = part.plan();
    assert!(
        plan.toolpaths.incomplete.is_empty(),
        "{:?} {:?}",
        plan.toolpaths.incomplete,
        plan.toolpaths.refusals
    );
    let slit = plan
        .toolpaths
        .loops
        .iter()
        .position(|wire| wire.open.is_some())
        .expect("a slit");
    assert_eq!(ends(&plan.toolpaths.loops[slit]), [CutEnd::Waste, CutEnd::Blind]);
    let start = &plan.process.starts.list[plan.process.starts.of_loop[slit]];
    assert_eq!((start.origin, start.drilled), (StartOrigin::BesideWall, true));
    assert!(
        start.at.distance(Point::new(0.0, -(0.5 + 0.1 + 0.2))) < 1e-6,
        "{:?}",
        start.at
    );
    // What lies outside of its hole is cut.
    close(
        plan.process.leads[slit].lead_cut_mm,
        (0.8 - BEYOND_MM - 0.5f64).max(0.0),
    );
    assert!(!start.lacks_room());
}

/// A slit of a part that is cut out comes when the part hangs on its tab alone: after its skims, before the stop for it, and after all
/// of its openings.
#[test]
fn slits_come_after_the_skims_and_before_the_part_drops() {
    let sheet = Sheet::default()
        .rectangle("0", (-30.0, 0.0), (60.0, 40.0))
        .circle("0", (0.0, 20.0), 8.0)
        .slit(&[(0.0, 20.0), (0.0, 41.0)]);
    for stops in ["grouped", "each"] {
        let plan = sheet.plan_for(&format!("passes = 3\nstops = \"{stops}\""));
        assert!(plan.toolpaths.refusals.is_empty());
        let steps = plan.sequence();
        let slit = |kind: OperationKind| kind == OperationKind::Rough;
        let at = steps
            .iter()
            .position(|step| step.contour.number() == 3 && slit(step.kind))
            .expect("slit");
        let last = |contour: usize, kind: OperationKind| {
            steps
                .iter()
                .rposition(|step| step.contour.number() == contour && step.kind == kind)
        };
        assert!(
            last(1, OperationKind::Skim) < Some(at) && Some(at) < last(1, OperationKind::Stop),
            "{stops}"
        );
        assert!(
            last(2, OperationKind::Skim) < Some(at) && last(2, OperationKind::Remove) < Some(at),
            "{stops}"
        );
        // One pass, whatever the walls take, and its kerf: 2 · (0.125 + 0.040).
        let wires = plan.toolpaths.loops.iter().filter(|wire| wire.open.is_some());
        assert_eq!(wires.count(), 1);
        let wire = plan
            .toolpaths
            .loops
            .iter()
            .find(|wire| wire.open.is_some())
            .expect("a slit");
        assert_eq!(ends(wire), [CutEnd::Air, CutEnd::Waste]);
        close(plan.kerf_mm(wire).expect("a kerf").expected, 2.0 * HALF_KERF_MM);
        // Length × thickness over the rate of its pass.
        let rate = plan.groups[wire.group.index()].passes()[0]
            .area_rate_mm2_min
            .expected;
        assert!((steps[at].minutes - wire.length_mm * 20.0 / rate).abs() < EXACT_MM);
        let lead = steps
            .iter()
            .find(|step| step.contour.number() == 3 && step.kind == OperationKind::LeadIn);
        assert_eq!(lead.expect("a lead").minutes, 0.0);
    }
}

pub(crate) const CHORD_RISE_MM: f64 = 1e-4;

fn points(line: &Polyline) -> Vec<Coord> {
    let mut points: Vec<Point> = line
        .segments()
        .flat_map(|s| {
            let pieces = if s.is_arc() {
                // The rise of a chord over an angle a is r(1 − cos(a/2)), about r·a²/8.
                (s.sweep().abs() / (8.0 * CHORD_RISE_MM / s.radius()).sqrt())
                    .ceil()
                    .max(1.0)
            } else {
                1.0
            };
            (0..pieces as usize).map(move |i| s.at(i as f64 / pieces))
        })
        .collect();
    points.extend(line.vertices.last().filter(|_| !line.closed).map(|v| v.at));
    points.into_iter().map(|p| Coord { x: p.x, y: p.y }).collect()
}

pub(crate) fn ring_of(line: &Polyline) -> LineString {
    LineString::new(points(line))
}

fn kerf_of(line: &Polyline) -> MultiPolygon {
    let style = BufferStyle::new(HALF_KERF_MM)
        .line_join(LineJoin::Round(0.02))
        .line_cap(LineCap::Round(0.02));
    ring_of(line).buffer_with_style(style)
}

/// An open line from `at(0, 0)` to `at(n, 0)` over `via`: how far each place between lies aside, and the bulge that leads on from it.
fn through(bulge: f64, via: &[(f64, f64)], at: impl Fn(usize, f64) -> Point) -> Polyline {
    let between = via
        .iter()
        .enumerate()
        .map(|(k, &(off, bulge))| (at(k + 1, off), bulge));
    let corners = std::iter::once((at(0, 0.0), bulge))
        .chain(between)
        .chain([(at(via.len() + 1, 0.0), 0.0)]);
    Polyline::open(corners.map(|(p, bulge)| (p.x, p.y, bulge)))
}

/// A star-shaped blank five times as large as the loops of other tests, with a bore about a place inside, and a line that leaves the
/// bore and ends outside of all or where it likes.
#[derive(Clone, Debug)]
pub(crate) struct RandomSlit {
    pub(crate) outline: Polyline,
    pub(crate) bore: Polyline,
    pub(crate) line: Polyline,
}

const BORE_MM: f64 = 1.0;

pub(crate) fn slits() -> impl Strategy<Value = RandomSlit> {
    let via = (-0.6f64..0.6, prop_oneof![Just(0.0), -0.5f64..0.5]);
    (
        loops(),
        0.0f64..std::f64::consts::TAU,
        prop::collection::vec(via, 0..3),
        prop_oneof![Just(1.0), 0.02f64..1.0],
        -0.3f64..0.3,
    )
        .prop_map(|(star, heading, via, share, bulge)| {
            let outline = Polyline {
                vertices: star
                    .vertices
                    .iter()
                    .map(|v| Vertex {
                        at: Point::new(5.0 * v.at.x, 5.0 * v.at.y),
                        bulge: v.bulge,
                    })
                    .collect(),
                closed: true,
            };
            let middle = outline.bounds().center();
            let far_mm = share * outline.bounds().diagonal();
            let steps = via.len() + 1;
            let at = |k: usize, off: f64| {
                let along = kerfwright::geometry::Vector::unit(heading);
                let way = BORE_MM * 0.2 + far_mm * k as f64 / steps as f64;
                middle + along * way + along.left() * (off * far_mm / steps as f64)
            };
            RandomSlit {
                bore: Polyline::circle(middle, BORE_MM),
                line: through(bulge, &via, at),
                outline,
            }
        })
        .prop_filter("the bore lies within", |random| {
            let middle = random.bore.bounds().center();
            random.outline.winding(middle) != 0
                && random
                    .outline
                    .segments()
                    .all(|s| s.distance(middle) > BORE_MM + 2.0)
        })
}

/// What is taken away is what a buffer of the drawn line has in common with the blank, to within 0.1 µm of its length and the chords of
/// the polygon library (crate `geo` 0.33); what a polygon library says falls apart is refused, and hardly anything else.
#[test]
fn what_random_slits_take_away_is_the_buffer_cut_with_the_blank() {
    let usual = 300;
    let mut runner = TestRunner::new(config_of(usual));
    let (mut planned, mut crossing, mut parted, mut others) = (0, 0, 0, Vec::new());
    let counts = std::cell::RefCell::new((&mut planned, &mut crossing, &mut parted, &mut others));
    let run = runner.run(&slits(), |random| {
        let mut counts = counts.borrow_mut();
        let sheet = Sheet::default()
            .line("THERE", &random.outline)
            .line("THERE", &random.bore)
            .line("SLIT", &random.line);
        let plan = sheet.plan();
        let body = MultiPolygon::new(vec![Polygon::new(
            ring_of(&random.outline),
            vec![ring_of(&random.bore)],
        )]);
        let drawn = kerf_of(&random.line);
        let left = body.difference(&drawn);
        let falls_apart = left.iter().filter(|piece| piece.unsigned_area() > 1e-3).count() > 1;
        let end = random.line.vertices.last().expect("an end").at;
        let ends_outside = random.outline.winding(end) == 0
            && random.outline.segments().all(|s| s.distance(end) > BEYOND_MM);
        *counts.1 += usize::from(ends_outside && !falls_apart);
        let Some(wire) = plan.toolpaths.loops.first() else {
            let reason = refusals(&plan)[0];
            prop_assert!(reason != RefusalReason::CutsPieceOff || falls_apart || !ends_outside);
            if ends_outside && !falls_apart {
                counts.3.push(format!("{reason:?}"));
            }
            return Ok(());
        };
        if !ends_outside {
            // It ends in the material, or its run-out is no part of what is drawn.
            return Ok(());
        }
        *counts.0 += usize::from(!falls_apart);
        *counts.2 += usize::from(falls_apart);
        prop_assert_eq!(
            falls_apart,
            plan.process.separations.len() == 1,
            "a piece drops and nobody is told"
        );
        let ours = kerf_of(&wire.polyline).intersection(&body);
        let right = drawn.intersection(&body);
        let apart = ours.xor(&right).unsigned_area();
        let slack = wire.length_mm * (1e-4 + 4.0 * CHORD_RISE_MM) + 1e-3;
        prop_assert!(apart <= slack, "{apart} mm² apart where {slack} are allowed");
        Ok(())
    });
    run.unwrap_or_else(|failed| panic!("{failed}"));
    println!(
        "{} random slits: {crossing} cross and leave one piece, {planned} of them planned, {parted} that part it planned with what drops, refused: {others:?}",
        cases(usual)
    );
    assert!(planned * 100 >= crossing * 95, "{planned} of {crossing}");
    assert!(crossing * 5 >= cases(usual) as usize);
}

/// Every open chain of the drawings that others made, as a slit and as a trim: planned or refused with its place and reason, and counted.
#[test]
fn every_real_open_chain_as_an_open_cut_is_planned_or_refused() {
    let Some(files) = real_drawings() else { return };
    for purpose in [Purpose::Slit, Purpose::Trim] {
        let mut counted: BTreeMap<String, usize> = BTreeMap::new();
        for (i, file) in files.iter().enumerate() {
            // A third of them in each run of the tests.
            if cases(1) > 1 || i % 3 == 0 {
                count_open_chains(
                    &file_name(file),
                    &fs::read(file).expect("readable"),
                    purpose,
                    &mut counted,
                );
            }
        }
        println!("open chains, each as {purpose:?}: {counted:?}");
        assert!(counted.values().sum::<usize>() > 50);
    }
}

/// Counts what becomes of the open chains of a drawing.
fn count_open_chains(name: &str, bytes: &[u8], purpose: Purpose, counted: &mut BTreeMap<String, usize>) {
    let text =
        "material = \"tool-steel\"\nthickness_mm = 20\nwire_mm = 0.25\npasses = 2\nassume_sides = true";
    let job = JobFile::parse(text).expect("a sound job");
    let Ok(seen) = Planner::new(book()).job(&job).inspect(name, bytes) else {
        return;
    };
    let list = &seen.contours.list;
    let open = list.iter().filter(|c| !c.polyline.closed && c.purpose.is_cut());
    let open: Vec<ContourId> = open.map(|c| c.id).collect();
    let largest = list.iter().max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
    let Some(keep) = largest.filter(|_| !open.is_empty()).map(|c| c.bounds.center()) else {
        return;
    };
    let job = open.iter().fold(job, |job, id| {
        let mut part = JobPart::new().purpose(purpose);
        part.keep = Some([keep.x, keep.y]);
        job.contour(id.number(), part)
    });
    let plan = match Planner::new(book()).job(&job).plan(name, bytes) {
        Ok(plan) => plan,
        Err(error) => {
            let why: String = format!("no plan: {error}").chars().take(60).collect();
            *counted.entry(why).or_default() += open.len();
            return;
        }
    };
    for id in open {
        let planned = plan
            .toolpaths
            .loops
            .iter()
            .filter(|wire| wire.contour == id)
            .count();
        let refused: Vec<_> = plan
            .toolpaths
            .refusals
            .iter()
            .filter(|r| r.contour == id)
            .collect();
        let reason = match (planned, refused.as_slice()) {
            (1 | 2, []) => "planned".to_owned(),
            (0, [refusal, ..]) => {
                assert!(refusal.at.is_finite(), "{name}: refused without a place");
                let reason = format!("{:?}", refusal.reason);
                reason.chars().take_while(|c| c.is_alphanumeric()).collect()
            }
            (0, []) => format!("{:?}", plan.toolpaths.incomplete(id).expect("a reason").reason),
            other => panic!("{name}, contour {id}: {other:?}"),
        };
        *counted.entry(reason).or_default() += 1;
    }
}

/// A bore of 20 that is there already in a block, and a keyway 5 wide that is drawn open, its bottom 12.3 from the centre of the bore;
/// its legs end on the bore, `beyond_mm` short of it, or beyond.
pub(crate) fn keyway(beyond_mm: f64) -> Sheet {
    let foot = (100.0f64 - 2.5 * 2.5).sqrt() - beyond_mm;
    let legs = [(-2.5, foot), (-2.5, 12.3), (2.5, 12.3), (2.5, foot)];
    Sheet::default()
        .rectangle("THERE", (-30.0, -30.0), (60.0, 60.0))
        .circle("THERE", (0.0, 0.0), 10.0)
        .line("TRIM", &Polyline::open(legs.map(|(x, y)| (x, y, 0.0))))
}

const TRIM: &str = "[layer.TRIM]\nuse = \"trim\"\n";

/// The area within a circle of radius `r` about the origin above the line y = h between x = ± w.
fn under_arc(r: f64, w: f64, h: f64) -> f64 {
    w * (r * r - w * w).sqrt() + r * r * (w / r).asin() - 2.0 * w * h
}

/// Four passes of a keyway 5 wide, its bottom 12.3 from the centre of a bore of 20: drawn 10.235083 long, the last path between corners at (±2.37, 12.17) and legs down to
/// y = √(9.37² − 2.37²), 10.949363 long.
#[test]
fn a_keyway_has_the_lengths_of_its_closed_form() {
    for beyond_mm in [0.0, 0.05, 1.0, 4.0, -0.1] {
        let plan = keyway(beyond_mm).plan_for(&format!("passes = 4\n{TRIM}"));
        assert!(
            plan.toolpaths.incomplete.is_empty(),
            "{:?}",
            plan.toolpaths.refusals
        );
        let wires = &plan.toolpaths.loops;
        assert_eq!(wires.len(), 4);
        let drawn = 2.0 * (12.3 - (100.0f64 - 6.25).sqrt()) + 5.0;
        assert!((drawn - 10.235_083).abs() < 1e-6);
        for (wire, (offset, half_kerf)) in
            wires
                .iter()
                .zip([(0.197, 0.165), (0.152, 0.140), (0.137, 0.133), (0.130, 0.130)])
        {
            let half = 2.5 - offset;
            let clear = 10.0f64 - half_kerf - RUN_OUT_MM;
            let foot = (clear * clear - half * half).sqrt();
            let length = 2.0 * half + 2.0 * (12.3 - offset - foot);
            assert!(
                (wire.length_mm - length).abs() < EXACT_MM,
                "{} is not {length}",
                wire.length_mm
            );
            let corners: Vec<Point> = wire.polyline.vertices.iter().map(|v| v.at).collect();
            assert_eq!((corners.len(), wire.polyline.closed), (4, false));
            assert!(corners.iter().all(|p| (p.x.abs() - half).abs() < EXACT_MM));
            assert!((corners[0].y - foot).abs() < EXACT_MM && (corners[3].y - foot).abs() < EXACT_MM);
            assert!((corners[1].y - (12.3 - offset)).abs() < EXACT_MM);
            assert_eq!(ends(wire), [CutEnd::Air, CutEnd::Air]);
        }
        assert!((wires[3].length_mm - 10.949_363).abs() < 1e-6);
        assert!((wires[3].polyline.vertices[0].at.y - 9.065_319).abs() < 1e-6);
    }
}

/// 12.025829 mm² of it are cut off as drawn; what drops is 0.362 mm smaller on its three sides, 8.614922 mm². Its stop comes before the
/// skims, which run to and fro.
#[test]
fn what_drops_out_of_a_keyway_has_the_area_of_its_closed_form() {
    for beyond_mm in [0.0, 1.0] {
        let plan = keyway(beyond_mm).plan_for(&format!("passes = 4\n{TRIM}"));
        let wires = &plan.toolpaths.loops;
        let offcut = wires[0]
            .open
            .as_ref()
            .and_then(|cut| cut.offcut.clone())
            .expect("a piece drops");
        let waste = wires[0]
            .open
            .as_ref()
            .and_then(|cut| cut.waste.as_ref())
            .expect("waste")
            .area()
            .abs();
        close(waste, 5.0 * 12.3 - under_arc(10.0, 2.5, 0.0));
        assert!((waste - 12.025_829).abs() < 1e-6);
        let (half, top) = (2.5 - 0.362, 12.3 - 0.362);
        let dropped = 2.0 * half * top - under_arc(10.0, half, 0.0);
        assert!(
            (offcut.area_mm2 - dropped).abs() < EXACT_MM,
            "{} is not {dropped}",
            offcut.area_mm2
        );
        assert!((offcut.area_mm2 - 8.614_922).abs() < 1e-6);
        // Two corners of the wall stay round.
        let corners: Vec<f64> = plan
            .toolpaths
            .unreached
            .iter()
            .map(|place| place.area_mm2)
            .collect();
        assert_eq!(corners.len(), 2);
        assert!(
            corners
                .iter()
                .all(|area| (area - (1.0 - FRAC_PI_4) * 0.130 * 0.130).abs() < EXACT_MM)
        );
        let stops: Vec<OperationKind> = plan.sequence().iter().map(|step| step.kind).collect();
        let stops: Vec<OperationKind> = stops.into_iter().filter(|kind| *kind != LeadIn).collect();
        assert_eq!(
            stops,
            [
                Thread, Rough, Stop, CutOff, Remove, Travel, Thread, Skim, Skim, Skim
            ],
            "{stops:?}"
        );
        let cut: f64 = plan
            .sequence()
            .iter()
            .filter(|s| matches!(s.kind, Rough | CutOff))
            .map(|s| s.length_mm)
            .sum();
        close(cut, wires[0].length_mm);
        assert!(plan.estimate.time.is_some() && plan.estimate.costs.is_some());
    }
}

/// A keyway into a bore that is cut in the same job, in a part that is cut out: it comes when the bore is skimmed and the part hangs on
/// its tab alone.
#[test]
fn a_keyway_into_a_bore_comes_after_it_and_before_the_part_drops() {
    let foot = (100.0f64 - 2.5 * 2.5).sqrt();
    let legs = [(-2.5, foot), (-2.5, 12.3), (2.5, 12.3), (2.5, foot)];
    let sheet = Sheet::default()
        .rectangle("0", (-30.0, -30.0), (60.0, 60.0))
        .circle("0", (0.0, 0.0), 10.0)
        .line("TRIM", &Polyline::open(legs.map(|(x, y)| (x, y, 0.0))));
    let plan = sheet.plan_for(&format!("passes = 2\n{TRIM}keep = [0, 20]"));
    assert!(
        plan.toolpaths.incomplete.is_empty(),
        "{:?}",
        plan.toolpaths.refusals
    );
    let steps = plan.sequence();
    let place = |contour: usize, kind: OperationKind| {
        steps
            .iter()
            .position(|step| step.contour.number() == contour && step.kind == kind)
    };
    let trim = place(3, Rough);
    assert!(trim.is_some() && place(2, Skim) < trim && place(1, Skim) < trim);
    assert!(place(3, Skim) < place(1, Stop) && place(3, Remove) < place(1, Stop));
    // The part weighs what its outline says, less bore and keyway.
    let part = plan
        .process
        .separations
        .iter()
        .find(|s| s.piece.kind == PieceKind::Part);
    let area_mm2 = part.map(|part| part.piece.area_mm2);
    assert!(
        area_mm2.is_some_and(|mm2| (mm2 - (3600.0 - 100.0 * std::f64::consts::PI - 12.025_829)).abs() < 1e-6)
    );
    // Nothing says what stays where the bore is not there yet: it is asked.
    let plan = sheet.plan_for(&format!("passes = 2\n{TRIM}"));
    assert!(refusals(&plan).is_empty() && plan.waits_for_answer(ContourId::from_index(2)));
}

/// What other programs read: open in the JSON and in the DXF, with purpose, kerf, ends and what is cut off.
#[test]
fn open_cuts_are_open_in_what_is_written() {
    let plan = keyway(1.0)
        .slit(&[(9.0, 0.0), (31.0, 0.0)])
        .plan_for(&format!("passes = 2\n{TRIM}"));
    assert!(
        plan.toolpaths.incomplete.is_empty(),
        "{:?}",
        plan.toolpaths.refusals
    );
    let json: serde_json::Value = serde_json::from_str(&json::plan(&plan)).expect("JSON");
    let contour = |number: usize| json["contours"][number - 1].clone();
    for (number, purpose) in [(3, "trim"), (4, "slit")] {
        let row = contour(number);
        assert_eq!(
            (&row["role"], &row["use"], &row["purpose"]),
            (&"open".into(), &"cut".into(), &purpose.into())
        );
        assert_eq!(row["closed"], false);
    }
    let paths = json["paths"].as_array().expect("paths");
    assert!(paths.len() == 3 && paths.iter().all(|path| path["closed"] == false));
    let [trim, slit] = json["open_cuts"].as_array().expect("open cuts").as_slice() else {
        panic!("two")
    };
    assert_eq!(
        (&trim["purpose"], &slit["purpose"]),
        (&"trim".into(), &"slit".into())
    );
    assert_eq!(
        (&trim["ends"], &slit["ends"]),
        (
            &serde_json::json!(["air", "air"]),
            &serde_json::json!(["air", "air"])
        )
    );
    assert!((trim["waste_mm2"].as_f64().expect("waste") - 12.025_829).abs() < 1e-6);
    assert!((slit["kerf_mm"].as_f64().expect("a kerf") - 2.0 * HALF_KERF_MM).abs() < EXACT_MM);
    let kinds: Vec<&str> = json["separations"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|s| s["piece"].as_str())
        .collect();
    assert_eq!(kinds, ["offcut"]);
    let drawn = String::from_utf8(dxf::plan(&plan).expect("written")).expect("text");
    assert!(drawn.contains("start in air - thread the wire here"));
    // Our own reader finds the wire's paths open, each as long as planned.
    let read = Planner::new(book())
        .inspect("paths.dxf", drawn.into_bytes())
        .expect("a drawing");
    for wire in &plan.toolpaths.loops {
        let same = |length_mm: f64| (length_mm - wire.length_mm).abs() < 1e-9;
        let found = read
            .drawing
            .curves
            .iter()
            .find(|curve| !curve.polyline.closed && same(curve.length_mm));
        assert!(found.is_some(), "{}", wire.length_mm);
    }
}

/// The end of a bar of 60 × 40 is kept and drops, for it is the smaller piece: it is roughed up to a tab and skimmed to and fro on it, with
/// the wire threaded once, before it is cut off.
#[test]
fn a_kept_piece_that_drops_is_skimmed_on_its_tab() {
    use OperationKind::{Adjust, CutOff, LeadIn, Remove, Rough, Skim, SkimTab, Stop, Thread};
    let bar = Sheet::default().rectangle("THERE", (0.0, 0.0), (60.0, 40.0));
    let sheet = bar.line("TRIM", &Polyline::open([(45.0, -1.0, 0.0), (45.0, 41.0, 0.0)]));
    let job = "passes = 3\ntab = \"4\"\n[layer.TRIM]\nuse = \"trim\"\nkeep = [50, 10]";
    let plan = sheet.plan_for(job);
    let kinds: Vec<OperationKind> = plan.process.operations.iter().map(|step| step.kind).collect();
    let first = [Thread, LeadIn, Rough, Adjust, Skim, Adjust, Skim, Stop, CutOff];
    assert_eq!(kinds, [&first[..], &[Remove]].concat());
    let [rough, back, fro] = plan.toolpaths.loops.as_slice() else {
        panic!("three passes")
    };
    let runs_back = |wire: &WireLoop| wire.open.as_ref().is_some_and(|cut| cut.runs_back);
    assert!(!runs_back(rough) && runs_back(back) && !runs_back(fro));
    let tab = plan.process.separations[0].tab().expect("it hangs on a tab");
    // Beyond the edge the rough cut runs on until its kerf is clear by the run-out.
    let half_kerf_mm = plan.groups[0].passes()[0].half_kerf_mm;
    assert!((tab.length_mm - (4.0 + half_kerf_mm + RUN_OUT_MM)).abs() < EXACT_MM);
    let minutes = |kind: OperationKind| plan.steps().filter(move |step| step.kind == kind);
    let skimmed: f64 = minutes(Skim).map(|step| step.length_mm).sum();
    assert!((skimmed - (back.length_mm + fro.length_mm - 2.0 * tab.length_mm)).abs() < EXACT_MM);
    let stub = sheet.plan_for(&job.replace("passes", "tab_face = \"skimmed\"\npasses"));
    assert_eq!(stub.steps().filter(|step| step.kind == SkimTab).count(), 2);
    // Without a tab there is nothing that it could be skimmed on, so it has one all the same.
    let none = sheet.plan_for(&job.replace("\"4\"", "\"none\""));
    assert!(none.process.separations[0].tab().is_some());
    let once = sheet.plan_for(&job.replace("passes = 3", "passes = 1"));
    assert!(once.process.separations[0].last_stretch().is_some());
}

/// One way, each skim runs as the rough cut does, and the wire comes back through the open kerf between them, dry, along the path of the pass
/// before. It is threaded as often as to and fro.
#[test]
fn skims_run_one_way_where_that_is_asked() {
    let bar = Sheet::default().rectangle("THERE", (0.0, 0.0), (60.0, 40.0));
    let bent = [
        (45.0, -1.0, 0.0),
        (45.0, 20.0, 0.0),
        (50.0, 25.0, 0.0),
        (50.0, 41.0, 0.0),
    ];
    let sheet = bar.line("TRIM", &Polyline::open(bent));
    let plan = |more: &str| sheet.plan_for(&format!("passes = 4\n{more}{TRIM}keep = [10, 10]"));
    let (fro, one_way) = (plan(""), plan("open_skims = \"one-way\"\n"));
    let backs = |plan: &Plan| -> Vec<bool> {
        let wires = plan.toolpaths.loops.iter();
        wires
            .map(|wire| wire.open.as_ref().is_some_and(|cut| cut.runs_back))
            .collect()
    };
    assert_eq!(backs(&fro), [false, false, true, false]);
    assert_eq!(backs(&one_way), [false; 4]);
    let threads = |plan: &Plan| plan.steps().filter(|step| step.kind == Thread).count();
    assert_eq!((threads(&fro), threads(&one_way)), (2, 2));
    let returns = one_way.steps().filter(|step| step.kind == OperationKind::Return);
    let returns: Vec<(f64, f64)> = returns.map(|step| (step.length_mm, step.minutes)).collect();
    let [_, first, second, _] = one_way.toolpaths.loops.as_slice() else {
        panic!("four passes")
    };
    let feed_mm_min = book().times.travel_mm_min.value();
    let wanted = [first, second].map(|wire| (wire.length_mm, wire.length_mm / feed_mm_min));
    assert_eq!(returns.len(), 2);
    for (found, wanted) in returns.iter().zip(wanted) {
        assert!(
            (found.0 - wanted.0).abs() < EXACT_MM && (found.1 - wanted.1).abs() < EXACT_MM,
            "{returns:?}"
        );
    }
    // No lead cuts a wall on its way through the kerf.
    let blocked = one_way
        .inspection
        .findings
        .iter()
        .find(|f| f.name == "lead-cuts-wall");
    assert!(blocked.is_none(), "{blocked:?}");
    let minutes = |plan: &Plan| -> f64 { plan.steps().map(|step| step.minutes).sum() };
    assert!(minutes(&one_way) > minutes(&fro), "the dry return takes time");
}

/// An edge trimmed off a plate of 60 × 40, straight across at x = 45: the wire runs at its offset on the other side of what is kept, and
/// 40 + 2 · 0.665 long in the rough cut; what drops is 15 less the offset and half a kerf wide.
#[test]
fn the_side_that_is_given_stays() {
    let plate = Sheet::default().rectangle("THERE", (0.0, 0.0), (60.0, 40.0));
    let sheet = plate
        .clone()
        .line("TRIM", &Polyline::open([(45.0, -1.0, 0.0), (45.0, 41.0, 0.0)]));
    let trim = |keep: &str| sheet.plan_for(&format!("passes = 2\n[layer.TRIM]\nuse = \"trim\"\n{keep}"));
    for (keep, side, drops_kept) in [("keep = [10, 10]", 1.0, false), ("keep = [50, 10]", -1.0, true)] {
        let plan = trim(keep);
        assert!(
            plan.toolpaths.incomplete.is_empty(),
            "{:?}",
            plan.toolpaths.refusals
        );
        let [rough, skim] = plan.toolpaths.loops.as_slice() else {
            panic!("two passes")
        };
        for wire in [rough, skim] {
            let pass = plan.groups[0].passes()[wire.pass.index()].clone();
            let x = 45.0 + side * pass.offset_mm;
            assert!(
                wire.polyline
                    .vertices
                    .iter()
                    .all(|v| (v.at.x - x).abs() < EXACT_MM)
            );
            assert!((wire.length_mm - (40.0 + 2.0 * (pass.half_kerf_mm + RUN_OUT_MM))).abs() < EXACT_MM);
        }
        let [separation] = plan.process.separations.as_slice() else {
            panic!("a piece drops")
        };
        let rough = &plan.groups[0].passes()[0];
        // The smaller piece drops: the waste with its kerf gone, or the whole of what stays.
        let (kind, area) = match separation.tab() {
            None => (
                PieceKind::Offcut,
                40.0 * (15.0 - rough.offset_mm - rough.half_kerf_mm),
            ),
            Some(_) => (PieceKind::Part, 40.0 * 15.0),
        };
        assert_eq!(
            (separation.piece.kind, separation.tab().is_some()),
            (kind, drops_kept)
        );
        assert!((separation.piece.area_mm2 - area).abs() < EXACT_MM);
    }
    assert!(trim("").waits_for_answer(ContourId::from_index(1)));
    assert_eq!(
        refusals(&trim("keep = [70, 10]")),
        [RefusalReason::KeepsElsewhere]
    );
    let refused = |points: &[(f64, f64)]| {
        let line = Polyline::open(points.iter().map(|&(x, y)| (x, y, 0.0)));
        let sheet = plate
            .clone()
            .circle("THERE", (20.0, 20.0), 5.0)
            .line("TRIM", &line);
        refusals(&sheet.plan_for("passes = 2\n[layer.TRIM]\nuse = \"trim\"\nkeep = [5, 5]"))
    };
    assert_eq!(
        refused(&[(45.0, -1.0), (45.0, 20.0)]),
        [RefusalReason::EndsInMaterial]
    );
    assert_eq!(
        refused(&[(20.0, 20.0), (61.0, 20.0)]),
        [RefusalReason::PartsNothing]
    );
    assert_eq!(
        refused(&[(-1.0, 20.0), (61.0, 20.0)]),
        [RefusalReason::CrossesEdgesAgain]
    );
    // In the wall of a bore the piece towards it drops, and cannot be what stays.
    let keyway = keyway(1.0);
    let plan = keyway.plan_for("passes = 1\n[layer.TRIM]\nuse = \"trim\"\nkeep = [0, 11]");
    assert_eq!(refusals(&plan), [RefusalReason::WasteHasNoEnd]);
    // The outline is cut in the same job.
    let cut = Sheet::default().rectangle("0", (0.0, 0.0), (60.0, 40.0));
    let cut = cut.line("TRIM", &Polyline::open([(45.0, -1.0, 0.0), (45.0, 41.0, 0.0)]));
    let plan = cut.plan_for("passes = 1\n[layer.TRIM]\nuse = \"trim\"\nkeep = [10, 10]");
    let contour = ContourId::FIRST;
    assert_eq!(refusals(&plan), [RefusalReason::TrimsCutPart { contour }]);
}

fn trims() -> impl Strategy<Value = (Polyline, Polyline)> {
    let via = (-0.3f64..0.3, prop_oneof![Just(0.0), -0.4f64..0.4]);
    (
        loops(),
        0.0f64..std::f64::consts::TAU,
        -0.25f64..0.25,
        prop::collection::vec(via, 0..3),
        -0.2f64..0.2,
    )
        .prop_map(|(star, heading, aside, via, bulge)| {
            let scaled = star
                .vertices
                .iter()
                .map(|v| (5.0 * v.at.x, 5.0 * v.at.y, v.bulge));
            let outline = Polyline::closed(scaled);
            let (middle, across) = (outline.bounds().center(), outline.bounds().diagonal());
            let along = kerfwright::geometry::Vector::unit(heading);
            let steps = via.len() + 1;
            let at = |k: usize, off: f64| {
                let way = across * (k as f64 / steps as f64 - 0.5) * 1.3;
                middle + along * way + along.left() * (aside * across + off * across / steps as f64)
            };
            (outline, through(bulge, &via, at))
        })
}

/// How often a line crosses an outline.
fn crossings(outline: &Polyline, line: &Polyline) -> usize {
    let pairs = outline
        .segments()
        .flat_map(|edge| line.segments().map(move |segment| (edge, segment)));
    pairs
        .map(|(edge, segment)| edge.crossings(segment).into_iter().flatten().count())
        .sum()
}

/// Nothing of the side that stays is cut, and nothing of the other is left but what drops and what the wire does not reach: against a
/// polygon library (crate `geo` 0.33), which parts the blank along the line.
#[test]
fn random_trims_leave_one_side_and_take_all_of_the_other() {
    let usual = 200;
    let mut runner = TestRunner::new(config_of(usual));
    let counts = std::cell::RefCell::new((0usize, 0usize, BTreeMap::<String, usize>::new()));
    let run = runner.run(&trims(), |(outline, line)| {
        let body = MultiPolygon::new(vec![Polygon::new(ring_of(&outline), Vec::new())]);
        let scored = ring_of(&line).buffer_with_style(BufferStyle::new(1e-5));
        let mut sides: Vec<Polygon> = body
            .difference(&scored)
            .into_iter()
            .filter(|p| p.unsigned_area() > 1.0)
            .collect();
        sides.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
        let [stays, goes] = sides.as_slice() else {
            return Ok(());
        };
        let keep = geo::InteriorPoint::interior_point(stays).expect("it has an inside");
        let sheet = Sheet::default().line("THERE", &outline).line("TRIM", &line);
        let keep = format!("keep = [{}, {}]", keep.x(), keep.y());
        let plan = sheet.plan_for(&format!("passes = 3\n[layer.TRIM]\nuse = \"trim\"\n{keep}"));
        let mut counts = counts.borrow_mut();
        // One that crosses the edge more than twice is no trim, whatever is left of the blank.
        counts.0 += usize::from(crossings(&outline, &line) == 2);
        if let Some(refusal) = plan.toolpaths.refusals.first() {
            let reason = format!("{:?}", refusal.reason);
            *counts
                .2
                .entry(reason.chars().take_while(|c| c.is_alphanumeric()).collect())
                .or_default() += 1;
            return Ok(());
        }
        counts.1 += usize::from(crossings(&outline, &line) == 2);
        let passes = plan.groups[0].passes();
        let mut gone = MultiPolygon::new(Vec::new());
        let mut length_mm = 0.0;
        for wire in &plan.toolpaths.loops {
            let style = BufferStyle::new(passes[wire.pass.index()].half_kerf_mm)
                .line_join(LineJoin::Round(0.02))
                .line_cap(LineCap::Round(0.02));
            gone = gone.union(&ring_of(&wire.polyline).buffer_with_style(style));
            length_mm += wire.length_mm;
        }
        let slack = length_mm * (1e-4 + 4.0 * CHORD_RISE_MM) + 2e-3;
        let lost = gone
            .intersection(&MultiPolygon::new(vec![stays.clone()]))
            .unsigned_area();
        prop_assert!(lost <= slack, "{lost} mm² of what stays are cut");
        let rough = plan.toolpaths.loops[0].open.as_ref().expect("open");
        if let Some(offcut) = &rough.offcut {
            gone = gone.union(&MultiPolygon::new(vec![Polygon::new(
                ring_of(&offcut.outline),
                Vec::new(),
            )]));
        }
        let left = MultiPolygon::new(vec![goes.clone()])
            .difference(&gone)
            .unsigned_area();
        let unreached: f64 = plan.toolpaths.unreached.iter().map(|place| place.area_mm2).sum();
        prop_assert!(
            (left - unreached).abs() <= slack,
            "{left} mm² are left where {unreached} are told"
        );
        Ok(())
    });
    run.unwrap_or_else(|failed| panic!("{failed}"));
    let (crossing, planned, refused) = counts.into_inner();
    println!(
        "{crossing} random trims cross the edge twice, {planned} of them planned, refused of all: {refused:?}"
    );
    assert!(crossing * 4 >= cases(usual) as usize);
    assert!(
        planned * 100 >= crossing * 95,
        "{planned} of {crossing}: {refused:?}"
    );
}

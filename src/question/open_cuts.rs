//! Asks what open lines are for that run through the material, and which side of a trim stays.

use std::collections::BTreeSet;

use super::chains;
use super::scene::{Scene, is_purpose_given, is_settled};
use super::{Interpretation, KeptLoss, OpenCases, QuestionKind, StayingPlace};
use crate::contour::{Contour, EdgeCut, KeptMaterial, Role, run_through_material};
use crate::geometry::{Point, Polyline, Segment};
use crate::id::ContourId;
use crate::job::Purpose;
use crate::tolerance::{END_ON_EDGE_MM, SAME_POINT_MM};

/// How far beside a line the place is looked for that stays, mm.
const BESIDE_MM: [f64; 7] = [5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05];

/// The coordinates of that place are whole such parts of a millimetre.
const PLACE_STEPS_PER_MM: f64 = 100.0;

/// The open lines of a drawing that may be asked about, and the material that is kept.
pub(super) struct OpenLines<'a> {
    /// Trims of which no side is given.
    trims: Vec<&'a Contour>,
    /// Lines to be cut that run through the material, one end of them at least out of it.
    through: Vec<&'a Contour>,
    /// Straight lines to be cut that end near no other.
    straight: Vec<&'a Contour>,
    kept: Option<KeptMaterial<'a>>,
}

impl<'a> OpenLines<'a> {
    pub(super) fn new(found: &OpenCases<'a>) -> Self {
        let scene = found.scene;
        let list = || {
            scene
                .list
                .iter()
                .filter(|c| !c.polyline.closed && found.is_free(c.id))
        };
        let trims: Vec<&Contour> = list()
            .filter(|c| c.purpose == Purpose::Trim && c.keep.is_none())
            .collect();
        let anything_cut = scene.cut().next().is_some();
        let straight = chains::straight_lines(found);
        let straight: Vec<&Contour> = straight.into_iter().filter(|_| anything_cut).collect();
        let near_others = chains::near_others(scene);
        let may_be_cut = |c: &&Contour| {
            c.role == Role::Open && c.purpose == Purpose::Cut && !c.branched && !is_purpose_given(c)
        };
        let alone = |c: &&Contour| !c.curves.iter().any(|curve| near_others.contains(curve));
        let through = list().filter(may_be_cut).filter(alone);
        let through: Vec<&Contour> = through
            .filter(|c| !straight.iter().any(|line| line.id == c.id))
            .collect();
        let any = !(trims.is_empty() && through.is_empty() && straight.is_empty());
        Self {
            kept: any.then(|| KeptMaterial::new(scene.contours)),
            trims,
            through,
            straight,
        }
    }

    /// Asks which side of a trim stays, where none is given and the drawing does not show it.
    pub(super) fn kept_sides(&self, found: &mut OpenCases<'_>) {
        let Some(kept) = &self.kept else { return };
        for trim in &self.trims {
            let line = OpenLine::new(kept, trim.id, &trim.polyline);
            let readings = line.trims(kept);
            if !readings.is_empty() && !line.is_drawn(kept) {
                let readings = readings.into_iter().chain([line.slit()]).collect();
                found.ask_open(QuestionKind::TrimSide, trim.id, readings);
            }
        }
    }

    /// Asks about lines that do not close and run through the material.
    pub(super) fn open_cuts(&self, found: &mut OpenCases<'_>) {
        let Some(kept) = &self.kept else { return };
        for contour in &self.through {
            let line = OpenLine::new(kept, contour.id, &contour.polyline);
            if line.met_mm == 0.0 || !line.comes_out {
                continue;
            }
            let readings = line.trims(kept).into_iter();
            let readings = readings.chain([line.slit(), line.for_reference()]).collect();
            found.ask_open(QuestionKind::OpenCut, contour.id, readings);
        }
    }

    /// Asks about straight lines that close nothing, where anything else is to be cut: most are centre marks and dimension lines.
    pub(super) fn straight_lines(&self, found: &mut OpenCases<'_>) {
        let Some(kept) = &self.kept else { return };
        for contour in &self.straight {
            let line = OpenLine::new(kept, contour.id, &contour.polyline);
            // Few of them are trims: it is enough that `trim` may be given, and which side stays is asked then.
            let readings = vec![line.for_reference(), line.slit()];
            found.ask_open(QuestionKind::OpenChain, contour.id, readings);
        }
    }
}

/// Returns the readings of closed curves across an edge that mean a trim: what lies in it is waste, or stays, or it is not cut.
pub(super) fn closed_trims(
    scene: &Scene<'_>,
    across: &BTreeSet<ContourId>,
) -> Vec<(ContourId, Vec<Interpretation>)> {
    if across.is_empty() {
        return Vec::new();
    }
    let kept = KeptMaterial::without(scene.contours, across);
    let readings = across.iter().filter_map(|&id| {
        let outline = &scene.contour(id).polyline;
        let run = run_through_material(&kept, outline)?;
        let line = OpenLine::new(&kept, id, &Polyline::run(&run));
        let mut trims = line.trims(&kept);
        // What lies in it is waste first.
        trims.sort_by_key(|trim| trim.stays.iter().any(|stays| outline.winding(stays.at) != 0));
        (!trims.is_empty()).then(|| (id, trims.into_iter().chain([line.for_reference()]).collect()))
    });
    readings.collect()
}

/// Whether the side of a contour across an edge may be asked about: it is not given for it alone, and nothing lies in it.
pub(super) fn may_be_trim(scene: &Scene<'_>, contour: &Contour) -> bool {
    contour.purpose == Purpose::Cut
        && contour.polyline.closed
        && !is_settled(contour)
        && scene.directly_inside(contour.id).is_empty()
}

/// An open line in the material.
struct OpenLine {
    id: ContourId,
    /// How much of it lies in the material, mm; 0 where it runs along an edge.
    met_mm: f64,
    /// An end of it lies out of the material, or on an edge.
    comes_out: bool,
    /// What it cuts off, where it runs from an edge to the same edge.
    cut: Option<EdgeCut>,
}

impl OpenLine {
    fn new(kept: &KeptMaterial<'_>, id: ContourId, line: &Polyline) -> Self {
        let segments: Vec<Segment> = line.segments().filter(|s| s.length() > SAME_POINT_MM).collect();
        let longer = longer(&segments);
        let ends = longer.first().zip(longer.last());
        let cut = EdgeCut::of(kept, &longer).ok();
        Self {
            id,
            met_mm: met_mm(kept, &segments).unwrap_or(0.0),
            comes_out: ends.is_some_and(|(a, b)| !kept.keeps(a.from) || !kept.keeps(b.to)),
            cut: cut.filter(|cut| {
                let edge = &kept.contours[cut.edge];
                // Its outline is to be drawn as it shall be.
                edge.role == Role::Opening || edge.purpose != Purpose::Cut
            }),
        }
    }

    /// Whether the drawing shows what stays: beside an opening that is there the piece towards it drops.
    fn is_drawn(&self, kept: &KeptMaterial<'_>) -> bool {
        self.cut.as_ref().is_some_and(|cut| {
            let edge = &kept.contours[cut.edge];
            edge.role == Role::Opening && edge.purpose == Purpose::Existing
        })
    }

    fn reading(&self, purpose: Purpose, cut_length_mm: f64, loss: KeptLoss) -> Interpretation {
        Interpretation {
            purposes: vec![(self.id, purpose)],
            stays: Vec::new(),
            cut_length_mm,
            loss,
        }
    }

    fn for_reference(&self) -> Interpretation {
        self.reading(Purpose::Reference, 0.0, KeptLoss::default())
    }

    fn slit(&self) -> Interpretation {
        let loss = KeptLoss {
            kerf_along_mm: self.met_mm,
            ..KeptLoss::default()
        };
        self.reading(Purpose::Slit, self.met_mm, loss)
    }

    /// Returns it as a trim, the smaller piece as waste first; nothing where it cuts nothing off.
    fn trims(&self, kept: &KeptMaterial<'_>) -> Vec<Interpretation> {
        let Some(cut) = &self.cut else { return Vec::new() };
        let small = cut.smaller_goes_on();
        let trims = [small, !small].into_iter().filter_map(|goes_on| {
            let at = staying_place(kept, cut, goes_on)?;
            let loss = KeptLoss {
                area_mm2: kept.area_within(&cut.piece(goes_on).outline),
                ..KeptLoss::default()
            };
            let length_mm = cut.inside.iter().map(|segment| segment.length()).sum();
            Some(Interpretation {
                stays: vec![StayingPlace {
                    contour: self.id,
                    at,
                    smaller_drops: goes_on == small,
                }],
                ..self.reading(Purpose::Trim, length_mm, loss)
            })
        });
        trims.collect()
    }
}

/// Returns a place beside a line, on the side that stays when the waste is where the edge runs on, or is not; `None` where there is none.
fn staying_place(kept: &KeptMaterial<'_>, cut: &EdgeCut, waste_goes_on: bool) -> Option<Point> {
    let mut segments = cut.inside.clone();
    segments.sort_by(|a, b| b.length().total_cmp(&a.length()));
    let stays = |p: &Point| cut.waste_beside(kept, *p) == Ok(waste_goes_on);
    let rounded = |p: Point| {
        let rounded = |mm: f64| (mm * PLACE_STEPS_PER_MM).round() / PLACE_STEPS_PER_MM;
        Point::new(rounded(p.x), rounded(p.y))
    };
    let mut places = BESIDE_MM.into_iter().flat_map(|beside_mm| {
        segments.iter().flat_map(move |segment| {
            let aside = segment.direction(0.5).left() * beside_mm;
            [segment.at(0.5) + aside, segment.at(0.5) + aside * -1.0]
        })
    });
    places.find_map(|p| [rounded(p), p].into_iter().find(stays))
}

/// Returns a line that is longer at both ends, along its tangents, by as much as an end may fall short of an edge.
fn longer(line: &[Segment]) -> Vec<Segment> {
    let (Some(first), Some(last)) = (line.first(), line.last()) else {
        return Vec::new();
    };
    let begin = Segment::line(first.from - first.direction(0.0) * END_ON_EDGE_MM, first.from);
    let end = Segment::line(last.to, last.to + last.direction(1.0) * END_ON_EDGE_MM);
    std::iter::once(begin)
        .chain(line.iter().copied())
        .chain([end])
        .collect()
}

/// Computes how much of a line lies in the material, mm; `None` where it runs along an edge.
fn met_mm(kept: &KeptMaterial<'_>, line: &[Segment]) -> Option<f64> {
    let mut met_mm = 0.0;
    for &segment in line {
        let meetings = kept.meetings(segment).ok()?;
        let parts = kept.parts_within(segment, &meetings).into_iter();
        met_mm += parts
            .map(|[from, to]| (to - from) * segment.length())
            .sum::<f64>();
    }
    Some(met_mm)
}

use std::collections::{BTreeMap, BTreeSet};

use super::{Check, Sink, Stage, Subject};
use crate::cancel::checkpoint_each;
use crate::contour::KeptMaterial;
use crate::finding::{Finding, Quantity, Severity};
use crate::geometry::{Point, Segment, SegmentIndex};
use crate::id::ContourId;
use crate::message::{Message, message, mm};
use crate::tolerance::{JOIN_MM, PATH_MM};
use crate::toolpath::Toolpaths;

/// What stays between an open cut and another, or an edge.
pub(super) const CHECK: Check = Check {
    name: "thin-web",
    title: "thin web beside an open cut",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Webs of kept material between an open cut and another one, or an edge that it does not cross, thinner than the kerf of \
                the usual wire (common practice, no source).",
    why: "A thin web heats up, bends and vibrates while its second side is cut, and may be lost.",
    what_to_do: "Ask whether the cuts may lie farther apart; else plan for support and gentle passes.",
    options: "",
    run,
};

/// The thinnest place of a web.
struct Web {
    at: Point,
    width_mm: f64,
}

/// Two contours, that of the smaller number first.
type ContourPair = (ContourId, ContourId);

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let (Some(usual), Some(toolpaths)) = (subject.usual_wire(), subject.toolpaths) else {
        return;
    };
    for ((one, other), web) in webs(subject, toolpaths, usual.kerf_mm) {
        sink.push(|| {
            let width: Message = if web.width_mm <= PATH_MM {
                message!("nothing stays")
            } else {
                message!("a web of {} stays", mm(web.width_mm).fixed(4))
            };
            let message = message!(
                "{} between contours {} and {} (limit {}, the kerf of {} wire)",
                width,
                one,
                other,
                mm(usual.kerf_mm).fixed(4),
                mm(usual.wire_mm)
            );
            Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .on_contour(one)
                .measured(Quantity::mm(web.width_mm))
                .limit(Quantity::mm(usual.kerf_mm))
                .at(web.at)
        });
    }
}

/// The thinnest web below a limit between each two contours of which one at least is an open cut. Two that meet have none.
fn webs(subject: &Subject<'_>, toolpaths: &Toolpaths, limit_mm: f64) -> BTreeMap<ContourPair, Web> {
    let mut found: BTreeMap<ContourPair, Web> = BTreeMap::new();
    if toolpaths.loops.iter().all(|wire| wire.open.is_none()) {
        return found;
    }
    let kept = KeptMaterial::new(subject.contours);
    let cuts = open_cuts(subject, toolpaths, &kept);
    let edges = subject.contours.list.iter().filter(|c| c.bounds_material());
    let edges = edges.flat_map(|edge| edge.polyline.segments().map(|segment| (edge.id, segment)));
    let lines = cuts
        .iter()
        .flat_map(|(&id, cut)| cut.segments.iter().map(move |&segment| (id, segment)));
    let (owner, all): (Vec<ContourId>, Vec<Segment>) = edges.chain(lines).unzip();
    let index = SegmentIndex::new(all);
    let most_mm = cuts.values().map(|cut| cut.half_mm).fold(0.0, f64::max);
    let mut meet: BTreeSet<ContourPair> = BTreeSet::new();
    for (&id, cut) in &cuts {
        let reach_mm = limit_mm + cut.half_mm + most_mm;
        let near = cut.segments.iter().flat_map(|segment| {
            let around = index.around(segment.bounds(), reach_mm).into_iter();
            around.map(move |i| (segment, i))
        });
        for (count, (segment, i)) in near.enumerate() {
            checkpoint_each(count);
            let other = owner[i];
            if other == id || cut.crossed.contains(&other) {
                continue;
            }
            let pair = (id.min(other), id.max(other));
            let (apart_mm, here, there) = segment.closest(index.segments()[i]);
            if apart_mm <= PATH_MM {
                meet.insert(pair);
            }
            let other_half_mm = cuts.get(&other).map_or(0.0, |other| other.half_mm);
            let web = Web {
                at: here.midpoint(there),
                width_mm: apart_mm - cut.half_mm - other_half_mm,
            };
            let is_thinner = found.get(&pair).is_none_or(|known| web.width_mm < known.width_mm);
            if web.width_mm < limit_mm && is_thinner && kept.keeps(web.at) {
                found.insert(pair, web);
            }
        }
    }
    found.retain(|pair, _| !meet.contains(pair));
    found
}

/// An open cut with what it takes on each side of its line, and what it meets.
struct CutLine<'a> {
    /// What of the line lies in the material.
    segments: Vec<Segment>,
    half_mm: f64,
    crossed: &'a [ContourId],
}

/// The open cuts that have a path. The line of a trim is the finished wall itself.
fn open_cuts<'a>(
    subject: &Subject<'_>,
    toolpaths: &'a Toolpaths,
    kept: &KeptMaterial<'_>,
) -> BTreeMap<ContourId, CutLine<'a>> {
    let groups = subject.groups.iter();
    let half_kerfs = groups.filter_map(|group| Some((group.contours, group.schedule.passes.first()?)));
    let half_kerf_mm: BTreeMap<ContourId, f64> = half_kerfs
        .flat_map(|(contours, rough)| contours.iter().map(|&id| (id, rough.half_kerf_mm)))
        .collect();
    let rough = toolpaths.loops.iter().filter(|wire| wire.pass.is_rough());
    let cuts = rough.filter_map(|wire| {
        let cut = wire.open.as_ref()?;
        let half_mm = match &cut.band {
            Some(band) => 0.5 * band.width_mm,
            None if cut.waste.is_some() => 0.0,
            None => *half_kerf_mm.get(&wire.contour)?,
        };
        let drawn = subject.contours[wire.contour].polyline.segments();
        let segments = drawn.flat_map(|segment| inside(kept, segment)).collect();
        let crossed = cut.crossed.as_slice();
        let line = CutLine {
            segments,
            half_mm,
            crossed,
        };
        Some((wire.contour, line))
    });
    cuts.collect()
}

/// What of a segment lies in the material, a little short of the edges.
fn inside(kept: &KeptMaterial<'_>, segment: Segment) -> Vec<Segment> {
    let meetings = kept.meetings(segment).unwrap_or_default();
    let parts = kept.parts_within(segment, &meetings).into_iter();
    let short = JOIN_MM / segment.length();
    let parts = parts.filter(|[from, to]| to - from > 2.0 * short);
    parts
        .map(|[from, to]| segment.part(from + short, to - short))
        .collect()
}

//! The paths of a slit of a given width: its walls lie at half of it on both sides of the line.
//!
//! The line, made longer along its tangents until it is clear of the material, is the middle of a band with round ends. In that band the
//! wire runs as in an opening, so that its loops are found and verified as those of closed contours are. Of each loop the path is
//! the run along both walls and round the far end: it begins and ends where the band comes out of the material. Where the band is so narrow
//! that one rough cut along the middle leaves both walls to the skims, that is the rough path.

use super::dividing::shapes_within;
use super::offset::{Offset, Offsets, RefusedOffset};
use super::refusal::RefusalReason;
use super::slit::{SlitPath, Slitting, refused};
use super::trim::{CUT_BEYOND_MM, TrimPath, run_out_along};
use super::{CutEnd, Engagement, OffcutShape, OpenCut, SlitBand};
use crate::contour::{Contour, KeptMaterial};
use crate::geometry::{Point, Polyline, Segment, SegmentIndex};
use crate::pass::Pass;
use crate::tolerance::PATH_MM;

/// What the paths of a slit of a width go by.
#[derive(Clone, Copy)]
pub(super) struct WideSlitting<'a> {
    pub(super) kept: &'a KeptMaterial<'a>,
    pub(super) passes: &'a [Pass],
    pub(super) run_out_mm: f64,
    /// A skim may meet this many times the stock it is meant to take.
    pub(super) overload_limit: f64,
    pub(super) width_mm: f64,
}

/// Where a slit of a width is cut.
pub(super) struct SlitSite {
    /// What the wire runs in.
    region: Polyline,
    /// Its middle, from the end at which the wire comes in.
    middle: Polyline,
    /// How the middle lies in the material.
    cut: OpenCut,
}

impl WideSlitting<'_> {
    /// The narrowest slit that these passes leave room for, mm.
    pub(super) fn narrowest_mm(&self) -> f64 {
        2.0 * self.passes[0].offset_mm
    }

    /// Whether the rough cut runs along the middle: what it leaves on both walls lies between the stock of all skims and that with the first
    /// of them at its limit.
    pub(super) fn is_roughed_once(&self) -> bool {
        let (rough, skims) = (&self.passes[0], &self.passes[1..]);
        let first_takes_mm = skims.first().map_or(0.0, |skim| rough.stock_mm - skim.stock_mm);
        let more_mm = (self.overload_limit - 1.0).max(0.0) * first_takes_mm;
        self.width_mm <= self.narrowest_mm() + 2.0 * more_mm + PATH_MM
    }

    /// What the first skim meets on each wall after one rough cut along the middle, for so many segments.
    pub(super) fn first_engagement(&self, skim: &Pass, segments: usize) -> Vec<Engagement> {
        let met_mm = 0.5 * self.width_mm - self.passes[0].half_kerf_mm - skim.stock_mm;
        let meant_mm = self.passes[0].stock_mm - skim.stock_mm;
        let met = Engagement {
            factor: if meant_mm > 0.0 { met_mm / meant_mm } else { 1.0 },
            stock_mm: Some(met_mm),
        };
        vec![met; segments]
    }

    fn slitting(&self, half_kerf_mm: f64, run_out_mm: f64) -> Slitting<'_> {
        Slitting {
            kept: self.kept,
            half_kerf_mm,
            run_out_mm,
        }
    }

    /// Finds where the slit is cut, or says why it cannot be.
    pub(super) fn site(&self, contour: &Contour) -> Result<SlitSite, RefusedOffset> {
        let at = contour
            .polyline
            .vertices
            .first()
            .map_or_else(Point::default, |v| v.at);
        let needed_mm = self.narrowest_mm();
        let width_mm = self.width_mm;
        if width_mm < needed_mm - PATH_MM {
            return Err(refused(at, RefusalReason::SlitNarrow { width_mm, needed_mm }));
        }
        let room_mm = self.run_out_mm + self.passes[0].half_kerf_mm + CUT_BEYOND_MM;
        let found = self.slitting(0.5 * width_mm, room_mm).path(contour)?;
        let is_out = |end: CutEnd| matches!(end, CutEnd::Air | CutEnd::Waste);
        let found = match found.cut.ends.map(is_out) {
            [true, _] => found,
            [false, true] => found.turned(),
            [false, false] => return Err(refused(at, RefusalReason::NoPlaceToStart)),
        };
        let region = found.path.band(0.5 * width_mm);
        Ok(SlitSite {
            region: region.ok_or_else(|| refused(at, RefusalReason::SlitTurnsTooTight))?,
            middle: found.path,
            cut: found.cut,
        })
    }

    /// The rough path along the middle, in the direction of the site's.
    pub(super) fn along_middle(&self, contour: &Contour, site: &SlitSite) -> Result<SlitPath, RefusedOffset> {
        let found = self
            .slitting(self.passes[0].half_kerf_mm, self.run_out_mm)
            .path(contour)?;
        let [first, last] = [0, site.middle.vertices.len() - 1].map(|i| site.middle.vertices[i].at);
        let begins = found.path.vertices[0].at;
        Ok(if begins.distance(first) <= begins.distance(last) {
            found
        } else {
            found.turned()
        })
    }
}

impl SlitSite {
    /// The contour as it is offset: the band, as an opening.
    pub(super) fn stand_in(&self, contour: &Contour) -> Contour {
        contour.as_opening(self.region.clone())
    }

    pub(super) fn band(&self, width_mm: f64) -> SlitBand {
        SlitBand {
            width_mm,
            met_mm: self.cut.met_mm,
            middle: self.middle.clone(),
        }
    }

    /// The path of a pass: the run of its one loop along both walls, from where its kerf comes into the material to where it has left it.
    pub(super) fn path(
        &self,
        wide: &WideSlitting<'_>,
        pass: &Pass,
        path: &Polyline,
    ) -> Result<TrimPath, RefusedOffset> {
        let entry = self.middle.vertices[0].at;
        let index = SegmentIndex::of([&self.middle]);
        let n = path.segment_count();
        let is_round_entry = |i: usize| {
            let foot = index.nearest(path.segment(i).at(0.5), wide.width_mm);
            foot.is_none_or(|(_, foot, _)| foot.distance(entry) <= PATH_MM)
        };
        let round_entry: Vec<bool> = (0..n).map(is_round_entry).collect();
        let begins = (0..n).find(|&i| !round_entry[i] && round_entry[(i + n - 1) % n]);
        let begins = begins.ok_or_else(|| refused(entry, RefusalReason::NoneFound))?;
        let numbers = (0..n).map(|k| (begins + k) % n).take_while(|&i| !round_entry[i]);
        let run: Vec<(usize, Segment)> = numbers.map(|i| (i, path.segment(i))).collect();
        let slitting = wide.slitting(pass.half_kerf_mm, wide.run_out_mm);
        let (line, from) = run_out_along(&slitting, &run)?;
        let met = slitting.met(&line)?;
        let cut = OpenCut {
            ends: [self.cut.ends[0]; 2],
            met_mm: met.length_mm,
            left_mm: met.left_mm,
            band: Some(self.band(wide.width_mm)),
            ..self.cut.clone()
        };
        Ok(TrimPath {
            path: Polyline::run(&line),
            from,
            cut,
        })
    }

    /// What the slit takes of the material, as drawn; `None` where that is not in one piece.
    pub(super) fn waste(&self, wide: &WideSlitting<'_>) -> Result<Option<Polyline>, RefusedOffset> {
        let shapes = self.within(wide, std::slice::from_ref(&self.region))?;
        Ok(match <[OffcutShape; 1]>::try_from(shapes) {
            Ok([shape]) => Some(shape.outline),
            Err(_) => None,
        })
    }

    fn within(&self, wide: &WideSlitting<'_>, loops: &[Polyline]) -> Result<Vec<OffcutShape>, RefusedOffset> {
        let shapes = shapes_within(wide.kept, loops);
        shapes.ok_or_else(|| refused(self.middle.vertices[0].at, RefusalReason::NoneFound))
    }

    /// What drops: the rib that the kerfs of the rough cut leave between them; `None` where they leave nothing.
    pub(super) fn rib(&self, wide: &WideSlitting<'_>) -> Result<Option<OffcutShape>, RefusedOffset> {
        let rough = &wide.passes[0];
        let depth_mm = rough.offset_mm + rough.half_kerf_mm;
        if 0.5 * wide.width_mm <= depth_mm + PATH_MM {
            return Ok(None);
        }
        let at = self.middle.vertices[0].at;
        let Offset { loops, .. } = Offsets::of(&self.region)?.at(-depth_mm)?;
        let mut shapes = self.within(wide, &loops)?;
        if shapes.len() > 1 {
            return Err(refused(at, RefusalReason::TrimSplits));
        }
        Ok(shapes.pop())
    }
}

//! Options of threading, leads, overlaps, corners and stops.

use super::word::words;
use super::{ByContour, FillFrom};
use crate::geometry::Point;

/// How the wire comes onto its path.
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum LeadShape {
    /// Straight.
    #[default]
    Straight,
    /// By an arc that arrives along the path.
    Arc,
    /// Straight onto an outside corner, which hides the witness.
    Corner,
}

words!(LeadShape: "straight" => Straight, "arc" => Arc, "corner" => Corner);

/// From where the wire comes.
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum StartFrom {
    /// From a hole.
    Hole,
    /// From the edge of the blank, without a hole.
    Edge,
}

words!(StartFrom: "hole" => Hole, "edge" => Edge);

/// When the machine stops for pieces that drop.
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Stops {
    /// All slugs of one depth one after the other, when all of them are roughed; likewise the parts.
    Grouped,
    /// Each piece as soon as it hangs on its tab alone: fewest threads.
    Each,
}

words!(Stops: "grouped" => Grouped, "each" => Each);

/// Options of the start of a contour; what is absent is as for the whole job.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StartOptions {
    /// Middle of its start hole.
    pub at: Option<Point>,
    /// From a hole or from the edge of the blank; from a hole when `None`.
    pub from: Option<StartFrom>,
    /// Where the wire comes onto the path: at the point of it nearest to this.
    pub entry: Option<Point>,
    /// How it comes onto it.
    pub lead: Option<LeadShape>,
    /// How far it runs past its closing point, mm.
    pub overlap_mm: Option<f64>,
}

impl FillFrom for StartOptions {
    fn or(&self, whole: &Self) -> Self {
        Self {
            at: self.at.or(whole.at),
            from: self.from.or(whole.from),
            entry: self.entry.or(whole.entry),
            lead: self.lead.or(whole.lead),
            overlap_mm: self.overlap_mm.or(whole.overlap_mm),
        }
    }
}

/// How the skims of an open cut follow one another.
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum OpenSkims {
    /// Each begins where the one before ended.
    #[default]
    ToAndFro,
    /// Each runs in the direction of the rough cut; the wire comes back through the open kerf without cutting.
    OneWay,
}

words!(OpenSkims: "to-and-fro" => ToAndFro, "one-way" => OneWay);

/// Options of how the wire runs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WireOptions {
    /// Outside corners run sharp where the sharp corner of the path stands no farther than this many offsets from that
    /// of the contour; they are rolled round when `None`.
    pub sharp_corners: Option<f64>,
    /// How the skims of open cuts follow one another.
    pub open_skims: OpenSkims,
    /// When the machine stops; as its threading asks for when `None`.
    pub stops: Option<Stops>,
    /// Diameter of holes that are proposed, mm; the book's when `None`.
    pub drill_mm: Option<f64>,
    /// Middles of start holes that the drawing does not show.
    pub holes: Vec<Point>,
    /// Options of the starts.
    pub starts: ByContour<StartOptions>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::ContourId;
    use crate::job::{JobFile, JobFileError};

    #[test]
    fn a_contour_goes_before_its_layer_and_that_before_the_whole() {
        let text = "lead = \"arc\"\noverlap_mm = 0.5\nsharp_corners = 1.5\nstops = \"each\"\nstart_holes_mm = [[1, 2]]\n\
                    start_holes_under_mm = 1.2\n[layer.DIE]\nlead = \"straight\"\n[contour.3]\nstart_mm = [3, 4]\n\
                    entry_mm = [5, 6]\noverlap_mm = 0\n";
        let job = JobFile::parse(text).expect("a sound job");
        assert_eq!(JobFile::parse(&job.to_text().expect("written")), Ok(job.clone()));
        let running = job.running().expect("a sound job");
        assert_eq!(
            (running.sharp_corners, running.stops, running.holes.as_slice()),
            (Some(1.5), Some(Stops::Each), &[Point::new(1.0, 2.0)][..])
        );
        assert_eq!(
            running.starts.on(ContourId::nth(1), "0").lead,
            Some(LeadShape::Arc)
        );
        assert_eq!(
            running.starts.on(ContourId::nth(1), "die").lead,
            Some(LeadShape::Straight)
        );
        let third = running.starts.on(ContourId::nth(3), "die");
        assert_eq!(
            (third.at, third.entry),
            (Some(Point::new(3.0, 4.0)), Some(Point::new(5.0, 6.0)))
        );
        assert_eq!(
            (third.lead, third.overlap_mm),
            (Some(LeadShape::Straight), Some(0.0))
        );
        assert_eq!(job.uses().expect("a sound job").start_holes_under_mm, Some(1.2));
    }

    #[test]
    fn nonsense_is_refused_with_its_reason() {
        let reason = |text: &str| {
            let parsed = JobFile::parse(text).and_then(|job| job.validate().map(|()| job));
            parsed.expect_err(text).to_string()
        };
        assert!(reason("sharp_corners = 0.9").contains("sharp_corners"));
        assert!(reason("sharp_corners = nan").contains("sharp_corners"));
        assert!(reason("overlap_mm = -1").contains("overlap_mm"));
        assert!(reason("[contour.1]\noverlap_mm = inf").contains("overlap_mm"));
        assert!(reason("[contour.1]\nstart_mm = [nan, 2]").contains("start_mm"));
        assert!(reason("[contour.1]\nentry_mm = [1, inf]").contains("entry_mm"));
        assert!(reason("start_holes_mm = [[1, inf]]").contains("start_holes_mm"));
        assert!(reason("start_holes_under_mm = 0").contains("start_holes_under_mm"));
        assert!(matches!(
            JobFile::parse("lead = \"round\""),
            Err(JobFileError::Text { .. })
        ));
    }
}

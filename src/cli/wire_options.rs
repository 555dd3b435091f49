//! How the wire is threaded and runs, on the command line.

use clap::Args;

use super::length::{length, length_or_zero, place};
use crate::id::ContourId;
use crate::job::{JobFile, JobPart, LeadShape, StartFrom, Stops};

/// How the wire runs.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = "How the wire runs")]
pub(super) struct WireArgs {
    /// Middle of a start hole, such as `10.5,4`, or of that of a contour: `3:10.5,4`; `edge` or `3:edge`: from the edge of the
    /// blank, without a hole
    #[arg(long, value_name = "[N:]X,Y", value_parser = start, allow_hyphen_values = true)]
    start: Vec<StartArg>,

    /// Diameter of the start holes that are proposed [default: the book's]
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    drill: Option<f64>,

    /// Full circles smaller across than this are start holes
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    start_holes_under: Option<f64>,

    /// Where the wire comes onto the path of a contour: nearest to there, such as `3:10.5,4`
    #[arg(long, value_name = "N:X,Y", value_parser = entry, allow_hyphen_values = true)]
    entry: Vec<(ContourId, [f64; 2])>,

    /// How it comes onto its path: `straight`, `arc`, or at an outside `corner` [default: straight onto a straight, by an
    /// arc onto an arc]
    #[arg(long, value_name = "HOW")]
    lead: Option<LeadShape>,

    /// How far it runs past the closing point [default: the book's]
    #[arg(long, value_name = "LENGTH", value_parser = length_or_zero, allow_negative_numbers = true)]
    overlap: Option<f64>,

    /// Run sharp round outside corners, up to this many offsets from the corner (1.42 takes in right angles)
    /// [default: rolled]
    #[arg(long, value_name = "OFFSETS", value_parser = sharp, allow_negative_numbers = true)]
    sharp_corners: Option<f64>,

    /// When the machine stops for pieces that come free: `grouped`, or for `each` by itself [default: grouped where the
    /// machine threads by itself]
    #[arg(long, value_name = "WHEN")]
    stops: Option<Stops>,
}

/// A start hole, of a contour where one is named.
#[derive(Clone, Copy, Debug, PartialEq)]
struct StartArg {
    contour: Option<ContourId>,
    from: StartPlace,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum StartPlace {
    /// A hole there, mm.
    Hole([f64; 2]),
    /// From the edge of the blank.
    Edge,
}

impl WireArgs {
    /// Returns the job, overridden by the command line.
    pub(super) fn merge_into(&self, job: JobFile) -> JobFile {
        let mut job = JobFile {
            start_holes_under_mm: self.start_holes_under.or(job.start_holes_under_mm),
            lead: self.lead.or(job.lead),
            overlap_mm: self.overlap.or(job.overlap_mm),
            sharp_corners: self.sharp_corners.or(job.sharp_corners),
            stops: self.stops.or(job.stops),
            drill_mm: self.drill.or(job.drill_mm),
            ..job
        };
        for start in &self.start {
            match (start.contour, start.from) {
                (None, StartPlace::Hole(at_mm)) => job.start_holes_mm.push(at_mm),
                (None, StartPlace::Edge) => job.start = Some(StartFrom::Edge),
                (Some(contour), StartPlace::Hole(at_mm)) => part(&mut job, contour).start_mm = Some(at_mm),
                (Some(contour), StartPlace::Edge) => part(&mut job, contour).start = Some(StartFrom::Edge),
            }
        }
        for &(contour, at_mm) in &self.entry {
            part(&mut job, contour).entry_mm = Some(at_mm);
        }
        job
    }
}

fn part(job: &mut JobFile, contour: ContourId) -> &mut JobPart {
    job.contours.entry(contour.to_string()).or_default()
}

fn start(text: &str) -> Result<StartArg, String> {
    match text.split_once(':') {
        None => Ok(StartArg {
            contour: None,
            from: start_place(text)?,
        }),
        Some((number, at)) => Ok(StartArg {
            contour: Some(contour(number)?),
            from: start_place(at)?,
        }),
    }
}

fn start_place(text: &str) -> Result<StartPlace, String> {
    if text.trim() == "edge" {
        return Ok(StartPlace::Edge);
    }
    place(text).map(StartPlace::Hole)
}

fn entry(text: &str) -> Result<(ContourId, [f64; 2]), String> {
    let (number, at) = text
        .split_once(':')
        .ok_or("it is the number of a contour and a place, such as 3:10.5,4")?;
    Ok((contour(number)?, place(at)?))
}

fn contour(text: &str) -> Result<ContourId, String> {
    let number = text.trim().parse().ok().and_then(ContourId::new);
    number.ok_or_else(|| "a contour is named by its number, as `inspect` prints it".to_owned())
}

fn sharp(text: &str) -> Result<f64, String> {
    let limit = text
        .parse()
        .ok()
        .filter(|limit: &f64| limit.is_finite() && *limit >= 1.0);
    limit.ok_or_else(|| "it is a number of offsets of 1 or more, such as 1.5".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_with_and_without_a_contour() {
        let at_mm = [10.5, -4.0];
        let of = |contour| {
            Ok(StartArg {
                contour,
                from: StartPlace::Hole(at_mm),
            })
        };
        let edge = |contour| {
            Ok(StartArg {
                contour,
                from: StartPlace::Edge,
            })
        };
        assert_eq!(
            (start("edge"), start("3:edge")),
            (edge(None), edge(Some(ContourId::nth(3))))
        );
        assert_eq!(
            (start("10.5,-4"), start("3: 10.5, -4")),
            (of(None), of(Some(ContourId::nth(3))))
        );
        assert_eq!(entry("3:10.5,-4"), Ok((ContourId::nth(3), at_mm)));
        for wrong in [
            "", "10", "10,", "10,4,2", "x,4", "0:1,2", "a:1,2", "3:1", "1,inf", "nan,2", "3:4:5,6",
        ] {
            assert!(start(wrong).is_err(), "{wrong}");
        }
        assert!(entry("10,4").is_err());
    }

    #[test]
    fn limits_are_refused_where_no_one_can_mean_them() {
        assert_eq!(sharp("1.42"), Ok(1.42));
        for wrong in ["-1", "nan", "x", ""] {
            assert!(sharp(wrong).is_err(), "{wrong}");
        }
        assert!(sharp("0.99").is_err());
    }

    #[test]
    fn what_is_given_here_goes_first() {
        let job = JobFile {
            lead: Some(LeadShape::Arc),
            overlap_mm: Some(0.5),
            ..JobFile::default()
        };
        let args = WireArgs {
            start: vec![start("1,2").expect("a place"), start("3:4,5").expect("a place")],
            entry: vec![entry("3:6,7").expect("a place")],
            lead: Some(LeadShape::Straight),
            drill: Some(1.5),
            ..WireArgs::default()
        };
        let both = args.merge_into(job);
        assert_eq!(
            (both.lead, both.overlap_mm),
            (Some(LeadShape::Straight), Some(0.5))
        );
        assert_eq!(
            (both.start_holes_mm.as_slice(), both.drill_mm),
            (&[[1.0, 2.0]][..], Some(1.5))
        );
        let third = &both.contours["3"];
        assert_eq!(
            (third.start_mm, third.entry_mm),
            (Some([4.0, 5.0]), Some([6.0, 7.0]))
        );
        assert!(both.running().is_ok());
    }
}

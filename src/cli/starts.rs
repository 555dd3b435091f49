//! Where the wire is threaded and comes onto its path, on the command line.

use clap::{Args, ValueHint};

use super::job_keys::heading;
use crate::id::ContourId;
use crate::job::length::place;
use crate::job::{JobFile, JobPart, KeyGroup, StartFrom};

/// Where the wire is threaded and comes onto its path.
#[derive(Debug, Default, Args)]
#[command(next_help_heading = heading(KeyGroup::Wire))]
pub(super) struct StartArgs {
    /// Middle of a start hole, such as `10.5,4`, or of that of a contour: `3:10.5,4`; `edge` or `3:edge`: from the edge of the
    /// blank, without a hole
    #[arg(id = "start-place", long = "start", value_name = "[N:]X,Y", value_parser = start, value_hint = ValueHint::Other,
          allow_hyphen_values = true)]
    start: Vec<StartArg>,

    /// Where the wire comes onto the path of a contour: nearest to there, such as `3:10.5,4`
    #[arg(long, value_name = "N:X,Y", value_parser = entry, value_hint = ValueHint::Other, allow_hyphen_values = true,
          hide_short_help = true)]
    entry: Vec<(ContourId, [f64; 2])>,
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

impl StartArgs {
    /// Returns the job, overridden by the command line.
    pub(super) fn merge_into(&self, mut job: JobFile) -> JobFile {
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
    fn what_is_given_here_goes_first() {
        let mut job = JobFile::default();
        part(&mut job, ContourId::nth(3)).entry_mm = Some([0.0, 0.0]);
        let args = StartArgs {
            start: vec![start("1,2").expect("a place"), start("3:4,5").expect("a place")],
            entry: vec![entry("3:6,7").expect("a place")],
        };
        let both = args.merge_into(job);
        assert_eq!(both.start_holes_mm.as_slice(), &[[1.0, 2.0]]);
        let third = &both.contours["3"];
        assert_eq!(
            (third.start_mm, third.entry_mm),
            (Some([4.0, 5.0]), Some([6.0, 7.0]))
        );
        assert!(both.running().is_ok());
    }
}

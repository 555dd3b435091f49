//! Reads the job from the command line and a job file; the command line comes first.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Failure;
use super::input::file_text;
use super::length::{length, signed};
use super::reading::ReadingArgs;
use super::wire_options::WireArgs;
use super::workholding::WorkholdingArgs;
use crate::job::{JobFile, JobPart, Nozzles, OffsetBasis, Prefer};

/// What is asked of the cut.
#[derive(Debug, Args)]
#[command(next_help_heading = "What is asked")]
pub(super) struct DemandArgs {
    /// Thickness of the work. Every length is millimetres, or has its unit behind it: `30`, `1.25in`, `10thou`, `250um`
    #[arg(long, value_name = "LENGTH", value_parser = signed, allow_negative_numbers = true)]
    thickness: Option<f64>,

    /// Name of the material in the book
    #[arg(long, value_name = "NAME")]
    material: Option<String>,

    /// Diameter of the wire [default: chosen]
    #[arg(long, value_name = "LENGTH", value_parser = signed, allow_negative_numbers = true)]
    wire: Option<f64>,

    /// Kind of wire in the book
    #[arg(long, value_name = "NAME")]
    wire_kind: Option<String>,

    /// Number of passes: the rough cut and its skims [default: chosen]
    #[arg(long, value_name = "N")]
    passes: Option<usize>,

    /// Shift of the finished wall into the material (negative: out of it) [default: to mid-limit]
    #[arg(long, value_name = "LENGTH", value_parser = signed, allow_hyphen_values = true)]
    aim: Option<f64>,

    /// Finish as the print asks for it: `Ra 0.4`, `16 µin`, `N5` or `VDI 12`
    #[arg(long, value_name = "TEXT")]
    finish: Option<String>,

    /// Tolerance as the print asks for it: `±0.01`, `+0.02/-0.01`, `profile 0.02`, `IT6`, `25H7` or `ISO 2768-m`
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true)]
    tolerance: Option<String>,

    /// Smallest inside radius that has to come out
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    inside_radius: Option<f64>,

    /// Clearance that the wall gives, per side
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    clearance: Option<f64>,

    /// What is asked of a layer or contour, such as `layer DIE=finish N5; tolerance 25H7` or `contour 3=passes 1`;
    /// the words are finish, tolerance, passes, inside-radius, clearance and aim
    #[arg(long, value_name = "SCOPE=DEMAND", value_parser = scoped)]
    demand: Vec<(DemandScope, JobPart)>,

    /// What decides between plans that reach all this: time, cost, finish or accuracy [default: time]
    #[arg(long, value_name = "WHAT")]
    prefer: Option<Prefer>,

    /// Name of the machine in the book
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,

    /// How the nozzles sit on the work: sealed, one-open or both-open [default: sealed]
    #[arg(long, value_name = "HOW")]
    nozzles: Option<Nozzles>,

    /// Pieces ordered: equal parts of the drawing [default: as many as are drawn]
    #[arg(long, value_name = "N")]
    quantity: Option<usize>,

    /// Pieces cut in one load [default: as many as are drawn]
    #[arg(long, value_name = "N")]
    pieces_per_load: Option<usize>,

    /// Distance from the farthest feature to its pick-up [default: across all that is cut]
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    pickup: Option<f64>,

    /// How well the offset is known: gauged, by a test piece cut and measured first, or modelled [default: gauged]
    #[arg(long, value_name = "HOW")]
    offset: Option<OffsetBasis>,

    /// Taper that the print asks for, degrees: refused, since its time is not the time of a straight cut
    #[arg(long, value_name = "DEG", allow_negative_numbers = true)]
    taper: Option<f64>,

    /// Land that the print asks for above a taper: refused likewise
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_negative_numbers = true)]
    land: Option<f64>,

    /// How far the room swings from day to night [default: the book's]
    #[arg(long, value_name = "K", value_parser = kelvin, allow_negative_numbers = true)]
    room_swing: Option<f64>,

    /// The shop's own book, laid over the built-in one
    #[arg(long, value_name = "FILE")]
    book: Option<PathBuf>,

    #[command(flatten)]
    holding: WorkholdingArgs,

    #[command(flatten)]
    running: WireArgs,
}

/// Which contours a demand is on.
#[derive(Clone, Debug, PartialEq)]
enum DemandScope {
    Layer(String),
    Contour(usize),
}

/// A drawing and its job.
pub(super) struct JobInput {
    /// The drawing, as the user or the job file names it.
    pub(super) drawing: PathBuf,
    /// Its job.
    pub(super) job: JobFile,
}

impl DemandArgs {
    /// Returns the file of the book of the shop.
    pub(super) fn book(&self) -> Option<&Path> {
        self.book.as_deref()
    }

    /// Reads the drawing or job file `file`, overridden by the command line.
    pub(super) fn order(&self, file: &Path, reading: &ReadingArgs) -> Result<JobInput, Failure> {
        let (drawing, job) = if is_job_file(file) {
            read_job(file, reading.largest_file)?
        } else {
            (file.to_owned(), JobFile::default())
        };
        let job = self.job(job, reading)?;
        Ok(JobInput { drawing, job })
    }

    /// Returns the job, overridden by the command line.
    pub(super) fn job(&self, job: JobFile, reading: &ReadingArgs) -> Result<JobFile, Failure> {
        let job = reading.merge_into(
            self.running
                .merge_into(self.holding.merge_into(self.merge_into(job))),
        );
        job.validate()?;
        job.demands()?;
        Ok(job)
    }

    fn merge_into(&self, job: JobFile) -> JobFile {
        let mut job = JobFile {
            material: self.material.clone().or(job.material),
            thickness_mm: self.thickness.or(job.thickness_mm),
            wire_mm: self.wire.or(job.wire_mm),
            wire_kind: self.wire_kind.clone().or(job.wire_kind),
            machine: self.machine.clone().or(job.machine),
            nozzles: self.nozzles.or(job.nozzles),
            prefer: self.prefer.or(job.prefer),
            quantity: self.quantity.or(job.quantity),
            pieces_per_load: self.pieces_per_load.or(job.pieces_per_load),
            pickup_mm: self.pickup.or(job.pickup_mm),
            offset: self.offset.or(job.offset),
            room_swing_k: self.room_swing.or(job.room_swing_k),
            taper_deg: self.taper.or(job.taper_deg),
            land_mm: self.land.or(job.land_mm),
            finish: self.finish.clone().or(job.finish),
            tolerance: self.tolerance.clone().or(job.tolerance),
            passes: self.passes.or(job.passes),
            inside_radius_mm: self.inside_radius.or(job.inside_radius_mm),
            clearance_mm: self.clearance.or(job.clearance_mm),
            aim_mm: self.aim.or(job.aim_mm),
            ..job
        };
        for (scope, part) in &self.demand {
            let held = match scope {
                DemandScope::Layer(name) => job.layers.entry(name.clone()),
                DemandScope::Contour(number) => job.contours.entry(number.to_string()),
            };
            let held = held.or_default();
            *held = JobPart {
                finish: part.finish.clone().or(held.finish.take()),
                tolerance: part.tolerance.clone().or(held.tolerance.take()),
                passes: part.passes.or(held.passes),
                inside_radius_mm: part.inside_radius_mm.or(held.inside_radius_mm),
                clearance_mm: part.clearance_mm.or(held.clearance_mm),
                aim_mm: part.aim_mm.or(held.aim_mm),
                ..held.clone()
            };
        }
        job
    }
}

/// Whether a file of this name holds a job.
pub(super) fn is_job_file(file: &Path) -> bool {
    let extension = file.extension();
    extension.is_some_and(|extension| extension.eq_ignore_ascii_case("toml"))
}

/// Reads a job file and the path of its drawing, which is relative to it.
pub(super) fn read_job(file: &Path, largest_mb: u64) -> Result<(PathBuf, JobFile), Failure> {
    let text = file_text(file, largest_mb).map_err(|source| Failure::Input {
        file: file.into(),
        source,
    })?;
    let job = JobFile::parse(&text).map_err(|source| Failure::Job {
        file: file.into(),
        source,
    })?;
    let drawing = job
        .drawing
        .as_ref()
        .ok_or_else(|| Failure::NoDrawing { file: file.into() })?;
    let folder = file.parent().unwrap_or(Path::new(""));
    Ok((folder.join(drawing), job))
}

fn kelvin(text: &str) -> Result<f64, String> {
    let kelvin = text.parse().ok().filter(|k: &f64| k.is_finite() && *k > 0.0);
    kelvin.ok_or_else(|| "it is a number of kelvins above 0, such as 3".into())
}

/// Reads `layer DIE=finish N5; tolerance 25H7`. A name may hold an equals sign: the demand begins after the first one
/// that a word of a demand follows.
fn scoped(text: &str) -> Result<(DemandScope, JobPart), String> {
    let mut signs = text.match_indices('=');
    let (at, _) = signs
        .find(|(at, _)| clause(text[at + 1..].split(';').next().unwrap_or_default()).is_ok())
        .ok_or("write it as `layer NAME=finish N5; tolerance 25H7` or `contour N=passes 1`")?;
    let scope = match text[..at].trim().split_once(' ') {
        Some(("layer", name)) if !name.trim().is_empty() => DemandScope::Layer(name.trim().into()),
        Some(("contour", number)) => DemandScope::Contour(
            number
                .trim()
                .parse()
                .map_err(|_| "a contour is named by its number, as `inspect` prints it")?,
        ),
        _ => return Err("a demand is on `layer NAME` or on `contour N`".into()),
    };
    let mut part = JobPart::default();
    for words in text[at + 1..].split(';') {
        let (word, value) = clause(words)?;
        match word {
            "finish" => part.finish = Some(value.into()),
            "tolerance" => part.tolerance = Some(value.into()),
            "passes" => {
                let passes = value.parse();
                part.passes = Some(passes.map_err(|_| format!("passes `{value}` is no number"))?);
            }
            "inside-radius" => part.inside_radius_mm = Some(length(value)?),
            "clearance" => part.clearance_mm = Some(length(value)?),
            _ => part.aim_mm = Some(signed(value)?),
        }
    }
    Ok((scope, part))
}

/// Splits a clause into the word of a demand and its value.
fn clause(text: &str) -> Result<(&str, &str), String> {
    const WORDS: [&str; 6] = [
        "finish",
        "tolerance",
        "passes",
        "inside-radius",
        "clearance",
        "aim",
    ];
    let (word, value) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
    if !WORDS.contains(&word) {
        return Err(format!(
            "`{word}` is no word of a demand; the words are {}",
            WORDS.join(", ")
        ));
    }
    match value.trim() {
        "" => Err(format!("the value after `{word}` is missing")),
        value => Ok((word, value)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_demand_on_a_layer_or_contour_is_read() {
        let (scope, part) =
            scoped("layer a=b=finish Ra=0.4; tolerance +0.02/-0.01;aim -0.003").expect("a demand");
        assert_eq!(scope, DemandScope::Layer("a=b".into()));
        assert_eq!(part.finish.as_deref(), Some("Ra=0.4"));
        assert_eq!(part.tolerance.as_deref(), Some("+0.02/-0.01"));
        assert_eq!(part.aim_mm, Some(-0.003));
        let (scope, part) = scoped("contour 3=passes 1").expect("a demand");
        assert_eq!((scope, part.passes), (DemandScope::Contour(3), Some(1)));
        for wrong in [
            "",
            "DIE=finish N5",
            "layer =finish N5",
            "contour x=passes 1",
            "layer A=",
            "layer A=finish",
            "layer A=passes two",
            "layer A=finish N5; colour red",
            "layer A=clearance -1",
        ] {
            assert!(scoped(wrong).is_err(), "{wrong}");
        }
    }
}

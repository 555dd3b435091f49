//! Reads the job from the command line and a job file; the command line comes first.

use std::path::{Path, PathBuf};

use clap::{Args, ValueHint};

use super::Failure;
use super::input::file_text;
use super::job_keys::{GivenKeys, KeyOptions, heading};
use super::reading::ReadingArgs;
use super::starts::StartArgs;
use crate::job::{JobFile, JobPart, Key, KeyGroup};

/// What is asked of the cut.
#[derive(Debug, Args)]
pub(super) struct DemandArgs {
    #[command(flatten)]
    keys: KeyOptions<false>,

    /// What is asked of a layer or contour, such as `layer DIE=finish N5; tolerance 25H7` or `contour 3=passes 1`
    #[arg(long, value_name = "SCOPE=DEMAND", value_parser = scoped, value_hint = ValueHint::Other, help_heading = heading(KeyGroup::Job))]
    demand: Vec<(DemandScope, GivenKeys<JobPart>)>,

    /// The shop's own book, laid over the built-in one
    #[arg(short, long, value_name = "FILE", value_hint = ValueHint::FilePath, help_heading = heading(KeyGroup::Shop))]
    book: Option<PathBuf>,

    #[command(flatten)]
    starts: StartArgs,
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
        let mut job = reading.merge_into(self.starts.merge_into(self.keys.merge_into(job)));
        for (scope, part) in &self.demand {
            let held = match scope {
                DemandScope::Layer(name) => job.layers.entry(name.clone()),
                DemandScope::Contour(number) => job.contours.entry(number.to_string()),
            };
            part.merge_into(held.or_default());
        }
        let sound = job.validate().and_then(|()| job.demands());
        sound.map_err(|error| match Failure::from(error) {
            Failure::Asked { error, .. } => {
                let key = error.field().unwrap_or_default();
                let option = self.keys.option_of(key).or_else(|| reading.option_of(key));
                Failure::Asked { error, option }
            }
            other => other,
        })?;
        Ok(job)
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

/// Reads `layer DIE=finish N5; tolerance 25H7`. A name may hold an equals sign: the demand begins after the first one
/// that a word of a demand follows.
fn scoped(text: &str) -> Result<(DemandScope, GivenKeys<JobPart>), String> {
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
    let clauses = text[at + 1..].split(';').map(clause).collect::<Result<_, _>>()?;
    Ok((scope, GivenKeys(clauses)))
}

/// Splits a clause into the key of a demand and its value.
fn clause(text: &str) -> Result<(&'static Key<JobPart>, String), String> {
    let (word, value) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
    let Some(key) = JobPart::KEYS.iter().find(|key| key.option == word) else {
        let words: Vec<&str> = JobPart::KEYS.iter().map(|key| key.option).collect();
        return Err(format!(
            "`{word}` is no word of a demand; the words are {}",
            words.join(", ")
        ));
    };
    match value.trim() {
        "" => Err(format!("the value after `{word}` is missing")),
        value => match key.set(&mut JobPart::default(), value) {
            Ok(()) => Ok((key, value.to_owned())),
            Err(reason) => Err(format!("{word} `{value}`: {reason}")),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_demand_on_a_layer_or_contour_is_read() {
        let read = |text| {
            scoped(text).map(|(scope, keys)| {
                let mut part = JobPart::default();
                keys.merge_into(&mut part);
                (scope, part)
            })
        };
        let (scope, part) =
            read("layer a=b=finish Ra=0.4; tolerance +0.02/-0.01;aim -0.003").expect("a demand");
        assert_eq!(scope, DemandScope::Layer("a=b".into()));
        assert_eq!(part.finish.as_deref(), Some("Ra=0.4"));
        assert_eq!(part.tolerance.as_deref(), Some("+0.02/-0.01"));
        assert_eq!(part.aim_mm, Some(-0.003));
        let (scope, part) = read("contour 3=passes 1").expect("a demand");
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

//! The whole pipeline as one call, no files and no terminal.

mod asked;
mod outline;
mod candidate;
mod choice;
#[cfg(test)]
mod choice_tests;
#[cfg(test)]
mod outline_tests;

use thiserror::Error;

use crate::check::{self, Stage, Subject};
use crate::contour::{self, Contours};
use crate::drawing::{self, Drawing};
use crate::dxf;
use crate::estimate::{self, Cut, CutGroup, PassLength};
use crate::finding::Finding;
use crate::job::{Reading, Use, Uses};
use crate::pass::{self, Ask, CornerRun, Group, Schedule};
use crate::path::{self, Paths};
use crate::shop::Book;

pub use asked::{Asked, Blank, mass_kg, obstacles, with_default};
pub use candidate::{Candidate, Means, Question, weigh};
pub use choice::{Open, choose, compare, fewest_passes};
pub use outline::{Outline, Sorted, sort_out};

/// Why nothing could be planned.
#[derive(Debug, Error)]
pub enum Error {
    /// The file cannot be read.
    #[error(transparent)]
    Dxf(#[from] dxf::Error),
    /// What it holds cannot be placed.
    #[error(transparent)]
    Drawing(#[from] drawing::Error),
    /// The book has no passes for what is asked.
    #[error(transparent)]
    Pass(#[from] pass::Error),
}

/// A drawing, read, measured and checked.
#[derive(Debug)]
pub struct Inspection {
    /// Base name of the file.
    pub file: String,
    /// The drawing.
    pub drawing: Drawing,
    /// Its contours.
    pub contours: Contours,
    /// What the checks found, worst first.
    pub findings: Vec<Finding>,
    /// What was taken for granted, in words.
    pub assumptions: Vec<String>,
}

/// The offset cutting plan of one drawing.
#[derive(Debug)]
pub struct Plan {
    /// The drawing and what all checks found, those of the paths too.
    pub inspection: Inspection,
    /// What was asked.
    pub ask: Ask,
    /// The passes, and how each of their figures came about.
    pub schedule: Schedule,
    /// Which contours are cut with which passes.
    pub groups: Vec<Group>,
    /// The wire-centre paths.
    pub paths: Paths,
    /// Minutes, area and wire.
    pub cut: Cut,
}

/// Reads, measures and checks a drawing. `file` is the base name that the outputs show.
pub fn inspect(file: &str, bytes: &[u8], reading: &Reading, uses: &Uses) -> Result<Inspection, Error> {
    let mut inspection = read(file, bytes, reading, uses)?;
    inspection.findings = check::run(&inspection.subject(None), Stage::Contour);
    Ok(inspection)
}

/// Plans every contour to be cut with the passes that `ask` names.
pub fn plan(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Uses,
    book: &Book,
    ask: &Ask,
) -> Result<Plan, Error> {
    // What is asked is looked up first: a wrong word should not wait for a large drawing.
    let schedule = pass::schedule(book, ask)?;
    let mut inspection = read(file, bytes, reading, uses)?;
    let groups = vec![Group {
        group: 1,
        contours: inspection.to_cut(),
        passes: schedule.passes.clone(),
        tolerance_mm: None,
        corners: CornerRun::default(),
    }];
    let paths = path::wire_paths(&inspection.contours, &groups);
    let wire = ask.setting(book)?.wire;
    let cut_group = CutGroup {
        group: 1,
        schedule: &schedule,
    };
    let lengths = path_lengths(&groups, &paths);
    let cut = estimate::cut(book, wire, ask.thickness_mm, &[cut_group], &lengths);
    inspection.findings = check::run(&inspection.subject(Some(&paths)), Stage::Path);
    Ok(Plan {
        inspection,
        ask: ask.clone(),
        schedule,
        groups,
        paths,
        cut,
    })
}

impl Inspection {
    /// Numbers of the contours to be cut.
    pub fn to_cut(&self) -> Vec<usize> {
        let cut = self.contours.list.iter().filter(|c| c.purpose == Use::Cut);
        cut.map(|c| c.id).collect()
    }

    fn subject<'a>(&'a self, paths: Option<&'a Paths>) -> Subject<'a> {
        Subject {
            drawing: &self.drawing,
            contours: &self.contours,
            paths,
        }
    }
}

fn read(file: &str, bytes: &[u8], reading: &Reading, uses: &Uses) -> Result<Inspection, Error> {
    let drawing = drawing::from_document(&dxf::read(bytes)?, reading)?;
    let contours = contour::build(&drawing, reading, uses);
    let assumptions = contours.assumptions.clone();
    Ok(Inspection {
        file: file.to_owned(),
        drawing,
        contours,
        findings: Vec::new(),
        assumptions,
    })
}

/// The length of each pass of each group; `None` where a path of it was refused.
fn path_lengths(groups: &[Group], paths: &Paths) -> Vec<PassLength> {
    let length = |group: &Group, pass: usize| {
        let refused = |r: &path::Refusal| r.pass == pass && group.contours.contains(&r.contour);
        let of_pass = |l: &&path::WireLoop| (l.group, l.pass) == (group.group, pass);
        let sum = || paths.loops.iter().filter(of_pass).map(|l| l.length_mm).sum();
        (!paths.refusals.iter().any(refused)).then(sum)
    };
    groups
        .iter()
        .flat_map(|group| group.passes.iter().map(move |pass| (group, pass.pass)))
        .map(|(group, pass)| PassLength {
            group: group.group,
            pass,
            path_length_mm: length(group, pass),
        })
        .collect()
}

//! The base of every estimate: length × thickness / area rate, pass by pass.

use crate::id::{GroupId, PassNo};
use crate::pass::{PassTrace, Schedule};
use crate::shop::{Figure, Term};
use crate::units::Band;

/// Length of the wire-centre path of one pass of one demand group.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct PassLength {
    /// Demand group.
    pub group: GroupId,
    /// Pass, from 1.
    pub pass: PassNo,
    /// All its paths together, mm; `None` when one of them was refused.
    pub path_length_mm: Option<f64>,
}

/// A demand group, its passes and what its wall is judged by.
#[derive(Clone, Copy, Debug)]
pub struct CutGroup<'a> {
    /// Demand group.
    pub group: GroupId,
    /// Its passes.
    pub schedule: &'a Schedule,
    /// Largest size in it, mm: heat moves it most.
    pub size_mm: f64,
    /// All of its walls are skimmed.
    pub skimmed: bool,
}

/// One pass of one demand group. Figures that would need a refused path are `None`.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct CutRow {
    /// Demand group.
    pub group: GroupId,
    /// Pass, from 1.
    pub pass: PassNo,
    /// Path length, mm.
    pub path_length_mm: Option<f64>,
    /// Path length × thickness, mm².
    pub cut_area_mm2: Option<f64>,
    /// Cut area / area rate, min.
    pub minutes: Option<Band>,
}

/// The cut as a whole. Totals are `None` when a pass has no length: never smaller than the truth. Minutes are `None` too where the
/// machine does not take the job.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Cut {
    /// One row a pass of each group.
    pub rows: Vec<CutRow>,
    /// Cut area of the rough passes, mm²: what is severed.
    pub rough_area_mm2: Option<f64>,
    /// Cut area of all passes, mm².
    pub pass_area_mm2: Option<f64>,
    /// All passes, min.
    pub minutes: Option<Figure>,
    /// Every figure with its terms, rows first.
    pub figures: Vec<Figure>,
}

impl Cut {
    /// This cut without its minutes in all: the machine does not take it.
    pub(super) fn without_totals(mut self) -> Self {
        let minutes = self.minutes.take();
        self.figures.retain(|figure| Some(figure) != minutes.as_ref());
        self
    }
}

/// Computes minutes and area of the cut.
pub fn cut(thickness_mm: f64, groups: &[CutGroup<'_>], lengths: &[PassLength]) -> Cut {
    let mut rows = Vec::new();
    let mut minutes = Vec::new();
    for group in groups {
        for (pass, trace) in PassNo::numbered(&group.schedule.traces) {
            let asked = |length: &&PassLength| (length.group, length.pass) == (group.group, pass);
            let path_length_mm = lengths
                .iter()
                .find(asked)
                .and_then(|length| length.path_length_mm);
            let figure = path_length_mm.map(|mm| pass_minutes(group.group, pass, trace, mm, thickness_mm));
            rows.push(CutRow {
                group: group.group,
                pass,
                path_length_mm,
                cut_area_mm2: path_length_mm.map(|mm| mm * thickness_mm),
                minutes: figure.as_ref().map(|figure| figure.value),
            });
            minutes.push(figure);
        }
    }
    let rough = rows
        .iter()
        .filter(|row| row.pass.is_rough())
        .map(|row| row.cut_area_mm2);
    let rough_area_mm2 = rough.sum::<Option<f64>>();
    let pass_area_mm2 = rows.iter().map(|row| row.cut_area_mm2).sum::<Option<f64>>();
    let mut figures: Vec<Figure> = minutes.iter().flatten().cloned().collect();
    figures.extend(rough_area_mm2.map(|_| {
        area(
            "cut area, rough",
            &rows[..],
            |row| row.pass.is_rough(),
            thickness_mm,
        )
    }));
    figures.extend(pass_area_mm2.map(|_| area("cut area, all passes", &rows[..], |_| true, thickness_mm)));
    let all: Option<Vec<Figure>> = minutes.into_iter().collect();
    let minutes = all.map(|all| total("cutting minutes", "min", &all));
    figures.extend(minutes.clone());
    Cut {
        rows,
        rough_area_mm2,
        pass_area_mm2,
        minutes,
        figures,
    }
}

/// Computes the area of these rows, whose lengths are all known.
fn area(name: &str, rows: &[CutRow], counts: fn(&CutRow) -> bool, thickness_mm: f64) -> Figure {
    let counted = || rows.iter().filter(|row| counts(row));
    let lengths = counted().filter_map(|row| {
        let name = format!("path length of pass {}, group {}", row.pass, row.group);
        Some(Term::given(
            name,
            row.path_length_mm?,
            "mm",
            "measured on the path",
        ))
    });
    let thickness = Term::given("thickness", thickness_mm, "mm", "given");
    Figure::new(
        name,
        Band::exact(counted().filter_map(|row| row.cut_area_mm2).sum()),
        "mm²",
        "sum of the path lengths × thickness",
        lengths.chain([thickness]).collect(),
    )
}

fn pass_minutes(
    group: GroupId,
    pass: PassNo,
    trace: &PassTrace,
    path_length_mm: f64,
    thickness_mm: f64,
) -> Figure {
    Figure::new(
        format!("minutes of pass {pass}, group {group}"),
        trace.rate.value.divide(path_length_mm * thickness_mm),
        "min",
        "path length × thickness / area rate",
        vec![
            Term::given(
                format!("path length of pass {pass}"),
                path_length_mm,
                "mm",
                "measured on the path",
            ),
            Term::given("thickness", thickness_mm, "mm", "given"),
            trace.rate.term(),
        ],
    )
}

/// Computes the sum of figures, end by end: what makes one of them slow is likely to make the others slow too.
pub(super) fn total(name: &str, unit: &'static str, figures: &[Figure]) -> Figure {
    let value = Band::sum(figures.iter().map(|figure| figure.value));
    Figure::new(
        name,
        value,
        unit,
        "sum of its terms",
        figures.iter().map(Figure::term).collect(),
    )
}

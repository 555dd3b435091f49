//! A plan for what the print demands: wire, machine and passes are chosen, then offset and verified.

use super::candidate::Candidate;
use super::choice::{Open, choose};
use super::{Error, Job, Part, Plan, assemble, read};
use crate::estimate::{OffsetIs, Order};
use crate::job::{Demands, Nozzles, Prefer, Reading, Scope, Uses};
use crate::pass::{self, Ask};
use crate::shop::Book;

/// What is wanted of a drawing.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Name or alias of the material.
    pub material: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// What the print demands.
    pub demands: Demands,
    /// What may be chosen from.
    pub open: Open,
    /// What decides between plans that reach what is asked.
    pub prefer: Prefer,
    /// How the nozzles sit.
    pub nozzles: Nozzles,
    /// What is ordered.
    pub order: Order,
    /// Distance from the farthest feature to its pick-up, mm; the diagonal of the cut when `None`.
    pub pickup_mm: Option<f64>,
    /// How well the offset is known.
    pub offset_is: OffsetIs,
    /// A taper or a land is asked for.
    pub tapered: bool,
}

impl Wanted {
    /// The book's usual demand, everything left open.
    pub fn new(material: impl Into<String>, thickness_mm: f64) -> Self {
        Self {
            material: material.into(),
            thickness_mm,
            demands: Demands::default(),
            open: Open::default(),
            prefer: Prefer::default(),
            nozzles: Nozzles::default(),
            order: Order::default(),
            pickup_mm: None,
            offset_is: OffsetIs::default(),
            tapered: false,
        }
    }
}

/// Reads a drawing, chooses wire, machine and passes, and plans every contour to be cut. Where nothing in the book
/// reaches what is asked the nearest is planned, and the assumptions say what is missing.
pub fn plan_wanted(
    file: &str,
    bytes: &[u8],
    reading: &Reading,
    uses: &Uses,
    book: &Book,
    wanted: &Wanted,
) -> Result<Plan, Error> {
    // What is asked is looked up first: a wrong word should not wait for a large drawing.
    let material = book.material(&wanted.material).map_err(pass::Error::from)?;
    if !(wanted.thickness_mm.is_finite() && wanted.thickness_mm > 0.0) {
        return Err(pass::Error::Thickness(wanted.thickness_mm).into());
    }
    book.machine(wanted.open.machine.as_deref())
        .map_err(pass::Error::from)?;
    if let Some(wire_mm) = wanted.open.wire_mm {
        let kind = wanted.open.wire_kind.as_deref().unwrap_or(&book.wire.kind);
        book.wire(wire_mm, kind).map_err(pass::Error::from)?;
    }
    let mut inspection = read(file, bytes, reading, uses, book)?;
    let sorted = inspection.sort_out(&wanted.demands, book)?;
    let mut question = sorted.question(book, material, wanted.thickness_mm, wanted.nozzles, wanted.order);
    question.pickup_mm = wanted.pickup_mm.unwrap_or(question.pickup_mm);
    question.blank.tapered = wanted.tapered;
    question.offset_is = wanted.offset_is;
    let candidates = choose(&question, &wanted.open, wanted.prefer);
    let taken = candidates
        .first()
        .filter(|first| first.possible)
        .ok_or_else(|| Error::Impossible {
            reasons: candidates
                .first()
                .map_or_else(Vec::new, |first| first.reasons.clone()),
        })?;
    inspection.assumptions.extend(sorted.assumptions.iter().cloned());
    inspection.assumptions.extend(said_of(taken));
    let parts: Result<Vec<Part>, Error> = sorted
        .outlines
        .iter()
        .zip(&taken.passes_by_group)
        .map(|(outline, passes)| {
            let ask = Ask {
                material: material.name.clone(),
                thickness_mm: wanted.thickness_mm,
                wire_mm: taken.wire_mm,
                wire_kind: Some(taken.wire_kind.clone()),
                passes: *passes,
                aim_mm: outline.asked.aim_mm,
                nozzles: wanted.nozzles,
                machine: Some(taken.machine.clone()),
            };
            Ok(Part {
                schedule: pass::schedule(book, &ask)?,
                ask,
                contours: outline.contours.clone(),
                tolerance_mm: outline.asked.limits.map(|(limits, scope)| match scope {
                    // A size has two walls.
                    Scope::OnSize => limits.half_width_mm() / 2.0,
                    Scope::PerSide => limits.half_width_mm(),
                }),
                size_mm: outline.size_mm,
            })
        })
        .collect();
    let job = Job {
        work: sorted.work.clone(),
        order: wanted.order,
        pickup_mm: question.pickup_mm,
        offset_is: wanted.offset_is,
    };
    let mut parts = parts?.into_iter();
    let first = parts.next().ok_or_else(|| Error::Impossible {
        reasons: vec!["nothing is to be cut".to_owned()],
    })?;
    assemble(inspection, book, first, parts.collect(), job, candidates)
}

/// What has to be said of a candidate at the top of every output.
fn said_of(taken: &Candidate) -> Vec<String> {
    let means = format!(
        "{} wire of {} mm on machine {}",
        taken.wire_kind, taken.wire_mm, taken.machine
    );
    if taken.feasible {
        return vec![format!("chosen: {means}, {} passes at most", taken.passes)];
    }
    let mut said = vec![format!(
        "nothing in the book reaches what is asked; planned is the nearest, {means}"
    )];
    said.extend(
        taken
            .reasons
            .iter()
            .map(|reason| format!("not reached: {reason}")),
    );
    said
}

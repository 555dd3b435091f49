//! A plan for what the print demands: wire, machine and passes are chosen, then offset and verified.

use super::candidate::{Candidate, Means, Question, weigh};
use super::choice::{Open, choose};
use super::outline::Sorted;
use super::{Error, Job, Part, Plan, Terms, assemble, read};
use crate::estimate::{OffsetIs, Order};
use crate::job::{Demands, Holding, Nozzles, Patience, Prefer, Reading, Uses};
use crate::pass::{self, Ask};
use crate::shop::{Book, Material};

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
    /// How the work is held, and what is asked of the pieces.
    pub holding: Holding,
    /// How long it is waited for.
    pub patience: Patience,
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
            holding: Holding::default(),
            patience: Patience::default(),
        }
    }
}

impl Wanted {
    /// The material; an error where the book has it, the machine or the wire not.
    pub(super) fn look_up<'b>(&self, book: &'b Book) -> Result<&'b Material, pass::Error> {
        let material = book.material(&self.material)?;
        if !(self.thickness_mm.is_finite() && self.thickness_mm > 0.0) {
            return Err(pass::Error::Thickness(self.thickness_mm));
        }
        book.machine(self.open.machine.as_deref())?;
        if let Some(wire_mm) = self.open.wire_mm {
            let kind = self.open.wire_kind.as_deref().unwrap_or(&book.wire.kind);
            book.wire(wire_mm, kind)?;
        }
        Ok(material)
    }

    /// What is to be weighed for contours that are sorted.
    pub(super) fn question<'b>(
        &self,
        sorted: &Sorted,
        book: &'b Book,
        material: &'b Material,
    ) -> Question<'b> {
        let mut question = sorted.question(book, material, self.thickness_mm, self.nozzles, self.order);
        question.pickup_mm = self.pickup_mm.unwrap_or(question.pickup_mm);
        question.blank.tapered = self.tapered;
        question.offset_is = self.offset_is;
        question
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
    let material = wanted.look_up(book)?;
    let mut inspection = read(file, bytes, reading, uses, book)?;
    let sorted = inspection.sort_out(&wanted.demands, book)?;
    let question = wanted.question(&sorted, book, material);
    let mut candidates = choose(&question, &wanted.open, wanted.prefer);
    let fewer = candidates
        .first()
        .map(|first| with_fewer_passes(&question, first));
    candidates.extend(fewer.unwrap_or_default());
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
                asked: outline.asked.clone(),
                size_mm: outline.size_mm,
            })
        })
        .collect();
    let job = Job {
        work: sorted.work.clone(),
        order: wanted.order,
        pickup_mm: question.pickup_mm,
        offset_is: wanted.offset_is,
        terms: Terms {
            patience: wanted.patience.clone(),
            holding: wanted.holding.clone(),
        },
    };
    let mut parts = parts?.into_iter();
    let first = parts.next().ok_or_else(|| Error::Impossible {
        reasons: vec!["nothing is to be cut".to_owned()],
    })?;
    assemble(inspection, book, first, parts.collect(), job, candidates)
}

/// The same means with fewer passes, where their number is open: why not those.
fn with_fewer_passes(question: &Question<'_>, taken: &Candidate) -> Vec<Candidate> {
    let means = Means {
        wire_mm: taken.wire_mm,
        wire_kind: taken.wire_kind.clone(),
        machine: taken.machine.clone(),
    };
    let open: Vec<(usize, bool)> = taken
        .passes_by_group
        .iter()
        .zip(&question.outlines)
        .map(|(passes, outline)| (*passes, outline.asked.passes.is_none()))
        .collect();
    let most = open.iter().filter(|(_, open)| *open).map(|(passes, _)| *passes);
    (1..most.max().unwrap_or(1))
        .map(|n| {
            let passes = open
                .iter()
                .map(|(passes, open)| if *open { n.min(*passes) } else { *passes });
            weigh(question, &means, &passes.collect::<Vec<_>>())
        })
        .collect()
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

//! A drawing opened for what is wanted of it: read, its contours sorted by demand, the question put, and the choice
//! held against the real paths.

use super::candidate::{Candidate, Means, Question, weigh};
use super::choice::choose;
use super::outline::Sorted;
use super::wanted::Wanted;
use super::{Error, Inspection, Job, Part, Plan, Terms, assemble, read};
use crate::job::{Reading, Uses};
use crate::pass::{self, Ask};
use crate::path::Unreached;
use crate::shop::Book;
use crate::units::UM_PER_MM;

/// Candidates whose paths are computed at most, before the one that was expected to be best is planned with what it
/// misses.
const MOST_TRIES: usize = 4;

/// A drawing, sorted by what is wanted of it.
pub(super) struct Opened<'b> {
    pub(super) inspection: Inspection,
    pub(super) sorted: Sorted,
    pub(super) question: Question<'b>,
}

/// The contours of a drawing sorted by demand, and the question that they put.
pub(super) fn sort<'b>(
    inspection: &Inspection,
    book: &'b Book,
    wanted: &Wanted,
) -> Result<(Sorted, Question<'b>), Error> {
    let material = wanted.look_up(book)?;
    let mut sorted = inspection.sort_out(&wanted.demands, book)?;
    for outline in &mut sorted.outlines {
        outline.loose = inspection.loose_parts(&outline.contours, &wanted.holding);
        let loose = outline.loose.iter().map(|id| &inspection.contours.list[id - 1]);
        outline.loose_perimeter_mm = loose.map(|contour| contour.perimeter_mm).sum();
    }
    let question = wanted.question(&sorted, book, material);
    Ok((sorted, question))
}

impl<'b> Opened<'b> {
    pub(super) fn read(
        file: &str,
        bytes: &[u8],
        reading: &Reading,
        uses: &Uses,
        book: &'b Book,
        wanted: &Wanted,
    ) -> Result<Self, Error> {
        // What is asked is looked up first: a wrong word should not wait for a large drawing.
        wanted.look_up(book)?;
        let mut inspection = read(file, bytes, reading, uses, book)?;
        let (sorted, question) = sort(&inspection, book, wanted)?;
        if sorted.outlines.is_empty() {
            let reasons = vec!["nothing is to be cut".to_owned()];
            return Err(Error::Impossible { reasons });
        }
        inspection.assumptions.extend(sorted.assumptions.iter().cloned());
        Ok(Self {
            inspection,
            sorted,
            question,
        })
    }

    /// One candidate for each wire and machine that is left open, the one to take first.
    pub(super) fn choose(&self, wanted: &Wanted) -> Vec<Candidate> {
        let candidates = choose(&self.question, &wanted.open, wanted.prefer);
        log::debug!("{} combinations weighed", candidates.len());
        candidates
    }

    /// Plans the first candidate whose real paths keep what was expected of them; where none of those that are tried
    /// does, or none was expected to reach what is asked, the nearest, with what it misses.
    pub(super) fn plan(self, mut candidates: Vec<Candidate>, wanted: &Wanted) -> Result<Plan, Error> {
        let Self {
            mut inspection,
            sorted,
            question,
        } = self;
        let mut dropped: Vec<Candidate> = Vec::new();
        loop {
            let taken = candidates.first().filter(|first| first.possible);
            let taken = taken.ok_or_else(|| Error::Impossible {
                reasons: candidates
                    .first()
                    .map_or_else(Vec::new, |first| first.reasons.clone()),
            })?;
            let plan = laid_out(inspection, &sorted, &question, wanted, taken)?;
            let missed = if taken.feasible { missed(&plan) } else { Vec::new() };
            if missed.is_empty() {
                return Ok(told(plan, candidates, dropped, &question));
            }
            let short = candidates.remove(0).short_of(missed);
            if plan.paths.refusals.is_empty() {
                candidates = candidates
                    .into_iter()
                    .map(|other| no_nearer(other, &short))
                    .collect();
            }
            let mut next = candidates.iter().position(|candidate| candidate.feasible);
            if next.is_none()
                && let Some(more) = with_one_pass_more(&question, &short)
            {
                next = Some(candidates.len());
                candidates.push(more);
            }
            dropped.push(short);
            if let Some(next) = next.filter(|_| dropped.len() < MOST_TRIES) {
                let mut next = candidates.remove(next);
                next.chosen = true;
                candidates.insert(0, next);
            } else {
                candidates.insert(0, dropped.remove(0));
                if dropped.is_empty() {
                    return Ok(told(plan, candidates, dropped, &question));
                }
            }
            inspection = plan.inspection;
        }
    }
}

/// A candidate, held against one whose real paths do not reach far enough into a corner: a wire as thick with no more
/// passes reaches no farther.
fn no_nearer(candidate: Candidate, short: &Candidate) -> Candidate {
    let no_nearer = candidate.wire_mm >= short.wire_mm && candidate.passes <= short.passes;
    if !(candidate.feasible && no_nearer) {
        return candidate;
    }
    let why = format!("no nearer than {}, whose real path misses", means_in_words(short));
    candidate.short_of(vec![why])
}

/// The same means with one pass more where their number is open, if that is expected to reach what is asked: the last
/// offset is smaller then.
fn with_one_pass_more(question: &Question<'_>, short: &Candidate) -> Option<Candidate> {
    let most = question.book.most_passes();
    let passes: Vec<usize> = short
        .passes_by_group
        .iter()
        .zip(&question.outlines)
        .map(|(passes, outline)| passes + usize::from(outline.asked.passes.is_none() && *passes < most))
        .collect();
    let more = || weigh(question, &means_of(short), &passes);
    (passes != short.passes_by_group)
        .then(more)
        .filter(|more| more.feasible)
}

fn means_of(candidate: &Candidate) -> Means {
    Means {
        wire_mm: candidate.wire_mm,
        wire_kind: candidate.wire_kind.clone(),
        machine: candidate.machine.clone(),
    }
}

/// Offsets, checks and estimates a candidate.
fn laid_out(
    inspection: Inspection,
    sorted: &Sorted,
    question: &Question<'_>,
    wanted: &Wanted,
    taken: &Candidate,
) -> Result<Plan, Error> {
    let book = question.book;
    let part = |outline: &super::Outline, passes: usize| {
        let ask = Ask {
            material: question.material.to_owned(),
            thickness_mm: wanted.thickness_mm,
            wire_mm: taken.wire_mm,
            wire_kind: Some(taken.wire_kind.clone()),
            passes,
            aim_mm: outline.asked.aim_mm,
            nozzles: wanted.nozzles,
            machine: Some(taken.machine.clone()),
        };
        Ok::<Part, Error>(Part {
            schedule: pass::schedule(book, &ask)?,
            ask,
            contours: outline.contours.clone(),
            asked: outline.asked.clone(),
            size_mm: outline.size_mm,
        })
    };
    let parts: Result<Vec<Part>, Error> = sorted
        .outlines
        .iter()
        .zip(&taken.passes_by_group)
        .map(|(outline, passes)| part(outline, *passes))
        .collect();
    let job = Job {
        work: sorted.work.clone(),
        order: wanted.order,
        pickup_mm: question.pickup_mm,
        offset_is: wanted.offset_is,
        terms: Terms {
            patience: wanted.patience.clone(),
            holding: wanted.holding.clone(),
            running: wanted.running.clone(),
        },
    };
    let mut parts = parts?.into_iter();
    let first = parts.next().ok_or_else(|| Error::Impossible {
        reasons: vec!["nothing is to be cut".to_owned()],
    })?;
    assemble(inspection, book, first, parts.collect(), job, Vec::new())
}

/// What the real paths miss of what is asked; each in words.
fn missed(plan: &Plan) -> Vec<String> {
    let mut missed = Vec::new();
    // No other wire tells which side stays.
    let refusals = &plan.paths.refusals;
    if let Some(refusal) = refusals.iter().find(|refusal| !refusal.side_unclear) {
        missed.push(format!(
            "no path could be verified for pass {} of contour {} at ({:.3}, {:.3}): {}",
            refusal.pass, refusal.contour, refusal.at.x, refusal.at.y, refusal.reason
        ));
    }
    let beyond = |place: &&Unreached| place.tolerance_mm.is_some_and(|mm| place.deviation_mm > mm);
    let places = plan.paths.unreached.iter().filter(beyond);
    if let Some(worst) = places.max_by(|a, b| a.deviation_mm.total_cmp(&b.deviation_mm)) {
        missed.push(format!(
            "its real path leaves the wall {:.1} µm off the drawing at ({:.3}, {:.3}), ±{:.1} µm a side is asked",
            worst.deviation_mm * UM_PER_MM,
            worst.at.x,
            worst.at.y,
            worst.tolerance_mm.unwrap_or_default() * UM_PER_MM
        ));
    }
    missed
}

/// The plan with all that was weighed: the one taken, those whose paths failed, the others, and the same means with
/// fewer passes.
fn told(
    mut plan: Plan,
    candidates: Vec<Candidate>,
    dropped: Vec<Candidate>,
    question: &Question<'_>,
) -> Plan {
    let said = &mut plan.inspection.assumptions;
    let mut others = candidates.into_iter();
    if let Some(taken) = others.next() {
        said.extend(said_of(&taken));
        let tried = dropped.iter().map(|candidate| {
            format!(
                "tried before: {}; {}",
                means_in_words(candidate),
                candidate.reasons.join("; ")
            )
        });
        said.extend(tried);
        let fewer = with_fewer_passes(question, &taken);
        plan.candidates.push(taken);
        plan.candidates.extend(dropped);
        plan.candidates.extend(others);
        plan.candidates.extend(fewer);
    }
    plan
}

/// The same means with fewer passes, where their number is open: why not those.
fn with_fewer_passes(question: &Question<'_>, taken: &Candidate) -> Vec<Candidate> {
    let means = means_of(taken);
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
    let means = means_in_words(taken);
    if taken.feasible {
        let passes = match taken.passes_by_group[..] {
            [1] => "1 pass".to_owned(),
            [passes] => format!("{passes} passes"),
            ref several => {
                let several: Vec<String> = several.iter().map(usize::to_string).collect();
                format!("{} passes, by demand group", several.join(" and "))
            }
        };
        return vec![format!("chosen: {means}, {passes}")];
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

fn means_in_words(candidate: &Candidate) -> String {
    format!(
        "{} wire of {} mm on machine {}",
        candidate.wire_kind, candidate.wire_mm, candidate.machine
    )
}

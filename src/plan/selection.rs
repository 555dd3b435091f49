//! Selects wire, machine and passes for a drawing: groups its contours by demand, chooses, and checks the choice against
//! the real paths.

use super::auxiliary_work::blank_mm3;
use super::candidate::{Candidate, FigureBasis, evaluate};
use super::choice::mark_non_dominated;
use super::computed::JobContext;
use super::demand_group::DemandGroups;
use super::least_work::bound_groups;
use super::requirement::material_assumption;
use super::requirements::Requirements;
use super::selection_input::SelectionInput;
use super::weighing::{Choice, Weighing};
use super::{DrawingSource, Error, Inspection, Plan, read_untangled, shortfalls_in_words};
use crate::contour::Contour;
use crate::message::{Message, message};
use crate::process::{RawBlank, mass_on_table_kg};
use crate::shop::{Book, Material};
use crate::toolpath::without_path;

/// A drawing whose contours are grouped by requirement.
pub(super) struct Selection<'b> {
    pub(super) inspection: Inspection,
    pub(super) sorted: DemandGroups,
    pub(super) input: SelectionInput<'b>,
}

/// Groups the contours of a drawing by demand and makes the input of the choice.
pub(super) fn sort<'b>(
    inspection: &Inspection,
    book: &'b Book,
    material: &'b Material,
    requirements: &Requirements,
) -> Result<(DemandGroups, SelectionInput<'b>), Error> {
    let mut sorted = inspection.group_by_demand(&requirements.demands, book)?;
    for outline in &mut sorted.demand_groups {
        outline.loose = inspection.loose_parts(&outline.contours, &requirements.holding);
    }
    let mut input = input(requirements, &sorted, book, material);
    let blank = RawBlank::new(&inspection.contours, &requirements.holding, &book.rules.holding);
    let mass_kg = mass_on_table_kg(
        material,
        requirements.thickness_mm,
        blank.as_ref(),
        sorted.extent_mm,
    );
    input.blank.mass_kg = Some(mass_kg);
    input.work.blank_mm3 = blank.map(|blank| blank_mm3(&blank, requirements.thickness_mm));
    let setups = requirements.open.setup(book);
    let slug_of = |contour: &Contour| {
        let pieces = &requirements.holding.pieces;
        pieces
            .on(contour.id, inspection.layer_of(contour))
            .slug
            .unwrap_or_default()
    };
    bound_groups(&mut input, &inspection.contours, &setups, slug_of);
    Ok((sorted, input))
}

/// Gathers the input of the choice from the groups of a drawing and what is required of it.
fn input<'b>(
    requirements: &Requirements,
    sorted: &DemandGroups,
    book: &'b Book,
    material: &'b Material,
) -> SelectionInput<'b> {
    let Requirements {
        thickness_mm,
        nozzles,
        order,
        ..
    } = *requirements;
    let mut input = SelectionInput::new(
        sorted,
        book,
        material,
        thickness_mm,
        nozzles,
        order.of(sorted.parts.pieces()),
    );
    input.pickup_mm = requirements.pickup_mm.unwrap_or(input.pickup_mm);
    input.blank.tapered = requirements.tapered;
    input.offset_basis = requirements.offset_basis;
    input.room_swing_k = requirements.job.room_swing_k;
    input
}

impl<'b> Selection<'b> {
    pub(super) fn read(
        source: DrawingSource<'_>,
        book: &'b Book,
        requirements: &Requirements,
    ) -> Result<Self, Error> {
        // The requirements are looked up first: a wrong word should not wait for a large drawing.
        let material = requirements.look_up(book)?;
        let mut inspection = read_untangled(source, book)?;
        let (sorted, input) = sort(&inspection, book, material, requirements)?;
        if sorted.demand_groups.is_empty() {
            return Err(Error::nothing_to_cut());
        }
        let resolved = material_assumption(&requirements.material, material);
        inspection.assumptions.extend(resolved);
        inspection.assumptions.extend(sorted.assumptions.iter().cloned());
        Ok(Self {
            inspection,
            sorted,
            input,
        })
    }

    /// Chooses, and plans what is taken.
    pub(super) fn plan(self, requirements: &Requirements) -> Result<Plan, Error> {
        let mut weighing = Weighing::new(&self.inspection, &self.sorted, &self.input, requirements);
        let choice = weighing.choose()?;
        let context = weighing.into_context();
        Ok(self.finish(choice, context))
    }

    /// Makes the plan of what is taken, with all candidates: the one taken, those whose own paths miss, the others, and the same
    /// wire and machine with fewer passes.
    pub(super) fn finish(self, choice: Choice, context: JobContext) -> Plan {
        let Choice {
            taken,
            computed,
            missed,
            others,
        } = choice;
        let mut plan = computed.into_plan(self.inspection, self.input.book, context);
        let is_open = plan.inspection.questions.open().next().is_some();
        let said = &mut plan.inspection.assumptions;
        if is_open && !taken.feasible {
            let means = taken.wire_and_machine().message();
            said.push(message!(
                "until the questions are answered, planned with {}",
                means
            ));
        } else {
            said.extend(explain_choice(&taken));
            said.extend(missed.iter().map(|candidate| {
                message!(
                    "tried before: {}; {}",
                    candidate.wire_and_machine().message(),
                    shortfalls_in_words(&candidate.reasons)
                )
            }));
        }
        let fewer = with_fewer_passes(&self.input, &taken);
        let incomplete = without_path(&plan.inspection.contours, &plan.inspection.to_cut());
        let beside = missed.into_iter().chain(others).chain(fewer);
        plan.candidates = vec![taken];
        plan.candidates
            .extend(beside.map(|other| other.without_part_totals(&incomplete)));
        mark_non_dominated(&mut plan.candidates, |one| one.basis == FigureBasis::Computed);
        plan
    }
}

/// Evaluates the same wire and machine with fewer passes, where their number is open: why not those.
fn with_fewer_passes(input: &SelectionInput<'_>, taken: &Candidate) -> Vec<Candidate> {
    let means = taken.wire_and_machine();
    let open: Vec<(usize, bool)> = taken
        .passes_by_group
        .iter()
        .zip(&input.demand_groups)
        .map(|(passes, outline)| (*passes, outline.requirement.passes.is_none()))
        .collect();
    let most = open.iter().filter(|(_, open)| *open).map(|(passes, _)| *passes);
    (1..most.max().unwrap_or(1))
        .map(|n| {
            let passes = open
                .iter()
                .map(|(passes, open)| if *open { n.min(*passes) } else { *passes });
            evaluate(input, &means, &passes.collect::<Vec<_>>())
        })
        .collect()
}

/// Explains the choice of a candidate at the top of every output.
fn explain_choice(taken: &Candidate) -> Vec<Message> {
    let means = taken.wire_and_machine().message();
    if taken.feasible {
        let passes = match taken.passes_by_group[..] {
            [1] => "1 pass".to_owned(),
            [passes] => format!("{passes} passes"),
            ref several => {
                let several: Vec<String> = several.iter().map(usize::to_string).collect();
                format!("{} passes, by demand group", several.join(" and "))
            }
        };
        return vec![message!("chosen: {}, {}", means, passes)];
    }
    let mut said = vec![message!(
        "no wire and number of passes in the shop data reaches this; the nearest is planned: {}",
        means
    )];
    said.extend(
        taken
            .reasons
            .iter()
            .map(|reason| message!("not reached: {}", reason.message())),
    );
    said
}

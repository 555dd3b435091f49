//! Which sections stand in which output, and in which order.

use super::findings::Coverage;
use super::frames::{Section, SectionLayout, SectionPart, Tone};
use super::{
    accuracy, answer, candidates, contours, day, estimate, findings, holding, open_cuts, order, passes,
    questions, requirements, sources, traces,
};
use crate::check::Stage;
use crate::message::{message, mm};
use crate::plan::{Alternatives, Comparison, Day, Inspection, Plan};
use crate::report::cautions::{cautions_in_short, cautions_of};

/// The pictures of a job sheet, as SVG.
pub(in crate::report) struct SheetPictures {
    /// The part with its starts, tabs and order.
    pub(in crate::report) part: String,
    pub(in crate::report) working_day: Option<String>,
}

/// What a job sheet has in full beside the usual.
pub(in crate::report) struct FullSheet<'a> {
    pub(in crate::report) alternatives: &'a Alternatives,
    /// What was compared, as a picture.
    pub(in crate::report) trade_off: Option<String>,
    /// The accuracy budget of each demand group, as a picture.
    pub(in crate::report) budgets: Vec<Option<String>>,
}

/// Returns an inspected drawing.
pub(in crate::report) fn inspected(inspection: &Inspection, coverage: Coverage) -> Vec<Section> {
    let mut sections = vec![contours::head(inspection)];
    if coverage == Coverage::Head {
        return sections;
    }
    sections.extend([
        contours::reading(inspection),
        questions::section(inspection),
        contours::assumed(inspection),
        contours::contours(inspection),
    ]);
    sections.extend(contours::totals(inspection));
    sections.push(findings::section(inspection, Stage::Contour, coverage));
    sections
}

/// Returns a plan, the answer first; in full, from the drawing to the findings.
pub(in crate::report) fn planned(plan: &Plan, coverage: Coverage) -> Vec<Section> {
    let mut sections = vec![answer::head(plan), in_short(plan)];
    match coverage {
        Coverage::Head => {}
        Coverage::Usual => sections.extend(at_the_machine(plan)),
        Coverage::Full => sections.extend(sections_in_full(plan, Coverage::Full)),
    }
    sections
}

/// Returns a plan for the page.
pub(in crate::report) fn on_page(plan: &Plan) -> Vec<Section> {
    let mut sections = vec![answer::head(plan), in_short(plan)];
    sections.extend(sections_in_full(plan, Coverage::Usual));
    sections
}

/// What the page shows of a plan at once: the answer, and what has to be looked at.
pub(in crate::report) fn first_on_page(plan: &Plan) -> Vec<Section> {
    let inspection = &plan.inspection;
    let mut sections = vec![answer::head(plan), contours::assumed(inspection)];
    sections.extend(contours::totals(inspection));
    sections.push(findings::section(inspection, Stage::Path, Coverage::Usual));
    sections
}

/// What is needed at the machine, and what has to be looked at.
fn at_the_machine(plan: &Plan) -> Vec<Section> {
    let inspection = &plan.inspection;
    vec![
        questions::section(inspection),
        contours::assumed(inspection),
        passes::section(plan),
        passes::without_path(plan),
        open_cuts::section(plan),
        order::drops(plan),
        order::order(plan, &plan.order_rows()),
        candidates::what_helps(plan),
        findings::section(inspection, Stage::Path, Coverage::Usual),
    ]
}

/// Everything, findings as far as `findings` says.
fn sections_in_full(plan: &Plan, findings: Coverage) -> Vec<Section> {
    let inspection = &plan.inspection;
    let rows = plan.order_rows();
    let mut sections = vec![
        questions::section(inspection),
        contours::assumed(inspection),
        contours::contours(inspection),
    ];
    sections.extend(contours::totals(inspection));
    sections.extend([
        requirements::section(plan),
        passes::section(plan),
        passes::without_path(plan),
        open_cuts::section(plan),
        passes::unreached(plan),
        order::drops(plan),
        order::starts(plan),
        order::order(plan, &rows),
    ]);
    sections.extend(candidates::weighed(plan));
    sections.extend(estimate::sections(plan));
    sections.extend(accuracy::sections(plan, Vec::new()));
    sections.push(candidates::what_helps(plan));
    sections.push(findings::section(inspection, Stage::Path, findings));
    sections
}

/// Returns a plan for the job sheet: a page that stands alone at the machine, one with the order of cutting, the drawing sheet, and what
/// the office needs; in full, also what it was chosen from and every number of the book.
pub(in crate::report) fn job_sheet(
    plan: &Plan,
    day: Option<&Day>,
    pictures: SheetPictures,
    full: Option<FullSheet<'_>>,
) -> Vec<Section> {
    let inspection = &plan.inspection;
    let mut sections = vec![
        answer::head(plan),
        in_short(plan),
        record(),
        holding::section(plan, pictures.part),
        order::drops(plan),
        passes::section(plan),
        passes::without_path(plan),
        open_cuts::section(plan),
        questions::section(inspection),
        order::order(plan, &plan.order_rows()).layout(SectionLayout::PageTop),
        order::starts_beyond_set_up(plan),
        day::section(plan, day, pictures.working_day),
        findings::section(inspection, Stage::Path, Coverage::Usual),
        contours::assumed(inspection),
        in_full(plan),
        Section::new("sheet", "drawing sheet")
            .layout(SectionLayout::Across)
            .with(SectionPart::DrawingSheet),
    ];
    let (budgets, beside) = full.map_or_else(Default::default, |full| {
        let beside = candidates::beside(plan, full.alternatives, full.trade_off);
        (full.budgets, Some(beside))
    });
    let mut office = vec![requirements::section(plan)];
    office.extend(estimate::sections(plan));
    office.extend(accuracy::sections(plan, budgets));
    office.extend([
        candidates::what_helps(plan),
        passes::unreached(plan),
        sources::in_short(plan),
    ]);
    sections.extend(
        office
            .into_iter()
            .map(|section| section.layout(SectionLayout::Office)),
    );
    if let Some(beside) = beside {
        sections.extend([
            contours::contours(inspection),
            order::starts(plan),
            beside,
            sources::section(plan),
            traces::folded(plan),
        ]);
    }
    sections
}

/// What is written in by hand.
fn record() -> Section {
    let names = ["order number", "revision", "date", "operator", "notes"];
    Section::new("record", "record").with(SectionPart::Blanks(names.map(Into::into).to_vec()))
}

/// Returns a comparison.
pub(in crate::report) fn compared(comparison: &Comparison) -> Vec<Section> {
    let inspection = &comparison.inspection;
    let head = Section::new("drawing", inspection.file.as_str())
        .note(message!(
            "{}, {} thick",
            comparison.material,
            mm(comparison.thickness_mm).at_most(4)
        ))
        .words(Tone::Plain, contours::sides(inspection));
    let mut sections = vec![
        head,
        questions::section(inspection),
        contours::assumed(inspection),
    ];
    sections.extend(candidates::compared(comparison));
    sections
}

/// Returns every figure of a plan with its formula, terms, source and basis.
pub(in crate::report) fn figures_traced(plan: &Plan) -> Vec<Section> {
    let section = Section::new("traces", "figures").words(Tone::Alarm, requirements::no_totals(plan));
    vec![traces::parts(plan).into_iter().fold(section, Section::with)]
}

/// The cautions in short, where the work begins.
fn in_short(plan: &Plan) -> Section {
    Section::new("caution", "caution").words(Tone::Strong, cautions_in_short(plan).join(" "))
}

/// What can hurt in this job, and what the sheet does not promise.
fn in_full(plan: &Plan) -> Section {
    let items = cautions_of(plan).into_iter().map(Into::into);
    Section::new("cautions", "cautions in full").with(SectionPart::List(items.collect()))
}

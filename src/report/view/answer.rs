//! The answer first: whether it can be cut, how, how long it takes, what it costs, and what has to be looked at.

use super::frames::{Pair, Section, SectionPart};
use crate::check::{self, FindingGroup};
use crate::contour::Role;
use crate::finding::Severity;
use crate::job::Purpose;
use crate::message::number::counted;
use crate::message::{Message, message, minutes, mm, of_unit, roughness_um, um_of_mm};
use crate::plan::{GroupPlan, Inspection, Plan};
use crate::report::sides::SideSources;
use crate::report::words::{self, place};

/// What a plan comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub(in crate::report) enum AnswerState {
    /// Something that is to be cut has no path, or a check found an error.
    CannotBeCutAsDrawn,
    /// A question is open.
    SettleFirst,
    /// A check warns, the first reading of a question is taken, or the requirement is not expected to be reached.
    LookFirst,
    /// No check found a flaw.
    NothingFound,
}

/// The state of a plan and what it comes to, a line each.
pub(in crate::report) struct Answer {
    pub(in crate::report) state: AnswerState,
    pub(in crate::report) lines: Vec<Pair>,
}

/// Most findings that stand in the head.
const WORST: usize = 3;

/// Returns the head of a plan: at most twelve lines.
pub(in crate::report) fn answer(plan: &Plan) -> Answer {
    let inspection = &plan.inspection;
    let flaws = flaws(inspection);
    let state = state(plan, &flaws);
    let mut lines = vec![
        Pair::new("state", state_in_words(state, plan, &flaws)),
        Pair::new("cut", what_is_cut(inspection)),
        Pair::new("wire", wire_and_passes(plan)),
    ];
    lines.extend(time_and_cost(plan));
    lines.push(Pair::new("requirement", requirement(plan)));
    lines.push(Pair::new("machine", machine(plan)));
    lines.extend(first_question(inspection));
    lines.extend(worst(inspection, &flaws).take(WORST));
    Answer { state, lines }
}

/// Returns the head as a section.
pub(super) fn head(plan: &Plan) -> Section {
    let title = message!("plan of {}", plan.inspection.file);
    Section::new("answer", title).with(SectionPart::Pairs(answer(plan).lines))
}

/// Returns what of the head has room in a title block.
pub(super) fn head_in_short(plan: &Plan) -> Vec<Pair> {
    let inspection = &plan.inspection;
    let flaws = flaws(inspection);
    let state = state(plan, &flaws);
    let mut lines = vec![Pair::new("state", state_in_words(state, plan, &flaws))];
    lines.extend(time_and_cost(plan));
    lines.extend(first_question(inspection));
    lines.extend(worst(inspection, &flaws).take(1));
    lines
}

/// Returns alike findings that are no questions: these are told as such.
fn flaws(inspection: &Inspection) -> Vec<FindingGroup> {
    let mut groups = check::group_findings(&inspection.findings);
    groups.retain(|group| !check::is_question(group.names[0]));
    groups
}

fn has_path_missing(plan: &Plan) -> bool {
    let left_out = plan
        .toolpaths
        .left_out()
        .any(|one| !plan.waits_for_answer(one.contour));
    let refused = plan
        .toolpaths
        .refusals
        .iter()
        .any(|refusal| !plan.waits_for_answer(refusal.contour));
    left_out || refused || !plan.process.beyond_machine.is_empty()
}

fn state(plan: &Plan, flaws: &[FindingGroup]) -> AnswerState {
    let of = |severity| flaws.iter().any(|group| group.severity == severity);
    if has_path_missing(plan) || of(Severity::Error) {
        AnswerState::CannotBeCutAsDrawn
    } else if plan.inspection.questions.open().count() > 0 {
        AnswerState::SettleFirst
    } else if of(Severity::Warning)
        || has_first_readings(plan)
        || !plan.reaches_demand()
        || !is_expected(plan)
    {
        AnswerState::LookFirst
    } else {
        AnswerState::NothingFound
    }
}

/// Whether the first reading of a question is taken, which nobody has given.
fn has_first_readings(plan: &Plan) -> bool {
    plan.inspection
        .questions
        .list
        .iter()
        .any(|question| question.assumed)
}

/// Whether every limit that is called for is expected to be kept.
fn is_expected(plan: &Plan) -> bool {
    use crate::estimate::Verdict::ExpectedInside;
    let groups = plan.groups.iter();
    groups
        .filter_map(GroupPlan::verdict)
        .all(|verdict| verdict == ExpectedInside)
}

fn state_in_words(state: AnswerState, plan: &Plan, flaws: &[FindingGroup]) -> Message {
    let count = |severity| flaws.iter().filter(|group| group.severity == severity).count();
    match state {
        AnswerState::CannotBeCutAsDrawn => {
            let why = words::no_totals_in_short(plan);
            let why = why.unwrap_or_else(|| counted(count(Severity::Error), "error"));
            message!("cannot be cut as drawn: {}", why)
        }
        AnswerState::SettleFirst => {
            let open = plan.inspection.questions.open().count();
            message!(
                "settle first: {}; no path and no price until then",
                counted(open, "question")
            )
        }
        AnswerState::LookFirst => {
            let warnings = match count(Severity::Warning) {
                0 => None,
                warnings => Some(counted(warnings, "warning")),
            };
            let misses = !plan.reaches_demand() || !is_expected(plan);
            let misses = misses.then(|| "requirement not expected to be reached".to_owned());
            let assumed = has_first_readings(plan).then(|| "sides or purposes assumed".to_owned());
            let reasons: Vec<String> = warnings.into_iter().chain(assumed).chain(misses).collect();
            message!("look first: {}", reasons.join(", "))
        }
        AnswerState::NothingFound => message!(
            "nothing found against it; not looked at: {}",
            not_looked_at(plan).join(", ")
        ),
    }
}

/// What no check of a plan looks at.
fn not_looked_at(plan: &Plan) -> Vec<&'static str> {
    let has_text = |kind: &str| kind.ends_with("TEXT") || kind.contains("DIMENSION");
    let texts = plan
        .inspection
        .drawing
        .ignored
        .iter()
        .any(|ignored| has_text(&ignored.kind));
    let is_clamped = plan
        .process
        .blank
        .as_ref()
        .is_some_and(|blank| blank.clamp.is_some());
    let mut missed = vec!["taper"];
    missed.extend(texts.then_some("texts"));
    missed.extend((!is_clamped).then_some("clamps and fixtures"));
    missed
}

fn what_is_cut(inspection: &Inspection) -> Message {
    let cut = inspection
        .contours
        .list
        .iter()
        .filter(|contour| contour.purpose.is_cut());
    let of = |role| {
        cut.clone()
            .filter(|contour| contour.role == role && contour.keeps_known_side())
            .count()
    };
    let parts = [
        (of(Role::Outside), "part", "material inside stays"),
        (of(Role::Opening), "opening", "material outside stays"),
    ];
    let named = parts.into_iter().filter(|(count, ..)| *count > 0);
    let count = |purpose| cut.clone().filter(|contour| contour.purpose == purpose).count();
    let one_kerf = cut.clone().filter(|contour| contour.is_one_kerf_wide()).count();
    let open = [
        (one_kerf, "slit", "wire on the line"),
        (count(Purpose::Slit) - one_kerf, "slit", "wire along both walls"),
        (count(Purpose::Trim), "trim", "wire on one side of the line"),
    ];
    let open = open.into_iter().filter(|(count, ..)| *count > 0);
    let open = open.map(|(count, noun, runs)| format!("{} ({runs})", counted(count, noun)));
    let named: Vec<String> = named
        .map(|(count, noun, stays)| format!("{} ({stays})", counted(count, noun)))
        .chain(open)
        .collect();
    let sources = SideSources::of(inspection).in_words();
    let sources = sources.map(|sources| message!("; sides: {}", sources));
    let length = mm(inspection.totals().cut_perimeter_mm).fixed(3);
    if named.is_empty() {
        return message!("nothing with a known side, {} drawn{}", length, sources);
    }
    message!("{}, length of cut {}{}", named.join(", "), length, sources)
}

/// Returns the group with the tightest requirement.
fn tightest(plan: &Plan) -> Option<&GroupPlan> {
    let key = |group: &GroupPlan| {
        let tolerance_mm = group.requirement.tolerance_mm().unwrap_or(f64::INFINITY);
        (tolerance_mm, group.requirement.ra_um.unwrap_or(f64::INFINITY))
    };
    let by_key = |a: &&GroupPlan, b: &&GroupPlan| {
        let (a, b) = (key(a), key(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    };
    plan.groups.iter().min_by(by_key)
}

fn wire_and_passes(plan: &Plan) -> Message {
    let kind = plan.setup.wire_kind.as_deref().map(|kind| message!(" {}", kind));
    let wire = message!("{}{}", mm(plan.setup.wire_mm).at_most(4), kind);
    let Some(group) = tightest(plan) else {
        return wire;
    };
    let passes = group.passes();
    let offsets = passes.iter().enumerate().map(|(i, pass)| {
        let offset = um_of_mm(pass.offset_mm).at_most(1);
        let is_last = i + 1 == passes.len();
        message!("{}", if is_last { offset } else { offset.bare() })
    });
    let count = match passes.len() {
        1 => "1 pass".to_owned(),
        count => format!("{count} passes"),
    };
    let others = match plan.groups.len() - 1 {
        0 => None,
        others => Some(format!(
            " (group {}; + {})",
            group.group,
            counted(others, "group")
        )),
    };
    message!(
        "{}, {}, {} {}{}",
        wire,
        count,
        match group.gauged_on() {
            Some(date) => message!("offsets gauged on {}", date),
            None => "model offsets".into(),
        },
        Message::joined(offsets, ", "),
        others
    )
}

fn time_and_cost(plan: &Plan) -> Vec<Pair> {
    let (Some(totals), Some(costs)) = (plan.estimate.totals(), plan.estimate.costs.as_ref()) else {
        let why = words::no_totals_in_short(plan).unwrap_or_else(|| "nothing is cut".to_owned());
        return vec![Pair::new("time and cost", message!("none: {}", why))];
    };
    let money = |band| of_unit(band, "").fixed(2).range_first();
    vec![
        Pair::new(
            "time",
            message!(
                "{} {}; order of {} {}",
                words::drawn(plan),
                minutes(totals.machine_minutes).fixed(1),
                words::ordered(plan),
                minutes(totals.order_minutes).fixed(1)
            ),
        ),
        Pair::new(
            "cost",
            message!(
                "a piece {}; order {} {}; {}",
                money(totals.cost_piece),
                money(totals.cost_order),
                costs.currency,
                words::confidence(costs.confidence)
            ),
        ),
    ]
}

/// What is called for of the tightest group, and whether it is expected.
fn requirement(plan: &Plan) -> Message {
    let Some(group) = tightest(plan) else {
        return "none".into();
    };
    let asked = &group.requirement;
    let finish = asked
        .ra_um
        .map(|ra_um| message!("Ra {}", roughness_um(ra_um).at_most(3)));
    let called = Message::joined(words::limits(asked).into_iter().chain(finish), ", ");
    if called.is_empty() {
        return message!(
            "none given; expected Ra {}",
            roughness_um(group.quality.surface.ra_um).fixed(2)
        );
    }
    if plan.inspection.questions.open().count() > 0 {
        return message!("{}; open until the questions are answered", called);
    }
    let misses = plan.candidates.first().filter(|taken| !taken.feasible);
    if let Some(reason) = misses.and_then(|taken| taken.reasons.first()) {
        return message!("{}: not reached, {}", called, reason.message());
    }
    let verdict = group.verdict().zip(group.quality.accuracy.as_ref());
    if let Some((verdict, budget)) = verdict {
        return message!("{}; {}", called, words::verdict(verdict, budget));
    }
    message!(
        "{}; expected Ra {}",
        called,
        roughness_um(group.quality.surface.ra_um).fixed(2)
    )
}

fn machine(plan: &Plan) -> Message {
    let machine = plan.setup.machine.as_deref().unwrap_or("default machine");
    let limits = check::path_words::limit_in_words;
    let beyond = Message::joined(plan.process.beyond_machine.iter().map(limits), "; ");
    if beyond.is_empty() {
        message!("{}: within its limits", machine)
    } else {
        message!("{}: {}", machine, beyond)
    }
}

fn first_question(inspection: &Inspection) -> Option<Pair> {
    let open: Vec<_> = inspection.questions.open().collect();
    let first = open.first()?;
    let words = check::question_words::in_words(
        first,
        &inspection.drawing,
        &inspection.contours,
        &inspection.questions,
    );
    let more = match open.len() - 1 {
        0 => None,
        more => Some(format!(" (+ {})", counted(more, "question"))),
    };
    Some(Pair::new("question", message!("{}{}", words.asks, more)))
}

/// Returns findings, the worst first: where, and what to do.
fn worst(inspection: &Inspection, flaws: &[FindingGroup]) -> impl Iterator<Item = Pair> {
    let groups = flaws.iter().filter(|group| group.severity != Severity::Note);
    groups.map(|group| {
        let finding = &inspection.findings[group.placed[0]];
        let at = finding.at.map(|at| message!("; at {}", place(at, 3)));
        let alike = words::many_places(group).map(|places| format!(" (the worst of {places})"));
        Pair::new(
            words::severity(finding.severity),
            message!("{}{}{}; do: {}", finding.message, at, alike, finding.remedy),
        )
    })
}

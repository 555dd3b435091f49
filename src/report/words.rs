//! The words that every format uses for the same thing.

use crate::calibrate::{Calibrated, RateFit};
use crate::check::FindingGroup;
use crate::contour::{PurposeFrom, Role, SideFrom};
use crate::drawing::UnitsSource;
use crate::estimate::{Accuracy, BlankMaterial, Confidence, Presence, Verdict};
use crate::finding::Severity;
use crate::geometry::Point;
use crate::id::ContourId;
use crate::job::{OffsetBasis, Purpose, Scope};
use crate::message::number::{counted, fixed};
use crate::message::{Message, message, mm, um_of_mm};
use crate::pass::PassKind;
use crate::plan::{
    Candidate, DrawnParts, EqualParts, FigureBasis, OrderDays, Plan, RemedyKind, WallRequirement,
};
use crate::process::BlankOrigin;
use crate::shop::{Basis, MinutesHold};
use crate::toolpath::{CutEnd, UnreachedKind};

pub(super) fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

pub(super) fn role(role: Role) -> &'static str {
    match role {
        Role::Outside => "outside",
        Role::Opening => "opening",
        Role::Open => "open",
    }
}

pub(super) fn purpose(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Cut => "cut",
        Purpose::Part => "part",
        Purpose::Opening => "opening",
        Purpose::Slit => "slit",
        Purpose::Trim => "trim",
        Purpose::Existing => "existing",
        Purpose::NotNow => "not now",
        Purpose::StartHole => "start hole",
        Purpose::ReadyHole => "ready hole",
        Purpose::Frame => "frame",
        Purpose::Thread => "thread",
        Purpose::Blank => "blank",
        Purpose::Reference => "reference",
        Purpose::Ignore => "ignore",
    }
}

/// What an end of an open cut lies in.
pub(super) fn cut_end(end: CutEnd) -> &'static str {
    match end {
        CutEnd::Air => "air",
        CutEnd::Hole => "hole",
        CutEnd::Waste => "waste",
        CutEnd::Blind => "blind",
    }
}

/// Where the purpose of a contour comes from.
pub(super) fn purpose_source(from: PurposeFrom) -> &'static str {
    match from {
        PurposeFrom::Contour => "contour, given",
        PurposeFrom::Layer => "layer, given",
        PurposeFrom::Linetype => "linetype, given",
        PurposeFrom::Color => "colour, given",
        PurposeFrom::CutLayers => "other layers are cut",
        PurposeFrom::LineStyle => "linetype",
        PurposeFrom::Size => "small circle",
        PurposeFrom::Repeats => "repeats another",
        PurposeFrom::Assumed => "assumed",
    }
}

/// Where the side of a contour comes from.
pub(super) fn side_source(from: SideFrom) -> &'static str {
    match from {
        SideFrom::Drawn => "drawn",
        SideFrom::Given => "given",
        SideFrom::Assumed => "assumed",
        SideFrom::Unclear => "open",
    }
}

pub(super) fn pass_kind(kind: PassKind) -> &'static str {
    match kind {
        PassKind::Rough => "rough",
        PassKind::Skim => "skim",
    }
}

pub(super) fn unreached(kind: UnreachedKind) -> &'static str {
    match kind {
        UnreachedKind::SharpCorner => "sharp inside corner",
        UnreachedKind::SmallRadius => "inside radius too small",
        UnreachedKind::NarrowSlot => "slot too narrow",
        UnreachedKind::Vanished => "no room for the wire",
    }
}

/// Where the unit of a drawing comes from.
pub(super) fn units_source(source: UnitsSource) -> &'static str {
    match source {
        UnitsSource::Drawing => "from drawing",
        UnitsSource::Option => "given",
        UnitsSource::Measurement => "from a hint",
        UnitsSource::Assumed => "ASSUMED",
    }
}

/// `4`, or `4+1` where demand groups take different numbers of passes.
pub(super) fn passes(candidate: &Candidate) -> String {
    let by_group = &candidate.passes_by_group;
    if by_group.iter().all(|passes| *passes == candidate.passes) {
        return candidate.passes.to_string();
    }
    let numbers: Vec<String> = by_group.iter().map(ToString::to_string).collect();
    numbers.join("+")
}

pub(super) fn presence(presence: Presence) -> &'static str {
    match presence {
        Presence::Unattended => "unattended",
        Presence::Attended => "attended",
        Presence::Elsewhere => "on another machine",
    }
}

/// How far times and prices can be trusted, to stand beside every one.
pub(super) fn confidence(confidence: Confidence) -> String {
    match confidence {
        Confidence::NotCalibrated => "built-in rates, not this shop's: may be half or double".to_owned(),
        Confidence::Calibrated {
            jobs,
            typical_error_percent,
        } => {
            format!("calibrated on {jobs} jobs, typical error {typical_error_percent:.0} %")
        }
    }
}

/// What may be said of limits before measuring: an expectation, never a promise.
pub(super) fn verdict(verdict: Verdict, budget: &Accuracy) -> String {
    let gauged = match &budget.gauged_on {
        Some(date) => format!("with the offset gauged on {date}"),
        None => offset_basis(budget.offset_basis).to_owned(),
    };
    match verdict {
        Verdict::ExpectedInside => {
            format!("{gauged}: inside the limits by the model; confirm by measuring")
        }
        Verdict::Undecided => format!(
            "{gauged}: the uncertainty reaches over a limit and the model cannot decide; measure, or see what reduces it"
        ),
        Verdict::ExpectedOutside => format!("{gauged}: outside the limits by the model"),
    }
}

/// How well the offset is known.
pub(super) const fn offset_basis(basis: OffsetBasis) -> &'static str {
    match basis {
        OffsetBasis::Gauged => "after gauging a test piece",
        OffsetBasis::Modelled => "with the offset as modelled",
    }
}

pub(super) fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Given => "given",
        Basis::Shop => "the shop's own",
        Basis::Published => "published",
        Basis::Memory => "from memory, not verified",
        Basis::Practice => "common practice, no source",
        Basis::Default => "estimate",
    }
}

/// Why there is no total and no price of a plan; `None` where there are.
pub(super) fn no_totals(plan: &Plan) -> Option<Message> {
    let reasons = plan.reasons_without_totals();
    (!reasons.is_empty()).then(|| Message::joined(reasons, "; "))
}

/// The same in a few words: the first reason, and how many more there are.
pub(super) fn no_totals_in_short(plan: &Plan) -> Option<String> {
    let contours = plan.reasons_without_paths();
    let limits = plan.process.beyond_machine.iter();
    let limits = limits.map(|beyond| format!("beyond the machine, {}", beyond.limit.name()));
    let mut reasons = contours.into_iter().chain(limits);
    let first = reasons.next()?;
    Some(match reasons.count() {
        0 => first,
        more => format!("{first}; +{more}"),
    })
}

/// `6 equal parts`, `3 equal parts and 3 mirrored`, `3 equal parts and 1 other part`; `None` where there are fewer than two.
pub(super) fn parts(parts: &DrawnParts) -> Option<String> {
    const NAMED: usize = 6;
    if parts.count() < 2 {
        return None;
    }
    let kind = |(i, kind): (usize, &EqualParts)| match (i, kind.count(), kind.mirror_of) {
        (_, n, Some(_)) => format!("{n} mirrored"),
        (0, 1, None) => "1 part".to_owned(),
        (0, n, None) => format!("{n} equal parts"),
        (_, 1, None) => "1 other part".to_owned(),
        (_, n, None) => format!("{n} other parts, equal"),
    };
    let mut named: Vec<String> = parts.kinds.iter().enumerate().take(NAMED).map(kind).collect();
    if let Some(more) = parts.kinds.get(NAMED..).filter(|more| !more.is_empty()) {
        let count: usize = more.iter().map(EqualParts::count).sum();
        named.push(format!("{count} of {}", counted(more.len(), "kind")));
    }
    let last = named.pop().unwrap_or_default();
    Some(if named.is_empty() {
        last
    } else {
        format!("{} and {last}", named.join(", "))
    })
}

/// What an order counts in: `part`, or `set` where the parts drawn are not all equal.
pub(super) fn piece(parts: &DrawnParts) -> &'static str {
    if parts.kinds.len() > 1 { "set" } else { "part" }
}

/// With a capital letter in front.
pub(super) fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What the times are for: `one piece`, or `all 6 parts drawn`.
pub(super) fn drawn(plan: &Plan) -> String {
    match plan.parts.count() {
        0 | 1 => "one piece".to_owned(),
        n => format!("all {n} parts drawn"),
    }
}

/// What is ordered and how it is loaded: `12 parts ordered, 6 in a load: 2 loads`; `None` where one part is drawn and nothing else.
pub(super) fn order(plan: &Plan) -> Option<String> {
    let order = plan.order;
    if order.drawn == 1 && plan.parts.count() < 2 && order.quantity == 1 {
        return None;
    }
    let piece = piece(&plan.parts);
    let of_set = if plan.parts.kinds.len() < 2 {
        String::new()
    } else if order.drawn == 1 {
        " (a set is all that is drawn)".to_owned()
    } else {
        format!(" ({} are drawn)", counted(order.drawn, "set"))
    };
    Some(format!(
        "{} ordered{of_set}, {} in a load: {}",
        counted(order.quantity, piece),
        order.pieces_per_load,
        counted(order.loads(), "load")
    ))
}

/// How many pieces are ordered: `1 part`, `50 sets`.
pub(super) fn ordered(plan: &Plan) -> String {
    counted(plan.order.quantity, piece(&plan.parts))
}

/// How long an order takes in the expected times: `4 with a shift, 4 by the calendar`.
pub(super) fn order_days(days: OrderDays) -> String {
    format!(
        "{} with a shift, {} by the calendar",
        days.work_days, days.calendar_days
    )
}

/// Whether the material of the blanks is in the cost.
pub(super) const fn blank_material(blank: BlankMaterial) -> &'static str {
    match blank {
        BlankMaterial::Included => "included, by mass",
        BlankMaterial::NoPrice => "not included: the shop data has no price for it",
        BlankMaterial::NoBlank => "not included: the size of the blank is not given",
    }
}

/// Says in how many places alike findings are, and how many more there are that are not listed.
pub(super) fn places(group: &FindingGroup, noun: &str) -> String {
    let placed = counted(group.placed.len(), noun);
    match group.not_listed {
        0 => placed,
        more => format!("{placed} and {}", counted(more, "more finding")),
    }
}

/// Says it where alike findings are in more than one place.
pub(super) fn many_places(group: &FindingGroup) -> Option<String> {
    (group.placed.len() + group.not_listed > 1).then(|| places(group, "place"))
}

/// Says where the size of a blank comes from.
pub(super) const fn blank_origin(origin: BlankOrigin) -> &'static str {
    match origin {
        BlankOrigin::Drawn => "drawn",
        BlankOrigin::Sized => "size given, about the middle of the part",
        BlankOrigin::Margin => "stock around the part given",
    }
}

/// Contours that are alike by number, shortened where they are many.
pub(super) fn contour_words(contours: &[ContourId]) -> String {
    const NAMED: usize = 4;
    let named: Vec<String> = contours.iter().take(NAMED).map(ContourId::to_string).collect();
    let named = named.join(", ");
    match contours.len().saturating_sub(NAMED) {
        0 => named,
        more => format!("{named} and {more} more alike"),
    }
}

/// Returns numbers as runs: `1, 4–9, 12`.
pub(super) fn number_runs(all: impl IntoIterator<Item = usize>) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for number in all {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let run = |(first, last): &(usize, usize)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first}–{last}"),
    };
    runs.iter().map(run).collect::<Vec<_>>().join(", ")
}

/// Where the figures of a candidate come from.
pub(super) const fn figures(basis: FigureBasis) -> &'static str {
    match basis {
        FigureBasis::Estimated => "estimated",
        FigureBasis::Computed => "computed",
    }
}

/// What the figures of candidates are.
pub(super) const COMPUTED_OR_LEAST: &str = "What no other beats is computed from its own paths; what has ≥ before it is estimated from \
     perimeters, the least that it can be.";

/// What stands before the minutes and the cost of a candidate: an estimate is the least that they can be.
pub(super) const fn at_least(basis: FigureBasis) -> &'static str {
    match basis {
        FigureBasis::Estimated => "≥ ",
        FigureBasis::Computed => "",
    }
}

/// Material, wire and machine of a fit.
pub(super) fn fitted_work(fit: &RateFit) -> Message {
    let work = work(&fit.material, fit.wire_mm, &fit.wire_kind);
    match (&fit.machine, fit.is_pooled) {
        (Some(machine), false) => message!("{} on {}", work, machine),
        (Some(machine), true) => message!("{} on {}, with the jobs of the others", work, machine),
        (None, true) => message!("{} on any other machine", work),
        (None, false) => work,
    }
}

/// Material and wire.
pub(super) fn work(material: &str, wire_mm: f64, wire_kind: &str) -> Message {
    message!("{}, {}", material, wire(wire_mm, wire_kind))
}

/// What minutes hold, all that were met.
pub(super) fn minutes_hold(holds: &[MinutesHold]) -> String {
    let holds: Vec<String> = holds.iter().map(ToString::to_string).collect();
    holds.join(", ")
}

/// A difference in percent, with its sign.
pub(super) fn signed_percent(percent: f64) -> String {
    let digits = fixed(percent.abs(), 0);
    let sign = match percent {
        _ if digits == "0" => "",
        ..0.0 => "−",
        _ => "+",
    };
    format!("{sign}{digits} %")
}

/// What to know of a log beside what was learned: what was taken for granted of it and what was left out, each with its kind.
pub(super) fn told_of_log(learned: &Calibrated) -> Vec<Message> {
    let mut told = Vec::new();
    match learned.without_drawing.len() {
        0 => {}
        count => told.push(message!(
            "assumed: {} without a drawing; for each contour (column “contours”, else 1) one start hole, lead-in, threading, tab \
             and slug; no sharp corners",
            counted(count, "job")
        )),
    }
    for machine in &learned.machines_not_in_book {
        told.push(message!(
            "assumed: machine “{}” is not in the book and is modelled as its default one; what is learned of it is used from when the \
             book has it",
            machine
        ));
    }
    for column in &learned.further {
        told.push(message!(
            "not used: column “{}”, {}",
            column.name,
            counted(column.filled, "row")
        ));
    }
    for refused in &learned.refused {
        let work = work(&refused.material, refused.wire_mm, &refused.wire_kind);
        told.push(message!("not learned: {}: {}", work, refused.reason.to_string()));
    }
    told.extend(
        learned
            .flaws
            .iter()
            .map(|flaw| message!("not used: {}", flaw.to_string())),
    );
    told
}

/// What a remedy changes.
pub(super) fn remedy(kind: &RemedyKind) -> Message {
    match kind {
        RemedyKind::OnePassMore { passes } => {
            let passes: Vec<String> = passes.iter().map(usize::to_string).collect();
            message!("one pass more: passes {}", passes.join("+"))
        }
        RemedyKind::ShorterPickup { pickup_mm } => {
            message!(
                "pick up no farther than {} from the feature",
                mm(*pickup_mm).fixed(1)
            )
        }
        RemedyKind::OtherMachine { machine } => message!("machine {}", machine),
        RemedyKind::GaugedOffset => "cut and gauge a test piece, and correct the offset by it".into(),
        RemedyKind::SteadierRoom { swing_k } => {
            message!("a room that swings {} K from night to day", fixed(*swing_k, 1))
        }
    }
}

/// Diameter and kind of a wire: `0.25 mm brass`.
pub(super) fn wire(wire_mm: f64, wire_kind: &str) -> Message {
    message!("{} {}", mm(wire_mm).fixed(2), wire_kind)
}

/// The sizes of limits: `-10 to +10 µm on size`; `None` without limits.
pub(super) fn limits(asked: &WallRequirement) -> Option<Message> {
    let (limits, scope) = asked.limits?;
    Some(message!(
        "{} to {} {}",
        um_of_mm(limits.lower_mm).at_most(1).signed().bare(),
        um_of_mm(limits.upper_mm).at_most(1).signed(),
        of_scope(scope)
    ))
}

/// What an error or a limit is of.
pub(super) const fn of_scope(scope: Scope) -> &'static str {
    match scope {
        Scope::OnSize => "on size",
        Scope::PerSide => "a side",
    }
}

/// Writes a place: `x 1.5 y 2 mm`.
pub(super) fn place(at: Point, decimals: usize) -> Message {
    message!(
        "x {} y {}",
        mm(at.x).at_most(decimals).bare(),
        mm(at.y).at_most(decimals)
    )
}

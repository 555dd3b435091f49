use std::fmt::Write as _;

use super::table::{Align, table};
use super::{HEADING, reading};
use crate::message::number::{counted, duration, fixed, plain, short, um};
use crate::plan::{Candidate, Comparison, Plan, shortfalls_in_words};
use crate::report::lengths::Lengths;
use crate::report::sides::SideSources;
use crate::report::words;
use crate::units::Band;

/// Most rows of a table, and most reasons that are listed.
const LISTED: usize = 40;

const ESTIMATED: &str =
    "  ≥ estimated from perimeters, the least that it can be; the others are computed from their own paths\n";

/// Writes a comparison, to be read at a terminal.
pub fn comparison(comparison: &Comparison, lengths: Lengths) -> String {
    let mut text = format!(
        "{HEADING}{}{HEADING:#}: {}, {} mm thick\n",
        plain(&comparison.inspection.file),
        plain(&comparison.material),
        short(comparison.thickness_mm, 4),
    );
    if let Some(sources) = SideSources::of(&comparison.inspection).in_words() {
        let _ = writeln!(text, "sides: {sources}");
    }
    text.push_str(&reading::questions(&comparison.inspection));
    if !comparison.inspection.assumptions.is_empty() {
        let _ = writeln!(text, "\n{HEADING}assumed{HEADING:#}");
        for assumption in &comparison.inspection.assumptions {
            let _ = writeln!(text, "  - {}", plain(assumption));
        }
    }
    let candidates: Vec<&Candidate> = comparison.candidates.iter().collect();
    let mut feasible: Vec<&Candidate> = candidates.iter().copied().filter(|c| c.feasible).collect();
    let minutes = |candidate: &Candidate| {
        candidate
            .totals
            .map_or(f64::INFINITY, |totals| totals.order_minutes.expected)
    };
    feasible.sort_by(|a, b| {
        let marks = |candidate: &Candidate| (!candidate.chosen, !candidate.non_dominated);
        marks(a).cmp(&marks(b)).then(minutes(a).total_cmp(&minutes(b)))
    });
    if feasible.is_empty() {
        let _ = writeln!(
            text,
            "\n{HEADING}nothing in the book reaches what is asked{HEADING:#}"
        );
        text.push_str(&nearest(comparison.nearest.as_ref()));
    } else {
        let _ = writeln!(
            text,
            "\n{HEADING}expected to reach what is asked, with the offset gauged{HEADING:#} (> chosen, * no other is better in time, cost, finish \
             and accuracy at once; cost in {})",
            plain(&comparison.currency)
        );
        text.push_str(&rows(&feasible, lengths));
        text.push_str(ESTIMATED);
    }
    if let Some(plan) = &comparison.chosen {
        text.push_str(&verified(plan));
    }
    text.push_str(&why_not(&candidates));
    lengths.prose(&text, &super::inspection::names(&comparison.inspection))
}

/// What a plan was chosen from; empty where nothing was chosen.
pub(super) fn weighed(plan: &Plan, lengths: Lengths) -> String {
    if plan.candidates.is_empty() {
        return String::new();
    }
    let candidates: Vec<&Candidate> = plan.candidates.iter().collect();
    let possible: Vec<&Candidate> = candidates.iter().copied().filter(|c| c.feasible).collect();
    let mut text = String::new();
    if !possible.is_empty() {
        let _ = writeln!(
            text,
            "\n{HEADING}weighed{HEADING:#} (> taken, * no other is better in time, cost, finish and accuracy at once)"
        );
        text.push_str(&rows(&possible, lengths));
        text.push_str(ESTIMATED);
    }
    text.push_str(&why_not(&candidates));
    text
}

fn rows(candidates: &[&Candidate], lengths: Lengths) -> String {
    let heads = [
        ("", Align::Left),
        ("wire mm", Align::Right),
        ("kind", Align::Left),
        ("machine", Align::Left),
        ("passes", Align::Right),
        ("piece min", Align::Right),
        ("order min", Align::Right),
        ("order cost", Align::Right),
        ("Ra µm", Align::Right),
        ("± µm on size", Align::Right),
        ("inside R mm", Align::Right),
        ("unreached µm", Align::Right),
    ];
    let rows: Vec<[String; 12]> = candidates
        .iter()
        .take(LISTED)
        .map(|candidate| row(candidate))
        .collect();
    table(heads, &rows, candidates.len(), lengths)
}

fn row(candidate: &Candidate) -> [String; 12] {
    let mark = match (candidate.chosen, candidate.non_dominated) {
        (true, true) => ">*",
        (true, false) => ">",
        (false, true) => " *",
        (false, false) => "",
    };
    let of = |value: Option<f64>, decimals| value.map_or_else(|| "–".into(), |value| fixed(value, decimals));
    let expected = |band: Option<Band>| band.map(|band| band.expected);
    let least = |band: Option<Band>| {
        let value = of(expected(band), 0);
        band.map_or(value.clone(), |_| {
            format!("{}{value}", words::at_least(candidate.basis))
        })
    };
    [
        mark.into(),
        fixed(candidate.wire_mm, 2),
        plain(&candidate.wire_kind),
        plain(&candidate.machine),
        words::passes(candidate),
        least(candidate.totals.map(|totals| totals.piece_minutes)),
        least(candidate.totals.map(|totals| totals.order_minutes)),
        least(candidate.totals.map(|totals| totals.cost_order)),
        of(expected(candidate.ra_um), 2),
        of(candidate.accuracy_um, 1),
        of(candidate.min_inside_radius_mm, 3),
        of(candidate.unreached_um, 1),
    ]
}

/// Writes the candidate that comes nearest, and what it misses.
fn nearest(near: Option<&Candidate>) -> String {
    let Some(near) = near else {
        return "  no wire and machine of the book can cut it\n".into();
    };
    let mut text = format!("  nearest: {}, passes {}\n", name(near), words::passes(near));
    for reason in &near.reasons {
        let _ = writeln!(text, "  missing: {}", plain(&reason.to_string()));
    }
    text
}

/// What the paths of the chosen one say.
fn verified(plan: &Plan) -> String {
    let mut text = format!("\n{HEADING}the chosen one, offset and verified{HEADING:#}\n");
    if plan.toolpaths.refusals.is_empty() {
        let within = um(crate::tolerance::PATH_MM);
        let _ = writeln!(
            text,
            "  every path is verified to be within {within} µm of its offset"
        );
    } else {
        let refused = counted(plan.toolpaths.refusals.len(), "path");
        let _ = writeln!(text, "  {refused} refused: `kerfwright plan` says where");
    }
    let left = plan.toolpaths.unreached.iter().map(|place| place.deviation_mm);
    if let Some(left) = left.max_by(f64::total_cmp) {
        let _ = writeln!(text, "  up to {} µm stay where the wire does not reach", um(left));
    }
    if let Some(totals) = plan.estimate.totals() {
        let _ = writeln!(
            text,
            "  {} takes {} at the machine, the order with its set-ups {}",
            words::drawn(plan),
            duration(totals.machine_minutes),
            duration(totals.order_minutes)
        );
    }
    let _ = writeln!(text, "  {}", words::confidence(plan.estimate.confidence));
    text
}

/// Why combinations are not feasible: of neighbouring numbers of passes the one that is nearest, wires with the same
/// reason together.
fn why_not(candidates: &[&Candidate]) -> String {
    let means = |c: &Candidate| (c.wire_mm.to_bits(), c.wire_kind.clone(), c.machine.clone());
    let mut short: Vec<&Candidate> = candidates.iter().copied().filter(|c| !c.feasible).collect();
    if short.is_empty() {
        return String::new();
    }
    short.sort_by(|a, b| means(a).cmp(&means(b)).then(a.passes.cmp(&b.passes)));
    let together = |a: &&Candidate, b: &&Candidate| {
        means(a) == means(b) && a.possible == b.possible && b.passes <= a.passes + 1
    };
    let one_machine = candidates
        .windows(2)
        .all(|pair| pair[0].machine == pair[1].machine);
    let named = |candidate: &Candidate| {
        if one_machine {
            wire(candidate)
        } else {
            name(candidate)
        }
    };
    let mut reasons: Vec<(String, Vec<String>)> = Vec::new();
    for run in short.chunk_by(together) {
        let nearest = run.iter().min_by(|a, b| a.shortfall.total_cmp(&b.shortfall));
        let (Some(first), Some(last), Some(nearest)) = (run.first(), run.last(), nearest) else {
            continue;
        };
        let passes = match (words::passes(first), words::passes(last)) {
            (first, last) if first == last => first,
            (first, last) => format!("{first} to {last}"),
        };
        let why = format!(
            "passes {passes}: {}",
            plain(&shortfalls_in_words(&nearest.reasons))
        );
        match reasons.iter_mut().find(|(known, _)| *known == why) {
            // Its other numbers of passes may lie between and lack something else.
            Some((_, names)) if names.contains(&named(nearest)) => {}
            Some((_, names)) => names.push(named(nearest)),
            None => reasons.push((why, vec![named(nearest)])),
        }
    }
    let mut text = format!("\n{HEADING}why not{HEADING:#}\n");
    for (why, names) in reasons.iter().take(LISTED) {
        let _ = writeln!(text, "  {}\n    {why}", names.join(", "));
    }
    if reasons.len() > LISTED {
        let more = reasons.len() - LISTED;
        let _ = writeln!(text, "  … and {more} more; `--json` lists all");
    }
    text
}

fn name(candidate: &Candidate) -> String {
    format!("{} on {}", wire(candidate), plain(&candidate.machine))
}

fn wire(candidate: &Candidate) -> String {
    format!(
        "{} mm {}",
        fixed(candidate.wire_mm, 2),
        plain(&candidate.wire_kind)
    )
}

use std::fmt::Write as _;

use super::table::{Align, table};
use super::{ERROR, HEADING, comparison, estimate, findings, inspection, reading};
use crate::check::Stage;
use crate::check::path_words::{incomplete_sentence, refusal_in_words};
use crate::id::GroupId;
use crate::message::number::{counted, fixed, plain, short, um};
use crate::pass::Pass;
use crate::plan::Plan;
use crate::process::Start;
use crate::report::lengths::Lengths;
use crate::report::{pieces, steps, words};

/// Most rows of a table, and most places that are listed.
const LISTED: usize = 40;

/// Writes a plan, to be read at a terminal.
pub fn plan(plan: &Plan, lengths: Lengths) -> String {
    let mut text = inspection::head(&plan.inspection);
    text.push_str(&reading::questions(&plan.inspection));
    text.push_str(&inspection::drawing(&plan.inspection, lengths));
    let setup = &plan.setup;
    let passes_of_first = plan.groups.first().map_or(0, |group| group.passes().len());
    let aim = match plan.aim_mm() {
        0.0 => String::new(),
        aim => format!(", walls {} µm into the material", um(aim)),
    };
    let kind = setup.wire_kind.as_deref();
    let kind = kind.map_or_else(String::new, |kind| format!("{} ", plain(kind)));
    let _ = writeln!(
        text,
        "\n{HEADING}asked{HEADING:#}\n  {}, {} mm thick, {} mm {}wire, {}{aim}",
        plain(&setup.material),
        short(setup.thickness_mm, 4),
        short(setup.wire_mm, 4),
        kind,
        if passes_of_first == 1 {
            "1 pass".into()
        } else {
            format!("{passes_of_first} passes")
        },
    );
    for words in words::parts(&plan.parts).into_iter().chain(words::order(plan)) {
        let _ = writeln!(text, "  {words}");
    }
    let _ = writeln!(
        text,
        "\n{HEADING}passes{HEADING:#} (model offsets: cut and gauge a test piece first)"
    );
    text.push_str(&passes(plan, lengths));
    text.push_str(&refusals(plan));
    text.push_str(&left_out(plan));
    text.push_str(&unreached(plan));
    text.push_str(&comes_free(plan));
    text.push_str(&starts(plan, lengths));
    text.push_str(&order(plan, lengths));
    text.push_str(&comparison::weighed(plan, lengths));
    text.push_str(&estimate::estimate(plan));
    text.push('\n');
    let text = lengths.prose(&text, &inspection::names(&plan.inspection));
    let (file, found) = (&plan.inspection.file, &plan.inspection.findings);
    text + &findings::findings(file, found, Stage::Path, lengths)
}

fn passes(plan: &Plan, lengths: Lengths) -> String {
    let groups = plan.groups.iter();
    let total = groups.clone().map(|group| group.passes().len()).sum();
    let rows: Vec<[String; 11]> = groups
        .flat_map(|group| {
            group
                .passes()
                .iter()
                .map(|pass| pass_row(plan, group.group, pass))
        })
        .take(LISTED)
        .collect();
    let heads = [
        ("group", Align::Right),
        ("pass", Align::Right),
        ("kind", Align::Left),
        ("offset µm", Align::Right),
        ("gap µm", Align::Right),
        ("stock µm", Align::Right),
        ("mm²/min", Align::Right),
        ("feed mm/min", Align::Right),
        ("path mm", Align::Right),
        ("minutes", Align::Right),
        ("Ra µm", Align::Right),
    ];
    table(heads, &rows, total, lengths)
}

fn pass_row(plan: &Plan, group: GroupId, pass: &Pass) -> [String; 11] {
    let cut = plan
        .estimate
        .cut
        .rows
        .iter()
        .find(|row| (row.group, row.pass) == (group, pass.pass));
    let known =
        |value: Option<f64>, decimals| value.map_or_else(|| "–".into(), |value| fixed(value, decimals));
    [
        group.to_string(),
        pass.pass.to_string(),
        words::pass_kind(pass.kind).into(),
        um(pass.offset_mm),
        um(pass.spark_gap_mm),
        um(pass.stock_mm),
        fixed(pass.area_rate_mm2_min.expected, 1),
        fixed(pass.feed_mm_min.expected, 2),
        known(cut.and_then(|cut| cut.path_length_mm), 4),
        known(cut.and_then(|cut| cut.minutes).map(|minutes| minutes.expected), 1),
        short(pass.ra_um.expected, 2),
    ]
}

fn refusals(plan: &Plan) -> String {
    let mut text = String::new();
    let refusals = &plan.toolpaths.refusals;
    if refusals.is_empty() {
        return text;
    }
    let count = counted(refusals.len(), "path");
    let _ = writeln!(
        text,
        "\n{ERROR}refused{ERROR:#}: {count}; no total and no price is given"
    );
    for refusal in refusals.iter().take(LISTED) {
        let _ = writeln!(
            text,
            "  contour {}, pass {}, x {} y {} mm: {}",
            refusal.contour,
            refusal.pass,
            short(refusal.at.x, 4),
            short(refusal.at.y, 4),
            plain(&refusal_in_words(refusal.reason))
        );
    }
    text
}

/// Contours to be cut that have no place in the order.
fn left_out(plan: &Plan) -> String {
    let mut text = String::new();
    // What waits for an answer is told by its question.
    let left_out = plan.toolpaths.left_out();
    let left_out: Vec<_> = left_out
        .filter(|one| !plan.waits_for_answer(one.contour))
        .collect();
    if left_out.is_empty() {
        return text;
    }
    let count = counted(left_out.len(), "contour");
    let _ = writeln!(
        text,
        "\n{ERROR}left out{ERROR:#}: {count}; no path, start hole, lead, step, time or cost"
    );
    for one in left_out.iter().take(LISTED) {
        let _ = writeln!(text, "  contour {}: {}", one.contour, incomplete_sentence(**one));
    }
    text
}

/// What drops, the heaviest first.
fn comes_free(plan: &Plan) -> String {
    const SHOWN: usize = 10;
    let mut text = String::new();
    let mut separations: Vec<_> = plan.process.separations.iter().collect();
    if separations.is_empty() {
        return text;
    }
    separations.sort_by(|a, b| b.piece.mass_kg.total_cmp(&a.piece.mass_kg));
    let count = counted(separations.len(), "piece");
    let _ = writeln!(text, "\n{HEADING}what comes free{HEADING:#}: {count}");
    for separation in separations.iter().take(SHOWN) {
        let caution = match pieces::caution(separation) {
            "" => String::new(),
            caution => format!("; {caution}"),
        };
        let _ = writeln!(
            text,
            "  contour {}, {} of {}: {}{caution}",
            separation.piece.contour,
            pieces::kind(separation.piece.kind),
            pieces::mass(separation),
            pieces::removal(separation)
        );
    }
    if separations.len() > SHOWN {
        let _ = writeln!(
            text,
            "  … and {} more, none heavier; `--json` lists all",
            separations.len() - SHOWN
        );
    }
    text
}

/// Where the wire is threaded, and where each start comes from.
fn starts(plan: &Plan, lengths: Lengths) -> String {
    const SHOWN: usize = 12;
    let list = &plan.process.starts.list;
    if list.is_empty() {
        return String::new();
    }
    let heads = [
        ("contour", Align::Right),
        ("x mm", Align::Right),
        ("y mm", Align::Right),
        ("hole mm", Align::Right),
        ("lead-in mm", Align::Right),
        ("from", Align::Left),
    ];
    let row = |start: &Start| {
        let shorter = match steps::shorter(start) {
            words if words.is_empty() => words,
            words => format!("; {words}"),
        };
        [
            start.contour.to_string(),
            short(start.at.x, 3),
            short(start.at.y, 3),
            start.hole_mm.map_or_else(|| "–".into(), |mm| fixed(mm, 2)),
            fixed(plan.process.leads[start.wire_loop.index()].lead_in.length(), 2),
            format!("{}{shorter}", steps::origin(start.origin)),
        ]
    };
    let rows: Vec<_> = list.iter().take(SHOWN).map(row).collect();
    let drilled = list.iter().filter(|start| start.drilled).count();
    let mut text = format!(
        "\n{HEADING}starts{HEADING:#}: {} to drill\n",
        counted(drilled, "hole")
    );
    text.push_str(&table(heads, &rows, list.len(), lengths));
    text
}

/// Writes the order of cutting in short.
fn order(plan: &Plan, lengths: Lengths) -> String {
    const SHOWN: usize = 12;
    let mut text = String::new();
    let rows = steps::rows(plan);
    if rows.is_empty() {
        return text;
    }
    let _ = writeln!(
        text,
        "\n{HEADING}order of cutting{HEADING:#}: {}",
        steps::summary(plan)
    );
    let heads = [
        ("steps", Align::Right),
        ("contour", Align::Left),
        ("begins min", Align::Right),
        ("takes min", Align::Right),
        ("what", Align::Left),
    ];
    let cells = rows.iter().take(SHOWN).map(|row| {
        let attended = if row.attended { " (attended)" } else { "" };
        [
            row.numbers(),
            row.contour_words(),
            fixed(row.clock_minutes, 1),
            fixed(row.takes_minutes, 1),
            format!("{}{attended}", row.words),
        ]
    });
    let cells: Vec<_> = cells.collect();
    text.push_str(&table(heads, &cells, cells.len(), lengths));
    if rows.len() > SHOWN {
        let _ = writeln!(
            text,
            "  … and {} more rows; `--json` lists all steps",
            rows.len() - SHOWN
        );
    }
    text
}

fn unreached(plan: &Plan) -> String {
    const SHOWN: usize = 10;
    let mut text = String::new();
    let mut places: Vec<_> = plan.toolpaths.unreached.iter().collect();
    if places.is_empty() {
        return text;
    }
    places.sort_by(|a, b| b.deviation_mm.total_cmp(&a.deviation_mm));
    let area: f64 = places.iter().map(|place| place.area_mm2).sum();
    let _ = writeln!(
        text,
        "\n{HEADING}not reached by the last pass{HEADING:#}: {}, {} mm² in all",
        counted(places.len(), "place"),
        short(area, 6)
    );
    for place in places.iter().take(SHOWN) {
        let kind = words::unreached(place.kind);
        let _ = writeln!(
            text,
            "  contour {}, x {} y {} mm: {kind}, up to {} µm stay",
            place.contour,
            short(place.at.x, 4),
            short(place.at.y, 4),
            um(place.deviation_mm)
        );
    }
    if places.len() > SHOWN {
        let _ = writeln!(
            text,
            "  … and {} more, all less; `--json` lists all",
            places.len() - SHOWN
        );
    }
    text
}

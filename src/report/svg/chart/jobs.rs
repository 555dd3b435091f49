//! Finished jobs: estimate across, actual upward, both in decades. What was estimated right lies on the diagonal; the stroke of
//! a mark is where 95 % of such jobs lie.

use svg::Document;
use svg::node::element::{Group, Style, Title};

use super::{ChartFrame, DOT, Decades, circle, grid};
use crate::calibrate::JobOutcome;
use crate::message::number::fixed;
use crate::report::svg::sheet::{Anchor, Area, group, line, spot, text, view_box};
use crate::report::svg::style;

const FRAME: ChartFrame = ChartFrame {
    plot: Area::new(16.0, 10.0, 150.0, 110.0),
    size: 3.0,
};
const ROOM: Area = Area::new(0.0, 0.0, 172.0, 133.0);

/// Most marks that are named by their line: those worst off.
const NAMED: usize = 8;

const STYLE: &str = "
.paper{fill:#fdfcf8}
.may-be{stroke:#0b5c7d;stroke-width:0.3;stroke-opacity:0.5}
.job{fill:#1d1f23}
.job-wild{fill:none;stroke:#b3590a;stroke-width:0.6}
.just{stroke:#1d1f23;stroke-width:0.25;stroke-dasharray:3 1.2}
";

/// Returns the picture of the jobs, worst first; `None` without jobs.
pub fn finished_jobs(jobs: &[JobOutcome]) -> Option<String> {
    if jobs.is_empty() {
        return None;
    }
    let plot = FRAME.plot;
    let minutes = jobs
        .iter()
        .flat_map(|job| [job.real_min, job.expected_min.low, job.expected_min.high]);
    let across = Decades::over(minutes.clone(), plot.x, plot.right());
    let upward = Decades::over(minutes, plot.bottom(), plot.y);
    let mut drawn = grid(FRAME, across, upward).add(line(
        "just",
        spot(plot.x, plot.bottom()),
        spot(plot.right(), plot.y),
    ));
    // The worst lie on top.
    for (rank, job) in jobs.iter().enumerate().rev() {
        drawn = drawn.add(mark(job, across, upward, rank < NAMED));
    }
    let label = |at, content: &str| text("", at, Anchor::Start, 1.2 * FRAME.size, 140.0, content);
    let drawn = drawn
        .add(label(
            spot(plot.x, plot.bottom() + 10.5),
            "estimated, minutes; numbers are lines of the log",
        ))
        .add(label(spot(plot.x - 10.0, plot.y - 3.5), "actual, minutes"));
    let document = Document::new()
        .set("viewBox", view_box(ROOM))
        .set("role", "img")
        .add(Title::new("Actual against estimated minutes of finished jobs"))
        .add(Style::new(format!("{}{STYLE}", style::style_sheet())))
        .add(drawn);
    Some(document.to_string())
}

fn mark(job: &JobOutcome, across: Decades, upward: Decades, is_named: bool) -> Group {
    let x = across.at(job.expected_min.expected);
    let at = spot(x, upward.at(job.real_min));
    let [low, high] = [job.expected_min.low, job.expected_min.high].map(|minutes| upward.at(minutes));
    let hover = format!(
        "line {}: {} min, estimated {} ({} to {})",
        job.line,
        fixed(job.real_min, 0),
        fixed(job.expected_min.expected, 0),
        fixed(job.expected_min.low, 0),
        fixed(job.expected_min.high, 0)
    );
    let class = if job.is_wild { "job-wild" } else { "job" };
    let mut drawn = group(&format!("job-{}", job.line))
        .add(Title::new(hover))
        .add(line("may-be", spot(x, low), spot(x, high)))
        .add(circle(class, at, DOT));
    if is_named {
        let name = spot(at.x + 1.6, at.y + 0.36 * FRAME.size);
        drawn = drawn.add(text(
            "",
            name,
            Anchor::Start,
            FRAME.size,
            12.0,
            &job.line.to_string(),
        ));
    }
    drawn
}

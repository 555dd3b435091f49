//! Finished jobs: estimate across, actual upward, both in decades. What was estimated right lies on the diagonal; the stroke of
//! a mark is where 95 % of such jobs lie.

use svg::node::element::{Group, Title};

use super::DOT;
use crate::calibrate::JobOutcome;
use crate::message::number::fixed;
use crate::report::svg::plot::{self, Plot, Scale};
use crate::report::svg::sheet::{Area, Lettering, group, line, picture, spot};
use crate::report::svg::signs::dot;

const PLOT: Plot = Plot::new(Area::new(16.0, 10.0, 150.0, 110.0), 3.0);
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
    let area = PLOT.area;
    let minutes = jobs
        .iter()
        .flat_map(|job| [job.real_min, job.expected_min.low, job.expected_min.high]);
    let (across, upward) = (PLOT.across(minutes.clone()), PLOT.upward(minutes));
    let (corner, opposite) = (spot(area.x, area.bottom()), spot(area.right(), area.y));
    let mut drawn = PLOT.axes(across, upward).add(line("just", corner, opposite));
    // The worst lie on top.
    for (rank, job) in jobs.iter().enumerate().rev() {
        drawn = drawn.add(mark(job, across, upward, rank < NAMED));
    }
    let name = Lettering::new("", 1.2 * PLOT.size);
    let below = spot(area.x, area.bottom() + 10.5);
    let drawn = drawn
        .add(name.write(below, 140.0, "estimated, minutes; numbers are lines of the log"))
        .add(name.write(spot(area.x - 10.0, area.y - 3.5), 140.0, "actual, minutes"));
    let style = [plot::STYLE, STYLE].concat();
    let picture = picture(ROOM, "Actual against estimated minutes of finished jobs", &style);
    Some(picture.add(drawn).to_string())
}

fn mark(job: &JobOutcome, across: Scale, upward: Scale, is_named: bool) -> Group {
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
        .add(dot(class, at, DOT));
    if is_named {
        let name = Lettering::new("", PLOT.size);
        drawn = drawn.add(name.write_level(spot(at.x + 1.6, at.y), 12.0, &job.line.to_string()));
    }
    drawn
}

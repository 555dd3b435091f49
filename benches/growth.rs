//! How the cost of each room grows with the number of segments. `cargo bench --bench growth`, or with a number of
//! segments to run that size alone.
//!
//! The exponent in the last column is the slope from the size before to the largest one: 1 is linear. The last two rows are
//! yardsticks for what n log n and the caches of the machine leave possible: sorting as many points, and looking each one up
//! in an index of as many boxes.
//!
//! `cargo bench --bench growth -- inspect` runs the whole command over every family of hard drawings with 10⁴, 10⁵ and 10⁶ segments
//! (`-- plan` plans them with four passes instead), and prints the processor time, the memory and the exponent of the time over all sizes.
//! A word more names another binary. What has taken [`MOST_CPU`] is stopped, and larger ones of its family are not tried. Linux only.

mod bench;

use std::path::Path;
use std::process::{Command, ExitStatus, Stdio};
use std::thread::sleep;
use std::time::Duration;

use bench::families::{ALL, Ending, Family};
use bench::{dxf_of_lines, shortest, sides, wavy};
use kerfwright::check::{self, Stage, Subject};
use kerfwright::geometry::{Point, Polyline, SegmentIndex};
use kerfwright::job::{Purposes, Reading};
use kerfwright::shop::Book;
use kerfwright::{Planner, contour, drawing, dxf, pass, report, toolpath};

const STEPS: [&str; 9] = [
    "read the tags",
    "curves",
    "contours",
    "one path, verified",
    "checks",
    "JSON",
    "SVG",
    "yardstick: points sorted",
    "yardstick: each looked up in an index",
];

/// Longer than the command may take for any of them.
const MOST_CPU: Duration = Duration::from_secs(60);

const PLAN: [&str; 8] = [
    "--thickness",
    "30",
    "--material",
    "tool-steel",
    "--wire",
    "0.25",
    "--passes",
    "4",
];

fn main() {
    let mut words = std::env::args().skip(1).filter(|word| !word.starts_with('-'));
    match words.next().as_deref() {
        Some(command @ ("inspect" | "plan")) => families(command, words.next().as_deref()),
        _ => rooms(),
    }
}

/// Prints what the command takes for every family.
fn families(command: &str, binary: Option<&str>) {
    let binary = binary.unwrap_or(env!("CARGO_BIN_EXE_kerfwright"));
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    println!("| `{command}`, CPU s (MB) | has to be | 10⁴ segments | 10⁵ | 10⁶ | exponent |");
    println!("|---|---|--:|--:|--:|--:|");
    for Family { name, ending, make } in ALL {
        let mut taken: Vec<(f64, u64, Option<ExitStatus>)> = Vec::new();
        for segments in [10_000, 100_000, 1_000_000] {
            if taken.last().is_some_and(|(_, _, status)| status.is_none()) {
                break;
            }
            let file = folder.join("family.dxf");
            std::fs::write(&file, make(segments)).expect("the folder can be written to");
            let mut run = Command::new(binary);
            run.arg(command)
                .arg(&file)
                .args(PLAN.iter().filter(|_| command == "plan"));
            taken.push(measured(&mut run));
        }
        let cell = |i: usize| match taken.get(i) {
            Some((seconds, mb, Some(status))) => {
                format!(
                    "{seconds:.2} ({mb}){}",
                    if status.code() == Some(2) { ", refused" } else { "" }
                )
            }
            Some((seconds, _, None)) => format!("> {seconds:.0}"),
            None => String::new(),
        };
        let exponent = match taken[..] {
            [(first, ..), _, (last, _, Some(_))] => format!("{:.2}", (last / first).log10() / 2.0),
            _ => String::new(),
        };
        let ending = match ending {
            Ending::Done => "done",
            Ending::Bounded => "bounded",
            Ending::Refused => "refused",
        };
        println!(
            "| {name} | {ending} | {} | {} | {} | {exponent} |",
            cell(0),
            cell(1),
            cell(2)
        );
    }
}

/// Runs a command; returns its processor time, s, its peak memory, MB, and how it ended: `None` when it was stopped.
fn measured(command: &mut Command) -> (f64, u64, Option<ExitStatus>) {
    let before = processor_time("self", &CHILDREN);
    let mut child =
        (command.stdout(Stdio::null()).stderr(Stdio::null()).spawn()).expect("the command starts");
    let process = child.id().to_string();
    let (mut mb, mut stopped) = (0, false);
    while child.try_wait().expect("it can be waited for").is_none() {
        mb = mb.max(peak_mb(&process));
        if processor_time(&process, &OWN) > MOST_CPU && !stopped {
            child.kill().expect("it can be stopped");
            stopped = true;
        }
        sleep(Duration::from_millis(2));
    }
    let status = child.wait().expect("it has ended");
    let taken = processor_time("self", &CHILDREN).saturating_sub(before);
    (taken.as_secs_f64(), mb, (!stopped).then_some(status))
}

/// Places of the user's and the system's time in what the kernel tells, of a process and of those it has waited for (proc_pid_stat(5)).
const OWN: [usize; 2] = [11, 12];
const CHILDREN: [usize; 2] = [13, 14];

fn processor_time(process: &str, places: &[usize]) -> Duration {
    let stat = std::fs::read_to_string(format!("/proc/{process}/stat")).unwrap_or_default();
    let fields: Vec<&str> = stat.rsplit(") ").next().unwrap_or_default().split(' ').collect();
    // In hundredths of a second (USER_HZ).
    let ticks = places
        .iter()
        .filter_map(|&place| fields.get(place)?.parse::<u64>().ok());
    Duration::from_millis(10 * ticks.sum::<u64>())
}

fn peak_mb(process: &str) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kb = peak.and_then(|words| words.split_whitespace().next()?.parse::<u64>().ok());
    kb.unwrap_or_default() / 1024
}

/// Prints how the time of each room grows.
fn rooms() {
    let asked: Option<usize> = std::env::args()
        .skip(1)
        .find_map(|argument| argument.parse().ok());
    let sizes = asked.map_or_else(|| vec![1_000, 10_000, 100_000, 1_000_000], |size| vec![size]);
    let columns: Vec<Vec<Duration>> = sizes.iter().map(|&size| steps(size)).collect();
    println!(
        "| step, ms | {} | exponent |",
        sizes
            .iter()
            .map(|size| format!("{size} segments"))
            .collect::<Vec<_>>()
            .join(" | ")
    );
    println!("|---|{}--:|", "--:|".repeat(sizes.len()));
    for (i, step) in STEPS.iter().enumerate() {
        let times: Vec<f64> = columns.iter().map(|column| column[i].as_secs_f64()).collect();
        let cells: Vec<String> = times.iter().map(|time| format!("{:.2}", time * 1e3)).collect();
        let exponent = match times[..] {
            [.., before, last] => format!("{:.2}", (last / before).log10()),
            _ => String::new(),
        };
        println!("| {step} | {} | {exponent} |", cells.join(" | "));
    }
}

/// The shortest time of each step, in the order of [`STEPS`].
fn steps(segments: usize) -> Vec<Duration> {
    let text = dxf_of_lines(sides(&wavy(segments)));
    let (reading, uses) = (Reading::default(), Purposes::default());
    let book = Book::built_in().expect("the built-in book is sound");
    let ask = pass::PassRequest::new("tool-steel", 30.0, 0.25, 4);

    let document = dxf::read(text.as_bytes()).expect("our own drawing can be read");
    let drawn = drawing::from_document(&document, &reading).expect("our own drawing makes curves");
    let contours = contour::build(&drawn, &reading, &uses);
    let outline = &contours.list[0].polyline;
    let planned = Planner::new(&book).job(&ask.job()).plan("waves", text.as_bytes());
    let planned = planned.expect("it can be planned");
    let wires = pass::wire_reach(&book);
    let subject = Subject {
        drawing: &planned.inspection.drawing,
        contours: &planned.inspection.contours,
        questions: &planned.inspection.questions,
        toolpaths: Some(&planned.toolpaths),
        process: Some(&planned.process),
        groups: Vec::new(),
        wires: &wires,
        rules: &book.rules,
    };

    vec![
        shortest(|| dxf::read(text.as_bytes())),
        shortest(|| drawing::from_document(&document, &reading)),
        shortest(|| contour::build(&drawn, &reading, &uses)),
        shortest(|| toolpath::offset(outline, 0.125)),
        shortest(|| check::run(&subject, Stage::Path)),
        shortest(|| report::json::plan(&planned)),
        shortest(|| report::svg::plan(&planned, report::Lengths::Mm)),
        shortest(|| sorted(outline)),
        shortest(|| looked_up(outline)),
    ]
}

/// The vertices in the order of one coordinate, then the other.
fn sorted(outline: &Polyline) -> Vec<Point> {
    let mut points: Vec<Point> = outline.vertices.iter().map(|v| v.at).collect();
    points.sort_unstable_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points
}

/// How many segments touch one another by their boxes.
fn looked_up(outline: &Polyline) -> usize {
    let index = SegmentIndex::of([outline]);
    let touching = index
        .segments()
        .iter()
        .map(|segment| index.near(segment.bounds()).count());
    touching.sum()
}

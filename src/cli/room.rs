use std::path::PathBuf;

use clap::{Args, ValueHint};

use super::demand::DemandArgs;
use super::display::DisplayArgs;
use super::job_keys::OUTPUT;
use super::reading::ReadingArgs;
use super::{Exit, Failure, book, input, output};
use crate::gauge::{minutes_of, read_room_log};
use crate::message::Message;
use crate::plan::Planner;
use crate::report;

/// `room LOG.csv FILE …`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: kerfwright room fixtures/shop/room.csv fixtures/clock/front-plate.dxf --thickness 8 --material mild-steel \
                  --wire 0.25 --passes 2 --assume-sides"
)]
pub struct RoomArgs {
    /// The log of the room, a CSV file with a heading row: `time` (2026-11-29 08:30), `room_c`, and where they are there
    /// `humidity_percent` and `part_c`
    log: PathBuf,

    /// The drawing, a DXF file, or a job file in TOML; `-` reads a drawing from standard input
    file: PathBuf,

    #[command(flatten)]
    demand: DemandArgs,

    #[command(flatten)]
    reading: ReadingArgs,

    #[command(flatten)]
    pub(super) display: DisplayArgs,

    /// Time constant of the part, minutes; else fitted to the column `part_c` of the log
    #[arg(long, value_name = "MINUTES", value_parser = lag_min, value_hint = ValueHint::Other, help_heading = OUTPUT)]
    lag: Option<f64>,

    /// When the order begins, by the clock of the log; else with its first reading
    #[arg(long, value_name = "TIME", value_parser = clock, value_hint = ValueHint::Other, help_heading = OUTPUT)]
    begins: Option<f64>,

    /// Print JSON
    #[arg(long, conflicts_with = "svg", help_heading = OUTPUT)]
    json: bool,

    /// Print room and part over the clock as SVG
    #[arg(long, help_heading = OUTPUT)]
    svg: bool,
}

/// Reads a time constant.
fn lag_min(text: &str) -> Result<f64, String> {
    const LONGEST: f64 = 100_000.0;
    let minutes = text
        .parse::<f64>()
        .ok()
        .filter(|minutes| *minutes > 0.0 && *minutes <= LONGEST);
    minutes.ok_or_else(|| format!("give minutes above 0, at most {LONGEST}"))
}

/// Reads a time of the clock.
fn clock(text: &str) -> Result<f64, String> {
    minutes_of(text).ok_or_else(|| "write it as `2026-11-29 08:30`".to_owned())
}

impl RoomArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.demand.book())?;
        let log = read_room_log(&input::read_log(&self.log)?.text);
        let flaws: Vec<Message> = log
            .flaws
            .iter()
            .map(|flaw| Message::from(flaw.to_string()))
            .collect();
        let order = self.demand.order(&self.file, &self.reading)?;
        let input = input::read(&order.drawing, self.reading.largest_file)?;
        let plan = Planner::new(&book)
            .job(&order.job)
            .plan(&input.name, input.bytes)
            .map_err(|error| Failure::of_plan(&order.drawing, error))?;
        let drift = plan
            .in_room(log, self.begins, self.lag)
            .ok_or_else(|| Failure::NoRoom {
                file: self.log.clone(),
                reasons: flaws,
            })?;
        if self.json {
            output::print_bytes(report::json::part_in_room(&plan, &drift).as_bytes())?;
        } else if self.svg {
            output::print_bytes(report::svg::part_in_room(&plan, &drift).as_bytes())?;
        } else {
            output::print(&report::terminal::part_in_room(
                &plan,
                &drift,
                self.display.lengths,
            ))?;
        }
        Ok(Exit::Clean)
    }
}

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;

use super::output::Format;
use super::reading::ReadingArgs;
use super::{Exit, Failure, input, output};
use crate::pass::Ask;
use crate::shop::Book;
use crate::{plan, report};

/// `plan FILE …`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: kerfwright plan fixtures/clock/ratchet.dxf --thickness 8 --material tool-steel \
                  --wire 0.25 --passes 3 --out plans"
)]
pub struct Plan {
    /// The drawing, a DXF file; `-` reads standard input
    file: String,

    #[command(flatten)]
    ask: AskArgs,

    #[command(flatten)]
    reading: ReadingArgs,

    /// Print JSON
    #[arg(long, conflicts_with = "svg")]
    json: bool,

    /// Print the drawing sheet as SVG
    #[arg(long)]
    svg: bool,

    /// Write the results into this folder
    #[arg(short, long, value_name = "DIR")]
    out: Option<PathBuf>,

    /// What to write there
    #[arg(long, value_name = "FORMATS", value_delimiter = ',', default_values = ["svg", "json", "dxf", "html"])]
    formats: Vec<Format>,
}

/// What is asked of the cut.
#[derive(Debug, Args)]
#[command(next_help_heading = "What is asked")]
struct AskArgs {
    /// Thickness of the work
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    thickness: f64,

    /// Name of the material in the book
    #[arg(long, value_name = "NAME")]
    material: String,

    /// Diameter of the wire
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    wire: f64,

    /// Kind of wire in the book [default: the book's usual one]
    #[arg(long, value_name = "NAME")]
    wire_kind: Option<String>,

    /// Number of passes: the rough cut and its skims
    #[arg(long, value_name = "N")]
    passes: usize,

    /// Shift of the finished wall into the material (negative: out of it)
    #[arg(long, value_name = "MM", default_value_t = 0.0, allow_negative_numbers = true)]
    aim: f64,

    /// Name of the machine in the book [default: the book's usual one]
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,

    /// The shop's own book, laid over the built-in one
    #[arg(long, value_name = "FILE")]
    book: Option<PathBuf>,
}

impl Plan {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book(self.ask.book.as_deref())?;
        let input = input::read(&self.file)?;
        let (reading, uses) = (self.reading.reading(), self.reading.uses());
        let ask = self.ask.ask();
        let plan = plan::plan(&input.name, &input.bytes, &reading, &uses, &book, &ask)
            .map_err(|error| Failure::of_plan(&self.file, error))?;
        if let Some(folder) = &self.out {
            output::write_all(folder, &self.files(&input.name, &plan)?)?;
        }
        if self.json {
            output::print_bytes(report::json::plan(&plan).as_bytes())?;
        } else if self.svg {
            output::print_bytes(report::svg::plan(&plan).as_bytes())?;
        } else {
            output::print(&report::terminal::plan(&plan))?;
        }
        Ok(Exit::of(&plan.inspection.findings))
    }
}

impl Plan {
    /// The results that are wanted, each with its name.
    fn files(&self, name: &str, plan: &plan::Plan) -> Result<Vec<(String, Vec<u8>)>, Failure> {
        let write = |format: &Format| {
            let content = match format {
                Format::Svg => report::svg::plan(plan).into_bytes(),
                Format::Json => report::json::plan(plan).into_bytes(),
                Format::Html => report::html::plan(plan).into_bytes(),
                Format::Dxf => report::dxf::plan(plan).map_err(|source| Failure::Output {
                    path: format.file_name(name).into(),
                    source,
                })?,
            };
            Ok((format.file_name(name), content))
        };
        self.formats.iter().map(write).collect()
    }
}

impl AskArgs {
    fn ask(&self) -> Ask {
        Ask {
            wire_kind: self.wire_kind.clone(),
            aim_mm: self.aim,
            machine: self.machine.clone(),
            ..Ask::new(&self.material, self.thickness, self.wire, self.passes)
        }
    }
}

/// The built-in book, with the shop's own over it.
pub(super) fn book(own: Option<&Path>) -> Result<Book, Failure> {
    let Some(path) = own else {
        return Ok(Book::built_in().expect("the built-in book is sound: its own tests say so"));
    };
    let text = fs::read_to_string(path).map_err(|source| Failure::Book {
        path: path.into(),
        source,
    })?;
    Book::layered(&text).map_err(|flaws| Failure::BookFlaws {
        path: path.into(),
        flaws,
    })
}

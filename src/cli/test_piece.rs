use std::io;
use std::path::{Path, PathBuf};

use clap::{Args, ValueHint};

use super::input::Input;
use super::output::{FileContent, Format, bytes};
use super::results::{DrawingDigest, OverwriteArgs};
use super::{Exit, Failure, book, output};
use crate::gauge::TestPiece;
use crate::job::length::length;
use crate::pass::PassRequest;
use crate::plan::{Plan, Planner};
use crate::report::dxf::CautionText;
use crate::report::{self, Coverage, Lengths};
use crate::shop::Book;

/// The drawing of a test piece; its other files are named after it.
const DRAWING: &str = "test-piece.dxf";

/// `test-piece …`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example: kerfwright test-piece --material tool-steel --thickness 30 --wire 0.25 --passes 4 --out test-piece"
)]
pub struct TestPieceArgs {
    /// Name of the material in the book
    #[arg(short, long, value_name = "NAME", value_hint = ValueHint::Other)]
    material: String,

    /// Thickness of the piece: that of the work to come
    #[arg(short, long, value_name = "LENGTH", value_parser = length, value_hint = ValueHint::Other)]
    thickness: f64,

    /// Diameter of the wire
    #[arg(short, long, value_name = "LENGTH", value_parser = length, value_hint = ValueHint::Other)]
    wire: f64,

    /// Kind of wire in the book [default: the book's]
    #[arg(long, value_name = "NAME", value_hint = ValueHint::Other)]
    wire_kind: Option<String>,

    /// Name of the machine in the book [default: the book's]
    #[arg(long, value_name = "NAME", value_hint = ValueHint::Other)]
    machine: Option<String>,

    /// Number of passes of the work to come: each leaves a pin and an opening
    #[arg(short, long, value_name = "N", value_hint = ValueHint::Other)]
    passes: usize,

    /// The shop's own book, laid over the built-in one
    #[arg(short, long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    book: Option<PathBuf>,

    /// Write drawing, job, plan and forms into this folder
    #[arg(short, long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    out: PathBuf,

    #[command(flatten)]
    over: OverwriteArgs,

    /// Print the plan as JSON
    #[arg(long)]
    json: bool,
}

impl TestPieceArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        let book = book::load(self.book.as_deref())?;
        let piece = TestPiece::new(&book, &self.request(&book)?)?;
        let failed = |source| Failure::Output {
            path: self.out.clone(),
            source,
        };
        let drawing = report::dxf::test_piece(&piece).map_err(failed)?;
        let job = piece.job(DRAWING);
        let plan = Planner::new(&book)
            .job(&job)
            .plan(DRAWING, drawing.clone())
            .map_err(|error| Failure::of_plan(Path::new(DRAWING), error))?;
        let made = MadePiece {
            book: &book,
            piece: &piece,
            drawing,
            job: job.to_text()?,
            plan: &plan,
        };
        self.over
            .write(&self.out, &made.digest(), made.files().map_err(failed)?)?;
        if self.json {
            output::print_written(|out| report::json::write_plan(&plan, out))?;
        } else {
            output::print(&report::terminal::plan(&plan, Coverage::Usual, Lengths::Mm))?;
        }
        Ok(Exit::of(&plan.inspection.findings))
    }

    /// The passes to be gauged, with every default of the book named.
    fn request(&self, book: &Book) -> Result<PassRequest, Failure> {
        let mut request = PassRequest::new(&self.material, self.thickness, self.wire, self.passes);
        request.wire_kind.clone_from(&self.wire_kind);
        request.machine.clone_from(&self.machine);
        let setting = request.setting(book)?;
        let (material, kind, machine) = (setting.material, setting.wire.kind, setting.machine);
        Ok(PassRequest {
            material: material.name.clone(),
            wire_kind: Some(kind.name.clone()),
            machine: Some(machine.name.clone()),
            ..request
        })
    }
}

/// A test piece with its plan.
struct MadePiece<'a> {
    book: &'a Book,
    piece: &'a TestPiece,
    drawing: Vec<u8>,
    job: String,
    plan: &'a Plan,
}

impl<'a> MadePiece<'a> {
    /// Tells pieces apart by what they are cut with.
    fn digest(&self) -> DrawingDigest {
        let mut held = self.drawing.clone();
        held.extend(self.job.as_bytes());
        let input = Input {
            name: DRAWING.to_owned(),
            bytes: held,
        };
        DrawingDigest::of(Path::new("-"), &input)
    }

    /// Returns all files, each with its name.
    fn files(self) -> io::Result<Vec<(String, FileContent<'a>)>> {
        let Self {
            book,
            piece,
            drawing,
            job,
            plan,
        } = self;
        let form = piece.form(&book.gauging)?;
        let written = |write: fn(&Plan, &mut dyn io::Write) -> io::Result<()>| -> FileContent<'a> {
            Box::new(move |out| write(plan, out))
        };
        Ok(vec![
            (DRAWING.to_owned(), bytes(drawing)),
            ("test-piece.toml".to_owned(), bytes(job)),
            (
                "test-piece-form.html".to_owned(),
                bytes(report::html::gauging_form(piece, plan)),
            ),
            ("test-piece-readings.csv".to_owned(), bytes(form)),
            (
                Format::Svg.file_name(DRAWING),
                written(|plan, out| report::svg::write_plan(plan, Lengths::Mm, out)),
            ),
            (Format::Json.file_name(DRAWING), written(report::json::write_plan)),
            (
                Format::Dxf.file_name(DRAWING),
                written(|plan, out| report::dxf::write_plan(plan, CautionText::Written, out)),
            ),
            (
                Format::Html.file_name(DRAWING),
                written(|plan, out| report::html::write_plan(plan, None, out)),
            ),
        ])
    }
}

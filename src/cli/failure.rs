use std::io;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::calibrate::FEWEST_JOBS;
use crate::check::{known_in_words, names_in_words};
use crate::contour::MissingName;
use crate::gauge;
use crate::job::{DemandError, JobFileError};
use crate::message::{Message, message};
use crate::pass;
use crate::plan;
use crate::report::{self, Lengths};
use crate::shop::{Flaws, MaterialError, MinutesHold, WireError};

/// Why the command could not run. Prints as one clear error and, where there is one, the thing to try.
#[derive(Debug, Error)]
pub enum Failure {
    /// The drawing cannot be opened or read.
    #[error("{file}: cannot be read: {source}")]
    Input {
        /// As the user wrote it.
        file: PathBuf,
        /// The message of the system.
        source: io::Error,
    },
    /// The drawing's path is a directory.
    #[error("{file}: is a directory, not a drawing")]
    InputIsDirectory {
        /// As the user wrote it.
        file: PathBuf,
    },
    /// The drawing cannot be understood.
    #[error("{file}: {source}")]
    Drawing {
        /// As the user wrote it.
        file: PathBuf,
        /// What is wrong.
        source: plan::Error,
    },
    /// The book has nothing for the job.
    #[error(transparent)]
    PassRequest(#[from] pass::Error),
    /// The book cannot be read.
    #[error("{}: cannot be read: {source}", path.display())]
    Book {
        /// As the user wrote it.
        path: PathBuf,
        /// The message of the system.
        source: io::Error,
    },
    /// The book is not sound.
    #[error("{}: {flaws}", path.display())]
    BookFlaws {
        /// As the user wrote it.
        path: PathBuf,
        /// Everything that is wrong in it.
        flaws: Flaws,
    },
    /// The job file cannot be understood.
    #[error("{file}: {source}")]
    Job {
        /// As the user wrote it.
        file: PathBuf,
        /// What is wrong.
        source: JobFileError,
    },
    /// The job file names no drawing.
    #[error("{file}: names no drawing")]
    NoDrawing {
        /// As the user wrote it.
        file: PathBuf,
    },
    /// No job file can name the drawing.
    #[error("{file}: a job file cannot name this drawing: it needs a file with a name in Unicode")]
    DrawingUnnamed {
        /// As the user wrote it.
        file: PathBuf,
    },
    /// A requirement cannot be read.
    #[error(transparent)]
    Demand(#[from] DemandError),
    /// The job holds an impossible number.
    #[error("{}{error}", option.map(|option| format!("--{option}: ")).unwrap_or_default())]
    Asked {
        /// What is wrong.
        error: JobFileError,
        /// The option by which it is given, where it is by one.
        option: Option<&'static str>,
    },
    /// Neither the command line nor a job file gives it.
    #[error("no {what} is given")]
    NotAsked {
        /// What is missing.
        what: &'static str,
        /// Its key in a job file.
        key: &'static str,
    },
    /// No entry of the book has this in its name.
    #[error("no entry of the book has `{word}` in its name")]
    NoEntry {
        /// As the user wrote it.
        word: String,
    },
    /// The log is no text.
    #[error("{file}: is no CSV text in UTF-8")]
    LogText {
        /// As the user wrote it.
        file: PathBuf,
    },
    /// The readings of a test piece say nothing.
    #[error("{file}: nothing can be learned from it:\n  {source}")]
    Readings {
        /// As the user wrote it.
        file: PathBuf,
        /// What is wrong.
        source: gauge::Error,
    },
    /// Nothing says what the minutes of the log hold.
    #[error("{file}: does not say what its minutes hold:\n  {}", minutes_hold_in_words())]
    MinutesOpen {
        /// As the user wrote it.
        file: PathBuf,
    },
    /// The log supports no fit.
    #[error("{file}: nothing can be learned from it:\n  {}", reasons.join("\n  "))]
    NothingLearned {
        /// As the user wrote it.
        file: PathBuf,
        /// Why not, wire by wire and line by line.
        reasons: Vec<Message>,
    },
    /// The log holds no reading on a wall.
    #[error("{file}: no reading on a wall can be taken from it:\n  {}", reasons.join("\n  "))]
    NoReadings {
        /// As the user wrote it.
        file: PathBuf,
        /// Why not, line by line.
        reasons: Vec<Message>,
    },
    /// The log holds no reading of a room.
    #[error("{file}: no reading of a room can be taken from it:\n  {}", reasons.join("\n  "))]
    NoRoom {
        /// As the user wrote it.
        file: PathBuf,
        /// Why not, line by line.
        reasons: Vec<Message>,
    },
    /// The file for the result is there already.
    #[error("{}: is there already; nothing was written", path.display())]
    OutputExists {
        /// The file.
        path: PathBuf,
    },
    /// A result of another drawing, or a file of somebody else, stands where a result is to go.
    #[error("{}: is there already, and was not made from this drawing; nothing was written", path.display())]
    OtherResult {
        /// The file.
        path: PathBuf,
    },
    /// The folder for the results cannot be made or written.
    #[error("{}: cannot be written: {source}", path.display())]
    Output {
        /// The file or folder.
        path: PathBuf,
        /// The message of the system.
        source: io::Error,
    },
    /// The path for the results is a file.
    #[error("{}: is a file, not a folder for the results", path.display())]
    OutputIsFile {
        /// The path.
        path: PathBuf,
    },
    /// A drawing does not have what the job names.
    #[error("{file}: {}", names_in_words(names))]
    Names {
        /// As the user wrote it.
        file: PathBuf,
        /// What is named.
        names: Vec<MissingName>,
    },
    /// No drawing of a quote has what is named for all of them.
    #[error(
        "in none of the {drawings} drawings that can be read: {}",
        names_in_words(names)
    )]
    NamesInNone {
        /// How many drawings were looked through.
        drawings: usize,
        /// What is named.
        names: Vec<MissingName>,
    },
    /// No drawing is named.
    #[error("no drawing is named")]
    NothingToQuote,
    /// The table's name says no format.
    #[error("{}: a table is .csv or .jsonl", path.display())]
    TableFormat {
        /// As the user wrote it.
        path: PathBuf,
    },
    /// The file for the table holds something else.
    #[error("{}, line {line}: is no row of a quote; nothing was written", path.display())]
    OtherTable {
        /// As the user wrote it.
        path: PathBuf,
        /// The first line that is none.
        line: usize,
    },
    /// The table's path is a folder or a device.
    #[error("{}: is no file; a table is one", path.display())]
    TableNoFile {
        /// As the user wrote it.
        path: PathBuf,
    },
    /// Another run writes the table.
    #[error("{}: another run is writing this table", path.display())]
    TableBusy {
        /// As the user wrote it.
        path: PathBuf,
    },
    /// Nobody would work.
    #[error("0 workers would do nothing")]
    NoWorkers,
    /// The workers cannot begin.
    #[error("the workers cannot begin: {0}")]
    Workers(String),
    /// Standard output cannot be written.
    #[error("standard output cannot be written: {0}")]
    Stdout(io::Error),
    /// The page cannot be opened.
    #[error("http://{at}/: cannot be answered on: {source}")]
    Listen {
        /// Address and port.
        at: SocketAddr,
        /// The message of the system.
        source: io::Error,
    },
    /// No output has this name.
    #[error("no output is named `{name}`")]
    UnknownSchema {
        /// As the user wrote it.
        name: String,
        /// The nearest name there is.
        nearest: Option<&'static str>,
    },
    /// No check has this name.
    #[error("no check is named `{name}`")]
    UnknownCheck {
        /// As the user wrote it.
        name: String,
        /// The nearest name there is.
        nearest: Option<&'static str>,
    },
}

impl Failure {
    /// Explains why `file` could not be inspected or planned.
    pub(super) fn of_plan(file: &Path, error: plan::Error) -> Self {
        match error {
            plan::Error::Pass(error) => Self::PassRequest(error),
            plan::Error::Demand(error) => Self::Demand(error),
            plan::Error::Job(error) => error.into(),
            plan::Error::NotAsked { what, key } => Self::NotAsked { what, key },
            plan::Error::Names { names } => Self::Names {
                file: file.into(),
                names,
            },
            source => Self::Drawing {
                file: file.into(),
                source,
            },
        }
    }

    /// Says it.
    fn message(&self) -> Message {
        match self {
            Self::Drawing { file, source } => {
                message!("{}: {}", file.display().to_string(), source.message())
            }
            Self::PassRequest(error) => error.message(),
            Self::Job { file, source } => message!("{}: {}", file.display().to_string(), source.message()),
            Self::Demand(error) => error.message(),
            Self::NothingLearned { file, reasons } => message!(
                "{}: nothing can be learned from it:\n  {}",
                file.display().to_string(),
                Message::joined(reasons.iter().cloned(), "\n  ")
            ),
            _ => self.to_string().into(),
        }
    }

    /// Prints it to standard error.
    pub fn print(&self, lengths: Lengths) {
        // When standard error is gone too there is nobody left to tell.
        let _ = report::terminal::print_failure(
            &mut anstream::stderr(),
            &self.message(),
            self.help().as_deref(),
            lengths,
        );
    }

    fn help(&self) -> Option<String> {
        match self {
            Self::Input { source, .. } | Self::Book { source, .. } | Self::Output { source, .. }
                if source.kind() == io::ErrorKind::ResourceBusy =>
            {
                Some("close it there, then run this again".into())
            }
            Self::Input { source, .. } if source.kind() == io::ErrorKind::NotFound => {
                Some("give the path of a DXF drawing, or `-` to read one from standard input".into())
            }
            Self::InputIsDirectory { .. } => Some("give the path of one DXF drawing".into()),
            Self::Output { .. } | Self::OutputIsFile { .. } => {
                Some("give another folder with `--out DIR`; nothing was left half-written".into())
            }
            Self::UnknownCheck { nearest, .. } => Some(match nearest {
                Some(name) => format!("did you mean `{name}`?"),
                None => "`kerfwright explain` lists every check".into(),
            }),
            Self::UnknownSchema { nearest, .. } => Some(match nearest {
                Some(name) => format!("did you mean `{name}`?"),
                None => "`kerfwright schema` lists every output".into(),
            }),
            Self::PassRequest(error) => Some(pass_help(error).into()),
            Self::Book { .. } => Some("give the path of a book in TOML with `--book FILE`".into()),
            Self::Drawing {
                source: plan::Error::Impossible { .. },
                ..
            } => Some(
                "`kerfwright compare` shows every wire and number of passes with what stands against it"
                    .into(),
            ),
            Self::Names { names, .. } | Self::NamesInNone { names, .. } => {
                let there: Vec<String> = names.iter().map(known_in_words).collect();
                Some(format!("{}; `kerfwright inspect` lists them", there.join("; ")))
            }
            Self::NoDrawing { .. } => Some("write `drawing = \"part.dxf\"`, relative to the job file".into()),
            Self::DrawingUnnamed { .. } => Some("save the drawing as a file, such as `part.dxf`".into()),
            Self::NotAsked { key, .. } => {
                let option = if *key == "material" {
                    "--material NAME"
                } else {
                    "--thickness MM"
                };
                Some(format!("give it with `{option}`, or as `{key}` in a job file"))
            }
            Self::Demand(DemandError::Finish { .. }) => Some("write it as `--finish \"Ra 0.4\"`".into()),
            Self::Demand(DemandError::Tolerance { .. }) => Some("write it as `--tolerance 25H7`".into()),
            Self::NothingToQuote => Some(
                "give drawings, folders, patterns, job files, or a list on standard input with `-`".into(),
            ),
            Self::TableFormat { .. } => Some("name it so, such as `--out quote.csv`".into()),
            Self::OtherTable { .. } | Self::TableNoFile { .. } => {
                Some("name another table with `--out TABLE`".into())
            }
            Self::TableBusy { .. } => Some("wait for it, or name another table with `--out TABLE`".into()),
            Self::NoWorkers => Some("give `--workers 1` or more, or leave it out".into()),
            Self::NoEntry { .. } => Some("`kerfwright book show` lists every entry".into()),
            Self::OutputExists { .. } => Some("name another file with `--out FILE`".into()),
            Self::OtherResult { .. } => {
                Some("give another folder with `--out DIR`, or write over it with `--overwrite`".into())
            }
            Self::MinutesOpen { .. }
            | Self::NothingLearned { .. }
            | Self::NoReadings { .. }
            | Self::NoRoom { .. } => self.log_help(),
            Self::Listen { source, .. } if source.kind() == io::ErrorKind::AddrInUse => {
                Some("another program answers there; give another port with `--port N`, or 0 for any".into())
            }
            Self::Listen { .. }
            | Self::Input { .. }
            | Self::Drawing { .. }
            | Self::BookFlaws { .. }
            | Self::Job { .. }
            | Self::Asked { .. }
            | Self::LogText { .. }
            | Self::Readings { .. }
            | Self::Demand(DemandError::StopAfter)
            | Self::Workers(_)
            | Self::Stdout(_) => None,
        }
    }
}

impl Failure {
    /// What to do about a log.
    fn log_help(&self) -> Option<String> {
        match self {
            Self::MinutesOpen { .. } => Some(
                "add a column `minutes_hold` to the log, or say it of all rows with `--minutes-hold WHAT`"
                    .into(),
            ),
            Self::NothingLearned { .. } => Some(format!(
                "a fit needs {FEWEST_JOBS} finished jobs of one material and wire; log more of them"
            )),
            Self::NoReadings { .. } => Some(
                "a row a reading, with the columns `kind` (part or opening), `target_mm` and `measured_mm`"
                    .into(),
            ),
            Self::NoRoom { .. } => Some(
                "a row a reading, with the columns `time` (2026-11-29 08:30), `room_c` and, where it is there, `humidity_percent`"
                    .into(),
            ),
            _ => None,
        }
    }
}

/// The three and what each of them means.
fn minutes_hold_in_words() -> String {
    let all = MinutesHold::ALL.map(|hold| format!("`{hold}`: {}", hold.meaning()));
    all.join("\n  ")
}

/// Returns the option to try.
fn pass_help(error: &pass::Error) -> &'static str {
    match error {
        pass::Error::Material(MaterialError::Unknown { .. }) => {
            "name another with `--material NAME`, or put this one into your book (`--book FILE`)"
        }
        pass::Error::Material(MaterialError::Refused { .. } | MaterialError::Ambiguous { .. }) => {
            "name another material with `--material NAME`"
        }
        pass::Error::Wire(WireError::Size { .. } | WireError::NotMade { .. }) => {
            "give another diameter with `--wire MM`, or put this one into your book (`--book FILE`)"
        }
        pass::Error::Wire(WireError::Kind { .. }) => "name another kind with `--wire-kind NAME`",
        pass::Error::Machine(_) => "name another with `--machine NAME`, or put this one into your book",
        pass::Error::Thickness(_) => "give the thickness of the work with `--thickness MM`",
        pass::Error::TooThick { .. } => "give another diameter with `--wire MM`",
        pass::Error::Passes { .. } => "give another number with `--passes N`",
        pass::Error::Aim { .. } => "give millimetres with `--aim MM`, such as `--aim 0.005` for 5 µm",
    }
}

impl From<JobFileError> for Failure {
    fn from(error: JobFileError) -> Self {
        match error {
            JobFileError::Demand(error) => Self::Demand(error),
            error => Self::Asked { error, option: None },
        }
    }
}

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use super::input::{LARGEST_FILE_MB, file_text};
use super::{Exit, Failure, output};
use crate::report;
use crate::shop::{Book, STARTER};

/// `book show`, `book init`, `book check`.
#[derive(Debug, Args)]
#[command(after_help = "Example: kerfwright book show tool-steel")]
pub struct BookArgs {
    /// What to do with it
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    /// Print every number in force: its value, its band, where it comes from
    Show(ShowArgs),
    /// Start a book of the shop's own: a commented text with an example of every part
    Init(InitArgs),
    /// Read the shop's own book, report every flaw with its line, and doubt recipes that make no sense
    Check(CheckArgs),
}

#[derive(Debug, Args)]
struct ShowArgs {
    /// Only entries with this in their name
    word: Option<String>,

    /// The shop's own book, laid over the built-in one
    #[arg(long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    book: Option<PathBuf>,

    /// Print JSON
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
struct InitArgs {
    /// Write it into this new file instead of printing it
    #[arg(short, long, value_name = "FILE", value_hint = clap::ValueHint::FilePath)]
    out: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct CheckArgs {
    /// The shop's own book [default: the built-in one]
    file: Option<PathBuf>,
}

impl BookArgs {
    pub(super) fn run(&self) -> Result<Exit, Failure> {
        match &self.action {
            Action::Show(show) => show.run(),
            Action::Init(init) => init.run(),
            Action::Check(check) => check.run(),
        }
    }
}

impl ShowArgs {
    fn run(&self) -> Result<Exit, Failure> {
        let book = load(self.book.as_deref())?;
        let word = self.word.as_deref().unwrap_or_default().to_lowercase();
        let mut listed = book.numbers();
        listed.retain(|listed| listed.entry.to_lowercase().contains(&word));
        if listed.is_empty() {
            return Err(Failure::NoEntry { word });
        }
        if self.json {
            output::print_bytes(report::json::numbers(&listed).as_bytes())?;
        } else {
            output::print(&report::terminal::numbers(&listed))?;
        }
        Ok(Exit::Clean)
    }
}

impl InitArgs {
    fn run(&self) -> Result<Exit, Failure> {
        match &self.out {
            None => output::print_bytes(STARTER.as_bytes())?,
            Some(file) => output::write_new(file, STARTER.as_bytes())?,
        }
        Ok(Exit::Clean)
    }
}

impl CheckArgs {
    fn run(&self) -> Result<Exit, Failure> {
        let built_in = load(None)?;
        let told = match &self.file {
            None => report::terminal::doubts("built-in book", &built_in.doubts(), 0),
            Some(file) => match Book::layered(&text(file)?) {
                Err(flaws) => {
                    output::print(&report::terminal::flaws(&file.to_string_lossy(), &flaws))?;
                    return Ok(Exit::Findings);
                }
                Ok(book) => {
                    // What is doubtful as built in is none of this book's doing.
                    let known = built_in.doubts();
                    let (old, own): (Vec<_>, Vec<_>) =
                        book.doubts().into_iter().partition(|doubt| known.contains(doubt));
                    report::terminal::doubts(&file.to_string_lossy(), &own, old.len())
                }
            },
        };
        output::print(&told)?;
        Ok(Exit::Clean)
    }
}

/// Reads the built-in book, with the shop's own over it.
pub(super) fn load(own: Option<&Path>) -> Result<Book, Failure> {
    let Some(path) = own else {
        return Ok(Book::built_in().expect("the built-in book is sound: its own tests say so"));
    };
    Book::layered(&text(path)?).map_err(|flaws| Failure::BookFlaws {
        path: path.into(),
        flaws,
    })
}

fn text(path: &Path) -> Result<String, Failure> {
    file_text(path, LARGEST_FILE_MB).map_err(|source| Failure::Book {
        path: path.into(),
        source,
    })
}

//! The table: rows are added as they are done, each in one piece, so that whenever it is stopped the table holds whole rows
//! and the next run goes on from there.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::ffi::{OsStr, OsString};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use super::Done;
use crate::cli::input::file_bytes;
use crate::cli::output::StandardOutput;
use crate::cli::temporary::{LockFile, unbroken};
use crate::cli::{Failure, held_open, output};
use crate::report::quote::{Columns, QuoteRow, columns, from_json};
use crate::report::{Lengths, plain};

/// How a row is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Layout {
    /// CSV, below a line of column names.
    Csv(Lengths),
    /// JSON, one line a row.
    Json,
}

impl Layout {
    fn of(path: &Path, lengths: Lengths) -> Result<Self, Failure> {
        let extension = path.extension().and_then(OsStr::to_str).map(str::to_lowercase);
        match extension.as_deref() {
            Some("csv") => Ok(Self::Csv(lengths)),
            Some("jsonl") => Ok(Self::Json),
            _ => Err(Failure::TableFormat { path: path.into() }),
        }
    }

    fn head(self) -> String {
        match self {
            Self::Csv(lengths) => columns(lengths),
            Self::Json => String::new(),
        }
    }

    fn line(self, row: &QuoteRow) -> String {
        match self {
            Self::Csv(lengths) => row.csv(lengths),
            Self::Json => row.json(),
        }
    }
}

/// Rows with their places, by file and key.
type RowsByKey = HashMap<(String, String), Vec<(usize, QuoteRow)>>;

/// Rows of an earlier run: each may be taken once.
#[derive(Default)]
pub(super) struct Held(Mutex<RowsByKey>);

impl Held {
    fn of(rows: Vec<QuoteRow>) -> Self {
        let mut held = RowsByKey::new();
        for (at, row) in rows.into_iter().enumerate() {
            let key = (plain(&row.file), row.key.clone());
            held.entry(key).or_default().push((at, row));
        }
        Self(Mutex::new(held))
    }

    /// Takes the row of a file with this key, out of the table.
    pub(super) fn take(&self, file: &str, key: &str) -> Option<QuoteRow> {
        let mut rows = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        // As a table in CSV has it.
        let row = rows.get_mut(&(plain(file), key.to_owned()))?.pop();
        row.map(|(_, row)| row)
    }

    /// Takes out all that are left, in their order.
    fn left(&self) -> Vec<QuoteRow> {
        let mut rows = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let mut left: Vec<_> = rows.drain().flat_map(|(_, rows)| rows).collect();
        left.sort_by_key(|(at, _)| *at);
        left.into_iter().map(|(_, row)| row).collect()
    }
}

/// Where rows go.
pub(super) struct Table {
    layout: Layout,
    in_order: bool,
    to: To,
    held: Arc<Held>,
    /// Lines by the place of their drawing: those of a file, or those that wait to be printed.
    lines: BTreeMap<usize, String>,
    /// Rows of an earlier run that still hold.
    kept: usize,
    /// The table holds lines that are written otherwise now.
    stale: bool,
}

/// What became of the rows of an earlier run.
pub(super) struct Earlier {
    pub(super) kept: usize,
    /// They are of drawings of this run, or not wanted, and do not stand there any more.
    pub(super) dropped: usize,
    /// They are of drawings that were not named, and stay.
    pub(super) others: usize,
}

enum To {
    File {
        path: PathBuf,
        file: File,
        /// Held until the table is ended.
        _lock: LockFile,
    },
    Output {
        file: StandardOutput,
        next: usize,
    },
}

impl Table {
    /// Rows are printed.
    pub(super) fn print(layout: Layout, in_order: bool) -> Result<Self, Failure> {
        let mut file = output::standard_output().map_err(Failure::Stdout)?;
        file.write_all(layout.head().as_bytes())
            .map_err(Failure::Stdout)?;
        Ok(Self {
            layout,
            in_order,
            to: To::Output { file, next: 0 },
            held: Arc::default(),
            lines: BTreeMap::new(),
            kept: 0,
            stale: false,
        })
    }

    /// Rows go into the file `path`, beside those that stand there. A file that holds anything else is left alone.
    pub(super) fn open(
        path: &Path,
        lengths: Lengths,
        in_order: bool,
        largest_mb: u64,
    ) -> Result<Self, Failure> {
        let layout = Layout::of(path, lengths)?;
        let failed = |source| Failure::Output {
            path: path.into(),
            source,
        };
        // What is no file, such as a pipe or a device, may have no end.
        if path.exists() && !path.is_file() {
            return Err(Failure::TableNoFile { path: path.into() });
        }
        // A link stays one: what is locked, added to and replaced is the file that it leads to.
        let real = real_path(path).map_err(failed)?;
        let mut lock_name = OsString::from(".");
        lock_name.push(real.file_name().unwrap_or_default());
        lock_name.push(".lock");
        let lock_path = real.with_file_name(lock_name);
        let lock = LockFile::take(&lock_path).map_err(|source| Failure::Output {
            path: lock_path,
            source,
        })?;
        let lock = lock.ok_or_else(|| Failure::TableBusy { path: path.into() })?;
        if !real.exists() {
            table_file(&real).map_err(failed)?;
        }
        let bytes = file_bytes(&real, largest_mb).map_err(|source| Failure::Input {
            file: path.into(),
            source,
        })?;
        let found = earlier(layout, &bytes).map_err(|line| Failure::OtherTable {
            path: path.into(),
            line,
        })?;
        if found.other_columns {
            // Rows are added below: they need the columns of now above them before the first one comes.
            let lines = std::iter::once(layout.head()).chain(found.rows.iter().map(|row| layout.line(row)));
            output::replace(&real, lines.collect::<String>().as_bytes())?;
        }
        let mut file = table_file(&real).map_err(failed)?;
        if !found.other_columns {
            // A row that was cut short is done again. On Windows what is only added to is never cut.
            if found.whole < bytes.len() {
                let cut = OpenOptions::new().write(true).open(&real);
                cut.and_then(|file| file.set_len(found.whole as u64))
                    .map_err(failed)?;
            }
            if found.whole == 0 {
                file.write_all(layout.head().as_bytes()).map_err(failed)?;
            }
        }
        Ok(Self {
            layout,
            in_order,
            to: To::File {
                path: real,
                file,
                _lock: lock,
            },
            held: Arc::new(Held::of(found.rows)),
            lines: BTreeMap::new(),
            kept: 0,
            stale: found.stale,
        })
    }

    /// Returns the rows of an earlier run.
    pub(super) fn held(&self) -> Arc<Held> {
        Arc::clone(&self.held)
    }

    /// Takes a row in.
    pub(super) fn take(&mut self, done: &Done) -> Result<(), Failure> {
        let line = self.layout.line(&done.row);
        self.kept += usize::from(done.kept);
        match &mut self.to {
            To::File { path, file, .. } => {
                if !done.kept {
                    unbroken(|| file.write_all(line.as_bytes())).map_err(|source| Failure::Output {
                        path: path.clone(),
                        source,
                    })?;
                }
                self.lines.insert(done.at, line);
            }
            To::Output { file, next } => {
                if self.in_order {
                    self.lines.insert(done.at, line);
                    while let Some(line) = self.lines.remove(next) {
                        file.write_all(line.as_bytes()).map_err(Failure::Stdout)?;
                        *next += 1;
                    }
                } else {
                    file.write_all(line.as_bytes()).map_err(Failure::Stdout)?;
                }
            }
        }
        Ok(())
    }

    /// Ends the table: rows that no longer hold are taken out, those of other drawings than `named` where `only` they are to
    /// stay, and all are put in order where that is asked, rows of others at the end.
    pub(super) fn finish(self, named: &HashSet<String>, only: bool) -> Result<Earlier, Failure> {
        let (others, dropped): (Vec<_>, Vec<_>) = self
            .held
            .left()
            .into_iter()
            .partition(|row| !only && !named.contains(&plain(&row.file)));
        let (others_left, dropped) = (others.len(), dropped.len());
        if let To::File { path, file, _lock } = self.to {
            if dropped > 0 || self.stale || self.in_order {
                let others = others.iter().map(|row| self.layout.line(row));
                let lines = std::iter::once(self.layout.head())
                    .chain(self.lines.into_values())
                    .chain(others);
                // On Windows nothing is replaced that is open.
                drop(file);
                output::replace(&path, lines.collect::<String>().as_bytes())?;
            } else {
                file.sync_all()
                    .map_err(|source| Failure::Output { path, source })?;
            }
        }
        Ok(Earlier {
            kept: self.kept,
            dropped,
            others: others_left,
        })
    }
}

/// Returns where the file of a table is, behind a link; what a link leads to is made where it is not there yet.
fn real_path(path: &Path) -> io::Result<PathBuf> {
    if !path.is_symlink() {
        return Ok(path.to_owned());
    }
    if !path.exists() {
        table_file(path)?;
    }
    fs::canonicalize(path)
}

fn table_file(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    let opened = options.read(true).append(true).create(true).open(path);
    opened.map_err(held_open::in_words)
}

/// What stands in a table of an earlier run.
#[derive(Default)]
struct Stands {
    rows: Vec<QuoteRow>,
    /// Length of what is whole of it.
    whole: usize,
    /// Its columns are not those of now.
    other_columns: bool,
    /// Some row would be written otherwise now.
    stale: bool,
}

/// Reads an earlier table, or says which line is none of ours.
fn earlier(layout: Layout, bytes: &[u8]) -> Result<Stands, usize> {
    let mut stands = Stands::default();
    let head = layout.head();
    let (columns, rows) = match layout {
        Layout::Json => (None, bytes),
        // Stopped before its first line was whole.
        Layout::Csv(_) if head.as_bytes().starts_with(bytes) && bytes != head.as_bytes() => {
            return Ok(stands);
        }
        Layout::Csv(lengths) => {
            let end = bytes.iter().position(|byte| *byte == b'\n').ok_or(1_usize)?;
            let (first, rows) = bytes.split_at(end + 1);
            let first = std::str::from_utf8(first).map_err(|_| 1_usize)?;
            stands.whole = first.len();
            stands.other_columns = first != head;
            (Some(Columns::read(first, lengths).ok_or(1_usize)?), rows)
        }
    };
    for (line, row) in (1 + usize::from(columns.is_some())..).zip(rows.split_inclusive(|byte| *byte == b'\n'))
    {
        if !row.ends_with(b"\n") {
            break;
        }
        let text = std::str::from_utf8(row).map_err(|_| line)?;
        let found = match &columns {
            Some(columns) => columns.row(text),
            None => from_json(text),
        };
        let row = found.ok_or(line)?;
        stands.stale |= layout.line(&row) != text;
        stands.rows.push(row);
        stands.whole += text.len();
    }
    Ok(stands)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;

    fn row(file: &str) -> QuoteRow {
        QuoteRow::refused(
            file,
            "nothing, \"nothing\"",
            &JobFile::default(),
            format!("key of {file}"),
        )
    }

    /// Stopped after any byte, what is whole of it is kept and the rest is cut off.
    #[test]
    fn a_table_cut_short_anywhere_keeps_its_whole_rows() {
        for layout in [Layout::Csv(Lengths::Mm), Layout::Csv(Lengths::Inch), Layout::Json] {
            let rows = [row("a.dxf"), row("b, c.dxf")].map(|row| layout.line(&row));
            let text = layout.head() + &rows.concat();
            for cut in 0..=text.len() {
                let Ok(stands) = earlier(layout, &text.as_bytes()[..cut]) else {
                    panic!("cut at {cut}: a table of ours")
                };
                let ends = [
                    0,
                    layout.head().len(),
                    layout.head().len() + rows[0].len(),
                    text.len(),
                ];
                let wanted = ends.into_iter().filter(|end| *end <= cut).max().expect("0");
                assert_eq!((layout, stands.whole), (layout, wanted), "cut at {cut}");
                assert!(!stands.stale && !stands.other_columns);
                assert_eq!(
                    stands.rows.len(),
                    ends[2..].iter().filter(|end| **end <= cut).count()
                );
            }
        }
    }

    #[test]
    fn a_file_of_something_else_is_told_with_its_line() {
        assert_eq!(
            earlier(Layout::Csv(Lengths::Mm), b"file,thickness\r\n").err(),
            Some(1)
        );
        let text = columns(Lengths::Mm) + &row("a.dxf").csv(Lengths::Mm) + "total,1\r\n";
        assert_eq!(earlier(Layout::Csv(Lengths::Mm), text.as_bytes()).err(), Some(3));
        assert_eq!(earlier(Layout::Json, b"{}\n").err(), Some(1));
    }
}

//! The table: rows are added as they are done, each in one piece, so that whenever it is stopped the table holds whole rows
//! and the next run goes on from there.

use std::collections::{BTreeMap, HashMap};
use std::ffi::OsStr;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use super::Done;
use crate::cli::{Failure, output};
use crate::report::Lengths;
use crate::report::quote::{Columns, QuoteRow, columns, from_json};

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

/// Rows of an earlier run, by file and key: each may be taken once.
#[derive(Default)]
pub(super) struct Held(Mutex<HashMap<(String, String), Vec<QuoteRow>>>);

impl Held {
    fn put(&self, row: QuoteRow) {
        let mut rows = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        rows.entry((row.file.clone(), row.key.clone()))
            .or_default()
            .push(row);
    }

    /// Takes the row of a file with this key, out of the table.
    pub(super) fn take(&self, file: &str, key: &str) -> Option<QuoteRow> {
        let mut rows = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        rows.get_mut(&(file.to_owned(), key.to_owned()))?.pop()
    }

    fn left(&self) -> usize {
        let rows = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        rows.values().map(Vec::len).sum()
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
    pub(super) dropped: usize,
}

enum To {
    File { path: PathBuf, file: File },
    Output { file: File, next: usize },
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
    pub(super) fn open(path: &Path, lengths: Lengths, in_order: bool) -> Result<Self, Failure> {
        let layout = Layout::of(path, lengths)?;
        let failed = |source| Failure::Output {
            path: path.into(),
            source,
        };
        // What is no file, such as a pipe or a device, may have no end.
        if path.exists() && !path.is_file() {
            return Err(Failure::TableNoFile { path: path.into() });
        }
        let mut file = locked(path)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(failed)?;
        let found = earlier(layout, &bytes).map_err(|line| Failure::OtherTable {
            path: path.into(),
            line,
        })?;
        if found.other_columns {
            // Rows are added below: they need the columns of now above them before the first one comes.
            let lines = std::iter::once(layout.head()).chain(found.rows.iter().map(|row| layout.line(row)));
            output::replace(path, lines.collect::<String>().as_bytes())?;
            // The lock on the file of before is held until this one has its own.
            file = locked(path)?;
        } else {
            // A row that was cut short is done again.
            file.set_len(found.whole as u64).map_err(failed)?;
            if found.whole == 0 {
                file.write_all(layout.head().as_bytes()).map_err(failed)?;
            }
        }
        let held = Held::default();
        found.rows.into_iter().for_each(|row| held.put(row));
        Ok(Self {
            layout,
            in_order,
            to: To::File {
                path: path.into(),
                file,
            },
            held: Arc::new(held),
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
            To::File { path, file } => {
                if !done.kept {
                    file.write_all(line.as_bytes())
                        .map_err(|source| Failure::Output {
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

    /// Ends the table: rows that no longer hold are taken out, and all are put in order where that is asked.
    pub(super) fn finish(self) -> Result<Earlier, Failure> {
        let dropped = self.held.left();
        if let To::File { path, file } = self.to {
            if dropped > 0 || self.stale || self.in_order {
                let lines = std::iter::once(self.layout.head()).chain(self.lines.into_values());
                output::replace(&path, lines.collect::<String>().as_bytes())?;
            } else {
                file.sync_all()
                    .map_err(|source| Failure::Output { path, source })?;
            }
        }
        Ok(Earlier {
            kept: self.kept,
            dropped,
        })
    }
}

/// Locks the file of a table, to be added to by this run alone.
fn locked(path: &Path) -> Result<File, Failure> {
    let mut options = OpenOptions::new();
    let file = options
        .read(true)
        .append(true)
        .create(true)
        .open(path)
        .map_err(|source| Failure::Output {
            path: path.into(),
            source,
        })?;
    // Where a file system has no locks, two runs into one table are the user's own care.
    if let Err(TryLockError::WouldBlock) = file.try_lock() {
        return Err(Failure::TableBusy { path: path.into() });
    }
    Ok(file)
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

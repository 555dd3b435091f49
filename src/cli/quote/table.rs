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
use crate::report::quote::{QuoteRow, columns};

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

    fn row(self, line: &str) -> Option<QuoteRow> {
        match self {
            Self::Csv(lengths) => QuoteRow::from_csv(line, lengths),
            Self::Json => QuoteRow::from_json(line),
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

    /// The row of a file with this key, out of the table.
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
        let mut options = OpenOptions::new();
        let mut file = options
            .read(true)
            .append(true)
            .create(true)
            .open(path)
            .map_err(failed)?;
        // Where a file system has no locks, two runs into one table are the user's own care.
        if let Err(TryLockError::WouldBlock) = file.try_lock() {
            return Err(Failure::TableBusy { path: path.into() });
        }
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(failed)?;
        let (held, whole) = earlier(layout, &bytes).map_err(|line| Failure::OtherTable {
            path: path.into(),
            line,
        })?;
        // A row that was cut short is done again.
        file.set_len(whole as u64).map_err(failed)?;
        if whole == 0 {
            file.write_all(layout.head().as_bytes()).map_err(failed)?;
        }
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
        })
    }

    /// The rows of an earlier run.
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
            if dropped > 0 || self.in_order {
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

/// The rows of an earlier table and the length of what is whole of it, or the line that is none of ours.
fn earlier(layout: Layout, bytes: &[u8]) -> Result<(Held, usize), usize> {
    let held = Held::default();
    let head = layout.head();
    let Some(rows) = bytes.strip_prefix(head.as_bytes()) else {
        return if head.as_bytes().starts_with(bytes) {
            Ok((held, 0))
        } else {
            Err(1)
        };
    };
    let mut whole = head.len();
    for (line, row) in (1 + usize::from(!head.is_empty())..).zip(rows.split_inclusive(|byte| *byte == b'\n'))
    {
        if !row.ends_with(b"\n") {
            break;
        }
        let read = std::str::from_utf8(row).ok().and_then(|text| layout.row(text));
        held.put(read.ok_or(line)?);
        whole += row.len();
    }
    Ok((held, whole))
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
                let (held, whole) = earlier(layout, &text.as_bytes()[..cut]).expect("a table of ours");
                let ends = [
                    0,
                    layout.head().len(),
                    layout.head().len() + rows[0].len(),
                    text.len(),
                ];
                let wanted = ends.into_iter().filter(|end| *end <= cut).max().expect("0");
                assert_eq!((layout, whole), (layout, wanted), "cut at {cut}");
                assert_eq!(held.left(), ends[2..].iter().filter(|end| **end <= cut).count());
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

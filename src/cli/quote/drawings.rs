//! Finds the drawings and the job of each.

use std::borrow::Cow;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use csv::{ReaderBuilder, StringRecord, Trim};
use glob::{MatchOptions, glob_with};
use walkdir::WalkDir;

use crate::cli::Failure;
use crate::cli::demand::{DemandArgs, is_job_file, read_job};
use crate::cli::input::{file_bytes, stdin_bytes};
use crate::cli::reading::ReadingArgs;
use crate::job::{JobFile, Key};
use crate::report::csv::cell_text;

/// A drawing that is to be quoted.
pub(super) struct NamedDrawing {
    /// As it was named.
    pub(super) file: String,
    /// Its place and job, or why they are not known.
    pub(super) source: Result<Source, String>,
}

/// A drawing and its job.
pub(super) struct Source {
    pub(super) drawing: PathBuf,
    pub(super) job: Arc<JobFile>,
}

/// Returns every drawing that the paths name, in their order; those of a folder by name.
pub(super) fn named_drawings(
    paths: &[PathBuf],
    demand: &DemandArgs,
    reading: &ReadingArgs,
) -> Result<Vec<NamedDrawing>, Failure> {
    let mut usual = demand.job(JobFile::default(), reading)?;
    usual.may_miss = usual.names();
    let mut named = DrawingList {
        usual: Arc::new(usual),
        demand,
        reading,
        wanted: Vec::new(),
    };
    for path in paths {
        if path.as_os_str() == "-" {
            let list = stdin_bytes(reading.largest_file).map_err(|source| Failure::Input {
                file: "-".into(),
                source,
            })?;
            for line in list.split(|byte| *byte == b'\n') {
                match std::str::from_utf8(line).map(str::trim) {
                    Ok("") => {}
                    Ok(path) => named.add(Path::new(path)),
                    Err(_) => named.refuse(&String::from_utf8_lossy(line), "the path is no text in UTF-8"),
                }
            }
        } else {
            named.add(path);
        }
    }
    if named.wanted.is_empty() {
        return Err(Failure::NothingToQuote);
    }
    Ok(named.wanted)
}

/// The drawings named so far.
struct DrawingList<'a> {
    /// What the command line asks of a drawing that comes alone.
    usual: Arc<JobFile>,
    demand: &'a DemandArgs,
    reading: &'a ReadingArgs,
    wanted: Vec<NamedDrawing>,
}

impl DrawingList<'_> {
    fn add(&mut self, path: &Path) {
        let shown = path.to_string_lossy();
        if path.is_dir() {
            self.add_folder(path);
        } else if !path.exists() && shown.contains(['*', '?', '[']) {
            self.add_pattern(&shown);
        } else if is_job_file(path) {
            self.add_job(path);
        } else if has_extension(path, "csv") {
            self.add_table(path);
        } else {
            self.add_drawing(path);
        }
    }

    fn add_drawing(&mut self, path: &Path) {
        self.wanted.push(NamedDrawing {
            file: path.to_string_lossy().into_owned(),
            source: Ok(Source {
                drawing: path.to_owned(),
                job: Arc::clone(&self.usual),
            }),
        });
    }

    fn refuse(&mut self, file: &str, reason: &str) {
        self.wanted.push(NamedDrawing {
            file: file.to_owned(),
            source: Err(reason.to_owned()),
        });
    }

    fn add_folder(&mut self, folder: &Path) {
        let before = self.wanted.len();
        for entry in WalkDir::new(folder).sort_by_file_name() {
            match entry {
                Ok(entry) if entry.file_type().is_dir() => {}
                Ok(entry) if has_extension(entry.path(), "dxf") => self.add_drawing(entry.path()),
                Ok(_) => {}
                Err(error) => {
                    let at = error.path().unwrap_or(folder).to_string_lossy().into_owned();
                    self.refuse(&at, &format!("cannot be read: {error}"));
                }
            }
        }
        if self.wanted.len() == before {
            self.refuse(&folder.to_string_lossy(), "the folder holds no drawing (.dxf)");
        }
    }

    fn add_pattern(&mut self, pattern: &str) {
        let options = MatchOptions {
            case_sensitive: cfg!(not(windows)),
            require_literal_separator: true,
            require_literal_leading_dot: true,
        };
        let found = match glob_with(pattern, options) {
            Ok(found) => found,
            Err(error) => return self.refuse(pattern, &format!("is no sound pattern: {error}")),
        };
        let before = self.wanted.len();
        for path in found {
            match path {
                Ok(path) => self.add(&path),
                Err(error) => self.refuse(pattern, &format!("cannot be read: {error}")),
            }
        }
        if self.wanted.len() == before {
            self.refuse(pattern, "the pattern matches nothing");
        }
    }

    fn add_job(&mut self, path: &Path) {
        let read =
            read_job(path, self.reading.largest_file).and_then(|(drawing, job)| self.source(drawing, job));
        self.push(
            path.to_string_lossy().into_owned(),
            read.map_err(|error| error.to_string()),
        );
    }

    fn source(&self, drawing: PathBuf, job: JobFile) -> Result<Source, Failure> {
        let mut job = self.demand.job(job, self.reading)?;
        job.may_miss.clone_from(&self.usual.may_miss);
        Ok(Source {
            drawing,
            job: Arc::new(job),
        })
    }

    fn push(&mut self, file: String, source: Result<Source, String>) {
        self.wanted.push(NamedDrawing { file, source });
    }

    fn add_table(&mut self, path: &Path) {
        let shown = path.to_string_lossy();
        let rows = file_bytes(path, self.reading.largest_file)
            .map_err(|error| format!("cannot be read: {error}"))
            .and_then(|bytes| jobs(&bytes));
        let rows = match rows {
            Ok(rows) => rows,
            Err(reason) => return self.refuse(&shown, &reason),
        };
        let folder = path.parent().unwrap_or(Path::new(""));
        for (line, job) in rows {
            let (file, source) = match job {
                Ok((file, job)) => {
                    let source = self.source(folder.join(&file), job);
                    (
                        file,
                        source.map_err(|error| format!("{shown}, line {line}: {error}")),
                    )
                }
                Err(reason) => (format!("{shown}:{line}"), Err(reason)),
            };
            self.push(file, source);
        }
    }
}

fn has_extension(path: &Path, wanted: &str) -> bool {
    path.extension()
        .is_some_and(|extension: &OsStr| extension.eq_ignore_ascii_case(wanted))
}

/// A row of a table of jobs: its line, and the drawing with its job.
type JobRow = (u64, Result<(String, JobFile), String>);

/// Reads a table of jobs.
fn jobs(bytes: &[u8]) -> Result<Vec<JobRow>, String> {
    let text = std::str::from_utf8(bytes).map_err(|_| "is no CSV text in UTF-8")?;
    let text = text.trim_start_matches('\u{feff}');
    let first = text.lines().next().unwrap_or_default();
    // Spreadsheets of half the world write semicolons, and commas in numbers.
    let delimiter = if first.contains(';') { b';' } else { b',' };
    let mut reader = ReaderBuilder::new()
        .delimiter(delimiter)
        .trim(Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let names = reader.headers().map_err(|error| error.to_string())?.clone();
    let columns: Vec<ColumnKind> = names.iter().map(column).collect::<Result<_, _>>()?;
    let called: Vec<&str> = columns.iter().map(|column| column.name()).collect();
    if !called.contains(&ColumnKind::File.name()) {
        return Err("has no column `file`".into());
    }
    if let Some(twice) = (1..called.len()).find(|&at| called[..at].contains(&called[at])) {
        return Err(format!("has the column `{}` twice", &names[twice]));
    }
    // A record begins where the one before ended, with the empty lines between.
    let line = |position: Option<&csv::Position>| {
        let at = position.map_or(0, |position| position.byte() as usize);
        let empty = text[at..].bytes().take_while(|byte| b"\r\n".contains(byte));
        position.map_or(0, csv::Position::line) + empty.filter(|byte| *byte == b'\n').count() as u64
    };
    let rows = reader.records().map(|record| match record {
        Ok(record) => (line(record.position()), job(&columns, &record)),
        Err(error) => (line(error.position()), Err(error.to_string())),
    });
    Ok(rows.collect())
}

/// What stands in a column: beside `file` a key of the job file that is one word or number.
#[derive(Clone, Copy, Debug)]
enum ColumnKind {
    File,
    Key(&'static Key<JobFile>),
    /// Named without the unit of the key: the cells may carry one.
    Length(&'static Key<JobFile>),
}

impl ColumnKind {
    fn name(self) -> &'static str {
        match self {
            Self::File => "file",
            Self::Key(key) | Self::Length(key) => key.key,
        }
    }
}

fn column(name: &str) -> Result<ColumnKind, String> {
    if name == "file" {
        return Ok(ColumnKind::File);
    }
    if let Some(key) = JobFile::KEYS.iter().find(|key| key.key == name) {
        return Ok(ColumnKind::Key(key));
    }
    let mut keys = JobFile::KEYS.iter();
    let length = keys.find(|key| key.without_unit() == Some(name));
    let unknown = || {
        let names: Vec<&str> = JobFile::KEYS.iter().map(|key| key.key).collect();
        format!(
            "the column `{name}` is not known; it may be file or {}",
            names.join(", ")
        )
    };
    length.map(ColumnKind::Length).ok_or_else(unknown)
}

fn job(columns: &[ColumnKind], record: &StringRecord) -> Result<(String, JobFile), String> {
    if record.len() != columns.len() {
        return Err(format!("{} cells under {} columns", record.len(), columns.len()));
    }
    let mut job = JobFile::default();
    for (column, cell) in columns.iter().zip(record).filter(|(_, cell)| !cell.is_empty()) {
        let text = cell_text(cell);
        let said = match *column {
            ColumnKind::File => {
                job.drawing = Some(text);
                Ok(())
            }
            ColumnKind::Key(key) | ColumnKind::Length(key) if key.is_text() => key.set(&mut job, &text),
            // The name of the column says the unit.
            ColumnKind::Key(key) if key.without_unit().is_some() && cell.ends_with(char::is_alphabetic) => {
                Err(
                    "it is a bare number here; leave the unit out of the name of the column to write one"
                        .into(),
                )
            }
            ColumnKind::Key(key) | ColumnKind::Length(key) => key.set(&mut job, &point(&text)),
        };
        said.map_err(|reason| format!("{} `{cell}`: {reason}", column.name()))?;
    }
    match &job.drawing {
        Some(drawing) => Ok((drawing.clone(), job)),
        None => Err("names no drawing in the column `file`".into()),
    }
}

/// Reads a number with a decimal point.
fn point(cell: &str) -> Cow<'_, str> {
    if cell.contains('.') {
        cell.into()
    } else {
        cell.replace(',', ".").into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Nozzles, SlugPolicy};

    fn read(text: &str) -> Result<Vec<JobRow>, String> {
        jobs(text.as_bytes())
    }

    fn first(text: &str) -> Result<(String, JobFile), String> {
        read(text).expect("a table").remove(0).1
    }

    #[test]
    fn a_table_of_jobs_is_read() {
        let (file, job) = first(
            "file,thickness_mm,material,tolerance,passes,quantity,nozzles,slug\n\
             a.dxf,30,tool-steel,25H7,,4,one-open,coreless\n",
        )
        .expect("a job");
        assert_eq!(file, "a.dxf");
        assert_eq!(
            (job.thickness_mm, job.quantity, job.passes),
            (Some(30.0), Some(4), None)
        );
        assert_eq!(
            (job.tolerance.as_deref(), job.nozzles),
            (Some("25H7"), Some(Nozzles::OneOpen))
        );
        assert_eq!(job.slug, Some(SlugPolicy::Coreless));
    }

    #[test]
    fn semicolons_and_decimal_commas_are_read() {
        let (_, job) = first("\u{feff}file;thickness;wire_mm;material\r\na.dxf;38,1;0,25;tool-steel\r\n")
            .expect("a job");
        assert_eq!((job.thickness_mm, job.wire_mm), (Some(38.1), Some(0.25)));
    }

    /// Every column stands for the key of that name, and no other key takes its cells.
    #[test]
    fn each_column_fills_its_own_key() {
        for key in JobFile::KEYS {
            let value = match (key.words)().first() {
                Some(word) => word,
                None if key.key == "blank_mm" => "20x30",
                None if key.value_name.is_empty() => "true",
                None if key.key == "tolerance" => "25H7",
                None if key.key == "finish" => "N5",
                None => "2",
            };
            let (_, job) = first(&format!("file,{}\na.dxf,{value}\n", key.key))
                .unwrap_or_else(|error| panic!("{key:?}: {error}"));
            let written = job.to_text().expect("written");
            let keys: Vec<&str> = written
                .lines()
                .filter_map(|line| line.split(" = ").next())
                .collect();
            assert_eq!(keys.len(), 2, "{written}");
            assert!(keys.contains(&key.key), "{written}");
        }
    }

    #[test]
    fn flaws_are_told() {
        assert!(read("drawing\na.dxf\n").unwrap_err().contains("`drawing`"));
        assert!(
            read("material\ntool-steel\n")
                .unwrap_err()
                .contains("no column `file`")
        );
        assert!(
            read("file,thickness,thickness_mm,thickness\na,1,1,1\n")
                .unwrap_err()
                .contains("twice")
        );
        assert!(read("file,layer\na,1\n").unwrap_err().contains("blank_mm"));
        let reason = |text| first(text).unwrap_err();
        assert!(reason("file,thickness_mm\na.dxf,thick\n").starts_with("thickness_mm `thick`: "));
        assert!(reason("file,clearance\na.dxf,-3\n").contains("-3"));
        assert!(reason("file,nozzles\na.dxf,shut\n").contains("shut"));
        assert!(reason("file,nozzles\n,sealed\n").contains("names no drawing"));
        assert!(reason("file,nozzles\na.dxf\n").contains("1 cells under 2 columns"));
        assert_eq!(read("file,passes\na.dxf,1\n\nb.dxf,x\n").expect("rows")[1].0, 4);
    }
}

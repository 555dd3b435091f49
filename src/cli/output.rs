//! Writes results whole or not at all.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use anstream::AutoStream;
use clap::ValueEnum;

use super::temporary::{TemporaryFile, remove_left_behind};
use super::{Failure, held_open};

/// Prints a result to standard output, without colour where none is wanted. A reader that went away early
/// (`| head`) is no failure.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    send(|out| match out {
        StandardOutput::File(out) => AutoStream::auto(out).write_all(text.as_bytes()),
        #[cfg(windows)]
        StandardOutput::Console(out) => AutoStream::auto(out).write_all(text.as_bytes()),
    })
}

/// Prints a result to standard output as it is.
pub(super) fn print_bytes(bytes: &[u8]) -> Result<(), Failure> {
    send(|mut out| out.write_all(bytes))
}

/// Prints a result to standard output as it is, while it is made.
pub(super) fn print_written(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    send(|out| {
        let mut out = BufWriter::new(out);
        write(&mut out)?;
        out.flush()
    })
}

/// Prints a piece of a book and what is said of it; that alone where the piece is written into a file.
pub(super) fn print_fragment(fragment: &str, told: &str, is_written: bool) -> Result<(), Failure> {
    if is_written {
        return print(told);
    }
    // The piece can go into a file alone: what is said of it goes to standard error.
    tell(told);
    print_bytes(fragment.as_bytes())
}

/// Prints a message to standard error.
pub(super) fn tell(text: &str) {
    // When standard error is gone there is nobody left to tell.
    let _ = anstream::stderr().lock().write_all(text.as_bytes());
}

fn send(write: impl FnOnce(StandardOutput) -> io::Result<()>) -> Result<(), Failure> {
    match standard_output().and_then(write) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        done => {
            log::debug!("result printed");
            done.map_err(Failure::Stdout)
        }
    }
}

/// Where results are printed.
pub(super) enum StandardOutput {
    /// A plain file: through [`io::stdout`] what is written to one that was opened for reading only would be lost without an error.
    File(File),
    /// A console of Windows, which would take the bytes of a text for those of its own code page.
    #[cfg(windows)]
    Console(io::Stdout),
}

impl Write for StandardOutput {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Self::File(out) => out.write(bytes),
            #[cfg(windows)]
            Self::Console(out) => out.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match self {
            Self::File(out) => out.flush(),
            #[cfg(windows)]
            Self::Console(out) => out.flush(),
        }
    }
}

/// Opens standard output.
pub(super) fn standard_output() -> io::Result<StandardOutput> {
    #[cfg(unix)]
    let own = std::os::fd::AsFd::as_fd(&io::stdout()).try_clone_to_owned()?;
    #[cfg(windows)]
    let own = {
        if io::IsTerminal::is_terminal(&io::stdout()) {
            return Ok(StandardOutput::Console(io::stdout()));
        }
        std::os::windows::io::AsHandle::as_handle(&io::stdout()).try_clone_to_owned()?
    };
    Ok(StandardOutput::File(File::from(own)))
}

/// What `--out` can write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// The drawing sheet: `NAME.svg`.
    Svg,
    /// Everything, for programs: `NAME.json`.
    Json,
    /// The wire's paths: `NAME-paths.dxf`.
    Dxf,
    /// The job sheet, for people: `NAME.html`.
    Html,
}

impl Format {
    /// Returns the name of the file for the drawing `name`. Never the name of the drawing itself: the folder may be its own.
    pub(super) fn file_name(self, name: &str) -> String {
        let stem = stem(name);
        match self {
            Self::Svg => format!("{stem}.svg"),
            Self::Json => format!("{stem}.json"),
            Self::Dxf => format!("{stem}-paths.dxf"),
            Self::Html => format!("{stem}.html"),
        }
    }
}

/// Returns the name of a drawing without its extension.
pub(super) fn stem(name: &str) -> String {
    let stem = Path::new(name).file_stem().unwrap_or_default();
    stem.to_string_lossy().into_owned()
}

/// Writes a new file in full; one that stands there already is never written over.
pub(super) fn write_new(target: &Path, content: &[u8]) -> Result<(), Failure> {
    let failed = |source: io::Error| match source.kind() {
        io::ErrorKind::AlreadyExists => Failure::OutputExists { path: target.into() },
        _ => Failure::Output {
            path: target.into(),
            source,
        },
    };
    let folder = folder_of(target);
    remove_left_behind(folder);
    let file = TemporaryFile::in_folder(folder, |out| out.write_all(content)).map_err(failed)?;
    file.persist_new(target).map_err(failed)
}

/// Replaces a file by `content`, whole or not at all.
pub(super) fn replace(target: &Path, content: &[u8]) -> Result<(), Failure> {
    let failed = |source: io::Error| Failure::Output {
        path: target.into(),
        source,
    };
    let folder = folder_of(target);
    remove_left_behind(folder);
    let file = TemporaryFile::in_folder(folder, |out| out.write_all(content)).map_err(failed)?;
    file.persist(target).map_err(failed)
}

/// Returns the folder of a file; the one that the command runs in where it names none.
pub(super) fn folder_of(file: &Path) -> &Path {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// What a file is to hold: writes it, and is asked once.
pub(super) type FileContent<'a> = Box<dyn FnOnce(&mut dyn Write) -> io::Result<()> + 'a>;

/// Makes the content of a file of bytes.
pub(super) fn bytes<'a>(bytes: impl AsRef<[u8]> + 'a) -> FileContent<'a> {
    Box::new(move |out| out.write_all(bytes.as_ref()))
}

/// Writes all `files` (name and content) into `folder`, which is made when missing. Every file is first
/// written in full beside its target, and only when all of them stand are they renamed into place. So whenever it is
/// stopped, by a full disk or by a kill, each result is whole, as it was before or new.
pub(super) fn write_all(folder: &Path, files: Vec<(String, FileContent<'_>)>) -> Result<(), Failure> {
    stage(folder, files)?.put_in_place()
}

/// Writes all `files` in full beside their targets.
pub(super) fn stage(folder: &Path, files: Vec<(String, FileContent<'_>)>) -> Result<Staged, Failure> {
    stage_watched(folder, files, &mut |_| Ok(()))
}

/// Files that stand in full beside their targets.
pub(super) struct Staged(Vec<(TemporaryFile, PathBuf)>);

impl Staged {
    /// Returns the files and their targets.
    pub(super) fn files(&self) -> &[(TemporaryFile, PathBuf)] {
        &self.0
    }

    /// Renames all of them into place.
    pub(super) fn put_in_place(self) -> Result<(), Failure> {
        let count = self.0.len();
        self.put_in_place_watched(&mut |_| Ok(()))?;
        log::debug!("{count} files written");
        Ok(())
    }

    /// As [`Self::put_in_place`]; `before_step` is called with the path before each step that the system may refuse.
    fn put_in_place_watched(
        self,
        before_step: &mut dyn FnMut(&Path) -> io::Result<()>,
    ) -> Result<(), Failure> {
        for (file, target) in self.0 {
            let done = before_step(&target).and_then(|()| file.persist(&target));
            done.map_err(|source| Failure::Output { path: target, source })?;
        }
        Ok(())
    }
}

/// Makes the folder for results where it is missing.
pub(super) fn make_folder(folder: &Path) -> Result<(), Failure> {
    if folder.exists() && !folder.is_dir() {
        return Err(Failure::OutputIsFile { path: folder.into() });
    }
    fs::create_dir_all(folder).map_err(|source| Failure::Output {
        path: folder.into(),
        source,
    })
}

/// As [`stage`]; `before_step` is called with the path before each step that the system may refuse.
fn stage_watched(
    folder: &Path,
    files: Vec<(String, FileContent<'_>)>,
    before_step: &mut dyn FnMut(&Path) -> io::Result<()>,
) -> Result<Staged, Failure> {
    let failed = |path: &Path, source| Failure::Output {
        path: path.into(),
        source,
    };
    before_step(folder).map_err(|source| failed(folder, source))?;
    make_folder(folder)?;
    remove_left_behind(folder);
    let files = files
        .into_iter()
        .map(|(name, content)| (folder.join(name), content));
    let files: Vec<(PathBuf, FileContent<'_>)> = files.collect();
    // Renaming onto a folder would fail only after others have been renamed.
    if let Some((taken, _)) = files.iter().find(|(target, _)| target.is_dir()) {
        return Err(failed(taken, io::ErrorKind::IsADirectory.into()));
    }
    // Nor can a file be replaced that another program has open.
    for (target, _) in &files {
        held_open::wait_until_closed(target).map_err(|source| failed(target, source))?;
    }
    let mut staged = Vec::new();
    for (target, content) in files {
        let file = before_step(&target).and_then(|()| TemporaryFile::in_folder(folder, content));
        let file = file.map_err(|source| failed(&target, source))?;
        log::debug!("{} written", target.display());
        staged.push((file, target));
    }
    Ok(Staged(staged))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writes_all_or_leaves_nothing() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path().join("a/b");
        write_all(
            &folder,
            vec![("one".into(), bytes(b"1")), ("two".into(), bytes(b"2"))],
        )
        .unwrap();
        assert_eq!(fs::read(folder.join("two")).unwrap(), b"2");
        // `two/x` cannot be written below a file, so `one` must stay as it was and no crumb may be left.
        let outcome = write_all(&folder.join("two"), vec![("x".into(), bytes(b"3"))]);
        assert!(matches!(outcome, Err(Failure::OutputIsFile { .. })));
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 2);
    }

    /// Every step refused in turn; before each step, what a kill there would leave.
    #[test]
    fn a_refused_step_leaves_every_result_whole() {
        let old = [
            ("one".to_owned(), vec![b'a'; 5_000]),
            ("two".to_owned(), vec![b'b'; 7_000]),
        ];
        let new = [
            ("one".to_owned(), vec![b'c'; 6_000]),
            ("two".to_owned(), vec![b'd'; 9_000]),
            ("three".to_owned(), vec![b'e'; 100]),
        ];
        let mut refused = 0;
        for refused_step in 0.. {
            let room = tempfile::tempdir().unwrap();
            let folder = room.path().join("results");
            write_all(&folder, contents(&old)).unwrap();
            let mut step = 0;
            let mut before_step = |_: &Path| {
                all_whole(&folder, &old, &new);
                step += 1;
                if step == refused_step + 1 {
                    return Err(io::ErrorKind::StorageFull.into());
                }
                Ok(())
            };
            let outcome = stage_watched(&folder, contents(&new), &mut before_step)
                .and_then(|staged| staged.put_in_place_watched(&mut before_step));
            all_whole(&folder, &old, &new);
            let left = fs::read_dir(&folder).unwrap().count();
            if outcome.is_ok() {
                assert_eq!(left, new.len());
                break;
            }
            assert!(matches!(outcome, Err(Failure::Output { .. })));
            assert!(left <= new.len(), "no crumbs");
            refused += 1;
        }
        assert_eq!(
            refused,
            1 + 2 * new.len(),
            "the folder, each file beside, each rename"
        );
    }

    fn contents(files: &[(String, Vec<u8>)]) -> Vec<(String, FileContent<'_>)> {
        files
            .iter()
            .map(|(name, content)| (name.clone(), bytes(content)))
            .collect()
    }

    fn all_whole(folder: &Path, old: &[(String, Vec<u8>)], new: &[(String, Vec<u8>)]) {
        for (name, _) in new {
            let Ok(content) = fs::read(folder.join(name)) else {
                continue;
            };
            let given = |files: &[(String, Vec<u8>)]| files.iter().any(|f| f.0 == *name && f.1 == content);
            assert!(given(old) || given(new), "{name} is half written");
        }
        assert!(
            old.iter().all(|(name, _)| folder.join(name).exists()),
            "an old result is lost"
        );
    }
}

//! Results leave here, whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use clap::ValueEnum;
use tempfile::NamedTempFile;

use super::Failure;

/// Prints a result to standard output, without colour where none is wanted. A reader that went away early
/// (`| head`) is no failure.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    send(anstream::stdout().lock(), text.as_bytes())
}

/// Prints a result to standard output as it is.
pub(super) fn print_bytes(bytes: &[u8]) -> Result<(), Failure> {
    send(io::stdout().lock(), bytes)
}

/// Prints to standard error what goes beside a result.
pub(super) fn tell(text: &str) {
    // When standard error is gone there is nobody left to tell.
    let _ = anstream::stderr().lock().write_all(text.as_bytes());
}

fn send(mut out: impl Write, bytes: &[u8]) -> Result<(), Failure> {
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        done => done.map_err(Failure::Stdout),
    }
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
    /// Name of the file for the drawing `name`. Never the name of the drawing itself: the folder may be its own.
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

/// Name of a drawing without its extension.
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
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let file = write_beside(folder, content).map_err(failed)?;
    file.persist_noclobber(target)
        .map_err(|error| failed(error.error))?;
    Ok(())
}

/// Writes all `files` (name and content) into `folder`, which is made when missing. Every file is first
/// written in full beside its target, and only when all of them stand are they renamed into place.
pub(super) fn write_all(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Failure> {
    let failed = |path: &Path, source| Failure::Output {
        path: path.into(),
        source,
    };
    if folder.exists() && !folder.is_dir() {
        return Err(Failure::OutputIsFile { path: folder.into() });
    }
    fs::create_dir_all(folder).map_err(|source| failed(folder, source))?;
    let mut written = Vec::new();
    for (name, content) in files {
        let target = folder.join(name);
        let file = write_beside(folder, content).map_err(|source| failed(&target, source))?;
        written.push((file, target));
    }
    for (file, target) in written {
        file.persist(&target)
            .map_err(|error| failed(&target, error.error))?;
    }
    Ok(())
}

fn write_beside(folder: &Path, content: &[u8]) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".kerfwright-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As any new file: the user's umask decides, not the privacy of a temporary file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(content)?;
    file.as_file().sync_all()?;
    Ok(file)
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
            &[("one".into(), b"1".to_vec()), ("two".into(), b"2".to_vec())],
        )
        .unwrap();
        assert_eq!(fs::read(folder.join("two")).unwrap(), b"2");
        // `two/x` cannot be written below a file, so `one` must stay as it was and no crumb may be left.
        let outcome = write_all(&folder.join("two"), &[("x".into(), b"3".to_vec())]);
        assert!(matches!(outcome, Err(Failure::OutputIsFile { .. })));
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 2);
    }
}

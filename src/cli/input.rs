use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

use super::{Failure, held_open};

/// Largest file that is read where nothing else is asked, in MB: a drawing of some millions of lines.
pub(super) const LARGEST_FILE_MB: u64 = 1000;

/// The bytes of a drawing and its name.
pub(super) struct Input {
    /// Base name, as it stands in every output; `stdin` for standard input.
    pub(super) name: String,
    /// What is in it.
    pub(super) bytes: Vec<u8>,
}

/// Reads the drawing `file`, or standard input for `-`.
pub(super) fn read(file: &Path, largest_mb: u64) -> Result<Input, Failure> {
    log::trace!("{}", file.display());
    let failed = |source| Failure::Input {
        file: file.into(),
        source,
    };
    if file.as_os_str() == "-" {
        return Ok(Input {
            name: "stdin".into(),
            bytes: stdin_bytes(largest_mb).map_err(failed)?,
        });
    }
    if file.is_dir() {
        return Err(Failure::InputIsDirectory { file: file.into() });
    }
    let bytes = file_bytes(file, largest_mb).map_err(failed)?;
    let name = file
        .file_name()
        .unwrap_or(file.as_os_str())
        .to_string_lossy()
        .into_owned();
    log::debug!("file read");
    Ok(Input { name, bytes })
}

/// A log of the shop and its name.
pub(super) struct LogInput {
    /// Base name, as for a drawing.
    pub(super) name: String,
    /// What is written in it.
    pub(super) text: String,
}

/// Reads a log of the shop, or standard input for `-`.
pub(super) fn read_log(file: &Path) -> Result<LogInput, Failure> {
    let Input { name, bytes } = read(file, LARGEST_FILE_MB)?;
    let text = String::from_utf8(bytes).map_err(|_| Failure::LogText { file: file.into() })?;
    Ok(LogInput { name, text })
}

/// Reads a file. One that may have no end, such as a pipe or a device, and one that is larger than `largest_mb` are refused.
pub(super) fn file_bytes(path: &Path, largest_mb: u64) -> io::Result<Vec<u8>> {
    // Asked before it is opened: a pipe would wait there for a writer.
    let metadata = fs::metadata(path)?;
    if !metadata.is_file() {
        return Err(io::Error::other(
            "it is no file but a folder, a pipe or a device; a drawing may be piped in for `-`",
        ));
    }
    if metadata.len() > bytes_of_mb(largest_mb) {
        return Err(too_large(largest_mb));
    }
    let read = File::open(path).and_then(|file| bounded(file, metadata.len(), largest_mb));
    read.map_err(held_open::in_words)
}

/// Reads standard input to its end.
pub(super) fn stdin_bytes(largest_mb: u64) -> io::Result<Vec<u8>> {
    bounded(io::stdin().lock(), 0, largest_mb)
}

/// Reads a text in UTF-8 from a file.
pub(super) fn file_text(path: &Path, largest_mb: u64) -> io::Result<String> {
    String::from_utf8(file_bytes(path, largest_mb)?)
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidData, "stream did not contain valid UTF-8"))
}

/// Reads to the end; what grows beyond the largest size meanwhile, or has no size, is refused as soon as that is known.
fn bounded(from: impl Read, likely_bytes: u64, largest_mb: u64) -> io::Result<Vec<u8>> {
    let largest = bytes_of_mb(largest_mb);
    let mut bytes = Vec::with_capacity(likely_bytes as usize);
    from.take(largest.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > largest {
        return Err(too_large(largest_mb));
    }
    Ok(bytes)
}

fn too_large(largest_mb: u64) -> io::Error {
    io::Error::other(format!(
        "it is larger than {largest_mb} MB; `--largest-file MB` reads larger ones"
    ))
}

const fn bytes_of_mb(mb: u64) -> u64 {
    mb.saturating_mul(1_000_000)
}

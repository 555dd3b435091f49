//! Files that another program has open. Windows lets it keep others out, and replaces no file that anybody has open.

use std::fs::File;
use std::io;
use std::path::Path;
#[cfg(windows)]
use std::thread::sleep;
#[cfg(windows)]
use std::time::{Duration, Instant};

use tempfile::{NamedTempFile, PersistError};

/// Whether the system refuses because another program has the file open.
#[cfg(windows)]
pub(super) fn says(refused: &io::Error) -> bool {
    // Microsoft, "System Error Codes (0-499)": ERROR_SHARING_VIOLATION and ERROR_LOCK_VIOLATION.
    matches!(refused.raw_os_error(), Some(32 | 33))
}

/// Says plainly that another program has a file open, where the system's words do not; any other error stays as it is.
#[cfg(windows)]
pub(super) fn in_words(error: io::Error) -> io::Error {
    if says(&error) {
        io::Error::new(io::ErrorKind::ResourceBusy, "another program has it open")
    } else {
        error
    }
}

/// Elsewhere nobody is kept out.
#[cfg(not(windows))]
pub(super) fn in_words(error: io::Error) -> io::Error {
    error
}

/// How long whoever has a file open that is to be replaced is waited for: what looks for viruses has each for a moment.
#[cfg(windows)]
const PATIENCE: Duration = Duration::from_secs(1);

/// Waits a moment for whoever has a file open that is to be replaced. One that is not there, or that is refused for another reason, is
/// not waited for.
#[cfg(windows)]
pub(super) fn wait_until_closed(path: &Path) -> io::Result<()> {
    use std::fs::OpenOptions;
    use std::os::windows::fs::OpenOptionsExt as _;
    let begun = Instant::now();
    loop {
        // Opened for nobody else: refused while anybody has it.
        match OpenOptions::new().read(true).share_mode(0).open(path) {
            Err(error) if says(&error) && begun.elapsed() < PATIENCE => sleep(Duration::from_millis(20)),
            Err(error) if says(&error) => return Err(in_words(error)),
            _ => return Ok(()),
        }
    }
}

/// Puts a file in the place of another, and waits a moment for whoever has that open.
#[cfg(windows)]
pub(super) fn replaced(mut file: NamedTempFile, target: &Path) -> Result<File, PersistError> {
    let begun = Instant::now();
    loop {
        // What is open is refused like what the user may not touch.
        match file.persist(target) {
            Err(refused)
                if refused.error.kind() == io::ErrorKind::PermissionDenied && begun.elapsed() < PATIENCE =>
            {
                file = refused.file;
                sleep(Duration::from_millis(20));
            }
            Err(mut refused) => {
                if let Err(held) = wait_until_closed(target) {
                    refused.error = held;
                }
                return Err(refused);
            }
            done => return done,
        }
    }
}

/// Elsewhere a file that is open is replaced like any other.
#[cfg(not(windows))]
#[expect(clippy::unnecessary_wraps, reason = "as on Windows")]
pub(super) fn wait_until_closed(_path: &Path) -> io::Result<()> {
    Ok(())
}

/// Puts a file in the place of another.
#[cfg(not(windows))]
pub(super) fn replaced(file: NamedTempFile, target: &Path) -> Result<File, PersistError> {
    file.persist(target)
}

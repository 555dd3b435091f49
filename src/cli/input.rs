use std::fs;
use std::io::{self, Read};
use std::path::Path;

use super::Failure;

/// The bytes of a drawing and its name.
pub(super) struct Input {
    /// Base name, as it stands in every output; `stdin` for standard input.
    pub(super) name: String,
    /// What is in it.
    pub(super) bytes: Vec<u8>,
}

/// Reads the drawing `file`, or standard input for `-`.
pub(super) fn read(file: &Path) -> Result<Input, Failure> {
    log::trace!("{}", file.display());
    let failed = |source| Failure::Input {
        file: file.into(),
        source,
    };
    if file.as_os_str() == "-" {
        let mut bytes = Vec::new();
        io::stdin().lock().read_to_end(&mut bytes).map_err(failed)?;
        return Ok(Input {
            name: "stdin".into(),
            bytes,
        });
    }
    if file.is_dir() {
        return Err(Failure::InputIsDirectory { file: file.into() });
    }
    let bytes = fs::read(file).map_err(failed)?;
    let name = file
        .file_name()
        .unwrap_or(file.as_os_str())
        .to_string_lossy()
        .into_owned();
    log::debug!("file read");
    Ok(Input { name, bytes })
}

//! Whose results stand in a folder. Files of the same name may come from drawings of the same name: a list beside them says for each from
//! which drawing it was made, so that no result of another one, and nothing else that stands there, is written over unless that is asked.

use std::collections::HashMap;
use std::fs::{self, OpenOptions};
use std::hash::Hasher as _;
use std::io::{Read as _, Write as _};
use std::path::Path;

use clap::Args;
use fnv::FnvHasher;

use super::input::Input;
use super::job_keys::OUTPUT;
use super::output::FileContent;
use super::{Failure, output};

/// Lines of a drawing's digest and the name of a result; the last one of a name holds.
const LIST: &str = ".kerfwright-results";

/// What may be written over.
#[derive(Debug, Args)]
pub(super) struct OverwriteArgs {
    /// Write over results of another drawing of this name, and over files that are no results
    #[arg(long, requires = "out", help_heading = OUTPUT, hide_short_help = true)]
    overwrite: bool,
}

impl OverwriteArgs {
    /// Writes the results of a drawing, each with its name, into `folder`, which is made when missing; all of them or none.
    pub(super) fn write(
        &self,
        folder: &Path,
        made_by: &DrawingDigest,
        files: Vec<(String, FileContent<'_>)>,
    ) -> Result<(), Failure> {
        let list = folder.join(LIST);
        let failed = |source| Failure::Output {
            path: list.clone(),
            source,
        };
        output::make_folder(folder)?;
        let mut options = OpenOptions::new();
        let mut open = options
            .read(true)
            .append(true)
            .create(true)
            .open(&list)
            .map_err(failed)?;
        // Where a file system has no locks, two runs at once with drawings of one name are the user's own care.
        let _ = open.lock();
        let mut text = Vec::new();
        open.read_to_end(&mut text).map_err(failed)?;
        let text = String::from_utf8_lossy(&text);
        let lines = text
            .split_inclusive('\n')
            .filter_map(|line| line.strip_suffix('\n'));
        let made_from: HashMap<&str, &str> = lines
            .filter_map(|line| line.split_once(' '))
            .map(|(drawing, result)| (result, drawing))
            .collect();

        let DrawingDigest(drawing) = made_by;
        // A line that was cut short is none.
        let mut added = if text.is_empty() || text.ends_with('\n') {
            ""
        } else {
            "\n"
        }
        .to_owned();
        let names: Vec<String> = files
            .iter()
            .map(|(name, _)| name.escape_debug().to_string())
            .collect();
        let staged = output::stage(folder, files)?;
        for (result, (file, path)) in names.iter().zip(staged.files()) {
            if made_from.get(&**result) == Some(&&**drawing) {
                continue;
            }
            if !self.overwrite && path.symlink_metadata().is_ok() && !file.is_held_by(path) {
                return Err(Failure::OtherResult { path: path.clone() });
            }
            added.extend([drawing, " ", result, "\n"]);
        }
        open.write_all(added.as_bytes()).map_err(failed)?;
        staged.put_in_place()
    }
}

/// Tells drawings apart by where they are, so that a changed one is the same; what was piped in by what it holds.
pub(super) struct DrawingDigest(String);

impl DrawingDigest {
    pub(super) fn of(drawing: &Path, input: &Input) -> Self {
        let mut hasher = FnvHasher::default();
        match fs::canonicalize(drawing) {
            Ok(path) if drawing.as_os_str() != "-" => hasher.write(path.as_os_str().as_encoded_bytes()),
            _ => hasher.write(&input.bytes),
        }
        Self(format!("{:016x}", hasher.finish()))
    }
}

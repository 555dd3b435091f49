//! Starts from the desktop of Windows: a double click on the program, or files dropped onto it, open the page.

use std::collections::HashMap;
use std::ffi::OsString;
use std::io::{self, IsTerminal as _};
use std::path::PathBuf;
use std::process;

use winsafe::HPROCESSLIST;
use winsafe::co::TH32CS;

use super::serve::ServeArgs;
use super::{Exit, output};
use crate::report::Lengths;

/// The program that is the desktop of Windows.
const DESKTOP: &str = "explorer.exe";

/// Returns the files that the program was started with from the desktop, none for a double click; `None` where it was started in a shell,
/// or by another program, or with words that are no files.
pub(super) fn files_of_start(arguments: impl Iterator<Item = OsString>) -> Option<Vec<PathBuf>> {
    let files: Vec<PathBuf> = arguments.map(PathBuf::from).collect();
    // What is dropped comes with its whole path.
    let dropped = files.iter().all(|file| file.is_absolute() && file.exists());
    (dropped && has_own_window()).then_some(files)
}

/// Opens the page until its window is closed. What went wrong stays to be read.
pub(super) fn run(files: Vec<PathBuf>) -> Exit {
    output::tell(&format!("kerfwright {}\n\n", env!("CARGO_PKG_VERSION")));
    ServeArgs::run_from_desktop(files).unwrap_or_else(|failure| {
        failure.print(Lengths::Mm);
        output::tell("\nPress Enter to close this window.\n");
        // Where nothing can be read nobody reads the window either.
        let _ = io::stdin().read_line(&mut String::new());
        Exit::CouldNotRun
    })
}

/// Whether the desktop started this program, in a window that goes with it.
fn has_own_window() -> bool {
    io::stdin().is_terminal()
        && io::stdout().is_terminal()
        && parent().is_some_and(|program| program.eq_ignore_ascii_case(DESKTOP))
}

/// Returns the name of the program that started this one, where it still runs and the system tells.
fn parent() -> Option<String> {
    let mut list = HPROCESSLIST::CreateToolhelp32Snapshot(TH32CS::SNAPPROCESS, None).ok()?;
    let processes = list.iter_processes().map_while(Result::ok);
    let named: HashMap<u32, (u32, String)> = processes
        .map(|process| {
            let parent = process.th32ParentProcessID;
            (process.th32ProcessID, (parent, process.szExeFile()))
        })
        .collect();
    let (parent, _) = named.get(&process::id())?;
    named.get(parent).map(|(_, name)| name.clone())
}

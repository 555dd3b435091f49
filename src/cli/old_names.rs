//! Options that had another name before: it still works, and is told.

use std::ffi::OsStr;

/// Old names with those of now.
const OLD_NAMES: [(&str, &str); 3] = [
    ("units", "drawing-unit"),
    ("lengths", "display-unit"),
    ("offset", "offset-basis"),
];

/// Returns the name that an option had before.
pub(super) fn old_name(option: &str) -> Option<&'static str> {
    OLD_NAMES
        .iter()
        .find(|(_, new)| *new == option)
        .map(|(old, _)| *old)
}

/// Returns a note for each option of a command line that is given by its old name.
pub(super) fn notes<'a>(arguments: impl IntoIterator<Item = &'a OsStr>) -> Vec<String> {
    let given: Vec<&str> = arguments
        .into_iter()
        .filter_map(OsStr::to_str)
        .take_while(|argument| *argument != "--")
        .filter_map(|argument| argument.strip_prefix("--"))
        .filter_map(|option| option.split('=').next())
        .collect();
    let named = OLD_NAMES.iter().filter(|(old, _)| given.contains(old));
    named
        .map(|(old, new)| format!("note: `--{old}` is named `--{new}` now\n"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn old_names_are_told_once_each() {
        let told = |line: &str| notes(line.split(' ').map(OsStr::new));
        assert!(told("plan part.dxf --drawing-unit in --offset-basis gauged").is_empty());
        assert_eq!(
            told("plan --units=in --units mm"),
            ["note: `--units` is named `--drawing-unit` now\n"]
        );
        assert_eq!(told("plan --lengths inch --offset gauged").len(), 2);
        assert!(told("plan -- --units").is_empty());
    }
}

//! When the system refuses: kills, a full disk, read-only folders, no home, odd names. Whatever happens, results are whole
//! or not there, and the error says what to do.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::Instant;

const DRAWING: &str = "fixtures/shapes/plate-200-holes.dxf";
const ASKED: [&str; 8] = [
    "--thickness",
    "20",
    "--material",
    "tool-steel",
    "--wire",
    "0.25",
    "--passes",
    "2",
];

fn plan(out: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kerfwright"));
    command
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["plan", DRAWING])
        .args(ASKED)
        .args(["--formats", "svg,json,dxf", "--out"])
        .arg(out)
        .stdout(Stdio::null())
        .stderr(Stdio::piped());
    command
}

fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The results in a folder; what a killed run left beside them begins with a dot.
fn results(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let Ok(entries) = fs::read_dir(folder) else {
        return BTreeMap::new();
    };
    entries
        .map(|entry| entry.expect("a folder can be listed"))
        .filter(|entry| !entry.file_name().to_string_lossy().starts_with('.'))
        .map(|entry| {
            let content = fs::read(entry.path()).expect("a result can be read");
            (entry.file_name().to_string_lossy().into_owned(), content)
        })
        .collect()
}

/// Names of all in a folder but what begins with a dot.
fn results_or_folders(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder can be listed");
    let names = entries.map(|entry| entry.expect("listed").file_name().to_string_lossy().into_owned());
    names.filter(|name| !name.starts_with('.')).collect()
}

#[test]
fn a_kill_at_any_moment_leaves_whole_results_or_none() {
    let room = tempfile::tempdir().expect("a folder");
    let whole = room.path().join("whole");
    let begun = Instant::now();
    let output = plan(&whole).output().expect("it starts");
    let took = begun.elapsed();
    assert!(output.status.success(), "{}", stderr(&output));
    let whole = results(&whole);
    assert_eq!(whole.len(), 3);

    let kills = 24;
    let mut killed = 0;
    for kill in 0..kills {
        let folder = room.path().join(format!("killed-{kill}"));
        let mut child = plan(&folder).spawn().expect("it starts");
        sleep(took * kill / (kills - 1));
        // It may have ended by itself.
        let _ = child.kill();
        let status = child.wait().expect("it ends");
        killed += u32::from(!status.success());
        for (name, content) in results(&folder) {
            assert_eq!(Some(&content), whole.get(&name), "{name} is not whole");
        }
    }
    assert!(
        killed > kills / 4,
        "only {killed} of {kills} runs were killed in time"
    );
}

#[cfg(unix)]
#[test]
fn a_read_only_folder_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    let room = tempfile::tempdir().expect("a folder");
    let folder = room.path().join("locked");
    fs::create_dir(&folder).expect("made");
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).expect("locked");
    if fs::write(folder.join("probe"), "").is_ok() {
        println!("SKIPPED: a read-only folder: this user may write everywhere");
        return;
    }
    let output = plan(&folder).output().expect("it starts");
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("cannot be written"),
        "{}",
        stderr(&output)
    );
    assert!(
        stderr(&output).contains("locked"),
        "it names the folder: {}",
        stderr(&output)
    );
}

#[test]
fn an_output_that_is_a_folder_is_told_and_nothing_else_is_written() {
    let room = tempfile::tempdir().expect("a folder");
    fs::create_dir(room.path().join("plate-200-holes.json")).expect("made");
    let output = plan(room.path()).output().expect("it starts");
    assert_eq!(output.status.code(), Some(2));
    assert!(
        stderr(&output).contains("plate-200-holes.json"),
        "{}",
        stderr(&output)
    );
    assert_eq!(results_or_folders(room.path()), ["plate-200-holes.json"]);
}

/// Plans into `folder` on a mount of its own; what the shell then says, or `None` where no mount is allowed.
#[cfg(target_os = "linux")]
fn plan_on_a_mount(folder: &Path, options: &str, before: &str) -> Option<(String, String)> {
    let script = format!(
        r#"
        mount -t tmpfs -o size=64k tmpfs "$1" || exit 77
        {before}
        mount -o remount,{options} "$1" || exit 77
        "$2" plan "$3" --overwrite --thickness 20 --material tool-steel --wire 0.25 --passes 2 --formats svg,json,dxf --out "$1" >/dev/null
        echo "ended with $?; left: $(ls -A "$1" | grep -v results); $(cat "$1"/*)"
    "#
    );
    let output = Command::new("unshare")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["--user", "--map-root-user", "--mount", "sh", "-c", &script, "sh"])
        .arg(folder)
        .args([env!("CARGO_BIN_EXE_kerfwright"), DRAWING])
        .output()
        .ok()?;
    let told = String::from_utf8_lossy(&output.stdout).trim().to_owned();
    output.status.success().then(|| (told, stderr(&output)))
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_what_was_there() {
    let room = tempfile::tempdir().expect("a folder");
    let before = r#"echo mine > "$1/plate-200-holes.svg""#;
    let Some((told, error)) = plan_on_a_mount(room.path(), "rw", before) else {
        println!("SKIPPED: a full disk: a mount of its own is not allowed here");
        return;
    };
    assert_eq!(told, "ended with 2; left: plate-200-holes.svg; mine");
    assert!(error.contains("No space left on device"), "{error}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_disk_mounted_to_be_read_only_is_told() {
    let room = tempfile::tempdir().expect("a folder");
    let before = r#"echo mine > "$1/plate-200-holes.svg""#;
    let Some((told, error)) = plan_on_a_mount(room.path(), "ro", before) else {
        println!("SKIPPED: a read-only disk: a mount of its own is not allowed here");
        return;
    };
    assert_eq!(told, "ended with 2; left: plate-200-holes.svg; mine");
    assert!(error.contains("Read-only file system"), "{error}");
}

#[cfg(unix)]
#[test]
fn an_unwritable_standard_output_is_told() {
    let read_only = fs::File::open("/dev/null").expect("the device");
    let output = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["inspect", DRAWING])
        .stdout(read_only)
        .output()
        .expect("it starts");
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("standard output"), "{}", stderr(&output));
}

#[test]
fn it_needs_no_home_and_no_environment() {
    let room = tempfile::tempdir().expect("a folder");
    let output = plan(room.path()).env_clear().output().expect("it starts");
    assert!(output.status.success(), "{}", stderr(&output));
    assert_eq!(results(room.path()).len(), 3);
}

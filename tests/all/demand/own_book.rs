//! `book`.

use std::fs;

use crate::common::{json, rows, run, stdout};

#[test]
fn a_new_book_is_sound_and_a_broken_one_is_told_line_by_line() {
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("shop.toml");
    let path = file.to_str().expect("a path");
    let check = || run(&["book", "check", path]);
    assert_eq!(run(&["book", "init", "--out", path]).status.code(), Some(0));
    assert_eq!(check().status.code(), Some(0), "{}", stdout(&check()));
    let again = run(&["book", "init", "--out", path]);
    assert_eq!(again.status.code(), Some(2), "a book is never written over");
    let text = fs::read_to_string(&file).expect("a book");
    assert_eq!(text, stdout(&run(&["book", "init"])));
    fs::write(
        &file,
        "[material.tool-steel]\nrate_mm2_min = \"fast\"\n[demand]\nmachine = \"none\"\n",
    )
    .expect("written");
    let broken = check();
    assert_eq!(broken.status.code(), Some(1));
    for line in ["line 2", "line 4", "2 flaws"] {
        assert!(stdout(&broken).contains(line), "{line}: {}", stdout(&broken));
    }
    let doubtful = "[recipe.mine]\npass = [{ ra_um = 2 }, { taken_um = 1, ra_um = 3 }]\n";
    fs::write(&file, doubtful).expect("written");
    assert!(
        stdout(&check()).contains("doubtful: mine, pass 2: its Ra of 3"),
        "{}",
        stdout(&check())
    );
    let shown = json(&["book", "show", "tool-steel", "--book", path]);
    for row in rows(&shown, "numbers") {
        assert!(
            row["source"].is_string() && row["basis"].is_string() && row["low"].is_number(),
            "{row}"
        );
    }
}

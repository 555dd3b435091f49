//! Inputs of the fuzzers that once hung or were answered wrongly.

#[path = "../fuzz/inputs.rs"]
#[expect(dead_code, reason = "drawings are for the fuzzer only, so far")]
mod inputs;

use std::fs;
use std::path::Path;

use kerfwright::path;

fn each_in(folder: &str, mut check: impl FnMut(&str, &[u8])) {
    let folder = Path::new("fixtures/once-failed").join(folder);
    let mut seen = 0;
    for entry in fs::read_dir(&folder).expect("the folder is here") {
        let file = entry.expect("listed").path();
        check(&file.display().to_string(), &fs::read(&file).expect("read"));
        seen += 1;
    }
    assert!(seen > 0, "{} is empty", folder.display());
}

#[test]
fn offsets_are_verified_or_refused() {
    each_in("offset", |name, bytes| {
        let (contour, offset_mm) = inputs::contour(bytes).expect("a contour");
        match path::offset(&contour, offset_mm) {
            Ok(offset) => assert!(offset.verified_mm <= kerfwright::tolerance::PATH_MM, "{name}"),
            Err(refused) => assert!(refused.at.is_finite(), "{name}"),
        }
    });
}

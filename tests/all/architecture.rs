//! The house rules that a compiler does not hold: layers, the one home of small lengths, one name for one thing, names of
//! findings, a fixture that fires and one that does not for each check, fresh generated pages.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use kerfwright::check;

use crate::common::root;

/// Modules, lowest first. A module imports only modules that stand before it.
const LAYERS: [&str; 27] = [
    "elementary",
    "tolerance",
    "cancel",
    "units",
    "id",
    "message",
    "geometry",
    "finding",
    "shop",
    "job",
    "dxf",
    "drawing",
    "contour",
    "question",
    "pass",
    "toolpath",
    "process",
    "estimate",
    "calibrate",
    "gauge",
    "check",
    "plan",
    "report",
    "serve",
    "cli",
    "types",
    "main",
];

/// The code of the package, comments and test modules left out.
pub(crate) struct Source {
    pub(crate) path: PathBuf,
    module: String,
    pub(crate) lines: Vec<(usize, String)>,
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("the folder can be listed") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

pub(crate) fn sources() -> Vec<Source> {
    let src = root().join("src");
    let files = rust_files(&src);
    assert!(files.len() > 20, "the sources are where this test looks for them");
    files
        .into_iter()
        .filter(|path| !is_test_module(path))
        .map(|path| source(&src, path))
        .collect()
}

/// Files that only `#[cfg(test)] mod …;` takes in.
fn is_test_module(path: &Path) -> bool {
    let stem = path
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let parent = path.parent().expect("a file lies in a folder");
    let declared = format!("#[cfg(test)]\nmod {stem};");
    let declared_public =
        ["pub(crate)", "pub(super)"].map(|seen| format!("#[cfg(test)]\n{seen} mod {stem};"));
    let above = [
        parent.with_extension("rs"),
        parent.join("lib.rs"),
        parent.join("mod.rs"),
    ];
    let by_parent = above.iter().filter_map(|file| fs::read_to_string(file).ok());
    let mut texts = by_parent
        .map(|text| text.contains(&declared) || declared_public.iter().any(|public| text.contains(public)));
    let within_tests = path.components().any(|part| part.as_os_str() == "tests");
    within_tests || texts.any(|yes| yes)
}

fn source(src: &Path, path: PathBuf) -> Source {
    let text = fs::read_to_string(&path).expect("a source file is text");
    // The test module stands last in a file.
    let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
    let lines = code
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line.split("//").next().unwrap_or_default().to_owned()))
        .collect();
    let within = path.strip_prefix(src).expect("it lies in src");
    let first = within
        .components()
        .next()
        .expect("it has a name")
        .as_os_str()
        .to_string_lossy()
        .into_owned();
    let module = first.trim_end_matches(".rs").to_owned();
    Source { path, module, lines }
}

fn height(module: &str) -> Option<usize> {
    LAYERS.iter().position(|layer| *layer == module)
}

#[test]
fn a_module_imports_only_lower_ones() {
    let mut imports = 0;
    let mut wrong = Vec::new();
    for source in sources().iter().filter(|source| source.module != "lib") {
        let own = height(&source.module);
        let Some(own) = own else {
            panic!(
                "{} belongs to no layer: add its module to the list",
                source.path.display()
            )
        };
        for (line, module) in crate_modules(&source.lines) {
            let Some(used) = height(&module) else { continue };
            imports += 1;
            if used > own {
                wrong.push(format!("{}:{line} names {module}", source.path.display()));
            }
        }
    }
    assert!(imports > 50, "only {imports} imports were seen");
    assert!(
        wrong.is_empty(),
        "a module names one above its own:\n{}",
        wrong.join("\n")
    );
}

/// Modules that code names as `crate::x` or in `use crate::{x, y::{a, b}}`, each with its line.
fn crate_modules(lines: &[(usize, String)]) -> Vec<(usize, String)> {
    let word = |text: &str| {
        text.chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect::<String>()
    };
    let mut modules = Vec::new();
    // Open braces of a list that runs on, when inside one.
    let mut depth = 0;
    for (number, line) in lines {
        let mut rest = line.as_str();
        loop {
            if depth == 0 {
                let Some((_, after)) = rest
                    .split_once("crate::")
                    .or_else(|| rest.split_once("kerfwright::"))
                else {
                    break;
                };
                rest = after;
                match after.strip_prefix('{') {
                    None => modules.push((*number, word(after))),
                    Some(list) => (depth, rest) = (1, list),
                }
                continue;
            }
            // In a list only names at its own level are modules.
            let Some(at) = rest.find(['{', '}', ',']) else {
                if depth == 1 {
                    modules.push((*number, word(rest.trim())));
                }
                break;
            };
            if depth == 1 {
                modules.push((*number, word(rest[..at].trim())));
            }
            depth = match rest.as_bytes()[at] {
                b'{' => depth + 1,
                b'}' => depth - 1,
                _ => depth,
            };
            rest = &rest[at + 1..];
        }
    }
    modules
}

#[test]
fn the_module_finder_sees_every_form() {
    let code = [
        "use crate::plan::Plan;",
        "use crate::{check, report::{a, b}, job};",
        "use crate::{",
        "    path,",
        "    pass::Pass,",
        "};",
        "fn f(a: crate::cli::Cli) -> kerfwright::shop::Book {}",
    ];
    let lines: Vec<_> = code
        .iter()
        .enumerate()
        .map(|(i, line)| (i, (*line).to_owned()))
        .collect();
    let mut found: Vec<String> = crate_modules(&lines)
        .into_iter()
        .map(|(_, module)| module)
        .collect();
    found.retain(|module| !module.is_empty());
    assert_eq!(
        found,
        ["plan", "check", "report", "job", "path", "pass", "cli", "shop"]
    );
}

/// Examples see the rooms, since the feature for tests is on; a program of one's own does not.
#[test]
fn a_program_of_ones_own_names_no_room() {
    let text = fs::read_to_string(root().join("examples/own_program.rs")).expect("the example");
    let lines: Vec<_> = text.lines().map(str::to_owned).enumerate().collect();
    let named = crate_modules(&lines);
    assert!(named.iter().any(|(_, name)| name == "Planner"), "{named:?}");
    let open = ["report", "serve", "types"];
    let rooms = named
        .iter()
        .filter(|(_, name)| height(name).is_some() && !open.contains(&name.as_str()));
    assert_eq!(rooms.count(), 0, "{named:?}");
}

#[test]
fn small_lengths_live_in_one_place() {
    let mut wrong = Vec::new();
    for source in sources().iter().filter(|source| source.module != "tolerance") {
        for (number, line) in &source.lines {
            if small_literal(line) {
                wrong.push(format!("{}:{number}: {}", source.path.display(), line.trim()));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "a small number without a name in tolerance.rs:\n{}",
        wrong.join("\n")
    );
}

/// Whether a line of code holds a literal such as `1e-9` or `0.0001`.
fn small_literal(line: &str) -> bool {
    let bytes = line.as_bytes();
    let exponent = line.match_indices("e-").any(|(at, _)| {
        let before = at.checked_sub(1).map_or(b' ', |i| bytes[i]);
        let after = bytes.get(at + 2).copied().unwrap_or(b' ');
        (before.is_ascii_digit() || before == b'.') && after.is_ascii_digit()
    });
    let zeros = line.match_indices("0.000").any(|(at, text)| {
        let before = at.checked_sub(1).map_or(b' ', |i| bytes[i]);
        let digits = line[at + text.len()..].chars().take_while(char::is_ascii_digit);
        !before.is_ascii_digit() && digits.clone().any(|digit| digit != '0')
    });
    exponent || zeros
}

#[test]
fn the_literal_finder_sees_small_numbers_only() {
    for small in ["x < 1e-9", "2.5e-12", "0.0001", "1.e-3"] {
        assert!(small_literal(small), "{small}");
    }
    for fine in ["1e9", "0.001", "0.000", "10.0001", "page-1", "value-e"] {
        assert!(!small_literal(fine), "{fine}");
    }
}

/// Type names that stand in several modules, each with its reason.
const SHARED_TYPE_NAMES: [(&str, &str); 1] = [("Error", "written with its module everywhere: `dxf::Error`")];

/// The name that a line of code defines, after one of the keywords; `None` where it defines nothing or an associated type.
fn defined<'a>(line: &'a str, keywords: &[&str]) -> Option<&'a str> {
    let mut code = line.trim_start();
    if let Some(rest) = code.strip_prefix("pub") {
        let in_room = rest.strip_prefix('(').and_then(|scope| scope.split_once(')'));
        code = in_room.map_or(rest, |(_, rest)| rest).trim_start();
    }
    let (keyword, rest) = code.split_once(' ')?;
    let associated = keyword == "type" && line.starts_with(' ');
    if associated || !keywords.contains(&keyword) {
        return None;
    }
    let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_');
    let name = &rest[..end.unwrap_or(rest.len())];
    // A macro defines what it is told to.
    (!name.is_empty()).then_some(name)
}

#[test]
fn a_type_name_means_one_thing() {
    let mut places: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for source in sources() {
        for (number, line) in &source.lines {
            if let Some(name) = defined(line, &["struct", "enum", "trait", "type"]) {
                let place = format!("{}:{number}", source.path.display());
                places.entry(name.to_owned()).or_default().push(place);
            }
        }
    }
    assert!(places.len() > 400, "only {} types were seen", places.len());
    for (name, reason) in SHARED_TYPE_NAMES {
        let several = places.remove(name).is_some_and(|places| places.len() > 1);
        assert!(several, "{name} needs no exception ({reason})");
    }
    places.retain(|_, places| places.len() > 1);
    assert!(places.is_empty(), "a name means several things:\n{places:#?}");
}

/// Names that say nothing where a function stands alone; on a method the type before it says the rest.
const EMPTY_NAMES: [&str; 14] = [
    "of", "at", "on", "off", "over", "along", "within", "said", "held", "go", "given", "whole", "own",
    "wanted",
];

#[test]
fn a_free_function_says_what_it_returns() {
    let mut free = 0;
    let mut wrong = Vec::new();
    for source in sources() {
        for (number, line) in source.lines.iter().filter(|(_, line)| !line.starts_with(' ')) {
            if let Some(name) = defined(line, &["fn"]) {
                free += 1;
                if EMPTY_NAMES.contains(&name) {
                    wrong.push(format!("{}:{number}: fn {name}", source.path.display()));
                }
            }
        }
    }
    assert!(free > 500, "only {free} free functions were seen");
    assert!(
        wrong.is_empty(),
        "a name that says nothing:\n{}",
        wrong.join("\n")
    );
}

#[test]
fn the_finder_of_definitions_sees_every_form() {
    let types = ["struct", "enum", "trait", "type"];
    for (line, name) in [
        ("pub struct Bounds {", "Bounds"),
        ("    enum Inner<'a> {", "Inner"),
        ("pub(in crate::path) struct PathFlaw {", "PathFlaw"),
        ("type Triple = [f64; 3];", "Triple"),
        ("pub(super) trait Draft<'a>: Default {", "Draft"),
        ("struct Quiet;", "Quiet"),
    ] {
        assert_eq!(defined(line, &types), Some(name), "{line}");
    }
    for line in [
        "    type Err = String;",
        "let structure = 1;",
        "pub struct $name(u32);",
        "pub fn of() {",
        "",
    ] {
        assert_eq!(defined(line, &types), None, "{line}");
    }
}

/// Where a list is indexed by a number minus one that is no number of a contour, group, pass or path, each with its reason.
const ONE_BEFORE: [(&str, &str, &str); 6] = [
    (
        "src/calibrate/job_fit.rs",
        "values[half - 1]",
        "the lower of the two middle values",
    ),
    ("src/contour/chain.rs", "starts[i - 1]", "a running sum"),
    (
        "src/contour/heal.rs",
        "vertices[end - 1]",
        "the last vertex of a run",
    ),
    ("src/contour/heal.rs", "get(end - 1)", "the last vertex of a run"),
    (
        "src/process/route.rs",
        "order[k - 1]",
        "the place before on a way",
    ),
    (
        "src/units/roughness.rs",
        "get(grade.checked_sub(1)",
        "the grade N of ISO 1302",
    ),
];

/// The places in a line of code where something is indexed by a name minus one: `list[id - 1]`, `list.get(id - 1)`,
/// `list.get(id.checked_sub(1)?)`.
fn one_before(line: &str) -> Vec<String> {
    let is_part_of_name = |c: char| c.is_alphanumeric() || "_.*& ".contains(c);
    let mut found = Vec::new();
    for (less, opening) in [
        (" - 1]", "["),
        (" - 1)", "get("),
        (" - 1)", "get_mut("),
        (".checked_sub(1)", "get("),
    ] {
        for (at, _) in line.match_indices(less) {
            let name = line[..at].trim_end_matches(is_part_of_name);
            let index = &line[name.len()..at];
            // A range is no number, and a constant none of ours.
            let is_number = index.contains(char::is_lowercase) && !index.contains("..");
            let before = name.strip_suffix(opening).filter(|_| is_number);
            if let Some(before) = before {
                let list = before.trim_end_matches(|c: char| c.is_alphanumeric() || c == '_');
                found.push(line[list.len()..at + less.len()].to_owned());
            }
        }
    }
    found
}

#[test]
fn the_step_from_a_number_to_an_index_is_taken_in_one_place() {
    let mut excused: BTreeSet<usize> = BTreeSet::new();
    let mut wrong = Vec::new();
    let elsewhere = |source: &&Source| !["id", "geometry"].contains(&source.module.as_str());
    for source in sources().iter().filter(elsewhere) {
        let path = source
            .path
            .strip_prefix(root())
            .expect("it lies there")
            .display()
            .to_string();
        for (number, line) in &source.lines {
            for found in one_before(line) {
                let excuse = ONE_BEFORE
                    .iter()
                    .position(|(file, text, _)| *file == path && *text == found);
                match excuse {
                    Some(excuse) => excused.extend([excuse]),
                    None => wrong.push(format!("{path}:{number}: {found}")),
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "a number is made an index by hand:\n{}",
        wrong.join("\n")
    );
    assert_eq!(
        excused.len(),
        ONE_BEFORE.len(),
        "an exception is not needed: only {excused:?} are"
    );
}

#[test]
fn the_finder_of_steps_sees_every_form() {
    for (line, found) in [
        ("let c = &list[id - 1];", "list[id - 1]"),
        ("contours.list[id as usize - 1].role", "list[id as usize - 1]"),
        ("list.get(frame.contour - 1)", "get(frame.contour - 1)"),
        ("self.rows.get_mut(pass - 1)", "get_mut(pass - 1)"),
        ("list.get(id.checked_sub(1)?)", "get(id.checked_sub(1)"),
        (
            "self.runs[self.owners.contour - 1]",
            "runs[self.owners.contour - 1]",
        ),
    ] {
        assert_eq!(one_before(line), [found], "{line}");
    }
    for fine in [
        "list[list.len() - 1]",
        "list[..n - 1]",
        "near[COUNT - 1]",
        "list[(i + n - 1) % n]",
        "f(id - 1)",
        "list[id.index()]",
    ] {
        assert!(one_before(fine).is_empty(), "{fine}");
    }
}

#[test]
fn numbers_have_types_of_their_own() {
    let kinds = [
        ("contour", "ContourId"),
        ("group", "GroupId"),
        ("pass", "PassNo"),
        ("wire_loop", "LoopId"),
    ];
    let mut wrong = Vec::new();
    let mut typed = 0;
    for source in sources() {
        for (number, line) in &source.lines {
            for (name, of_its_own) in kinds {
                let is_of = |kind: &str| {
                    let plain = format!("{name}: {kind}");
                    let optional = format!("{name}: Option<{kind}>");
                    [plain, optional].iter().any(|text| {
                        line.match_indices(text.as_str())
                            .any(|(at, _)| !line[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_'))
                    })
                };
                typed += usize::from(is_of(of_its_own));
                if is_of("usize") || is_of("u32") {
                    wrong.push(format!("{}:{number}: {}", source.path.display(), line.trim()));
                }
            }
        }
    }
    assert!(typed > 60, "only {typed} numbers were seen");
    assert!(
        wrong.is_empty(),
        "a number without its type:\n{}",
        wrong.join("\n")
    );
}

/// Fields below `check` that hold a sentence, each with its reason: a room there returns facts, and words are chosen above.
const SENTENCES_BELOW_CHECK: [(&str, &str, &str); 5] = [
    (
        "Finding",
        "message",
        "the shape of a finding, which a check fills",
    ),
    ("Flaw", "reason", "the text of an error in a book"),
    ("RefusedMaterial", "reason", "a text that the book holds"),
    (
        "Doubt",
        "reason",
        "the book's own doubt about a recipe, written before any drawing is there",
    ),
    (
        "Ignored",
        "reason",
        "why the reader left entities out, one of the texts in `src/drawing/ignored.rs`",
    ),
];

/// Fields of structs and enums that hold a sentence by their name and type, as (type, field, line); those of error enums and
/// error structs are left out, whose texts stay with them.
fn sentence_fields(lines: &[(usize, String)]) -> Vec<(String, String, usize)> {
    const NAMES: [&str; 6] = [
        "reason",
        "assumption",
        "assumptions",
        "message",
        "confidence",
        "why",
    ];
    const TEXTS: [&str; 4] = ["String", "&'static str", "Cow<'static, str>", "Message"];
    let mut found = Vec::new();
    // The type that is open, and whether the one that follows is an error.
    let (mut within, mut error): (Option<String>, bool) = (None, false);
    for (number, line) in lines {
        let code = line.trim();
        if !line.starts_with(' ') {
            if code.starts_with("#[derive(") {
                let derived = code.trim_start_matches("#[derive(").trim_end_matches(")]");
                error = derived
                    .split(", ")
                    .any(|name| name.rsplit("::").next() == Some("Error"));
            } else if let Some(name) = defined(line, &["struct", "enum"]) {
                within = (!error && !code.ends_with('}')).then(|| name.to_owned());
                error = false;
            } else if code.starts_with('}') {
                within = None;
            }
            continue;
        }
        let Some(of) = &within else { continue };
        let field = code.strip_prefix("pub ").unwrap_or(code);
        let field = match field.strip_prefix("pub(") {
            Some(rest) => rest.split_once(") ").map_or(rest, |(_, field)| field),
            None => field,
        };
        let Some((name, kind)) = field.split_once(": ") else {
            continue;
        };
        if NAMES.contains(&name) && TEXTS.iter().any(|text| kind.contains(text)) {
            found.push((of.clone(), name.to_owned(), *number));
        }
    }
    found
}

#[test]
fn rooms_below_check_return_facts() {
    let check = height("check").expect("a layer");
    let mut wrong = Vec::new();
    let mut excused: BTreeSet<&str> = BTreeSet::new();
    let below = |source: &Source| height(&source.module).is_some_and(|height| height < check);
    for source in sources().iter().filter(|source| below(source)) {
        for (of, name, number) in sentence_fields(&source.lines) {
            let excuse = SENTENCES_BELOW_CHECK
                .iter()
                .find(|(known, field, _)| (*known, *field) == (of.as_str(), name.as_str()));
            match excuse {
                Some((known, ..)) => excused.extend([*known]),
                None => wrong.push(format!("{}:{number}: {of}.{name}", source.path.display())),
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "a room below `check` chooses words:\n{}",
        wrong.join("\n")
    );
    assert_eq!(
        excused.len(),
        SENTENCES_BELOW_CHECK.len(),
        "an exception is not needed: only {excused:?} are"
    );
}

#[test]
fn the_finder_of_sentences_sees_fields_of_facts_only() {
    let code = [
        "pub struct Refusal {",
        "    pub reason: String,",
        "    pub(super) why: Option<&'static str>,",
        "    pub pass: PassNo,",
        "}",
        "#[derive(Clone, Debug, thiserror::Error)]",
        "pub enum Error {",
        "    Book {",
        "        reason: String,",
        "    },",
        "}",
        "#[derive(Clone, Debug)]",
        "pub enum Lack {",
        "    Path {",
        "        reason: String,",
        "    },",
        "    Room { why: Reason },",
        "}",
        "fn f(",
        "    message: String,",
        ") {",
        "}",
        "pub struct Process {",
        "    assumptions: Vec<String>,",
        "}",
    ];
    let lines: Vec<_> = (1..).zip(code.iter().map(|line| (*line).to_owned())).collect();
    let found = sentence_fields(&lines);
    let found: Vec<_> = found
        .iter()
        .map(|(of, name, line)| (of.as_str(), name.as_str(), *line))
        .collect();
    assert_eq!(
        found,
        [
            ("Refusal", "reason", 2),
            ("Refusal", "why", 3),
            ("Lack", "reason", 15),
            ("Process", "assumptions", 24)
        ]
    );
}

/// A second program of tests links all of the crate and its dependencies once more.
#[test]
fn tests_are_one_program_but_for_what_needs_the_machine_to_itself() {
    let folder = root().join("tests");
    let entries = fs::read_dir(&folder).expect("the folder can be listed");
    let programs: BTreeSet<String> = entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.join("main.rs").is_file() || path.extension().is_some_and(|kind| kind == "rs"))
        .map(|path| {
            path.strip_prefix(&folder)
                .expect("it lies there")
                .display()
                .to_string()
        })
        .collect();
    assert_eq!(
        programs.into_iter().collect::<Vec<_>>(),
        ["all", "faults.rs", "load.rs", "page"]
    );
}

#[test]
fn findings_have_names_of_their_own() {
    let names: Vec<&str> = check::ALL.iter().map(|check| check.name).collect();
    let own: BTreeSet<&str> = names.iter().copied().collect();
    assert_eq!(own.len(), names.len(), "two checks share a name");
    for name in &own {
        let kebab = name
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
        assert!(kebab, "{name} is not kebab-case");
    }
    // A rename breaks the jobs that rely on the name: it has to be seen in review.
    insta::assert_snapshot!(own.into_iter().collect::<Vec<_>>().join("\n"));
}

#[test]
fn every_check_has_a_drawing_that_fires_and_one_that_does_not() {
    let missing: Vec<String> = check::ALL
        .iter()
        .flat_map(|check| ["fires", "clean"].map(|kind| format!("fixtures/checks/{}-{kind}.dxf", check.name)))
        .filter(|path| !root().join(path).is_file())
        .collect();
    assert!(missing.is_empty(), "missing:\n{}", missing.join("\n"));
}

/// A page that is made from the code; `UPDATE=1` writes it anew.
fn fresh(path: &str, expected: &str) {
    let path = root().join(path);
    if std::env::var_os("UPDATE").is_some() {
        fs::create_dir_all(path.parent().expect("a folder")).expect("the folder can be made");
        fs::write(&path, expected).expect("the page can be written");
    }
    let found = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        found == expected,
        "{} is stale: run the tests once with UPDATE=1",
        path.display()
    );
}

/// The names that a text places in a file, written as `name` in `path`.
fn placed_names(text: &str) -> Vec<(&str, &str)> {
    let parts: Vec<&str> = text.split('`').collect();
    let mut placed = Vec::new();
    let mut waiting: Vec<&str> = Vec::new();
    for code in parts.iter().skip(1).step_by(2) {
        if Path::new(code).extension().is_some_and(|kind| kind == "rs") {
            placed.extend(waiting.drain(..).map(|name| (name, *code)));
        } else {
            waiting.push(code);
        }
    }
    placed
}

#[test]
fn the_three_questions_are_answered_by_what_is_there() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).expect("the page");
    let (_, section) = page.split_once("\n## Three questions\n").expect("the section");
    let (section, _) = section.split_once("\n## ").expect("a section after it");
    let answers: Vec<&str> = section.split("\n- **").skip(1).collect();
    assert_eq!(answers.len(), 3);
    for answer in answers {
        let (answer, _) = answer.split_once("\n\n").unwrap_or((answer, ""));
        let placed = placed_names(answer);
        assert!(!placed.is_empty(), "no place is named: {answer}");
        for (name, path) in placed {
            let source = fs::read_to_string(root().join(path));
            let source = source.unwrap_or_else(|error| panic!("{path}: {error}"));
            let kinds = ["fn", "const", "struct"];
            let there = source.lines().any(|line| defined(line, &kinds) == Some(name));
            assert!(there, "{path} defines no {name}");
        }
    }
}

#[test]
fn the_page_of_all_checks_is_fresh() {
    fresh("docs/checks.md", &kerfwright::report::checks_markdown());
}

/// A length that is written into a string is never turned into inches: it has to be a quantity of a message.
#[test]
fn rooms_that_choose_words_keep_lengths_as_quantities() {
    const ROOMS: [&str; 3] = ["check", "plan", "question"];
    let mut wrong = Vec::new();
    let mut messages = 0;
    for source in sources()
        .iter()
        .filter(|source| ROOMS.contains(&source.module.as_str()))
    {
        messages += source
            .lines
            .iter()
            .filter(|(_, line)| line.contains("message!("))
            .count();
        for number in lengths_in_strings(&source.lines) {
            wrong.push(format!("{}:{number}", source.path.display()));
        }
    }
    assert!(wrong.is_empty(), "a length in a string:\n{}", wrong.join("\n"));
    assert!(messages > 60, "only {messages} messages were seen");
}

/// The lines where a place of a format string is followed by a metric unit of length, on the same line or the next.
fn lengths_in_strings(lines: &[(usize, String)]) -> Vec<usize> {
    const UNITS: [&str; 2] = ["mm", "µm"];
    let is_length = |rest: &str| {
        let rest = rest.trim_start_matches(' ');
        let unit = UNITS.iter().find_map(|unit| rest.strip_prefix(unit));
        unit.is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphabetic() || c == '_'))
    };
    let next = |i: usize| lines.get(i + 1).map_or("", |(_, line)| line.trim_start());
    let mut found = Vec::new();
    for (i, (number, line)) in lines.iter().enumerate() {
        let open = line.strip_suffix('\\');
        let text = open.map_or_else(|| line.clone(), |line| line.to_owned() + next(i));
        let begun = text.match_indices("} ").filter(|(at, _)| *at < line.len());
        if begun.into_iter().any(|(at, _)| is_length(&text[at + 1..])) {
            found.push(*number);
        }
    }
    found
}

#[test]
fn the_finder_of_lengths_sees_every_form() {
    let code = [
        "format!(\"{:.3} mm wide\")",
        "format!(\"within {within_um} µm\")",
        "format!(\"{area:.4} mm² are left\")",
        "format!(\"at {feed} mm/min\")",
        "message!(\"{} wide, {} mmol, \\",
        "          {} \\",
        "          mm across\")",
        "let Size { mm } = size",
        "if x { mm_of(x) }",
    ];
    let lines: Vec<_> = (1..).zip(code.iter().map(|line| (*line).to_owned())).collect();
    assert_eq!(lengths_in_strings(&lines), [1, 2, 3, 4, 6]);
}

/// Files that set what the view holds: nothing of a plan stands in them.
const FORMATS: [&str; 8] = [
    "src/report/terminal.rs",
    "src/report/terminal/sections.rs",
    "src/report/terminal/table.rs",
    "src/report/html.rs",
    "src/report/html/sections.rs",
    "src/report/svg/tables.rs",
    "src/report/json/sections.rs",
    "src/report/csv.rs",
];

/// What a format must not do: name the rows of a plan, add numbers, or cut a list by a limit of its own.
fn breaches(code: &str) -> Vec<&'static str> {
    const ROWS: [&str; 12] = [
        ".groups",
        ".passes()",
        ".toolpaths",
        ".process",
        ".estimate",
        ".contours",
        ".findings",
        ".separations",
        ".operations",
        ".unreached",
        ".quality",
        ".requirement",
    ];
    const SUMS: [&str; 4] = [".sum::", ".sum()", "+=", ".fold(0.0"];
    const LIMITS: [&str; 2] = [".take(", ".truncate("];
    let of = |words: &[&'static str]| -> Vec<&'static str> {
        words.iter().copied().filter(|word| code.contains(word)).collect()
    };
    [of(&ROWS), of(&SUMS), of(&LIMITS)].concat()
}

#[test]
fn formats_set_what_the_view_holds_and_nothing_else() {
    let sources = sources();
    let mut found = Vec::new();
    let mut seen = 0;
    for source in &sources {
        let Some(file) = FORMATS.iter().find(|file| source.path.ends_with(file)) else {
            continue;
        };
        seen += 1;
        for (number, code) in &source.lines {
            for breach in breaches(code) {
                // A cell is cut to its width, and a line at its end; the pictures of the job sheet are drawn for it.
                let is_width = *file == "src/report/terminal/table.rs"
                    && (code.contains("chars()") || code.contains("line."));
                let is_picture = *file == "src/report/html.rs" && code.contains("svg::accuracy_budget");
                // Where columns stand on paper is no number of a plan.
                let is_place = *file == "src/report/svg/tables.rs"
                    && ["x += ", "widest", "column.right"]
                        .iter()
                        .any(|word| code.contains(word));
                if !(is_width || is_picture || is_place) {
                    found.push(format!("{file}:{number}: {breach}"));
                }
            }
        }
    }
    assert_eq!(seen, FORMATS.len(), "every format is looked at");
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn what_a_format_must_not_do_is_seen() {
    for (code, breach) in [
        ("for group in &plan.groups {", ".groups"),
        (
            "let all: f64 = rows.iter().map(|row| row.minutes).sum();",
            ".sum()",
        ),
        ("for row in rows.iter().take(LISTED) {", ".take("),
        ("total += row.minutes;", "+="),
    ] {
        assert!(breaches(code).contains(&breach), "{code}");
    }
}

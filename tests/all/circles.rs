//! Within a room no two files import each other, directly or by way of others: one of them always stands lower and can be
//! read without the other.

use std::collections::{BTreeMap, BTreeSet};

use crate::architecture::{Source, sources};
use crate::common::root;

/// A module by its names from the room down: `["process", "lead"]` of `src/process/lead.rs`.
type Module = Vec<String>;

/// The code of every module, and what it calls from its children.
struct House {
    code: BTreeMap<Module, String>,
    /// Where the names come from that a module takes in from its children.
    from_children: BTreeMap<Module, BTreeMap<String, Module>>,
}

impl House {
    fn new(code: BTreeMap<Module, String>) -> Self {
        let from_children = code
            .iter()
            .map(|(module, text)| {
                let names = used(text).into_iter().filter_map(|path| {
                    let path = path.strip_prefix(&["self".to_owned()][..]).unwrap_or(&path);
                    let [first, .., last] = path else { return None };
                    let child = [&module[..], std::slice::from_ref(first)].concat();
                    code.contains_key(&child).then(|| (last.clone(), child))
                });
                (module.clone(), names.collect())
            })
            .collect();
        Self { code, from_children }
    }

    /// The module that holds what `path` names in `from`.
    fn holder(&self, from: &Module, path: &[String]) -> Option<Module> {
        let (mut at, rest) = match path.first()?.as_str() {
            "crate" => (Module::new(), &path[1..]),
            "self" => (from.clone(), &path[1..]),
            "super" => {
                let ups = path.iter().take_while(|word| *word == "super").count();
                (from[..from.len().checked_sub(ups)?].to_vec(), &path[ups..])
            }
            _ => return None,
        };
        for word in rest {
            let below = [&at[..], std::slice::from_ref(word)].concat();
            if self.code.contains_key(&below) {
                at = below;
            } else if let Some(child) = self.from_children.get(&at).and_then(|names| names.get(word)) {
                return Some(child.clone());
            } else {
                break;
            }
        }
        Some(at)
    }

    /// By folder: which of its modules name which others of it, whatever depth they name them from. A parent that declares its children, and a child
    /// that takes from its parent, name nothing beside themselves.
    fn imports(&self) -> BTreeMap<Module, BTreeMap<String, BTreeSet<String>>> {
        let mut imports: BTreeMap<Module, BTreeMap<String, BTreeSet<String>>> = BTreeMap::new();
        for (module, text) in &self.code {
            let paths = used(text).into_iter().chain(inline(text));
            for holder in paths.filter_map(|path| self.holder(module, &path)) {
                let shared = module.iter().zip(&holder).take_while(|(a, b)| a == b).count();
                if shared > 0 && shared < module.len() && shared < holder.len() {
                    let of_folder = imports.entry(module[..shared].to_vec()).or_default();
                    let own = of_folder.entry(module[shared].clone()).or_default();
                    own.insert(holder[shared].clone());
                }
            }
        }
        imports
    }

    /// All circles, each by its folder and its members.
    fn circles(&self) -> BTreeSet<(String, Vec<String>)> {
        let mut circles = BTreeSet::new();
        for (folder, imports) in self.imports() {
            let reached: BTreeMap<&String, BTreeSet<&String>> = imports
                .keys()
                .map(|from| (from, reached(&imports, from)))
                .collect();
            for (from, to) in reached.iter().filter(|(from, to)| to.contains(**from)) {
                let back = to
                    .iter()
                    .filter(|other| reached.get(**other).is_some_and(|to| to.contains(*from)));
                let members: Vec<String> = back.map(|name| (*name).clone()).collect();
                circles.insert((folder.join("/"), members));
            }
        }
        circles
    }
}

/// All that is imported from `from` on, step by step.
fn reached<'a>(imports: &'a BTreeMap<String, BTreeSet<String>>, from: &String) -> BTreeSet<&'a String> {
    let mut reached = BTreeSet::new();
    let mut next: Vec<&String> = imports[from].iter().collect();
    while let Some(name) = next.pop() {
        if reached.insert(name) {
            next.extend(imports.get(name).into_iter().flatten());
        }
    }
    reached
}

/// The paths of all `use` declarations, lists taken apart.
fn used(code: &str) -> Vec<Vec<String>> {
    let mut paths = Vec::new();
    for statement in code.split(';') {
        let Some(at) = statement.rfind("use ") else {
            continue;
        };
        let starts = statement[..at]
            .chars()
            .next_back()
            .is_none_or(char::is_whitespace);
        let tree = &statement[at + "use ".len()..];
        let is_path = tree
            .chars()
            .all(|c| c.is_alphanumeric() || c.is_whitespace() || "_:{},*".contains(c));
        if starts && is_path {
            take_apart(&[], tree, &mut paths);
        }
    }
    paths
}

fn take_apart(before: &[String], tree: &str, paths: &mut Vec<Vec<String>>) {
    let words = |path: &str| -> Vec<String> {
        let path = path.split(" as ").next().unwrap_or_default();
        let words = path.split("::").map(|word| word.trim().to_owned());
        words.filter(|word| !word.is_empty()).collect()
    };
    let Some((path, list)) = tree.split_once('{') else {
        paths.push([before, &words(tree)].concat());
        return;
    };
    let before = [before, &words(path)].concat();
    let list = list.rsplit_once('}').map_or(list, |(list, _)| list);
    let (mut depth, mut from) = (0, 0);
    for (i, c) in list.char_indices().chain([(list.len(), ',')]) {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                if !list[from..i].trim().is_empty() {
                    take_apart(&before, &list[from..i], paths);
                }
                from = i + 1;
            }
            _ => {}
        }
    }
}

/// Paths within the code that begin at the crate, the parent or the module itself.
fn inline(code: &str) -> Vec<Vec<String>> {
    let mut paths = Vec::new();
    for start in ["crate::", "super::", "self::"] {
        for (at, _) in code.match_indices(start) {
            let before = code[..at].chars().next_back();
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
                continue;
            }
            let path: String = code[at..]
                .chars()
                .take_while(|c| c.is_alphanumeric() || *c == '_' || *c == ':')
                .collect();
            let words = path.split("::").filter(|word| !word.is_empty());
            paths.push(words.map(str::to_owned).collect());
        }
    }
    paths
}

fn module(source: &Source) -> Module {
    let within = source
        .path
        .strip_prefix(root().join("src"))
        .expect("it lies in src");
    let words = within.with_extension("");
    words
        .components()
        .map(|word| word.as_os_str().to_string_lossy().into_owned())
        .collect()
}

#[test]
fn no_two_files_of_a_room_import_each_other() {
    let sources = sources();
    let code = sources.iter().map(|source| {
        let lines: Vec<&str> = source.lines.iter().map(|(_, line)| line.as_str()).collect();
        (module(source), lines.join("\n"))
    });
    let house = House::new(code.collect());
    let imports: usize = house
        .imports()
        .values()
        .flat_map(BTreeMap::values)
        .map(BTreeSet::len)
        .sum();
    assert!(imports > 400, "only {imports} imports within rooms were seen");
    let circles = house.circles();
    assert!(
        circles.is_empty(),
        "files that import each other, by room: move what they share to the file that stands lower: {circles:?}"
    );
}

#[test]
fn the_circle_finder_sees_every_form() {
    let house = |files: &[(&str, &str)]| {
        let code = files.iter().map(|(name, text)| {
            let module = name.split('/').map(str::to_owned).collect();
            (module, (*text).to_owned())
        });
        House::new(code.collect()).circles()
    };
    let circle = |folder: &str, members: &[&str]| {
        let members = members.iter().map(|name| (*name).to_owned()).collect();
        BTreeSet::from([(folder.to_owned(), members)])
    };
    let none = BTreeSet::new();
    // A parent that passes on, and children that take what is its own.
    let parent = "mod a;\nmod b;\npub use a::{A, f};\npub use self::b::B;\npub struct Own;";
    let one_way = [
        ("room", parent),
        ("room/a", "use super::Own;"),
        ("room/b", "use super::{A, Own};"),
    ];
    assert_eq!(house(&one_way), none);
    for (a, b) in [
        ("use super::b::B;", "use super::a::A;"),
        (
            "pub(super) use super::{Own, B};",
            "use crate::room::{\n    Own,\n    a::{A, f as g},\n};",
        ),
        ("fn f(b: &super::B) {}", "fn g() { crate::room::a::f() }"),
    ] {
        let files = [("room", parent), ("room/a", a), ("room/b", b)];
        assert_eq!(house(&files), circle("room", &["a", "b"]), "{a} {b}");
    }
    // By way of a third, and of a child of one.
    let files = [
        ("room", "mod a;\nmod b;\nmod c;"),
        ("room/a", "mod low;\nuse super::b::B;"),
        ("room/a/low", "pub struct Low;"),
        ("room/b", "use super::c::C;"),
        ("room/c", "use super::a::low::Low;"),
    ];
    assert_eq!(house(&files), circle("room", &["a", "b", "c"]));
}

//! Reads what the names of layers and linetypes, and the title of the drawing, say: whole words that stand for a purpose or a side.
//! They are signs: no word decides anything, it leads to a question.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use super::scene::{Scene, as_nested, is_purpose_given, is_settled, turned};
use super::{OpenCases, QuestionKind};
use crate::contour::{Contour, Role, SideFrom};
use crate::job::Purpose;

/// What a word says of the curves on a layer of that name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Meaning {
    Part,
    Opening,
    Existing,
    StartHole,
    Thread,
    Blank,
    Frame,
    Reference,
    /// Words that together say nothing, though one of them alone would.
    Nothing,
}

impl Meaning {
    fn side(self) -> Option<Role> {
        match self {
            Self::Part => Some(Role::Outside),
            Self::Opening => Some(Role::Opening),
            _ => None,
        }
    }

    /// Returns what curves are for that are not cut by this word.
    fn purpose(self) -> Option<Purpose> {
        match self {
            Self::Reference => Some(Purpose::Reference),
            Self::Frame => Some(Purpose::Frame),
            Self::Blank => Some(Purpose::Blank),
            Self::StartHole => Some(Purpose::StartHole),
            Self::Thread => Some(Purpose::Thread),
            Self::Existing => Some(Purpose::Existing),
            Self::Part | Self::Opening | Self::Nothing => None,
        }
    }
}

#[derive(Deserialize)]
struct WordList {
    group: Vec<WordGroup>,
}

#[derive(Deserialize)]
struct WordGroup {
    says: Meaning,
    /// It counts in titles too.
    #[serde(default)]
    title: bool,
    words: Vec<String>,
}

/// What each entry of the list says, and whether it counts in titles, by its words.
static WORDS: LazyLock<BTreeMap<Vec<String>, (Meaning, bool)>> = LazyLock::new(|| {
    let mut known = BTreeMap::new();
    for group in word_list().group {
        for entry in &group.words {
            for spelling in spellings(entry) {
                known.insert(words(&spelling), (group.says, group.title));
            }
        }
    }
    known
});

fn word_list() -> WordList {
    toml::from_str(include_str!("../data/layer-words.toml")).expect("the list is read by a test")
}

/// Returns an entry as it stands, and with the letters that German and the Nordic languages write for those with marks.
fn spellings(entry: &str) -> [String; 2] {
    let lower = entry.to_lowercase();
    let spelt = [("ä", "ae"), ("ö", "oe"), ("ü", "ue"), ("å", "aa"), ("ø", "oe")];
    let other = spelt.iter().fold(lower.clone(), |word, (letter, letters)| {
        word.replace(letter, letters)
    });
    [lower, other]
}

/// Lists the whole words of a name, letters in a row, without case and accents.
fn words(name: &str) -> Vec<String> {
    let words = name
        .split(|c: char| !c.is_alphabetic())
        .filter(|word| !word.is_empty());
    words
        .map(|word| word.to_lowercase().replace('ß', "ss").chars().map(bare).collect())
        .collect()
}

/// Returns a small letter without its mark.
fn bare(letter: char) -> char {
    const MARKED: [(&str, char); 14] = [
        ("àáâãäåā", 'a'),
        ("çćč", 'c'),
        ("ďđ", 'd'),
        ("èéêëęě", 'e'),
        ("ìíîïı", 'i'),
        ("ł", 'l'),
        ("ñńň", 'n'),
        ("òóôõöøő", 'o'),
        ("řŕ", 'r'),
        ("śšş", 's'),
        ("ť", 't'),
        ("ùúûüůű", 'u'),
        ("ýÿ", 'y'),
        ("źżž", 'z'),
    ];
    let base = MARKED.iter().find(|(marked, _)| marked.contains(letter));
    base.map_or(letter, |(_, base)| *base)
}

/// Returns what the words of a name say, each with its meaning; entries of several words go before those of one.
fn meanings(name: &str, in_title: bool) -> Vec<(String, Meaning)> {
    const LONGEST: usize = 3;
    let words = words(name);
    let mut said = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let longest = LONGEST.min(words.len() - at);
        let entry = (1..=longest).rev().find_map(|n| {
            let (meaning, title) = *WORDS.get(&words[at..at + n])?;
            (title || !in_title).then_some((n, meaning))
        });
        if let Some((n, meaning)) = entry {
            said.push((words[at..at + n].join(" "), meaning));
        }
        at += entry.map_or(1, |(n, _)| n);
    }
    said
}

/// Whether a word of a name has this meaning, and none another.
pub(super) fn means(name: &str, meaning: Meaning) -> bool {
    one_meaning(name, false).is_some_and(|(_, said)| said == meaning)
}

/// Returns the first word of a name that says something, with what it says, where no other word says anything else.
fn one_meaning(name: &str, in_title: bool) -> Option<(String, Meaning)> {
    let mut said = meanings(name, in_title).into_iter();
    let (word, meaning) = said.next()?;
    said.all(|(_, other)| other == meaning).then_some((word, meaning))
}

/// Returns the title of the drawing: its one largest text.
fn title<'a>(scene: &Scene<'a>) -> Option<&'a str> {
    let mut texts: Vec<_> = scene
        .drawing
        .texts
        .iter()
        .filter(|text| text.height_mm > 0.0)
        .collect();
    texts.sort_by(|a, b| b.height_mm.total_cmp(&a.height_mm));
    match texts[..] {
        [largest] => Some(&largest.text),
        [largest, next, ..] if largest.height_mm > LARGER * next.height_mm => Some(&largest.text),
        _ => None,
    }
}

/// A title is higher than every other text by this factor (ISO 3098-1: nominal sizes grow by the root of two).
const LARGER: f64 = 1.3;

/// Asks about layers whose name says one side where none of their contours has it, and about outermost contours where the title
/// says so.
pub(super) fn contradicting(found: &mut OpenCases<'_>) {
    let scene = found.scene;
    let mut layers: BTreeMap<u32, Vec<&Contour>> = BTreeMap::new();
    for contour in scene.cut() {
        layers
            .entry(scene.origin(contour).layer)
            .or_default()
            .push(contour);
    }
    for contours in layers.into_values() {
        let Some((word, meaning)) = one_meaning(scene.layer(contours[0]), false) else {
            continue;
        };
        if let Some(side) = meaning.side() {
            ask_against(found, &contours, word, side);
        } else if let Some(purpose) = meaning.purpose() {
            ask_for(found, &contours, word, purpose);
        }
    }
    let title = title(scene).and_then(|title| one_meaning(title, true));
    if let Some((word, side)) = title.and_then(|(word, meaning)| Some((word, meaning.side()?))) {
        let cut: Vec<&Contour> = scene.cut().collect();
        ask_against(found, &cut, word, side);
    }
}

/// Asks whether contours are for what a word of their layer says.
fn ask_for(found: &mut OpenCases<'_>, contours: &[&Contour], word: String, purpose: Purpose) {
    let open = contours
        .iter()
        .copied()
        .filter(|c| !is_purpose_given(c) && found.is_free(c.id));
    let open: Vec<&Contour> = open.filter(|c| c.side_from == SideFrom::Drawn).collect();
    if open.is_empty() {
        return;
    }
    let nested = open.iter().map(|contour| as_nested(contour)).collect();
    let said = open.iter().map(|contour| (contour.id, purpose)).collect();
    found.ask(QuestionKind::NameContradicts, &[nested, said]).word = Some(word);
}

/// Asks about contours if none of them has the side that a word says.
fn ask_against(found: &mut OpenCases<'_>, contours: &[&Contour], word: String, side: Role) {
    let open = contours.iter().copied();
    let open = open.filter(|c| c.side_from == SideFrom::Drawn && !is_settled(c) && found.is_free(c.id));
    let open: Vec<&Contour> = open.collect();
    if open.is_empty() || contours.iter().any(|contour| contour.role == side) {
        return;
    }
    let nested = open.iter().map(|contour| as_nested(contour)).collect();
    let other = open.iter().map(|contour| turned(contour)).collect();
    found.ask(QuestionKind::NameContradicts, &[nested, other]).word = Some(word);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_count_whole_without_case_and_accents() {
        let list = word_list();
        let entries: usize = list.group.iter().map(|group| group.words.len()).sum();
        assert!(
            entries > 100 && WORDS.len() >= entries,
            "{entries} entries, {} known",
            WORDS.len()
        );
        assert!(means("Sheet_Frame-1", Meaning::Frame) && !means("FRAMEWORK", Meaning::Frame));
        let side = |name: &str| one_meaning(name, false).and_then(|(_, meaning)| meaning.side());
        assert_eq!(side("PUNCH 3"), Some(Role::Outside));
        assert_eq!(side("poincon"), side("POINÇON"));
        assert_eq!(side("Oeffnung"), side("Öffnung"));
        for nothing in ["punch and die", "die plate", "DIESEL", "SOLDIER", ""] {
            assert_eq!(side(nothing), None, "{nothing}");
        }
    }
}

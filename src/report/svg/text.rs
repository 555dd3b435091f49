//! How wide a text is, near enough to keep it inside its frame in any usual sans-serif face.

/// Width of `text` at `size`, in the unit of `size`; rather too wide than too narrow.
pub(super) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(character_width).sum::<f64>() * size
}

/// How much wider bold letters run.
pub(super) const BOLD: f64 = 1.12;

/// In em: advance widths of a wide face (DejaVu Sans 2.37), rounded up so far that the bold face times [`BOLD`] fits too.
fn character_width(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '\'' | '|' => 0.34,
        ' ' | '.' | ',' | ':' | ';' | '!' | '(' | ')' | '[' | ']' | 'f' | 't' | 'I' | '/' | '-' => 0.43,
        'r' | '"' | '°' | '²' | '·' => 0.52,
        'm' | 'M' | 'W' | 'w' | '%' | '@' | '—' | '…' => 1.0,
        'a'..='z' | '0'..='9' | '–' => 0.64,
        'µ' => 0.66,
        'A'..='Z' => 0.79,
        '\u{1100}'.. => 1.1,
        _ => 0.84,
    }
}

/// `text`, or as much of its beginning as fits into `room` with an ellipsis after it.
pub(super) fn fitted(text: &str, size: f64, room: f64) -> String {
    let text = crate::message::number::plain(text);
    if width(&text, size) <= room {
        return text;
    }
    let mut used = character_width('…') * size;
    let mut short: String = text
        .chars()
        .take_while(|&c| {
            used += character_width(c) * size;
            used <= room
        })
        .collect();
    short.push('…');
    short
}

/// Takes as many words off the front of `words` as a line of `room` holds; of a word that is longer than that, a piece.
pub(super) fn line_of(words: &str, size: f64, room: f64) -> (&str, &str) {
    let mut used = 0.0;
    let (mut space, mut free_space) = (None, None);
    for (at, c) in words.char_indices() {
        if c == ' ' && at > 0 {
            space = Some(at);
            if !is_bound(&words[..at], &words[at + 1..]) {
                free_space = space;
            }
        }
        used += character_width(c) * size;
        // A line has a letter at least, or there would be no end of lines.
        if used > room && at > 0 {
            let cut = free_space.or(space).unwrap_or(at);
            return (words[..cut].trim_end(), words[cut..].trim_start());
        }
    }
    (words, "")
}

/// Whether a number stands with its unit, or hours with their minutes: no line ends between them.
fn is_bound(before: &str, after: &str) -> bool {
    const LONGEST_UNIT: usize = 3;
    let unit = after.split([' ', ',', ';', ':', ')']).next().unwrap_or_default();
    let is_unit = unit.chars().count() <= LONGEST_UNIT && unit.starts_with(char::is_alphabetic);
    let of_hours = before.ends_with(" h") && after.starts_with(|c: char| c.is_ascii_digit());
    of_hours || (is_unit && before.ends_with(|c: char| c.is_ascii_digit()))
}

/// Returns `words` set in lines of at most `room`.
pub(super) fn wrapped(words: &str, size: f64, room: f64) -> Vec<&str> {
    let mut rest = words;
    let mut lines = Vec::new();
    while !rest.is_empty() {
        let (line, after) = line_of(rest, size, room);
        lines.push(line);
        rest = after;
    }
    lines
}

/// As [`wrapped`], at most so many lines; the last one ends in an ellipsis where not all words found room.
pub(super) fn wrapped_at_most(words: &str, size: f64, room: f64, lines: usize) -> Vec<String> {
    let mut rest = words;
    let mut set = Vec::new();
    while !rest.is_empty() && set.len() + 1 < lines {
        let (line, after) = line_of(rest, size, room);
        set.push(line.to_owned());
        rest = after;
    }
    if !rest.is_empty() {
        set.push(fitted(rest, size, room));
    }
    set
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_fit_ends_in_an_ellipsis() {
        assert_eq!(fitted("wall", 2.0, 10.0), "wall");
        let short = fitted("a very long name of a drawing", 2.0, 10.0);
        assert!(short.ends_with('…') && width(&short, 2.0) <= 10.0, "{short}");
        let lines = wrapped("one two three four five six", 2.0, 12.0);
        assert!(
            lines.len() > 2 && lines.iter().all(|line| width(line, 2.0) <= 12.0),
            "{lines:?}"
        );
        assert_eq!(lines.join(" "), "one two three four five six");
        assert_eq!(wrapped("one two", 2.0, 40.0), ["one two"]);
        assert_eq!(wrapped("steel, 30 mm", 2.0, 14.0), ["steel,", "30 mm"]);
        assert_eq!(wrapped("to 10 h 07", 2.0, 10.0), ["to", "10 h 07"]);
        let pieces = wrapped("a-name-that-has-no-space-in-it", 2.0, 12.0);
        assert!(
            pieces.len() > 2 && pieces.concat() == "a-name-that-has-no-space-in-it",
            "{pieces:?}"
        );
    }
}

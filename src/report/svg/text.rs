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

/// `words` set in lines of at most `room`, words kept whole, at most `lines` of them; the last one ends in an
/// ellipsis when not all words found room.
pub(super) fn wrapped(words: &str, size: f64, room: f64, lines: usize) -> Vec<String> {
    let mut set: Vec<String> = vec![String::new()];
    for word in words.split(' ') {
        let started = set.len();
        let line = set.last_mut().expect("it starts with one line");
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if line.is_empty() || width(&longer, size) <= room {
            *line = longer;
        } else if started < lines {
            set.push(word.to_owned());
        } else {
            // Too long for the room: `fitted` ends it with an ellipsis.
            *line = longer;
            break;
        }
    }
    set.iter().map(|line| fitted(line, size, room)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_fit_ends_in_an_ellipsis() {
        assert_eq!(fitted("wall", 2.0, 10.0), "wall");
        let short = fitted("a very long name of a drawing", 2.0, 10.0);
        assert!(short.ends_with('…') && width(&short, 2.0) <= 10.0, "{short}");
        let lines = wrapped("one two three four five six", 2.0, 12.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines[1].ends_with('…'), "{lines:?}");
        assert_eq!(wrapped("one two", 2.0, 40.0, 3), ["one two"]);
    }
}

//! The key of a row: what it depends on, in a canonical text.

use std::fmt::Write as _;
use std::hash::Hasher as _;

use fnv::FnvHasher;
use toml::{Table, Value};

use crate::job::JobFile;
use crate::shop::Book;

/// Number of the figures that this program finds, and a digest of them over the drawings of `fixtures`. Whenever any
/// figure changes the number is raised, so that rows of before are planned again; `tests/all/figures.rs` holds the two
/// together.
pub const FIGURES: (u32, &str) = (15, "987a7c5d04faaef4");

/// Makes the keys of rows that are planned with one book.
pub struct Keys(u64);

impl Keys {
    /// Makes the keys of this book.
    pub fn new(book: &Book) -> Self {
        let mut hasher = FnvHasher::default();
        hasher.write(&FIGURES.0.to_le_bytes());
        for text in &book.texts {
            let table: Table = text.parse().expect("a book is made of sound texts");
            put(&mut hasher, &canonical(&table));
        }
        Self(hasher.finish())
    }

    /// Computes the key of a drawing and its job.
    pub fn of(&self, drawing: &[u8], job: &JobFile) -> String {
        let asked = JobFile {
            drawing: None,
            ..job.clone()
        };
        // What is not asked has no value, and stands in no text.
        // A number beyond those of TOML stands as the program itself writes it.
        let text = Table::try_from(&asked).map_or_else(|_| format!("{asked:?}"), |table| canonical(&table));
        let mut hasher = FnvHasher::with_key(self.0);
        put(&mut hasher, &text);
        hasher.write(&(drawing.len() as u64).to_le_bytes());
        hasher.write(drawing);
        // With a letter in front no program takes it for a number.
        format!("k{:016x}", hasher.finish())
    }
}

/// Takes a text in so that it cannot run into the next one.
fn put(hasher: &mut FnvHasher, text: &str) {
    hasher.write(&(text.len() as u64).to_le_bytes());
    hasher.write(text.as_bytes());
}

/// Writes a line for each value, by name: neither order nor layout, comments or a way to write a number make a difference.
fn canonical(table: &Table) -> String {
    let mut lines = Vec::new();
    for (name, value) in table {
        list(&mut lines, format!("{name:?}"), value);
    }
    lines.sort_unstable();
    lines.concat()
}

fn list(lines: &mut Vec<String>, path: String, value: &Value) {
    match value {
        Value::Table(table) => {
            for (name, value) in table {
                list(lines, format!("{path}.{name:?}"), value);
            }
        }
        Value::Array(items) => {
            for (i, value) in items.iter().enumerate() {
                list(lines, format!("{path}[{i}]"), value);
            }
        }
        Value::String(text) => lines.push(format!("{path} = {text:?}\n")),
        Value::Integer(number) => lines.push(format!("{path} = {:?}\n", *number as f64)),
        Value::Float(number) => lines.push(format!("{path} = {number:?}\n")),
        Value::Boolean(_) | Value::Datetime(_) => {
            let mut line = path;
            let _ = writeln!(line, " = {value}");
            lines.push(line);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn book(own: &str) -> Book {
        Book::layered(own).expect("a sound book")
    }

    fn job(text: &str) -> JobFile {
        JobFile::parse(text).expect("a sound job")
    }

    #[test]
    fn keys_tell_drawing_job_and_book_apart() {
        let keys = Keys::new(&book(""));
        let asked = job("thickness_mm = 20");
        assert_ne!(keys.of(b"0", &asked), keys.of(b"1", &asked));
        for other in [
            "thickness_mm = 20.5",
            "thickness_mm = 20\nwire_mm = 0.25",
            "thickness_mm = 20\n[layer.DIE]\nfinish = \"N5\"",
            "thickness_mm = 20\nstart_holes_mm = [[1, 2]]",
        ] {
            assert_ne!(keys.of(b"0", &asked), keys.of(b"0", &job(other)), "{other}");
        }
        for own in ["[money]\ncurrency = \"CHF\"\n", "[time]\nsetup_min = 31\n"] {
            assert_ne!(
                keys.of(b"0", &asked),
                Keys::new(&book(own)).of(b"0", &asked),
                "{own}"
            );
        }
    }

    /// Only what a row depends on is in its key.
    #[test]
    fn keys_do_not_tell_apart_what_is_the_same() {
        let keys = Keys::new(&Book::built_in().expect("the built-in book is sound"));
        let asked = job("thickness_mm = 20\nmaterial = \"tool-steel\"");
        for same in [
            "material = \"tool-steel\"\nthickness_mm = 20.0 # as ordered",
            "drawing = \"a.dxf\"\nmaterial = \"tool-steel\"\nthickness_mm = 2e1",
            "cut_layers = []\nmaterial = 'tool-steel'\nthickness_mm = 20",
        ] {
            assert_eq!(keys.of(b"0", &asked), keys.of(b"0", &job(same)), "{same}");
        }
        let key = |own: &str| Keys::new(&book(own)).of(b"0", &asked);
        assert_eq!(keys.of(b"0", &asked), key("# nothing yet\n"));
        assert_eq!(
            key("[time]\nsetup_min = 31\n[money]\ncurrency = \"CHF\"\n"),
            key("# ours\n[money]\ncurrency = 'CHF'\n\n[time]\nsetup_min = 31.0\n")
        );
    }
}

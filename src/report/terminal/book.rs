use std::fmt::Write as _;

use super::{ERROR, HEADING, QUIET, WARNING};
use crate::report::number::{band, counted, plain};
use crate::report::words;
use crate::shop::{Book, Flaws, Listed};

/// Numbers of the book with band, basis and source.
pub fn numbers(listed: &[Listed<'_>]) -> String {
    let mut text = String::new();
    for Listed { entry, number } in listed {
        let (basis, source) = (words::basis(number.basis), plain(&number.source));
        let _ = writeln!(
            text,
            "{HEADING}{}{HEADING:#} = {}",
            plain(entry),
            band(number.band)
        );
        let _ = writeln!(text, "  {QUIET}{basis}: {source}{QUIET:#}");
    }
    text
}

/// What is wrong in the shop's own book, and what makes no sense in its recipes.
pub fn book_check(file: &str, read: &Result<Book, Flaws>) -> String {
    let mut text = String::new();
    match read {
        Err(Flaws(flaws)) => {
            for flaw in flaws {
                let flaw = plain(&flaw.to_string());
                let _ = writeln!(text, "{ERROR}error{ERROR:#}: {}: {flaw}", plain(file));
            }
            let _ = writeln!(text, "{}", counted(flaws.len(), "flaw"));
        }
        Ok(book) => {
            let doubts = book.doubts();
            for doubt in &doubts {
                let _ = writeln!(
                    text,
                    "{WARNING}doubtful{WARNING:#}: {}, pass {}: {}",
                    plain(&doubt.recipe),
                    doubt.pass,
                    plain(&doubt.reason)
                );
            }
            let _ = match doubts.len() {
                0 => writeln!(
                    text,
                    "{}: no flaw was found, and no recipe is doubtful",
                    plain(file)
                ),
                n => writeln!(
                    text,
                    "{}: no flaw was found; {}",
                    plain(file),
                    counted(n, "doubt")
                ),
            };
        }
    }
    text
}

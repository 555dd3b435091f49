use std::fmt::Write as _;

use super::{ERROR, HEADING, QUIET, WARNING};
use crate::message::number::{counted, plain};
use crate::message::{Lengths, of_unit};
use crate::report::words;
use crate::shop::{Doubt, Flaws, Listed};

/// Numbers of the book with band, basis and source.
pub fn numbers(listed: &[Listed<'_>]) -> String {
    let mut text = String::new();
    for Listed { entry, number } in listed {
        let (basis, source) = (words::basis(number.basis), plain(&number.source));
        let _ = writeln!(
            text,
            "{HEADING}{}{HEADING:#} = {}",
            plain(entry),
            of_unit(number.band, "").four(0).written(Lengths::Mm)
        );
        let _ = writeln!(text, "  {QUIET}{basis}: {source}{QUIET:#}");
    }
    text
}

/// Everything that is wrong in a book.
pub fn flaws(file: &str, flaws: &Flaws) -> String {
    let mut text = String::new();
    for flaw in &flaws.0 {
        let flaw = plain(&flaw.to_string());
        let _ = writeln!(text, "{ERROR}error{ERROR:#}: {}: {flaw}", plain(file));
    }
    let _ = writeln!(text, "{}", counted(flaws.0.len(), "flaw"));
    text
}

/// What makes no sense in the recipes of a book without flaws; `built_in` doubts more are of the built-in book.
pub fn doubts(file: &str, doubts: &[Doubt], built_in: usize) -> String {
    let mut text = String::new();
    for doubt in doubts {
        let _ = writeln!(
            text,
            "{WARNING}doubtful{WARNING:#}: {}, pass {}: {}",
            plain(&doubt.recipe),
            doubt.pass,
            plain(&doubt.reason)
        );
    }
    let found = match doubts.len() {
        0 => "no flaw was found, and no step of a recipe is doubtful".to_owned(),
        n => format!("no flaw was found; {} of recipes doubtful", counted(n, "step")),
    };
    let _ = writeln!(text, "{}: {found}", plain(file));
    if built_in > 0 {
        let _ = writeln!(
            text,
            "of the built-in recipes it leaves in force, {} doubtful: `kerfwright book check` lists them",
            counted(built_in, "step")
        );
    }
    text
}

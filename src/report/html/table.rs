use maud::{Markup, html};

use crate::message::number::{band, duration, fixed, fixed_band};
use crate::units::Band;

/// Writes a table that can be moved sideways where the page is narrow, with the keyboard too.
pub(super) fn table(label: &str, head: &Markup, body: &Markup) -> Markup {
    html! {
        div.job-table role="group" aria-label=(label) tabindex="0" {
            table {
                thead { tr { (head) } }
                tbody { (body) }
            }
        }
    }
}

/// Heads of columns; those of numbers stand at the right.
pub(super) fn heads(names: &[&str], numbers_from: usize, numbers_to: usize) -> Markup {
    html! {
        @for (i, name) in names.iter().enumerate() {
            @if (numbers_from..numbers_to).contains(&i) {
                th.job-number scope="col" { (name) }
            } @else {
                th scope="col" { (name) }
            }
        }
    }
}

/// Writes the three cells of a band, low first; an end that is printed as what is expected is none.
pub(super) fn band_cells(band: Band, decimals: usize) -> Markup {
    let [low, expected, high] = [band.low, band.expected, band.high].map(|value| fixed(value, decimals));
    let end = |end: &str| {
        if *end == expected {
            "–".to_owned()
        } else {
            end.to_owned()
        }
    };
    html! {
        @for text in [&end(&low), &expected, &end(&high)] { td.job-number { (text) } }
    }
}

/// Writes a band as `120 (60 to 240)` with a unit after it.
pub(super) fn with_unit(value: Band, unit: &str) -> String {
    format!("{} {unit}", band(value)).trim_end().to_owned()
}

/// Writes a band with fixed decimals and a unit after it.
pub(super) fn rounded(value: Band, decimals: usize, unit: &str) -> String {
    format!("{} {unit}", fixed_band(value, decimals))
        .trim_end()
        .to_owned()
}

/// Writes a time, or that it is not known.
pub(super) fn minutes(band: Option<Band>) -> String {
    band.map_or_else(unknown, duration)
}

pub(super) fn unknown() -> String {
    "not given".into()
}

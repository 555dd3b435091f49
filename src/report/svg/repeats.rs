//! Contours of one shape, named together where they have no number on the part: `2–201: 200 × opening Ø 6 mm`.

use std::collections::BTreeMap;

use crate::contour::{Contour, Role};
use crate::id::ContourId;
use crate::message::{Lengths, Message, message, mm};
use crate::report::words;
use crate::tolerance::ROUND_SHARE;

/// Words of a row, and for how many labels it stands.
pub(super) type RegisterRow = (String, usize);

/// Contours of one role, perimeter and area.
struct Alike<'a> {
    first: &'a Contour,
    last: ContourId,
    count: usize,
}

/// Returns the most numerous shapes among `contours` in words, at most `most` of them, and the others together, each with how many
/// contours it stands for.
pub(super) fn rows<'a>(
    contours: impl Iterator<Item = &'a Contour>,
    most: usize,
    lengths: Lengths,
) -> Vec<RegisterRow> {
    // Perimeter and area to a millionth of a mm or mm²: what is drawn alike is measured alike.
    let key = |value: f64| (value * 1e6).round() as i128;
    let mut sets: BTreeMap<(bool, i128, i128), Alike<'a>> = BTreeMap::new();
    for contour in contours {
        let alike = (
            contour.role == Role::Opening,
            key(contour.perimeter_mm),
            key(contour.area_mm2),
        );
        let set = sets.entry(alike).or_insert(Alike {
            first: contour,
            last: contour.id,
            count: 0,
        });
        set.last = contour.id;
        set.count += 1;
    }
    let mut sets: Vec<Alike<'a>> = sets.into_values().collect();
    sets.sort_by_key(|set| (std::cmp::Reverse(set.count), set.first.id));
    let rest: usize = sets.iter().skip(most).map(|set| set.count).sum();
    let named = sets.iter().take(most).map(|set| (set.words(lengths), set.count));
    let mut rows: Vec<RegisterRow> = named.collect();
    if rest > 0 {
        rows.push((format!("{rest} more: the JSON has each"), rest));
    }
    rows
}

impl Alike<'_> {
    fn words(&self, lengths: Lengths) -> String {
        let (first, size) = (self.first.id, size(self.first).shown(lengths));
        if self.count == 1 {
            format!("{first}: {size}")
        } else if self.last.index() + 1 == first.index() + self.count {
            format!("{first}–{}: {} × {size}", self.last, self.count)
        } else {
            format!("{} × {size}", self.count)
        }
    }
}

/// Returns a diameter, or width by height, and its role.
fn size(contour: &Contour) -> Message {
    let role = words::role(contour.role);
    if let Some(diameter) = diameter_mm(contour) {
        return message!("{} Ø {}", role, mm(diameter).at_most(3));
    }
    let bounds = contour.bounds;
    message!(
        "{} {} × {}",
        role,
        mm(bounds.width()).at_most(3).bare(),
        mm(bounds.height()).at_most(3)
    )
}

/// Diameter of a full circle: no other shape encloses as much with its perimeter.
fn diameter_mm(contour: &Contour) -> Option<f64> {
    let share = 4.0 * std::f64::consts::PI * contour.area_mm2 / contour.perimeter_mm.powi(2);
    (share >= 1.0 - ROUND_SHARE).then(|| contour.perimeter_mm / std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use crate::message::Lengths;
    use crate::report::sample;

    #[test]
    fn alike_contours_are_counted_together() {
        let plate = sample::plate();
        let rows = |most: usize| super::rows(plate.contours.list.iter(), most, Lengths::Mm);
        let row = |words: &str| (words.to_owned(), 1);
        assert_eq!(rows(3), [row("1: outside 40 × 20 mm"), row("2: opening Ø 10 mm")]);
        assert_eq!(
            rows(1),
            [row("1: outside 40 × 20 mm"), row("1 more: the JSON has each")]
        );
    }
}

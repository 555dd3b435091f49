//! Contours of one shape, named together where there are too many to number each: `200 × Ø 6 mm`.

use std::collections::BTreeMap;

use crate::contour::{Contour, Role};
use crate::id::ContourId;
use crate::message::number::short;
use crate::report::words;
use crate::tolerance::ROUND_SHARE;

/// Contours of one role, perimeter and area.
struct Alike<'a> {
    first: &'a Contour,
    last: ContourId,
    count: usize,
}

/// Returns the most numerous shapes among `contours` in words, at most `most` of them, and how many others there are.
pub(super) fn words<'a>(contours: impl Iterator<Item = &'a Contour>, most: usize) -> String {
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
    let mut named: Vec<String> = sets.iter().take(most).map(Alike::words).collect();
    if rest > 0 {
        named.push(format!("{rest} more"));
    }
    named.join(";  ")
}

impl Alike<'_> {
    fn words(&self) -> String {
        let (first, size) = (self.first.id, size(self.first));
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
fn size(contour: &Contour) -> String {
    let role = words::role(contour.role);
    if let Some(diameter) = diameter_mm(contour) {
        return format!("{role} Ø {} mm", short(diameter, 3));
    }
    let bounds = contour.bounds;
    format!(
        "{role} {} × {} mm",
        short(bounds.width(), 3),
        short(bounds.height(), 3)
    )
}

/// Diameter of a full circle: no other shape encloses as much with its perimeter.
fn diameter_mm(contour: &Contour) -> Option<f64> {
    let share = 4.0 * std::f64::consts::PI * contour.area_mm2 / contour.perimeter_mm.powi(2);
    (share >= 1.0 - ROUND_SHARE).then(|| contour.perimeter_mm / std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use crate::report::sample;

    #[test]
    fn alike_contours_are_counted_together() {
        let plate = sample::plate();
        assert_eq!(
            super::words(plate.contours.list.iter(), 3),
            "1: outside 40 × 20 mm;  2: opening Ø 10 mm"
        );
        assert_eq!(
            super::words(plate.contours.list.iter(), 1),
            "1: outside 40 × 20 mm;  1 more"
        );
    }
}

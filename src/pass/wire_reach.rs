//! Computes the smallest radius and slot of each wire, for inspecting a drawing before a wire is chosen.

use super::PassRequest;
use super::schedule::outer_gaps_mm;
use crate::shop::Book;

/// The smallest radius and slot that a wire cuts.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct WireReach {
    /// Its diameter, mm.
    pub wire_mm: f64,
    /// Smallest inside radius that it leaves on the part: half the wire and the smallest gap of a last pass, mm.
    pub inside_radius_mm: f64,
    /// Width of the slot that its rough cut makes: the wire and two gaps, mm.
    pub kerf_mm: f64,
}

/// A plate so thin that every wire of a book cuts it, mm.
const THIN_PLATE_MM: f64 = 10.0;

/// Computes what each wire of the book reaches in the material that suits it best, thinnest wire first.
pub fn wire_reach(book: &Book) -> Vec<WireReach> {
    let most = book.most_passes();
    book.wire_sizes
        .iter()
        .filter_map(|size| {
            let of_material = |material: &String| {
                let request = PassRequest::new(material.clone(), THIN_PLATE_MM, size.diameter_mm, most);
                let [first_mm, last_mm] = outer_gaps_mm(book, &request).ok()?;
                Some(WireReach {
                    wire_mm: size.diameter_mm,
                    inside_radius_mm: size.diameter_mm / 2.0 + last_mm,
                    kerf_mm: size.diameter_mm + 2.0 * first_mm,
                })
            };
            book.materials
                .keys()
                .filter_map(of_material)
                .reduce(|a, b| WireReach {
                    wire_mm: a.wire_mm,
                    inside_radius_mm: a.inside_radius_mm.min(b.inside_radius_mm),
                    kerf_mm: a.kerf_mm.min(b.kerf_mm),
                })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With the built-in table: 0.25 mm wire, 8 passes, last gap 2 µm, first gap 40 µm.
    #[test]
    fn the_usual_wire_leaves_its_radius_and_gap() {
        let book = Book::built_in().expect("the built-in book is sound");
        let reach = wire_reach(&book);
        let usual = reach
            .iter()
            .find(|reach| reach.wire_mm == 0.25)
            .expect("in the book");
        assert!((usual.inside_radius_mm - 0.127).abs() < 1e-12);
        assert!((usual.kerf_mm - 0.33).abs() < 1e-12);
        assert!(reach.is_sorted_by(|a, b| a.wire_mm < b.wire_mm && a.kerf_mm < b.kerf_mm));
    }
}

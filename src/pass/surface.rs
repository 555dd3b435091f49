use serde::Serialize;

use crate::shop::{Book, Figure, Term};
use crate::units::Band;
use crate::units::roughness::{n_grade_of_ra_um, vdi_class_of_ra_um};

/// The surface that an Ra stands for, in the other scales, with what goes with it. Bands are an expectation,
/// never an acceptance.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "SurfaceRow"))]
#[non_exhaustive]
pub struct Surface {
    /// Ra, µm.
    pub ra_um: Band,
    /// Finest ISO 1302 grade that the expected Ra keeps; null where it keeps none.
    pub n_grade: Option<usize>,
    /// VDI 3400 class.
    pub vdi_class: Band,
    /// How class and grade came about; the grade is absent where none is kept.
    #[serde(skip)]
    pub scales: Vec<Figure>,
    /// Rz, µm.
    #[serde(serialize_with = "Figure::value_alone")]
    #[cfg_attr(test, schemars(with = "Band"))]
    pub rz_um: Figure,
    /// Recast layer, µm.
    #[serde(serialize_with = "Figure::value_alone")]
    #[cfg_attr(test, schemars(with = "Band"))]
    pub recast_um: Figure,
}

/// Computes the surface of an Ra in µm, whose trace is `ra`.
pub fn surface(book: &Book, ra: &Figure) -> Surface {
    let rule = &book.rules.surface;
    let rz = Figure::new(
        "Rz",
        Band::product(&[ra.value, rule.rz_per_ra.band]),
        "µm",
        "Ra × Rz per Ra",
        vec![ra.term(), Term::of("Rz per Ra", &rule.rz_per_ra, "")],
    );
    let squared = Band {
        low: ra.value.low.powi(2),
        expected: ra.value.expected.powi(2),
        high: ra.value.high.powi(2),
    };
    let by_ra = Band::product(&[squared, rule.recast_per_ra_squared.band]);
    let recast = Figure::new(
        "recast layer",
        Band::sum([rule.recast_base_um.band, by_ra]),
        "µm",
        "base + Ra² × layer per Ra²",
        vec![
            Term::of("base of the recast layer", &rule.recast_base_um, "µm"),
            ra.term(),
            Term::of("recast layer per Ra²", &rule.recast_per_ra_squared, "µm/µm²"),
        ],
    );
    let n_grade = n_grade_of_ra_um(ra.value.expected);
    let vdi_class = Band {
        low: vdi_class_of_ra_um(ra.value.low),
        expected: vdi_class_of_ra_um(ra.value.expected),
        high: vdi_class_of_ra_um(ra.value.high),
    };
    let vdi = "20 × log10(10 × Ra in µm), VDI 3400";
    let mut scales = vec![Figure::new("VDI class", vdi_class, "", vdi, vec![ra.term()])];
    scales.extend(n_grade.map(|grade| {
        let formula = "finest grade N of ISO 1302 whose Ra is not below the expected Ra";
        Figure::new("N grade", Band::exact(grade as f64), "", formula, vec![ra.term()])
    }));
    Surface {
        ra_um: ra.value,
        n_grade,
        vdi_class,
        scales,
        rz_um: rz,
        recast_um: recast,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::Term;

    fn surface_of(ra_um: f64) -> Surface {
        let book = Book::built_in().expect("sound");
        let term = Term::given("Ra", ra_um, "µm", "asked");
        surface(
            &book,
            &Figure::new("Ra", Band::exact(ra_um), "µm", "Ra", vec![term]),
        )
    }

    /// Choudhuri, Materials Today: Proceedings 5 (2018) 7515–7524: recast 13 to 16 µm at Ra 3.5 to 4, 3 to
    /// 5 µm at Ra 1.5 to 2; "EDM as alternative to fir-tree profiling", MTI Magazine: 5 µm after two finishing
    /// passes (Ra 0.9 by the pass table).
    #[test]
    fn published_recast_layers_lie_inside_the_band() {
        for (ra_um, recast_um) in [
            (3.5, 13.0),
            (3.75, 14.5),
            (4.0, 16.0),
            (1.75, 4.0),
            (1.75, 5.0),
            (0.9, 5.0),
        ] {
            let band = surface_of(ra_um).recast_um.value;
            assert!(band.low < recast_um && recast_um < band.high, "{ra_um}: {band:?}");
        }
        // The ends of the two published ranges, whichever goes with which.
        for (ra_um, recast_um) in [(1.5, 5.0), (2.0, 3.0), (3.5, 16.0), (4.0, 13.0)] {
            let band = surface_of(ra_um).recast_um.value;
            assert!(band.low < recast_um && recast_um < band.high, "{ra_um}: {band:?}");
        }
    }

    /// Choudhuri, as above: the expected layer goes through the middles of both ranges.
    #[test]
    fn the_recast_layer_goes_through_both_published_points() {
        for (ra_um, recast_um) in [(1.75, 4.0), (3.75, 14.5)] {
            let layer_um = surface_of(ra_um).recast_um.value.expected;
            assert!((layer_um - recast_um).abs() < 0.02, "{ra_um}: {layer_um}");
        }
    }

    #[test]
    fn one_surface_in_every_scale() {
        let surface = surface_of(0.4);
        assert_eq!(surface.n_grade, Some(5));
        assert!((surface.vdi_class.expected - 12.0).abs() < 0.05);
        let rz_um = surface.rz_um.value;
        assert!((rz_um.low - 2.0).abs() < 1e-12 && (rz_um.high - 3.2).abs() < 1e-12);
    }
}

//! The length units a DXF file can declare, and their factors to millimetres.

use std::f64::consts::PI;

use super::MM_PER_INCH;

/// A unit of length.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// Its name: `mm`, `inch`, …
    pub name: &'static str,
    /// Millimetres in one of it.
    pub factor_to_mm: f64,
}

impl Unit {
    /// The millimetre.
    pub const MM: Self = Self {
        name: "mm",
        factor_to_mm: 1.0,
    };
    /// The inch.
    pub const INCH: Self = Self {
        name: "inch",
        factor_to_mm: MM_PER_INCH,
    };
}

/// Millimetres in a metre.
const MM_PER_M: f64 = 1000.0;

/// Metres in an astronomical unit, exact (IAU 2012 resolution B2).
const M_PER_ASTRONOMICAL_UNIT: f64 = 149_597_870_700.0;

/// Metres in a light year, exact: a Julian year of 365.25 days at the speed of light, 299 792 458 m/s.
const M_PER_LIGHT_YEAR: f64 = 299_792_458.0 * 86_400.0 * 365.25;

/// Millimetres in a US survey foot, exact: 1200/3937 m (Mendenhall order of 1893).
const MM_PER_SURVEY_FOOT: f64 = 1_200_000.0 / 3937.0;

/// Units by their `$INSUNITS` code, which is the index plus 1; code 0 means "no unit". Codes from the DXF reference,
/// HEADER section. Feet, yards and miles are international ones unless they say "survey".
const BY_CODE: [Unit; 24] = [
    Unit::INCH,
    unit("foot", 12.0 * MM_PER_INCH),
    unit("mile", 63_360.0 * MM_PER_INCH),
    Unit::MM,
    unit("cm", 10.0),
    unit("m", MM_PER_M),
    unit("km", 1000.0 * MM_PER_M),
    unit("microinch", MM_PER_INCH / 1_000_000.0),
    unit("mil", MM_PER_INCH / 1000.0),
    unit("yard", 36.0 * MM_PER_INCH),
    unit("angstrom", 1.0 / 10_000_000.0),
    unit("nm", 1.0 / 1_000_000.0),
    unit("um", 1.0 / 1000.0),
    unit("dm", 100.0),
    unit("dam", 10.0 * MM_PER_M),
    unit("hm", 100.0 * MM_PER_M),
    unit("Gm", 1_000_000_000.0 * MM_PER_M),
    unit("astronomical-unit", M_PER_ASTRONOMICAL_UNIT * MM_PER_M),
    unit("light-year", M_PER_LIGHT_YEAR * MM_PER_M),
    unit("parsec", 648_000.0 / PI * M_PER_ASTRONOMICAL_UNIT * MM_PER_M),
    unit("survey-foot", MM_PER_SURVEY_FOOT),
    unit("survey-inch", MM_PER_SURVEY_FOOT / 12.0),
    unit("survey-yard", 3.0 * MM_PER_SURVEY_FOOT),
    unit("survey-mile", 5280.0 * MM_PER_SURVEY_FOOT),
];

const fn unit(name: &'static str, factor_to_mm: f64) -> Unit {
    Unit { name, factor_to_mm }
}

/// Returns the unit that `$INSUNITS` code `code` stands for; `None` for 0 and for codes of no meaning.
pub fn unit_of_code(code: i32) -> Option<Unit> {
    let index = usize::try_from(code).ok()?.checked_sub(1)?;
    BY_CODE.get(index).cloned()
}

/// Finds the unit a user means by `name`: a name as printed by this crate, or a usual other spelling (`in`, `"`,
/// `micron`, `feet`, …), without case. `None` when it is not known.
pub fn unit_named(name: &str) -> Option<Unit> {
    let name = name.trim();
    // Case tells the gigametre from nothing else, so it may be dropped.
    let wanted = match name.to_lowercase().as_str() {
        "in" | "inches" | "\"" => "inch".to_owned(),
        "ft" | "feet" | "'" => "foot".to_owned(),
        "yd" | "yards" => "yard".to_owned(),
        "miles" => "mile".to_owned(),
        "millimetre" | "millimetres" | "millimeter" | "millimeters" => "mm".to_owned(),
        "centimetre" | "centimetres" | "centimeter" | "centimeters" => "cm".to_owned(),
        "metre" | "metres" | "meter" | "meters" => "m".to_owned(),
        "thou" | "mils" => "mil".to_owned(),
        "µm" | "μm" | "micron" | "microns" | "micrometre" | "micrometer" => "um".to_owned(),
        other => other.to_owned(),
    };
    BY_CODE
        .iter()
        .find(|unit| unit.name.to_lowercase() == wanted)
        .cloned()
}

/// Returns the names of all units, in the order of their codes.
pub fn unit_names() -> impl Iterator<Item = &'static str> {
    BY_CODE.iter().map(|unit| unit.name)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// DXF reference, HEADER section variables, `$INSUNITS`; factors from NIST Special Publication 811
    /// (2008), appendix B.8, the light year and parsec from IAU resolutions (2012 B2, 2015 B2).
    #[test]
    fn every_code_has_its_published_factor() {
        let published = [
            (1, 25.4),
            (2, 304.8),
            (3, 1_609_344.0),
            (4, 1.0),
            (5, 10.0),
            (6, 1e3),
            (7, 1e6),
            (8, 2.54e-5),
            (9, 0.0254),
            (10, 914.4),
            (11, 1e-7),
            (12, 1e-6),
            (13, 1e-3),
            (14, 100.0),
            (15, 1e4),
            (16, 1e5),
            (17, 1e12),
            (18, 1.495_978_707e14),
            (19, 9.460_730_472_580_8e18),
            (20, 3.085_677_581_491_367e19),
            (21, 304.800_609_601_219_2),
            (22, 25.400_050_800_101_6),
            (23, 914.401_828_803_657_6),
            (24, 1_609_347.218_694_437),
        ];
        for (code, factor) in published {
            let unit = unit_of_code(code).unwrap_or_else(|| panic!("code {code} has no unit"));
            let relative = (unit.factor_to_mm / factor - 1.0).abs();
            assert!(
                relative < 1e-14,
                "code {code}: {} is not {factor}",
                unit.factor_to_mm
            );
        }
    }

    #[test]
    fn codes_of_no_meaning_have_no_unit() {
        for code in [-1, 0, 25, 99, i32::MIN, i32::MAX] {
            assert_eq!(unit_of_code(code), None, "code {code}");
        }
    }

    #[test]
    fn every_name_leads_back_to_its_unit() {
        for code in 1..25 {
            let unit = unit_of_code(code).expect("codes 1 to 24 have units");
            assert_eq!(unit_named(unit.name), Some(unit));
        }
        assert_eq!(unit_names().count(), 24);
    }

    #[test]
    fn usual_spellings_are_understood_and_others_refused() {
        assert_eq!(unit_named(" Inches "), Some(Unit::INCH));
        assert_eq!(unit_named("\""), Some(Unit::INCH));
        assert_eq!(unit_named("MM"), Some(Unit::MM));
        assert_eq!(unit_named("µm").map(|u| u.factor_to_mm), Some(1e-3));
        assert_eq!(unit_named("cubit"), None);
        assert_eq!(unit_named(""), None);
    }
}

//! Which unit a drawing is read in.

use super::{Units, UnitsSource};
use crate::dxf::document::Header;
use crate::units::{Unit, unit_of_code};

/// Chooses the unit that the user asked for, else that of `$INSUNITS`, else what `$MEASUREMENT` hints at (0 inch, 1
/// millimetre: DXF reference, HEADER section), else millimetres.
pub(super) fn choose(header: &Header, asked: Option<&Unit>) -> Units {
    let hinted = match header.measurement {
        Some(0) => Some(Unit::INCH),
        Some(1) => Some(Unit::MM),
        _ => None,
    };
    let candidates = [
        (asked.cloned(), UnitsSource::Option),
        (header.insunits.and_then(unit_of_code), UnitsSource::Drawing),
        (hinted, UnitsSource::Measurement),
    ];
    let found = candidates
        .into_iter()
        .find_map(|(unit, source)| unit.map(|unit| (unit, source)));
    let (unit, source) = found.unwrap_or((Unit::MM, UnitsSource::Assumed));
    Units {
        name: unit.name,
        factor_to_mm: unit.factor_to_mm,
        source,
    }
}

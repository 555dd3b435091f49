//! All that a gauged test piece says: half the kerf, offset, stock, form error and Ra of each pass.

use serde::Serialize;

use super::half_kerf::{
    AxisHalfKerf, CutWith, GaugedValue, HalfKerf, KnownLimits, WallPlaces, gauged_half_kerf,
};
use super::outlier::{OutlyingReading, outlying};
use super::readings::{Across, Error, FEWEST_READINGS, PieceFacts, Readings};
use super::uncertainty::{OUTSIDE, Uncertainty, UncertaintyTerm};
use crate::id::PassNo;
use crate::pass::PassRequest;
use crate::shop::Book;
use crate::units::UM_PER_MM;

/// What a test piece says of one pass.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct GaugedPass {
    /// The pass.
    pub pass: PassNo,
    /// Its offset as the piece was cut, mm.
    pub offset_as_cut_mm: f64,
    /// Its offset from now on, mm: as cut, and what the last pass left too much or too little added to all of them alike.
    pub offset_mm: f64,
    /// Wire centre to the wall that it leaves.
    pub half_kerf: GaugedValue,
    /// The same across each pair of flats.
    pub by_axis: Vec<AxisHalfKerf>,
    /// Readings that went into it.
    pub readings: usize,
    /// How many more readings of each place would halve its uncertainty; null where no number of them would.
    pub more_to_halve: Option<usize>,
    /// Spark gap, one side, by the wire's diameter as it was read; null where it was not.
    pub spark_gap: Option<GaugedValue>,
    /// What it took off the wall, a side; null for a rough cut.
    pub taken: Option<GaugedValue>,
    /// Form error of the wall that it left; null where no two heights were read.
    pub form_error: Option<FormError>,
    /// Ra of the wall that it left; null where it was not read.
    pub ra: Option<GaugedValue>,
}

/// How far a wall strays from the plane between top and bottom.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct FormError {
    /// Plus or minus a side, µm.
    pub half_um: f64,
    /// Its expanded uncertainty for 95 %, µm.
    pub expanded_um: f64,
}

/// All that a gauged test piece says.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct Gauging {
    /// What it was cut with.
    pub facts: PieceFacts,
    /// Its passes, rough first.
    pub passes: Vec<GaugedPass>,
    /// By how much the offset of the last pass is more than it was cut with, µm.
    pub offset_correction_um: f64,
    /// Diameter of the wire, µm; null where it was not read.
    pub wire: Option<GaugedValue>,
    /// Readings that lie farther from the others than chance explains; they are not left out.
    pub outlying: Vec<OutlyingReading>,
}

/// Computes what a test piece says from what was read off it.
///
/// # Errors
/// Where a wall was not gauged, a place was read too few times, or readings contradict one another.
pub fn gauging(book: &Book, readings: &Readings) -> Result<Gauging, Error> {
    let request = request_of(&readings.facts);
    let material = request.setting(book)?.material;
    let facts = &PieceFacts {
        material: material.name.clone(),
        ..readings.facts.clone()
    };
    let expansion_um_per_m_k = material.expansion_um_per_m_k.value();
    let last_offset_mm = facts.offsets_mm.last().copied();
    let last_offset_mm = last_offset_mm.ok_or_else(|| Error::NoFact {
        item: "offset_mm".to_owned(),
    })?;
    let largest_mm = facts.pin_mm[0].max(facts.pin_mm[1]) + 4.0 * last_offset_mm;
    let limits = KnownLimits {
        outside_um: facts.errors.outside_um,
        inside_um: facts.errors.inside_um,
        inside_against_outside_um: facts.errors.inside_against_outside_um,
        temperature_um: expansion_um_per_m_k * largest_mm / UM_PER_MM * facts.errors.temperature_k,
        scale: book.gauging.machine_scale.value(),
    };
    let mut kerfs = Vec::new();
    for (pass, &offset_mm) in PassNo::numbered(&facts.offsets_mm) {
        let cut = CutWith {
            pass,
            offset_mm,
            last_offset_mm,
            pin_mm: facts.pin_mm,
        };
        let kerf = gauged_half_kerf(cut, &readings.sizes, limits)?;
        let half_kerf_mm = kerf.value.value_um / UM_PER_MM;
        if half_kerf_mm < 0.5 * facts.wire_mm {
            return Err(Error::WithinWire {
                pass,
                half_kerf_mm,
                wire_mm: facts.wire_mm,
            });
        }
        kerfs.push((cut, kerf));
    }
    let wire = wire_read(readings);
    let last_um = kerfs.last().map_or(0.0, |(_, kerf)| kerf.value.value_um);
    let offset_correction_um = last_um - last_offset_mm * UM_PER_MM;
    let mut passes: Vec<GaugedPass> = Vec::new();
    for (i, (cut, kerf)) in kerfs.iter().enumerate() {
        let before = i.checked_sub(1).map(|before| &kerfs[before]);
        passes.push(GaugedPass {
            pass: cut.pass,
            offset_as_cut_mm: cut.offset_mm,
            offset_mm: cut.offset_mm + offset_correction_um / UM_PER_MM,
            half_kerf: kerf.value.clone(),
            by_axis: kerf.by_axis.clone(),
            readings: kerf.walls.iter().map(WallPlaces::count).sum(),
            more_to_halve: kerf.more_to_halve(),
            spark_gap: wire.as_ref().map(|wire| spark_gap(&kerf.value, wire)),
            taken: before.map(|before| taken(before, (cut, kerf))).transpose()?,
            form_error: form_error(kerf),
            ra: ra_read(readings, cut.pass)?,
        });
    }
    Ok(Gauging {
        facts: facts.clone(),
        passes,
        offset_correction_um,
        wire,
        outlying: kerfs
            .into_iter()
            .flat_map(|(_, kerf)| kerf.outlying)
            .chain(outlying_beside(readings))
            .collect(),
    })
}

/// What the piece was cut with, as the book is asked for it.
fn request_of(facts: &PieceFacts) -> PassRequest {
    let passes = facts.offsets_mm.len();
    let mut request = PassRequest::new(&facts.material, facts.thickness_mm, facts.wire_mm, passes);
    request.wire_kind.clone_from(&facts.wire_kind);
    request.machine.clone_from(&facts.machine);
    request
}

/// The wire's diameter where it was read often enough.
fn wire_read(readings: &Readings) -> Option<GaugedValue> {
    let in_um: Vec<f64> = readings.wire_mm.iter().map(|(_, mm)| mm * UM_PER_MM).collect();
    let outside = UncertaintyTerm::within("outside instrument", readings.facts.errors.outside_um);
    mean_of("readings of the wire", &in_um, Some(outside))
}

/// The Ra of a pass; refused where it was read once or twice.
fn ra_read(readings: &Readings, pass: PassNo) -> Result<Option<GaugedValue>, Error> {
    let own = readings.ra_um.iter().filter(|(_, of, _)| *of == pass);
    let own: Vec<f64> = own.map(|(_, _, um)| *um).collect();
    let found = mean_of("readings of Ra", &own, None);
    match (own.len(), &found) {
        (1.., None) => Err(Error::FewRa {
            pass,
            count: own.len(),
        }),
        _ => Ok(found),
    }
}

/// The mean of readings of one thing; `None` where they are too few.
fn mean_of(name: &'static str, readings_um: &[f64], beside: Option<UncertaintyTerm>) -> Option<GaugedValue> {
    let count = readings_um.len();
    if count < FEWEST_READINGS {
        return None;
    }
    let value_um = readings_um.iter().sum::<f64>() / count as f64;
    let squares: f64 = readings_um.iter().map(|um| (um - value_um).powi(2)).sum();
    let degrees = (count - 1) as f64;
    let standard_um = (squares / degrees / count as f64).sqrt();
    let mut terms = vec![UncertaintyTerm::read(name, standard_um, degrees)];
    terms.extend(beside);
    terms.retain(|term| term.standard_um > 0.0);
    Some(GaugedValue {
        value_um,
        uncertainty: Uncertainty::of(&terms, OUTSIDE),
        terms,
    })
}

/// Half the kerf less half the wire.
fn spark_gap(half_kerf: &GaugedValue, wire: &GaugedValue) -> GaugedValue {
    let standard_um = 0.5 * wire.uncertainty.standard_um;
    let of_wire = UncertaintyTerm::read("diameter of the wire", standard_um, wire.uncertainty.degrees);
    let terms: Vec<UncertaintyTerm> = half_kerf.terms.iter().copied().chain([of_wire]).collect();
    GaugedValue {
        value_um: half_kerf.value_um - 0.5 * wire.value_um,
        uncertainty: Uncertainty::of(&terms, OUTSIDE),
        terms,
    }
}

/// What a skim took off: the wall before it stands at offset − half kerf of the pass before, the one after it at its own. What the
/// instruments are off by is the same in both, and counts as if it were not.
fn taken(before: &(CutWith, HalfKerf), after: (&CutWith, &HalfKerf)) -> Result<GaugedValue, Error> {
    let left_um = |cut: &CutWith, kerf: &HalfKerf| cut.offset_mm * UM_PER_MM - kerf.value.value_um;
    let value_um = left_um(&before.0, &before.1) - left_um(after.0, after.1);
    if value_um < 0.0 {
        return Err(Error::TakesNothing {
            pass: after.0.pass,
            farther_mm: -value_um / UM_PER_MM,
        });
    }
    let kerfs = [&before.1.value, &after.1.value];
    let terms: Vec<UncertaintyTerm> = kerfs
        .into_iter()
        .zip(["half kerf of the pass before", "half kerf of this pass"])
        .map(|(kerf, name)| {
            UncertaintyTerm::read(name, kerf.uncertainty.standard_um, kerf.uncertainty.degrees)
        })
        .collect();
    Ok(GaugedValue {
        value_um,
        uncertainty: Uncertainty::of(&terms, OUTSIDE),
        terms,
    })
}

fn form_error(kerf: &HalfKerf) -> Option<FormError> {
    let walls = kerf.walls.iter().filter_map(WallPlaces::form_error_um);
    let (half_um, expanded_um) = walls.max_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(FormError { half_um, expanded_um })
}

/// Readings of wire and Ra that are too far from their own mean.
fn outlying_beside(readings: &Readings) -> Vec<OutlyingReading> {
    let wire: Vec<(usize, f64)> = readings
        .wire_mm
        .iter()
        .map(|(line, mm)| (*line, mm * UM_PER_MM))
        .collect();
    let of_pass = |pass: PassNo| {
        let own = readings.ra_um.iter().filter(|(_, of, _)| *of == pass);
        own.map(|(line, _, um)| (*line, *um)).collect::<Vec<_>>()
    };
    let ra = PassNo::numbered(&readings.facts.offsets_mm).map(|(pass, _)| of_pass(pass));
    ra.chain([wire])
        .filter_map(|readings| outlying(&readings))
        .collect()
}

impl Gauging {
    /// Returns the last pass, which leaves the wall.
    pub fn last(&self) -> &GaugedPass {
        self.passes.last().expect("a test piece has a pass")
    }

    /// Returns by how much half the kerf across x is more than across y in a pass, where it is by more than both uncertainties
    /// explain, µm.
    pub fn axes_apart_um(&self, pass: &GaugedPass) -> Option<f64> {
        let across = |axis: Across| pass.by_axis.iter().find(|one| one.across == axis);
        let (x, y) = (across(Across::X)?, across(Across::Y)?);
        let apart_um = (x.half_kerf_mm - y.half_kerf_mm) * UM_PER_MM;
        // Each is read half as often as both together.
        let explained_um = 2.0 * pass.half_kerf.uncertainty.expanded_um;
        (apart_um.abs() > explained_um).then_some(apart_um)
    }
}

use super::entry::{Entry, Limit};
use super::{Number, same_wire};

/// Rates fitted to the finished jobs of the shop for one material and wire.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// Its name in the book.
    pub name: String,
    /// Material.
    pub material: String,
    /// Wire diameter, mm.
    pub wire_mm: f64,
    /// Wire kind.
    pub wire_kind: String,
    /// All area rates against those of the uncalibrated book. Its band is that of a calibrated estimate.
    pub rate_factor: Number,
    /// Minutes of a job that do not go with its length.
    pub fixed_min: Number,
    /// What gauged offsets were off by, away from the wall, µm.
    pub offset_correction_um: Option<Number>,
    /// Jobs it was fitted to.
    pub jobs: usize,
    /// Typical error of an estimate for a job that the fit had not seen, percent.
    pub typical_error_percent: f64,
}

impl Calibration {
    /// Reads `[calibration.NAME]`.
    pub(super) fn read(entry: &Entry<'_, '_>, name: &str) -> Option<Self> {
        let material = entry.text("material", None);
        let wire_kind = entry.text("wire_kind", None);
        let plain = |key: &str| {
            let value = entry.plain_if(key, Limit::NotNegative);
            if value.is_none() && !entry.has(key) {
                entry.flaw(format!("`{key}` is missing: a number of 0 or above"));
            }
            value
        };
        let wire_mm = plain("wire_mm");
        let jobs = plain("jobs");
        let typical_error_percent = plain("typical_error_percent");
        let rate_factor = entry.number("rate_factor", None, Limit::Positive);
        let fixed_min = entry.number("fixed_min", None, Limit::NotNegative);
        let offset_correction_um = entry.number_if("offset_correction_um", None, Limit::Finite);
        entry.finish();
        Some(Self {
            name: name.to_owned(),
            material: material?,
            wire_mm: wire_mm?,
            wire_kind: wire_kind?,
            rate_factor: rate_factor?,
            fixed_min: fixed_min?,
            offset_correction_um,
            jobs: jobs? as usize,
            typical_error_percent: typical_error_percent?,
        })
    }

    /// Whether it is for this material and wire.
    pub fn suits(&self, material: &str, wire_mm: f64, wire_kind: &str) -> bool {
        self.material == material && same_wire(self.wire_mm, wire_mm) && self.wire_kind == wire_kind
    }
}

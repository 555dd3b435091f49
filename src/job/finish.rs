use crate::units::roughness::{UIN_PER_UM, ra_um_of_n_grade, ra_um_of_vdi_class};

use super::DemandError;

/// A finish that the print calls for.
#[derive(Clone, Debug, PartialEq)]
pub struct Finish {
    /// Highest Ra, µm.
    pub ra_um: f64,
    /// As written.
    pub written: String,
}

impl Finish {
    /// Reads `Ra 0.4`, `0.4 µm`, `16 µin`, `N5`, `VDI 12`. A plain number after `Ra` is micrometres, and is
    /// refused above 12.5, where microinches are likely to be meant.
    pub fn parse(text: &str) -> Result<Self, DemandError> {
        let written = text.trim().to_owned();
        let refuse = |reason: &str| DemandError::Finish {
            written: written.clone(),
            reason: reason.into(),
        };
        let lower = written.to_lowercase().replace(',', ".").replace('μ', "µ");
        if lower.starts_with("rz")
            || lower.starts_with("rt")
            || lower.starts_with("rq")
            || lower.starts_with("rms")
        {
            return Err(refuse("only Ra is planned for; ask which Ra is called for"));
        }
        if let Some(grade) = lower.strip_prefix('n').and_then(|rest| rest.trim().parse().ok()) {
            let ra_um = ra_um_of_n_grade(grade).ok_or_else(|| refuse("grades run from N1 to N12"))?;
            return Ok(Self { ra_um, written });
        }
        if let Some(rest) = lower.strip_prefix("vdi") {
            let class: f64 = rest
                .trim()
                .trim_start_matches("3400")
                .trim()
                .parse()
                .map_err(|_| refuse("VDI wants a class"))?;
            if !(0.0..=45.0).contains(&class) {
                return Err(refuse("VDI 3400 classes run from 0 to 45"));
            }
            let ra_um = ra_um_of_vdi_class(class);
            return Ok(Self { ra_um, written });
        }
        let (named, rest) = match lower.strip_prefix("ra") {
            Some(rest) => (true, rest.trim().trim_start_matches(['=', '<', '≤']).trim()),
            None => (false, lower.as_str()),
        };
        let split = rest
            .find(|c: char| !(c.is_ascii_digit() || c == '.'))
            .unwrap_or(rest.len());
        let (number, unit) = rest.split_at(split);
        let value: f64 = number.parse().map_err(|_| refuse("no number in it"))?;
        let ra_um = match unit.trim() {
            "µm" | "um" | "micron" | "microns" => value,
            "µin" | "uin" | "µ\"" | "microinch" | "microinches" => value / UIN_PER_UM,
            "" if named && value <= LARGEST_PLAIN_RA_UM => value,
            "" if named => return Err(refuse("µm or µin? write the unit")),
            "" => return Err(refuse("write what it is: `Ra 0.4`, `0.4 µm` or `16 µin`")),
            _ => return Err(refuse("the unit of a roughness is µm or µin")),
        };
        if (FINEST_RA_UM..=COARSEST_RA_UM).contains(&ra_um) {
            Ok(Self { ra_um, written })
        } else {
            Err(refuse("a roughness is above 0: Ra from 0.001 to 1000 µm"))
        }
    }
}

/// Finest roughness that is read: below it is a slip of the pen, µm.
const FINEST_RA_UM: f64 = 0.001;
/// Coarsest, µm.
const COARSEST_RA_UM: f64 = 1000.0;

/// Above this a plain Ra is more likely microinches: no cut leaves it.
const LARGEST_PLAIN_RA_UM: f64 = 12.5;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_way_of_writing_four_tenths() {
        for text in [
            "Ra 0.4",
            "ra0.4",
            "Ra 0,4 µm",
            "0.4 µm",
            "0.4um",
            "0.4 μm",
            "N5",
            "n 5",
            "Ra≤0.4",
            "Ra = 0.4",
        ] {
            assert_eq!(Finish::parse(text).map(|f| f.ra_um), Ok(0.4), "{text}");
        }
        for text in [
            "16 µin",
            "16 uin",
            "Ra 16 µin",
            "16 microinch",
            "VDI 12",
            "VDI12",
            "vdi 3400 12",
        ] {
            let ra_um = Finish::parse(text).expect("a finish").ra_um;
            assert!((ra_um - 0.4).abs() < 0.01, "{text}: {ra_um}");
        }
        assert_eq!(
            Finish::parse(" Ra 0.4 ").map(|f| f.written),
            Ok("Ra 0.4".to_owned())
        );
    }

    #[test]
    fn what_is_no_finish_is_refused() {
        for text in [
            "", "0.4", "Ra", "Ra 16", "Ra 0", "Ra -1", "Rz 4", "N0", "N13", "VDI", "VDI 99", "0.4 mm", "fine",
        ] {
            assert!(Finish::parse(text).is_err(), "{text}");
        }
    }
}

//! A finished job as the model sees it.

use super::job_fit::Sample;
use super::job_log::LogJob;
use crate::estimate::{AuxiliaryWork, CutGroup, PacedMinutes, PassLength, Time, cut, time};
use crate::id::{GroupId, PassNo};
use crate::pass::{PassRequest, Schedule, schedule};
use crate::shop::{Book, MinutesHold};
use crate::units::{MIN_PER_HOUR, UM_PER_MM};

/// What a job was cut from and with.
pub(super) struct Work {
    pub(super) material: String,
    pub(super) wire_mm: f64,
    pub(super) wire_kind: String,
}

/// One job, with what was measured on it.
pub(super) struct JobSample {
    pub(super) line: usize,
    pub(super) machine: Option<String>,
    pub(super) minutes_hold: MinutesHold,
    pub(super) sample: Sample,
    pub(super) ra_ratio: Option<f64>,
    pub(super) correction_um: Option<f64>,
}

impl JobSample {
    pub(super) fn machine(&self) -> Option<&str> {
        self.machine.as_deref()
    }
}

impl LogJob {
    /// Returns the passes that it was cut with. A machine that the book does not have is modelled on its usual one.
    pub fn request(&self, book: &Book) -> PassRequest {
        let mut request = PassRequest::new(&self.material, self.thickness_mm, self.wire_mm, self.passes);
        request.wire_kind.clone_from(&self.wire_kind);
        request.machine = self
            .machine
            .clone()
            .filter(|name| book.machines.contains_key(name));
        request
    }
}

/// A job as the model sees it by a book without calibrations.
pub(super) fn sample(book: &Book, job: &LogJob) -> Result<(Work, JobSample), String> {
    let request = job.request(book);
    let setting = request.setting(book).map_err(|error| error.to_string())?;
    let passes = schedule(book, &request).map_err(|error| error.to_string())?;
    let usual;
    let time = if let Some(planned) = &job.planned {
        planned
    } else {
        let length_mm = job.length_mm.ok_or("its drawing gave no length")?;
        usual = without_drawing(book, &request, &passes, length_mm, job.contours)
            .ok_or("its length gave no minutes")?;
        &usual
    };
    let ra_model_um = passes.passes.last().map(|pass| pass.ra_um.expected);
    let seen = JobSample {
        line: job.line,
        machine: job.machine.clone(),
        minutes_hold: job.minutes_hold,
        sample: terms_held(book, time, job.minutes_hold, job.minutes),
        ra_ratio: job.ra_um.zip(ra_model_um).map(|(real, model)| real / model),
        correction_um: job.offset_correction_mm.map(|mm| mm * UM_PER_MM),
    };
    let work = Work {
        material: setting.material.name.clone(),
        wire_mm: setting.wire.size.diameter_mm,
        wire_kind: setting.wire.kind.name.clone(),
    };
    Ok((work, seen))
}

/// The time of a job that is known by its length alone: each contour has a start hole and a lead-in of the book's length, is
/// threaded once, held by one tab and taken out once. Sharp corners are not counted.
fn without_drawing(
    book: &Book,
    request: &PassRequest,
    passes: &Schedule,
    length_mm: f64,
    contours: usize,
) -> Option<Time> {
    let setting = request.setting(book).ok()?;
    let along = |pass: PassNo, mm: f64| PassLength {
        group: GroupId::FIRST,
        pass,
        path_length_mm: Some(mm),
    };
    let lengths: Vec<PassLength> = PassNo::numbered(&passes.passes)
        .map(|(pass, _)| along(pass, length_mm))
        .collect();
    let work = AuxiliaryWork {
        start_holes: contours,
        threads: contours,
        tabs: contours,
        slugs: contours,
        pass_changes: contours.saturating_mul(passes.passes.len() - 1),
        leads: vec![along(
            PassNo::FIRST,
            contours as f64 * book.rules.calibration.lead_mm.value(),
        )],
        ..AuxiliaryWork::default()
    };
    let groups = [CutGroup {
        group: GroupId::FIRST,
        schedule: passes,
        size_mm: 0.0,
        skimmed: true,
    }];
    let cut = cut(request.thickness_mm, &groups, &lengths);
    time(book, setting, request.thickness_mm, &groups, &cut, &work)
}

/// Which of these terms `real_min` minutes hold: of the same kind as the plan's own total, so that like is set against like.
fn terms_held(book: &Book, time: &Time, hold: MinutesHold, real_min: f64) -> Sample {
    // Breaks go with the minutes in which the wire runs.
    let with_breaks = 1.0 + book.times.wire_break_min_per_hour.value() / MIN_PER_HOUR;
    let (total, times) = match hold {
        MinutesHold::Cutting => (time.running.value.expected, 1.0),
        MinutesHold::Machine => (time.machine_minutes.value.expected, with_breaks),
        MinutesHold::SetUpToFinished => {
            let piece = time.total_minutes.value.expected - time.setup.value.expected;
            (piece, with_breaks)
        }
    };
    let slow = |part: &PacedMinutes| PacedMinutes {
        minutes: times * part.minutes,
        least_minutes: times * part.least_minutes,
    };
    let paced: Vec<PacedMinutes> = time.paced.iter().map(slow).collect();
    let cutting: f64 = paced
        .iter()
        .map(|part| part.minutes.max(part.least_minutes))
        .sum();
    Sample {
        paced,
        other_min: (total - cutting).max(0.0),
        has_setup: hold == MinutesHold::SetUpToFinished,
        real_min,
    }
}

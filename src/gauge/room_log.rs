//! The log of a room: temperature and humidity by the clock, a row a reading, and where it was measured the temperature of a part.

use crate::calibrate::{LogFlaw, LogRow, LogTable};
use crate::units::{HOURS_PER_DAY, MIN_PER_HOUR};

/// A reading of the room.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct RoomReading {
    /// Minutes since 1970-01-01 00:00 of the clock of the log.
    pub minutes: f64,
    /// Temperature of the air, or of whatever the part lies in, °C.
    pub room_c: f64,
    /// Relative humidity, %.
    pub humidity_percent: Option<f64>,
    /// Temperature of a part that lies in it, °C.
    pub part_c: Option<f64>,
}

/// A log as read.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct RoomLog {
    /// The readings, by the clock.
    pub readings: Vec<RoomReading>,
    /// Rows and headings that cannot be used.
    pub flaws: Vec<LogFlaw>,
}

const NEEDED: [&str; 2] = ["time", "room_c"];

/// Readings beyond these are mistakes of writing, °C.
const COLDEST_C: f64 = -50.0;
const WARMEST_C: f64 = 80.0;

/// Reads a log of a room in CSV, with a heading row. Rows that cannot be used come back as flaws beside those that can.
pub fn read_room_log(text: &str) -> RoomLog {
    let table = match LogTable::read(text) {
        Ok(table) => table,
        Err(flaw) => {
            return RoomLog {
                flaws: vec![flaw],
                ..RoomLog::default()
            };
        }
    };
    let mut log = RoomLog {
        flaws: table.missing(&NEEDED, &table.further(&NEEDED)),
        ..RoomLog::default()
    };
    if !log.flaws.is_empty() {
        return log;
    }
    for row in table.rows() {
        let reading = row.and_then(|(line, row)| {
            let reading = room_reading(row);
            reading.map_err(|reason| LogFlaw::new(line, reason))
        });
        match reading {
            Ok(reading) => log.readings.push(reading),
            Err(flaw) => log.flaws.push(flaw),
        }
    }
    log.readings.sort_by(|a, b| a.minutes.total_cmp(&b.minutes));
    log.readings.dedup_by_key(|reading| reading.minutes);
    log
}

fn room_reading(row: LogRow<'_>) -> Result<RoomReading, String> {
    let time = row.text("time").ok_or("time is missing")?;
    let minutes =
        minutes_of(time).ok_or_else(|| format!("time `{time}` is not written as 2026-11-29 08:30"))?;
    let humidity_percent = row.number("humidity_percent")?;
    if humidity_percent.is_some_and(|percent| !(0.0..=100.0).contains(&percent)) {
        return Err("humidity_percent has to lie between 0 and 100".to_owned());
    }
    Ok(RoomReading {
        minutes,
        room_c: celsius(row, "room_c")?.ok_or("room_c is missing")?,
        humidity_percent,
        part_c: celsius(row, "part_c")?,
    })
}

fn celsius(row: LogRow<'_>, head: &str) -> Result<Option<f64>, String> {
    match row.number(head)? {
        Some(celsius) if !(COLDEST_C..=WARMEST_C).contains(&celsius) => Err(format!(
            "{head} {celsius} lies beyond {COLDEST_C} to {WARMEST_C} °C"
        )),
        celsius => Ok(celsius),
    }
}

/// Returns the minutes since 1970-01-01 00:00 of a time written as `2026-11-29 08:30`, with `T` between and seconds if they are there
/// (ISO 8601, without a zone).
pub fn minutes_of(time: &str) -> Option<f64> {
    let (date, clock) = time.trim().split_once([' ', 'T'])?;
    let date: Vec<i64> = numbers(date, '-')?;
    let clock: Vec<i64> = numbers(clock.trim(), ':')?;
    let [year, month, day] = date[..] else { return None };
    let (hour, minute, second) = match clock[..] {
        [hour, minute] => (hour, minute, 0),
        [hour, minute, second] => (hour, minute, second),
        _ => return None,
    };
    let is_time = (0..24).contains(&hour) && (0..60).contains(&minute) && (0..60).contains(&second);
    if !is_time || !(1..=12).contains(&month) || !(1..=days_of(year, month)).contains(&day) {
        return None;
    }
    let days = (1..month).map(|month| days_of(year, month)).sum::<i64>() + day - 1 + days_before(year);
    let minutes = days as f64 * HOURS_PER_DAY * MIN_PER_HOUR;
    Some(minutes + hour as f64 * MIN_PER_HOUR + minute as f64 + second as f64 / 60.0)
}

fn numbers(text: &str, between: char) -> Option<Vec<i64>> {
    text.split(between).map(|part| part.parse().ok()).collect()
}

/// Days of a month of the Gregorian calendar.
fn days_of(year: i64, month: i64) -> i64 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if is_leap(year) => 29,
        2 => 28,
        _ => 31,
    }
}

fn is_leap(year: i64) -> bool {
    (year % 4 == 0 && year % 100 != 0) || year % 400 == 0
}

/// Days from 1970-01-01 to the first day of a year.
fn days_before(year: i64) -> i64 {
    let leaps =
        |year: i64| (year - 1).div_euclid(4) - (year - 1).div_euclid(100) + (year - 1).div_euclid(400);
    365 * (year - 1970) + leaps(year) - leaps(1970)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Unix time: 2000-03-01 00:00 is 951 868 800 s, 2026-11-29 08:30 is 1 795 941 000 s after the beginning of 1970 (POSIX.1, 4.19: days
    /// by the Gregorian calendar; worked with `date -u`).
    #[test]
    fn times_are_minutes_of_the_calendar() {
        for (time, seconds) in [
            ("1970-01-01 00:00", 0.0),
            ("2000-03-01T00:00", 951_868_800.0),
            ("2026-11-29 08:30", 1_795_941_000.0),
            ("2026-11-29 08:30:30", 1_795_941_030.0),
        ] {
            let minutes = minutes_of(time).expect("a time");
            assert!(
                (minutes * 60.0 - seconds).abs() < 1e-3,
                "{time}: {}",
                minutes * 60.0
            );
        }
        for wrong in [
            "2026-02-29 08:00",
            "2026-11-29",
            "2026-13-01 00:00",
            "2026-11-29 24:00",
            "29.11.2026 08:30",
        ] {
            assert_eq!(minutes_of(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn what_cannot_be_read_is_told_and_readings_go_by_the_clock() {
        let log = read_room_log(
            "time,room_c,humidity_percent\n2026-11-29 09:00,22,41\n2026-11-29 08:00,21,39\nnoon,21,40\n2026-11-29 10:00,210,40\n\
             2026-11-29 10:00,21,400\n",
        );
        let lines: Vec<usize> = log.flaws.iter().map(|flaw| flaw.line).collect();
        assert_eq!(lines, [4, 5, 6]);
        let rooms: Vec<f64> = log.readings.iter().map(|reading| reading.room_c).collect();
        assert_eq!(rooms, [21.0, 22.0]);
    }
}

/// Whether a text is a day as year-month-day (ISO 8601), such as 2026-11-29.
pub fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else {
        return false;
    };
    let number = |part: &str, digits: usize| {
        let plain = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
        plain.then(|| part.parse::<u32>().ok()).flatten()
    };
    let (year, month, day) = (number(year, 4), number(month, 2), number(day, 2));
    let Some(((year, month), day)) = year.zip(month).zip(day) else {
        return false;
    };
    let is_leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if is_leap => 29,
        2 => 28,
        _ => return false,
    };
    (1..=days).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn days_of_the_calendar() {
        for date in ["2026-11-29", "2024-02-29", "2000-02-29"] {
            assert!(is_date(date), "{date}");
        }
        for wrong in [
            "",
            "29.11.2026",
            "2026-13-01",
            "2026-02-29",
            "1900-02-29",
            "2026-1-1",
            "2026-11-31",
            "2026-11-29 ",
        ] {
            assert!(!is_date(wrong), "{wrong}");
        }
    }
}

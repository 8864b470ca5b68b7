//! Durations as people write them: "90 min", "1 h 30 min", "7 d".

use chrono::TimeDelta;

use super::{UnitError, clean};

const SECONDS: [(&str, f64); 4] = [("d", 86_400.0), ("h", 3_600.0), ("min", 60.0), ("s", 1.0)];

/// Parses a sum of numbers with the units `s`, `min`, `h` and `d`; `m` means minutes.
///
/// # Errors
/// [`UnitError`] if a part is not a number with a unit, or the sum exceeds ten years.
pub fn parse_duration(text: &str) -> Result<TimeDelta, UnitError> {
    let wanted = || UnitError::NotThat {
        text: clean(text),
        wanted: "a time with its unit, such as \"90 min\", \"1 h 30 min\" or \"7 d\"",
    };
    let mut rest = text.trim();
    let mut total = 0.0;
    if rest.is_empty() {
        return Err(wanted());
    }
    while !rest.is_empty() {
        let digits = rest.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).ok_or_else(wanted)?;
        let number: f64 = rest[..digits].replace(',', ".").parse().map_err(|_| wanted())?;
        rest = rest[digits..].trim_start();
        let letters = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
        let unit = match &rest[..letters] {
            "m" | "minute" | "minutes" => "min",
            "hour" | "hours" => "h",
            "day" | "days" => "d",
            other => other,
        };
        let (_, seconds) = SECONDS.iter().find(|(name, _)| *name == unit).ok_or_else(wanted)?;
        total += number * seconds;
        rest = rest[letters..].trim_start();
    }
    if total > 10.0 * 366.0 * 86_400.0 {
        return Err(UnitError::OutOfRange {
            value: clean(text),
            range: "ten years",
            advice: "check the unit",
        });
    }
    Ok(TimeDelta::milliseconds((total * 1000.0).round() as i64))
}

/// A duration in at most two units: "3 h 05 min", "12 min", "40 s", "6 d 4 h".
pub fn duration_text(duration: TimeDelta) -> String {
    let seconds = duration.num_seconds().abs();
    let (days, hours, minutes) = (seconds / 86_400, seconds / 3_600 % 24, seconds / 60 % 60);
    if days > 0 {
        return if hours == 0 { format!("{days} d") } else { format!("{days} d {hours} h") };
    }
    if hours > 0 {
        return if minutes == 0 { format!("{hours} h") } else { format!("{hours} h {minutes:02} min") };
    }
    if minutes > 0 { format!("{minutes} min") } else { format!("{seconds} s") }
}

/// Working time in hours, however long: "26 h 05 min", "45 min".
pub fn hours_text(duration: TimeDelta) -> String {
    let minutes = (duration.num_seconds() + 30) / 60;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes:02} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_of_units_are_read() {
        for (text, seconds) in [
            ("90 min", 5_400),
            ("1 h 30 min", 5_400),
            ("7 d", 604_800),
            ("1.5h", 5_400),
            ("25m", 1_500),
            ("30s", 30),
        ] {
            assert_eq!(parse_duration(text).map(|d| d.num_seconds()), Ok(seconds), "{text}");
        }
    }

    #[test]
    fn working_time_is_shown_in_hours_and_not_in_days() {
        for (seconds, text) in [(0, "0 min"), (89, "1 min"), (93_900, "26 h 05 min"), (7_200, "2 h")] {
            assert_eq!(hours_text(TimeDelta::seconds(seconds)), text);
        }
    }

    #[test]
    fn a_number_without_a_unit_is_not_a_duration() {
        for text in ["", "90", "h", "4 fortnights", "-3 h", "1 h 30", "99999 d", "1..5 h"] {
            assert!(parse_duration(text).is_err(), "{text} was taken");
        }
    }

    #[test]
    fn a_duration_is_shown_in_at_most_two_units() {
        for (seconds, text) in
            [(40, "40 s"), (720, "12 min"), (11_100, "3 h 05 min"), (533_000, "6 d 4 h"), (7_200, "2 h")]
        {
            assert_eq!(duration_text(TimeDelta::seconds(seconds)), text);
        }
    }
}

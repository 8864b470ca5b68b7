//! The moments that people type: `-25m`, `30 min ago`, `14:20`, `7pm`, `yesterday 19:00`, `Sat 14:20`,
//! `2026-05-02 14:20`, RFC 3339.

use chrono::{
    DateTime, Datelike, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, SecondsFormat, SubsecRound,
    TimeDelta, Weekday,
};

use super::{Civil, Moment, clean, parse_duration};

/// Why a text is no moment.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WhenError {
    /// Nothing that can be read as one.
    #[error(
        "\"{0}\" is not a time; write -25m, 14:20, 7pm, \"Sat 14:20\", \"2026-05-02 14:20\" or 2026-05-02T14:20:00+02:00"
    )]
    NotATime(String),
    /// Noon to some, midnight to others.
    #[error("\"{0}\" is noon to some and midnight to others; write 12:00, or 0:00 with its date")]
    Twelve(String),
    /// "9" may be of the morning or of the evening.
    #[error("\"{0}\" may be in the morning or in the evening; write {0}:00, {0}am or {0}pm")]
    Bare(String),
    /// Skipped by a clock change.
    #[error("the clocks went from before {0} to after it, so that moment did not exist")]
    Skipped(String),
    /// Shown twice by a clock change.
    #[error("the clocks showed {0} twice that night; add the offset: {1} or {2}")]
    Twice(String, String, String),
}

/// A moment as machines read it: UTC, RFC 3339, to the nearest second.
pub fn rfc3339(moment: Moment) -> String {
    moment.round_subsecs(0).to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// Reads a moment. A time of day alone is of the day of `now`; a weekday the last one that is not after
/// it.
///
/// # Errors
/// [`WhenError`] says what would be right.
pub fn parse_when(text: &str, now: Moment, civil: &Civil) -> Result<Moment, WhenError> {
    let text = text.trim();
    let not_a_time = || WhenError::NotATime(clean(text));
    if let Some(ago) = text.strip_prefix('-').or_else(|| text.strip_prefix('\u{2212}')) {
        return Ok(now - parse_duration(ago).map_err(|_| not_a_time())?);
    }
    if let Some(ahead) = text.strip_prefix('+') {
        return Ok(now + parse_duration(ahead).map_err(|_| not_a_time())?);
    }
    if text.eq_ignore_ascii_case("now") {
        return Ok(now);
    }
    if let Some(ago) = strip_word(text, "ago") {
        return Ok(now - parse_duration(ago).map_err(|_| not_a_time())?);
    }
    if let Ok(moment) = DateTime::parse_from_rfc3339(text) {
        return Ok(moment.to_utc());
    }
    let today = civil.local(now).date_naive();
    if let Some(time) = parse_time(text)? {
        return local_moment(today.and_time(time), civil);
    }
    let (day, time) = text.split_once(' ').or_else(|| text.split_once('T')).ok_or_else(not_a_time)?;
    let date = parse_day(day, today).ok_or_else(not_a_time)?;
    let time = parse_time(time)?.ok_or_else(not_a_time)?;
    local_moment(date.and_time(time), civil)
}

/// The moment at which the wall clock shows this.
///
/// # Errors
/// [`WhenError`] where a clock change skipped or doubled it.
pub fn local_moment(naive: NaiveDateTime, civil: &Civil) -> Result<Moment, WhenError> {
    let shown = naive.format("%Y-%m-%d %H:%M").to_string();
    match civil.moments(naive) {
        LocalResult::Single(moment) => Ok(moment),
        LocalResult::None => Err(WhenError::Skipped(shown)),
        LocalResult::Ambiguous(one, other) => {
            let (first, second) = (one.min(other), one.max(other));
            let with_offset = |moment| civil.local(moment).to_rfc3339();
            Err(WhenError::Twice(shown, with_offset(first), with_offset(second)))
        }
    }
}

fn parse_day(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    if let Ok(date) = text.parse::<NaiveDate>() {
        return Some(date);
    }
    if text.eq_ignore_ascii_case("today") {
        return Some(today);
    }
    if text.eq_ignore_ascii_case("yesterday") {
        return today.pred_opt();
    }
    let weekday: Weekday = text.parse().ok()?;
    let back = today.weekday().days_since(weekday);
    today.checked_sub_signed(TimeDelta::days(i64::from(back)))
}

/// What stands before a last word.
fn strip_word<'t>(text: &'t str, word: &str) -> Option<&'t str> {
    let (before, last) = text.rsplit_once(' ')?;
    last.eq_ignore_ascii_case(word).then_some(before)
}

/// A time of day; None where it is none, an error where it may be two. That 12 am and 12 pm are not used: NIST, Times
/// of Day FAQs.
fn parse_time(text: &str) -> Result<Option<NaiveTime>, WhenError> {
    let text = text.trim();
    let upper = text.to_ascii_uppercase();
    let half = upper.strip_suffix("AM").or_else(|| upper.strip_suffix("PM")).map(str::trim_end);
    if half == Some("12") {
        return Err(WhenError::Twelve(clean(text)));
    }
    let is_hour =
        |text: &str| (1..=2).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
    if is_hour(text) && text.parse::<u8>().is_ok_and(|hour| (1..=12).contains(&hour)) {
        return Err(WhenError::Bare(clean(text)));
    }
    // An hour alone has no minutes to be read.
    let upper = match half {
        Some(hour) if is_hour(hour) => format!("{hour}:00 {}", &upper[upper.len() - 2..]),
        _ => upper,
    };
    let formats = ["%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M%p"];
    Ok(formats.iter().find_map(|format| NaiveTime::parse_from_str(&upper, format).ok()))
}

#[cfg(test)]
mod tests {
    use super::super::ClockFace;
    use super::*;

    fn berlin() -> Civil {
        Civil::new(chrono_tz::Europe::Berlin, ClockFace::TwentyFour)
    }

    fn read(text: &str) -> Result<String, WhenError> {
        let now = "2026-05-02T16:00:00Z".parse().unwrap();
        parse_when(text, now, &berlin()).map(|moment| moment.to_rfc3339())
    }

    #[test]
    fn a_moment_is_read_in_the_ways_people_write_it() {
        for (text, moment) in [
            ("-25m", "2026-05-02T15:35:00+00:00"),
            ("-1 h 30 min", "2026-05-02T14:30:00+00:00"),
            ("14:20", "2026-05-02T12:20:00+00:00"),
            ("2:20 pm", "2026-05-02T12:20:00+00:00"),
            ("2026-05-01 14:20", "2026-05-01T12:20:00+00:00"),
            ("yesterday 14:20", "2026-05-01T12:20:00+00:00"),
            ("2026-05-01T14:20", "2026-05-01T12:20:00+00:00"),
            ("Sun 14:20", "2026-04-26T12:20:00+00:00"),
            ("Mon 14:20", "2026-04-27T12:20:00+00:00"),
            ("Tue 14:20", "2026-04-28T12:20:00+00:00"),
            ("Wednesday 14:20", "2026-04-29T12:20:00+00:00"),
            ("Thu 14:20", "2026-04-30T12:20:00+00:00"),
            ("Fri 23:00", "2026-05-01T21:00:00+00:00"),
            ("Sat 14:20", "2026-05-02T12:20:00+00:00"),
            ("2026-05-02T14:20:00+02:00", "2026-05-02T12:20:00+00:00"),
            ("now", "2026-05-02T16:00:00+00:00"),
            ("7pm", "2026-05-02T17:00:00+00:00"),
            ("7 pm", "2026-05-02T17:00:00+00:00"),
            ("11 AM", "2026-05-02T09:00:00+00:00"),
            ("07am", "2026-05-02T05:00:00+00:00"),
            ("7:30pm", "2026-05-02T17:30:00+00:00"),
            ("12:30 am", "2026-05-01T22:30:00+00:00"),
            ("yesterday 19:00", "2026-05-01T17:00:00+00:00"),
            ("Yesterday 7pm", "2026-05-01T17:00:00+00:00"),
            ("today 9am", "2026-05-02T07:00:00+00:00"),
            ("Thu 7pm", "2026-04-30T17:00:00+00:00"),
            ("2026-05-01 7 pm", "2026-05-01T17:00:00+00:00"),
            ("30 min ago", "2026-05-02T15:30:00+00:00"),
            ("2 h ago", "2026-05-02T14:00:00+00:00"),
            ("1 h 30 min Ago", "2026-05-02T14:30:00+00:00"),
        ] {
            assert_eq!(read(text).as_deref(), Ok(moment), "{text}");
        }
    }

    #[test]
    fn an_invalid_time_is_an_error() {
        for text in [
            "",
            "25",
            "0",
            "-25",
            "25:00",
            "14:61",
            "soon",
            "2026-13-01 10:00",
            "Blursday 10:00",
            "13pm",
            "0am",
            "pm",
            "ago",
            "30 ago",
            "-30 min ago",
            "tomorrow",
            "yesterday",
            "7pm yesterday",
            "half past 7",
            "007pm",
        ] {
            assert!(matches!(read(text), Err(WhenError::NotATime(_))), "{text}");
        }
    }

    #[test]
    fn what_may_be_two_times_is_asked_about() {
        for text in ["12am", "12 pm", "yesterday 12PM"] {
            assert!(matches!(read(text), Err(WhenError::Twelve(_))), "{text}");
        }
        for text in ["7", "12", "yesterday 9"] {
            assert!(matches!(read(text), Err(WhenError::Bare(_))), "{text}");
        }
        let asked = read("yesterday 9").unwrap_err().to_string();
        assert_eq!(asked, "\"9\" may be in the morning or in the evening; write 9:00, 9am or 9pm");
    }

    #[test]
    fn on_the_night_of_a_clock_change_the_offset_is_asked_for() {
        assert!(matches!(read("2026-03-29 02:30"), Err(WhenError::Skipped(_))));
        let twice = read("2026-10-25 02:30").unwrap_err().to_string();
        assert!(twice.contains("2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00"), "{twice}");
    }
}

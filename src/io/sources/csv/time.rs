//! Times in logger files: RFC 3339, local time, or Unix seconds.

use chrono::{DateTime, LocalResult, NaiveDate, NaiveDateTime, TimeDelta};

use super::doubled::Doubled;
use crate::engine::units::{Civil, Moment, WhenError, clean, local_moment};

/// Why a time is invalid.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(in crate::io::sources) enum TimeFault {
    /// It is not a time, or was skipped.
    #[error("{0}")]
    NotATime(String),
    /// It is a repeated local time without an offset.
    #[error("{1}")]
    Twice(Doubled, String),
}

impl From<TimeFault> for String {
    fn from(fault: TimeFault) -> Self {
        fault.to_string()
    }
}

/// The moment of a local time.
pub(super) fn local(naive: NaiveDateTime, civil: &Civil) -> Result<Moment, TimeFault> {
    local_moment(naive, civil).map_err(|error| match (&error, civil.moments(naive)) {
        (WhenError::Twice(..), LocalResult::Ambiguous(first, second)) => {
            TimeFault::Twice(Doubled { shown: naive, first, second }, error.to_string())
        }
        _ => TimeFault::NotATime(error.to_string()),
    })
}

/// Parses a time to whole seconds; fractions are dropped.
pub(in crate::io::sources) fn parse(text: &str, civil: &Civil) -> Result<Moment, TimeFault> {
    let not_a_time = || {
        let text = clean(text);
        TimeFault::NotATime(format!(
            "\"{text}\" is not a time such as 2026-05-02T18:00:00Z, 2026-05-02 18:00 or 1777744800"
        ))
    };
    if let Some((naive, rest)) = civil_part(text.as_bytes()) {
        match offset(rest.trim_ascii_start()) {
            Some(Some(east)) => return Ok((naive - east).and_utc()),
            Some(None) => return local(naive, civil),
            None => {}
        }
    }
    if let Ok(moment) = DateTime::parse_from_rfc3339(text) {
        return DateTime::from_timestamp(moment.timestamp(), 0).ok_or_else(not_a_time);
    }
    let seconds = unix_seconds(text).and_then(|seconds| DateTime::from_timestamp(seconds, 0));
    seconds.ok_or_else(not_a_time)
}

/// Date and time of "2026-05-02T18:00:00…" or "2026-05-02 18:00…", and the rest. Files have millions of rows,
/// and this is several times as fast as a general parser.
fn civil_part(text: &[u8]) -> Option<(NaiveDateTime, &[u8])> {
    let (head, mut rest) = text.split_at_checked(16)?;
    let &[y0, y1, y2, y3, b'-', m0, m1, b'-', d0, d1, b'T' | b't' | b' ', h0, h1, b':', n0, n1] = head else {
        return None;
    };
    let mut second = 0;
    if let [b':', s0, s1, behind @ ..] = rest {
        second = pair(*s0, *s1)?;
        rest = behind;
    }
    let year = pair(y0, y1)? * 100 + pair(y2, y3)?;
    let date = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, pair(m0, m1)?, pair(d0, d1)?)?;
    Some((date.and_hms_opt(pair(h0, h1)?, pair(n0, n1)?, second)?, rest))
}

/// The UTC offset: Some(None) if there is none, None if it has another form.
fn offset(text: &[u8]) -> Option<Option<TimeDelta>> {
    match text {
        [] => Some(None),
        [b'Z' | b'z'] => Some(Some(TimeDelta::zero())),
        [sign @ (b'+' | b'-'), h0, h1, b':', m0, m1] => {
            let (hours, minutes) = (pair(*h0, *h1)?, pair(*m0, *m1)?);
            let east = TimeDelta::minutes(i64::from(hours * 60 + minutes));
            (hours < 24 && minutes < 60).then_some(Some(if *sign == b'-' { -east } else { east }))
        }
        _ => None,
    }
}

fn pair(tens: u8, ones: u8) -> Option<u32> {
    let digit = |byte: u8| byte.is_ascii_digit().then(|| u32::from(byte - b'0'));
    Some(digit(tens)? * 10 + digit(ones)?)
}

/// Unix seconds. Fewer than nine digits are a date without hyphens or a row number.
fn unix_seconds(text: &str) -> Option<i64> {
    let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    (whole.len() >= 9 && digits(whole) && digits(part)).then(|| whole.parse().ok()).flatten()
}

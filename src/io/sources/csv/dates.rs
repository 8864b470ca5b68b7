//! Dates with the day or the month first. The order comes from an option, or from one unambiguous date of the
//! file.

use std::fmt;
use std::str::FromStr;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use super::time;
use crate::engine::units::{Civil, Moment};

/// The order of a date that does not begin with the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// 5/2/2026 is the second of May.
    MonthFirst,
    /// 5/2/2026 is the fifth of February.
    DayFirst,
}

impl DateOrder {
    /// Its option value.
    pub const fn key(self) -> &'static str {
        match self {
            Self::MonthFirst => "mdy",
            Self::DayFirst => "dmy",
        }
    }
}

impl fmt::Display for DateOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::MonthFirst => "month/day/year",
            Self::DayFirst => "day/month/year",
        })
    }
}

impl FromStr for DateOrder {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim().to_lowercase().as_str() {
            "mdy" => Ok(Self::MonthFirst),
            "dmy" => Ok(Self::DayFirst),
            _ => Err("write mdy or dmy; a date that starts with the year needs no option".into()),
        }
    }
}

/// What a date shows about the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shown {
    /// The order is certain.
    Order(DateOrder),
    /// Both are possible.
    Either,
    /// It is not such a date.
    Nothing,
}

/// The order that a date shows, with or without a time of day. Dates with points are day first (common
/// practice, no source).
pub(super) fn shown_by(text: &str) -> Shown {
    let Some(Parts { first, second, point, .. }) = parts(date_of(text)) else { return Shown::Nothing };
    match (first, second) {
        (1..=12, 13..=31) => Shown::Order(DateOrder::MonthFirst),
        (13..=31, 1..=12) => Shown::Order(DateOrder::DayFirst),
        (1..=12, 1..=12) if point => Shown::Order(DateOrder::DayFirst),
        (1..=12, 1..=12) => Shown::Either,
        _ => Shown::Nothing,
    }
}

/// Parses a time of any order.
pub(super) fn parse(text: &str, order: Option<DateOrder>, civil: &Civil) -> Result<Moment, time::TimeFault> {
    let local = |naive| time::local(naive, civil);
    // With a known order nearly every row uses it.
    if let Some(naive) = order.and_then(|_| naive(text, order)) {
        return local(naive);
    }
    time::parse(text, civil).or_else(|failed| naive(text, order).map_or(Err(failed), local))
}

fn naive(text: &str, order: Option<DateOrder>) -> Option<NaiveDateTime> {
    let date = date_of(text);
    let rest = text.get(date.len()..)?.trim_start_matches([' ', 'T', ',']);
    let date = year_first(date).or_else(|| {
        let Parts { first, second, year, .. } = parts(date)?;
        let (month, day) = match order? {
            DateOrder::MonthFirst => (first, second),
            DateOrder::DayFirst => (second, first),
        };
        let year = if year < 100 { 2000 + year } else { year };
        NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day)
    })?;
    Some(date.and_time(time_of_day(rest)?))
}

/// "2026-05-02", "2026/5/2".
fn year_first(date: &str) -> Option<NaiveDate> {
    let formats = ["%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d"];
    let written = date.find(|letter: char| !letter.is_ascii_digit()) == Some(4);
    formats.iter().filter(|_| written).find_map(|format| NaiveDate::parse_from_str(date, format).ok())
}

/// "14:20", "14:20:05.3", "2:20 PM".
fn time_of_day(text: &str) -> Option<NaiveTime> {
    let upper = text.trim().to_ascii_uppercase().replace("A.M.", "AM").replace("P.M.", "PM");
    let formats = ["%H:%M", "%H:%M:%S", "%H:%M:%S%.f", "%I:%M %p", "%I:%M%p", "%I:%M:%S %p", "%I:%M:%S%p"];
    formats.iter().find_map(|format| NaiveTime::parse_from_str(&upper, format).ok())
}

/// The date at the start of a text.
fn date_of(text: &str) -> &str {
    let end = text.find(|letter: char| !letter.is_ascii_digit() && !matches!(letter, '/' | '.' | '-'));
    text.get(..end.unwrap_or(text.len())).unwrap_or_default()
}

struct Parts {
    first: u32,
    second: u32,
    year: u32,
    point: bool,
}

/// The three numbers of a date that ends with its year.
fn parts(date: &str) -> Option<Parts> {
    let sign = date.chars().find(|letter| !letter.is_ascii_digit())?;
    let mut numbers = date.split(sign);
    let (first, second, year) = (numbers.next()?, numbers.next()?, numbers.next()?);
    let short = |text: &str| (1..=2).contains(&text.len());
    let fits = short(first) && short(second) && matches!(year.len(), 2 | 4) && numbers.next().is_none();
    let number = |text: &str| text.parse().ok();
    fits.then_some(())?;
    Some(Parts { first: number(first)?, second: number(second)?, year: number(year)?, point: sign == '.' })
}

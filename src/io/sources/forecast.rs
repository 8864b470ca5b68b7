//! A forecast of the outdoor air: temperature, optionally humidity, rain and wind.
//!
//! It is a table, or the documented JSON of a point forecast. Unusable parts are reported and do not affect the
//! rest; corrections are reported too.

use chrono::TimeDelta;

use super::RowFault;
use crate::engine::air::OutdoorHour;
use crate::engine::units::{Civil, Moment};

mod columns;
mod json;
mod settle;
mod table;

/// The largest table.
pub(super) const TABLE_LIMIT: usize = 1 << 20;
/// The largest JSON. A real one has some hundred kilobytes.
pub const JSON_LIMIT: usize = 8 << 20;

/// A row further ahead has a wrong year.
const HORIZON: TimeDelta = TimeDelta::days(30);
/// The largest step of a forecast; a longer one is a gap and stays empty.
const LARGEST_STEP: TimeDelta = TimeDelta::hours(6);
/// World records of rain per hour and of wind.
const MOST_RAIN: f64 = 500.0;
const MOST_WIND: f64 = 120.0;

/// The content of a forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Ascending, one per moment, at least one. Steps of up to six hours are filled in by the hour; gaps are
    /// not.
    pub hours: Vec<OutdoorHour>,
    /// When it was made, if stated.
    pub made: Option<Moment>,
    /// Its format.
    pub form: Form,
    /// Corrections and oddities.
    pub notes: Vec<Note>,
    /// The first invalid rows of a table, in order.
    pub faults: Vec<RowFault>,
    /// The number of invalid rows.
    pub bad_rows: usize,
}

/// The formats of a forecast.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A table.
    Table,
    /// The JSON of a point forecast.
    Json,
}

/// A note about a forecast.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// It ends before now.
    Past {
        /// Its last moment.
        until: Moment,
    },
    /// Hours are missing.
    Gaps {
        /// The number of gaps.
        count: usize,
        /// The start of the longest.
        from: Moment,
        /// And its end.
        to: Moment,
    },
    /// It was not ascending in time.
    Unsorted,
    /// This number of moments occurred more than once.
    Twice(usize),
    /// An impossible value was dropped.
    LeftOut {
        /// Its name.
        what: &'static str,
        /// How often.
        count: usize,
    },
    /// Steps were dropped.
    Steps {
        /// Their number.
        count: usize,
        /// The fault of the first.
        first: String,
    },
}

impl Note {
    /// The note as a sentence, with moments in the words of `when`.
    pub fn sentence(&self, when: impl Fn(Moment) -> String) -> String {
        match self {
            Self::Past { until } => {
                format!("It ends at {}, before now: it is used as the outdoor record only.", when(*until))
            }
            Self::Gaps { count: 1, from, to } => {
                format!("It has a gap from {} to {}.", when(*from), when(*to))
            }
            Self::Gaps { count, from, to } => {
                format!("It has {count} gaps; the longest is from {} to {}.", when(*from), when(*to))
            }
            Self::Unsorted => "It was not in order of time; it is sorted now.".into(),
            Self::Twice(1) => "One moment was in it twice; the later one counts.".into(),
            Self::Twice(count) => format!("{count} moments were in it twice; the later ones count."),
            Self::LeftOut { what, count: 1 } => {
                format!("One hour has an invalid {what}; it is ignored.")
            }
            Self::LeftOut { what, count } => {
                format!("{count} hours have an invalid {what}; it is ignored.")
            }
            Self::Steps { count: 1, first } => format!("One step is ignored: {first}."),
            Self::Steps { count, first } => format!("{count} steps are ignored; the first: {first}."),
        }
    }
}

/// Why a forecast cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ForecastError {
    /// It is empty.
    #[error("the forecast is empty; the first line names the columns: time,temperature,humidity,rain,wind")]
    Empty,
    /// It is too large.
    #[error("the forecast is larger than {limit} MB, too large for a forecast; check the file")]
    TooLarge {
        /// The limit, in megabytes.
        limit: usize,
    },
    /// It is UTF-16.
    #[error("the forecast is in UTF-16; save it as UTF-8")]
    Utf16,
    /// The first line names no known column.
    #[error("line 1 names no columns; it must be a header such as time,temperature,humidity,rain,wind")]
    NoHeader,
    /// A required column is missing.
    #[error("there is no column \"{missing}\" among {found}; name it in the first line")]
    NoColumn {
        /// The column.
        missing: &'static str,
        /// The first line.
        found: String,
    },
    /// Two columns have the same name.
    #[error("two columns hold the {0}; remove one of them")]
    ColumnTwice(&'static str),
    /// A column has an unknown unit.
    #[error("the {what} is in \"{unit}\", which is unknown; known units: {known}")]
    ColumnUnit {
        /// The meaning of the column.
        what: &'static str,
        /// Its unit.
        unit: String,
        /// The known units.
        known: &'static str,
    },
    /// The rows cannot be separated.
    #[error("the forecast cannot be read as rows and columns: {0}")]
    Malformed(String),
    /// It is not JSON, or JSON of another kind.
    #[error("this is not the JSON of a point forecast ({0}); nothing is loaded")]
    NotJson(String),
    /// A variable has another unit than the documented one, or none.
    #[error("{variable} is in {unit}, not in {wanted} as documented; nothing is loaded")]
    Unit {
        /// The variable.
        variable: &'static str,
        /// Its unit.
        unit: String,
        /// The expected unit.
        wanted: &'static str,
    },
    /// No hour of it is usable.
    #[error("the forecast has no usable hour{}", first.as_ref().map(|first| format!("; {first}")).unwrap_or_default())]
    NothingUsable {
        /// The fault of the first.
        first: Option<String>,
    },
}

/// Reads a forecast of either format. Local times are those of `civil`.
///
/// # Errors
/// [`ForecastError`] if nothing of it can be used.
pub fn read_forecast(bytes: &[u8], civil: &Civil, now: Moment) -> Result<Forecast, ForecastError> {
    let text = without_mark(bytes);
    match text.iter().find(|byte| !byte.is_ascii_whitespace()) {
        Some(b'{' | b'[') => read_forecast_json(bytes, now),
        _ => read_forecast_csv(bytes, civil, now),
    }
}

/// Reads a table with the columns time, temperature and, optionally, humidity, rain and wind.
///
/// # Errors
/// [`ForecastError`] if the first line or every row is invalid. Some invalid rows are not an error: see
/// [`Forecast::faults`].
pub fn read_forecast_csv(bytes: &[u8], civil: &Civil, now: Moment) -> Result<Forecast, ForecastError> {
    check_size(bytes, TABLE_LIMIT)?;
    table::read(bytes, civil, now)
}

/// Reads the documented JSON of a point forecast.
///
/// # Errors
/// [`ForecastError`] if it is something else, in other units, or has no hour.
pub fn read_forecast_json(bytes: &[u8], now: Moment) -> Result<Forecast, ForecastError> {
    check_size(bytes, JSON_LIMIT)?;
    json::read(without_mark(bytes), now)
}

fn check_size(bytes: &[u8], limit: usize) -> Result<(), ForecastError> {
    if bytes.len() > limit {
        return Err(ForecastError::TooLarge { limit: limit >> 20 });
    }
    Ok(())
}

/// The bytes after a byte order mark.
fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)
}

#[cfg(test)]
mod tests;

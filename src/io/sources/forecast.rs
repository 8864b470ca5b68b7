//! A forecast of the outdoor air: hours with temperature and, where known, humidity, rain and wind.
//!
//! It comes as a table of rows and columns, or as the documented JSON of a point forecast. What cannot be
//! used is told, and never spoils the rest; what was put right is told as well.

use chrono::TimeDelta;

use super::RowFault;
use crate::engine::air::OutdoorHour;
use crate::engine::units::{Civil, Moment};

mod columns;
mod json;
mod settle;
mod table;

/// The largest table that is read.
pub(super) const TABLE_LIMIT: usize = 1 << 20;
/// The largest JSON that is read. A real one has some hundred kilobytes.
pub const JSON_LIMIT: usize = 8 << 20;

/// No service knows the weather so far ahead; a row beyond that has a wrong year.
const HORIZON: TimeDelta = TimeDelta::days(30);
/// The largest step of a forecast; a longer one is a gap, and nothing is said of what lies in it.
const LARGEST_STEP: TimeDelta = TimeDelta::hours(6);
/// More rain in an hour, or more wind, than the earth has seen.
const MOST_RAIN: f64 = 500.0;
const MOST_WIND: f64 = 120.0;

/// What a forecast holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// In rising order, one to a moment, and at least one. Steps of up to six hours are filled in by the
    /// hour; over a gap nothing is.
    pub hours: Vec<OutdoorHour>,
    /// When it was made, where it says so.
    pub made: Option<Moment>,
    /// The form it came in.
    pub form: Form,
    /// What was put right or is odd.
    pub notes: Vec<Note>,
    /// The first bad rows of a table, in its order.
    pub faults: Vec<RowFault>,
    /// How many bad rows there are in all.
    pub bad_rows: usize,
}

/// The forms of a forecast.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Rows and columns.
    Table,
    /// The JSON of a point forecast.
    Json,
}

/// Something about a forecast that a person should know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// It ends before now.
    Past {
        /// Its last moment.
        until: Moment,
    },
    /// Hours are missing within it.
    Gaps {
        /// How many times.
        count: usize,
        /// Where the longest begins.
        from: Moment,
        /// And where it ends.
        to: Moment,
    },
    /// It was not in order of time.
    Unsorted,
    /// So many moments stood in it more than once.
    Twice(usize),
    /// A figure was left out of so many hours, since it is none.
    LeftOut {
        /// Which one.
        what: &'static str,
        /// How often.
        count: usize,
    },
    /// Whole steps were left out.
    Steps {
        /// How many.
        count: usize,
        /// What is wrong with the first of them.
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

/// Why nothing of a forecast can be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ForecastError {
    /// There is nothing in it.
    #[error("the forecast is empty; the first line names the columns: time,temperature,humidity,rain,wind")]
    Empty,
    /// It is far larger than any forecast.
    #[error("the forecast is larger than {limit} MB, too large for a forecast; check the file")]
    TooLarge {
        /// What is read at most, in megabytes.
        limit: usize,
    },
    /// It is in two-byte characters.
    #[error("the forecast is in UTF-16; save it as UTF-8")]
    Utf16,
    /// The first line names none of the columns.
    #[error("line 1 names no columns; it must be a header such as time,temperature,humidity,rain,wind")]
    NoHeader,
    /// A column that every forecast needs is not there.
    #[error("there is no column \"{missing}\" among {found}; name it in the first line")]
    NoColumn {
        /// The column.
        missing: &'static str,
        /// What the first line names.
        found: String,
    },
    /// Two columns are called the same.
    #[error("two columns hold the {0}; remove one of them")]
    ColumnTwice(&'static str),
    /// A column is in a unit that is not known.
    #[error("the {what} is in \"{unit}\", which is unknown; known units: {known}")]
    ColumnUnit {
        /// What the column holds.
        what: &'static str,
        /// The unit that it names.
        unit: String,
        /// Those that are known.
        known: &'static str,
    },
    /// The rows cannot be told apart.
    #[error("the forecast cannot be read as rows and columns: {0}")]
    Malformed(String),
    /// It is no JSON, or JSON of another kind.
    #[error("this is not the JSON of a point forecast ({0}); nothing is loaded")]
    NotJson(String),
    /// A variable is in another unit than the one that is documented, or in none.
    #[error("{variable} is in {unit}, not in {wanted} as documented; nothing is loaded")]
    Unit {
        /// The variable.
        variable: &'static str,
        /// What is said of its unit.
        unit: String,
        /// What was expected.
        wanted: &'static str,
    },
    /// No hour of it is usable.
    #[error("the forecast has no usable hour{}", first.as_ref().map(|first| format!("; {first}")).unwrap_or_default())]
    NothingUsable {
        /// What is wrong with the first that might have been one.
        first: Option<String>,
    },
}

/// Reads a forecast in whichever form it comes. Local times are those of `civil`.
///
/// # Errors
/// [`ForecastError`] where nothing of it can be used.
pub fn read_forecast(bytes: &[u8], civil: &Civil, now: Moment) -> Result<Forecast, ForecastError> {
    let text = without_mark(bytes);
    match text.iter().find(|byte| !byte.is_ascii_whitespace()) {
        Some(b'{' | b'[') => read_forecast_json(bytes, now),
        _ => read_forecast_csv(bytes, civil, now),
    }
}

/// Reads a table with the columns time, temperature and, where known, humidity, rain and wind.
///
/// # Errors
/// [`ForecastError`] where not even the first line, or no row at all, can be used. Bad rows among good ones
/// are no error: see [`Forecast::faults`].
pub fn read_forecast_csv(bytes: &[u8], civil: &Civil, now: Moment) -> Result<Forecast, ForecastError> {
    check_size(bytes, TABLE_LIMIT)?;
    table::read(bytes, civil, now)
}

/// Reads the documented JSON of a point forecast.
///
/// # Errors
/// [`ForecastError`] where it is something else, in other units, or holds no hour.
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

/// The bytes behind a byte order mark.
fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)
}

#[cfg(test)]
mod tests;

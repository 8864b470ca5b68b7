//! Readings from a logger's CSV file: time and temperature, optionally humidity, surface and place.
//!
//! An invalid row does not affect the others; it is reported with its line and the fault.

use std::borrow::Cow;
use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use csv::{ByteRecord, Reader, ReaderBuilder};

use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Civil, Humidity, Moment, TemperatureUnit, clean};
use columns::Columns;
use dates::Shown;
use doubled::{Doubled, DoubledHours};
use time::TimeFault;

mod columns;
mod dates;
mod doubled;
mod options;
mod time;

pub use dates::DateOrder;
pub use options::{LoggerColumn, LoggerOptions, NamedColumn, Recognised};
pub(super) use time::parse as parse_time;

/// The most faults that are kept.
pub(super) const FAULTS: usize = 1000;

/// The content of a logger's file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LoggerFile {
    /// The valid rows in the order of the file, each with its place.
    pub readings: Vec<(Arc<str>, Reading)>,
    /// The first invalid rows, in the order of the file.
    pub faults: Vec<RowFault>,
    /// The number of invalid rows.
    pub bad_rows: usize,
    /// The columns recognised by a synonym.
    pub recognised: Vec<Recognised>,
    /// The order of day and month in its dates, unless they begin with the year.
    pub dates: Option<DateOrder>,
}

/// Why a row is invalid.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowFault {
    /// The first line of the row, from 1.
    pub line: usize,
    /// The fault and the expected form.
    pub what: String,
}

impl fmt::Display for RowFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

/// Why a file cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LoggerError {
    /// It is empty.
    #[error("the file is empty; the first line names the columns, such as time,temperature,humidity")]
    Empty,
    /// It is UTF-16.
    #[error("the file is in UTF-16; save it as UTF-8")]
    Utf16,
    /// The first line names no known column.
    #[error("line 1 names no columns; it must be a header such as time,temperature,humidity,surface,place")]
    NoHeader,
    /// A required column is missing.
    #[error("there is no column \"{missing}\" among {found}; name it in the first line, or with --column")]
    NoColumn {
        /// The column.
        missing: &'static str,
        /// The first line.
        found: String,
    },
    /// A heading given as an option is missing.
    #[error("there is no column called \"{heading}\" among {found}")]
    NoHeading {
        /// The heading.
        heading: String,
        /// The first line.
        found: String,
    },
    /// An option and a heading give different units.
    #[error("the column \"{heading}\" names another unit than --unit does; leave --unit out")]
    UnitTwice {
        /// The heading.
        heading: String,
    },
    /// Two columns have the same name.
    #[error("two columns hold the {0}; choose one with --column")]
    ColumnTwice(&'static str),
    /// No date of the file shows the order of day and month.
    #[error(
        "\"{date}\" may be day/month or month/day, and no row of the file shows which; say --dates dmy or --dates mdy"
    )]
    DatesEither {
        /// The first date.
        date: String,
    },
    /// The rows cannot be separated.
    #[error("the file cannot be read as rows and columns: {0}")]
    Malformed(String),
}

/// Reads a logger's file. Local times are those of `civil`; a row without a place belongs to `default_place`; a
/// row later than `now` is invalid.
///
/// # Errors
/// [`LoggerError`] if the first line cannot be used. Invalid rows are not an error: see [`LoggerFile::faults`].
pub fn read_logger(
    bytes: &[u8],
    default_place: &str,
    civil: &Civil,
    now: Moment,
) -> Result<LoggerFile, LoggerError> {
    read_logger_with(bytes, default_place, civil, now, &LoggerOptions::default())
}

/// The same with options.
///
/// # Errors
/// As [`read_logger`]; also if the file contradicts the options.
pub fn read_logger_with(
    bytes: &[u8],
    default_place: &str,
    civil: &Civil,
    now: Moment,
    options: &LoggerOptions,
) -> Result<LoggerFile, LoggerError> {
    let (mut rows, mut lines) = rows(behind(bytes, options.skip)).ok_or(LoggerError::Utf16)?;
    let malformed = |error: csv::Error| LoggerError::Malformed(clean(&error.to_string()));
    let mut row = ByteRecord::new();
    if !rows.read_byte_record(&mut row).map_err(malformed)? {
        return Err(LoggerError::Empty);
    }
    let columns = Columns::of(&row, options)?;
    let dates = match options.dates {
        Some(told) => Some(told),
        None => shown_dates(behind(bytes, options.skip), &columns, civil)?,
    };
    let mut places = Places::new(default_place);
    let (mut hours, mut asked) = (DoubledHours::default(), HashMap::new());
    let mut file = LoggerFile { recognised: columns.recognised.clone(), dates, ..LoggerFile::default() };
    while rows.read_byte_record(&mut row).map_err(malformed)? {
        if row.iter().all(|field| field.trim_ascii().is_empty()) {
            continue;
        }
        match read_row(&row, &columns, dates, civil, now) {
            Ok((place, reading, doubled)) => {
                let place = places.named(place);
                match doubled {
                    None => hours.other(&place),
                    Some((time, what)) => {
                        let row_of_file = file.readings.len();
                        hours.doubled(&place, row_of_file, time);
                        asked.insert(row_of_file, RowFault { line: options.skip + lines.of(&row), what });
                    }
                }
                file.readings.push((place, reading));
            }
            Err(what) => file.refuse(RowFault { line: options.skip + lines.of(&row), what }),
        }
    }
    file.settle(hours, &mut asked, now);
    Ok(file)
}

const IN_THE_FUTURE: &str = "is in the future; check the logger's clock";

impl LoggerFile {
    fn refuse(&mut self, fault: RowFault) {
        self.bad_rows += 1;
        if self.faults.len() < FAULTS {
            self.faults.push(fault);
        }
    }

    /// Assigns moments to the rows of a repeated hour; ambiguous ones are refused.
    fn settle(&mut self, hours: DoubledHours, asked: &mut HashMap<usize, RowFault>, now: Moment) {
        let mut refused = Vec::new();
        for (row, moment) in hours.settled() {
            match moment {
                Some(moment) if moment <= now => self.readings[row].1.at = moment,
                told => refused.push((row, told.is_some())),
            }
        }
        refused.sort_unstable_by_key(|row| std::cmp::Reverse(row.0));
        for (row, future) in refused.iter().rev() {
            let Some(fault) = asked.remove(row) else { continue };
            let what = if *future { IN_THE_FUTURE.into() } else { fault.what };
            self.refuse(RowFault { what, ..fault });
        }
        for (row, _) in refused {
            self.readings.remove(row);
        }
        self.faults.sort_by_key(|fault| fault.line);
    }
}

/// The text after a number of lines.
fn behind(bytes: &[u8], lines: usize) -> &[u8] {
    let mut rest = bytes;
    // UTF-16 lines cannot be counted here.
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return bytes;
    }
    for _ in 0..lines {
        let Some(end) = rest.iter().position(|byte| matches!(byte, b'\r' | b'\n')) else { return &[] };
        let long = if rest[end..].starts_with(b"\r\n") { 2 } else { 1 };
        rest = rest.get(end + long..).unwrap_or_default();
    }
    rest
}

/// The rows of a file with any separator, and their lines; None for UTF-16.
pub(super) fn rows(bytes: &[u8]) -> Option<(Reader<&[u8]>, Lines<'_>)> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return None;
    }
    let rows = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(columns::separator(bytes))
        .from_reader(bytes);
    Some((rows, Lines { bytes, offset: 0, line: 1 }))
}

/// The place and the reading of a row, and the question about a repeated time.
type Row<'a> = (Option<&'a str>, Reading, Option<(Doubled, String)>);

fn read_row<'a>(
    row: &'a ByteRecord,
    columns: &Columns,
    dates: Option<DateOrder>,
    civil: &Civil,
    now: Moment,
) -> Result<Row<'a>, String> {
    check_shape(row, columns.count)?;
    let text = |index: Option<usize>, what: &str| field_text(row, index, what);
    let (at, doubled) = match dates::parse(&time_text(row, columns)?, dates, civil) {
        Ok(at) => (at, None),
        Err(TimeFault::Twice(time, what)) => (time.first, Some((time, what))),
        Err(fault) => return Err(fault.into()),
    };
    if at > now {
        return Err(IN_THE_FUTURE.into());
    }
    let air = text(Some(columns.temperature), "temperature")?.ok_or("has no temperature")?;
    let surface = text(columns.surface, "surface temperature")?;
    let reading = Reading {
        at,
        air: temperature(air, columns.unit)?,
        humidity: text(columns.humidity, "humidity")?.map(humidity).transpose()?,
        surface: surface.map(|text| temperature(text, columns.surface_unit)).transpose()?,
    };
    Ok((text(columns.place, "place")?, reading, doubled))
}

/// The time of a row, with the date of its own column if there is one.
fn time_text<'a>(row: &'a ByteRecord, columns: &Columns) -> Result<Cow<'a, str>, String> {
    let time = field_text(row, Some(columns.time), "time")?.ok_or("has no time")?;
    let Some(date) = columns.date else { return Ok(Cow::Borrowed(time)) };
    let date = field_text(row, Some(date), "date")?.ok_or("has no date")?;
    Ok(Cow::Owned(format!("{date} {time}")))
}

/// The order of day and month in a file, from the first unambiguous date; None if no date needs it.
fn shown_dates(bytes: &[u8], columns: &Columns, civil: &Civil) -> Result<Option<DateOrder>, LoggerError> {
    let Some((mut rows, _)) = rows(bytes) else { return Ok(None) };
    let (mut row, mut either) = (ByteRecord::new(), None);
    // The first row has the headings.
    let _ = rows.read_byte_record(&mut row);
    while let Ok(true) = rows.read_byte_record(&mut row) {
        let Ok(text) = time_text(&row, columns) else { continue };
        match dates::shown_by(&text) {
            Shown::Order(order) => return Ok(Some(order)),
            Shown::Either => {
                either.get_or_insert_with(|| clean(&text));
            }
            // One date with the year first shows that all are.
            Shown::Nothing if either.is_none() && time::parse(&text, civil).is_ok() => return Ok(None),
            Shown::Nothing => {}
        }
    }
    either.map_or(Ok(None), |date| Err(LoggerError::DatesEither { date }))
}

/// Whether a row is one line with no more columns than the first line.
pub(super) fn check_shape(row: &ByteRecord, columns: usize) -> Result<(), String> {
    // Otherwise the rest of the file would become a single field.
    if row.as_slice().iter().any(|byte| matches!(byte, b'\n' | b'\r')) {
        return Err("runs over several lines; is a quotation mark not closed?".into());
    }
    if row.iter().skip(columns).any(|field| !field.trim_ascii().is_empty()) {
        let more = row.len();
        return Err(format!(
            "has {more} columns where the first line has {columns}; a decimal comma needs ; between the columns"
        ));
    }
    Ok(())
}

/// The value of a field; None if empty or missing.
pub(super) fn field_text<'a>(
    row: &'a ByteRecord,
    index: Option<usize>,
    what: &str,
) -> Result<Option<&'a str>, String> {
    let field = index.and_then(|index| row.get(index)).unwrap_or_default().trim_ascii();
    if field.len() > 64 {
        return Err(format!("the {what} is too long"));
    }
    let text = std::str::from_utf8(field)
        .map_err(|_| format!("the {what} is not in UTF-8; save the file as UTF-8"))?;
    Ok(Some(text).filter(|text| !text.is_empty()))
}

pub(super) fn temperature(text: &str, unit: TemperatureUnit) -> Result<Celsius, String> {
    let read = match (plain_number(text), unit) {
        (Some(number), TemperatureUnit::Celsius) => Celsius::new(number).plausible(),
        (Some(number), TemperatureUnit::Fahrenheit) => Celsius::from_fahrenheit(number).plausible(),
        (None, unit) => Celsius::parse(text, unit),
    };
    read.map_err(|error| error.to_string())
}

pub(super) fn humidity(text: &str) -> Result<Humidity, String> {
    let read = plain_number(text).map_or_else(|| Humidity::parse_typed(text), Humidity::from_number);
    read.map_err(|error| error.to_string())
}

/// A plain number, without the slower handling of units and commas.
fn plain_number(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-'));
    plain.then(|| text.parse().ok()).flatten()
}

/// The places of a file, each stored once.
struct Places {
    default: Arc<str>,
    known: HashMap<String, Arc<str>>,
}

impl Places {
    fn new(default: &str) -> Self {
        Self { default: default.into(), known: HashMap::new() }
    }

    fn named(&mut self, name: Option<&str>) -> Arc<str> {
        let Some(name) = name else { return Arc::clone(&self.default) };
        if let Some(known) = self.known.get(name) {
            return Arc::clone(known);
        }
        let place: Arc<str> = clean(name).trim().into();
        let place = if place.is_empty() { Arc::clone(&self.default) } else { place };
        self.known.insert(name.to_owned(), Arc::clone(&place));
        place
    }
}

/// Counts lines like an editor, on demand.
pub(super) struct Lines<'a> {
    bytes: &'a [u8],
    offset: usize,
    line: usize,
}

impl Lines<'_> {
    /// The first line of a row; called with ascending rows.
    pub(super) fn of(&mut self, row: &ByteRecord) -> usize {
        let offset = row.position().map_or(0, |position| position.byte() as usize);
        let rest = self.bytes.get(offset..).unwrap_or_default();
        let ends_before = rest.iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let offset = offset + ends_before;
        let mut passed = self.bytes.get(self.offset..offset).unwrap_or_default().iter().peekable();
        while let Some(byte) = passed.next() {
            let ends = *byte == b'\n' || (*byte == b'\r' && passed.peek() != Some(&&b'\n'));
            self.line += usize::from(ends);
        }
        self.offset = offset;
        self.line
    }
}

#[cfg(test)]
mod tests;

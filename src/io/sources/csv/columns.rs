//! The columns of a logger's file, from its first line.

use csv::ByteRecord;

use super::{LoggerColumn, LoggerError, LoggerOptions, Recognised};
use crate::engine::units::{TemperatureUnit, clean};

/// The columns by meaning.
#[derive(Debug)]
pub(super) struct Columns {
    pub(super) count: usize,
    pub(super) time: usize,
    /// The date, if it has its own column.
    pub(super) date: Option<usize>,
    pub(super) temperature: usize,
    /// The unit of temperatures without one.
    pub(super) unit: TemperatureUnit,
    pub(super) humidity: Option<usize>,
    pub(super) surface: Option<usize>,
    pub(super) surface_unit: TemperatureUnit,
    pub(super) place: Option<usize>,
    pub(super) recognised: Vec<Recognised>,
}

/// The separator: whichever of `,`, `;` and tab is most frequent in the first line.
pub(super) fn separator(bytes: &[u8]) -> u8 {
    let start = bytes.iter().position(|byte| !byte.is_ascii_whitespace()).unwrap_or(0);
    let line = bytes[start..].split(|byte| matches!(byte, b'\n' | b'\r')).next().unwrap_or_default();
    let mut quoted = false;
    let mut counts = [(b'\t', 0), (b';', 0), (b',', 0)];
    for byte in line {
        quoted ^= *byte == b'"';
        for (separator, count) in &mut counts {
            *count += usize::from(!quoted && byte == separator);
        }
    }
    counts.into_iter().max_by_key(|(_, count)| *count).map_or(b',', |(separator, _)| separator)
}

impl Columns {
    /// From the first row of a file and the options.
    pub(super) fn of(header: &ByteRecord, options: &LoggerOptions) -> Result<Self, LoggerError> {
        let written: Vec<String> =
            header.iter().map(|field| clean(&String::from_utf8_lossy(field)).trim().to_owned()).collect();
        let headings: Vec<String> = written.iter().map(|text| text.to_lowercase()).collect();
        let search = Search { headings: &headings, options };
        let date = search.find(LoggerColumn::Date)?;
        let found = [
            search.find(LoggerColumn::Time)?,
            search.find(LoggerColumn::Temperature)?,
            search.find(LoggerColumn::Humidity)?,
            search.find(LoggerColumn::Surface)?,
            search.find(LoggerColumn::Place)?,
        ];
        let [time, temperature, humidity, surface, place] = found;
        // A date column without a time column has date and time.
        let (time, date) = match (time, date) {
            (None, Some(date)) => {
                (Some(Found { by_synonym: true, column: LoggerColumn::Time, ..date }), None)
            }
            (time, date) => (time, date),
        };
        let found = [time, date, temperature, humidity, surface, place];
        if time.is_none() && temperature.is_none() {
            return Err(LoggerError::NoHeader);
        }
        let missing =
            |missing: LoggerColumn| LoggerError::NoColumn { missing: missing.name(), found: search.told() };
        let temperature = temperature.ok_or_else(|| missing(LoggerColumn::Temperature))?;
        let time = time.ok_or_else(|| missing(LoggerColumn::Time))?;
        for found in [Some(temperature), surface].into_iter().flatten() {
            if let (Some(said), Some(set)) = (found.unit, options.unit)
                && said != set
            {
                let heading = written.get(found.index).cloned().unwrap_or_default();
                return Err(LoggerError::UnitTwice { heading });
            }
        }
        let unit = temperature.unit.or(options.unit).unwrap_or_default();
        // A logger uses one unit.
        let surface_unit = surface.and_then(|surface| surface.unit).unwrap_or(unit);
        let recognised =
            found.into_iter().flatten().filter(|found| found.by_synonym).map(|found| Recognised {
                column: found.column,
                heading: written.get(found.index).cloned().unwrap_or_default(),
                unit: match found.column {
                    LoggerColumn::Temperature => Some(unit),
                    LoggerColumn::Surface => Some(surface_unit),
                    _ => None,
                },
            });
        Ok(Self {
            count: header.len(),
            time: time.index,
            date: date.map(|found| found.index),
            temperature: temperature.index,
            unit,
            humidity: humidity.map(|found| found.index),
            surface: surface.map(|found| found.index),
            surface_unit,
            place: place.map(|found| found.index),
            recognised: recognised.collect(),
        })
    }
}

/// A recognised column.
#[derive(Clone, Copy)]
struct Found {
    column: LoggerColumn,
    index: usize,
    unit: Option<TemperatureUnit>,
    by_synonym: bool,
}

/// The headings in lower case, and the options.
struct Search<'a> {
    headings: &'a [String],
    options: &'a LoggerOptions,
}

impl Search<'_> {
    /// An option takes precedence over a column's own name, and that over a synonym.
    fn find(&self, column: LoggerColumn) -> Result<Option<Found>, LoggerError> {
        let mut named = self.options.columns.iter().filter(|named| named.column == column);
        if let Some(first) = named.next() {
            if named.next().is_some() {
                return Err(LoggerError::ColumnTwice(column.name()));
            }
            let wanted = first.heading.to_lowercase();
            let found = self.only(column, |heading| heading == wanted, false)?;
            let none = || LoggerError::NoHeading { heading: clean(&first.heading), found: self.told() };
            return found.ok_or_else(none).map(Some);
        }
        let own = self.only(column, |heading| column.own().contains(&split_unit(heading).0), false)?;
        match own {
            Some(found) => Ok(Some(found)),
            None => self.only(column, |heading| column.synonyms().contains(&spoken_unit(heading).0), true),
        }
    }

    /// The matching heading; headings assigned to other columns by an option are skipped.
    fn only(
        &self,
        column: LoggerColumn,
        is_meant: impl Fn(&str) -> bool,
        by_synonym: bool,
    ) -> Result<Option<Found>, LoggerError> {
        let taken = |heading: &str| {
            let mut others = self.options.columns.iter().filter(|named| named.column != column);
            others.any(|named| named.heading.to_lowercase() == heading)
        };
        let mut meant =
            self.headings.iter().enumerate().filter(|(_, heading)| is_meant(heading) && !taken(heading));
        let first = meant.next().map(|(index, heading)| {
            let unit = spoken_unit(heading).1;
            Found { column, index, unit, by_synonym }
        });
        meant.next().map_or(Ok(first), |_| Err(LoggerError::ColumnTwice(column.name())))
    }

    fn told(&self) -> String {
        let found: Vec<String> =
            self.headings.iter().take(12).map(|text| text.chars().take(40).collect()).collect();
        found.join(", ")
    }
}

/// Splits "temperature_f" and "temperature (°F)" into the name and the unit.
fn split_unit(heading: &str) -> (&str, Option<TemperatureUnit>) {
    let (name, unit) = match heading.split_once(['(', '[']) {
        Some((name, unit)) => (name.trim_end(), unit),
        None => match heading.rsplit_once('_') {
            Some((name, unit @ ("c" | "f" | "celsius" | "fahrenheit"))) => (name, unit),
            _ => return (heading, None),
        },
    };
    let unit = match unit.chars().find(|c| matches!(c, 'c' | 'f' | '℃' | '℉')) {
        Some('f' | '℉') => Some(TemperatureUnit::Fahrenheit),
        Some(_) => Some(TemperatureUnit::Celsius),
        None => None,
    };
    (name, unit)
}

/// The same for "temp °F" and "temp, °F" too.
fn spoken_unit(heading: &str) -> (&str, Option<TemperatureUnit>) {
    let units = [
        ("°f", TemperatureUnit::Fahrenheit),
        ("℉", TemperatureUnit::Fahrenheit),
        (" f", TemperatureUnit::Fahrenheit),
        ("°c", TemperatureUnit::Celsius),
        ("℃", TemperatureUnit::Celsius),
        (" c", TemperatureUnit::Celsius),
    ];
    let found = units.into_iter().find_map(|(end, unit)| Some((heading.strip_suffix(end)?, unit)));
    match found {
        Some((name, unit)) => (name.trim_end_matches([' ', ',']), Some(unit)),
        None => split_unit(heading),
    }
}

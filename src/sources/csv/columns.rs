//! Which column holds what, from the first line of a logger's file.

use csv::ByteRecord;

use super::LoggerError;
use crate::units::{TemperatureUnit, clean};

/// Where in a row things stand.
#[derive(Debug)]
pub(super) struct Columns {
    pub(super) count: usize,
    pub(super) time: usize,
    pub(super) temperature: usize,
    /// What a temperature without a unit of its own is in.
    pub(super) unit: TemperatureUnit,
    pub(super) humidity: Option<usize>,
    pub(super) surface: Option<usize>,
    pub(super) surface_unit: TemperatureUnit,
    pub(super) place: Option<usize>,
}

/// What stands between the columns: whichever of `,`, `;` and tab the first line has most of.
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
    /// From the first row of a file.
    pub(super) fn of(header: &ByteRecord) -> Result<Self, LoggerError> {
        let headings: Vec<String> =
            header.iter().map(|field| clean(&String::from_utf8_lossy(field)).trim().to_lowercase()).collect();
        let named: Vec<(&str, Option<TemperatureUnit>)> =
            headings.iter().map(|text| split_unit(text)).collect();
        let find = |what: &'static str, names: &[&str]| {
            let mut found = named.iter().enumerate().filter(|(_, (name, _))| names.contains(name));
            let first = found.next().map(|(index, (_, unit))| (index, *unit));
            found.next().map_or(Ok(first), |_| Err(LoggerError::ColumnTwice(what)))
        };
        let time = find("time", &["time"])?;
        let temperature = find("temperature", &["temperature"])?;
        let humidity = find("humidity", &["humidity", "relative_humidity", "relative humidity"])?;
        let surface = find("surface", &["surface"])?;
        let place = find("place", &["place"])?;
        if time.is_none() && temperature.is_none() {
            return Err(LoggerError::NoHeader);
        }
        let missing = |missing| {
            let found: Vec<String> =
                headings.iter().take(12).map(|text| text.chars().take(40).collect()).collect();
            LoggerError::NoColumn { missing, found: found.join(", ") }
        };
        let (temperature, unit) = temperature.ok_or_else(|| missing("temperature"))?;
        let unit = unit.unwrap_or_default();
        Ok(Self {
            count: header.len(),
            time: time.ok_or_else(|| missing("time"))?.0,
            temperature,
            unit,
            humidity: humidity.map(|(index, _)| index),
            surface: surface.map(|(index, _)| index),
            // One logger writes one unit.
            surface_unit: surface.and_then(|(_, unit)| unit).unwrap_or(unit),
            place: place.map(|(index, _)| index),
        })
    }
}

/// Splits "temperature_f" and "temperature (°F)" into the name and the unit.
fn split_unit(heading: &str) -> (&str, Option<TemperatureUnit>) {
    let (name, unit) = match heading.split_once(['(', '[']) {
        Some((name, unit)) => (name.trim_end(), unit),
        None => match heading.rsplit_once('_') {
            Some((name, unit @ ("c" | "f"))) => (name, unit),
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

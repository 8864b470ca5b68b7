//! The columns of a forecast and their units.

use csv::ByteRecord;

use super::ForecastError;
use crate::engine::units::{TemperatureUnit, clean};

/// The columns by meaning.
#[derive(Debug)]
pub(super) struct Columns {
    pub(super) count: usize,
    pub(super) time: usize,
    pub(super) air: usize,
    pub(super) air_unit: TemperatureUnit,
    pub(super) humidity: Option<usize>,
    pub(super) rain: Option<(usize, RainUnit)>,
    pub(super) wind: Option<(usize, WindUnit)>,
}

/// Units of rain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RainUnit {
    Millimetres,
    Inches,
}

impl RainUnit {
    pub(super) const KNOWN: &'static str = "mm and in";

    pub(super) fn of(text: &str) -> Option<Self> {
        match plain(text).as_str() {
            "mm" | "mmh" => Some(Self::Millimetres),
            "in" | "inch" | "inches" => Some(Self::Inches),
            _ => None,
        }
    }

    pub(super) const fn millimetres(self) -> f64 {
        match self {
            Self::Millimetres => 1.0,
            Self::Inches => 25.4,
        }
    }
}

/// Units of wind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum WindUnit {
    MetresPerSecond,
    KilometresPerHour,
    MilesPerHour,
    Knots,
}

impl WindUnit {
    pub(super) const KNOWN: &'static str = "m/s, km/h, mph and kn";

    pub(super) fn of(text: &str) -> Option<Self> {
        match plain(text).as_str() {
            "ms" => Some(Self::MetresPerSecond),
            "kmh" | "kph" => Some(Self::KilometresPerHour),
            "mph" => Some(Self::MilesPerHour),
            "kn" | "kt" | "kts" | "knots" => Some(Self::Knots),
            _ => None,
        }
    }

    /// Exact, by the definitions of the mile (1609.344 m) and the nautical mile (1852 m).
    pub(super) const fn metres_per_second(self) -> f64 {
        match self {
            Self::MetresPerSecond => 1.0,
            Self::KilometresPerHour => 1.0 / 3.6,
            Self::MilesPerHour => 0.447_04,
            Self::Knots => 1852.0 / 3600.0,
        }
    }
}

fn temperature_unit(text: &str) -> Option<TemperatureUnit> {
    match plain(text).as_str() {
        "c" | "celsius" | "℃" => Some(TemperatureUnit::Celsius),
        "f" | "fahrenheit" | "℉" => Some(TemperatureUnit::Fahrenheit),
        _ => None,
    }
}

/// "km/h" and "km_h" alike.
fn plain(unit: &str) -> String {
    let letters = unit.chars().filter(|c| !matches!(c, '/' | '_' | '.' | '°' | '·' | ' '));
    letters.flat_map(char::to_lowercase).collect()
}

/// A column and its unit.
struct Found<'a> {
    index: usize,
    unit: Option<&'a str>,
}

impl Columns {
    /// From the first row of a table.
    pub(super) fn of(header: &ByteRecord) -> Result<Self, ForecastError> {
        let headings: Vec<String> =
            header.iter().map(|field| clean(&String::from_utf8_lossy(field)).trim().to_lowercase()).collect();
        let is_temperature = |unit: &str| temperature_unit(unit).is_some();
        let is_rain = |unit: &str| RainUnit::of(unit).is_some();
        let is_wind = |unit: &str| WindUnit::of(unit).is_some();
        let is_percent = |unit: &str| matches!(unit, "%" | "percent");
        let never = |_: &str| false;
        let time = find(&headings, "time", &["time", "datetime", "date time", "timestamp"], never)?;
        let temperature = ["temperature", "air_temperature", "air temperature", "temp"];
        let air = find(&headings, "temperature", &temperature, is_temperature)?;
        let humidity = ["humidity", "relative_humidity", "relative humidity", "rh"];
        let humidity = find(&headings, "humidity", &humidity, is_percent)?;
        let rain = ["rain", "precipitation", "precipitation_amount", "precipitation amount"];
        let rain = find(&headings, "rain", &rain, is_rain)?;
        let wind = find(&headings, "wind", &["wind", "wind_speed", "wind speed"], is_wind)?;
        if time.is_none() && air.is_none() {
            return Err(ForecastError::NoHeader);
        }
        let missing = |missing| {
            let found: Vec<String> =
                headings.iter().take(12).map(|text| text.chars().take(40).collect()).collect();
            ForecastError::NoColumn { missing, found: found.join(", ") }
        };
        let air = air.ok_or_else(|| missing("temperature"))?;
        let time = time.ok_or_else(|| missing("time"))?;
        Ok(Self {
            count: header.len(),
            time: time.index,
            air: air.index,
            air_unit: unit(&air, "temperature", "°C and °F", temperature_unit)?.unwrap_or_default(),
            humidity: match humidity {
                Some(found) => {
                    unit(&found, "humidity", "%", |text| is_percent(text).then_some(()))?;
                    Some(found.index)
                }
                None => None,
            },
            rain: match rain {
                Some(found) => {
                    let unit = unit(&found, "rain", RainUnit::KNOWN, RainUnit::of)?;
                    Some((found.index, unit.unwrap_or(RainUnit::Millimetres)))
                }
                None => None,
            },
            wind: match wind {
                Some(found) => {
                    let unit = unit(&found, "wind", WindUnit::KNOWN, WindUnit::of)?;
                    Some((found.index, unit.unwrap_or(WindUnit::MetresPerSecond)))
                }
                None => None,
            },
        })
    }
}

/// The one column with this name: "wind", "wind (km/h)", "wind_kmh".
fn find<'a>(
    headings: &'a [String],
    what: &'static str,
    names: &[&str],
    is_unit: impl Fn(&str) -> bool,
) -> Result<Option<Found<'a>>, ForecastError> {
    let mut found = None;
    for (index, heading) in headings.iter().enumerate() {
        let Some(unit) = names.iter().find_map(|name| unit_behind(heading, name, &is_unit)) else { continue };
        if found.replace(Found { index, unit }).is_some() {
            return Err(ForecastError::ColumnTwice(what));
        }
    }
    Ok(found)
}

/// None if a heading has another name; else its unit.
fn unit_behind<'a>(heading: &'a str, name: &str, is_unit: &impl Fn(&str) -> bool) -> Option<Option<&'a str>> {
    let rest = heading.strip_prefix(name)?.trim_start();
    if rest.is_empty() {
        return Some(None);
    }
    if let Some(unit) = rest.strip_prefix(['(', '[']) {
        return Some(Some(unit.trim_end_matches([')', ']', ' '])).filter(|unit| !unit.is_empty()));
    }
    // "wind_gust" is another quantity.
    rest.strip_prefix('_').filter(|unit| is_unit(unit)).map(Some)
}

fn unit<T>(
    found: &Found<'_>,
    what: &'static str,
    known: &'static str,
    of: impl Fn(&str) -> Option<T>,
) -> Result<Option<T>, ForecastError> {
    let Some(unit) = found.unit else { return Ok(None) };
    let unknown = || ForecastError::ColumnUnit { what, unit: unit.chars().take(20).collect(), known };
    of(unit).map(Some).ok_or_else(unknown)
}

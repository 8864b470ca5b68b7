//! Options for a logger's file that does not describe itself.

use std::fmt;
use std::str::FromStr;

use super::dates::DateOrder;
use crate::engine::units::TemperatureUnit;

/// The options for a logger's file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LoggerOptions {
    /// The headings of the columns.
    pub columns: Vec<NamedColumn>,
    /// The unit of temperatures without one.
    pub unit: Option<TemperatureUnit>,
    /// Number of lines before the one that names the columns.
    pub skip: usize,
    /// The order of day and month.
    pub dates: Option<DateOrder>,
}

/// The meanings of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoggerColumn {
    /// When.
    Time,
    /// The date, if the time column has the time of day only.
    Date,
    /// The temperature of the air.
    Temperature,
    /// The relative humidity.
    Humidity,
    /// The temperature of the surface.
    Surface,
    /// Where.
    Place,
}

impl LoggerColumn {
    /// Its own name, as in a file that needs no options.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Date => "date",
            Self::Temperature => "temperature",
            Self::Humidity => "humidity",
            Self::Surface => "surface",
            Self::Place => "place",
        }
    }

    /// Headings that are unambiguous.
    pub(super) const fn own(self) -> &'static [&'static str] {
        match self {
            Self::Time => &["time"],
            Self::Date => &["date"],
            Self::Temperature => &["temperature"],
            Self::Humidity => &["humidity", "relative_humidity", "relative humidity"],
            Self::Surface => &["surface"],
            Self::Place => &["place"],
        }
    }

    /// Headings that are accepted as it, and reported.
    pub(super) const fn synonyms(self) -> &'static [&'static str] {
        match self {
            Self::Time => {
                &["timestamp", "time stamp", "time_stamp", "datetime", "date time", "date_time", "date/time"]
            }
            Self::Date => &["day"],
            Self::Temperature => {
                &["temp", "temp.", "air", "air temperature", "air_temperature", "air temp", "air_temp"]
            }
            Self::Humidity => &[
                "rh",
                "rh%",
                "rh %",
                "humidity %",
                "humidity_percent",
                "rel. humidity",
                "rel humidity",
                "hum",
            ],
            Self::Surface => &["surface temperature", "surface_temperature", "surface temp", "surface_temp"],
            Self::Place => &["location"],
        }
    }
}

/// A heading and its meaning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedColumn {
    /// Its meaning.
    pub column: LoggerColumn,
    /// The heading as it is written in the file.
    pub heading: String,
}

impl FromStr for NamedColumn {
    type Err = String;

    /// Reads "temperature=Temp (°F)".
    fn from_str(text: &str) -> Result<Self, String> {
        let all = [
            LoggerColumn::Time,
            LoggerColumn::Date,
            LoggerColumn::Temperature,
            LoggerColumn::Humidity,
            LoggerColumn::Surface,
            LoggerColumn::Place,
        ];
        let named = text.split_once('=').and_then(|(what, heading)| {
            let column = all.into_iter().find(|column| column.name() == what.trim())?;
            let heading = heading.trim().to_owned();
            (!heading.is_empty()).then_some(Self { column, heading })
        });
        named.ok_or_else(|| {
            "write time, date, temperature, humidity, surface or place, then = and the heading: temperature=\"Temp (°F)\""
                .into()
        })
    }
}

/// A heading recognised by a synonym.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recognised {
    /// The meaning.
    pub column: LoggerColumn,
    /// The heading.
    pub heading: String,
    /// The unit of its temperatures.
    pub unit: Option<TemperatureUnit>,
}

impl fmt::Display for Recognised {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\"{}\" for {}", self.heading, self.column.name())?;
        match self.unit {
            Some(TemperatureUnit::Fahrenheit) => f.write_str(" in °F"),
            Some(TemperatureUnit::Celsius) => f.write_str(" in °C"),
            None => Ok(()),
        }
    }
}

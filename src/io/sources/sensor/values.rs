//! From a sensor's output to its measurement.

use serde_json::Value;

use super::SensorFault;
use crate::engine::config::{Pointers, Sensor};
use crate::engine::units::{Celsius, Humidity, TemperatureUnit, UnitError};

/// The result of one poll. For a surface sensor the temperature is that of the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Measured {
    pub(super) temperature: Celsius,
    pub(super) humidity: Option<Humidity>,
    pub(super) surface: Option<Celsius>,
}

impl Measured {
    /// Whether both are the same at the stored resolution: 0.001 °C, 0.01 % RH.
    pub(super) fn says(&self, other: &Self) -> bool {
        let degrees = |a: Celsius, b: Celsius| (a.degrees() - b.degrees()).abs() < 0.000_51;
        let both = |a: Option<Celsius>, b: Option<Celsius>| match (a, b) {
            (Some(a), Some(b)) => degrees(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        let humidity = match (self.humidity, other.humidity) {
            (Some(a), Some(b)) => (a.percent() - b.percent()).abs() < 0.005_1,
            (a, b) => a.is_none() && b.is_none(),
        };
        degrees(self.temperature, other.temperature) && humidity && both(self.surface, other.surface)
    }
}

/// The possible range of a shop and its sensors.
const COLDEST: f64 = -40.0;
const WARMEST: f64 = 60.0;
/// The value of a common sensor between power-on and its first measurement.
const POWER_ON: f64 = 85.0;

/// A temperature from a kernel file.
pub(super) fn kernel_temperature(text: &str, scale: f64) -> Result<Celsius, SensorFault> {
    let raw = match text.trim() {
        "" => return Err(SensorFault::Empty),
        text if text.contains("crc=") => one_wire(text)?,
        text => text.lines().next().unwrap_or_default(),
    };
    let number = number(raw)?;
    // Thousandths are never a small number with decimals.
    if scale < 0.01 && number.fract() != 0.0 && number.abs() < 100.0 {
        return Err(SensorFault::Scale(raw.trim().to_owned()));
    }
    let degrees = number * scale;
    if (degrees - POWER_ON).abs() < 1e-9 {
        return Err(SensorFault::PowerOn);
    }
    in_range(degrees)
}

/// A humidity from a kernel file: thousandths of a per cent.
pub(super) fn kernel_humidity(text: &str, scale: f64) -> Result<Humidity, SensorFault> {
    match text.trim() {
        "" => Err(SensorFault::Empty),
        text => percent(number(text)? * scale),
    }
}

/// The thousandths from "… : crc=57 YES" and "… t=21562".
fn one_wire(text: &str) -> Result<&str, SensorFault> {
    let mut lines = text.lines();
    let first = lines.next().unwrap_or_default().trim_end();
    if !first.ends_with("YES") {
        return Err(SensorFault::CheckSum);
    }
    // A line held low reads as zeros with a valid checksum.
    if first.split_whitespace().take(9).all(|byte| byte == "00") {
        return Err(SensorFault::Unwired);
    }
    let found = lines.find_map(|line| line.split_once("t=")).map(|(_, raw)| raw);
    found.ok_or_else(|| SensorFault::not_that(text, "temperature"))
}

/// The output of a program or the payload of a topic.
pub(super) fn spoken(text: &str, sensor: &Sensor) -> Result<Measured, SensorFault> {
    let text = text.trim();
    let Pointers { temperature, humidity: damp, surface } = &sensor.pointers;
    let Some(pointer) = temperature else {
        return match text {
            "" => Err(SensorFault::Empty),
            text if text.starts_with(['{', '[']) => Err(SensorFault::NoPointer),
            text => {
                let temperature = celsius(text, sensor.unit)?;
                Ok(Measured { temperature, humidity: None, surface: None })
            }
        };
    };
    if text.is_empty() {
        return Err(SensorFault::Empty);
    }
    let json: Value = serde_json::from_str(text).map_err(|error| SensorFault::NotJson(error.to_string()))?;
    let degrees = |pointer: &String| match at(&json, pointer)? {
        Said::Number(number) => in_unit(number, sensor.unit),
        Said::Text(text) => celsius(text, sensor.unit),
    };
    let humidity = |pointer: &String| match at(&json, pointer)? {
        Said::Number(number) => percent(number),
        Said::Text(text) => Humidity::parse_typed(text).map_err(|error| match error {
            UnitError::OutOfRange { value, .. } => {
                SensorFault::HumidityOutOfRange(value.trim_end_matches(" %").into())
            }
            _ => SensorFault::not_that(text, "humidity"),
        }),
    };
    Ok(Measured {
        temperature: degrees(pointer)?,
        humidity: damp.as_ref().map(humidity).transpose()?,
        surface: surface.as_ref().map(degrees).transpose()?,
    })
}

enum Said<'a> {
    Number(f64),
    Text(&'a str),
}

fn at<'a>(json: &'a Value, pointer: &str) -> Result<Said<'a>, SensorFault> {
    match json.pointer(pointer) {
        None | Some(Value::Null) => Err(SensorFault::NothingAt(pointer.into())),
        Some(Value::String(text)) => Ok(Said::Text(text)),
        Some(other) => other
            .as_f64()
            .map(Said::Number)
            .ok_or_else(|| SensorFault::not_that(&other.to_string(), "number")),
    }
}

fn celsius(text: &str, unit: TemperatureUnit) -> Result<Celsius, SensorFault> {
    match Celsius::parse(text, unit) {
        Ok(celsius) => in_range(celsius.degrees()),
        Err(UnitError::OutOfRange { value, .. }) => {
            Err(SensorFault::OutOfRange(value.trim_end_matches(" °C").into()))
        }
        Err(_) => Err(SensorFault::not_that(text, "temperature")),
    }
}

fn in_unit(number: f64, unit: TemperatureUnit) -> Result<Celsius, SensorFault> {
    match unit {
        TemperatureUnit::Celsius => in_range(number),
        TemperatureUnit::Fahrenheit => in_range(Celsius::from_fahrenheit(number).degrees()),
    }
}

fn in_range(degrees: f64) -> Result<Celsius, SensorFault> {
    // NaN is never contained.
    if (COLDEST..=WARMEST).contains(&degrees) {
        return Ok(Celsius::new(degrees));
    }
    Err(SensorFault::OutOfRange(format!("{degrees:.1}")))
}

fn percent(number: f64) -> Result<Humidity, SensorFault> {
    Humidity::from_number(number).map_err(|_| {
        let places = if (0.0..1.0).contains(&number) { 2 } else { 1 };
        SensorFault::HumidityOutOfRange(format!("{number:.places$}"))
    })
}

fn number(text: &str) -> Result<f64, SensorFault> {
    let number = text.trim().parse().ok().filter(|number: &f64| number.is_finite());
    number.ok_or_else(|| SensorFault::not_that(text, "number"))
}

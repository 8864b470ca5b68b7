//! Single values of a profile: a text, a number, a temperature, a time, a mass.
//!
//! Each reader takes one value as it stands in the file and gives a quantity, or says what is wrong
//! with it and what would be right. No reader knows which key it reads for.

use std::fmt;

use chrono::TimeDelta;
use toml::de::DeValue;

use super::fault::shown;
use crate::engine::units::{Celsius, Grams, UnitError, clean, parse_duration, split_number};

/// Why a value will not do.
pub(super) struct Trouble {
    /// What is wrong.
    pub(super) what: String,
    /// What would be right.
    pub(super) mend: String,
}

impl Trouble {
    pub(super) fn new(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { what: what.into(), mend: mend.into() }
    }

    fn not(value: &DeValue<'_>, wanted: &str, mend: impl Into<String>) -> Self {
        Self::new(format!("{} is not {wanted}", told(value)), mend)
    }
}

/// A value, or why not.
pub(super) type Reading<T> = Result<T, Trouble>;

/// The numbers that are accepted for a key.
#[derive(Clone, Copy)]
pub(super) struct Span {
    low: f64,
    high: f64,
    above: bool,
    unit: &'static str,
}

impl Span {
    /// From the lowest to the highest, both included.
    pub(super) const fn from_to(low: f64, high: f64, unit: &'static str) -> Self {
        Self { low, high, above: false, unit }
    }

    /// More than zero, up to the highest.
    pub(super) const fn above_zero(high: f64, unit: &'static str) -> Self {
        Self { low: 0.0, high, above: true, unit }
    }

    fn holds(self, value: f64) -> bool {
        value <= self.high && if self.above { value > self.low } else { value >= self.low }
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let from = if self.above { "above" } else { "from" };
        let space = if self.unit.is_empty() { "" } else { " " };
        let low = self.low.to_string().replace('-', "−");
        write!(f, "{from} {low} to {}{space}{}", self.high, self.unit)
    }
}

/// The air and the surfaces of a shop.
pub(super) const SHOP: Span = Span::from_to(-40.0, 60.0, "°C");
/// The temperatures that a data sheet gives times for, ovens included.
pub(super) const DATA_SHEET: Span = Span::from_to(-40.0, 120.0, "°C");

/// A value as a sentence can name it.
fn told(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("\"{}\"", shown(text)),
        DeValue::Integer(number) => shown(&number.to_string()),
        DeValue::Float(number) => shown(&number.to_string()),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(_) => "a date".into(),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}

/// A text with something in it, without control characters.
pub(super) fn text(value: &DeValue<'_>) -> Reading<String> {
    let Some(text) = value.as_str() else {
        return Err(Trouble::not(value, "a text", "put it in \"quotes\""));
    };
    let text = clean(text).trim().to_owned();
    if text.is_empty() {
        Err(Trouble::new("the text is empty", "write it between the quotes"))
    } else {
        Ok(text)
    }
}

/// The name that commands use for a product.
pub(super) fn id(value: &DeValue<'_>) -> Reading<String> {
    let text = text(value)?;
    if super::is_id(&text) {
        return Ok(text);
    }
    Err(Trouble::new(
        format!("\"{}\" is not a product id", shown(&text)),
        "use a to z, 0 to 9 and hyphens, a letter or digit first: \"varnish-two-part\"",
    ))
}

/// True or false.
pub(super) fn flag(value: &DeValue<'_>) -> Reading<bool> {
    value.as_bool().ok_or_else(|| Trouble::not(value, "true or false", "write true or false, without quotes"))
}

/// A whole number.
pub(super) fn whole(value: &DeValue<'_>) -> Reading<i64> {
    let number = value.as_integer().and_then(|n| i64::from_str_radix(n.as_str(), n.radix()).ok());
    number.ok_or_else(|| Trouble::not(value, "a whole number", "write digits only"))
}

/// A number within a span.
pub(super) fn number(value: &DeValue<'_>, span: Span) -> Reading<f64> {
    let mend = || format!("write a number {span}");
    let number = plain_number(value).ok_or_else(|| Trouble::not(value, "a number", mend()))?;
    if span.holds(number) {
        return Ok(number);
    }
    Err(Trouble::new(format!("{} is out of range", told(value)), mend()))
}

/// The number that stands in the file; none for infinities and for what is not a number.
fn plain_number(value: &DeValue<'_>) -> Option<f64> {
    let number = match value {
        DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok()? as f64,
        DeValue::Float(n) => n.as_str().parse().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

/// A temperature: a number of °C, or a text with its unit.
pub(super) fn temperature(value: &DeValue<'_>, span: Span) -> Reading<Celsius> {
    let mend = || format!("write °C as a number, or a text with its unit such as \"68 F\", {span}");
    let degrees = match value {
        DeValue::String(text) => temperature_text(text),
        other => plain_number(other).map(Celsius::new),
    };
    let degrees = degrees.ok_or_else(|| Trouble::not(value, "a temperature", mend()))?;
    if span.holds(degrees.degrees()) {
        return Ok(degrees);
    }
    Err(Trouble::new(format!("{} is out of range", told(value)), mend()))
}

fn temperature_text(text: &str) -> Option<Celsius> {
    let (number, unit) = split_number(text)?;
    match unit.trim_start_matches('°') {
        "" | "C" | "c" => Some(Celsius::new(number)),
        "F" | "f" => Some(Celsius::from_fahrenheit(number)),
        _ => None,
    }
}

/// A time with its unit; more than zero.
pub(super) fn time(value: &DeValue<'_>) -> Reading<TimeDelta> {
    const MEND: &str = "write a number and a unit in quotes: \"90 min\", \"1 h 30 min\" or \"7 d\"";
    let Some(text) = value.as_str() else {
        return Err(Trouble::not(value, "a time", MEND));
    };
    match parse_duration(text) {
        Ok(time) if time > TimeDelta::zero() => Ok(time),
        Ok(_) => Err(Trouble::new(
            format!("{} is not a waiting time", told(value)),
            "a time must be more than zero",
        )),
        Err(UnitError::OutOfRange { .. }) => Err(Trouble::new(
            format!("{} is longer than ten years", told(value)),
            "check the unit: s, min, h or d",
        )),
        Err(UnitError::NotThat { .. }) => Err(Trouble::not(value, "a time", MEND)),
    }
}

/// A time, or the range of one: "4 to 5 h", "4-5 h", "12 h to 2 d". Both ends, equal where it is no range.
pub(super) fn times(value: &DeValue<'_>) -> Reading<(TimeDelta, TimeDelta)> {
    let ends =
        value.as_str().and_then(|text| text.split_once(" to ").or_else(|| text.split_once(['-', '–'])));
    let ends = ends.filter(|(low, _)| !low.trim().is_empty());
    let Some((low, high)) = ends else {
        return time(value).map(|time| (time, time));
    };
    let end = |text: String| time(&DeValue::String(text.into()));
    let longest = end(high.trim().to_owned())?;
    // "4 to 5 h": the unit of the second counts for both.
    let unit = if low.contains(char::is_alphabetic) {
        ""
    } else {
        high.trim_start_matches(|c: char| !c.is_alphabetic())
    };
    let shortest = end(format!("{} {unit}", low.trim()))?;
    if shortest < longest {
        return Ok((shortest, longest));
    }
    Err(Trouble::new(
        format!("{} does not run from short to long", told(value)),
        "write the shorter time first: \"4 to 5 h\"",
    ))
}

/// A mass with its unit; more than zero.
pub(super) fn mass(value: &DeValue<'_>) -> Reading<Grams> {
    const MEND: &str = "write a number and a unit in quotes: \"500 g\", \"1 kg\" or \"16 oz\"";
    let grams = value.as_str().and_then(|text| {
        let (number, unit) = split_number(text)?;
        let grams_per_unit = match unit {
            "g" => 1.0,
            "kg" => 1000.0,
            "oz" => 28.349_523_125,
            "lb" => 453.592_37,
            _ => return None,
        };
        Some(number * grams_per_unit)
    });
    let grams = grams.ok_or_else(|| Trouble::not(value, "a mass", MEND))?;
    if (0.1..=1e6).contains(&grams) {
        return Ok(Grams::new(grams));
    }
    Err(Trouble::new(format!("{} is not a mass to mix", told(value)), "write a mass from 0.1 g to 1000 kg"))
}

/// A temperature in a sentence: "8 °C" or "8.5 °C".
pub(super) fn degrees(temperature: Celsius) -> String {
    let rounded = (temperature.degrees() * 10.0).round() / 10.0;
    format!("{rounded} °C").replace('-', "−")
}

//! The documented JSON of a point forecast: a GeoJSON feature with a time series.
//!
//! Any variable may be missing by region, and the steps grow from one hour to six.

use std::borrow::Cow;

use chrono::DateTime;
use serde::Deserialize;

use super::settle::{Rain, Step, settle};
use super::{Forecast, ForecastError, Form, HORIZON, MOST_RAIN, MOST_WIND, Note};
use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Moment, clean};

#[derive(Deserialize)]
struct Feature<'a> {
    #[serde(borrow)]
    properties: Properties<'a>,
}

#[derive(Deserialize)]
struct Properties<'a> {
    #[serde(borrow)]
    meta: Meta<'a>,
    #[serde(borrow)]
    timeseries: Vec<Entry<'a>>,
}

#[derive(Deserialize)]
struct Meta<'a> {
    #[serde(borrow)]
    updated_at: Option<Cow<'a, str>>,
    #[serde(borrow)]
    units: Units<'a>,
}

#[derive(Deserialize)]
struct Units<'a> {
    #[serde(borrow)]
    air_temperature: Option<Cow<'a, str>>,
    #[serde(borrow)]
    relative_humidity: Option<Cow<'a, str>>,
    #[serde(borrow)]
    wind_speed: Option<Cow<'a, str>>,
    #[serde(borrow)]
    precipitation_amount: Option<Cow<'a, str>>,
}

#[derive(Deserialize)]
struct Entry<'a> {
    #[serde(borrow)]
    time: Cow<'a, str>,
    data: Data,
}

#[derive(Deserialize)]
struct Data {
    instant: Option<Part<Instant>>,
    next_1_hours: Option<Part<Period>>,
    next_6_hours: Option<Part<Period>>,
}

#[derive(Deserialize)]
struct Part<T> {
    details: Option<T>,
}

#[derive(Deserialize, Default)]
struct Instant {
    air_temperature: Option<f64>,
    relative_humidity: Option<f64>,
    wind_speed: Option<f64>,
}

#[derive(Deserialize, Default)]
struct Period {
    precipitation_amount: Option<f64>,
}

/// Reads all of it.
pub(super) fn read(bytes: &[u8], now: Moment) -> Result<Forecast, ForecastError> {
    let feature: Feature<'_> = serde_json::from_slice(bytes).map_err(|error| {
        // The error quotes external text of any length.
        ForecastError::NotJson(clean(&error.to_string()).chars().take(200).collect())
    })?;
    let Properties { meta, timeseries } = feature.properties;
    let mut reader = Reader::default();
    let mut steps = Vec::with_capacity(timeseries.len());
    for (index, entry) in timeseries.iter().enumerate() {
        match reader.step(entry, now) {
            Ok(step) => steps.push(step),
            Err(what) => {
                reader.bad_steps += 1;
                reader.first_bad.get_or_insert_with(|| format!("step {} {what}", index + 1));
            }
        }
    }
    reader.check_units(&meta.units)?;
    let (hours, settled) = settle(steps, now);
    if hours.is_empty() {
        return Err(ForecastError::NothingUsable { first: reader.first_bad });
    }
    let made = meta.updated_at.as_deref().and_then(moment).filter(|made| *made <= now + HORIZON);
    let mut notes = reader.notes();
    notes.extend(settled);
    Ok(Forecast { hours, made, form: Form::Json, notes, faults: Vec::new(), bad_rows: 0 })
}

/// Oddities found while reading.
#[derive(Default)]
struct Reader {
    has_humidity: bool,
    has_wind: bool,
    has_rain: bool,
    bad_humidity: usize,
    bad_wind: usize,
    bad_rain: usize,
    bad_steps: usize,
    first_bad: Option<String>,
}

impl Reader {
    fn step(&mut self, entry: &Entry<'_>, now: Moment) -> Result<Step, String> {
        let at = moment(&entry.time).ok_or_else(|| {
            let time: String = clean(&entry.time).chars().take(40).collect();
            format!("has no time in UTC but \"{time}\"")
        })?;
        if at > now + HORIZON {
            return Err("is more than 30 days ahead".into());
        }
        let instant = entry.data.instant.as_ref().and_then(|part| part.details.as_ref());
        let air = instant.and_then(|instant| instant.air_temperature).ok_or("has no air_temperature")?;
        let air =
            Celsius::new(air).plausible().map_err(|error| format!("has an air_temperature of {error}"))?;
        let percent = instant.and_then(|instant| instant.relative_humidity);
        let wind = instant.and_then(|instant| instant.wind_speed);
        let mut rain = |part: &Option<Part<Period>>| {
            let amount = part.as_ref().and_then(|part| part.details.as_ref())?.precipitation_amount;
            self.has_rain |= amount.is_some();
            kept(amount, MOST_RAIN, &mut self.bad_rain)
        };
        let rain = Rain::Ahead { one: rain(&entry.data.next_1_hours), six: rain(&entry.data.next_6_hours) };
        self.has_humidity |= percent.is_some();
        self.has_wind |= wind.is_some();
        Ok(Step {
            at,
            air,
            humidity: percent.and_then(|percent| {
                let humidity = Humidity::from_number(percent).ok();
                self.bad_humidity += usize::from(humidity.is_none());
                humidity
            }),
            wind: kept(wind, MOST_WIND, &mut self.bad_wind).map(MetresPerSecond::new),
            rain,
        })
    }

    /// A value in an unknown unit is worse than none.
    fn check_units(&self, units: &Units<'_>) -> Result<(), ForecastError> {
        for (variable, used, unit, wanted) in [
            ("air_temperature", true, &units.air_temperature, "celsius"),
            ("relative_humidity", self.has_humidity, &units.relative_humidity, "%"),
            ("wind_speed", self.has_wind, &units.wind_speed, "m/s"),
            ("precipitation_amount", self.has_rain, &units.precipitation_amount, "mm"),
        ] {
            let unit = match unit.as_deref() {
                Some(unit) if unit == wanted => continue,
                None if !used => continue,
                Some(unit) => format!("\"{}\"", clean(unit).chars().take(40).collect::<String>()),
                None => "no unit".into(),
            };
            return Err(ForecastError::Unit { variable, unit, wanted });
        }
        Ok(())
    }

    fn notes(&mut self) -> Vec<Note> {
        let mut notes = Vec::new();
        if let Some(first) = self.first_bad.take() {
            notes.push(Note::Steps { count: self.bad_steps, first });
        }
        for (what, count) in
            [("humidity", self.bad_humidity), ("wind", self.bad_wind), ("rain", self.bad_rain)]
        {
            if count > 0 {
                notes.push(Note::LeftOut { what, count });
            }
        }
        notes
    }
}

/// A value between zero and a maximum; others are dropped and counted.
fn kept(figure: Option<f64>, most: f64, bad: &mut usize) -> Option<f64> {
    let kept = figure.filter(|figure| (0.0..=most).contains(figure));
    *bad += usize::from(figure.is_some() && kept.is_none());
    kept
}

/// A time to whole seconds.
fn moment(text: &str) -> Option<Moment> {
    let moment = DateTime::parse_from_rfc3339(text).ok()?;
    DateTime::from_timestamp(moment.timestamp(), 0)
}

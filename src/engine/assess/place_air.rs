//! The air of a place now, from its last readings.

use chrono::TimeDelta;

use crate::engine::air::{DewPoint, dew_point, margin};
use crate::engine::assess::Sky;
use crate::engine::config::Config;
use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

/// The air of one place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceAir {
    /// The place.
    pub place: String,
    /// The last reading.
    pub reading: Option<Reading>,
    /// The air now, from that reading and the forecast.
    pub temperature: Option<Celsius>,
    /// The relative humidity now, with the moment at which it was last read; without one if it is
    /// only forecast. None without a reading of the last day and without a forecast.
    pub humidity: Option<(Humidity, Option<Moment>)>,
    /// How much the air warms in an hour, from readings of the last three hours.
    pub trend: Option<KelvinDelta>,
    /// Whether the last reading is too old to trust.
    pub old: bool,
    /// The temperature of a surface, and whether it was measured and not followed from the air.
    pub surface: Option<(Celsius, bool)>,
    /// The dew point of the air.
    pub dew: Option<DewPoint>,
    /// Surface less dew point.
    pub margin: Option<KelvinDelta>,
}

/// The readings of this time give the trend.
const TREND_OVER: TimeDelta = TimeDelta::hours(3);
/// A measured surface follows the air after this; until then it counts as measured.
const MEASURED_FOR: TimeDelta = TimeDelta::minutes(30);
/// And have to be this far apart.
const TREND_AT_LEAST: TimeDelta = TimeDelta::minutes(20);
/// An older humidity is not used.
pub const HUMIDITY_FOR: TimeDelta = TimeDelta::hours(24);

impl PlaceAir {
    /// The air of a place at `now`, from its readings in order of time.
    pub fn of(place: &str, readings: &[Reading], now: Moment, config: &Config) -> Self {
        let last = readings.last().copied();
        let humidity = readings
            .iter()
            .rev()
            .take_while(|reading| now - reading.at <= HUMIDITY_FOR)
            .find_map(|reading| reading.humidity.map(|humidity| (humidity, Some(reading.at))));
        let trend = last.and_then(|last| {
            let recent = readings.iter().rev().take_while(|reading| now - reading.at <= TREND_OVER);
            let first = recent.last()?;
            let over = last.at - first.at;
            let hours = over.num_seconds() as f64 / 3600.0;
            let warmed = last.air.degrees() - first.air.degrees();
            (over >= TREND_AT_LEAST).then(|| KelvinDelta::new(warmed / hours))
        });
        let old = last.is_none_or(|last| now - last.at > config.reading_old);
        Self {
            place: place.to_owned(),
            reading: last,
            temperature: last.map(|last| last.air),
            humidity,
            trend,
            old,
            surface: None,
            dew: None,
            margin: None,
        }
    }

    /// With what is expected now: air, humidity, and a surface that follows the air with this lag.
    pub fn under(self, sky: &Sky, lag: TimeDelta, now: Moment) -> Self {
        let air = self.reading.and_then(|_| sky.history.air_at(now));
        let measured = self.reading.filter(|reading| now - reading.at < MEASURED_FOR).and_then(|r| r.surface);
        let surface = air.and_then(|_| sky.surface(lag).at(now));
        let read = self.humidity.and_then(|(_, at)| at);
        let humidity = air.and_then(|_| sky.history.humidity_at(now)).map(|humidity| (humidity, read));
        let dew = air.zip(humidity).and_then(|(air, (humidity, _))| dew_point(air, humidity));
        let margin = surface.zip(dew).map(|(surface, dew)| margin(surface, dew));
        let surface = surface.map(|surface| (surface, measured.is_some()));
        Self { temperature: air, humidity, surface, dew, margin, ..self }
    }

    /// A place without readings.
    pub fn unknown(place: &str) -> Self {
        Self::of(place, &[], Moment::UNIX_EPOCH, &Config::default())
    }

    /// With this air, and a surface as warm as it, at a moment.
    pub fn with_air(self, air: Celsius, at: Moment) -> Self {
        let reading = Some(Reading { at, air, humidity: None, surface: None });
        Self { reading, temperature: Some(air), surface: Some((air, false)), old: false, ..self }
    }

    /// How long ago the last reading was.
    pub fn age(&self, now: Moment) -> Option<TimeDelta> {
        self.reading.map(|reading| now - reading.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn reading(minutes: i64, air: f64, humidity: Option<f64>) -> Reading {
        let humidity = humidity.map(Humidity::from_fraction);
        Reading { at: at(minutes), air: Celsius::new(air), humidity, surface: None }
    }

    #[test]
    fn the_trend_needs_two_readings_that_are_apart() {
        let config = Config::default();
        let trend = |readings: &[Reading]| PlaceAir::of("shop", readings, at(120), &config).trend;
        assert_eq!(trend(&[]), None);
        assert_eq!(trend(&[reading(100, 15.0, None)]), None);
        assert_eq!(trend(&[reading(100, 15.0, None), reading(110, 16.0, None)]), None);
        assert_eq!(trend(&[reading(60, 15.0, None), reading(120, 14.0, None)]), Some(KelvinDelta::new(-1.0)));
        assert_eq!(trend(&[reading(-600, 9.0, None), reading(120, 14.0, None)]), None);
    }

    #[test]
    fn an_old_reading_is_called_old_and_an_old_humidity_forgotten() {
        let config = Config::default();
        let readings = [reading(0, 15.0, Some(0.6)), reading(10, 15.0, None)];
        let air = |minutes| PlaceAir::of("shop", &readings, at(minutes), &config);
        assert!(!air(300).old);
        assert!(air(371).old);
        assert_eq!(air(60).humidity.map(|(h, _)| h.fraction()), Some(0.6));
        assert_eq!(air(1500).humidity, None);
        assert!(PlaceAir::of("shop", &[], at(0), &config).old);
    }
}

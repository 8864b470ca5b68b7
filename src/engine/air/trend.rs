//! The trend of the air from its last readings, without a forecast: how it cools and takes up vapour.
//!
//! The trend of the last hours continues for a few more hours (common practice, no source). Only cooling and
//! more vapour count: warming and drying would be a promise without evidence.

use chrono::TimeDelta;

use super::dew::{VapourPressure, vapour_pressure};
use crate::engine::cure::History;
use crate::engine::units::{KelvinDelta, Moment};

/// The readings of this time before the last one give the trend.
const TREND_OVER: TimeDelta = TimeDelta::hours(3);
/// Minimum time between the readings.
const TREND_AT_LEAST: TimeDelta = TimeDelta::minutes(20);
/// A smaller fall between them, in kelvin, does not count: thermometers show tenths.
const FALL_AT_LEAST: f64 = 0.2;
/// Vapour varies more between two readings than temperature: an open door is not a trend.
const DAMP_AT_LEAST: TimeDelta = TimeDelta::hours(1);
/// A smaller rise, as a share, is none: hygrometers are off by a few per cent.
const RISE_AT_LEAST: f64 = 0.08;
/// The trend continues for at most this long: an evening's cooling does not last through the night.
pub(super) const CONTINUES: TimeDelta = TimeDelta::hours(6);
/// And for at least this long.
pub(super) const AT_LEAST: TimeDelta = TimeDelta::hours(2);

/// The first and the last reading that give the trend at a moment; None if they are too close together.
fn span(history: &History, now: Moment, at_least: TimeDelta) -> Option<(Moment, Moment)> {
    let last = history.last_reading().filter(|last| *last <= now)?;
    let first = history.first_reading_from(last - TREND_OVER)?;
    (last - first >= at_least).then_some((first, last))
}

fn hours(time: TimeDelta) -> f64 {
    time.as_seconds_f64() / 3600.0
}

/// Air that cools since its last reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// The fall per hour.
    pub per_hour: KelvinDelta,
    /// The last reading.
    pub since: Moment,
}

impl Cooling {
    /// From the readings up to a moment; None if the air does not cool, or too few readings show it.
    pub fn of(history: &History, now: Moment) -> Option<Self> {
        let (first, last) = span(history, now, TREND_AT_LEAST)?;
        let warming = history.air_at(last)?.degrees() - history.air_at(first)?.degrees();
        let per_hour = KelvinDelta::new(-warming / hours(last - first));
        (-warming >= FALL_AT_LEAST).then_some(Self { per_hour, since: last })
    }

    /// The fall from the last reading to a moment.
    pub fn fall_at(&self, at: Moment) -> KelvinDelta {
        let passed = (at - self.since).clamp(TimeDelta::zero(), CONTINUES);
        KelvinDelta::new(self.per_hour.kelvin() * hours(passed))
    }
}

/// Air that has taken up vapour up to its last reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dampening {
    /// How much more vapour the air holds after an hour.
    pub per_hour: VapourPressure,
    /// The last reading.
    pub since: Moment,
}

impl Dampening {
    /// By the readings up to a moment; None where the air gets no damper, or too few readings show it.
    pub fn of(history: &History, now: Moment) -> Option<Self> {
        let (first, last) = span(history, now, DAMP_AT_LEAST)?;
        let vapour = |at| Some(vapour_pressure(history.air_at(at)?, history.humidity_at(at)?).hectopascals());
        let (before, after) = (vapour(first)?, vapour(last)?);
        let per_hour = VapourPressure::from_hectopascals((after - before) / hours(last - first));
        (after >= before * (1.0 + RISE_AT_LEAST)).then_some(Self { per_hour, since: last })
    }

    /// How much more vapour the air holds at a moment than at the last reading.
    pub fn rise_at(&self, at: Moment) -> VapourPressure {
        let passed = (at - self.since).clamp(TimeDelta::zero(), CONTINUES);
        VapourPressure::from_hectopascals(self.per_hour.hectopascals() * hours(passed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::cure::{Outlook, Reading};
    use crate::engine::units::Celsius;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn cooling(readings: &[(i64, f64)], now: i64) -> Option<Cooling> {
        let readings = readings.iter().map(|&(minutes, air)| Reading {
            at: at(minutes),
            air: Celsius::new(air),
            humidity: None,
            surface: None,
        });
        Cooling::of(&History::new(readings, Outlook::default()), at(now))
    }

    #[test]
    fn a_trend_needs_two_readings_of_the_last_three_hours_twenty_minutes_apart() {
        assert_eq!(cooling(&[], 0), None);
        assert_eq!(cooling(&[(0, 10.0)], 0), None);
        assert_eq!(cooling(&[(0, 10.0), (19, 9.0)], 19), None);
        assert!(cooling(&[(0, 10.0), (20, 9.0)], 20).is_some());
        assert!(cooling(&[(0, 10.0), (180, 9.0)], 180).is_some());
        assert_eq!(cooling(&[(0, 10.0), (181, 9.0)], 181), None);
    }

    #[test]
    fn warming_and_steady_air_do_not_cool() {
        assert_eq!(cooling(&[(0, 10.0), (60, 10.0)], 60), None);
        assert_eq!(cooling(&[(0, 10.0), (60, 11.0)], 60), None);
        assert_eq!(cooling(&[(0, 10.0), (60, 9.9)], 60), None);
    }

    #[test]
    fn it_goes_on_for_six_hours_from_the_last_reading() {
        let cooling = cooling(&[(0, 9.1), (60, 8.3)], 70).unwrap();
        for (minutes, fall) in [(-9, 0.0), (0, 0.0), (60, 0.8), (360, 4.8), (4000, 4.8)] {
            let found = cooling.fall_at(at(60 + minutes)).kelvin();
            assert!((found - fall).abs() < 1e-9, "{minutes} min: {found}");
        }
    }

    #[test]
    fn a_reading_in_the_future_shows_no_trend() {
        assert_eq!(cooling(&[(0, 9.1), (60, 8.3)], 30), None);
    }
}

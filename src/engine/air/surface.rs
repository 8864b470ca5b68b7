//! The temperature of a surface: measured, or following the air through a first-order lag, so that a cold piece
//! in warming damp air is noticed.
//!
//! This module knows readings, but neither the surface's coats nor the weather. A forecast of the air may be
//! appended to the readings.

use chrono::TimeDelta;

use super::lag::{Line, follow, seconds_between};
use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Moment};

/// After this many lags nothing is left of a start: e^(−40) of 100 K is below the resolution of a double.
const FORGOTTEN_AFTER: i32 = 40;
/// Between two measured values up to this far apart the surface is linear.
const CONNECTED: TimeDelta = TimeDelta::hours(2);
/// After this many lags 5 % of a measured difference is left: the surface then follows the air.
const COUNTS_FOR: i32 = 3;
/// A measured value counts as measured for this long.
const MEASURED_FOR: TimeDelta = TimeDelta::minutes(30);

/// The source of a surface temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceSource {
    /// Measured up to half an hour ago, or before and after, at most two hours apart.
    Measured,
    /// Measured up to three lags ago, following the air since.
    Returning,
    /// Follows the air only.
    Followed,
}

impl SurfaceSource {
    /// Whether a measured value determines the temperature: the product's surface limits then apply.
    pub const fn is_measured(self) -> bool {
        !matches!(self, Self::Followed)
    }
}

/// The temperature of a surface over time.
///
/// dTs/dt = (T − Ts) / lag, exact for piecewise linear air. Up to the first reading the surface has the
/// temperature of the air; after the last one the air is held. A measured value restarts the line; between two
/// at most two hours apart it is linear. A lag ≤ 0 means no lag.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceLine {
    air: Line,
    /// The surface at every reading.
    surface: Vec<(Moment, f64)>,
    measured: Line,
    lag: f64,
}

impl SurfaceLine {
    /// From readings of a place ascending in time; values that are not numbers and readings before their
    /// predecessor are dropped.
    pub fn new(readings: &[Reading], lag: TimeDelta) -> Self {
        let lag = lag.as_seconds_f64().max(0.0);
        let air = Line::new(readings.iter().map(|reading| (reading.at, reading.air.degrees())));
        let measured = Line::new(
            readings
                .iter()
                .filter(|reading| reading.air.degrees().is_finite())
                .filter_map(|reading| reading.surface.map(|surface| (reading.at, surface.degrees()))),
        );
        let mut surface: Vec<(Moment, f64)> = Vec::with_capacity(air.points().len());
        let mut before: Option<(Moment, f64)> = None;
        for &(at, now) in air.points() {
            let followed = match (before, surface.last()) {
                (Some((from, then)), Some(&(_, last))) => {
                    follow(last, then, now, lags(seconds_between(from, at), lag))
                }
                _ => now,
            };
            surface.push((at, connected(&measured, at).unwrap_or(followed)));
            before = Some((at, now));
        }
        Self { air, surface, measured, lag }
    }

    /// The surface at a moment; None without readings.
    pub fn at(&self, moment: Moment) -> Option<Celsius> {
        let after = self.surface.partition_point(|point| point.0 <= moment);
        let Some(&(from, start)) = after.checked_sub(1).and_then(|index| self.surface.get(index)) else {
            return self.surface.first().map(|first| Celsius::new(first.1));
        };
        if let Some(measured) = connected(&self.measured, moment) {
            return Some(Celsius::new(measured));
        }
        let (then, now) = (self.air.at(from)?, self.air.at(moment)?);
        Some(Celsius::new(follow(start, then, now, lags(seconds_between(from, moment), self.lag))))
    }

    /// The source of the temperature at a moment.
    pub fn source(&self, moment: Moment) -> SurfaceSource {
        let points = self.measured.points();
        let after = points.partition_point(|point| point.0 <= moment);
        let Some(last) = after.checked_sub(1).map(|index| points[index].0) else {
            return SurfaceSource::Followed;
        };
        let since = moment - last;
        let returning = since.as_seconds_f64() <= self.lag * f64::from(COUNTS_FOR);
        if since < MEASURED_FOR || connected(&self.measured, moment).is_some() {
            SurfaceSource::Measured
        } else if returning {
            SurfaceSource::Returning
        } else {
            SurfaceSource::Followed
        }
    }

    /// The surface at every reading that counts. It is not linear in between: see [`SurfaceLine::at`].
    pub fn points(&self) -> impl Iterator<Item = (Moment, Celsius)> + '_ {
        self.surface.iter().map(|&(at, degrees)| (at, Celsius::new(degrees)))
    }
}

/// The measured value at a moment, or between two measured values close enough.
fn connected(measured: &Line, at: Moment) -> Option<f64> {
    let points = measured.points();
    let after = points.partition_point(|point| point.0 <= at);
    let before = points.get(after.checked_sub(1)?)?;
    if before.0 == at {
        return Some(before.1);
    }
    let next = points.get(after)?;
    if next.0 - before.0 > CONNECTED {
        return None;
    }
    let share = seconds_between(before.0, at) / seconds_between(before.0, next.0);
    Some(before.1 + (next.1 - before.1) * share)
}

/// The surface temperature at one moment: [`SurfaceLine::at`] from only the readings that matter. None without
/// readings.
pub fn surface_at(readings: &[Reading], lag: TimeDelta, at: Moment) -> Option<Celsius> {
    let counts = |reading: &Reading| reading.air.degrees().is_finite();
    let after = readings.partition_point(|reading| reading.at <= at);
    let next = readings[after..].iter().position(counts).map_or(after, |next| after + next + 1);
    // The next measured surface, if close.
    let near = readings[next..].iter().take_while(|reading| reading.at - at <= CONNECTED);
    let end =
        near.enumerate().filter(|(_, reading)| reading.surface.is_some()).map(|(index, _)| next + index + 1);
    let end = end.min().unwrap_or(next);
    let forgotten = lag.max(TimeDelta::zero()).checked_mul(FORGOTTEN_AFTER);
    let begin = forgotten.and_then(|length| at.checked_sub_signed(length)).and_then(|moment| {
        let long_ago = readings[..after].partition_point(|reading| reading.at <= moment);
        readings[..long_ago].iter().rposition(counts)
    });
    SurfaceLine::new(&readings[begin.unwrap_or(0)..end], lag).at(at)
}

/// Number of lags in this many seconds; a lag of zero has infinitely many.
fn lags(seconds: f64, lag: f64) -> f64 {
    if seconds <= 0.0 { 0.0 } else { seconds / lag }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUR: TimeDelta = TimeDelta::hours(1);

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn reading(minutes: i64, air: f64, surface: Option<f64>) -> Reading {
        Reading {
            at: at(minutes),
            air: Celsius::new(air),
            humidity: None,
            surface: surface.map(Celsius::new),
        }
    }

    fn found(readings: &[Reading], lag: TimeDelta, minutes: i64) -> Option<f64> {
        let line = SurfaceLine::new(readings, lag).at(at(minutes)).map(Celsius::degrees);
        let once = surface_at(readings, lag, at(minutes)).map(Celsius::degrees);
        assert_eq!(line.is_some(), once.is_some());
        if let (Some(line), Some(once)) = (line, once) {
            assert!((line - once).abs() < 1e-12, "{line} on the line, {once} alone");
        }
        line
    }

    #[test]
    fn without_readings_the_surface_is_unknown() {
        assert_eq!(found(&[], HOUR, 0), None);
        assert_eq!(found(&[reading(0, f64::NAN, Some(3.0))], HOUR, 0), None);
    }

    #[test]
    fn one_reading_holds_before_and_after() {
        for minutes in [-600, 0, 600] {
            assert_eq!(found(&[reading(0, 12.0, None)], HOUR, minutes), Some(12.0));
        }
    }

    #[test]
    fn after_the_last_reading_the_surface_approaches_the_air() {
        let warmed = [reading(0, 10.0, None), reading(1, 20.0, None)];
        let one_lag = found(&warmed, HOUR, 61).unwrap();
        assert!((one_lag - 16.3).abs() < 0.1, "{one_lag}");
        assert!((found(&warmed, HOUR, 3000).unwrap() - 20.0).abs() < 1e-9);
    }

    #[test]
    fn a_measured_surface_starts_anew() {
        let readings = [reading(0, 10.0, None), reading(60, 20.0, Some(11.0)), reading(120, 20.0, None)];
        assert_eq!(found(&readings, HOUR, 60), Some(11.0));
        let later = found(&readings, HOUR, 120).unwrap();
        assert!((later - (20.0 - 9.0 * (-1.0f64).exp())).abs() < 1e-12, "{later}");
        assert_eq!(found(&[reading(0, 10.0, Some(4.0))], HOUR, -5), Some(4.0));
    }

    #[test]
    fn measured_values_two_hours_apart_are_connected_and_a_minute_more_are_not() {
        let readings = |second: i64| {
            [reading(0, 20.0, Some(10.0)), reading(60, 20.0, None), reading(second, 20.0, Some(12.0))]
        };
        assert!((found(&readings(120), HOUR, 60).unwrap() - 11.0).abs() < 1e-12);
        assert!((found(&readings(120), HOUR, 90).unwrap() - 11.5).abs() < 1e-12);
        let followed = 20.0 - 10.0 * (-1.0f64).exp();
        assert!((found(&readings(121), HOUR, 60).unwrap() - followed).abs() < 1e-9);
    }

    #[test]
    fn the_source_of_the_temperature_is_given() {
        let readings = [
            reading(0, 20.0, None),
            reading(60, 20.0, Some(10.0)),
            reading(180, 20.0, Some(12.0)),
            reading(600, 20.0, None),
        ];
        let line = SurfaceLine::new(&readings, HOUR);
        let source = |minutes| line.source(at(minutes));
        assert_eq!([source(0), source(59), source(361)], [SurfaceSource::Followed; 3]);
        assert_eq!([source(60), source(120), source(180), source(209)], [SurfaceSource::Measured; 4]);
        assert_eq!([source(210), source(360)], [SurfaceSource::Returning; 2]);
        assert!(source(210).is_measured() && !source(0).is_measured());
        assert_eq!(SurfaceLine::new(&[], HOUR).source(at(0)), SurfaceSource::Followed);
    }

    #[test]
    fn a_measured_surface_that_is_not_a_number_is_ignored() {
        let readings = [reading(0, 10.0, None), reading(60, 10.0, Some(f64::NAN))];
        assert!((found(&readings, HOUR, 90).unwrap() - 10.0).abs() < 1e-12);
    }

    #[test]
    fn without_a_lag_the_surface_is_as_warm_as_the_air() {
        let readings = [reading(0, 10.0, Some(3.0)), reading(60, 20.0, None)];
        for lag in [TimeDelta::zero(), -HOUR] {
            assert_eq!(found(&readings, lag, 0), Some(3.0));
            assert_eq!(found(&readings, lag, 30), Some(15.0));
            assert_eq!(found(&readings, lag, 600), Some(20.0));
        }
    }

    #[test]
    fn a_gap_is_interpolated() {
        let with_gap = [reading(0, 10.0, None), reading(600, 20.0, None)];
        let filled: Vec<_> = (0..=600).map(|m| reading(m, 10.0 + m as f64 / 60.0, None)).collect();
        for minutes in [1, 300, 599, 600, 700] {
            let (a, b) = (found(&with_gap, HOUR, minutes).unwrap(), found(&filled, HOUR, minutes).unwrap());
            assert!((a - b).abs() < 1e-9, "{a} and {b} after {minutes} min");
        }
    }

    #[test]
    fn old_readings_do_not_change_a_surface() {
        let year: Vec<_> =
            (0..20_000).map(|m| reading(m, 15.0 + (m as f64 / 500.0).sin() * 9.0, None)).collect();
        for minutes in [0, 777, 19_999, 30_000] {
            found(&year, HOUR, minutes);
        }
    }
}

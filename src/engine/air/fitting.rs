//! Fits how a value indoors follows the same value outdoors: y' = (u + gain − y) / tau.
//!
//! This module knows two lines over time. Whether they are temperatures or vapour pressures, `shop` and
//! `moisture` know.

use chrono::TimeDelta;

use super::lag::Line;
use crate::engine::units::duration_text;

mod record;
mod residual;
mod search;

use record::Record;

/// The minimum time that readings and outdoor record must overlap.
const TOGETHER_AT_LEAST: TimeDelta = TimeDelta::days(3);
/// The minimum number of hours with a reading in that time.
const HOURS_AT_LEAST: usize = 24;
/// The held reading must have this many times the model's RMS error.
const WORTH_IT: f64 = 1.1;

/// Why the readings of a place do not show how it follows the outdoors.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TooLittle {
    /// The place has no readings.
    #[error("there are no readings of the place")]
    NoReadings,
    /// There is no outdoor record.
    #[error("there is no outdoor record")]
    NoOutdoors,
    /// Both exist, at different times.
    #[error("the readings and the outdoor record do not cover the same hours")]
    NeverTogether,
    /// The overlap is too short.
    #[error("readings and outdoor record share only {}; three days are needed", duration_text(*.together))]
    Short {
        /// The overlap.
        together: TimeDelta,
    },
    /// The overlap has too few readings.
    #[error("there are readings in only {hours} of the hours that the outdoor record covers; 24 are needed")]
    Few {
        /// The number of hours with a reading.
        hours: usize,
    },
    /// The outdoor air hardly changed.
    #[error("the outdoor air hardly changed, so how the place follows it is unknown")]
    OutdoorsSteady,
    /// The place does not follow the outdoors: it is heated, or very well insulated.
    #[error("the place does not follow the outdoor air; its last reading is as good a forecast")]
    DoesNotFollow,
}

/// The fit, in the unit of the two lines.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fitted {
    pub tau: TimeDelta,
    pub gain: f64,
    /// 95 % interval.
    pub tau_range: (TimeDelta, TimeDelta),
    /// 95 %, ±.
    pub gain_error: f64,
    /// The 0.9 quantile of the error after 0, 1, 2 … 48 hours.
    pub residual: Vec<f64>,
}

impl Fitted {
    /// The residual, linear between full hours and constant after the last.
    pub fn residual_after(&self, ahead: TimeDelta) -> f64 {
        let last = self.residual.len().saturating_sub(1);
        let hours = (ahead.as_seconds_f64() / 3600.0).clamp(0.0, last as f64);
        let (low, high) = (hours.floor() as usize, hours.ceil() as usize);
        match (self.residual.get(low), self.residual.get(high)) {
            (Some(low), Some(high)) => low + (high - low) * hours.fract(),
            _ => 0.0,
        }
    }
}

/// Fits tau and gain by least squares of the free run. `least_swing`: minimum range of the outdoor value.
pub(super) fn fit(inside: &Line, outside: &Line, least_swing: f64) -> Result<Fitted, TooLittle> {
    if inside.points().is_empty() {
        return Err(TooLittle::NoReadings);
    }
    if outside.points().is_empty() {
        return Err(TooLittle::NoOutdoors);
    }
    let record = Record::of(inside, outside);
    if record.hours() == 0 {
        return Err(TooLittle::NeverTogether);
    }
    if record.together() < TOGETHER_AT_LEAST {
        return Err(TooLittle::Short { together: record.together() });
    }
    if record.hours() < HOURS_AT_LEAST {
        return Err(TooLittle::Few { hours: record.hours() });
    }
    if record.swing() < least_swing {
        return Err(TooLittle::OutdoorsSteady);
    }
    let found = search::search(&record);
    let ahead = residual::ahead(&record, found.tau, found.gain);
    if ahead.held_rms < ahead.model_rms * WORTH_IT {
        return Err(TooLittle::DoesNotFollow);
    }
    Ok(Fitted {
        tau: hours(found.tau),
        gain: found.gain,
        tau_range: (hours(found.tau_range.0), hours(found.tau_range.1)),
        gain_error: found.gain_error,
        residual: ahead.residual,
    })
}

fn hours(hours: f64) -> TimeDelta {
    TimeDelta::milliseconds((hours * 3.6e6).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::units::Moment;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    /// A daily cycle of ±5, and a place that follows with tau = 4 h and ends 2 K warmer.
    fn outside(hours: f64) -> f64 {
        10.0 + 5.0 * (hours / 24.0 * std::f64::consts::TAU).sin()
    }

    fn inside(hours: f64) -> f64 {
        let turns = 4.0 / 24.0 * std::f64::consts::TAU;
        let (size, late) = (5.0 / turns.hypot(1.0), turns.atan());
        12.0 + size * (hours / 24.0 * std::f64::consts::TAU - late).sin()
    }

    fn every(minutes: usize, hours: i64, value: impl Fn(f64) -> f64) -> Line {
        let steps = (0..=hours * 60).step_by(minutes);
        Line::new(steps.map(|minute| (at(minute), value(minute as f64 / 60.0))))
    }

    #[test]
    fn too_little_data_gives_its_reason() {
        let (day, week) = (every(60, 24, inside), every(60, 24 * 7, inside));
        let outdoors = every(60, 24 * 7, outside);
        let later = Line::new(week.points().iter().map(|&(at, value)| (at + TimeDelta::days(99), value)));
        let cases = [
            (Line::default(), outdoors.clone(), TooLittle::NoReadings),
            (week.clone(), Line::default(), TooLittle::NoOutdoors),
            (later, outdoors.clone(), TooLittle::NeverTogether),
            (day, outdoors.clone(), TooLittle::Short { together: TimeDelta::hours(24) }),
            (every(12 * 60, 24 * 7, inside), outdoors.clone(), TooLittle::Few { hours: 15 }),
            (week.clone(), every(60, 24 * 7, |_| 8.0), TooLittle::OutdoorsSteady),
            (every(60, 24 * 7, |_| 20.0), outdoors, TooLittle::DoesNotFollow),
        ];
        for (inside, outside, expected) in cases {
            let found = fit(&inside, &outside, 3.0).unwrap_err();
            assert_eq!(found, expected);
            assert!(found.to_string().chars().next().is_some_and(char::is_lowercase), "{found}");
        }
    }

    #[test]
    fn a_clean_record_gives_tau_and_gain_back() {
        for (minutes, name) in [(1, "every minute"), (60, "every hour"), (180, "every three hours")] {
            let found = fit(&every(minutes, 24 * 7, inside), &every(5, 24 * 7, outside), 3.0).unwrap();
            assert!((found.tau.as_seconds_f64() / 3600.0 - 4.0).abs() < 0.02, "{name}: {}", found.tau);
            assert!((found.gain - 2.0).abs() < 0.02, "{name}: {}", found.gain);
            assert!(found.residual_after(TimeDelta::hours(24)) < 0.05, "{name}");
        }
    }

    #[test]
    fn three_readings_a_day_are_enough_in_ten_days() {
        let readings = every(8 * 60, 24 * 10, inside);
        let found = fit(&readings, &every(60, 24 * 10, outside), 3.0).unwrap();
        assert!((found.tau.as_seconds_f64() / 3600.0 - 4.0).abs() < 0.1, "{}", found.tau);
        assert_eq!(found.residual.len(), 49);
    }

    #[test]
    fn a_gap_in_the_outdoor_record_is_skipped() {
        let broken = every(60, 24 * 9, outside);
        let gap = |point: &&(Moment, f64)| !(at(60 * 24 * 4)..at(60 * 24 * 5)).contains(&point.0);
        let broken = Line::new(broken.points().iter().filter(gap).copied());
        let found = fit(&every(30, 24 * 9, inside), &broken, 3.0).unwrap();
        assert!((found.tau.as_seconds_f64() / 3600.0 - 4.0).abs() < 0.05, "{}", found.tau);
    }

    #[test]
    fn the_residual_never_shrinks_and_is_constant_after_its_last_hour() {
        let noisy = |hours: f64| inside(hours) + 0.3 * (hours * 7.7).sin() * (hours * 0.31).cos();
        let found = fit(&every(60, 24 * 10, noisy), &every(60, 24 * 10, outside), 3.0).unwrap();
        let hourly: Vec<_> = (0..60).map(|h| found.residual_after(TimeDelta::hours(h))).collect();
        assert!(hourly.is_sorted(), "{hourly:?}");
        assert_eq!(hourly[0], 0.0);
        assert_eq!(hourly[48], hourly[59]);
        let half = found.residual_after(TimeDelta::minutes(30));
        assert!((half - hourly[1] / 2.0).abs() < 1e-12);
        assert_eq!(found.residual_after(-TimeDelta::hours(3)), 0.0);
    }
}

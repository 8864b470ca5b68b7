//! Readings as days of full hours.

use super::{HOURS, Moment, Reading, date_of, moment_of_hour, vapour_pressure};
use chrono::TimeDelta;

/// A day with the values of its hours; NaN where there is no reading.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Day {
    /// As [`date_of`] counts.
    pub date: usize,
    /// °C.
    pub air: [f64; HOURS],
    /// hPa.
    pub vapour: [f64; HOURS],
}

/// A longer gap between readings stays empty.
pub(super) const GAP: TimeDelta = TimeDelta::hours(6);
/// A value further from 0 °C is a sensor fault.
const NO_AIR: f64 = 100.0;

/// The air of a reading, and its vapour in hPa if known; None for an impossible temperature.
pub(super) fn air_of(reading: &Reading) -> Option<(f64, Option<f64>)> {
    let air = reading.air.degrees();
    let vapour = reading.humidity.map(|humidity| vapour_pressure(reading.air, humidity).hectopascals());
    (air.abs() <= NO_AIR).then(|| (air, vapour.filter(|vapour| vapour.is_finite() && *vapour >= 0.0)))
}

/// The days of readings, in order.
pub(super) fn days_of(readings: &[Reading]) -> Vec<Day> {
    let mut days: Vec<(i64, Day)> = Vec::new();
    let known = || readings.iter().filter_map(|reading| Some((reading.at, air_of(reading)?)));
    let air = hourly(known().map(|(at, (air, _))| (at, air)));
    for (hour, air) in air {
        let (number, index) = (hour.div_euclid(24), hour.rem_euclid(24) as usize);
        if days.last().is_none_or(|last| last.0 != number) {
            let Some(at) = moment_of_hour(hour) else { continue };
            let nothing = [f64::NAN; HOURS];
            days.push((number, Day { date: date_of(at), air: nothing, vapour: nothing }));
        }
        if let Some(last) = days.last_mut() {
            last.1.air[index] = air;
        }
    }
    for (hour, vapour) in hourly(known().filter_map(|(at, (_, vapour))| Some((at, vapour?)))) {
        if let Ok(day) = days.binary_search_by_key(&hour.div_euclid(24), |day| day.0) {
            days[day].1.vapour[hour.rem_euclid(24) as usize] = vapour;
        }
    }
    days.into_iter().map(|(_, day)| day).collect()
}

/// A line at its full hours, where its points are close enough. Points ascend in time; one before its
/// predecessor is dropped, of two at the same moment the later one counts.
fn hourly(points: impl Iterator<Item = (Moment, f64)>) -> Vec<(i64, f64)> {
    let mut hours: Vec<(i64, f64)> = Vec::new();
    let mut last: Option<(Moment, f64)> = None;
    for (at, value) in points {
        if last.is_some_and(|last| at < last.0) {
            continue;
        }
        let full = at.timestamp().rem_euclid(3600) == 0 && at.timestamp_subsec_nanos() == 0;
        let hour = at.timestamp().div_euclid(3600);
        if let Some((from, first)) = last.filter(|last| at > last.0 && at - last.0 <= GAP) {
            let length = (at - from).as_seconds_f64();
            for hour in from.timestamp().div_euclid(3600) + 1..=hour - i64::from(full) {
                let Some(moment) = moment_of_hour(hour) else { continue };
                hours.push((hour, first + (value - first) * (moment - from).as_seconds_f64() / length));
            }
        }
        if full {
            match hours.last_mut() {
                Some(known) if known.0 == hour => known.1 = value,
                _ => hours.push((hour, value)),
            }
        }
        last = Some((at, value));
    }
    hours
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    #[test]
    fn full_hours_are_interpolated_between_readings_and_never_in_a_gap() {
        let points = [(-30, 0.0), (90, 4.0), (120, 6.0), (120, 7.0), (60, 99.0), (600, 9.0), (601, 9.0)];
        let hours = hourly(points.into_iter().map(|(minutes, value)| (at(minutes), value)));
        assert_eq!(hours, [(0, 1.0), (1, 3.0), (2, 7.0), (10, 9.0)]);
        assert_eq!(hourly(std::iter::empty()), []);
    }

    #[test]
    fn a_reading_alone_counts_only_on_its_full_hour() {
        assert_eq!(hourly([(at(60), 5.0)].into_iter()), [(1, 5.0)]);
        assert_eq!(hourly([(at(61), 5.0)].into_iter()), []);
    }
}

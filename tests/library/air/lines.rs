//! What the other modules share: moments, lines of air, and how close is close.

use chrono::TimeDelta;
use curewright::engine::cure::Reading;
use curewright::engine::units::{Celsius, Humidity, Moment};

/// A line of air or of a place.
pub type Line = Vec<(Moment, Celsius)>;

/// So many hours after the beginning.
pub fn after(hours: f64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::nanoseconds((hours * 3.6e12).round() as i64)
}

pub fn hours_after(moment: Moment) -> f64 {
    (moment - Moment::UNIX_EPOCH).as_seconds_f64() / 3600.0
}

pub fn hours(hours: f64) -> TimeDelta {
    TimeDelta::milliseconds((hours * 3.6e6).round() as i64)
}

/// A line through (hours, °C).
pub fn line(points: impl IntoIterator<Item = (f64, f64)>) -> Line {
    points.into_iter().map(|(at, celsius)| (after(at), Celsius::new(celsius))).collect()
}

/// A curve drawn with a straight line a minute.
pub fn drawn(to_hours: f64, celsius: impl Fn(f64) -> f64) -> Line {
    line((0..=(to_hours * 60.0).round() as u32).map(|m| f64::from(m) / 60.0).map(|at| (at, celsius(at))))
}

pub fn reading(hours: f64, celsius: f64, humidity: Option<f64>) -> Reading {
    let humidity = humidity.map(Humidity::from_fraction);
    Reading { at: after(hours), air: Celsius::new(celsius), humidity, surface: None }
}

/// The value of a line at this many hours, straight between its points.
pub fn value(line: &[(Moment, Celsius)], hours: f64) -> f64 {
    let end = line.partition_point(|point| point.0 < after(hours)).clamp(1, line.len() - 1);
    let (a, b) = (line[end - 1], line[end]);
    let share = (hours - hours_after(a.0)) / (hours_after(b.0) - hours_after(a.0));
    a.1.degrees() + (b.1.degrees() - a.1.degrees()) * share
}

#[track_caller]
pub fn assert_near(found: f64, expected: f64, within: f64, what: &str) {
    assert!((found - expected).abs() <= within, "{what}: {found} is not {expected} within {within}");
}

//! What the other modules share: shops, time tables, coats from a file, and how close is close.

use chrono::TimeDelta;
use curewright::engine::cure::{Bound, Course, History, Law, Outlook, Reading};
use curewright::engine::profile::{Cure, Point, TimeTable};
use curewright::engine::units::{ActivationEnergy, Celsius, Humidity, KelvinDelta, Moment};
use serde::Deserialize;

pub const HOUR: f64 = 3600.0;

/// The engine integrates to 1e-9 relative.
pub const PROMISED: f64 = 1e-9;

/// What a moment may be off besides, in seconds.
const INSTANT: f64 = 1e-5;

/// Asserts that two numbers agree to `relative`; two zeros agree.
#[track_caller]
pub fn assert_close(found: f64, expected: f64, relative: f64) {
    let allowed = relative * expected.abs();
    assert!((found - expected).abs() <= allowed, "{found} is not {expected} to {relative:e} relative");
}

/// Asserts that a moment is the published number of seconds after `start`, or that both say never.
#[track_caller]
pub fn assert_moment(found: Option<Moment>, start: Moment, expected: Option<f64>, what: &str) {
    let found = found.map(|moment| seconds_between(start, moment));
    match (found, expected) {
        (None, None) => {}
        (Some(found), Some(expected)) => {
            let allowed = PROMISED * expected + INSTANT;
            assert!((found - expected).abs() <= allowed, "{what}: {found} s is not {expected} s");
        }
        _ => panic!("{what}: {found:?} is not {expected:?}"),
    }
}

/// The moment `seconds` after the start of the coat.
pub fn after(seconds: f64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::nanoseconds((seconds * 1e9).round() as i64)
}

pub fn seconds_between(from: Moment, to: Moment) -> f64 {
    let length = to - from;
    length.num_seconds() as f64 + f64::from(length.subsec_nanos()) * 1e-9
}

/// A reading: seconds after the start, °C, humidity as a fraction.
pub fn reading(seconds: f64, celsius: f64, humidity: Option<f64>) -> Reading {
    Reading {
        at: after(seconds),
        air: Celsius::new(celsius),
        humidity: humidity.map(Humidity::from_fraction),
        surface: None,
    }
}

/// The readings of a shop, with a thermometer that may be off by 1.0 K, its last reading held.
pub fn history(readings: impl IntoIterator<Item = Reading>) -> History {
    History::new(readings, Outlook::held(KelvinDelta::new(1.0)))
}

/// A shop by (seconds, °C).
pub fn shop(readings: impl IntoIterator<Item = (f64, f64)>) -> History {
    history(readings.into_iter().map(|(seconds, celsius)| reading(seconds, celsius, None)))
}

/// A shop that keeps its temperature.
pub fn held(celsius: f64) -> History {
    shop([(0.0, celsius)])
}

/// So many seconds at one temperature, and an activation energy for all others.
pub fn one_point(celsius: f64, seconds: i64, energy: ActivationEnergy) -> TimeTable {
    let point = Point { at: Celsius::new(celsius), time: TimeDelta::seconds(seconds) };
    TimeTable::new(vec![point], energy).unwrap()
}

/// A table by (°C, seconds) of two or more points.
pub fn table(points: impl IntoIterator<Item = (f64, f64)>) -> TimeTable {
    let points: Vec<_> = points
        .into_iter()
        .map(|(celsius, seconds)| Point {
            at: Celsius::new(celsius),
            time: TimeDelta::milliseconds((seconds * 1000.0).round() as i64),
        })
        .collect();
    assert!(points.len() > 1, "one point needs an activation energy");
    TimeTable::new(points, ActivationEnergy::RULE_OF_THUMB).unwrap()
}

pub fn energy(kilojoules_per_mole: f64) -> ActivationEnergy {
    ActivationEnergy::from_kilojoules_per_mole(kilojoules_per_mole)
}

/// A law under which only the temperature counts.
pub fn reaction() -> Law {
    Law {
        cure: Cure::Reaction,
        reference_humidity: Humidity::from_fraction(0.5),
        stall_below: None,
        minimum: false,
    }
}

/// The progress from the start over a number of seconds.
pub fn progress(table: &TimeTable, shop: &History, seconds: f64) -> f64 {
    Course::new(shop, table, reaction()).progress(after(0.0), after(seconds), Bound::AsRead)
}

/// How many seconds the table's time takes in this shop.
pub fn seconds_in(shop: &History, table: &TimeTable) -> f64 {
    let end = Course::new(shop, table, reaction()).crossing(after(0.0), 1.0, Bound::AsRead);
    seconds_between(after(0.0), end.expect("it is never reached"))
}

/// The temperatures and the law of a coat, as the data files write them down.
#[derive(Debug, Deserialize)]
pub struct Coat {
    pub name: String,
    pub cure: Cure,
    activation_energy: f64,
    table: Vec<(f64, i64)>,
    pub stall_below: Option<f64>,
    reference_humidity: Option<f64>,
    #[serde(default)]
    minimum: bool,
}

impl Coat {
    pub fn table(&self) -> TimeTable {
        let points = self.table.iter().map(|&(celsius, seconds)| Point {
            at: Celsius::new(celsius),
            time: TimeDelta::seconds(seconds),
        });
        TimeTable::new(points.collect(), energy(self.activation_energy)).unwrap()
    }

    pub fn law(&self) -> Law {
        Law {
            cure: self.cure,
            reference_humidity: Humidity::from_fraction(self.reference_humidity.unwrap_or(0.5)),
            stall_below: self.stall_below.map(Celsius::new),
            minimum: self.minimum,
        }
    }
}

//! What is expected behind the last reading: which temperature, and how far it may stray.
//!
//! Without a forecast the last reading is held. Its error then grows: by how far this place's own record
//! strays in so many hours, or, where there is too little record, by 0.5 K·√hours, 6 K at most.

use chrono::TimeDelta;

use super::history::History;
use crate::units::KelvinDelta;

const HOUR: f64 = 3600.0;

/// Growth of the error without a record, in K/√h.
const ROOT_GROWTH: f64 = 0.5;
/// Where that growth ends.
const ROOT_LIMIT: f64 = 6.0;
/// The record is followed so many hours ahead.
const RECORD_HOURS: usize = 48;
/// The least record that says how a place strays.
const RECORD_AT_LEAST: TimeDelta = TimeDelta::hours(72);
/// The share of the record's strays that the growth covers.
const COVERED: f64 = 0.9;

/// The error of every temperature, and how it grows behind the last reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    thermometer_error: KelvinDelta,
    growth: Growth,
}

#[derive(Debug, Clone, PartialEq)]
enum Growth {
    /// By the root of the hours.
    Root,
    /// So many kelvin after 0, 1, 2 … hours; straight between, then held.
    Record(Vec<f64>),
}

/// A stretch behind the last reading over which the error is a smooth line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    /// Seconds behind the last reading.
    pub from: f64,
    /// Its end; infinite for the last one.
    pub to: f64,
    /// The error at `from` in kelvin.
    pub error_from: f64,
    /// The error at `to`.
    pub error_to: f64,
    /// Whether the error runs straight in the root of time, not in time.
    pub root: bool,
}

impl Default for Outlook {
    fn default() -> Self {
        Self::held(KelvinDelta::new(1.0))
    }
}

impl Outlook {
    /// The last reading held, with nothing known of how the place strays.
    pub const fn held(thermometer_error: KelvinDelta) -> Self {
        Self { thermometer_error, growth: Growth::Root }
    }

    /// The last reading held; the error grows as this record of the same place has strayed: nine in ten
    /// of its changes over so many hours were smaller. Falls back to [`Outlook::held`] where the record
    /// spans less than three days or has fewer than one reading in three hours.
    pub fn from_record(record: &History, thermometer_error: KelvinDelta) -> Self {
        let hourly = hourly_line(record);
        if hourly.is_empty() {
            return Self::held(thermometer_error);
        }
        let mut growth = vec![0.0];
        let mut strays = Vec::with_capacity(hourly.len());
        for hours in 1..=RECORD_HOURS.min(hourly.len() - 1) {
            strays.clear();
            strays.extend(hourly.iter().zip(&hourly[hours..]).map(|(a, b)| (b - a).abs()));
            let rank = ((strays.len() - 1) as f64 * COVERED).round() as usize;
            let (_, covered, _) = strays.select_nth_unstable_by(rank, f64::total_cmp);
            let before = growth[hours - 1];
            growth.push(covered.max(before));
        }
        Self { thermometer_error, growth: Growth::Record(growth) }
    }

    /// The error of the thermometer.
    pub const fn thermometer_error(&self) -> KelvinDelta {
        self.thermometer_error
    }

    /// How far the temperature may be off, so long behind the last reading.
    pub fn error_after(&self, behind: TimeDelta) -> KelvinDelta {
        let seconds = (behind.num_milliseconds() as f64 / 1000.0).max(0.0);
        let stretch = self.stretches().find(|s| seconds < s.to);
        KelvinDelta::new(stretch.map_or(self.thermometer_error.kelvin(), |s| s.error_at(seconds)))
    }

    /// The error behind the last reading, stretch by stretch; the last one has no end.
    pub(super) fn stretches(&self) -> impl Iterator<Item = Stretch> + '_ {
        let base = self.thermometer_error.kelvin();
        let (steps, root): (&[f64], bool) = match &self.growth {
            Growth::Root => (&[0.0, ROOT_LIMIT], true),
            Growth::Record(growth) => (growth, false),
        };
        let length = if root { (ROOT_LIMIT / ROOT_GROWTH).powi(2) * HOUR } else { HOUR };
        let rising = steps.windows(2).enumerate().map(move |(index, pair)| Stretch {
            from: index as f64 * length,
            to: (index + 1) as f64 * length,
            error_from: base + pair[0],
            error_to: base + pair[1],
            root,
        });
        let reached = base + steps.last().copied().unwrap_or(0.0);
        rising.chain(std::iter::once(Stretch {
            from: (steps.len().max(1) - 1) as f64 * length,
            to: f64::INFINITY,
            error_from: reached,
            error_to: reached,
            root: false,
        }))
    }
}

impl Stretch {
    pub(super) fn error_at(&self, seconds: f64) -> f64 {
        if self.to.is_infinite() {
            return self.error_from;
        }
        let share = (seconds - self.from) / (self.to - self.from);
        let share = if self.root { share.sqrt() } else { share };
        self.error_from + (self.error_to - self.error_from) * share
    }
}

/// The temperature of the record at every full hour from its first reading on; empty where there is too
/// little of it.
fn hourly_line(record: &History) -> Vec<f64> {
    let nodes = record.nodes();
    let (Some(first), Some(last)) = (nodes.first(), nodes.last()) else { return Vec::new() };
    let span = last.seconds - first.seconds;
    let dense_enough = nodes.len() as f64 >= span / (3.0 * HOUR);
    if span < RECORD_AT_LEAST.num_seconds() as f64 || !dense_enough {
        return Vec::new();
    }
    let mut line = Vec::with_capacity((span / HOUR) as usize + 1);
    for pair in nodes.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        loop {
            let due = first.seconds + line.len() as f64 * HOUR;
            if due > b.seconds {
                break;
            }
            line.push(a.kelvin + (b.kelvin - a.kelvin) * (due - a.seconds) / (b.seconds - a.seconds));
        }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::super::history::Reading;
    use super::*;
    use crate::units::{Celsius, Moment};

    fn record(hours: i64, air: impl Fn(f64) -> f64) -> History {
        let readings = (0..hours * 2).map(|half| Reading {
            at: Moment::UNIX_EPOCH + TimeDelta::minutes(half * 30),
            air: Celsius::new(air(half as f64 / 2.0)),
            humidity: None,
            surface: None,
        });
        History::new(readings, Outlook::default())
    }

    #[test]
    fn without_a_record_the_error_grows_by_the_root_of_the_hours_up_to_six_kelvin() {
        let outlook = Outlook::held(KelvinDelta::new(1.0));
        for (hours, error) in [(0, 1.0), (1, 1.5), (4, 2.0), (16, 3.0), (144, 7.0), (1000, 7.0)] {
            let grown = outlook.error_after(TimeDelta::hours(hours)).kelvin();
            assert!((grown - error).abs() < 1e-9, "{hours} h: {grown}");
        }
    }

    #[test]
    fn a_steady_shop_does_not_stray() {
        let outlook = Outlook::from_record(&record(100, |_| 15.0), KelvinDelta::new(0.5));
        assert!((outlook.error_after(TimeDelta::hours(30)).kelvin() - 0.5).abs() < 1e-9);
    }

    #[test]
    fn a_shop_that_swings_day_and_night_strays_by_its_own_swing() {
        let swing = record(24 * 10, |hour| 15.0 + 5.0 * (hour / 24.0 * std::f64::consts::TAU).sin());
        let outlook = Outlook::from_record(&swing, KelvinDelta::new(1.0));
        let twelve = outlook.error_after(TimeDelta::hours(12)).kelvin();
        assert!((9.0..=11.0).contains(&twelve), "{twelve}");
        let day = outlook.error_after(TimeDelta::hours(24)).kelvin();
        assert!(day >= twelve, "the error never shrinks: {day} after {twelve}");
    }

    #[test]
    fn two_days_of_record_are_too_little() {
        let short = Outlook::from_record(&record(48, |hour| hour), KelvinDelta::new(1.0));
        assert_eq!(short, Outlook::held(KelvinDelta::new(1.0)));
    }

    #[test]
    fn two_readings_a_day_are_too_thin_a_record() {
        let readings = (0..20).map(|half_day| Reading {
            at: Moment::UNIX_EPOCH + TimeDelta::hours(half_day * 12),
            air: Celsius::new(15.0),
            humidity: None,
            surface: None,
        });
        let thin = History::new(readings, Outlook::default());
        assert_eq!(Outlook::from_record(&thin, KelvinDelta::new(1.0)), Outlook::held(KelvinDelta::new(1.0)));
    }
}

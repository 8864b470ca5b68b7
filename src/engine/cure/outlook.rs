//! What is expected after the last reading: which temperature and humidity, and how large their errors are.
//!
//! Without a forecast the last reading is held. Its error grows with the changes in the place's own record
//! over the same time or, where the record is too short, by 0.5 K·√(t/h), 6 K at most. A forecast brings its
//! own temperatures, humidity and errors. The error of the humidity grows with that of the temperature.

use std::sync::Arc;

use chrono::TimeDelta;

use super::history::{History, seconds_between};
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

const HOUR: f64 = 3600.0;

/// Growth of the error without a record, in K/√h.
const ROOT_GROWTH: f64 = 0.5;
/// Upper limit of that growth, in K.
const ROOT_LIMIT: f64 = 6.0;
/// The growth is taken from the record up to this number of hours.
const RECORD_HOURS: usize = 48;
/// The shortest record that gives a growth.
const RECORD_AT_LEAST: TimeDelta = TimeDelta::hours(72);
/// The share of the record's changes that the growth covers.
const COVERED: f64 = 0.9;
/// The error of a hygrometer, as a fraction of saturation, unless it is set: 4 % RH. Instrument makers state
/// 3 to 5 % (common practice, no source).
const HYGROMETER_ERROR: f64 = 0.04;
/// The humidity error that comes with each kelvin of grown temperature error, as a fraction of saturation.
/// At constant vapour 1 K changes the relative humidity by d(ln e_s)/dT = 6.2 % of itself at 20 °C (Magnus
/// formula of WMO-No. 8): 4 % RH at 65 % RH. On the record of a ventilated attic the vapour itself moves too:
/// held, nine in ten are within 11 % RH after 3 h (`tests/library/air/attic.rs`).
const HUMIDITY_PER_KELVIN: f64 = 0.04;
/// The same where a forecast tells the humidity: on that record 6 % RH after 3 h and after 24 h.
const HUMIDITY_PER_KELVIN_FORECAST: f64 = 0.02;

/// The error of every reading, and what is expected after the last one.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    thermometer_error: KelvinDelta,
    hygrometer_error: Humidity,
    stretches: Arc<[Stretch]>,
    /// How the error grows with the time since a reading where no forecast helps: used inside gaps.
    growth: Arc<[Stretch]>,
    forecast: bool,
}

/// A point of a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForecastPoint {
    /// When.
    pub at: Moment,
    /// The air then.
    pub air: Celsius,
    /// Its humidity; None: as it was last read.
    pub humidity: Option<Humidity>,
    /// How far the air may be off, beside the thermometer's error.
    pub error: KelvinDelta,
}

/// A stretch behind the last reading over which temperature and error are smooth lines.
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
    /// The temperatures at both ends in kelvin; None: the last reading is held.
    pub kelvin: Option<(f64, f64)>,
    /// The humidity at both ends as a fraction; None: as it was last read.
    pub humidity: Option<(f64, f64)>,
}

impl Default for Outlook {
    fn default() -> Self {
        Self::held(KelvinDelta::new(1.0))
    }
}

impl Outlook {
    /// The last reading held, without a record of the place.
    pub fn held(thermometer_error: KelvinDelta) -> Self {
        let stretches: Arc<[Stretch]> = root_growth(0.0, thermometer_error.kelvin(), None, None).into();
        Self {
            thermometer_error,
            hygrometer_error: Humidity::from_fraction(HYGROMETER_ERROR),
            growth: Arc::clone(&stretches),
            stretches,
            forecast: false,
        }
    }

    /// The last reading held; the error grows as a record of the same place has changed: nine in ten of its
    /// changes over the same number of hours were smaller. Is [`Outlook::held`] where the record spans less
    /// than three days or has fewer than one reading in three hours.
    pub fn from_record(record: &History, thermometer_error: KelvinDelta) -> Self {
        let hourly = hourly_line(record);
        if hourly.is_empty() {
            return Self::held(thermometer_error);
        }
        let mut growth = vec![0.0];
        let mut spread = Vec::with_capacity(hourly.len());
        for hours in 1..=RECORD_HOURS.min(hourly.len() - 1) {
            spread.clear();
            spread.extend(hourly.iter().zip(&hourly[hours..]).map(|(a, b)| (b - a).abs()));
            let rank = ((spread.len() - 1) as f64 * COVERED).round() as usize;
            let (_, covered, _) = spread.select_nth_unstable_by(rank, f64::total_cmp);
            let before = growth[hours - 1];
            growth.push(covered.max(before));
        }
        let base = thermometer_error.kelvin();
        let hour = |index: usize| index as f64 * HOUR;
        let plain = |from, to, error_from, error_to| Stretch {
            from,
            to,
            error_from: base + error_from,
            error_to: base + error_to,
            root: false,
            kelvin: None,
            humidity: None,
        };
        let rising = growth.windows(2).enumerate();
        let mut stretches: Vec<Stretch> =
            rising.map(|(index, pair)| plain(hour(index), hour(index + 1), pair[0], pair[1])).collect();
        let reached = growth[growth.len() - 1];
        stretches.push(plain(hour(growth.len() - 1), f64::INFINITY, reached, reached));
        let stretches: Arc<[Stretch]> = stretches.into();
        Self { growth: Arc::clone(&stretches), stretches, ..Self::held(thermometer_error) }
    }

    /// A forecast for the place, from its last reading at `base` on; the points in rising order of time, the
    /// first at `base`. After the last point it is held, and the error grows by 0.5 K·√(t/h). None with fewer
    /// than two points.
    pub fn forecast(thermometer_error: KelvinDelta, base: Moment, points: &[ForecastPoint]) -> Option<Self> {
        let ends = points.windows(2).filter(|pair| pair[1].at > pair[0].at);
        let thermometer = thermometer_error.kelvin();
        let mut stretches: Vec<Stretch> = ends
            .map(|pair| {
                let (a, b) = (pair[0], pair[1]);
                Stretch {
                    from: seconds_between(base, a.at),
                    to: seconds_between(base, b.at),
                    error_from: thermometer + a.error.kelvin(),
                    error_to: thermometer + b.error.kelvin(),
                    root: false,
                    kelvin: Some((a.air.kelvin(), b.air.kelvin())),
                    humidity: a.humidity.zip(b.humidity).map(|(a, b)| (a.fraction(), b.fraction())),
                }
            })
            .collect();
        let last = *stretches.last()?;
        let (kelvin, humidity) = (last.kelvin.map(|ends| ends.1), last.humidity.map(|ends| ends.1));
        stretches.extend(root_growth(last.to, last.error_to, kelvin, humidity));
        Some(Self { stretches: stretches.into(), forecast: true, ..Self::held(thermometer_error) })
    }

    /// With another error of the hygrometer than 4 % RH.
    #[must_use]
    pub fn with_hygrometer_error(self, hygrometer_error: Humidity) -> Self {
        Self { hygrometer_error, ..self }
    }

    /// With the growth of another outlook inside gaps: a forecast does not tell it, the record does.
    #[must_use]
    pub fn with_growth_of(self, record: &Self) -> Self {
        Self { growth: Arc::clone(&record.growth), ..self }
    }

    /// Whether it is a forecast, and not the last reading held.
    pub const fn is_forecast(&self) -> bool {
        self.forecast
    }

    /// The error of the thermometer.
    pub const fn thermometer_error(&self) -> KelvinDelta {
        self.thermometer_error
    }

    /// The error of the hygrometer.
    pub const fn hygrometer_error(&self) -> Humidity {
        self.hygrometer_error
    }

    /// The error of the temperature at this time after the last reading.
    pub fn error_after(&self, behind: TimeDelta) -> KelvinDelta {
        let seconds = behind.as_seconds_f64().max(0.0);
        let stretch = self.stretch_at(seconds);
        KelvinDelta::new(stretch.map_or(self.thermometer_error.kelvin(), |s| s.error_at(seconds)))
    }

    /// The error of the humidity as a fraction, this many seconds after the last reading that carries one.
    pub(super) fn humidity_error_after(&self, seconds: f64) -> f64 {
        let grown = self.stretch_at(seconds).map_or(0.0, |stretch| stretch.error_at(seconds) - self.base());
        let per_kelvin = if self.forecast { HUMIDITY_PER_KELVIN_FORECAST } else { HUMIDITY_PER_KELVIN };
        self.hygrometer_error.fraction() + per_kelvin * grown
    }

    /// How far the temperature may have moved this many seconds away from a reading, in kelvin, where no
    /// forecast helps.
    pub(super) fn growth_after(&self, seconds: f64) -> f64 {
        stretch_of(&self.growth, seconds).map_or(0.0, |stretch| stretch.error_at(seconds) - self.base())
    }

    /// The error of the humidity as a fraction, where the temperature may have moved by this much.
    pub(super) fn humidity_error_grown(&self, kelvin: f64) -> f64 {
        self.hygrometer_error.fraction() + HUMIDITY_PER_KELVIN * kelvin
    }

    /// The stretches of [`Outlook::growth_after`]; their errors include that of the thermometer.
    pub(super) fn growth(&self) -> &[Stretch] {
        &self.growth
    }

    fn base(&self) -> f64 {
        self.thermometer_error.kelvin()
    }

    /// The temperature in kelvin and the humidity that are expected, so many seconds behind the last
    /// reading; None for what is held.
    pub(super) fn expected_after(&self, seconds: f64) -> (Option<f64>, Option<f64>) {
        let Some(stretch) = self.stretch_at(seconds) else { return (None, None) };
        let at = |ends: (f64, f64)| stretch.between(ends, seconds);
        (stretch.kelvin.map(at), stretch.humidity.map(at))
    }

    /// What is expected behind the last reading, stretch by stretch; the last one has no end.
    pub(super) fn stretches(&self) -> &[Stretch] {
        &self.stretches
    }

    fn stretch_at(&self, seconds: f64) -> Option<&Stretch> {
        stretch_of(&self.stretches, seconds)
    }
}

fn stretch_of(stretches: &[Stretch], seconds: f64) -> Option<&Stretch> {
    stretches.get(stretches.partition_point(|stretch| stretch.to <= seconds))
}

/// The last value held from `from` on, with an error that grows by the root of the hours.
fn root_growth(from: f64, error: f64, kelvin: Option<f64>, humidity: Option<f64>) -> [Stretch; 2] {
    let length = (ROOT_LIMIT / ROOT_GROWTH).powi(2) * HOUR;
    let both = |value: Option<f64>| value.map(|value| (value, value));
    let growing = Stretch {
        from,
        to: from + length,
        error_from: error,
        error_to: error + ROOT_LIMIT,
        root: true,
        kelvin: both(kelvin),
        humidity: both(humidity),
    };
    let held =
        Stretch { from: growing.to, to: f64::INFINITY, error_from: growing.error_to, root: false, ..growing };
    [growing, held]
}

impl Stretch {
    pub(super) fn error_at(&self, seconds: f64) -> f64 {
        if self.to.is_infinite() {
            return self.error_from;
        }
        self.error_from + (self.error_to - self.error_from) * self.error_share(seconds)
    }

    /// The share of the way from the error at its start to that at its end.
    pub(super) fn error_share(&self, seconds: f64) -> f64 {
        let share = self.share_at(seconds);
        if self.root { share.sqrt() } else { share }
    }

    /// The value at so many seconds of what runs straight between two ends.
    pub(super) fn between(&self, ends: (f64, f64), seconds: f64) -> f64 {
        if self.to.is_infinite() { ends.0 } else { ends.0 + (ends.1 - ends.0) * self.share_at(seconds) }
    }

    fn share_at(&self, seconds: f64) -> f64 {
        ((seconds - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
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
    fn what_is_foreseen_brings_its_own_temperature_and_error_and_is_held_behind_its_end() {
        let at = |hours| Moment::UNIX_EPOCH + TimeDelta::hours(hours);
        let point = |hours, air, error| ForecastPoint {
            at: at(hours),
            air: Celsius::new(air),
            humidity: Some(Humidity::from_fraction(0.5)),
            error: KelvinDelta::new(error),
        };
        let points = [point(0, 20.0, 0.0), point(2, 10.0, 1.0), point(4, 10.0, 2.0)];
        let outlook = Outlook::forecast(KelvinDelta::new(1.0), at(0), &points).unwrap();
        assert!(outlook.is_forecast());
        let expected = |hours: f64| outlook.expected_after(hours * HOUR).0.unwrap() - 273.15;
        assert!((expected(1.0) - 15.0).abs() < 1e-9);
        assert!((expected(40.0) - 10.0).abs() < 1e-9);
        for (hours, error) in [(0, 1.0), (1, 1.5), (4, 3.0), (8, 4.0), (400, 9.0)] {
            let grown = outlook.error_after(TimeDelta::hours(hours)).kelvin();
            assert!((grown - error).abs() < 1e-9, "{hours} h: {grown}");
        }
        assert_eq!(Outlook::forecast(KelvinDelta::new(1.0), at(0), &points[..1]), None);
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

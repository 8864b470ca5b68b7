//! The expected temperature and humidity after the last reading, with their errors.
//!
//! Without a forecast the last reading is held. Its error grows as the place's own record has changed; see
//! [`record`]. A forecast has its own temperatures, humidity and errors. The humidity error grows with the
//! temperature error.

use std::sync::{Arc, LazyLock};

use chrono::TimeDelta;

mod growth;
mod record;

pub(super) use growth::FilmGrowth;
use growth::{FilmError, Growth, HOUR, KNOTS};

use super::history::{History, seconds_between};
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

/// Default error of a hygrometer, as a fraction of saturation: 4 % RH. Instrument makers state 3 to 5 % (common
/// practice, no source).
const HYGROMETER_ERROR: f64 = 0.04;
/// Humidity error per kelvin of grown temperature error, as a fraction of saturation. At constant vapour 1 K
/// changes the relative humidity by d(ln e_s)/dT = 6.2 % of its value at 20 °C (Magnus formula of WMO-No. 8): 4
/// % RH at 65 % RH. On the record of a ventilated attic the vapour itself changes too: with vapour held, nine
/// in ten are within 11 % RH after 3 h (`tests/library/air/attic.rs`).
const HUMIDITY_PER_KELVIN: f64 = 0.04;
/// The same with a forecast humidity: on that record 6 % RH after 3 h and after 24 h.
const HUMIDITY_PER_KELVIN_FORECAST: f64 = 0.02;
/// Drift of the humidity, as a fraction of saturation per √h (fitted, see `docs/cure.md`).
const HUMIDITY_DRIFT: f64 = 0.025;
const HUMIDITY_DRIFT_FORECAST: f64 = 0.012;
/// Upper limit of the mean humidity error, as a fraction of saturation (fitted).
const HUMIDITY_MOST: f64 = 0.2;
const HUMIDITY_MOST_FORECAST: f64 = 0.08;
/// Between two readings both ends are known, so the error is smaller than after one of them by this factor
/// (fitted).
const BETWEEN: f64 = 0.95;
/// Air that warms gets drier. A film that takes its hardener from the vapour is then sped up by the one and
/// slowed by the other: its humidity error grows by this factor of that of a film that dries (fitted).
const OPPOSED: f64 = 0.3;
/// The residual of a shop model contains part of the error of the outdoor record: their sum is scaled by this
/// (fitted).
const OVERLAP: f64 = 0.9;

/// The error of every reading, and what is expected after the last one.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    thermometer_error: KelvinDelta,
    hygrometer_error: Humidity,
    /// The expected stretches, ascending; the last one has no end.
    expected: Arc<[Stretch]>,
    /// Growth of the error after the last reading.
    growth: Arc<Growth>,
    /// Growth of the error inside gaps, where no forecast helps.
    in_gaps: Arc<Growth>,
    forecast: bool,
}

/// A point of a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForecastPoint {
    /// When.
    pub at: Moment,
    /// Air temperature.
    pub air: Celsius,
    /// Relative humidity; None: as in the last reading.
    pub humidity: Option<Humidity>,
    /// Error of the air temperature, without the thermometer's.
    pub error: KelvinDelta,
}

/// A stretch after the last reading over which the expected values are linear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    /// Seconds after the last reading.
    pub from: f64,
    /// Its end; infinite for the last one.
    pub to: f64,
    /// The temperatures at both ends in kelvin; None: the last reading is held.
    pub kelvin: Option<(f64, f64)>,
    /// The humidity at both ends as a fraction; None: as in the last reading.
    pub humidity: Option<(f64, f64)>,
}

/// The last reading, held without end.
const HELD: Stretch = Stretch { from: 0.0, to: f64::INFINITY, kelvin: None, humidity: None };

impl Default for Outlook {
    fn default() -> Self {
        Self::held(KelvinDelta::new(1.0))
    }
}

impl Outlook {
    /// The last reading held, in a place whose record is unknown: it may swing like a light shed in the sun.
    pub fn held(thermometer_error: KelvinDelta) -> Self {
        static UNKNOWN: LazyLock<(Arc<Growth>, Arc<Growth>)> = LazyLock::new(|| {
            let growth = record::unknown();
            (Arc::new(growth.never_shrinking()), Arc::new(growth))
        });
        let (in_gaps, growth) = UNKNOWN.clone();
        Self {
            thermometer_error,
            hygrometer_error: Humidity::from_fraction(HYGROMETER_ERROR),
            expected: Arc::new([HELD]),
            in_gaps,
            growth,
            forecast: false,
        }
    }

    /// The last reading held. The error grows as a record of the same place has changed: nine in ten of its
    /// changes over the same number of hours were smaller. A record shorter than three days, or with fewer than
    /// one reading in three hours, gives the swing of the place only; less than three hours give nothing.
    pub fn from_record(record: &History, thermometer_error: KelvinDelta) -> Self {
        let growth = Arc::new(record::growth(record.nodes()));
        Self { in_gaps: Arc::new(growth.never_shrinking()), growth, ..Self::held(thermometer_error) }
    }

    /// A forecast for the place from its last reading at `base` on; points ascending in time, the first at
    /// `base`. After the last point it is held, and the error grows by 0.68 K·√(t/h), 8 K at most. None with
    /// fewer than two points.
    pub fn forecast(thermometer_error: KelvinDelta, base: Moment, points: &[ForecastPoint]) -> Option<Self> {
        let ends = points.windows(2).filter(|pair| pair[1].at > pair[0].at);
        let after = |point: &ForecastPoint| seconds_between(base, point.at);
        let mut expected: Vec<Stretch> = ends
            .map(|pair| {
                let (a, b) = (pair[0], pair[1]);
                Stretch {
                    from: after(&a),
                    to: after(&b),
                    kelvin: Some((a.air.kelvin(), b.air.kelvin())),
                    humidity: a.humidity.zip(b.humidity).map(|(a, b)| (a.fraction(), b.fraction())),
                }
            })
            .collect();
        let last = *expected.last()?;
        let both = |ends: Option<(f64, f64)>| ends.map(|ends| (ends.1, ends.1));
        expected.push(Stretch {
            from: last.to,
            to: f64::INFINITY,
            kelvin: both(last.kelvin),
            humidity: both(last.humidity),
        });
        let known: Vec<(f64, f64)> =
            points.iter().map(|point| (after(point), point.error.kelvin())).collect();
        let mut next = 0;
        let error_at = |seconds: f64| {
            while known.get(next).is_some_and(|point| point.0 <= seconds) {
                next += 1;
            }
            match (next.checked_sub(1).map(|index| known[index]), known.get(next)) {
                (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (seconds - a.0) / (b.0 - a.0),
                (Some(a), None) => a.1 + growth::drifted(seconds - a.0),
                (None, _) => 0.0,
            }
        };
        let growth = Arc::new(Growth::of_forecast(error_at));
        let held = Self::held(thermometer_error);
        Some(Self { expected: expected.into(), growth, forecast: true, ..held })
    }

    /// With another error of the hygrometer than 4 % RH.
    #[must_use]
    pub fn with_hygrometer_error(self, hygrometer_error: Humidity) -> Self {
        Self { hygrometer_error, ..self }
    }

    /// With the growth of another outlook inside gaps: the record shows it, a forecast does not.
    #[must_use]
    pub fn with_growth_of(self, record: &Self) -> Self {
        Self { in_gaps: Arc::clone(&record.in_gaps), ..self }
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

    /// The 0.9 quantile of the temperature error, `after` after the last reading.
    pub fn error_after(&self, after: TimeDelta) -> KelvinDelta {
        KelvinDelta::new(self.base().hypot(self.grown_after(after).kelvin()))
    }

    /// The same without the error of the thermometer.
    pub fn grown_after(&self, after: TimeDelta) -> KelvinDelta {
        KelvinDelta::new(self.growth.at(after.as_seconds_f64().max(0.0)).point)
    }

    /// The temperature error in kelvin, `depth` seconds from the nearer end of a gap.
    pub(super) fn error_in_gap(&self, depth: f64) -> f64 {
        self.base().hypot(BETWEEN * self.in_gaps.at(depth).point)
    }

    /// What a film adds to its error in kelvin over the seconds after the last reading. It began `start`
    /// seconds after that reading (negative: before).
    pub(super) fn film_error(&self, start: f64) -> FilmGrowth<'_> {
        let scale = if self.forecast { OVERLAP } else { 1.0 };
        self.growth.of_film(self.film_of(scale), start)
    }

    /// The same for the humidity as a fraction; the seconds count from the last measured humidity. `opposed`:
    /// for a film that damp air speeds up.
    pub(super) fn film_humidity_error(&self, opposed: bool, start: f64) -> FilmGrowth<'_> {
        let (per_kelvin, drift) = if self.forecast {
            (HUMIDITY_PER_KELVIN_FORECAST, HUMIDITY_DRIFT_FORECAST)
        } else {
            (HUMIDITY_PER_KELVIN, HUMIDITY_DRIFT)
        };
        let scale = if opposed { OPPOSED * per_kelvin } else { per_kelvin };
        self.growth.of_film(self.damp_film_of(scale, drift), start)
    }

    /// What a film adds to its error in kelvin, `depth` seconds from the nearer end of a gap.
    pub(super) fn film_error_in_gap(&self, depth: f64) -> f64 {
        self.in_gaps.of_film(self.film_of(BETWEEN), 0.0).at(depth)
    }

    /// The same for the humidity as a fraction.
    pub(super) fn film_humidity_error_in_gap(&self, opposed: bool, depth: f64) -> f64 {
        let share = if opposed { OPPOSED * BETWEEN } else { BETWEEN };
        let (scale, drift) = (share * HUMIDITY_PER_KELVIN, share * HUMIDITY_DRIFT);
        self.in_gaps.of_film(self.damp_film_of(scale, drift), 0.0).at(depth)
    }

    fn film_of(&self, scale: f64) -> FilmError {
        FilmError { steady: self.base(), scale, drift: 0.0, most: f64::INFINITY }
    }

    fn damp_film_of(&self, scale: f64, drift: f64) -> FilmError {
        let steady = self.hygrometer_error.fraction();
        let most = if self.forecast { HUMIDITY_MOST_FORECAST } else { HUMIDITY_MOST };
        FilmError { steady, scale, drift, most: most.max(steady) }
    }

    /// The seconds after a reading between which the errors are linear.
    pub(super) fn knots() -> impl DoubleEndedIterator<Item = f64> + Clone {
        KNOTS.iter().map(|hours| hours * HOUR)
    }

    /// One of them.
    pub(super) fn knot(index: usize) -> Option<f64> {
        KNOTS.get(index).map(|hours| hours * HOUR)
    }

    fn base(&self) -> f64 {
        self.thermometer_error.kelvin()
    }

    /// The expected temperature in kelvin and humidity, `seconds` after the last reading; None if the reading
    /// is held.
    pub(super) fn expected_after(&self, seconds: f64) -> (Option<f64>, Option<f64>) {
        let index = self.expected.partition_point(|stretch| stretch.to <= seconds);
        let Some(stretch) = self.expected.get(index) else { return (None, None) };
        let at = |ends: (f64, f64)| stretch.between(ends, seconds);
        (stretch.kelvin.map(at), stretch.humidity.map(at))
    }

    /// The expected stretches after the last reading; the last one has no end.
    pub(super) fn stretches(&self) -> &[Stretch] {
        &self.expected
    }
}

impl Stretch {
    /// Linear interpolation between two ends.
    pub(super) fn between(&self, ends: (f64, f64), seconds: f64) -> f64 {
        if self.to.is_infinite() {
            return ends.0;
        }
        let share = ((seconds - self.from) / (self.to - self.from)).clamp(0.0, 1.0);
        ends.0 + (ends.1 - ends.0) * share
    }
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
    fn a_place_without_a_record_may_swing_like_a_light_shed() {
        let outlook = Outlook::held(KelvinDelta::new(1.0));
        // The swing of 8 K, the drift of 0.68 K·√h and the thermometer's 1 K, as independent errors.
        for (hours, error) in [(0, 1.0), (12, 8.400), (48, 9.338), (1000, 11.358)] {
            let grown = outlook.error_after(TimeDelta::hours(hours)).kelvin();
            assert!((grown - error).abs() < 1e-3, "{hours} h: {grown}");
        }
    }

    #[test]
    fn six_hours_of_readings_distinguish_a_slow_shop_from_a_light_one() {
        let warming = |kelvin_an_hour: f64| record(6, move |hour| 12.0 + kelvin_an_hour * hour);
        let error = |shop: &History| {
            let outlook = Outlook::from_record(shop, KelvinDelta::new(1.0));
            outlook.error_after(TimeDelta::hours(12)).kelvin()
        };
        let (slow, light) = (error(&warming(0.1)), error(&warming(0.8)));
        assert!(slow < 3.0 && light > 7.0, "{slow} {light}");
    }

    #[test]
    fn one_reading_a_day_distinguishes_them_too() {
        let daily = |kelvin: f64| {
            let readings = (0..8).map(|day| Reading {
                at: Moment::UNIX_EPOCH + TimeDelta::days(day),
                air: Celsius::new(15.0 + if day % 2 == 0 { kelvin } else { 0.0 }),
                humidity: None,
                surface: None,
            });
            History::new(readings, Outlook::default())
        };
        let error = |shop: &History| {
            Outlook::from_record(shop, KelvinDelta::new(1.0)).error_after(TimeDelta::hours(12)).kelvin()
        };
        let (slow, light) = (error(&daily(0.6)), error(&daily(2.5)));
        assert!(slow < 3.0 && light > 8.0, "{slow} {light}");
    }

    #[test]
    fn the_error_of_a_steady_shop_does_not_grow() {
        let outlook = Outlook::from_record(&record(100, |_| 15.0), KelvinDelta::new(0.5));
        assert!((outlook.error_after(TimeDelta::hours(30)).kelvin() - 0.5).abs() < 1e-9);
    }

    #[test]
    fn the_error_of_a_shop_that_swings_day_and_night_grows_to_its_swing() {
        let swing = record(24 * 10, |hour| 15.0 + 5.0 * (hour / 24.0 * std::f64::consts::TAU).sin());
        let outlook = Outlook::from_record(&swing, KelvinDelta::new(1.0));
        let twelve = outlook.error_after(TimeDelta::hours(12)).kelvin();
        assert!((9.0..=11.0).contains(&twelve), "{twelve}");
        let day = outlook.error_after(TimeDelta::hours(24)).kelvin();
        assert!(day >= twelve, "the error never shrinks: {day} after {twelve}");
    }

    #[test]
    fn a_forecast_has_its_own_temperature_and_error_and_is_held_after_its_end() {
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
        for (hours, grown_by) in [(0, 0.0), (1, 0.5), (4, 2.0), (8, 3.36), (400, 10.0)] {
            let error = f64::hypot(1.0, grown_by);
            let grown = outlook.error_after(TimeDelta::hours(hours)).kelvin();
            assert!((grown - error).abs() < 1e-9, "{hours} h: {grown}");
        }
        assert_eq!(Outlook::forecast(KelvinDelta::new(1.0), at(0), &points[..1]), None);
    }
}

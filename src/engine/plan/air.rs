//! The air of a plan: the forecast, then the assumed air, and with heating at least that temperature.

use chrono::TimeDelta;

use super::climatology::{AirBasis, Climate, Climatology, Runs};
use super::scenario::{ExpectedDamp, ExpectedHour};
use crate::engine::air::{Air, Spread, SurfaceLine, VapourPressure, humidity_at, vapour_pressure};
use crate::engine::assess::Sky;
use crate::engine::cure::{ForecastPoint, History, Outlook, Reading};
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Millimetres, Moment};

/// The air of a place.
#[derive(Debug, Clone, Copy)]
pub struct PlaceAir<'a> {
    /// Its name.
    pub name: &'a str,
    /// The readings, and what is expected after them.
    pub history: &'a History,
    /// Rain, in the hours that begin at these moments.
    pub rain: &'a [(Moment, Millimetres)],
    /// End of the forecast.
    pub known_until: Moment,
    /// The climates of the place; the first one that has a date counts for it.
    pub climates: &'a [Climate],
    /// What the judgement of a coat rests on, where there are readings; it decides for the coming hours.
    pub sky: Option<&'a Sky>,
}

/// The air of a place over the plan's time, by the hour.
#[derive(Debug, Clone)]
pub struct Expected {
    line: History,
    readings: Vec<Reading>,
    /// Cumulative sum of the temperatures before each hour.
    sums: Vec<f64>,
    /// And of the relative humidities, as far as known from the first hour on.
    damp: Vec<f64>,
    /// The spread of each hour.
    spread: Vec<HourSpread>,
    thermometer: KelvinDelta,
    hygrometer: Humidity,
    growth: Outlook,
    from: Moment,
    heated: Option<Celsius>,
    /// After this the air is assumed, not forecast.
    pub known_until: Moment,
    /// The sources of the assumed air.
    runs: Runs,
}

/// The spread of an hour around its expected value.
#[derive(Debug, Clone, Copy, Default)]
struct HourSpread {
    /// 0.9 quantile of the temperature deviation, in K; None without a record.
    air: Option<f64>,
    /// The same for the vapour, and its correlation with the temperature.
    damp: Option<(VapourPressure, f64)>,
}

/// Days until the slowest film is cured.
const LONGEST_CURE: u32 = 90;
/// Correlation time of the weather's error in hours: it decays as e^(−t/36 h) (common practice in weather, no
/// source).
pub(super) const FADES_IN: f64 = 36.0;
const HOUR: TimeDelta = TimeDelta::hours(1);
/// The air before `now` that affects a surface.
const BEFORE: TimeDelta = TimeDelta::days(3);

impl Expected {
    /// The air from `now` on for `days` days; None without any reading if the season has no climate.
    pub fn of(place: &PlaceAir<'_>, now: Moment, days: u32, heat: Option<Celsius>) -> Option<Self> {
        let history = place.history;
        let behind = Climatology::of(history, place.climates, place.known_until);
        let mut runs = Runs::default();
        let begin = now - BEFORE;
        // A plan of this length still needs the cure after the last coat.
        let hours = i32::try_from((days + LONGEST_CURE) * 24 + 96).unwrap_or(i32::MAX);
        let mut last = None;
        let mut expected = |at: Moment| {
            let known = history.air_at(at).filter(|_| at <= place.known_until);
            if let Some(air) = known {
                return Some((air, history.humidity_at(at), HourSpread::forecast(&behind, at)));
            }
            let Some(assumed) = behind.at(at) else { return last };
            let spread = HourSpread::of(assumed.spread);
            runs.note(at, assumed.basis);
            last = Some((assumed.air, assumed.humidity, spread));
            last
        };
        let (mut readings, mut spread) = (Vec::new(), Vec::new());
        for hour in 0..=hours {
            let at = begin + HOUR * hour;
            let (air, humidity, stray) = expected(at)?;
            let (air, humidity) = match heat.filter(|_| at >= now - HOUR) {
                Some(heat) => heated(air, humidity, heat),
                None => (air, humidity),
            };
            readings.push(Reading { at, air, humidity, surface: None });
            spread.push(stray);
        }
        let thermometer = history.outlook().thermometer_error();
        let hygrometer = history.outlook().hygrometer_error();
        let sums = std::iter::once(0.0).chain(readings.iter().scan(0.0, |sum, reading| {
            *sum += reading.air.kelvin();
            Some(*sum)
        }));
        let known = readings.iter().map_while(|reading| reading.humidity);
        let damp = std::iter::once(0.0).chain(known.scan(0.0, |sum, humidity| {
            *sum += humidity.fraction();
            Some(*sum)
        }));
        Some(Self {
            damp: damp.collect(),
            sums: sums.collect(),
            spread,
            line: History::new(
                readings.iter().copied(),
                Outlook::held(thermometer).with_hygrometer_error(hygrometer),
            ),
            readings,
            thermometer,
            hygrometer,
            growth: history.outlook().clone(),
            from: now,
            heated: heat,
            known_until: place.known_until.max(now),
            runs,
        })
    }

    /// The sources of the assumed air, up to a moment.
    pub fn basis(&self, until: Moment) -> Vec<AirBasis> {
        self.runs.until(until)
    }

    /// The air at a moment.
    pub fn air_at(&self, at: Moment) -> Option<Celsius> {
        self.line.air_at(at)
    }

    /// The temperature and humidity over time.
    pub fn line(&self) -> &History {
        &self.line
    }

    /// A surface that follows the air.
    pub fn surface(&self, lag: TimeDelta) -> SurfaceLine {
        SurfaceLine::new(&self.readings, lag)
    }

    /// The air for judging suitability: the assumed air counts like a forecast.
    pub fn air<'a>(&'a self, place: &PlaceAir<'a>, surface: &'a SurfaceLine) -> Air<'a> {
        let known_until = self.line.last_reading().unwrap_or(self.known_until);
        Air {
            history: &self.line,
            surface,
            rain: place.rain,
            known_until,
            humidity_old: None,
            dry_until: None,
        }
    }

    /// The hours for a simulation; each has a standard deviation of its 0.9 quantile / `spreads`.
    pub(super) fn hours(&self, spreads: f64) -> impl Iterator<Item = ExpectedHour> + '_ {
        self.readings.iter().zip(&self.spread).map(move |(reading, spread)| {
            let after = reading.at - self.from;
            // Readings have no spread.
            let behind = after > TimeDelta::zero();
            let off = self.error_of(reading.at, reading.air, after).kelvin() / spreads;
            let damp = reading.humidity.map(|humidity| {
                let (spread, together) = spread.damp.unwrap_or((VapourPressure::from_hectopascals(0.0), 0.0));
                let spans = after.as_seconds_f64() / 3600.0 / FADES_IN;
                let grown = (-(-2.0 * spans).exp_m1()).max(0.0).sqrt();
                let off = if behind { spread.hectopascals() / spreads * grown } else { 0.0 };
                let vapour = vapour_pressure(reading.air, humidity);
                ExpectedDamp { vapour, off: VapourPressure::from_hectopascals(off), together }
            });
            let off = KelvinDelta::new(if behind { off } else { 0.0 });
            ExpectedHour { reading: *reading, off, damp }
        })
    }

    /// The air as it will be known for a coat at `start`: the shop is read at that moment. From then on the
    /// error grows as after any reading of the place, at most to the spread of the record around its mean day.
    ///
    /// Today's error, grown for weeks, would be larger and no window would be certain; but everybody reads the
    /// thermometer before a coat. After a week, days count by their mean.
    pub fn as_known_at(&self, start: Moment) -> History {
        let point = |after: TimeDelta, mean: (Option<Celsius>, Option<Humidity>)| {
            let at = start + after;
            let (air, humidity) = self.on_the_hour(at);
            let (air, humidity) = (mean.0.unwrap_or(air), mean.1.or(humidity));
            let error = self.error_of(at, air, after);
            ForecastPoint { at, air, humidity, error }
        };
        let hours =
            (0..48).chain((48..168).step_by(3)).map(|hour| point(TimeDelta::hours(hour), (None, None)));
        let days = (7..i64::from(LONGEST_CURE)).map(|day| {
            let after = TimeDelta::days(day);
            point(after, self.mean_of_day(start + after))
        });
        let points: Vec<ForecastPoint> = hours.chain(days).collect();
        let outlook = Outlook::forecast(self.thermometer, start, &points);
        let reading = points.first().map(|first| Reading {
            at: start,
            air: first.air,
            humidity: first.humidity,
            surface: None,
        });
        History::new(reading, outlook.unwrap_or_default().with_hygrometer_error(self.hygrometer))
    }

    /// The error of the air, by the time after a reading, without the thermometer's error.
    pub fn error_after(&self, at: Moment, after: TimeDelta) -> KelvinDelta {
        self.air_at(at).map_or(KelvinDelta::new(0.0), |air| self.error_of(at, air, after))
    }

    fn error_of(&self, at: Moment, air: Celsius, after: TimeDelta) -> KelvinDelta {
        let grown = self.growth.grown_after(after).kelvin();
        let spread = self.spread.get(self.hour_of(at).0).and_then(|spread| spread.air);
        let grown = spread.map_or(grown, |spread| grown.min(spread));
        // A thermostat has no spread.
        let steady = self.heated.is_some_and(|heat| air <= heat);
        KelvinDelta::new(if steady { 0.0 } else { grown.max(0.0) })
    }

    /// The air at a moment, interpolated between the hours: the same as the line, without a search.
    fn on_the_hour(&self, at: Moment) -> (Celsius, Option<Humidity>) {
        let (index, share) = self.hour_of(at);
        let last = self.readings.len().saturating_sub(1);
        let (Some(from), Some(to)) = (self.readings.get(index), self.readings.get((index + 1).min(last)))
        else {
            return (Celsius::new(20.0), None);
        };
        let between = |a: f64, b: f64| a + (b - a) * share;
        let humidity = from.humidity.zip(to.humidity).map(|(a, b)| between(a.fraction(), b.fraction()));
        let air = Celsius::new(between(from.air.degrees(), to.air.degrees()));
        (air, humidity.map(Humidity::from_fraction))
    }

    /// The index of a moment's hour, and the elapsed share of it.
    fn hour_of(&self, at: Moment) -> (usize, f64) {
        let begin = self.readings.first().map_or(at, |first| first.at);
        let seconds = (at - begin).num_seconds().max(0);
        let last = self.readings.len().saturating_sub(1);
        let index = usize::try_from(seconds / 3600).unwrap_or(last).min(last);
        (index, (seconds % 3600) as f64 / 3600.0)
    }

    /// The mean temperature and humidity of the day around a moment.
    fn mean_of_day(&self, at: Moment) -> (Option<Celsius>, Option<Humidity>) {
        let first = self.readings.first().map_or(at, |first| first.at);
        let hour = usize::try_from((at - first).num_hours() - 12).unwrap_or(usize::MAX);
        let mean = |sums: &[f64]| {
            let (from, to) = (sums.get(hour)?, sums.get(hour.checked_add(24)?)?);
            Some((to - from) / 24.0)
        };
        (mean(&self.sums).map(Celsius::from_kelvin), mean(&self.damp).map(Humidity::from_fraction))
    }

    /// Whether a moment is after the end of the forecast.
    pub fn is_assumed(&self, at: Moment) -> bool {
        at > self.known_until.max(self.from)
    }
}

impl HourSpread {
    fn of(spread: Option<Spread>) -> Self {
        let damp = spread.and_then(|spread| Some((spread.vapour?, spread.together)));
        Self { air: spread.map(|spread| spread.air.kelvin()), damp }
    }

    /// Readings and forecasts deviate no further than the last days did; the season gives the spread of the
    /// vapour if those days do not.
    fn forecast(behind: &Climatology<'_>, at: Moment) -> Self {
        match &behind.day {
            Some(day) if day.spread.vapour.is_some() => Self::of(Some(day.spread)),
            day => {
                let damp = behind.season(at).and_then(|season| Self::of(season.spread).damp);
                Self { air: day.as_ref().map(|day| day.spread.air.kelvin()), damp }
            }
        }
    }
}

/// Air warmed to `heat` with constant vapour.
fn heated(air: Celsius, humidity: Option<Humidity>, heat: Celsius) -> (Celsius, Option<Humidity>) {
    if air >= heat {
        return (air, humidity);
    }
    (heat, humidity.map(|humidity| humidity_at(vapour_pressure(air, humidity), heat)))
}

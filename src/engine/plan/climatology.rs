//! The assumed air after the forecast ends: the season's climate, else the mean day of the last fortnight, else
//! the last reading.
//!
//! The last known deviation from the season decays with the correlation time of the weather's error. That is
//! the expectation of a first-order autoregression after its last value, and so the mean of the draws.

use chrono::TimeDelta;

use super::air::FADES_IN;
use crate::engine::air::{SeasonalMeans, Spread, VapourPressure, humidity_at, vapour_pressure};
use crate::engine::cure::History;
use crate::engine::units::{Celsius, Humidity, Moment};

/// The climate of a place, and its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// The mean hours of the year.
    pub season: SeasonalMeans,
    /// The source of the readings.
    pub from: ClimateFrom,
}

/// The source of a climate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClimateFrom {
    /// The earlier years of the place's own record.
    Record,
    /// A file.
    File {
        /// Its name.
        name: String,
        /// Whether it is outdoor air, taken through the lag of the place.
        outdoors: bool,
    },
}

/// The source of the assumed air.
#[derive(Debug, Clone, PartialEq)]
pub enum AirBasis {
    /// The same days of earlier years, read in the place itself.
    Record {
        /// Fewest years for a date.
        fewest: usize,
        /// Most years for a date.
        most: usize,
    },
    /// The same days of the years of a file.
    File {
        /// Its name.
        name: String,
        /// Whether it is outdoor air, taken through the lag of the place.
        outdoors: bool,
    },
    /// The mean day of this number of recorded days.
    MeanDay(i64),
    /// The last reading held.
    Held(Celsius),
}

/// A shorter record gives no mean day.
const RECORD_AT_LEAST: TimeDelta = TimeDelta::hours(36);
const RECORD_AT_MOST: i64 = 14;
/// Hours inside a longer gap between readings do not count, where others give the whole day.
const LONG_GAP: TimeDelta = TimeDelta::hours(12);
const HOUR: TimeDelta = TimeDelta::hours(1);

impl AirBasis {
    /// Merges the source of another date; false if it is a different one.
    fn takes_in(&mut self, other: &Self) -> bool {
        match (&mut *self, other) {
            (Self::Record { fewest, most }, Self::Record { fewest: few, most: many }) => {
                (*fewest, *most) = ((*fewest).min(*few), (*most).max(*many));
                true
            }
            (this, other) => *this == *other,
        }
    }
}

/// The assumed air of a moment.
pub(super) struct Assumed {
    pub air: Celsius,
    pub humidity: Option<Humidity>,
    pub spread: Option<Spread>,
    pub basis: AirBasis,
}

/// All sources of assumed air for a place.
pub(super) struct Climatology<'a> {
    climates: &'a [Climate],
    pub day: Option<MeanDay>,
    held: Option<Celsius>,
    history: &'a History,
    anomaly: Option<Anomaly>,
}

/// The last known deviation from the season: kelvin, and hectopascals of vapour.
struct Anomaly {
    at: Moment,
    air: f64,
    vapour: f64,
}

impl<'a> Climatology<'a> {
    /// After the readings of a place, and the forecast up to `known_until`.
    pub fn of(history: &'a History, climates: &'a [Climate], known_until: Moment) -> Self {
        let last = history.last_reading();
        let held = last.and_then(|last| history.air_at(last));
        let mut behind = Self { climates, day: MeanDay::of(history), held, history, anomaly: None };
        let known = if history.outlook().is_forecast() { Some(known_until) } else { last };
        behind.anomaly = known.and_then(|at| behind.anomaly_at(at));
        behind
    }

    fn anomaly_at(&self, at: Moment) -> Option<Anomaly> {
        let (season, air) = (self.season(at)?, self.history.air_at(at)?);
        let hectopascals = |air, humidity: Option<Humidity>| {
            humidity.map(|humidity| vapour_pressure(air, humidity).hectopascals())
        };
        let vapour = hectopascals(air, self.history.humidity_at(at));
        let vapour = vapour.zip(hectopascals(season.air, season.humidity)).map(|(now, mean)| now - mean);
        Some(Anomaly { at, air: air.degrees() - season.air.degrees(), vapour: vapour.unwrap_or(0.0) })
    }

    /// The climate of a moment, if its season has any date, plus the decayed deviation.
    fn climate(&self, at: Moment) -> Option<Assumed> {
        let season = self.season(at)?;
        let Some(anomaly) = &self.anomaly else { return Some(season) };
        let left = (-(at - anomaly.at).as_seconds_f64().max(0.0) / 3600.0 / FADES_IN).exp();
        let air = Celsius::new(season.air.degrees() + anomaly.air * left);
        let humidity = season.humidity.map(|humidity| {
            let vapour = vapour_pressure(season.air, humidity).hectopascals() + anomaly.vapour * left;
            humidity_at(VapourPressure::from_hectopascals(vapour.max(0.0)), air)
        });
        Some(Assumed { air, humidity, ..season })
    }

    /// The climate of a moment from other years.
    pub fn season(&self, at: Moment) -> Option<Assumed> {
        self.climates.iter().find_map(|climate| {
            let (air, damp) = climate.season.at(at)?;
            let years = climate.season.years(at);
            let basis = match &climate.from {
                ClimateFrom::Record => AirBasis::Record { fewest: years, most: years },
                ClimateFrom::File { name, outdoors } => {
                    AirBasis::File { name: name.clone(), outdoors: *outdoors }
                }
            };
            // If other years lack the humidity, the last days give it.
            let humidity = damp.or_else(|| self.last_days(at)?.humidity);
            Some(Assumed { air, humidity, spread: climate.season.spread(at), basis })
        })
    }

    /// The assumed air of a moment; None without readings and without a climate.
    pub fn at(&self, at: Moment) -> Option<Assumed> {
        self.climate(at).or_else(|| self.last_days(at))
    }

    fn last_days(&self, at: Moment) -> Option<Assumed> {
        if let Some(day) = &self.day {
            let (air, humidity) = day.at(at);
            let (spread, basis) = (Some(day.spread), AirBasis::MeanDay(day.days));
            return Some(Assumed { air, humidity, spread, basis });
        }
        let held = self.held?;
        let air = self.history.air_at(at).unwrap_or(held);
        let humidity = self.history.humidity_at(at);
        Some(Assumed { air, humidity, spread: None, basis: AirBasis::Held(held) })
    }
}

/// The mean of every hour of the day over the last days of a record.
pub(super) struct MeanDay {
    hours: [(Celsius, Option<VapourPressure>); 24],
    /// The number of days.
    pub days: i64,
    /// Their spread around it.
    pub spread: Spread,
}

impl MeanDay {
    fn of(history: &History) -> Option<Self> {
        let (first, last) = (history.first_reading()?, history.last_reading()?);
        let span = (last - first).min(TimeDelta::days(RECORD_AT_MOST));
        if span < RECORD_AT_LEAST {
            return None;
        }
        // Whole days, so that every hour of the day has the same weight.
        let whole = (span.num_hours() / 24 * 24).max(24);
        // A straight line through a long gap has neither the nights nor the days in it.
        let read = |at: &Moment| history.longest_gap(*at, *at + TimeDelta::minutes(1), LONG_GAP).is_none();
        let all: Vec<Moment> = (0..i32::try_from(whole).ok()?).map(|back| last - HOUR * back).collect();
        let near: Vec<Moment> = all.iter().copied().filter(read).collect();
        let all_day = (0..24).all(|hour| near.iter().any(|at| hour_of_day(*at) == hour));
        let hours = if all_day { near } else { all }.into_iter().map(|at| {
            let air = history.air_at(at)?;
            let vapour = history.humidity_at(at).map(|humidity| vapour_pressure(air, humidity));
            Some((hour_of_day(at), air.degrees(), vapour.map(VapourPressure::hectopascals)))
        });
        let hours = hours.collect::<Option<Vec<_>>>()?;
        let mut sums = [(0.0, 0.0, 0.0, 0_u32); 24];
        for &(hour, air, vapour) in &hours {
            let sum = &mut sums[hour];
            sum.0 += air;
            sum.1 += vapour.unwrap_or(0.0);
            sum.2 += f64::from(u32::from(vapour.is_some()));
            sum.3 += 1;
        }
        let mean = sums.map(|(air, vapour, damp, count)| {
            let vapour = VapourPressure::from_hectopascals(vapour / damp);
            (Celsius::new(air / f64::from(count.max(1))), (damp > 0.0).then_some(vapour))
        });
        let off = hours.iter().map(|&(hour, air, vapour)| {
            let (mean, damp) = mean[hour];
            let vapour = vapour.zip(damp).map(|(vapour, mean)| vapour - mean.hectopascals());
            (air - mean.degrees(), vapour)
        });
        let days = i64::try_from(hours.len() / 24).unwrap_or(1).max(1);
        Some(Self { spread: Spread::of(off), hours: mean, days })
    }

    fn at(&self, at: Moment) -> (Celsius, Option<Humidity>) {
        let (air, vapour) = self.hours[hour_of_day(at)];
        (air, vapour.map(|vapour| humidity_at(vapour, air)))
    }
}

fn hour_of_day(at: Moment) -> usize {
    (at.timestamp().div_euclid(3600).rem_euclid(24)) as usize
}

/// The sources of the assumed air, with the moments at which they change.
#[derive(Debug, Clone, Default)]
pub(super) struct Runs(Vec<(Moment, AirBasis)>);

impl Runs {
    pub fn note(&mut self, at: Moment, basis: AirBasis) {
        if self.0.last().is_none_or(|last| last.1 != basis) {
            self.0.push((at, basis));
        }
    }

    /// All sources up to a moment, in order of first use; the first one in any case.
    pub fn until(&self, until: Moment) -> Vec<AirBasis> {
        let mut all: Vec<AirBasis> = Vec::new();
        for (index, (from, basis)) in self.0.iter().enumerate() {
            let counts = index == 0 || *from < until;
            if counts && !all.iter_mut().any(|known| known.takes_in(basis)) {
                all.push(basis.clone());
            }
        }
        all
    }
}

#[cfg(test)]
mod tests;

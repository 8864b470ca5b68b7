//! What stands for the air that nobody foresees: the climate of the season, where readings of other years show
//! it, else the mean day of the last fortnight, else the last reading held.
//!
//! By how much the last air that is known differs from its season does not vanish at once: it fades by 1/e in
//! the time in which the weather's error does. That is what a first-order autoregression expects behind its last
//! value, and so the middle of what is drawn.

use chrono::TimeDelta;

use super::air::FADES_IN;
use crate::engine::air::{SeasonalMeans, Spread, VapourPressure, humidity_at, vapour_pressure};
use crate::engine::cure::History;
use crate::engine::units::{Celsius, Humidity, Moment};

/// The climate of a place, and where it is from.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// The mean hours of the year.
    pub season: SeasonalMeans,
    /// Whose readings these are.
    pub from: ClimateFrom,
}

/// Where a climate is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClimateFrom {
    /// The earlier years of the place's own record.
    Record,
    /// A file.
    File {
        /// Its name.
        name: String,
        /// Whether it holds the air of the outdoors, which was taken through how the place follows it.
        outdoors: bool,
    },
}

/// What stands for the air that nobody foresees.
#[derive(Debug, Clone, PartialEq)]
pub enum AirBasis {
    /// The same days of earlier years, read in the place itself.
    Record {
        /// So many years speak for some date,
        fewest: usize,
        /// and so many for another.
        most: usize,
    },
    /// The same days of the years of a file.
    File {
        /// Its name.
        name: String,
        /// Whether it holds the air of the outdoors, taken through how the place follows it.
        outdoors: bool,
    },
    /// The mean day of so many days of record.
    MeanDay(i64),
    /// The last reading held.
    Held(Celsius),
}

/// Less record than this shows no mean day.
const RECORD_AT_LEAST: TimeDelta = TimeDelta::hours(36);
const RECORD_AT_MOST: i64 = 14;
const HOUR: TimeDelta = TimeDelta::hours(1);

impl AirBasis {
    /// Takes in what stands for another date; false where that is something else.
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

/// The air of a moment that nobody foresees.
pub(super) struct Assumed {
    pub air: Celsius,
    pub humidity: Option<Humidity>,
    pub spread: Option<Spread>,
    pub basis: AirBasis,
}

/// All that may stand for the air of a place.
pub(super) struct Climatology<'a> {
    climates: &'a [Climate],
    pub day: Option<MeanDay>,
    held: Option<Celsius>,
    history: &'a History,
    anomaly: Option<Anomaly>,
}

/// By how much the last air that is known differs from its season: kelvin, and hectopascals of vapour.
struct Anomaly {
    at: Moment,
    air: f64,
    vapour: f64,
}

impl<'a> Climatology<'a> {
    /// Behind the readings of a place, and what is foreseen until `known_until`.
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

    /// The climate of a moment, where any date of its season was read, and what is left of the last anomaly.
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

    /// The climate of a moment, as other years have it.
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
            // Where other years do not know the damp, it is that of the last days.
            let humidity = damp.or_else(|| self.last_days(at)?.humidity);
            Some(Assumed { air, humidity, spread: climate.season.spread(at), basis })
        })
    }

    /// What stands for a moment; None where neither was anything read nor has the season a climate.
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
    /// Of so many days.
    pub days: i64,
    /// How far these strayed from it.
    pub spread: Spread,
}

impl MeanDay {
    fn of(history: &History) -> Option<Self> {
        let (first, last) = (history.first_reading()?, history.last_reading()?);
        let span = (last - first).min(TimeDelta::days(RECORD_AT_MOST));
        if span < RECORD_AT_LEAST {
            return None;
        }
        // Whole days, so that no hour of the day counts more than another.
        let whole = (span.num_hours() / 24 * 24).max(24);
        let hours = (0..i32::try_from(whole).ok()?).map(|back| {
            let at = last - HOUR * back;
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
        Some(Self { spread: Spread::of(off), hours: mean, days: span.num_days().max(1) })
    }

    fn at(&self, at: Moment) -> (Celsius, Option<Humidity>) {
        let (air, vapour) = self.hours[hour_of_day(at)];
        (air, vapour.map(|vapour| humidity_at(vapour, air)))
    }
}

fn hour_of_day(at: Moment) -> usize {
    (at.timestamp().div_euclid(3600).rem_euclid(24)) as usize
}

/// What stands for the air from when on, as that changes from date to date.
#[derive(Debug, Clone, Default)]
pub(super) struct Runs(Vec<(Moment, AirBasis)>);

impl Runs {
    pub fn note(&mut self, at: Moment, basis: AirBasis) {
        if self.0.last().is_none_or(|last| last.1 != basis) {
            self.0.push((at, basis));
        }
    }

    /// All that stands until a moment, in the order in which it first does; the first one in any case.
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

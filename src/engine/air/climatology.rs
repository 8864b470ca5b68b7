//! The climate of a place by the time of the year: the mean hours of the same days of other years, and how far
//! those days strayed from them.
//!
//! This module is given readings of whatever years. It knows neither where they come from nor what is planned
//! on them. The mean over a window of days is how climates by the day are usually made (common practice, no
//! source); vapour is averaged as pressure, and the relative humidity follows from it.

use chrono::{DateTime, Datelike, TimeDelta};

use super::dew::{VapourPressure, humidity_at, vapour_pressure};
use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

mod days;
mod indoors;
mod spread;

use days::{Day, days_of};
pub use indoors::indoors;
pub use spread::Spread;

/// A year of dates, with its leap day.
const DATES: usize = 366;
const HOURS: usize = 24;

/// The mean air of every hour of the year, as far as readings of any year show it.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonalMeans {
    dates: Vec<Option<Date>>,
}

#[derive(Debug, Clone, PartialEq)]
struct Date {
    hours: [Hour; HOURS],
    spread: Spread,
    years: usize,
}

/// An hour of the day: °C, and hPa where the damp is known.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Hour {
    air: f64,
    vapour: Option<f64>,
}

impl SeasonalMeans {
    /// So many days before and behind a date speak for it. One year then has three weeks of days to a date, of
    /// which some seven know nothing of each other (the weather's error fades in 36 h), while the air moves by
    /// a degree or two between the ends of that time in spring and autumn, out and back.
    pub const DAYS: i64 = 10;
    /// Fewer days than this, a third of a window of one year, show nothing of a date.
    pub const DAYS_AT_LEAST: usize = 7;

    /// From readings in rising order of time. A day counts by the date of its month; the hours are those of
    /// coordinated time, so that a change of the clocks moves no noon. Over more than six hours without a
    /// reading nothing is said. What is no temperature of air is left out, and damp that is no vapour.
    pub fn of(readings: &[Reading]) -> Self {
        let days = days_of(readings);
        let mut of_date: Vec<Vec<&Day>> = vec![Vec::new(); DATES];
        days.iter().for_each(|day| of_date[day.date].push(day));
        let window = |date: usize| {
            let around = -Self::DAYS..=Self::DAYS;
            let dates = around.map(move |off| (date as i64 + off).rem_euclid(DATES as i64) as usize);
            dates.flat_map(|date| of_date[date].iter().copied()).collect::<Vec<_>>()
        };
        Self { dates: (0..DATES).map(|date| Date::of(&window(date))).collect() }
    }

    /// Whether it says nothing of any date.
    pub fn is_empty(&self) -> bool {
        self.dates.iter().all(Option::is_none)
    }

    /// The mean air at a moment, straight between the full hours; None where too few days speak for its date.
    pub fn at(&self, at: Moment) -> Option<(Celsius, Option<Humidity>)> {
        let begun = at.timestamp().rem_euclid(3600);
        let (before, share) = (self.hour(at)?, begun as f64 / 3600.0);
        let after = self.hour(at + TimeDelta::hours(1)).unwrap_or(before);
        let air = Celsius::new(before.air + (after.air - before.air) * share);
        let vapour = before.vapour.map(|first| first + (after.vapour.unwrap_or(first) - first) * share);
        Some((air, vapour.map(|vapour| humidity_at(VapourPressure::from_hectopascals(vapour), air))))
    }

    /// How far the days around a date strayed from its mean hours.
    pub fn spread(&self, at: Moment) -> Option<Spread> {
        self.date(at).map(|date| date.spread)
    }

    /// How many years' worth of days speak for a date: one where it is less than that.
    pub fn years(&self, at: Moment) -> usize {
        self.date(at).map_or(0, |date| date.years)
    }

    fn date(&self, at: Moment) -> Option<&Date> {
        self.dates.get(date_of(at))?.as_ref()
    }

    fn hour(&self, at: Moment) -> Option<Hour> {
        self.date(at).map(|date| date.hours[at.timestamp().div_euclid(3600).rem_euclid(24) as usize])
    }
}

impl Date {
    fn of(days: &[&Day]) -> Option<Self> {
        let mut hours = [Hour { air: 0.0, vapour: None }; HOURS];
        for (index, hour) in hours.iter_mut().enumerate() {
            let mean = |value: fn(&Day, usize) -> f64| {
                let known = days.iter().map(|day| value(day, index)).filter(|value| value.is_finite());
                let (sum, count) = known.fold((0.0, 0), |(sum, count), value| (sum + value, count + 1));
                (count >= SeasonalMeans::DAYS_AT_LEAST).then(|| sum / f64::from(count as u32))
            };
            *hour =
                Hour { air: mean(|day, hour| day.air[hour])?, vapour: mean(|day, hour| day.vapour[hour]) };
        }
        // Damp at night and none by day would be no line.
        if hours.iter().any(|hour| hour.vapour.is_none()) {
            hours.iter_mut().for_each(|hour| hour.vapour = None);
        }
        let off = days.iter().flat_map(|day| {
            let each = hours.iter().enumerate().map(|(index, mean)| {
                let vapour = mean.vapour.map(|mean| day.vapour[index] - mean);
                (day.air[index] - mean.air, vapour.filter(|off| off.is_finite()))
            });
            each.filter(|off| off.0.is_finite())
        });
        let whole = 2 * SeasonalMeans::DAYS as usize + 1;
        let years = ((days.len() + whole / 2) / whole).max(1);
        Some(Self { spread: Spread::of(off), hours, years })
    }
}

/// The date of a moment, counted in a leap year from 0.
fn date_of(at: Moment) -> usize {
    let (day, leap) = (at.ordinal0() as usize, at.date_naive().leap_year());
    if leap || day < 59 { day } else { day + 1 }
}

fn moment_of_hour(hour: i64) -> Option<Moment> {
    DateTime::from_timestamp(hour.checked_mul(3600)?, 0)
}

#[cfg(test)]
mod tests;

//! The typical air of a place by date: hourly means of the same days in other years, and the spread around
//! them.
//!
//! Input: readings of any years. The module knows neither their source nor what is planned with them. A mean
//! over a window of days is the usual way to make a daily climate (common practice, no source). Vapour is
//! averaged as pressure; the relative humidity follows from it.

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

/// Dates in a year, with the leap day.
const DATES: usize = 366;
const HOURS: usize = 24;

/// The mean air of every hour of the year, where readings of any year give it.
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

/// An hour of the day: °C, and hPa where the humidity is known.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Hour {
    air: f64,
    vapour: Option<f64>,
}

impl SeasonalMeans {
    /// Days before and after a date that count for it. One year then gives three weeks of days to a date. About
    /// seven of them are independent (the weather's error decays in 36 h), while the mean moves by only a
    /// degree or two between the ends of that window in spring and autumn.
    pub const DAYS: i64 = 10;
    /// With fewer days than this, a third of the window of one year, a date has no climate.
    pub const DAYS_AT_LEAST: usize = 7;

    /// From readings ascending in time. A day counts by its month and day. Hours are UTC, so a clock change
    /// does not move noon. A gap of more than six hours stays empty. Impossible temperatures and humidities are
    /// dropped.
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

    /// Whether no date has a climate.
    pub fn is_empty(&self) -> bool {
        self.dates.iter().all(Option::is_none)
    }

    /// The mean air at a moment, linear between full hours; None if its date has too few days.
    pub fn at(&self, at: Moment) -> Option<(Celsius, Option<Humidity>)> {
        let begun = at.timestamp().rem_euclid(3600);
        let (before, share) = (self.hour(at)?, begun as f64 / 3600.0);
        let after = self.hour(at + TimeDelta::hours(1)).unwrap_or(before);
        let air = Celsius::new(before.air + (after.air - before.air) * share);
        let vapour = before.vapour.map(|first| first + (after.vapour.unwrap_or(first) - first) * share);
        Some((air, vapour.map(|vapour| humidity_at(VapourPressure::from_hectopascals(vapour), air))))
    }

    /// The spread of the days around a date from its hourly means.
    pub fn spread(&self, at: Moment) -> Option<Spread> {
        self.date(at).map(|date| date.spread)
    }

    /// The number of years that a date's days amount to, at least one.
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
        // A humidity known only at some hours gives no line.
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

/// The day of a leap year, from 0.
fn date_of(at: Moment) -> usize {
    let (day, leap) = (at.ordinal0() as usize, at.date_naive().leap_year());
    if leap || day < 59 { day } else { day + 1 }
}

fn moment_of_hour(hour: i64) -> Option<Moment> {
    DateTime::from_timestamp(hour.checked_mul(3600)?, 0)
}

#[cfg(test)]
mod tests;

//! The time axis of all ribbons: its range and its labels.

use chrono::{TimeDelta, Timelike};

use crate::app::view::{AHEAD, BEFORE};
use crate::app::view::{Ribbon, View};
use crate::engine::units::{Civil, Moment};

/// The axis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Axis {
    /// Its left end.
    pub from: Moment,
    /// Its right end.
    pub to: Moment,
    /// Labelled moments: hours, and the weekday at midnight.
    pub ticks: Vec<(Moment, String)>,
}

/// The ranges of the axis, from near to far.
const SPANS: [TimeDelta; 7] = [
    TimeDelta::hours(3),
    TimeDelta::hours(6),
    TimeDelta::hours(12),
    TimeDelta::hours(24),
    TimeDelta::days(3),
    TimeDelta::days(7),
    TimeDelta::days(21),
];

impl Axis {
    /// Number of zoom steps.
    pub const ZOOMS: usize = SPANS.len();

    /// An axis over `columns` cells with now a quarter from the left, moved by `shift` quarters.
    pub fn new(now: Moment, zoom: usize, shift: i32, columns: u16, civil: &Civil) -> Self {
        let span = SPANS[zoom.min(SPANS.len() - 1)];
        let from = now - span / 4 + span / 4 * shift;
        let to = from + span;
        Self { from, to, ticks: ticks(from, to, columns, civil) }
    }

    /// An axis from one moment to another.
    pub fn between(from: Moment, to: Moment, columns: u16, civil: &Civil) -> Self {
        Self { from, to, ticks: ticks(from, to, columns, civil) }
    }

    /// The axis of the weather: the last day and the next three, with now a quarter from the left.
    pub fn of_weather(now: Moment, columns: u16, civil: &Civil) -> Self {
        let (from, to) = (now - BEFORE, now + AHEAD);
        Self { from, to, ticks: ticks(from, to, columns, civil) }
    }

    /// The closest zoom, at least twelve hours, that shows what the areas wait for next. An event more than a
    /// night away does not compress the near ones.
    pub fn fitting(view: &View) -> usize {
        let ahead =
            |ribbon: &Ribbon| ribbon.bands.iter().map(|band| band.from).filter(|at| *at > view.now).min();
        let waits: Vec<TimeDelta> = view.ribbons.iter().filter_map(ahead).map(|at| at - view.now).collect();
        let near = waits.iter().filter(|wait| **wait <= TimeDelta::hours(16)).max();
        let furthest = near.or(waits.iter().min()).copied().unwrap_or(TimeDelta::zero());
        let fits = |span: &TimeDelta| *span >= TimeDelta::hours(12) && *span * 2 / 3 >= furthest;
        SPANS.iter().position(fits).unwrap_or(SPANS.len() - 1)
    }

    /// The position of a moment on the axis, 0 at its left end and 1 at its right.
    pub fn share(&self, moment: Moment) -> f64 {
        (moment - self.from).num_milliseconds() as f64 / (self.to - self.from).num_milliseconds() as f64
    }
}

fn ticks(from: Moment, to: Moment, columns: u16, civil: &Civil) -> Vec<(Moment, String)> {
    let hours = (to - from).num_hours();
    let columns = u64::from(columns.max(12));
    let wanted = (hours.unsigned_abs() * 5).div_ceil(columns).max(1) as i64;
    let step = [1, 2, 3, 6, 12, 24].into_iter().find(|step| *step >= wanted).unwrap_or(24);
    let days = if wanted > 24 { (wanted + 23) / 24 } else { 1 };
    let past_hour = i64::from(from.minute()) * 60 + i64::from(from.second());
    let mut tick = from - TimeDelta::seconds(past_hour);
    let mut ticks = Vec::new();
    let mut midnights = 0;
    while tick < to {
        let local = civil.local(tick);
        // Zones offset by a fraction of an hour have their full hours beside those of UTC.
        let full = tick - TimeDelta::minutes(i64::from(local.minute()));
        let local = civil.local(full);
        if full >= from && i64::from(local.hour()) % step == 0 {
            if local.hour() == 0 {
                midnights += 1;
                if midnights % days == 0 {
                    let label =
                        if days > 1 { local.format("%a %-d").to_string() } else { civil.weekday(full) };
                    ticks.push((full, label));
                }
            } else {
                ticks.push((full, civil.hour(full)));
            }
        }
        tick += TimeDelta::hours(1);
    }
    ticks
}

#[cfg(test)]
mod tests;

//! The uncertainty of the date: the plan simulated many times with other weather and another pace.
//!
//! Weather deviates from the expected (see `scenario`), the pace as in the record, and a simulated worker
//! follows the plan (see `simulate`).

use chrono::TimeDelta;

use super::planning::Planning;
use super::problem::{Placed, Schedule};
use super::scenario::{Chance, ScenarioSource};
use super::simulate::Simulation;
use crate::engine::units::Moment;

/// The simulated ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    /// The seed; the same seed gives the same figures.
    pub seed: u64,
    /// The ends, ascending, without those outside the horizon.
    pub ends: Vec<Moment>,
    /// The number of draws.
    pub count: usize,
    /// Spread of the pace: one standard deviation, as a fraction.
    pub pace: f64,
    /// Whether it comes from the record.
    pub pace_known: bool,
}

impl Draws {
    /// No draw at all.
    const fn none(seed: u64) -> Self {
        Self { seed, ends: Vec::new(), count: 0, pace: PACE, pace_known: false }
    }

    /// The share of the simulations that end by a moment.
    pub fn share_by(&self, by: Moment) -> f64 {
        self.ends.partition_point(|end| *end <= by) as f64 / self.count.max(1) as f64
    }

    /// A percentile of the ends, linear between the nearest ranks (method 7 of Hyndman and Fan, 1996). None if
    /// it lies outside the horizon.
    pub fn percentile(&self, percent: f64) -> Option<Moment> {
        let rank = (self.count.checked_sub(1)? as f64) * percent / 100.0;
        let (low, share) = (rank.floor() as usize, rank.fract());
        let from = *self.ends.get(low)?;
        if share == 0.0 {
            return Some(from);
        }
        let to = *self.ends.get(low + 1)?;
        Some(from + TimeDelta::milliseconds(((to - from).num_milliseconds() as f64 * share).round() as i64))
    }
}

/// Default spread of the pace (common practice, no source).
const PACE: f64 = 0.15;
/// A film is cured this long after the plan's end.
const LONGEST: TimeDelta = TimeDelta::days(40);

impl Planning<'_> {
    /// Simulates a schedule `count` times.
    pub fn draws(&self, schedule: &Schedule, count: usize, seed: u64) -> Draws {
        self.draws_while(schedule, count, seed, &mut |_| true).unwrap_or_else(|| Draws::none(seed))
    }

    /// The same with a progress callback; None if it ends the run.
    pub fn draws_while(
        &self,
        schedule: &Schedule,
        count: usize,
        seed: u64,
        wanted: &mut dyn FnMut(usize) -> bool,
    ) -> Option<Draws> {
        let mut chance = Chance::of(seed);
        let pace = self.input().pace.unwrap_or(PACE);
        let mut order: Vec<&Placed> = schedule.placed.iter().collect();
        order.sort_by_key(|placed| self.problem.start(placed));
        let last = self.grid.moment(schedule.service) + LONGEST;
        let places: Vec<ScenarioSource> =
            (0..self.air.len()).map(|place| self.scenario_source(place, last)).collect();
        let mut ends = Vec::new();
        for done in 0..count {
            if !wanted(done) {
                return None;
            }
            let weather = places.iter().map(|place| place.draw(&mut chance)).collect();
            let life = Simulation::new(self, weather);
            ends.extend(life.through(&order, pace, &mut chance));
        }
        ends.sort();
        Some(Draws { seed, ends, count, pace, pace_known: self.input().pace.is_some() })
    }
}

#[cfg(test)]
mod held_back;
#[cfg(test)]
mod tests {
    use super::*;

    const HOUR: TimeDelta = TimeDelta::hours(1);

    fn draws(hours: &[i64], count: usize) -> Draws {
        let ends = hours.iter().map(|hours| Moment::UNIX_EPOCH + HOUR * (*hours as i32)).collect();
        Draws { seed: 1, ends, count, pace: PACE, pace_known: false }
    }

    #[test]
    fn a_percentile_is_interpolated_between_its_ranks() {
        let at = |hours: f64| Some(Moment::UNIX_EPOCH + TimeDelta::seconds((hours * 3600.0) as i64));
        assert_eq!(draws(&[1, 2, 4], 3).percentile(50.0), at(2.0));
        assert_eq!(draws(&[1, 2, 4], 3).percentile(90.0), at(3.6));
        assert_eq!(draws(&[7], 1).percentile(90.0), at(7.0));
        assert_eq!(draws(&[], 0).percentile(50.0), None);
    }

    #[test]
    fn where_too_many_draws_do_not_end_there_is_no_date() {
        assert_eq!(draws(&[1, 2], 10).percentile(90.0), None);
    }
}

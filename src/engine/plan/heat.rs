//! Heating hours: when the shop is colder than its set temperature.
//!
//! The heater is assumed to run all of that time, so its energy is an upper limit: the true need depends on the
//! shop's walls.

use chrono::TimeDelta;

use super::air::Expected;
use super::planning::{AreaFilms, Planning};
use super::precedence::{Part, Windows, part_of};
use super::problem::{Placed, Schedule, Tick};
use crate::engine::units::Moment;

/// The hours of heating of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Heating {
    /// From now until the piece is in service.
    pub always: TimeDelta,
    /// Only from a coat's first stroke until the next step starts or may start.
    pub while_curing: TimeDelta,
}

/// The time step.
const STEP: TimeDelta = TimeDelta::minutes(15);

impl Planning<'_> {
    /// The heating hours of a schedule; None without heating.
    pub(super) fn heating(&self, schedule: &Schedule) -> Option<Heating> {
        let heat = self.input.heat?;
        let mut heating = Heating { always: TimeDelta::zero(), while_curing: TimeDelta::zero() };
        let service = self.grid.moment(schedule.service);
        for (index, place) in self.input.places.iter().enumerate() {
            let Some(cold) = Expected::of(place, self.input.now, self.input.days, None) else { continue };
            let curing = self.curing(index, schedule);
            let mut at = self.input.now;
            while at < service {
                if cold.air_at(at).is_some_and(|air| air < heat) {
                    heating.always += STEP;
                    if curing.iter().any(|(from, to)| *from <= at && at < *to) {
                        heating.while_curing += STEP;
                    }
                }
                at += STEP;
            }
        }
        Some(heating)
    }

    /// The times during which films of a place cure.
    fn curing(&self, place: usize, schedule: &Schedule) -> Vec<(Moment, Moment)> {
        let placed = schedule.placed.iter().enumerate();
        let here = placed.filter(|(_, placed)| self.input.areas[placed.chain].place == place);
        let coats = here.filter(|(_, placed)| part_of(self.problem.node(placed).step).1 == Part::Coat);
        let stretches = coats.map(|(index, placed)| {
            let next = schedule.placed.get(index + 1).filter(|next| next.chain == placed.chain);
            (self.grid.moment(self.problem.start(placed)), self.grid.moment(self.waited_until(placed, next)))
        });
        stretches.collect()
    }

    fn waited_until(&self, placed: &Placed, next: Option<&Placed>) -> Tick {
        let films = AreaFilms { planning: self, area: placed.chain };
        let (coat, _) = part_of(self.problem.node(placed).step);
        let first = self.first_stroke(placed);
        let end = self.problem.end(placed);
        match next {
            None => films.in_service(coat, first).unwrap_or(end),
            Some(next) => {
                let begins = self.problem.start(next);
                let prepared = matches!(part_of(self.problem.node(next).step).1, Part::Prep(_));
                let ready = if prepared { films.sandable(coat, first) } else { films.open(coat, first) };
                // A window is kept warm until its coat.
                if prepared { ready.unwrap_or(begins).min(begins).max(end) } else { begins }
            }
        }
    }
}

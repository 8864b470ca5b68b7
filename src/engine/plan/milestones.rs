//! When each area of a plan may be handled and put into service.

use super::planning::{AreaFilms, Planning};
use super::precedence::{Part, part_of};
use super::problem::{Placed, Schedule};
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// When an area is ready, on the safe side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Milestones {
    /// The area.
    pub area: String,
    /// When it may be handled; None if the profile of its last coat has no such stage.
    pub handled: Option<Moment>,
    /// When it is in service; None if its film never gets there.
    pub service: Option<Moment>,
}

impl Planning<'_> {
    /// The milestones of each area, in the order of the scheme.
    pub(super) fn milestones(&self, schedule: &Schedule) -> Vec<Milestones> {
        let areas = self.input.areas.iter().enumerate();
        areas
            .map(|(number, area)| {
                let placed = || schedule.placed.iter().filter(move |placed| placed.chain == number);
                let coats = placed().filter(|placed| is_coat(self, placed));
                let handled = match coats.max_by_key(|placed| self.problem.start(placed)) {
                    Some(last) => self.handled(last),
                    None => area.newest.as_ref().and_then(|newest| {
                        newest.standing.stage(Stage::Handle).and_then(|stage| stage.latest)
                    }),
                };
                let end = |placed: &Placed| {
                    self.problem.node(placed).done_at(placed.index as usize).max(self.problem.end(placed))
                };
                let done = placed().map(end).max().unwrap_or(0).max(self.problem.chains[number].done);
                let last = placed()
                    .filter(|placed| is_coat(self, placed))
                    .max_by_key(|placed| self.problem.start(placed));
                let cures = last.is_none_or(|last| self.is_in_service(last));
                let known = cures && !self.works[number].stack.ground.done_unknown;
                let service = known.then(|| self.grid.moment(done));
                Milestones { area: area.name.clone(), handled, service }
            })
            .collect()
    }

    /// Whether the film of an area's last coat is ever in service.
    fn is_in_service(&self, last: &Placed) -> bool {
        let films = AreaFilms { planning: self, area: last.chain };
        let (coat, _) = part_of(self.problem.node(last).step);
        films.in_service(coat, self.first_stroke(last)).is_some()
    }

    fn handled(&self, last: &Placed) -> Option<Moment> {
        let films = AreaFilms { planning: self, area: last.chain };
        let (coat, _) = part_of(self.problem.node(last).step);
        films.handled(coat, self.first_stroke(last)).map(|tick| self.grid.moment(tick))
    }
}

fn is_coat(planning: &Planning<'_>, placed: &Placed) -> bool {
    part_of(planning.problem.node(placed).step).1 == Part::Coat
}

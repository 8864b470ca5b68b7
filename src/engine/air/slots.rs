//! When a coat may go on: every start of the coming days at once.
//!
//! The air is checked once at every step and the progress to tack-free summed once. A start is then judged by
//! the next unsuitable step. [`Air::against`] gives the objections to a single start.

use chrono::TimeDelta;

use super::suitability::{AT_MOST, Air, GRAIN, Objection, Task};
use crate::engine::cure::{Bound, Course, Law};
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// No start is searched beyond this.
const HORIZON: TimeDelta = TimeDelta::days(7);

/// The last start of a coat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastStart {
    /// The last moment.
    pub at: Moment,
    /// The objection to a later start.
    pub against: Objection,
    /// And its moment.
    pub from: Moment,
}

/// The coming days, judged for one coat.
#[derive(Debug)]
pub struct Coming<'a> {
    air: &'a Air<'a>,
    task: &'a Task<'a>,
    now: Moment,
    /// For each step, the first step from there on at which the coat may not be applied.
    not_applied: Vec<usize>,
    /// And the first one that would harm a film that is not tack-free.
    not_safe: Vec<usize>,
    /// The progress to tack-free at each step; empty if the profile does not give it.
    progress: Vec<f64>,
    starts: usize,
}

impl<'a> Coming<'a> {
    /// Judges the air from `now` to the end of the forecast.
    pub fn new(air: &'a Air<'a>, task: &'a Task<'a>, now: Moment) -> Self {
        let steps_until = |end: Moment| usize::try_from((end - now).num_minutes() / 10).unwrap_or(0);
        let starts = steps_until(air.known_until.min(now + HORIZON));
        let steps =
            if starts == 0 { 0 } else { steps_until(air.known_until.min(now + HORIZON + AT_MOST)) + 1 };
        let at = |step: usize| now + GRAIN * i32::try_from(step).unwrap_or(i32::MAX);
        let mut reasons = Vec::new();
        let mut forbids = |step: usize, applying: bool| {
            reasons.clear();
            air.at(task, at(step), applying, &mut reasons);
            reasons.iter().any(|(against, _)| against.forbids())
        };
        let (mut not_applied, mut not_safe) = (vec![steps; steps + 1], vec![steps; steps + 1]);
        for step in (0..steps).rev() {
            let rained = task.outdoors && air.rains_between(at(step), at(step) + GRAIN);
            not_applied[step] = if rained || forbids(step, true) { step } else { not_applied[step + 1] };
            not_safe[step] = if rained || forbids(step, false) { step } else { not_safe[step + 1] };
        }
        let progress = task.product.stage(Stage::TackFree).map_or_else(Vec::new, |table| {
            let course = Course::new(air.history, table, Law::minimum(task.product));
            let mut sum = 0.0;
            let each = (0..steps).map(|step| {
                let before = sum;
                sum += course.progress(at(step), at(step + 1), Bound::Coolest);
                before
            });
            each.collect()
        });
        Self { air, task, now, not_applied, not_safe, progress, starts }
    }

    /// The stretches in which the coat may be started and finished, soonest first; none without a forecast.
    /// `may_start` says when the film below allows a coat.
    pub fn slots(&self, may_start: impl Fn(Moment) -> bool) -> Vec<(Moment, Moment)> {
        let mut slots: Vec<(Moment, Moment)> = Vec::new();
        let mut open = false;
        for step in 0..self.starts {
            let start = self.at(step);
            // At the start of a slot, and now, the exact check decides.
            let fits = start + self.task.takes <= self.air.known_until
                && may_start(start)
                && match (step, open) {
                    (0, _) => self.forbidden(step).is_none(),
                    (_, false) => self.fits(step) && self.forbidden(step).is_none(),
                    (_, true) => self.fits(step),
                };
            match slots.last_mut() {
                Some(slot) if fits && open => slot.1 = start + self.task.takes,
                _ if fits => slots.push((start, start + self.task.takes)),
                _ => {}
            }
            open = fits;
        }
        apart(slots, self.task.takes)
    }

    /// The last start within two days, and the objection to a later one; None if the forecast shows none.
    pub fn last_start(&self) -> Option<LastStart> {
        let two_days = 2 * 24 * 6;
        // A step is coarse: the exact check decides.
        (1..self.starts.min(two_days)).filter(|step| !self.fits(*step)).find_map(|step| {
            let forbidden = self.forbidden(step)?;
            Some(LastStart { at: self.at(step - 1), against: forbidden.0, from: forbidden.1 })
        })
    }

    /// The objection that forbids a start.
    fn forbidden(&self, step: usize) -> Option<(Objection, Moment)> {
        self.air.forbids(self.task, self.at(step))
    }

    fn at(&self, step: usize) -> Moment {
        self.now + GRAIN * i32::try_from(step).unwrap_or(i32::MAX)
    }

    fn fits(&self, start: usize) -> bool {
        let last_stroke =
            start + usize::try_from(self.task.takes.num_minutes().max(0)).unwrap_or(0).div_ceil(10);
        let last = self.not_safe.len().saturating_sub(2);
        let safe = self.safe_from(last_stroke).min(last);
        let warms = || {
            let begin = self.at(start);
            self.task.bare_wood
                && self.task.product.seals
                && self.air.warming(begin, begin + self.task.takes).is_some()
        };
        let wet = || self.air.wet_ground(self.task, self.at(start)).is_some();
        self.not_applied[start] > last_stroke.min(last) && self.not_safe[start] > safe && !warms() && !wet()
    }

    /// The step at which a film finished at `last_stroke` is tack-free, or the wait for it ends.
    fn safe_from(&self, last_stroke: usize) -> usize {
        let Some(begun) = self.progress.get(last_stroke) else { return last_stroke };
        let longest = usize::try_from(AT_MOST.num_minutes() / 10).unwrap_or(0);
        let rest = &self.progress[last_stroke..];
        last_stroke + rest.partition_point(|progress| progress - begun < 1.0).min(longest)
    }
}

/// Slots that do not overlap: one ends where the next begins, unless it is then too short for a coat.
fn apart(slots: Vec<(Moment, Moment)>, takes: TimeDelta) -> Vec<(Moment, Moment)> {
    let mut all: Vec<(Moment, Moment)> = Vec::with_capacity(slots.len());
    for (mut from, to) in slots {
        if let Some(before) = all.last_mut() {
            before.1 = before.1.min(from.max(before.0 + takes));
            from = from.max(before.1);
        }
        if to - from >= takes {
            all.push((from, to));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slots_do_not_overlap_and_each_is_long_enough() {
        let at = |minutes: i64| Moment::UNIX_EPOCH + TimeDelta::minutes(minutes);
        let slot = |from: i64, to: i64| (at(from), at(to));
        let takes = TimeDelta::minutes(90);
        assert_eq!(apart(vec![slot(0, 300), slot(400, 600)], takes), [slot(0, 300), slot(400, 600)]);
        assert_eq!(apart(vec![slot(0, 300), slot(260, 600)], takes), [slot(0, 260), slot(260, 600)]);
        assert_eq!(apart(vec![slot(0, 90), slot(40, 600)], takes), [slot(0, 90), slot(90, 600)]);
        assert_eq!(apart(vec![slot(0, 90), slot(40, 130)], takes), [slot(0, 90)]);
    }
}

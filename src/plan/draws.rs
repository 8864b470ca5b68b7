//! How sure the date is: the plan lived through many times, each with other weather and another pace.
//!
//! The weather of a draw strays from what is expected as far as the place's own record does: an
//! autocorrelated error (it fades by 1/e in a day and a half) whose size grows as it grows behind any
//! reading, up to the record's spread around its mean day. The pace of every coat strays as the record's
//! coats did. Whoever lives through it keeps to the plan's order, begins each step as soon as the film, the
//! free hours and the air allow, and sands where a window was missed.

use chrono::TimeDelta;

use super::air::FADES_IN;
use super::planning::Planning;
use super::problem::{Placed, Schedule};
use super::weave::{Part, part_of};
use crate::cure::{Bound, Course, History, Law, Outlook, Reading};
use crate::profile::{Product, Stage, TimeTable};
use crate::units::{Celsius, Moment};

/// Draws of the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    /// What the same figures come from again.
    pub seed: u64,
    /// The ends, soonest first; those that never came inside the days are not among them.
    pub ends: Vec<Moment>,
    /// How many draws there were.
    pub count: usize,
    /// How far the pace strays: one standard deviation, as a share.
    pub pace: f64,
    /// Whether that is from the record.
    pub pace_known: bool,
}

impl Draws {
    /// No draw at all.
    const fn none(seed: u64) -> Self {
        Self { seed, ends: Vec::new(), count: 0, pace: PACE, pace_known: false }
    }

    /// The end that so many in a hundred draws do not pass: straight between the two nearest ranks (the
    /// seventh method of Hyndman and Fan, 1996). None where that many do not end inside the days.
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

/// Nine in ten of a normal distribution lie within so many standard deviations.
const NINE_IN_TEN: f64 = 1.645;
/// How far a pace strays where the record does not show it (common practice, no source).
const PACE: f64 = 0.15;
const HOUR: TimeDelta = TimeDelta::hours(1);
/// A step that does not fit is tried again so much later.
const LATER: TimeDelta = TimeDelta::minutes(5);

impl Planning<'_> {
    /// Lives through a schedule so many times.
    pub fn draws(&self, schedule: &Schedule, count: usize, seed: u64) -> Draws {
        self.draws_while(schedule, count, seed, &mut |_| true).unwrap_or_else(|| Draws::none(seed))
    }

    /// The same, as long as whoever waits for it and is told how many are done wants it; None where they do not any more.
    pub fn draws_while(
        &self,
        schedule: &Schedule,
        count: usize,
        seed: u64,
        wanted: &mut dyn FnMut(usize) -> bool,
    ) -> Option<Draws> {
        let mut chance = Chance(fastrand::Rng::with_seed(seed));
        let pace = self.input().pace.unwrap_or(PACE);
        let mut order: Vec<&Placed> = schedule.placed.iter().collect();
        order.sort_by_key(|placed| self.problem.start(placed));
        let mut ends = Vec::new();
        for done in 0..count {
            if !wanted(done) {
                return None;
            }
            let weather =
                (0..self.air.len()).map(|place| self.weather(place, schedule, &mut chance)).collect();
            let life =
                Life { planning: self, weather, busy: Vec::new(), films: vec![None; self.works.len()] };
            ends.extend(life.through(&order, pace, &mut chance));
        }
        ends.sort();
        Some(Draws { seed, ends, count, pace, pace_known: self.input().pace.is_some() })
    }

    /// The air of a place as it may come.
    fn weather(&self, place: usize, schedule: &Schedule, chance: &mut Chance) -> History {
        let air = &self.air[place];
        let (now, last) = (self.input().now, self.grid.moment(schedule.service) + TimeDelta::days(40));
        let fade = (-1.0 / FADES_IN).exp();
        let mut error = chance.normal();
        let mut readings = Vec::new();
        let mut at = now;
        while at <= last {
            if let Some(expected) = air.air_at(at) {
                let size = air.error_after(at, at - now).kelvin() / NINE_IN_TEN;
                let air = Celsius::new(expected.degrees() + error * size);
                readings.push(Reading { at, air, humidity: air_humidity(self, place, at), surface: None });
            }
            error = error * fade + chance.normal() * (1.0 - fade * fade).sqrt();
            at += HOUR;
        }
        History::new(readings, Outlook::held(air.line().outlook().thermometer_error()))
    }
}

fn air_humidity(planning: &Planning<'_>, place: usize, at: Moment) -> Option<crate::units::Humidity> {
    planning.air[place].line().humidity_at(at)
}

struct Chance(fastrand::Rng);

impl Chance {
    /// A draw of the standard normal distribution (Box and Muller, 1958).
    fn normal(&mut self) -> f64 {
        let (a, b) = (1.0 - self.0.f64(), self.0.f64());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

/// The newest coat of an area in a life.
#[derive(Clone, Copy)]
struct Film {
    coat: usize,
    first_stroke: Moment,
    last_stroke: Moment,
}

struct Life<'p, 'a> {
    planning: &'p Planning<'a>,
    weather: Vec<History>,
    busy: Vec<(Moment, Moment)>,
    films: Vec<Option<Film>>,
}

impl Life<'_, '_> {
    /// When all is in service; None where that is not inside the days.
    fn through(mut self, order: &[&Placed], pace: f64, chance: &mut Chance) -> Option<Moment> {
        let planning = self.planning;
        let mut ready: Vec<Moment> = vec![planning.input().now; self.films.len()];
        let mut prepared: Vec<bool> = vec![false; self.films.len()];
        for placed in order {
            let area = placed.chain;
            let node = planning.problem.node(placed);
            let (coat, part) = part_of(node.step);
            let work = &planning.works[area];
            let length = super::grid::Grid::length(node.length);
            match part {
                Part::Tape => ready[area] = self.take(ready[area], length, None, |_| true)?.1,
                Part::Prep(_) => {
                    // The first preparation waits for the film.
                    let from =
                        if prepared[area] { ready[area] } else { ready[area].max(self.sandable(area)?) };
                    ready[area] = self.take(from, length, None, |_| true)?.1;
                    prepared[area] = true;
                }
                Part::Coat => {
                    let task = &work.stack.coats[coat];
                    let tape = super::grid::Grid::length(task.before);
                    let strayed = (pace * chance.normal()).exp();
                    let takes = super::grid::Grid::length(task.takes).as_seconds_f64() * strayed;
                    let takes = TimeDelta::seconds(takes.round() as i64);
                    let whole = tape + takes + super::grid::Grid::length(task.after);
                    let suits = |life: &Self, start: Moment| life.suits(area, coat, start + tape, takes);
                    let mut slot = None;
                    if !prepared[area]
                        && let Some((opens, closes)) = self.window(area)
                    {
                        let from = ready[area].max(opens - tape);
                        let by = closes.map(|closes| closes - planning.input().lead - takes - tape);
                        slot = self.slot(from, whole, by, |start| suits(&self, start));
                    }
                    let slot = match slot {
                        Some(slot) => slot,
                        None => {
                            if !prepared[area] {
                                ready[area] = self.sand(area, coat, ready[area])?;
                            }
                            self.slot(ready[area], whole, None, |start| suits(&self, start))?
                        }
                    };
                    self.busy.push(slot);
                    let first_stroke = slot.0 + tape;
                    self.films[area] = Some(Film { coat, first_stroke, last_stroke: first_stroke + takes });
                    (ready[area], prepared[area]) = (slot.1, false);
                }
            }
        }
        self.in_service(&ready)
    }

    fn in_service(&self, ready: &[Moment]) -> Option<Moment> {
        let planning = self.planning;
        let mut end = planning.input().now;
        for (area, ready) in ready.iter().enumerate() {
            let done = match self.films[area] {
                Some(film) => {
                    let product = planning.works[area].coats[film.coat].product;
                    let stages = [Stage::FullCure, Stage::Handle, Stage::Sandable, Stage::TackFree];
                    match stages.into_iter().find_map(|stage| product.stage(stage)) {
                        Some(table) => self.minimum(area, product, table, film.last_stroke)?,
                        None => film.last_stroke,
                    }
                }
                None => planning.grid.moment(planning.works[area].stack.ground.done),
            };
            end = end.max(done).max(*ready);
        }
        Some(end)
    }

    /// The sanding that a missed window owes, with its washing.
    fn sand(&mut self, area: usize, coat: usize, ready: Moment) -> Option<Moment> {
        let mut at = ready.max(self.sandable(area)?);
        let preps = &self.planning.works[area].stack.coats[coat].preps;
        let lengths: Vec<_> = preps.iter().map(|prep| super::grid::Grid::length(prep.length)).collect();
        let lengths = if lengths.is_empty() { vec![TimeDelta::minutes(30)] } else { lengths };
        for length in lengths {
            at = self.take(at, length, None, |_| true)?.1;
        }
        Some(at)
    }

    fn history(&self, area: usize) -> &History {
        &self.weather[self.planning.input().areas[area].place]
    }

    fn minimum(&self, area: usize, product: &Product, table: &TimeTable, from: Moment) -> Option<Moment> {
        Course::new(self.history(area), table, Law::of(product)).crossing(from, 1.0, Bound::Coolest)
    }

    fn sandable(&self, area: usize) -> Option<Moment> {
        let Some(film) = self.films[area] else {
            let sandable = self.planning.works[area].stack.ground.sandable?;
            return Some(self.planning.grid.moment(sandable));
        };
        let product = self.planning.works[area].coats[film.coat].product;
        let table = product.stage(Stage::Sandable).or_else(|| product.stage(Stage::FullCure))?;
        self.minimum(area, product, table, film.last_stroke)
    }

    /// The window of the newest film for what follows in the plan.
    fn window(&self, area: usize) -> Option<(Moment, Option<Moment>)> {
        let work = &self.planning.works[area];
        let Some(film) = self.films[area] else {
            let moment = |tick| self.planning.grid.moment(tick);
            let lead = self.planning.input().lead;
            return work
                .stack
                .ground
                .open
                .map(|(open, close)| (moment(open), close.map(|close| moment(close) + lead)));
        };
        let (product, next) = (work.coats[film.coat].product, work.coats.get(film.coat + 1)?.product);
        let recoat = product.recoat_before(next)?;
        let opens = self.minimum(area, product, &recoat.open, film.last_stroke)?;
        let close = recoat.close.as_ref().or_else(|| product.stage(Stage::FullCure));
        let closes = close.and_then(|table| {
            let course = Course::new(self.history(area), table, Law::of(product));
            course.crossing(film.first_stroke, 1.0, Bound::Warmest)
        });
        Some((opens, closes))
    }

    fn suits(&self, area: usize, coat: usize, first_stroke: Moment, takes: TimeDelta) -> bool {
        let allowed = self.planning.works[area].coats[coat].product.application;
        let warm = |at: Moment| {
            let air = self.history(area).air_at(at);
            air.is_none_or(|air| allowed.coolest <= air && air <= allowed.warmest)
        };
        let tick = self.planning.grid.not_before(first_stroke);
        warm(first_stroke) && warm(first_stroke + takes) && self.planning.fit[area][coat].suits(tick)
    }

    fn take(
        &mut self,
        from: Moment,
        length: TimeDelta,
        by: Option<Moment>,
        suits: impl Fn(Moment) -> bool,
    ) -> Option<(Moment, Moment)> {
        let slot = self.slot(from, length, by, suits)?;
        self.busy.push(slot);
        Some(slot)
    }

    /// The first free stretch of the worker's from a moment on, begun no later than another.
    fn slot(
        &self,
        from: Moment,
        length: TimeDelta,
        by: Option<Moment>,
        suits: impl Fn(Moment) -> bool,
    ) -> Option<(Moment, Moment)> {
        let stretches = self.planning.input().free.stretches();
        let first = stretches.partition_point(|stretch| stretch.1 <= from);
        for stretch in &stretches[first..] {
            let mut start = from.max(stretch.0);
            while start + length <= stretch.1 {
                if by.is_some_and(|by| start > by) {
                    return None;
                }
                let taken = self.busy.iter().find(|(begins, ends)| start < *ends && *begins < start + length);
                match taken {
                    Some((_, ends)) => start = *ends,
                    None if suits(start) => return Some((start, start + length)),
                    None => start += LATER,
                }
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn draws(hours: &[i64], count: usize) -> Draws {
        let ends = hours.iter().map(|hours| Moment::UNIX_EPOCH + HOUR * (*hours as i32)).collect();
        Draws { seed: 1, ends, count, pace: PACE, pace_known: false }
    }

    #[test]
    fn a_percentile_lies_straight_between_its_ranks() {
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

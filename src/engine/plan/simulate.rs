//! One simulation of a plan, with its own weather and pace.
//!
//! The simulated worker keeps the plan's order, starts each step as soon as the film, the free hours and the
//! air allow, and sands if a window was missed.

use chrono::TimeDelta;

use super::planning::Planning;
use super::precedence::{Part, part_of};
use super::problem::Placed;
use super::scenario::{Chance, Scenario};
use super::suitability::is_forbidden;
use super::work::{in_service, under_sandable};
use crate::engine::air::{Air, Task};
use crate::engine::cure::{Bound, Course, History, Law};
use crate::engine::profile::{Product, Stage, TimeTable};
use crate::engine::units::Moment;

/// A step that does not fit is tried again after this time.
const LATER: TimeDelta = TimeDelta::minutes(5);

/// The newest coat of an area in a simulation.
#[derive(Clone, Copy)]
struct Film {
    coat: usize,
    first_stroke: Moment,
    last_stroke: Moment,
    /// When dust no longer harms it.
    tack_free: Moment,
}

pub(super) struct Simulation<'p, 'a> {
    planning: &'p Planning<'a>,
    weather: Vec<Scenario>,
    busy: Vec<(Moment, Moment)>,
    films: Vec<Option<Film>>,
}

impl<'p, 'a> Simulation<'p, 'a> {
    /// In this weather, by place.
    pub fn new(planning: &'p Planning<'a>, weather: Vec<Scenario>) -> Self {
        Self { planning, weather, busy: Vec::new(), films: vec![None; planning.works.len()] }
    }

    /// When everything is in service; None if outside the horizon.
    pub fn through(mut self, order: &[&Placed], pace: f64, chance: &mut Chance) -> Option<Moment> {
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
                    let from = if node.dusty { from.max(self.without_wet_film(area)) } else { from };
                    ready[area] = self.take(from, length, None, |_| true)?.1;
                    prepared[area] = true;
                }
                Part::Coat => {
                    let task = &work.stack.coats[coat];
                    let tape = super::grid::Grid::length(task.before);
                    let strayed = (pace * chance.normal()).exp();
                    let takes = super::grid::Grid::length(task.takes).as_seconds_f64() * strayed;
                    let takes = TimeDelta::seconds(takes.round() as i64);
                    let beside =
                        (super::grid::Grid::length(task.mixing), super::grid::Grid::length(task.cleaning));
                    let whole = tape + takes + super::grid::Grid::length(task.after);
                    let suits = |life: &Self, start: Moment| life.suits(area, coat, start + tape, takes);
                    let mut slot = None;
                    if !prepared[area]
                        && let Some((opens, closes)) = self.window(area)
                    {
                        let from = ready[area].max(opens - tape);
                        let by = closes.map(|closes| closes - planning.input().lead - takes - tape);
                        slot = self.slot(from, (whole, beside), by, |start| suits(&self, start));
                    }
                    let slot = match slot {
                        Some(slot) => slot,
                        None => {
                            if !prepared[area] {
                                ready[area] = self.sand(area, coat, ready[area])?;
                            }
                            self.slot(ready[area], (whole, beside), None, |start| suits(&self, start))?
                        }
                    };
                    self.busy.push(slot);
                    let first_stroke = slot.0 + tape;
                    let last_stroke = first_stroke + takes;
                    let product = work.coats[coat].product;
                    let tack_free = product
                        .stage(Stage::TackFree)
                        .map_or(Some(last_stroke), |table| self.minimum(area, product, table, last_stroke));
                    let tack_free = tack_free.unwrap_or(last_stroke + TimeDelta::days(3));
                    self.films[area] = Some(Film { coat, first_stroke, last_stroke, tack_free });
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
                    match in_service(product) {
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

    /// The sanding after a missed window, with its washing.
    fn sand(&mut self, area: usize, coat: usize, ready: Moment) -> Option<Moment> {
        let mut at = ready.max(self.sandable(area)?);
        let preps = &self.planning.works[area].stack.coats[coat].preps;
        let mut work: Vec<_> =
            preps.iter().map(|prep| (super::grid::Grid::length(prep.length), prep.dusty)).collect();
        if work.is_empty() {
            work.push((TimeDelta::minutes(30), true));
        }
        for (length, dusty) in work {
            if dusty {
                at = at.max(self.without_wet_film(area));
            }
            at = self.take(at, length, None, |_| true)?.1;
        }
        Some(at)
    }

    /// When no film in the place of an area is harmed by dust.
    fn without_wet_film(&self, area: usize) -> Moment {
        let planning = self.planning;
        let place = planning.input().areas[area].place;
        let recorded = planning.grid.moment(planning.works[area].stack.dust_from);
        let films = self.films.iter().zip(planning.input().areas).filter(|(_, area)| area.place == place);
        films.filter_map(|(film, _)| Some(film.as_ref()?.tack_free)).fold(recorded, Moment::max)
    }

    fn history(&self, area: usize) -> &History {
        &self.weather[self.planning.input().areas[area].place].history
    }

    fn minimum(&self, area: usize, product: &Product, table: &TimeTable, from: Moment) -> Option<Moment> {
        Course::new(self.history(area), table, Law::minimum(product)).crossing(from, 1.0, Bound::Coolest)
    }

    fn sandable(&self, area: usize) -> Option<Moment> {
        let Some(film) = self.films[area] else {
            let sandable = self.planning.works[area].stack.ground.sandable?;
            return Some(self.planning.grid.moment(sandable));
        };
        let coats = &self.planning.works[area].coats;
        let product = coats[film.coat].product;
        let hard = self.minimum(area, product, under_sandable(product)?, film.last_stroke)?;
        let asked = coats.get(film.coat + 1).and_then(|next| product.sanded_for(next.product));
        match asked {
            None => Some(hard),
            Some(entry) => Some(hard.max(self.minimum(area, product, &entry.open, film.last_stroke)?)),
        }
    }

    /// The window of the newest film for the next planned coat.
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
            let course = Course::new(self.history(area), table, Law::maximum(product));
            course.crossing(film.first_stroke, 1.0, Bound::Warmest)
        });
        Some((opens, closes))
    }

    /// Whether the drawn air suits a coat, by the same rules as the plan.
    fn suits(&self, area: usize, coat: usize, first_stroke: Moment, takes: TimeDelta) -> bool {
        let planning = self.planning;
        let now = &planning.input().areas[area];
        let drawn = &self.weather[now.place];
        let coat = &planning.works[area].coats[coat];
        let task = Task { product: coat.product, takes, bare_wood: coat.bare_wood, outdoors: now.outdoors };
        let Some(surface) = drawn.surface(now.surface_lag) else { return true };
        let rain = planning.input().places[now.place].rain;
        // A worker who starts a coat knows the air of its first days from a forecast.
        let known_until = drawn.history.last_reading().unwrap_or(first_stroke);
        let air =
            Air { history: &drawn.history, surface, rain, known_until, humidity_old: None, dry_until: None };
        !is_forbidden(&air, &task, first_stroke)
    }

    fn take(
        &mut self,
        from: Moment,
        length: TimeDelta,
        by: Option<Moment>,
        suits: impl Fn(Moment) -> bool,
    ) -> Option<(Moment, Moment)> {
        let slot = self.slot(from, (length, Default::default()), by, suits)?;
        self.busy.push(slot);
        Some(slot)
    }

    /// The first free stretch of the worker from a moment on that starts no later than another, with the time for
    /// mixing before it and for cleaning up after it.
    fn slot(
        &self,
        from: Moment,
        (length, (mixing, cleaning)): (TimeDelta, (TimeDelta, TimeDelta)),
        by: Option<Moment>,
        suits: impl Fn(Moment) -> bool,
    ) -> Option<(Moment, Moment)> {
        let stretches = self.planning.input().free.stretches();
        let first = stretches.partition_point(|stretch| stretch.1 <= from);
        for stretch in &stretches[first..] {
            let mut start = from.max(stretch.0 + mixing);
            while start + length + cleaning <= stretch.1 {
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

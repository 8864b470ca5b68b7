//! Free ticks with suitable air for a coat: every stroke, and the film until tack-free.
//!
//! The assumed air counts like a forecast.

use chrono::TimeDelta;

use super::planning::Planning;
use super::problem::Tick;
use crate::engine::air::{Air, Objection, Task};
use crate::engine::profile::Product;
use crate::engine::units::Moment;

/// The time step of the strokes.
const STEP: TimeDelta = TimeDelta::minutes(5);

/// The objections to a coat, by free tick.
#[derive(Debug, Clone)]
pub(super) struct Fitness {
    against: Vec<Option<Objection>>,
}

impl Fitness {
    pub(super) fn suits(&self, first_stroke: Tick) -> bool {
        self.against(first_stroke).is_none()
    }

    /// The most frequent objection in the free hours.
    pub(super) fn mostly(&self) -> Option<Objection> {
        let all = || self.against.iter().flatten();
        let count = |one: &&Objection| all().filter(|other| other.code() == one.code()).count();
        let mut kinds: Vec<&Objection> = Vec::new();
        for against in all() {
            if !kinds.iter().any(|kind| kind.code() == against.code()) {
                kinds.push(against);
            }
        }
        kinds.into_iter().max_by_key(count).copied()
    }

    pub(super) fn against(&self, first_stroke: Tick) -> Option<Objection> {
        self.against.get(first_stroke as usize).copied().flatten()
    }
}

/// Coats with the same result.
#[derive(Clone, Copy)]
struct Alike<'a> {
    place: usize,
    lag: TimeDelta,
    outdoors: bool,
    product: &'a Product,
    takes: Option<Tick>,
    bare_wood: bool,
}

impl Alike<'_> {
    fn is(&self, other: &Self) -> bool {
        (self.place, self.lag, self.outdoors, self.takes, self.bare_wood)
            == (other.place, other.lag, other.outdoors, other.takes, other.bare_wood)
            && std::ptr::eq(self.product, other.product)
    }
}

type Judged<'a> = Vec<(Alike<'a>, Fitness)>;

/// By tick, the next tick at which the air forbids a wet film, and why.
type WetFilm = Vec<Option<(Tick, Objection)>>;

/// So far the judgement of now decides: 6 h.
const JUDGED_NOW: Tick = 6 * 12;

/// The wait for a tack-free film ends after this.
pub(super) const LONGEST_WET: Tick = 3 * 24 * 12;

impl<'a> Planning<'a> {
    /// The suitability of the air for every coat of every area.
    pub(super) fn judge_air(&self) -> Vec<Vec<Fitness>> {
        let (mut judged, mut strokes): (Judged<'a>, Judged<'a>) = (Vec::new(), Vec::new());
        let mut films: Vec<(Alike<'a>, WetFilm)> = Vec::new();
        let mut all = Vec::new();
        for (area, work) in self.input.areas.iter().zip(&self.works) {
            let coats = work.coats.iter().zip(&work.stack.coats).map(|(coat, task)| {
                let alike = Alike {
                    place: area.place,
                    lag: area.surface_lag,
                    outdoors: area.outdoors,
                    product: coat.product,
                    takes: Some(task.takes),
                    bare_wood: coat.bare_wood,
                };
                known(&mut judged, alike, || {
                    let any = Alike { takes: None, bare_wood: false, ..alike };
                    let stroke = known(&mut strokes, any, || self.strokes(&any));
                    let film = known(&mut films, any, || self.wet_film(&any));
                    self.coats(&alike, (task.takes, coat.tack_free), &stroke, &film)
                })
            });
            all.push(coats.collect());
        }
        all
    }

    /// The objection to a stroke, by free tick.
    fn strokes(&self, alike: &Alike<'_>) -> Fitness {
        let air = &self.air[alike.place];
        let surface = air.surface(alike.lag);
        let air = air.air(&self.input.places[alike.place], &surface);
        let task = task(alike, TimeDelta::zero());
        self.each_tick(|tick| air.forbids_stroke(&task, self.grid.moment(tick)))
    }

    fn wet_film(&self, alike: &Alike<'_>) -> WetFilm {
        let air = &self.air[alike.place];
        let surface = air.surface(alike.lag);
        let air = air.air(&self.input.places[alike.place], &surface);
        let task = task(alike, TimeDelta::zero());
        let end = self.problem.free.last().map_or(0, |last| last.1 + LONGEST_WET + 1);
        let mut next = None;
        let mut film: WetFilm = (0..end)
            .rev()
            .map(|tick| {
                next =
                    air.forbids_film(&task, self.grid.moment(tick)).map(|against| (tick, against)).or(next);
                next
            })
            .collect();
        film.reverse();
        film
    }

    fn coats(
        &self,
        alike: &Alike<'_>,
        (takes, tack_free): (Tick, Option<usize>),
        strokes: &Fitness,
        film: &WetFilm,
    ) -> Fitness {
        let air = &self.air[alike.place];
        let surface = air.surface(alike.lag);
        let air = air.air(&self.input.places[alike.place], &surface);
        let task = task(alike, super::grid::Grid::length(takes));
        // In the coming hours the judgement itself decides: it knows what was measured on the surface, and how the air
        // changes. A heated plan has other air.
        let sky = self.input.places[alike.place].sky.filter(|sky| sky.history.last_reading().is_some());
        let sky = sky.filter(|_| self.input.heat.is_none());
        let line = sky.map(|sky| sky.surface(alike.lag));
        let now = sky.zip(line.as_ref()).map(|(sky, line)| sky.air(line));
        self.each_tick(|tick| {
            let now = now.filter(|_| tick < JUDGED_NOW);
            if let Some((against, _)) = now.and_then(|now| now.forbids(&task, self.grid.moment(tick))) {
                return Some(against);
            }
            let last_stroke = tick + takes;
            if let Some(against) = (tick..=last_stroke).find_map(|tick| strokes.against(tick)) {
                return Some(against);
            }
            let safe = tack_free.map_or(last_stroke, |table| {
                self.films[alike.place].at(table, last_stroke).min(last_stroke + LONGEST_WET)
            });
            let begin = || air.forbids_begin(&task, self.grid.moment(tick), self.grid.moment(safe));
            let wet = film.get(last_stroke as usize).copied().flatten().filter(|(at, _)| *at <= safe);
            wet.map(|(_, against)| against).or_else(begin)
        })
    }

    fn each_tick(&self, judge: impl Fn(Tick) -> Option<Objection>) -> Fitness {
        let end = self.problem.free.last().map_or(0, |last| last.1 as usize + 1);
        let mut against = vec![None; end];
        for &(from, to) in &self.problem.free {
            (from..=to).for_each(|tick| against[tick as usize] = judge(tick));
        }
        Fitness { against }
    }
}

/// Whether the air forbids a coat with its first stroke at `start`.
pub(super) fn is_forbidden(air: &Air<'_>, task: &Task<'_>, start: Moment) -> bool {
    let last_stroke = start + task.takes;
    let mut strokes =
        std::iter::successors(Some(start), |at| (*at < last_stroke).then(|| (*at + STEP).min(last_stroke)));
    strokes.any(|at| air.forbids_stroke(task, at).is_some()) || air.forbids(task, start).is_some()
}

fn task<'p>(alike: &Alike<'p>, takes: TimeDelta) -> Task<'p> {
    Task { product: alike.product, takes, bare_wood: alike.bare_wood, outdoors: alike.outdoors }
}

fn known<'a, T: Clone>(all: &mut Vec<(Alike<'a>, T)>, alike: Alike<'a>, judge: impl FnOnce() -> T) -> T {
    if let Some((_, fitness)) = all.iter().find(|(other, _)| other.is(&alike)) {
        return fitness.clone();
    }
    let fitness = judge();
    all.push((alike, fitness.clone()));
    fitness
}

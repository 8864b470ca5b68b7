//! In which free ticks the air suits a coat: as the check of the board judges it as far as anything is
//! foreseen, behind that by the limits of application in the air that is assumed.

use chrono::TimeDelta;

use super::planning::Planning;
use super::problem::Tick;
use crate::engine::air::{Air, Objection, Task};
use crate::engine::profile::Product;
use crate::engine::units::Moment;

/// The strokes of a coat are looked at in steps of this.
const STEP: TimeDelta = TimeDelta::minutes(5);

/// What speaks against a coat, by free tick.
#[derive(Debug, Clone)]
pub(super) struct Fitness {
    against: Vec<Option<Objection>>,
}

impl Fitness {
    pub(super) fn suits(&self, first_stroke: Tick) -> bool {
        self.against(first_stroke).is_none()
    }

    pub(super) fn against(&self, first_stroke: Tick) -> Option<Objection> {
        self.against.get(first_stroke as usize).copied().flatten()
    }
}

/// Coats that are judged alike.
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

impl<'a> Planning<'a> {
    /// The fitness of the air for every coat of every area.
    pub(super) fn judge_air(&self) -> Vec<Vec<Fitness>> {
        let (mut judged, mut strokes): (Judged<'a>, Judged<'a>) = (Vec::new(), Vec::new());
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
                    self.coats(&alike, task.takes, &stroke)
                })
            });
            all.push(coats.collect());
        }
        all
    }

    /// What forbids a stroke, by free tick.
    fn strokes(&self, alike: &Alike<'_>) -> Fitness {
        let air = &self.air[alike.place];
        let surface = air.surface(alike.lag);
        let air = air.air(&self.input.places[alike.place], &surface);
        let task = task(alike, TimeDelta::zero());
        self.each_tick(|tick| air.forbids_stroke(&task, self.grid.moment(tick)))
    }

    fn coats(&self, alike: &Alike<'_>, takes: Tick, strokes: &Fitness) -> Fitness {
        let air = &self.air[alike.place];
        let surface = air.surface(alike.lag);
        let air = air.air(&self.input.places[alike.place], &surface);
        let length = super::grid::Grid::length(takes);
        let task = task(alike, length);
        self.each_tick(|tick| {
            let stroke = (tick..=tick + takes).find_map(|tick| strokes.against(tick));
            stroke.or_else(|| film(&air, &task, self.grid.moment(tick)))
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
    strokes.any(|at| air.forbids_stroke(task, at).is_some()) || film(air, task, start).is_some()
}

/// What forbids the whole of a coat and its film, as far as the air is foreseen.
fn film(air: &Air<'_>, task: &Task<'_>, start: Moment) -> Option<Objection> {
    let forecast = start + task.takes <= air.known_until || task.bare_wood;
    let reasons = if forecast { air.against(task, start) } else { Vec::new() };
    reasons.into_iter().map(|(against, _)| against).find(Objection::forbids)
}

fn task<'p>(alike: &Alike<'p>, takes: TimeDelta) -> Task<'p> {
    Task { product: alike.product, takes, bare_wood: alike.bare_wood, outdoors: alike.outdoors }
}

fn known<'a>(all: &mut Judged<'a>, alike: Alike<'a>, judge: impl FnOnce() -> Fitness) -> Fitness {
    if let Some((_, fitness)) = all.iter().find(|(other, _)| other.is(&alike)) {
        return fitness.clone();
    }
    let fitness = judge();
    all.push((alike, fitness.clone()));
    fitness
}

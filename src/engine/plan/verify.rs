//! Verifies a plan step by step through the cure engine, the free hours and the air.
//!
//! It shares no code with the search: it takes moments, asks the standing of every coat as the board does, and
//! describes every fault in a sentence. A plan with a fault is not shown.

use chrono::TimeDelta;

use super::air::Expected;
use super::explain::{Step, What};
use super::planning::{Input, Plan};
use super::work::AreaNow;
use crate::engine::air::{Objection, Task};
use crate::engine::assess::SandFrom;
use crate::engine::cure::{CoatFacts, Standing};
use crate::engine::job::{Ground, SchemeStep, WetOnWet};
use crate::engine::profile::{Product, Stage};
use crate::engine::units::Moment;

/// The faults of a plan; empty if it is valid.
pub fn walk(input: &Input<'_>, plan: &Plan) -> Vec<String> {
    let mut faults = Vec::new();
    for step in &plan.steps {
        if !input.free.holds(step.from, step.to) || step.to <= step.from || step.from < input.now {
            faults.push(format!(
                "{}: {} at {} is outside the free hours",
                step.area,
                step.what.word(),
                step.from
            ));
        }
    }
    for pair in plan.steps.windows(2) {
        if pair[1].from < pair[0].to {
            faults.push(format!("{} and {} at {} at once", pair[0].area, pair[1].area, pair[1].from));
        }
    }
    dust(input, plan, &mut faults);
    batches(input, plan, &mut faults);
    for area in input.areas {
        let steps: Vec<&Step> = plan.steps.iter().filter(|step| step.area == area.name).collect();
        let place = &input.places[area.place];
        let Some(air) = Expected::of(place, input.now, input.days, input.heat) else {
            faults.push(format!("the air of {} is unknown", place.name));
            continue;
        };
        let mut walker =
            Walker { input, area, air, faults: &mut faults, film: None, since: Since::default() };
        walker.film = area.newest.as_ref().map(|newest| Film {
            product: newest.product,
            run: newest.run,
            known: Known::Recorded(&newest.standing),
        });
        walker.since = Since { sanded: area.prepared, washed: area.washed || area.prepared, taped: false };
        walker.all(&steps);
        walker.compare(&steps);
    }
    faults
}

/// Every coat is mixed for in its session, or goes on from the batch of the coat before it; washed ground dries.
fn batches(input: &Input<'_>, plan: &Plan, faults: &mut Vec<String>) {
    let mut open: Option<(&str, Moment)> = None;
    for step in &plan.steps {
        let product = step.product.as_deref().unwrap_or_default();
        match step.what {
            What::Mix => open = Some((product, step.to)),
            What::CleanUp => open = None,
            What::Coat if input.session.mixing > TimeDelta::zero() => {
                let mixed =
                    open.filter(|(mixed, from)| *mixed == product && input.free.holds(*from, step.to));
                if mixed.is_none() {
                    faults.push(format!("{}: {product} at {} is not mixed", step.area, step.from));
                }
            }
            _ => {}
        }
    }
    for wash in plan.steps.iter().filter(|step| step.what == What::Wash) {
        let dry = wash.to + input.session.wash_dries;
        let next = plan.steps.iter().filter(|step| step.area == wash.area && step.from >= wash.to);
        let next = next.min_by_key(|step| step.from);
        if let Some(next) =
            next.filter(|next| matches!(next.what, What::Sand | What::Coat) && next.from < dry)
        {
            faults.push(format!("{}: {} at {} on wet ground", next.area, next.what.word(), next.from));
        }
    }
}

/// No sanding beside a film that is not tack-free in the same place.
fn dust(input: &Input<'_>, plan: &Plan, faults: &mut Vec<String>) {
    let place = |step: &Step| input.areas.iter().find(|area| area.name == step.area).map(|area| area.place);
    for (number, place_air) in input.places.iter().enumerate() {
        let Some(air) = Expected::of(place_air, input.now, input.days, input.heat) else { continue };
        let here = || plan.steps.iter().filter(|step| place(step) == Some(number));
        let films = here().filter_map(|step| {
            let coat = step.product.as_deref().filter(|_| step.what == What::Coat)?;
            let product = input.library.get(coat).ok()?;
            Some((step.from, tack_free(&air, product, step), step.area.as_str()))
        });
        let recorded = input.areas.iter().filter(|area| area.place == number).filter_map(|area| {
            Some((input.now, area.newest.as_ref()?.standing.stage(Stage::TackFree)?.latest?, &*area.name))
        });
        let films: Vec<(Moment, Moment, &str)> = films.chain(recorded).collect();
        for sand in here().filter(|step| step.what == What::Sand) {
            for (from, until, of) in &films {
                if sand.from < *until && *from < sand.to {
                    faults.push(format!("{} sanded at {} beside the wet film of {of}", sand.area, sand.from));
                }
            }
        }
    }
}

/// When a planned coat is tack-free at the latest; its last stroke, if the profile gives no time.
fn tack_free(air: &Expected, product: &Product, step: &Step) -> Moment {
    let facts = CoatFacts { first_stroke: step.from, last_stroke: Some(step.to), product, next: None };
    let standing = Standing::calculate(facts, &air.as_known_at(step.to), step.to);
    let stage = standing.stage(Stage::TackFree);
    stage.map_or(step.to, |times| times.latest.unwrap_or(step.to + TimeDelta::days(3)))
}

/// The source of the newest coat.
enum Known<'a> {
    /// It is recorded.
    Recorded(&'a Standing),
    /// The plan applies it: its first and its last stroke.
    Planned(Moment, Moment),
}

struct Film<'a> {
    product: &'a Product,
    run: usize,
    known: Known<'a>,
}

/// The steps since the newest coat.
#[derive(Default, Clone, Copy)]
struct Since {
    sanded: bool,
    washed: bool,
    taped: bool,
}

struct Walker<'a, 'f> {
    input: &'f Input<'a>,
    area: &'f AreaNow<'a>,
    air: Expected,
    faults: &'f mut Vec<String>,
    film: Option<Film<'f>>,
    since: Since,
}

impl<'a, 'f> Walker<'a, 'f> {
    fn fault(&mut self, step: &Step, what: &str) {
        self.faults.push(format!("{}: {} at {}: {what}", step.area, step.what.word(), step.from));
    }

    fn all(&mut self, steps: &[&Step]) {
        for step in steps {
            match step.what {
                What::Sand => {
                    let from = self.sand_from(self.next_coat(steps, step));
                    if self.film.is_some() && !self.since.sanded && from.is_none_or(|from| step.from < from) {
                        self.fault(step, "the film is too soft to sand");
                    }
                    if self.owes_wash(steps, step) && !self.since.washed {
                        self.fault(step, "the film was not washed");
                    }
                    self.since.sanded = true;
                }
                What::Wash => self.since.washed = true,
                What::Mix | What::CleanUp => {}
                What::TapeOn => self.since.taped = true,
                What::TapeOff => {
                    let by = self.stage(Stage::TapeBy, None).flatten();
                    if by.is_some_and(|by| step.to > by && step.by.is_some()) {
                        self.fault(step, "the tape tears the edge at that time");
                    }
                    self.since.taped = false;
                }
                What::Coat => self.coat(step),
            }
        }
    }

    fn next_coat(&self, steps: &[&Step], now: &Step) -> Option<&'f Product> {
        let next = steps.iter().find(|step| step.what == What::Coat && step.from >= now.to);
        next.and_then(|step| self.input.library.get(step.product.as_deref()?).ok())
    }

    /// From when on the film can be sanded for a coat, on the safe side.
    fn sand_from(&self, next: Option<&Product>) -> Option<Moment> {
        let film = self.film.as_ref()?;
        match film.known {
            Known::Recorded(_) => self.area.newest.as_ref()?.sand_from,
            Known::Planned(first_stroke, last_stroke) => {
                let facts =
                    CoatFacts { first_stroke, last_stroke: Some(last_stroke), product: film.product, next };
                let history = self.air.as_known_at(last_stroke);
                let standing = Standing::calculate(facts, &history, last_stroke);
                SandFrom::of(facts, &standing, &history).latest
            }
        }
    }

    fn owes_wash(&self, steps: &[&Step], now: &Step) -> bool {
        let next = self.next_coat(steps, now);
        let film = self.film.as_ref().map(|film| film.product);
        match (film, next) {
            (Some(film), Some(next)) => film.recoat_before(next).map_or(film.washes(), |entry| entry.wash),
            _ => false,
        }
    }

    fn coat(&mut self, step: &Step) {
        let Some(product) = step.product.as_deref().and_then(|id| self.input.library.get(id).ok()) else {
            return self.fault(step, "of no known product");
        };
        let mut run = 1;
        if let Some(film) = self.film.as_ref().filter(|_| !self.since.sanded) {
            let limited = film.product.recoat_before(product).is_some_and(|entry| entry.close.is_some());
            if film.product.id == product.id && limited {
                run = film.run + 1;
            }
            let limit = product.film.as_ref().and_then(|film| film.wet_on_wet_coats).filter(|_| limited);
            if film.product.recoat_before(product).is_none() {
                self.fault(step, "the profile gives no window for it");
            }
            if limit.is_some_and(|limit| run > limit as usize) {
                self.fault(step, "more coats wet on wet than the profile allows");
            }
            let opens = self.stage(Stage::RecoatOpen, Some(product)).flatten();
            if opens.is_none_or(|opens| step.from < opens) {
                self.fault(step, "the window is not open");
            }
            let closes = self.stage(Stage::RecoatClose, Some(product)).flatten();
            if closes.is_some_and(|closes| step.to + self.input.lead > closes) {
                self.fault(step, "the window closes before the last stroke");
            }
        }
        let ready =
            self.film.as_ref().filter(|_| self.since.sanded).and_then(|_| self.sand_from(Some(product)));
        if ready.is_some_and(|ready| step.from < ready) {
            self.fault(step, "the sanded film is not ready for it");
        }
        if step.wet_on_wet == self.since.sanded && self.film.is_some() {
            self.fault(step, "the phase of the film below is wrong");
        }
        if let Some(against) = self.against(step, product) {
            self.fault(step, &format!("the air is not suitable ({})", against.code()));
        }
        self.film = Some(Film { product, run, known: Known::Planned(step.from, step.to) });
        self.since = Since { taped: self.since.taped, ..Since::default() };
    }

    /// When a stage of the film is reached, on the safe side. None: the profile does not give it.
    fn stage(&self, stage: Stage, next: Option<&Product>) -> Option<Option<Moment>> {
        let film = self.film.as_ref()?;
        let standing = match film.known {
            Known::Recorded(standing) => standing.clone(),
            Known::Planned(first_stroke, last_stroke) => {
                let facts =
                    CoatFacts { first_stroke, last_stroke: Some(last_stroke), product: film.product, next };
                let seen = if stage.is_maximum() { first_stroke } else { last_stroke };
                Standing::calculate(facts, &self.air.as_known_at(seen), last_stroke)
            }
        };
        let times = standing.stage(stage)?;
        Some(if stage.is_maximum() { times.earliest } else { times.latest })
    }

    fn against(&self, step: &Step, product: &Product) -> Option<Objection> {
        let task = Task {
            product,
            takes: step.to - step.from,
            bare_wood: self.film.is_none() && self.area.ground.is_none_or(Ground::is_porous),
            outdoors: self.area.outdoors,
        };
        let surface = self.air.surface(self.area.surface_lag);
        let air = self.air.air(&self.input.places[self.area.place], &surface);
        let tack_free = tack_free(&self.air, product, step).min(step.to + TimeDelta::days(3));
        let mut at = step.from;
        while at <= step.to {
            if let Some(against) = air.forbids_stroke(&task, at) {
                return Some(against);
            }
            at += TimeDelta::minutes(5);
        }
        at = step.to;
        while at <= tack_free {
            if let Some(against) = air.forbids_film(&task, at) {
                return Some(against);
            }
            at += TimeDelta::minutes(10);
        }
        air.forbids_begin(&task, step.from, tack_free)
    }

    /// Whether the steps are those of the scheme, in its order.
    fn compare(&mut self, steps: &[&Step]) {
        let mut done = steps.iter();
        let mut sanded = false;
        for planned in &self.area.to_do {
            let found = match planned {
                SchemeStep::Coat { product, wet_on_wet } => {
                    sanded = false;
                    let coat = done.find(|step| step.what == What::Coat);
                    let wished = |step: &&&Step| match wet_on_wet {
                        Some(WetOnWet::Must) => {
                            step.wet_on_wet || self.film.is_none() || self.area.newest.is_none()
                        }
                        Some(WetOnWet::Never) => !step.wet_on_wet,
                        _ => true,
                    };
                    coat.filter(|step| step.product.as_deref() == Some(product)).filter(wished).is_some()
                }
                SchemeStep::Sand { .. } if sanded => true,
                SchemeStep::Sand { .. } => {
                    sanded = true;
                    // Only washing and tape come between.
                    done.find(|step| matches!(step.what, What::Sand | What::Coat))
                        .is_some_and(|step| step.what == What::Sand)
                }
                SchemeStep::Wash => done.any(|step| step.what == What::Wash),
                SchemeStep::Tape { .. } => true,
            };
            if !found {
                self.faults
                    .push(format!("{}: a step of the scheme is missing or out of order", self.area.name));
                return;
            }
        }
        if done.any(|step| step.what == What::Coat) {
            self.faults.push(format!("{}: a coat too many", self.area.name));
        }
    }
}

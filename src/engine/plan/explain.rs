//! The steps of a plan, each with the reason why it is not earlier.

use super::obstacle::Obstacle;
use super::planning::{AreaFilms, Planning};
use super::precedence::{Part, Windows, part_of};
use super::problem::{Placed, Schedule, Tick};
use super::work::Preparation;
use crate::engine::air::Objection;
use crate::engine::units::Moment;

/// The kind of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// A coat.
    Coat,
    /// Sanding.
    Sand,
    /// Washing.
    Wash,
    /// Tape goes on.
    TapeOn,
    /// Tape comes off.
    TapeOff,
    /// A product is mixed, and stands through its induction time.
    Mix,
    /// Tools and vessels are cleaned.
    CleanUp,
}

impl What {
    /// The kind in words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Coat => "coat",
            Self::Sand => "sand",
            Self::Wash => "wash",
            Self::TapeOn => "tape on",
            Self::TapeOff => "tape off",
            Self::Mix => "mix",
            Self::CleanUp => "clean up",
        }
    }
}

/// A step of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The area.
    pub area: String,
    /// Its kind.
    pub what: What,
    /// The product of a coat, and what is mixed or cleaned up.
    pub product: Option<String>,
    /// The number of its coat in the area.
    pub layer: usize,
    /// Its start.
    pub from: Moment,
    /// Its end.
    pub to: Moment,
    /// Whether the coat goes on an open film.
    pub wet_on_wet: bool,
    /// Whether it is extra work, because no free hour fell in the window, with its washing.
    pub owed: bool,
    /// Whether the air then is assumed, not forecast.
    pub assumed: bool,
    /// The deadline of the coat, or of the tape, for its window.
    pub by: Option<Moment>,
    /// What it waited for first.
    pub ready: Ready,
    /// What delayed it after that, and the last start that a free stretch would have allowed.
    pub held: Option<(Held, Moment)>,
}

/// What a step waits for on its own area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ready {
    /// Nothing: it could start at once.
    Now,
    /// The window of the film below opens.
    Opens(Moment),
    /// The film below becomes sandable.
    Sandable(Moment),
    /// The step before it.
    StepBefore(Moment),
    /// The step after it: it is done just before that.
    StepAfter,
}

/// What delays a step that is ready.
#[derive(Debug, Clone, PartialEq)]
pub enum Held {
    /// No free hour, or too little of it.
    NoFreeHour,
    /// The air.
    Air(Objection),
    /// The worker is busy with another step.
    Busy {
        /// The area of that step.
        area: String,
        /// Its kind.
        what: What,
    },
    /// Its dust would fall on a film that is not tack-free.
    WetFilm {
        /// The area of that film.
        area: String,
    },
    /// The dust of a sanding would fall on its film.
    Dust {
        /// The area that is sanded.
        area: String,
    },
    /// The tape would tear the edge before it could be removed.
    Tape,
    /// An earlier start needs another session or another batch.
    Apart,
    /// A later coat has to meet its window: with an earlier start it would close before a free hour.
    NextWindow,
}

impl Planning<'_> {
    /// The steps of a schedule in order of time.
    pub(super) fn steps(&self, schedule: &Schedule) -> Vec<Step> {
        let mut steps = Vec::new();
        for (index, placed) in schedule.placed.iter().enumerate() {
            let before = index.checked_sub(1).and_then(|index| schedule.placed.get(index));
            let before = before.filter(|before| before.chain == placed.chain);
            self.block(index, before, schedule, &mut steps);
        }
        steps.sort_by_key(|step| step.from);
        super::changeover::add(self, &mut steps);
        steps
    }

    fn block(&self, which: usize, before: Option<&Placed>, schedule: &Schedule, steps: &mut Vec<Step>) {
        let placed = &schedule.placed[which];
        let node = self.problem.node(placed);
        let (start, end) = (self.problem.start(placed), self.problem.end(placed));
        let work = &self.works[placed.chain];
        let (coat, part) = part_of(node.step);
        let (ready, released) = self.ready(placed, before);
        let area = &self.input.areas[placed.chain];
        let owed = |coat: usize| {
            let preps = work.stack.coats.get(coat).map(|coat| &coat.preps);
            preps.is_some_and(|preps| preps.iter().any(|prep| prep.owed))
        };
        let base = Step {
            area: area.name.clone(),
            what: What::Coat,
            product: None,
            layer: work.coats.get(coat).map_or(area.coats + work.coats.len(), |coat| coat.layer),
            from: self.grid.moment(start),
            to: self.grid.moment(end),
            wet_on_wet: false,
            owed: false,
            assumed: self.air[area.place].is_assumed(self.grid.moment(end)),
            by: None,
            ready,
            held: self.held(which, released, schedule),
        };
        match part {
            Part::Tape => {
                let by = work.stack.first.and_then(|(_, by)| by);
                let by = by.map(|by| self.grid.moment(by));
                steps.push(Step { what: What::TapeOff, layer: area.coats, by, ..base });
            }
            Part::Prep(_) => {
                let what = self.what(placed);
                steps.push(Step { what, owed: owed(coat), ..base });
            }
            Part::Coat => self.coat(placed, before, coat, &base, steps),
        }
    }

    /// A coat, with the tape before and after it.
    fn coat(
        &self,
        placed: &Placed,
        before: Option<&Placed>,
        coat: usize,
        base: &Step,
        steps: &mut Vec<Step>,
    ) {
        let (task, planned) =
            (&self.works[placed.chain].stack.coats[coat], &self.works[placed.chain].coats[coat]);
        let films = AreaFilms { planning: self, area: placed.chain };
        let first = self.problem.start(placed) + task.before;
        let last = first + task.takes;
        let (from, to) = (self.grid.moment(first), self.grid.moment(last));
        let at = |tick: Tick| (tick != Tick::MAX).then(|| self.grid.moment(tick));
        let direct = match before.map(|before| part_of(self.problem.node(before).step)) {
            Some((_, Part::Prep(_))) => false,
            Some((_, Part::Coat)) => true,
            Some((_, Part::Tape)) | None => {
                self.input.areas[placed.chain].newest.is_some() && !self.input.areas[placed.chain].prepared
            }
        };
        let by = match before.filter(|_| direct) {
            Some(under) if part_of(self.problem.node(under).step).1 == Part::Coat => {
                at(films.close(coat - 1, self.first_stroke(under)))
            }
            _ if direct => self.works[placed.chain].stack.ground.open.and_then(|open| open.1).and_then(at),
            _ => None,
        };
        let product = Some(planned.product.id.clone());
        if task.before > 0 {
            steps.push(Step { what: What::TapeOn, to: from, ..base.clone() });
        }
        let follows = task.before > 0;
        steps.push(Step {
            product,
            from,
            to,
            wet_on_wet: direct,
            by,
            ready: if follows { Ready::StepBefore(from) } else { base.ready },
            held: if follows { None } else { base.held.clone() },
            ..base.clone()
        });
        if task.after > 0 {
            let by = at(films.tape_by(coat, first));
            let (ready, held) = (Ready::StepBefore(to), None);
            steps.push(Step { what: What::TapeOff, from: to, by, ready, held, ..base.clone() });
        }
    }

    pub(super) fn first_stroke(&self, placed: &Placed) -> Tick {
        let (coat, _) = part_of(self.problem.node(placed).step);
        self.problem.start(placed) + self.works[placed.chain].stack.coats[coat].before
    }

    /// What a block waits for on its area, and until when.
    fn ready(&self, placed: &Placed, before: Option<&Placed>) -> (Ready, Tick) {
        let work = &self.works[placed.chain];
        let (coat, part) = part_of(self.problem.node(placed).step);
        let moment = |tick: Tick| self.grid.moment(tick);
        let films = AreaFilms { planning: self, area: placed.chain };
        let tape = if part == Part::Coat { work.stack.coats[coat].before } else { 0 };
        let (opens, sandable, end) =
            match before.map(|before| (before, part_of(self.problem.node(before).step))) {
                None => {
                    let ground = work.stack.ground;
                    (ground.open.map(|open| open.0), ground.sandable, 0)
                }
                Some((before, (under, Part::Coat))) => {
                    // A later start never counts as ready sooner: see the blocks.
                    let tape = work.stack.coats[under].before;
                    let strokes = &self.problem.node(before).starts[..=before.index as usize];
                    let latest = |when: &dyn Fn(Tick) -> Option<Tick>| {
                        strokes.iter().filter_map(|start| when(start + tape)).max()
                    };
                    let opens = latest(&|first| films.open(under, first));
                    (opens, latest(&|first| films.sandable(under, first)), self.problem.end(before))
                }
                Some((before, (_, Part::Prep(_)))) => (None, None, self.problem.end(before)),
                Some((before, (_, Part::Tape))) => {
                    let ground = work.stack.ground;
                    (ground.open.map(|open| open.0), ground.sandable, self.problem.end(before))
                }
            };
        let wait = match part {
            Part::Coat => opens.map(|opens| (Ready::Opens(moment(opens)), opens.saturating_sub(tape))),
            Part::Prep(_) => sandable.map(|sandable| (Ready::Sandable(moment(sandable)), sandable)),
            Part::Tape => None,
        };
        match wait {
            Some((ready, tick)) if tick > end => (ready, tick),
            _ if end > 0 => (Ready::StepBefore(moment(end)), end),
            _ => (Ready::Now, 0),
        }
    }

    /// What delays a ready block from the last earlier start that a free stretch would allow, and that start.
    fn held(&self, which: usize, released: Tick, schedule: &Schedule) -> Option<(Held, Moment)> {
        let placed = &schedule.placed[which];
        let node = self.problem.node(placed);
        let start = self.problem.start(placed);
        if start <= released {
            return None;
        }
        let free = |sooner: &Tick| {
            let (from, to) = (sooner.checked_sub(node.mixing), sooner + node.length + node.cleaning);
            from.is_some_and(|from| self.problem.free.iter().any(|free| free.0 <= from && to <= free.1))
        };
        let Some(sooner) = (released..start).rev().find(free) else {
            return Some((Held::NoFreeHour, self.grid.moment(start)));
        };
        let name = |other: Placed| self.input.areas[other.chain].name.clone();
        let held = match node.starts.binary_search(&sooner) {
            Err(_) => self.unfit(placed, sooner),
            Ok(index) => match self.problem.obstacle(&schedule.placed, which, index as u32) {
                Some(Obstacle::Before) => return None,
                Some(Obstacle::Busy(other)) => Held::Busy { area: name(other), what: self.what(&other) },
                Some(Obstacle::WetFilm(other)) => Held::WetFilm { area: name(other) },
                Some(Obstacle::Dust(other)) => Held::Dust { area: name(other) },
                Some(Obstacle::Next(_)) => Held::NextWindow,
                None => Held::Apart,
            },
        };
        Some((held, self.grid.moment(sooner)))
    }

    /// Why a block has no start at a free tick.
    fn unfit(&self, placed: &Placed, sooner: Tick) -> Held {
        let (coat, part) = part_of(self.problem.node(placed).step);
        if part != Part::Coat {
            let room = self.works[placed.chain].stack.room;
            let here = self.input.areas.iter().filter(|area| area.place == room);
            let wet = here.filter_map(|area| Some((area.tack_free(self.input.now)?, &area.name))).max();
            return wet.map_or(Held::Tape, |(_, area)| Held::WetFilm { area: area.clone() });
        }
        let first = sooner + self.works[placed.chain].stack.coats[coat].before;
        self.fit[placed.chain][coat].against(first).map_or(Held::Tape, Held::Air)
    }

    fn what(&self, placed: &Placed) -> What {
        match part_of(self.problem.node(placed).step) {
            (_, Part::Tape) => What::TapeOff,
            (_, Part::Coat) => What::Coat,
            (coat, Part::Prep(which)) => match self.works[placed.chain].preps[coat].get(which) {
                Some(Preparation::Wash) => What::Wash,
                _ => What::Sand,
            },
        }
    }
}

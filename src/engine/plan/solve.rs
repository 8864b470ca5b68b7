//! The earliest end, the least extra work, and the schedules in between.

use std::ops::ControlFlow;

use super::area::{NEVER, Reach};
use super::bound::{Capacity, Demand, soonest};
use super::improve::Improver;
use super::problem::{Placed, Problem, Schedule, Tick};
use super::search::{Outcome, Search};

/// The objective.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// The earliest end; then the least extra work.
    Soonest,
    /// The least extra work; then the earliest end.
    LeastWork,
}

/// Limits of the search effort.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Choices per try.
    pub each: u64,
    /// Tries per question, each in another order.
    pub tries: u64,
    /// Choices of the last try, which proves the end or finds a better one.
    pub proof: u64,
    /// Searches near the best schedule while it is not proven.
    pub near: u64,
    /// Rounds of reinsertion without improvement before it stops.
    pub polish: u64,
}

impl Default for Effort {
    fn default() -> Self {
        Self { each: 100, tries: 12, proof: 3_000, near: 200, polish: 600 }
    }
}

/// Why there is no schedule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsolved {
    /// There is none before the horizon.
    None,
    /// None was found with this effort.
    NotFound,
}

/// Number of insertion orders for a first plan.
const FIRST: u64 = 8;

#[derive(Clone, Copy)]
enum Ask {
    Quickly,
    Thoroughly,
}

/// The progress of a search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// The choices tried so far.
    pub tried: u64,
    /// The best end so far.
    pub best: Option<Tick>,
    /// The lower bound of the end.
    pub bound: Tick,
}

/// A schedule with its bound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solved {
    /// The schedule.
    pub schedule: Schedule,
    /// No schedule with as little extra work is in service sooner.
    pub bound: Tick,
}

impl Solved {
    /// Whether it is proven to be the best.
    pub fn is_optimal(&self) -> bool {
        self.bound >= self.schedule.service
    }
}

/// A progress callback, which may end the search.
pub type Watch<'w> = dyn FnMut(Progress) -> ControlFlow<()> + 'w;

/// Rounds of reinsertion, per pair of areas.
const ROUNDS_A_PAIR: u64 = 8;

struct Solver<'p, 'w> {
    problem: &'p Problem,
    reach: Vec<Reach>,
    demand: Demand,
    capacity: Capacity,
    effort: Effort,
    watch: &'w mut Watch<'w>,
    tried: u64,
    stopped: bool,
}

/// The best schedule.
///
/// # Errors
/// [`Unsolved`]: there is none, or none was found.
pub fn solve<'w>(
    problem: &Problem,
    aim: Aim,
    effort: Effort,
    watch: &'w mut Watch<'w>,
) -> Result<Solved, Unsolved> {
    let mut solver = Solver::new(problem, effort, watch);
    let soonest = solver.soonest(solver.most())?;
    let soonest = solver.spare_work(soonest);
    match aim {
        Aim::Soonest => Ok(solver.tidy(soonest)),
        Aim::LeastWork => {
            let least = solver.least(soonest.schedule.owed);
            let solved = solver.soonest(least).map_or(soonest, |solved| solver.spare_work(solved));
            Ok(solver.tidy(solved))
        }
    }
}

/// From the least extra work to the earliest end: each schedule ends sooner than the previous one and has more
/// extra work.
pub fn front<'w>(problem: &Problem, effort: Effort, watch: &'w mut Watch<'w>) -> Vec<Solved> {
    let mut solver = Solver::new(problem, effort, watch);
    let Ok(soonest) = solver.soonest(solver.most()) else { return Vec::new() };
    let soonest = solver.spare_work(soonest);
    let least = solver.least(soonest.schedule.owed);
    let mut front: Vec<Solved> = vec![soonest];
    // There may be many, and the person chooses one.
    solver.effort.near /= 5;
    while let Some(last) = front.last()
        && let Some(less) = last.schedule.owed.checked_sub(1).filter(|less| *less >= least)
        && let Ok(solved) = solver.soonest(less)
    {
        let solved = solver.spare_work(solved);
        // A schedule with less extra work that ends no later dominates.
        front.retain(|more| solved.schedule.service > more.schedule.service);
        front.push(solved);
    }
    front.reverse();
    front.into_iter().map(|solved| solver.tidy(solved)).collect()
}

/// The extra work of every plan: the sum of each area's own minimum.
pub(super) fn least_owed(problem: &Problem) -> Tick {
    problem.chains.iter().map(|chain| Reach::of(chain).least(NEVER - 1).unwrap_or(0)).sum()
}

impl<'p, 'w> Solver<'p, 'w> {
    fn new(problem: &'p Problem, effort: Effort, watch: &'w mut Watch<'w>) -> Self {
        let reach = problem.chains.iter().map(Reach::of).collect();
        let (demand, capacity) = (Demand::of(problem), Capacity::of(&problem.free));
        Self { problem, reach, demand, capacity, effort, watch, tried: 0, stopped: false }
    }

    /// More extra work than this gains nothing.
    fn most(&self) -> Tick {
        self.reach.iter().map(Reach::most).sum()
    }

    /// The least extra work that was found: each area's own minimum is a lower bound, and `known` is enough.
    fn least(&mut self, known: Tick) -> Tick {
        let alone = self.reach.iter().map(|reach| reach.least(NEVER - 1).unwrap_or(0)).sum();
        let (mut low, mut high): (Tick, Tick) = (alone, known);
        let mut probe = low;
        while low < high && !self.stopped {
            match self.run(NEVER - 1, probe, Ask::Thoroughly, None, 0) {
                Outcome::Found(schedule) => high = schedule.owed,
                _ => low = probe + 1,
            }
            probe = low + (high - low.min(high)) / 2;
        }
        high
    }

    fn run(&mut self, by: Tick, allowed: Tick, ask: Ask, best: Option<Tick>, bound: Tick) -> Outcome {
        // One deep try may prove a bound; many short ones find more.
        let tries = match ask {
            Ask::Quickly => self.effort.tries,
            Ask::Thoroughly => self.effort.tries * 6,
        };
        for attempt in 0..tries {
            let deep = matches!(ask, Ask::Thoroughly) && attempt == 0;
            let effort = match attempt {
                _ if deep => self.effort.proof,
                // Some tries go deeper, for large problems.
                attempt if attempt.is_multiple_of(8) => self.effort.each * 6,
                _ => self.effort.each,
            };
            let outcome = self.search(attempt, effort, (best, bound), |search| search.run(by, allowed));
            if outcome != Outcome::Unknown {
                return outcome;
            }
        }
        Outcome::Unknown
    }

    /// One search, in its own order.
    fn search(
        &mut self,
        attempt: u64,
        effort: u64,
        (best, bound): (Option<Tick>, Tick),
        run: impl FnOnce(Search) -> (Outcome, u64),
    ) -> Outcome {
        if self.stopped {
            return Outcome::Stopped;
        }
        let (before, watch) = (self.tried, &mut *self.watch);
        let mut told = |tried: u64| watch(Progress { tried: before + tried, best, bound });
        let known = (&self.demand, &self.capacity);
        let chance = attempt.wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let search = Search::new(self.problem, &self.reach, known, effort, chance, &mut told);
        let (outcome, tried) = run(search);
        self.tried += tried;
        self.stopped |= outcome == Outcome::Stopped;
        outcome
    }

    /// The earliest end with limited extra work: bisects between a lower bound and the best schedule so far.
    fn soonest(&mut self, allowed: Tick) -> Result<Solved, Unsolved> {
        let mut bound = soonest(self.problem, &self.reach, allowed);
        if bound == NEVER {
            return Err(Unsolved::None);
        }
        let first = self.improve(None, bound, |improver| improver.first(allowed, FIRST));
        let mut best = match first {
            Some(first) => first,
            None => match self.run(NEVER - 1, allowed, Ask::Thoroughly, None, bound) {
                Outcome::Found(schedule) => schedule,
                Outcome::None => return Err(Unsolved::None),
                Outcome::Unknown | Outcome::Stopped => return Err(Unsolved::NotFound),
            },
        };
        let rounds = self.rounds();
        if best.service > bound {
            self.improve(Some(best.service), bound, |improver| {
                improver.better(&mut best, allowed, bound, rounds)
            });
        }
        self.halve(allowed, &mut best, &mut bound);
        self.better_near(allowed, &mut best, bound);
        Ok(Solved { schedule: best, bound })
    }

    /// Rounds without improvement before it stops: few areas have few orders.
    fn rounds(&self) -> u64 {
        let areas = self.problem.chains.iter().filter(|chain| !chain.idle).count() as u64;
        self.effort.polish.min(ROUNDS_A_PAIR * areas * areas)
    }

    /// Runs reinsertion until the callback ends it.
    fn improve<R>(
        &mut self,
        best: Option<Tick>,
        bound: Tick,
        with: impl FnOnce(&mut Improver<'_, '_>) -> R,
    ) -> R {
        let (before, watch) = (self.tried, &mut *self.watch);
        let mut put = 0;
        let mut told = |found: Option<Tick>| {
            put += 1;
            watch(Progress { tried: before + put, best: found.or(best), bound })
        };
        let mut improver = Improver::new(self.problem, &self.reach, before + 1, &mut told);
        improver.stopped = self.stopped;
        let found = with(&mut improver);
        self.stopped |= improver.stopped;
        self.tried += put;
        found
    }

    /// The same end and extra work with fewer mixings and sessions, and every block as far left as that allows.
    fn tidy(&mut self, mut solved: Solved) -> Solved {
        let (service, owed) = (solved.schedule.service, solved.schedule.owed);
        let rounds = self.rounds();
        let mut best = solved.schedule.clone();
        self.improve(Some(service), solved.bound, |improver| {
            improver.better(&mut best, owed, service, rounds)
        });
        let figures = self.problem.mixings_and_evenings(&best.placed);
        solved.schedule =
            self.problem.shifted_left(best, |placed| self.problem.mixings_and_evenings(placed) <= figures);
        solved
    }

    /// Bisects between the bound and the best schedule until they meet.
    fn halve(&mut self, allowed: Tick, best: &mut Schedule, bound: &mut Tick) {
        let mut low = *bound;
        let mut probe = low;
        while low < best.service {
            match self.run(probe, allowed, Ask::Quickly, Some(best.service), *bound) {
                Outcome::Found(schedule) => *best = schedule,
                Outcome::None => {
                    *bound = (*bound).max(probe + 1);
                    low = probe + 1;
                }
                Outcome::Unknown => low = probe + 1,
                Outcome::Stopped => break,
            }
            if low < best.service {
                probe = low + (best.service - low) / 2;
                // The probe must be before the best end.
                probe = probe.min(best.service - 1);
            }
        }
        while *bound < best.service && !self.stopped {
            match self.run(best.service - 1, allowed, Ask::Thoroughly, Some(best.service), *bound) {
                Outcome::Found(schedule) => *best = schedule,
                Outcome::None => *bound = best.service,
                Outcome::Unknown | Outcome::Stopped => break,
            }
        }
    }

    /// Improves a schedule by keeping a part and searching the rest again.
    fn better_near(&mut self, allowed: Tick, best: &mut Schedule, bound: Tick) {
        let mut vain = 0;
        if best.placed.is_empty() {
            return;
        }
        while bound < best.service && !self.stopped && vain < self.effort.near {
            let effort = self.effort.proof / 8 * (1 + vain % 4);
            let kept = self.kept(best, vain);
            let by = best.service - 1;
            match self.search(vain, effort, (Some(best.service), bound), |search| {
                search.run_near(kept, by, allowed)
            }) {
                Outcome::Found(schedule) => (*best, vain) = (schedule, 0),
                _ => vain += 1,
            }
        }
    }

    /// The part to keep: in turn all areas but up to three, one of which ends last; and the work before a
    /// moment.
    fn kept<'s>(&self, best: &'s Schedule, turn: u64) -> Vec<&'s Placed> {
        let (areas, turn) = (self.problem.chains.len(), turn as usize);
        let done = |placed: &Placed| self.problem.node(placed).done_at(placed.index as usize);
        let last = best.placed.iter().max_by_key(|placed| done(placed)).map_or(0, |placed| placed.chain);
        let mut starts: Vec<Tick> = best.placed.iter().map(|placed| self.problem.start(placed)).collect();
        starts.sort_unstable();
        let until = starts[turn * 7 % starts.len()];
        let away = |chain: usize| (chain + areas - last) % areas;
        let gone = [0, turn / 3 % areas, turn / 3 / areas % areas];
        best.placed
            .iter()
            .filter(|placed| match turn % 3 {
                0 => self.problem.start(placed) < until,
                _ => !gone.contains(&away(placed.chain)),
            })
            .collect()
    }

    /// The same end with less extra work, as far as found.
    fn spare_work(&mut self, mut solved: Solved) -> Solved {
        while let Some(less) = solved.schedule.owed.checked_sub(1) {
            let service = solved.schedule.service;
            match self.run(service, less, Ask::Quickly, Some(service), solved.bound) {
                Outcome::Found(schedule) => solved.schedule = schedule,
                _ => break,
            }
        }
        solved
    }
}

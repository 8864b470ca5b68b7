//! A first plan area by area, improved by removing areas and inserting them again exactly.

use std::ops::ControlFlow;

use super::area::{NEVER, Reach};
use super::problem::{Placed, Problem, Schedule, Tick};
use super::reinsert::{Stretches, Want, reinsert};

/// The objectives, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Figures {
    /// When everything is in service.
    pub service: Tick,
    /// Extra work that another path would save.
    pub owed: Tick,
    /// Mixings: one per product and free stretch.
    pub mixings: usize,
    /// Free stretches with work.
    pub evenings: usize,
}

impl Problem {
    /// The objectives of a schedule.
    pub fn figures(&self, schedule: &Schedule) -> Figures {
        let (mixings, evenings) = self.mixings_and_evenings(&schedule.placed);
        Figures { service: schedule.service, owed: schedule.owed, mixings, evenings }
    }

    pub(super) fn mixings_and_evenings(&self, placed: &[Placed]) -> (usize, usize) {
        let stretches = placed.iter().map(|placed| (self.stretch(self.start(placed)), self.node(placed).mix));
        let mut stretches: Vec<_> = stretches.collect();
        stretches.sort_unstable();
        stretches.dedup();
        let mixings = stretches.iter().filter(|(_, product)| product.is_some()).count();
        stretches.dedup_by_key(|(stretch, _)| *stretch);
        (mixings, stretches.len())
    }
}

/// The objectives and a tie-breaker by starts.
type Rank = (Figures, u64);

pub(super) struct Improver<'p, 'w> {
    problem: &'p Problem,
    reach: &'p [Reach],
    /// By area.
    stretches: Vec<Stretches>,
    chance: fastrand::Rng,
    /// Called for every inserted area; it may end the search.
    watch: &'w mut dyn FnMut(Option<Tick>) -> ControlFlow<()>,
    pub stopped: bool,
}

impl<'p, 'w> Improver<'p, 'w> {
    pub fn new(
        problem: &'p Problem,
        reach: &'p [Reach],
        seed: u64,
        watch: &'w mut dyn FnMut(Option<Tick>) -> ControlFlow<()>,
    ) -> Self {
        let stretches = (0..problem.chains.len()).map(|chain| Stretches::of(problem, chain)).collect();
        Self { problem, reach, stretches, chance: fastrand::Rng::with_seed(seed), watch, stopped: false }
    }

    fn rank(&self, schedule: &Schedule) -> Rank {
        let starts = schedule.placed.iter().map(|placed| u64::from(self.problem.start(placed))).sum();
        (self.problem.figures(schedule), starts)
    }

    /// A plan with limited extra work, area by area in several orders; None if no order gives one.
    pub fn first(&mut self, allowed: Tick, tries: u64) -> Option<Schedule> {
        let mut order: Vec<usize> = (0..self.problem.chains.len()).collect();
        order.sort_by_key(|chain| std::cmp::Reverse(self.reach[*chain].whole(NEVER)));
        let mut best: Option<Schedule> = None;
        for attempt in 0..tries {
            let sooner = best.as_ref().map_or(NEVER, |best| best.service) - 1;
            best = self.put_in(&[], &order, allowed, Want::Soonest(sooner)).or(best);
            if self.stopped || self.problem.chains.len() < 2 {
                break;
            }
            match attempt {
                0 => order.reverse(),
                _ => self.chance.shuffle(&mut order),
            }
        }
        best
    }

    /// Inserts areas one after another into a partial plan: each as requested, at the least cost.
    fn put_in(&mut self, kept: &[Placed], order: &[usize], allowed: Tick, want: Want) -> Option<Schedule> {
        let problem = self.problem;
        let mut placed = kept.to_vec();
        let owed = |placed: &[Placed]| placed.iter().map(|placed| problem.node(placed).owed).sum::<Tick>();
        let mut ahead: Tick =
            order.iter().map(|chain| self.reach[*chain].least(NEVER - 1).unwrap_or(0)).sum();
        for &chain in order {
            if (self.watch)(None).is_break() {
                self.stopped = true;
                return None;
            }
            ahead -= self.reach[chain].least(NEVER - 1).unwrap_or(0);
            let budget = allowed.checked_sub(owed(&placed))?.checked_sub(ahead)?;
            let path = self.put(chain, &placed, budget, want)?;
            placed.extend(path);
        }
        placed.sort_by_key(|placed| (placed.chain, problem.start(placed)));
        Some(problem.schedule(placed))
    }

    fn put(&self, chain: usize, others: &[Placed], budget: Tick, want: Want) -> Option<Vec<Placed>> {
        let (problem, stretches) = (self.problem, &self.stretches[chain]);
        let owed = |path: &[Placed]| path.iter().map(|placed| problem.node(placed).owed).sum::<Tick>();
        let end = |path: &[Placed]| problem.schedule(path.to_vec()).service;
        let cheapest = |by| reinsert(problem, stretches, chain, others, Want::Cheapest(by));
        let fits = |path: &Vec<Placed>| owed(path) <= budget;
        let limit = match want {
            Want::Cheapest(by) => return cheapest(by).filter(fits),
            Want::Soonest(limit) => limit,
        };
        let soonest = reinsert(problem, stretches, chain, others, want)?;
        if soonest.is_empty() {
            return Some(soonest);
        }
        if let Some(path) = cheapest(end(&soonest)).filter(fits) {
            return Some(path);
        }
        // With the allowed extra work the earliest end lies between the minimum and the end with the least
        // extra work.
        let (mut low, mut path) = (end(&soonest), cheapest(limit).filter(fits)?);
        let mut high = end(&path);
        while low < high {
            let middle = low + (high - low) / 2;
            match cheapest(middle).filter(fits) {
                Some(found) => {
                    high = end(&found).min(middle);
                    path = found;
                }
                None => low = middle + 1,
            }
        }
        Some(path)
    }

    /// Removes areas from a plan and inserts them again, until `rounds` rounds in a row improve nothing, or a
    /// sooner end was wanted and there is none.
    ///
    /// While a sooner end is possible, plans with the same end are accepted whatever their other figures.
    pub fn better(&mut self, best: &mut Schedule, allowed: Tick, bound: Tick, rounds: u64) {
        let areas = self.problem.chains.len();
        let (mut rank, mut current) = (self.rank(best), best.clone());
        let mut vain = 0;
        let for_the_end = best.service > bound;
        while vain < rounds && !self.stopped && !best.placed.is_empty() {
            if for_the_end && best.service <= bound {
                break;
            }
            if (self.watch)(Some(best.service)).is_break() {
                self.stopped = true;
                break;
            }
            let ends = best.service > bound;
            let sooner = ends && vain % 2 == 0;
            let mut out = self.chosen(&current, sooner, vain, areas);
            let kept: Vec<Placed> =
                current.placed.iter().filter(|placed| !out.contains(&placed.chain)).copied().collect();
            if !sooner || self.chance.bool() {
                self.chance.shuffle(&mut out);
            }
            let by = if sooner { best.service - 1 } else { best.service };
            let want =
                if ends && self.chance.bool() { Want::Soonest(best.service) } else { Want::Cheapest(by) };
            vain += 1;
            let Some(found) = self.put_in(&kept, &out, allowed, want) else { continue };
            let new = self.rank(&found);
            if found.owed > allowed || found.service > best.service {
                continue;
            }
            if new < rank {
                if !ends || found.service < best.service {
                    vain = 0;
                }
                (*best, rank) = (found.clone(), new);
            }
            if ends || new <= rank {
                current = found;
            }
        }
    }

    /// The areas to remove: for a sooner end one that ends last and some others, else one to three.
    fn chosen(&mut self, best: &Schedule, sooner: bool, vain: u64, areas: usize) -> Vec<usize> {
        let problem = self.problem;
        let done = |placed: &&Placed| problem.node(placed).done_at(placed.index as usize);
        let last = best.placed.iter().max_by_key(done).map_or(0, |placed| placed.chain);
        let count = if vain < areas as u64 { 1 } else { self.chance.usize(1..=areas.min(4)) };
        let mut out = match sooner {
            true => vec![last],
            false => vec![(vain as usize) % areas],
        };
        while out.len() < count {
            let other = self.chance.usize(0..areas);
            if !out.contains(&other) {
                out.push(other);
            }
        }
        out
    }
}

//! A lower bound of the end: each area alone, and the worker's time.
//!
//! The worker's time: work that every path needs between two moments must fit into the free time between them.
//! Otherwise the end is too early.

use super::area::{NEVER, Reach};
use super::problem::{Chain, Problem, Tick};

/// A step on every path, with its time window.
#[derive(Debug, Clone, Copy)]
pub(super) struct Needed {
    pub step: usize,
    pub from: Tick,
    pub to: Tick,
    pub length: Tick,
}

/// The work that every path needs, by area.
pub(super) struct Demand {
    earliest: Vec<Vec<Tick>>,
    steps: Vec<Vec<usize>>,
}

impl Demand {
    pub(super) fn of(problem: &Problem) -> Self {
        Self {
            earliest: problem.chains.iter().map(earliest).collect(),
            steps: problem.chains.iter().map(needed_steps).collect(),
        }
    }

    /// The needed steps of each area, in order, for an end by a tick; None if one cannot be done in time.
    pub(super) fn by(&self, problem: &Problem, reach: &[Reach], by: Tick) -> Option<Vec<Vec<Needed>>> {
        let area = |index: usize| {
            let chain = &problem.chains[index];
            let needed = self.steps[index].iter().map(|&step| {
                let blocks = || chain.nodes.iter().enumerate().filter(|(_, node)| node.step == step);
                let length = blocks().map(|(_, node)| node.length).min().unwrap_or(0);
                let from = blocks().map(|(number, _)| self.earliest[index][number]).min().unwrap_or(NEVER);
                let last = blocks().filter_map(|(number, node)| {
                    let ends = reach[index].from(number, NEVER);
                    let last = ends.iter().rposition(|end| *end <= by)?;
                    Some(node.starts[last] + node.length)
                });
                let to = last.max()?;
                (from != NEVER && from + length <= to).then_some(Needed { step, from, to, length })
            });
            needed.collect()
        };
        (0..problem.chains.len()).map(area).collect()
    }
}

/// Cumulative free time before each tick.
pub(super) struct Capacity(Vec<Tick>);

impl Capacity {
    pub(super) fn of(free: &[(Tick, Tick)]) -> Self {
        let end = free.last().map_or(0, |last| last.1);
        let mut sums = Vec::with_capacity(end as usize + 1);
        let (mut sum, mut stretch) = (0, 0);
        for tick in 0..=end {
            sums.push(sum);
            while free.get(stretch).is_some_and(|free| free.1 <= tick) {
                stretch += 1;
            }
            sum += u32::from(free.get(stretch).is_some_and(|free| free.0 <= tick));
        }
        Self(sums)
    }

    /// The free time between two ticks.
    pub(super) fn between(&self, from: Tick, to: Tick) -> Tick {
        let before = |tick: Tick| self.0.get(tick as usize).or(self.0.last()).copied().unwrap_or(0);
        before(to).saturating_sub(before(from))
    }

    /// Whether work fits between its limits by free time alone; `needed` ascends by end, checked from each of
    /// `begins`.
    pub(super) fn holds(&self, needed: &[Needed], begins: &[Tick]) -> bool {
        begins.iter().all(|&begin| {
            let mut work = 0;
            needed.iter().filter(|needed| needed.from >= begin).all(|needed| {
                work += needed.length;
                work <= self.between(begin, needed.to)
            })
        })
    }
}

/// A lower bound of the service tick with at most `allowed` extra work; [`NEVER`] if there is no schedule.
pub(super) fn soonest(problem: &Problem, reach: &[Reach], allowed: Tick) -> Tick {
    let alone = reach.iter().map(|reach| reach.whole(allowed)).max().unwrap_or(0);
    if alone == NEVER {
        return NEVER;
    }
    let (demand, capacity) = (Demand::of(problem), Capacity::of(&problem.free));
    let fits = |by: Tick| {
        demand.by(problem, reach, by).is_some_and(|needed| {
            let mut needed: Vec<Needed> = needed.into_iter().flatten().collect();
            needed.sort_by_key(|needed| needed.to);
            let mut begins: Vec<Tick> = needed.iter().map(|needed| needed.from).collect();
            begins.sort_unstable();
            begins.dedup();
            capacity.holds(&needed, &begins)
        })
    };
    let latest = problem.horizon.saturating_mul(2).max(alone);
    if !fits(latest) {
        return NEVER;
    }
    let (mut low, mut high) = (alone, latest);
    while low < high {
        let middle = low + (high - low) / 2;
        if fits(middle) { high = middle } else { low = middle + 1 }
    }
    low
}

/// The index of the earliest start of every block over all paths; `u32::MAX` if unreachable.
pub(super) fn earliest(chain: &Chain) -> Vec<Tick> {
    let mut first = vec![u32::MAX; chain.nodes.len()];
    for root in chain.roots.iter().filter(|root| root.first < root.end) {
        first[root.to] = first[root.to].min(root.first);
    }
    for number in 0..chain.nodes.len() {
        let from = first[number] as usize;
        for edge in &chain.nodes[number].next {
            // A window may allow nothing after the first start, and something after a later one.
            let ends = edge.first.iter().zip(&edge.end).skip(from);
            let next = ends.filter(|(first, end)| first < end).map(|(first, _)| *first).min();
            first[edge.to] = first[edge.to].min(next.unwrap_or(u32::MAX));
        }
    }
    let start = |(number, first): (usize, &u32)| {
        chain.nodes[number].starts.get(*first as usize).copied().unwrap_or(NEVER)
    };
    first.iter().enumerate().map(start).collect()
}

/// The steps on every path through an area.
fn needed_steps(chain: &Chain) -> Vec<usize> {
    let mut steps: Vec<usize> = chain.nodes.iter().map(|node| node.step).collect();
    steps.sort_unstable();
    steps.dedup();
    steps.retain(|step| {
        // Without its blocks no path reaches an end.
        let mut reached = vec![false; chain.nodes.len()];
        for root in &chain.roots {
            reached[root.to] = true;
        }
        let mut ended = false;
        for (number, node) in chain.nodes.iter().enumerate() {
            if !reached[number] || node.step == *step {
                continue;
            }
            ended |= node.last;
            node.next.iter().for_each(|edge| reached[edge.to] = true);
        }
        !ended
    });
    steps
}

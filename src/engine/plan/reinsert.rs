//! One area put between the blocks of all others, exactly: the soonest end, or the least cost by an end.

use super::area::{NEVER, sliding_least};
use super::problem::{Placed, Problem, Tick};

/// What is wanted of an area that is put in.
#[derive(Debug, Clone, Copy)]
pub(super) enum Want {
    /// The soonest end.
    Soonest,
    /// The least work owed, then the fewest mixings, the fewest evenings and the soonest starts, with its end by
    /// a tick.
    Cheapest(Tick),
}

/// No way leads on.
const NONE: u64 = u64::MAX;
const OWED: u64 = 1 << 46;
const MIXING: u64 = 1 << 38;
const EVENING: u64 = 1 << 30;

struct Table<'p> {
    problem: &'p Problem,
    chain: usize,
    want: Want,
    /// By free stretch, whether others work in it.
    used: Vec<bool>,
    /// The stretch and the product of every batch of the others.
    mixed: Vec<(usize, usize)>,
    /// By block and start, the least from there on.
    least: Vec<Vec<u64>>,
    /// The free stretch of every start of a block.
    stretches: Vec<Vec<usize>>,
}

/// The blocks of an area between those of the others; None where no way is left.
pub(super) fn reinsert(
    problem: &Problem,
    chain: usize,
    others: &[Placed],
    want: Want,
) -> Option<Vec<Placed>> {
    if problem.chains[chain].idle {
        return Some(Vec::new());
    }
    let mut used = vec![false; problem.free.len()];
    let mut mixed = Vec::new();
    for other in others {
        let stretch = problem.stretch(problem.start(other));
        used[stretch] = true;
        mixed.extend(problem.node(other).mix.map(|product| (stretch, product)));
    }
    let mut table = Table { problem, chain, want, used, mixed, least: Vec::new(), stretches: Vec::new() };
    table.fill(others);
    table.path()
}

/// The stretch of every start, in the order of both.
fn stretches(starts: &[Tick], free: &[(Tick, Tick)]) -> Vec<usize> {
    let mut stretch = 0;
    let of = |start: &Tick| {
        while free.get(stretch + 1).is_some_and(|next| next.0 <= *start) {
            stretch += 1;
        }
        stretch
    };
    starts.iter().map(of).collect()
}

impl Table<'_> {
    /// Whether each start of a block is left by the others.
    fn left(&self, node: usize, others: &[Placed]) -> Vec<bool> {
        let problem = self.problem;
        let block = &problem.chains[self.chain].nodes[node];
        let mut left = vec![true; block.starts.len()];
        let room = problem.chains[self.chain].room;
        for other in others {
            let (begin, end) = (problem.start(other), problem.end(other));
            // A start before this ends before the other begins, its film tack-free where that makes dust.
            let mut low = block.starts.partition_point(|start| start + block.length <= begin);
            let dusty = problem.node(other).dusty && problem.chains[other.chain].room == room;
            if dusty && !block.tacky.is_empty() {
                low = low.min(block.tacky.partition_point(|tacky| *tacky <= begin));
            }
            let free = problem.release(other, (self.chain, node)).max(end);
            let high = block.starts.partition_point(|start| *start < free);
            if low < high {
                left[low..high].fill(false);
            }
        }
        left
    }

    fn entering(&self, stretch: usize) -> u64 {
        match self.want {
            Want::Cheapest(_) if !self.used[stretch] => EVENING,
            _ => 0,
        }
    }

    fn own(&self, node: usize, index: usize) -> u64 {
        let block = &self.problem.chains[self.chain].nodes[node];
        let Want::Cheapest(_) = self.want else { return 0 };
        let stretch = self.stretches[node][index];
        let mixes = block.mix.is_some_and(|product| !self.mixed.contains(&(stretch, product)));
        u64::from(block.owed) * OWED + u64::from(mixes) * MIXING + u64::from(block.starts[index])
    }

    /// What an area leaves at its end.
    fn ended(&self, node: usize, index: usize) -> u64 {
        let done = self.problem.chains[self.chain].nodes[node].done_at(index);
        match self.want {
            Want::Soonest if done != NEVER => u64::from(done),
            Want::Cheapest(by) if done <= by => 0,
            _ => NONE,
        }
    }

    fn fill(&mut self, others: &[Placed]) {
        let chain = &self.problem.chains[self.chain];
        self.stretches = chain.nodes.iter().map(|node| stretches(&node.starts, &self.problem.free)).collect();
        self.least = vec![Vec::new(); chain.nodes.len()];
        for (number, node) in chain.nodes.iter().enumerate().rev() {
            let count = node.starts.len();
            let mut least = vec![NONE; count];
            if node.last {
                (0..count).for_each(|index| least[index] = self.ended(number, index));
            } else {
                for edge in &node.next {
                    let on = &self.least[edge.to];
                    let there = &self.stretches[edge.to];
                    let entered: Vec<u64> = on
                        .iter()
                        .zip(there)
                        .map(|(least, stretch)| least.saturating_add(self.entering(*stretch)))
                        .collect();
                    let away = sliding_least(&entered, &edge.first, &edge.end, NONE);
                    // In the same evening nothing is entered.
                    let ends: Vec<u32> = self.stretches[number]
                        .iter()
                        .zip(&edge.end)
                        .map(|(stretch, end)| {
                            (there.partition_point(|other| other <= stretch) as u32).min(*end)
                        })
                        .collect();
                    let firsts: Vec<u32> = self.stretches[number]
                        .iter()
                        .zip(&edge.first)
                        .map(|(stretch, first)| {
                            (there.partition_point(|other| other < stretch) as u32).max(*first)
                        })
                        .collect();
                    let here = sliding_least(on, &firsts, &ends, NONE);
                    for (index, least) in least.iter_mut().enumerate() {
                        *least = (*least).min(away[index]).min(here[index]);
                    }
                }
            }
            let left = self.left(number, others);
            for (index, least) in least.iter_mut().enumerate() {
                *least = match left[index] {
                    true => least.saturating_add(self.own(number, index)),
                    false => NONE,
                };
            }
            self.least[number] = least;
        }
    }

    fn path(&self) -> Option<Vec<Placed>> {
        let chain = &self.problem.chains[self.chain];
        let roots = chain.roots.iter().map(|root| (root.to, root.first, root.end));
        let (mut node, mut index) = self.best(roots, None)?;
        let mut path = vec![Placed { chain: self.chain, node, index }];
        while !chain.nodes[node].last {
            let stretch = self.stretches[node][index as usize];
            let edges = chain.nodes[node].next.iter();
            let edges = edges.map(|edge| (edge.to, edge.first[index as usize], edge.end[index as usize]));
            (node, index) = self.best(edges, Some(stretch))?;
            path.push(Placed { chain: self.chain, node, index });
        }
        Some(path)
    }

    /// The best of some starts of some blocks, the first of those that are even.
    fn best(
        &self,
        ways: impl Iterator<Item = (usize, u32, u32)>,
        from: Option<usize>,
    ) -> Option<(usize, u32)> {
        let all = ways.flat_map(|(node, first, end)| {
            (first..end.max(first)).filter_map(move |index| {
                let stretch = *self.stretches[node].get(index as usize)?;
                let least = self.least[node][index as usize];
                let entered = if from == Some(stretch) { 0 } else { self.entering(stretch) };
                (least != NONE).then(|| (least.saturating_add(entered), node, index))
            })
        });
        let (_, node, index) = all.min_by_key(|(least, _, index)| (*least, *index))?;
        Some((node, index))
    }
}

//! Inserts one area between the blocks of all others, exactly: earliest end, or least cost.

use super::area::{NEVER, sliding_least};
use super::problem::{Edge, Node, Placed, Problem, Tick};

/// The objective of an insertion.
#[derive(Debug, Clone, Copy)]
pub(super) enum Want {
    /// The earliest end, up to a tick.
    Soonest(Tick),
    /// The least extra work, then the fewest mixings, the fewest sessions and the earliest starts, with its end
    /// by a tick.
    Cheapest(Tick),
}

/// No path.
const NONE: u64 = u64::MAX;
const OWED: u64 = 1 << 46;
const MIXING: u64 = 1 << 38;
const EVENING: u64 = 1 << 30;

struct Table<'p> {
    problem: &'p Problem,
    chain: usize,
    want: Want,
    /// By free stretch, the cost of starting work in it.
    entering: Vec<u64>,
    /// The stretch and the product of every batch of the others.
    mixed: Vec<(usize, usize)>,
    /// By block and start, the least cost from there on.
    least: Vec<Vec<u64>>,
    stretches: &'p Stretches,
}

/// The free stretches of an area's starts: the same for every plan.
#[derive(Debug)]
pub(super) struct Stretches {
    /// By block and start.
    of: Vec<Vec<usize>>,
    /// By block and edge.
    same: Vec<Vec<SameStretch>>,
    /// By block, the first start that any path reaches.
    first: Vec<usize>,
}

/// For each start of a block, the starts of the next one in the same stretch: the first, and the end,
/// exclusive.
#[derive(Debug)]
struct SameStretch {
    first: Vec<u32>,
    end: Vec<u32>,
}

impl Stretches {
    pub fn of(problem: &Problem, chain: usize) -> Self {
        let nodes = &problem.chains[chain].nodes;
        let of: Vec<Vec<usize>> = nodes.iter().map(|node| stretches(&node.starts, &problem.free)).collect();
        let same = |(node, here): (&Node, &Vec<usize>)| {
            let edge = |edge: &Edge| {
                let there = &of[edge.to];
                let starts = here.iter().zip(edge.first.iter().zip(&edge.end));
                let (first, end) = starts
                    .map(|(stretch, (first, end))| {
                        let before = there.partition_point(|other| other < stretch) as u32;
                        let until = there.partition_point(|other| other <= stretch) as u32;
                        (before.max(*first), until.min(*end))
                    })
                    .unzip();
                SameStretch { first, end }
            };
            node.next.iter().map(edge).collect()
        };
        let same = nodes.iter().zip(&of).map(same).collect();
        let mut first = vec![usize::MAX; nodes.len()];
        for root in &problem.chains[chain].roots {
            first[root.to] = first[root.to].min(root.first as usize);
        }
        for (number, node) in nodes.iter().enumerate() {
            for edge in &node.next {
                let there = edge.first.get(first[number]).map_or(usize::MAX, |first| *first as usize);
                first[edge.to] = first[edge.to].min(there);
            }
        }
        Self { of, same, first }
    }
}

/// The blocks of an area between those of the others; None if there is no path.
pub(super) fn reinsert(
    problem: &Problem,
    stretches: &Stretches,
    chain: usize,
    others: &[Placed],
    want: Want,
) -> Option<Vec<Placed>> {
    if problem.chains[chain].idle {
        return Some(Vec::new());
    }
    let cost = if matches!(want, Want::Cheapest(_)) { EVENING } else { 0 };
    let mut entering = vec![cost; problem.free.len()];
    let mut mixed = Vec::new();
    for other in others {
        let stretch = problem.stretch(problem.start(other));
        entering[stretch] = 0;
        mixed.extend(problem.node(other).mix.map(|product| (stretch, product)));
    }
    let mut table = Table { problem, chain, want, entering, mixed, least: Vec::new(), stretches };
    table.fill(others);
    table.path()
}

/// The stretch of every start; both ascend.
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
    /// Whether each start of a block is free of the others.
    fn left(&self, node: usize, others: &[Placed]) -> Vec<bool> {
        let problem = self.problem;
        let block = &problem.chains[self.chain].nodes[node];
        let mut left = vec![true; block.starts.len()];
        let room = problem.chains[self.chain].room;
        for other in others {
            let (begin, end) = (problem.start(other), problem.end(other));
            // An earlier start ends before the other begins, with its film tack-free if that makes dust.
            let length = block.length + block.changeover(problem.node(other));
            let mut low = block.starts.partition_point(|start| start + length <= begin);
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

    /// The latest allowed end of the area.
    fn by(&self) -> Tick {
        match self.want {
            Want::Soonest(by) | Want::Cheapest(by) => by,
        }
    }

    /// The cost of an end of the area.
    fn ended(&self, node: &Node, index: usize) -> u64 {
        let done = node.done_at(index);
        match self.want {
            _ if done > self.by() || done == NEVER => NONE,
            Want::Soonest(_) => u64::from(done),
            Want::Cheapest(_) => 0,
        }
    }

    /// The costs of a block's own starts, from one of them on.
    fn add_own(&self, node: &Node, stretches: &[usize], starts: &[Tick], least: &mut [u64]) {
        if matches!(self.want, Want::Soonest(_)) {
            return;
        }
        let mut mixing = vec![0; self.entering.len()];
        if let Some(product) = node.mix {
            mixing.fill(MIXING);
            self.mixed.iter().filter(|mixed| mixed.1 == product).for_each(|mixed| mixing[mixed.0] = 0);
        }
        let owed = u64::from(node.owed) * OWED;
        for ((least, stretch), start) in least.iter_mut().zip(stretches).zip(starts) {
            *least = least.saturating_add(owed + mixing[*stretch] + u64::from(*start));
        }
    }

    fn fill(&mut self, others: &[Placed]) {
        let chain = &self.problem.chains[self.chain];
        let by = self.by();
        self.least = chain.nodes.iter().map(|node| vec![NONE; node.starts.len()]).collect();
        for (number, node) in chain.nodes.iter().enumerate().rev() {
            // No path reaches an earlier start, and no later one ends in time.
            let until = node.starts.partition_point(|start| *start <= by);
            let from = self.stretches.first[number].min(until);
            let mut least = vec![NONE; until - from];
            if node.last {
                least.iter_mut().enumerate().for_each(|(i, least)| *least = self.ended(node, from + i));
            }
            for (edge, same) in node.next.iter().zip(&self.stretches.same[number]) {
                let on = &self.least[edge.to];
                let mut lower = |on: &[u64], first: &[u32], end: &[u32]| {
                    let other = sliding_least(on, &first[from..until], &end[from..until], NONE);
                    least.iter_mut().zip(other).for_each(|(least, other)| *least = (*least).min(other));
                };
                if matches!(self.want, Want::Soonest(_)) {
                    lower(on, &edge.first, &edge.end);
                    continue;
                }
                let there = self.stretches.of[edge.to].iter();
                let entered: Vec<u64> = on
                    .iter()
                    .zip(there)
                    .map(|(on, there)| on.saturating_add(self.entering[*there]))
                    .collect();
                lower(&entered, &edge.first, &edge.end);
                // In the same session there is no cost of starting.
                lower(on, &same.first, &same.end);
            }
            self.add_own(node, &self.stretches.of[number][from..], &node.starts[from..], &mut least);
            let left = self.left(number, others);
            for (least, _) in least.iter_mut().zip(&left[from..]).filter(|(_, left)| !**left) {
                *least = NONE;
            }
            self.least[number][from..until].copy_from_slice(&least);
        }
    }

    fn path(&self) -> Option<Vec<Placed>> {
        let chain = &self.problem.chains[self.chain];
        let roots = chain.roots.iter().map(|root| (root.to, root.first, root.end));
        let (mut node, mut index) = self.best(roots, None)?;
        let mut path = vec![Placed { chain: self.chain, node, index }];
        while !chain.nodes[node].last {
            let stretch = self.stretches.of[node][index as usize];
            let edges = chain.nodes[node].next.iter();
            let edges = edges.map(|edge| (edge.to, edge.first[index as usize], edge.end[index as usize]));
            (node, index) = self.best(edges, Some(stretch))?;
            path.push(Placed { chain: self.chain, node, index });
        }
        Some(path)
    }

    /// The best of some starts of some blocks; the first of equals.
    fn best(
        &self,
        ways: impl Iterator<Item = (usize, u32, u32)>,
        from: Option<usize>,
    ) -> Option<(usize, u32)> {
        let all = ways.flat_map(|(node, first, end)| {
            (first..end.max(first)).filter_map(move |index| {
                let stretch = *self.stretches.of[node].get(index as usize)?;
                let least = self.least[node][index as usize];
                let entered = if from == Some(stretch) { 0 } else { self.entering[stretch] };
                (least != NONE).then(|| (least.saturating_add(entered), node, index))
            })
        });
        let (_, node, index) = all.min_by_key(|(least, _, index)| (*least, *index))?;
        Some((node, index))
    }
}

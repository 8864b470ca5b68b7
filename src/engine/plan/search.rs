//! All areas together: is there a plan in service by a tick with limited extra work?
//!
//! Depth first over the choices: the path of an area, and which of two blocks that need the worker at the same
//! time comes first. Between two choices every start is pushed to the right by edges, windows and the order of
//! work, and limited from the right by the deadline. The result is the earliest schedule of these choices,
//! windows included, so no start has to be guessed.

mod tighten;

use std::ops::ControlFlow;

use super::area::{NEVER, Reach};
use super::bound::{Capacity, Demand, Needed};
use super::problem::{Edge, Node, Placed, Problem, Schedule, Tick};

/// The result of a search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Outcome {
    Found(Schedule),
    /// There is none: all choices were tried or excluded.
    None,
    /// The search was given up.
    Unknown,
    /// The callback ended it.
    Stopped,
}

/// A chosen block with its remaining starts.
#[derive(Debug, Clone, Copy)]
struct Block {
    chain: usize,
    node: usize,
    /// The previous block of its area, and the edge between them.
    before: Option<(usize, usize)>,
    low: u32,
    high: u32,
}

/// Half a day, in ticks of five minutes.
const BIAS: u64 = 144;

pub(super) struct Search<'p, 'w> {
    problem: &'p Problem,
    reach: &'p [Reach],
    demand: &'p Demand,
    capacity: &'p Capacity,
    /// The work that every path of each area still needs, for the requested end.
    needed: Vec<Vec<Needed>>,
    /// Random state for ties; 0: none.
    chance: u64,
    /// By how much each area's deadlines are taken earlier in this try.
    bias: Vec<Tick>,
    /// The number of places.
    rooms: usize,
    /// Whether this try takes the sooner path even if it costs extra work.
    owes_freely: bool,
    by: Tick,
    /// The allowed extra work.
    allowed: Tick,
    effort: u64,
    tried: u64,
    watch: &'w mut dyn FnMut(u64) -> ControlFlow<()>,
    blocks: Vec<Block>,
    /// The newest block of each area.
    tails: Vec<Option<usize>>,
    /// One block before another.
    order: Vec<(usize, usize)>,
    /// The extra work of the chosen blocks.
    owed: Tick,
}

enum End {
    Found,
    Nowhere,
    GivenUp,
    Stopped,
}

impl<'p, 'w> Search<'p, 'w> {
    /// A search with a limited number of choices.
    pub(super) fn new(
        problem: &'p Problem,
        reach: &'p [Reach],
        (demand, capacity): (&'p Demand, &'p Capacity),
        effort: u64,
        chance: u64,
        watch: &'w mut dyn FnMut(u64) -> ControlFlow<()>,
    ) -> Self {
        Self {
            problem,
            reach,
            demand,
            capacity,
            needed: Vec::new(),
            chance,
            bias: vec![0; problem.chains.len()],
            rooms: problem.chains.iter().map(|chain| chain.room + 1).max().unwrap_or(0),
            owes_freely: false,
            by: NEVER,
            allowed: 0,
            effort,
            tried: 0,
            watch,
            blocks: Vec::new(),
            tails: vec![None; problem.chains.len()],
            order: Vec::new(),
            owed: 0,
        }
    }

    /// Searches for a schedule in service by a tick.
    pub(super) fn run(mut self, by: Tick, allowed: Tick) -> (Outcome, u64) {
        (self.by, self.allowed) = (by, allowed);
        match self.demand.by(self.problem, self.reach, by) {
            Some(needed) => self.needed = needed,
            None => return (Outcome::None, 0),
        }
        if self.chance != 0 {
            for chain in 0..self.bias.len() {
                self.throw(2);
                self.bias[chain] = ((self.chance >> 16) % BIAS) as Tick;
            }
            self.owes_freely = self.throw(3);
        }
        let outcome = match self.descend() {
            End::Found => Outcome::Found(self.schedule()),
            End::Nowhere => Outcome::None,
            End::GivenUp => Outcome::Unknown,
            End::Stopped => Outcome::Stopped,
        };
        (outcome, self.tried)
    }

    /// Searches for a schedule with these blocks of another one in the same order, though not at the same
    /// starts. The kept blocks of an area are its first ones.
    pub(super) fn run_near(mut self, mut kept: Vec<&Placed>, by: Tick, allowed: Tick) -> (Outcome, u64) {
        kept.sort_by_key(|placed| self.problem.start(placed));
        for placed in kept {
            let Some(way) = self.ways_of(placed.chain).find(|way| way.node == placed.node) else {
                return (Outcome::Unknown, 0);
            };
            let block = self.blocks.len();
            self.order.extend(block.checked_sub(1).map(|before| (before, block)));
            self.owed += self.problem.node(placed).owed;
            self.tails[placed.chain] = Some(block);
            self.blocks.push(way);
        }
        self.run(by, allowed)
    }

    fn schedule(&self) -> Schedule {
        let mut placed: Vec<Placed> = self
            .blocks
            .iter()
            .map(|block| Placed { chain: block.chain, node: block.node, index: block.low })
            .collect();
        placed.sort_by_key(|placed| (placed.chain, self.problem.start(placed)));
        self.problem.schedule(placed)
    }

    fn descend(&mut self) -> End {
        self.tried += 1;
        if self.tried > self.effort {
            return End::GivenUp;
        }
        if self.tried.is_multiple_of(256) && (self.watch)(self.tried).is_break() {
            return End::Stopped;
        }
        if !self.tighten() || !self.has_time() {
            return End::Nowhere;
        }
        if let Some((a, b)) = self.conflict() {
            // The block with the nearer deadline goes first.
            let sooner = match self.dust_of(a, b) {
                // Waiting for a film costs more than sanding before it.
                Some(_) => self.delay(b, a) < self.delay(a, b),
                None => self.urgency(b) < self.urgency(a),
            };
            let swap = sooner || self.throw(8);
            let (a, b) = if swap { (b, a) } else { (a, b) };
            return self.each_of(
                &[(a, b), (b, a)],
                |search, pair| search.order.push(*pair),
                |search| {
                    search.order.pop();
                },
            );
        }
        let Some(chain) = self.next_area() else { return End::Found };
        let chain = if self.throw(10) { self.any_area().unwrap_or(chain) } else { chain };
        let mut ways = self.ways(chain);
        if ways.len() > 1 && self.throw(4) {
            ways.rotate_left(1);
        }
        let tail = self.tails[chain];
        self.each_of(
            &ways,
            |search, way| {
                search.owed += search.problem.chains[chain].nodes[way.node].owed;
                search.tails[chain] = Some(search.blocks.len());
                search.blocks.push(*way);
            },
            |search| {
                if let Some(gone) = search.blocks.pop() {
                    search.owed -= search.problem.chains[chain].nodes[gone.node].owed;
                }
                search.tails[chain] = tail;
            },
        )
    }

    /// Tries each choice in turn; each is undone before the next.
    fn each_of<T>(&mut self, choices: &[T], make: impl Fn(&mut Self, &T), undo: impl Fn(&mut Self)) -> End {
        let limits: Vec<(u32, u32)> = self.blocks.iter().map(|block| (block.low, block.high)).collect();
        for choice in choices {
            make(self, choice);
            match self.descend() {
                End::Nowhere => {}
                end => return end,
            }
            undo(self);
            for (block, limits) in self.blocks.iter_mut().zip(&limits) {
                (block.low, block.high) = *limits;
            }
        }
        End::Nowhere
    }

    fn starts(&self, block: usize) -> &'p [Tick] {
        let Block { chain, node, .. } = self.blocks[block];
        &self.problem.chains[chain].nodes[node].starts
    }

    fn length(&self, block: usize) -> Tick {
        let Block { chain, node, .. } = self.blocks[block];
        self.problem.chains[chain].nodes[node].length
    }

    fn earliest(&self, block: usize) -> Tick {
        self.starts(block)[self.blocks[block].low as usize]
    }

    fn latest(&self, block: usize) -> Tick {
        self.starts(block)[self.blocks[block].high as usize]
    }

    fn edge(&self, block: usize) -> Option<(usize, &'p Edge)> {
        let Block { chain, before, .. } = self.blocks[block];
        let (before, edge) = before?;
        Some((before, &self.problem.chains[chain].nodes[self.blocks[before].node].next[edge]))
    }

    /// True once in `one_in` times at random, so that another try takes other paths.
    fn throw(&mut self, one_in: u64) -> bool {
        if self.chance == 0 {
            return false;
        }
        // xorshift64: its quality does not matter here.
        self.chance ^= self.chance << 13;
        self.chance ^= self.chance >> 7;
        self.chance ^= self.chance << 17;
        self.chance.is_multiple_of(one_in)
    }

    /// By start, when the dust of another block no longer harms the film of a block; None if it never does.
    fn dust_of(&self, film: usize, dusty: usize) -> Option<&'p [Tick]> {
        let (film, dusty) = (self.blocks[film], self.blocks[dusty]);
        let (chain, other) = (&self.problem.chains[film.chain], &self.problem.chains[dusty.chain]);
        let tacky = &chain.nodes[film.node].tacky;
        (chain.room == other.room && other.nodes[dusty.node].dusty && !tacky.is_empty())
            .then_some(tacky.as_slice())
    }

    fn node(&self, block: usize) -> &'p Node {
        let Block { chain, node, .. } = self.blocks[block];
        &self.problem.chains[chain].nodes[node]
    }

    fn changeover(&self, first: usize, then: usize) -> Tick {
        self.node(first).changeover(self.node(then))
    }

    /// The earliest start of a block after another.
    fn release(&self, first: usize, then: usize) -> Tick {
        let end = self.earliest(first) + self.length(first) + self.changeover(first, then);
        self.dust_of(first, then).map_or(end, |tacky| end.max(tacky[self.blocks[first].low as usize]))
    }

    /// The first two blocks that need the worker at the same time, or of which one makes dust on the other's
    /// film.
    fn conflict(&self) -> Option<(usize, usize)> {
        let mut sorted: Vec<usize> = (0..self.blocks.len()).collect();
        sorted.sort_by_key(|block| self.earliest(*block));
        let mut longest: Option<usize> = None;
        // By place, the film that is tack-free last.
        let mut wet: Vec<Option<(Tick, usize)>> = vec![None; self.rooms];
        for block in sorted {
            let Block { chain, node, low, .. } = self.blocks[block];
            match longest {
                Some(running)
                    if self.earliest(running) + self.length(running) + self.changeover(running, block)
                        > self.earliest(block) =>
                {
                    return Some((running, block));
                }
                _ => longest = Some(block),
            }
            let chain = &self.problem.chains[chain];
            match wet[chain.room] {
                Some((tacky, film)) if chain.nodes[node].dusty && tacky > self.earliest(block) => {
                    return Some((film, block));
                }
                _ => {}
            }
            if let Some(tacky) = chain.nodes[node].tacky.get(low as usize)
                && wet[chain.room].is_none_or(|(last, _)| last < *tacky)
            {
                wet[chain.room] = Some((*tacky, block));
            }
        }
        None
    }

    /// By how much the first of two blocks delays the second.
    fn delay(&self, first: usize, then: usize) -> Tick {
        self.release(first, then).saturating_sub(self.earliest(then))
    }

    /// The latest start of a block, as weighted in this try.
    fn urgency(&self, block: usize) -> Tick {
        self.latest(block).saturating_sub(self.bias[self.blocks[block].chain])
    }

    /// Whether an area has work left.
    fn is_unfinished(&self, chain: usize) -> bool {
        let nodes = &self.problem.chains[chain];
        match self.tails[chain] {
            None => !nodes.idle,
            Some(tail) => !nodes.nodes[self.blocks[tail].node].last,
        }
    }

    /// Any area with work left.
    fn any_area(&self) -> Option<usize> {
        let unfinished = || (0..self.tails.len()).filter(|chain| self.is_unfinished(*chain));
        unfinished().nth((self.chance >> 8) as usize % unfinished().count().max(1))
    }

    /// The area that can continue first; None if all have ended.
    fn next_area(&self) -> Option<usize> {
        let goes_on = |chain: &usize| {
            let earliest = self.ways_of(*chain).map(|way| {
                let starts = &self.problem.chains[*chain].nodes[way.node].starts;
                starts.get(way.low as usize).copied().unwrap_or(NEVER)
            });
            let slack = self.by - self.reach[*chain].whole(NEVER).min(self.by);
            (earliest.min().unwrap_or(NEVER), slack)
        };
        (0..self.problem.chains.len()).filter(|chain| self.is_unfinished(*chain)).min_by_key(goes_on)
    }

    /// The continuations of an area that may still be in time: those without extra work first, then the earlier
    /// ones.
    fn ways(&self, chain: usize) -> Vec<Block> {
        let mut ways: Vec<_> = self
            .ways_of(chain)
            .filter_map(|way| {
                let owed = self.problem.chains[chain].nodes[way.node].owed;
                let allowed = (self.allowed - self.owed).checked_sub(owed)?;
                let ends = self.reach[chain].from(way.node, allowed);
                let soonest = ends.get(way.low as usize..=way.high as usize)?.iter().min()?;
                (*soonest <= self.by).then_some((owed > 0, *soonest, way))
            })
            .collect();
        ways.sort_by_key(|(owes, soonest, _)| (*owes && !self.owes_freely, *soonest));
        ways.into_iter().map(|(.., way)| way).collect()
    }

    fn ways_of(&self, chain: usize) -> impl Iterator<Item = Block> + '_ {
        let nodes = &self.problem.chains[chain];
        let tail = self.tails[chain];
        let roots = nodes.roots.iter().filter(move |_| tail.is_none()).filter_map(move |root| {
            let high = root.end.checked_sub(1)?;
            Some(Block { chain, node: root.to, before: None, low: root.first, high })
        });
        let on = tail.into_iter().flat_map(move |tail| {
            let Block { node, low, high, .. } = self.blocks[tail];
            nodes.nodes[node].next.iter().enumerate().filter_map(move |(number, edge)| {
                let last = edge.end[high as usize].checked_sub(1)?;
                let before = Some((tail, number));
                Some(Block { chain, node: edge.to, before, low: edge.first[low as usize], high: last })
            })
        });
        roots.chain(on).filter(|way| way.low <= way.high)
    }
}

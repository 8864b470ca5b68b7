//! All areas together: is there a plan that is in service by a tick, with so much work owed at most?
//!
//! Depth first over what has to be chosen: the way that an area goes on, and which of two blocks that want
//! the worker at once comes first. Between two choices every start is pushed to the right as far as the
//! ways, the windows and the order of work ask, and pulled from the right as far as the deadline does;
//! what is left is the earliest schedule of these choices, windows included, so no start has to be guessed.

mod tighten;

use std::ops::ControlFlow;

use super::area::{NEVER, Reach};
use super::bound::{Capacity, Demand, Needed};
use super::problem::{Edge, Placed, Problem, Schedule, Tick};

/// What came of a search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Outcome {
    Found(Schedule),
    /// There is none: every choice was tried, or shown to lead nowhere.
    None,
    /// It was given up.
    Unknown,
    /// Whoever watches wanted it to end.
    Stopped,
}

/// A block that is chosen, with the starts that are left to it.
#[derive(Debug, Clone, Copy)]
struct Block {
    chain: usize,
    node: usize,
    /// The block of its area before it, and by which edge it follows.
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
    /// What every way of each area still needs, for the end that is sought.
    needed: Vec<Vec<Needed>>,
    /// Chance, for the choices that are even; 0: none.
    chance: u64,
    /// What an area's deadlines are taken to be sooner by, in this try.
    bias: Vec<Tick>,
    /// How many places there are.
    rooms: usize,
    /// Whether this try takes the sooner way though it costs work.
    owes_freely: bool,
    by: Tick,
    /// So much may be owed.
    allowed: Tick,
    effort: u64,
    tried: u64,
    watch: &'w mut dyn FnMut(u64) -> ControlFlow<()>,
    blocks: Vec<Block>,
    /// The newest block of each area.
    tails: Vec<Option<usize>>,
    /// One block before another.
    order: Vec<(usize, usize)>,
    /// So much is owed by the blocks that are chosen.
    owed: Tick,
}

enum End {
    Found,
    Nowhere,
    GivenUp,
    Stopped,
}

impl<'p, 'w> Search<'p, 'w> {
    /// A search that tries so many choices before it is given up.
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

    /// Seeks a schedule in service by a tick.
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

    /// Seeks a schedule with these blocks of another one, in the same order of work, though not at the same
    /// starts. What is kept of an area are its first blocks.
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
            // Whose deadline is nearer goes first.
            let sooner = match self.dust_of(a, b) {
                // A film that is waited for costs more than a sanding before it.
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

    /// Tries each choice in turn; what one of them narrowed is wide again for the next.
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

    /// One time in so many, by chance: so that another try goes other ways.
    fn throw(&mut self, one_in: u64) -> bool {
        if self.chance == 0 {
            return false;
        }
        // xorshift64: nothing hangs on how good it is.
        self.chance ^= self.chance << 13;
        self.chance ^= self.chance >> 7;
        self.chance ^= self.chance << 17;
        self.chance.is_multiple_of(one_in)
    }

    /// By start, when the film of a block no longer minds the dust of another; None where it never does.
    fn dust_of(&self, film: usize, dusty: usize) -> Option<&'p [Tick]> {
        let (film, dusty) = (self.blocks[film], self.blocks[dusty]);
        let (chain, other) = (&self.problem.chains[film.chain], &self.problem.chains[dusty.chain]);
        let tacky = &chain.nodes[film.node].tacky;
        (chain.room == other.room && other.nodes[dusty.node].dusty && !tacky.is_empty())
            .then_some(tacky.as_slice())
    }

    /// From when on a block may start behind another, at the soonest.
    fn release(&self, first: usize, then: usize) -> Tick {
        let end = self.earliest(first) + self.length(first);
        self.dust_of(first, then).map_or(end, |tacky| end.max(tacky[self.blocks[first].low as usize]))
    }

    /// The first two blocks that want the worker at once, or of which one makes dust on the other's film.
    fn conflict(&self) -> Option<(usize, usize)> {
        let mut sorted: Vec<usize> = (0..self.blocks.len()).collect();
        sorted.sort_by_key(|block| self.earliest(*block));
        let mut longest: Option<usize> = None;
        // By place, the film that is tack-free last.
        let mut wet: Vec<Option<(Tick, usize)>> = vec![None; self.rooms];
        for block in sorted {
            let Block { chain, node, low, .. } = self.blocks[block];
            match longest {
                Some(running) if self.earliest(running) + self.length(running) > self.earliest(block) => {
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

    /// How long the second of two blocks is kept by the first.
    fn delay(&self, first: usize, then: usize) -> Tick {
        self.release(first, then).saturating_sub(self.earliest(then))
    }

    /// By when a block has to begin, as this try sees it.
    fn urgency(&self, block: usize) -> Tick {
        self.latest(block).saturating_sub(self.bias[self.blocks[block].chain])
    }

    /// Whether an area is not at its end.
    fn is_unfinished(&self, chain: usize) -> bool {
        let nodes = &self.problem.chains[chain];
        match self.tails[chain] {
            None => !nodes.idle,
            Some(tail) => !nodes.nodes[self.blocks[tail].node].last,
        }
    }

    /// Any area that is not at its end.
    fn any_area(&self) -> Option<usize> {
        let unfinished = || (0..self.tails.len()).filter(|chain| self.is_unfinished(*chain));
        unfinished().nth((self.chance >> 8) as usize % unfinished().count().max(1))
    }

    /// The area that could go on first; None where all are at their end.
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

    /// The ways an area can go on that may still be in time: those that owe nothing first, then the sooner.
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

//! The search problem: blocks of work on a grid of ticks, and the paths of each area.
//!
//! Every block has a list of possible starts. An edge gives, for each of them, the possible starts of the next
//! block. Both ascend with the start: a later start never allows an earlier continuation. So the schedules with
//! one order of work have an earliest one, found by pushing starts to the right.

/// A tick of the grid: five minutes.
pub type Tick = u32;

/// An uninterrupted block of work.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Node {
    /// The step of its area.
    pub step: usize,
    /// The worker's time.
    pub length: Tick,
    /// Its possible starts, ascending.
    pub starts: Vec<Tick>,
    /// Extra work in it that another path would save: all or nothing.
    pub owed: Tick,
    /// For each start, when its result is in service; empty if it has none.
    pub done: Vec<Tick>,
    /// The index of the product mixed for it.
    pub mix: Option<usize>,
    /// The worker's time to mix it, unless the block before it is of the same product.
    pub mixing: Tick,
    /// And to clean up after it, unless the block after it is of the same product.
    pub cleaning: Tick,
    /// Whether it makes dust.
    pub dusty: bool,
    /// For each start, when dust no longer harms its film, ascending; empty if it has none.
    pub tacky: Vec<Tick>,
    /// The possible next blocks.
    pub next: Vec<Edge>,
    /// Whether its area ends with it.
    pub last: bool,
}

/// An edge to the next block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edge {
    /// The next block; its number is larger.
    pub to: usize,
    /// For each start of the previous block, the first start (by index) of the next block.
    pub first: Vec<u32>,
    /// And the end of that range, exclusive.
    pub end: Vec<u32>,
}

/// A possible first block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Root {
    /// The block.
    pub to: usize,
    /// Its first start, by index.
    pub first: u32,
    /// The end of its starts, exclusive.
    pub end: u32,
}

/// The paths of one area.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Chain {
    /// The blocks; an edge leads to a larger number.
    pub nodes: Vec<Node>,
    /// The possible first blocks; none if there is no work.
    pub roots: Vec<Root>,
    /// The place that shares its dust.
    pub room: usize,
    /// When the area is in service without any work.
    pub done: Tick,
    /// Whether there is no work.
    pub idle: bool,
}

/// The work of one worker on all areas.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// The free stretches.
    pub free: Vec<(Tick, Tick)>,
    /// The areas.
    pub chains: Vec<Chain>,
    /// The end of the grid.
    pub horizon: Tick,
}

/// A block at a start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placed {
    /// The area.
    pub chain: usize,
    /// The block.
    pub node: usize,
    /// Its start, by index.
    pub index: u32,
}

/// A block for every step of every area.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Schedule {
    /// By area, then in the order of work.
    pub placed: Vec<Placed>,
    /// When everything is in service.
    pub service: Tick,
    /// When the work ends.
    pub work_done: Tick,
    /// Extra work that another path would save.
    pub owed: Tick,
}

impl Problem {
    /// Its block.
    pub fn node(&self, placed: &Placed) -> &Node {
        &self.chains[placed.chain].nodes[placed.node]
    }

    /// When it starts.
    pub fn start(&self, placed: &Placed) -> Tick {
        self.node(placed).starts[placed.index as usize]
    }

    /// When it ends.
    pub fn end(&self, placed: &Placed) -> Tick {
        self.start(placed) + self.node(placed).length
    }

    /// The earliest start of a block after another: the end of the other with the changeover and, for dust in the
    /// same place, not before its film is tack-free.
    pub fn release(&self, first: &Placed, then: (usize, usize)) -> Tick {
        let then_node = &self.chains[then.0].nodes[then.1];
        let end = self.end(first) + self.node(first).changeover(then_node);
        let dust = self.chains[first.chain].room == self.chains[then.0].room
            && self.chains[then.0].nodes[then.1].dusty;
        match self.node(first).tacky.get(first.index as usize) {
            Some(tacky) if dust => end.max(*tacky),
            _ => end,
        }
    }

    /// The schedule of these blocks, with its figures.
    pub fn schedule(&self, placed: Vec<Placed>) -> Schedule {
        let idle = self.chains.iter().map(|chain| chain.done).max().unwrap_or(0);
        let done = |placed: &Placed| self.node(placed).done.get(placed.index as usize).copied();
        let ends = placed.iter().map(|placed| self.end(placed).max(done(placed).unwrap_or(0)));
        Schedule {
            service: ends.max().unwrap_or(0).max(idle),
            work_done: placed.iter().map(|placed| self.end(placed)).max().unwrap_or(0),
            owed: placed.iter().map(|placed| self.node(placed).owed).sum(),
            placed,
        }
    }
}

impl Node {
    /// The worker's time between this block and a next one: cleaning up after one product, mixing another.
    pub fn changeover(&self, next: &Self) -> Tick {
        if self.mix == next.mix { 0 } else { self.cleaning + next.mixing }
    }

    /// When the result of a start is in service: the end of the work if it has none.
    pub fn done_at(&self, index: usize) -> Tick {
        let end = self.starts[index] + self.length;
        self.done.get(index).map_or(end, |done| end.max(*done))
    }
}

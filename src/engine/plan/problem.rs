//! What is searched: blocks of work on a grid of ticks, for each area the ways to its end.
//!
//! Every block knows the ticks at which it may start; an edge says, for each of them, which starts of the
//! next block it leaves. Both rise with the start: whoever begins later may not go on earlier. So the
//! schedules with one order of work have an earliest one, and it is found by pushing starts to the right.

/// A tick of the grid: five minutes.
pub type Tick = u32;

/// A block of work that is not interrupted.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Node {
    /// Which step of its area it does.
    pub step: usize,
    /// The worker's time.
    pub length: Tick,
    /// When it may start, in rising order.
    pub starts: Vec<Tick>,
    /// The work of it that another way would have spared: all or nothing.
    pub owed: Tick,
    /// For each start, when what it leaves is fit for service; empty where it leaves nothing.
    pub done: Vec<Tick>,
    /// The product that is mixed for it, by number.
    pub mix: Option<usize>,
    /// Whether it makes dust.
    pub dusty: bool,
    /// For each start, from when on dust no longer harms the film that it leaves, in rising order; empty where it
    /// leaves none.
    pub tacky: Vec<Tick>,
    /// What may follow.
    pub next: Vec<Edge>,
    /// Whether its area is at its end behind it.
    pub last: bool,
}

/// One way on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edge {
    /// The block that follows; its number is larger.
    pub to: usize,
    /// For each start of the block before, the first start (by index) of the block that follows.
    pub first: Vec<u32>,
    /// And the one behind the last.
    pub end: Vec<u32>,
}

/// One way to begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Root {
    /// The block.
    pub to: usize,
    /// Its first start, by index.
    pub first: u32,
    /// The one behind its last.
    pub end: u32,
}

/// The ways of one area to its end.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Chain {
    /// The blocks; an edge leads to a larger number.
    pub nodes: Vec<Node>,
    /// The ways to begin; none where nothing is to do.
    pub roots: Vec<Root>,
    /// The place that it shares its dust with.
    pub room: usize,
    /// When the area is fit for service if nothing is done.
    pub done: Tick,
    /// Whether anything is to do.
    pub idle: bool,
}

/// What one worker has to do on all areas.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// The free stretches.
    pub free: Vec<(Tick, Tick)>,
    /// The areas.
    pub chains: Vec<Chain>,
    /// Nothing lies behind this.
    pub horizon: Tick,
}

/// A block with its start.
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
    /// By area and then in the order of work.
    pub placed: Vec<Placed>,
    /// When all is fit for service.
    pub service: Tick,
    /// When the work is done.
    pub work_done: Tick,
    /// The work that another way would have spared.
    pub owed: Tick,
}

impl Problem {
    /// The block of a placed one.
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

    /// From when on a block may start behind another: when that ends and, for what makes dust in the same place,
    /// not before its film is tack-free.
    pub fn release(&self, first: &Placed, then: (usize, usize)) -> Tick {
        let end = self.end(first);
        let dust = self.chains[first.chain].room == self.chains[then.0].room
            && self.chains[then.0].nodes[then.1].dusty;
        match self.node(first).tacky.get(first.index as usize) {
            Some(tacky) if dust => end.max(*tacky),
            _ => end,
        }
    }

    /// The schedule of these blocks, its figures reckoned.
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
    /// When what a start leaves is fit for service: the end of the work where it leaves nothing.
    pub fn done_at(&self, index: usize) -> Tick {
        let end = self.starts[index] + self.length;
        self.done.get(index).map_or(end, |done| end.max(*done))
    }
}

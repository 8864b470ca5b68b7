//! From a stack of coats to blocks of work and the edges between them.
//!
//! Between two coats there are two paths: on the open film, inside its window; or over a prepared ground
//! (washed if required, sanded) once the film is sandable. Tape goes on just before its coat and comes off
//! right after it.

use super::free::{starts, starts_within};
use super::problem::{Chain, Edge, Node, Root, Tick};

/// How a coat follows the one before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Follows {
    /// On the open film only.
    Open,
    /// On the open film, or over a prepared ground.
    Either,
    /// Over a prepared ground only.
    Prepared,
}

/// Washing or sanding before a coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Prep {
    /// The worker's time.
    pub length: Tick,
    /// Whether another path would save it.
    pub owed: bool,
    /// Whether it makes dust.
    pub dusty: bool,
    /// How long the ground then dries.
    pub dries: Tick,
}

/// One coat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CoatTask {
    /// Taping before it.
    pub before: Tick,
    /// From the first stroke to the last.
    pub takes: Tick,
    /// Removing the tape after it.
    pub after: Tick,
    /// How it follows.
    pub follows: Follows,
    /// The preparations of the ground, in order.
    pub preps: Vec<Prep>,
    /// How many coats of its product may go on open films in a row.
    pub run_limit: Option<usize>,
    /// Whether the coat before is of the same product.
    pub same_product: bool,
    /// The index of the product mixed for it.
    pub mix: Option<usize>,
    /// The worker's time to mix it.
    pub mixing: Tick,
    /// And to clean up after it.
    pub cleaning: Tick,
}

impl CoatTask {
    /// All its work in one free stretch.
    pub(super) const fn whole(&self) -> Tick {
        self.mixing + self.before + self.takes + self.after + self.cleaning
    }
}

/// The ground of the first coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ground {
    /// When a coat may go on without sanding, and by when it has to be finished.
    pub open: Option<(Tick, Option<Tick>)>,
    /// When it becomes sandable.
    pub sandable: Option<Tick>,
    /// Number of coats of the product that are wet on wet there.
    pub run: usize,
    /// When it is in service as it is.
    pub done: Tick,
    /// Whether that is unknown: the film never gets there.
    pub done_unknown: bool,
}

/// The remaining work on one area.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stack {
    /// What is there.
    pub ground: Ground,
    /// What comes first in any case: tape to remove, with its deadline.
    pub first: Option<(Tick, Option<Tick>)>,
    /// The coats.
    pub coats: Vec<CoatTask>,
    /// Work after the last coat.
    pub last: Vec<Prep>,
    /// The place that shares its dust.
    pub room: usize,
    /// Before this a recorded film in its place is not tack-free.
    pub dust_from: Tick,
}

/// The moments of an area's films, in ticks; None: never.
pub trait Windows {
    /// Whether the air suits the coat for this first stroke.
    fn fit(&self, coat: usize, first_stroke: Tick) -> bool;
    /// When the next coat may go on the open film.
    fn open(&self, coat: usize, first_stroke: Tick) -> Option<Tick>;
    /// By when the next coat has to be finished; [`Tick::MAX`] without a limit.
    fn close(&self, coat: usize, first_stroke: Tick) -> Tick;
    /// By when the tape has to be off; [`Tick::MAX`] without a limit.
    fn tape_by(&self, coat: usize, first_stroke: Tick) -> Tick;
    /// When dust no longer harms the film.
    fn tack_free(&self, coat: usize, first_stroke: Tick) -> Tick;
    /// When the film becomes sandable.
    fn sandable(&self, coat: usize, first_stroke: Tick) -> Option<Tick>;
    /// When the film is in service.
    fn done(&self, coat: usize, first_stroke: Tick) -> Option<Tick>;
}

/// The number of a block's step in the order of work. Blocks of the same step are alternatives.
pub fn step_of(coat: usize, part: Part) -> usize {
    match part {
        Part::Tape => coat * STEPS,
        Part::Prep(which) => coat * STEPS + 1 + which,
        Part::Coat => coat * STEPS + STEPS - 1,
    }
}

/// The coat and part of a step number.
pub fn part_of(step: usize) -> (usize, Part) {
    let (coat, rest) = (step / STEPS, step % STEPS);
    let part = match rest {
        0 => Part::Tape,
        rest if rest == STEPS - 1 => Part::Coat,
        rest => Part::Prep(rest - 1),
    };
    (coat, part)
}

/// Upper limit of a coat's preparations.
pub const STEPS: usize = 16;

/// A part of a coat's work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Tape to remove before anything else.
    Tape,
    /// A preparation, by number.
    Prep(usize),
    /// The coat itself.
    Coat,
}

struct Weaver<'a> {
    stack: &'a Stack,
    windows: &'a dyn Windows,
    nodes: Vec<Node>,
    /// The first preparation before each coat, and after the last.
    preps: Vec<Option<usize>>,
    /// The blocks of each coat, one per position in a run.
    coats: Vec<Vec<usize>>,
}

/// The blocks and edges of an area.
pub fn build_chain(stack: &Stack, windows: &dyn Windows, free: &[(Tick, Tick)]) -> Chain {
    let mut weaver = Weaver { stack, windows, nodes: Vec::new(), preps: Vec::new(), coats: Vec::new() };
    weaver.blocks(free);
    weaver.ways();
    let roots = weaver.roots();
    let steps = weaver.nodes.iter().map(|node| node.step).max();
    weaver.nodes.iter_mut().for_each(|node| node.last = Some(node.step) == steps);
    let idle = stack.coats.is_empty() && stack.last.is_empty() && stack.first.is_none();
    Chain { nodes: weaver.nodes, roots, room: stack.room, done: stack.ground.done, idle }
}

impl Weaver<'_> {
    fn blocks(&mut self, free: &[(Tick, Tick)]) {
        if let Some((length, by)) = self.stack.first {
            let by = by.unwrap_or(Tick::MAX);
            let starts = starts(free, length).filter(|start| start + length <= by).collect();
            let step = step_of(0, Part::Tape);
            self.nodes.push(Node { step, length, starts, ..Node::default() });
        }
        for (number, coat) in self.stack.coats.iter().enumerate() {
            let preps = if coat.follows == Follows::Open { &[][..] } else { &coat.preps };
            let first = self.prepare(number, preps, free);
            self.preps.push(first);
            let length = coat.before + coat.takes + coat.after;
            let windows = self.windows;
            let taped = |first: Tick| {
                coat.after == 0 || first + coat.takes + coat.after <= windows.tape_by(number, first)
            };
            let fit = |start: &Tick| windows.fit(number, start + coat.before) && taped(start + coat.before);
            let starts: Vec<Tick> =
                starts_within(free, (coat.mixing, length, coat.cleaning)).filter(fit).collect();
            let done: Vec<Tick> = if number + 1 == self.stack.coats.len() {
                let done = starts.iter().map(|start| windows.done(number, start + coat.before));
                rising(done.map(|done| done.unwrap_or(Tick::MAX)))
            } else {
                Vec::new()
            };
            let tacky = starts.iter().map(|start| windows.tack_free(number, start + coat.before));
            let tacky = rising(tacky);
            let step = step_of(number, Part::Coat);
            let (mixing, cleaning) = (coat.mixing, coat.cleaning);
            let node = Node {
                step,
                length,
                starts,
                done,
                tacky,
                mix: coat.mix,
                mixing,
                cleaning,
                ..Node::default()
            };
            let runs = coat.run_limit.map_or(1, |limit| limit.clamp(1, number + 1 + self.stack.ground.run));
            self.coats.push((0..runs).map(|run| self.nodes.len() + run).collect());
            self.nodes.extend(std::iter::repeat_n(node, runs));
        }
        let last = self.prepare(self.stack.coats.len(), &self.stack.last, free);
        self.preps.push(last);
    }

    fn prepare(&mut self, number: usize, preps: &[Prep], free: &[(Tick, Tick)]) -> Option<usize> {
        let first = self.nodes.len();
        for (which, prep) in preps.iter().enumerate() {
            self.nodes.push(Node {
                step: step_of(number, Part::Prep(which)),
                length: prep.length,
                starts: starts(free, prep.length)
                    .filter(|start| !prep.dusty || *start >= self.stack.dust_from)
                    .collect(),
                dusty: prep.dusty,
                owed: if prep.owed { prep.length } else { 0 },
                ..Node::default()
            });
        }
        (!preps.is_empty()).then_some(first)
    }

    fn ways(&mut self) {
        for number in 0..self.preps.len() {
            let Some(first) = self.preps[number] else { continue };
            let count = if number < self.stack.coats.len() {
                self.stack.coats[number].preps.len()
            } else {
                self.stack.last.len()
            };
            for prep in first..first + count {
                let to = match self.coats.get(number) {
                    _ if prep + 1 < first + count => prep + 1,
                    Some(runs) => runs[0],
                    None => continue,
                };
                let preps = self.stack.coats.get(number).map_or(&self.stack.last, |coat| &coat.preps);
                let length = self.nodes[prep].length + preps[prep - first].dries;
                self.join(prep, to, |start| (Some(start + length), Tick::MAX));
            }
        }
        for number in 0..self.coats.len() {
            for run in 0..self.coats[number].len() {
                self.behind(number, run);
            }
        }
    }

    /// The edges after a coat.
    fn behind(&mut self, number: usize, run: usize) {
        let (from, windows) = (self.coats[number][run], self.windows);
        let coat = &self.stack.coats[number];
        let (before, length) = (coat.before, self.nodes[from].length);
        if let Some(prep) = self.preps[number + 1] {
            self.join(from, prep, |start| {
                let sandable = windows.sandable(number, start + before);
                (sandable.map(|sandable| sandable.max(start + length)), Tick::MAX)
            });
        }
        let Some(next) = self.stack.coats.get(number + 1) else { return };
        if next.follows == Follows::Prepared {
            return;
        }
        let Some(run) = run_behind(run, next, self.coats[number + 1].len()) else { return };
        let to = self.coats[number + 1][run];
        let (tape, work) = (next.before, next.before + next.takes);
        self.join(from, to, |start| {
            let open = windows.open(number, start + before);
            let first = open.map(|open| open.saturating_sub(tape).max(start + length));
            (first, too_late(windows.close(number, start + before), work))
        });
    }

    /// An edge between two blocks: for each start the first start of the next block, and the first one that is
    /// too late. Both are made monotonic, on the safe side.
    fn join(&mut self, from: usize, to: usize, ends: impl Fn(Tick) -> (Option<Tick>, Tick)) {
        let (before, next) = (&self.nodes[from], &self.nodes[to]);
        let (target, busy) = (&next.starts, before.length + before.changeover(next));
        let each = before.starts.iter().map(|start| {
            let (first, end) = ends(*start);
            (first.map(|first| first.max(start + busy)), end)
        });
        let each: Vec<_> = each.collect();
        let first = rising(each.iter().map(|(first, _)| {
            first.map_or(target.len(), |first| target.partition_point(|start| *start < first)) as u32
        }));
        let mut end: Vec<u32> =
            each.iter().map(|(_, end)| target.partition_point(|start| start < end) as u32).collect();
        let mut least = u32::MAX;
        for end in end.iter_mut().rev() {
            least = least.min(*end);
            *end = least;
        }
        self.nodes[from].next.push(Edge { to, first, end });
    }

    fn roots(&mut self) -> Vec<Root> {
        let ground = self.stack.ground;
        let mut ways: Vec<(usize, Tick, Tick)> = Vec::new();
        if let Some(prep) = self.preps[0] {
            ways.extend(ground.sandable.map(|sandable| (prep, sandable, Tick::MAX)));
        }
        if let Some(coat) = self.stack.coats.first()
            && coat.follows != Follows::Prepared
            && let Some((open, close)) = ground.open
        {
            let run =
                if ground.run == 0 { Some(0) } else { run_behind(ground.run - 1, coat, self.coats[0].len()) };
            let end = close.map_or(Tick::MAX, |close| too_late(close, coat.before + coat.takes));
            ways.extend(run.map(|run| (self.coats[0][run], open.saturating_sub(coat.before), end)));
        }
        if let Some((length, _)) = self.stack.first {
            for (to, first, end) in &ways {
                self.join(0, *to, |start| (Some((start + length).max(*first)), *end));
            }
            return vec![Root { to: 0, first: 0, end: self.nodes[0].starts.len() as u32 }];
        }
        let root = |(to, first, end): (usize, Tick, Tick)| {
            let starts = &self.nodes[to].starts;
            let first = starts.partition_point(|start| *start < first) as u32;
            Root { to, first, end: starts.partition_point(|start| *start < end) as u32 }
        };
        ways.into_iter().map(root).collect()
    }
}

/// The first start at which work no longer ends by a tick.
fn too_late(by: Tick, work: Tick) -> Tick {
    if by == Tick::MAX { by } else { by.checked_sub(work).map_or(0, |last| last + 1) }
}

/// The position in a run of the coat on an open film; None if the run would get too long.
fn run_behind(run: usize, next: &CoatTask, places: usize) -> Option<usize> {
    match next.run_limit {
        Some(limit) if next.same_product => (run + 1 < limit).then(|| (run + 1).min(places - 1)),
        _ => Some(0),
    }
}

fn rising<T: Ord + Copy>(values: impl Iterator<Item = T>) -> Vec<T> {
    let mut most: Option<T> = None;
    let each = values.map(|value| {
        let raised = most.map_or(value, |most| most.max(value));
        most = Some(raised);
        raised
    });
    each.collect()
}

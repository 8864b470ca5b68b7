//! Tables of film moments for every start, over the free ticks, from the cure engine.

use std::cell::RefCell;
use std::ops::ControlFlow;
use std::sync::mpsc::{Sender, channel};

use super::air::Expected;
use super::grid::Grid;
use super::problem::Tick;
use super::progress::{PlanProgress, ProgressSink};
use crate::engine::cure::{Bound, Course, History, Law};
use crate::engine::profile::{Product, TimeTable};

/// No such moment.
pub const NEVER: Tick = Tick::MAX;

/// The moment of a film: a minimum time at its latest, a maximum time at its earliest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// From the last stroke, at the cold bound.
    Minimum,
    /// From the first stroke, at the warm bound.
    Maximum,
}

/// A requested table of moments.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    product: &'a Product,
    table: &'a TimeTable,
    limit: Limit,
}

impl<'a> Wanted<'a> {
    /// The moments of a table of this product.
    pub const fn new(product: &'a Product, table: &'a TimeTable, limit: Limit) -> Self {
        Self { product, table, limit }
    }

    fn same(&self, other: &Self) -> bool {
        std::ptr::eq(self.table, other.table) && self.limit == other.limit
    }

    fn moment(&self, history: &History, grid: &Grid, from: Tick) -> Tick {
        let law = match self.limit {
            Limit::Minimum => Law::minimum(self.product),
            Limit::Maximum => Law::maximum(self.product),
        };
        let course = Course::new(history, self.table, law);
        let start = grid.moment(from);
        match self.limit {
            Limit::Minimum => {
                course.crossing(start, 1.0, Bound::Coolest).map_or(NEVER, |at| grid.not_before(at))
            }
            Limit::Maximum => course
                .crossing(start, 1.0, Bound::Warmest)
                .map_or(NEVER, |at| grid.not_after(at).unwrap_or(0)),
        }
    }
}

/// The tables of one place, over the free ticks and their ends.
#[derive(Debug)]
pub struct Films<'a> {
    wanted: RefCell<Vec<Wanted<'a>>>,
    /// By free tick, then by table.
    moments: Vec<Vec<Tick>>,
    /// The index of a tick.
    found: Vec<u32>,
}

/// Number of threads.
const PARTS: usize = 4;
/// Rows between two progress reports.
const ROWS: usize = 32;

/// The rows of one thread; it stops if the receiver is gone.
fn rows(ticks: &[Tick], row: impl Fn(&Tick) -> Vec<Tick>, done: &Sender<usize>) -> Vec<Vec<Tick>> {
    let mut all = Vec::with_capacity(ticks.len());
    for some in ticks.chunks(ROWS) {
        all.extend(some.iter().map(&row));
        if done.send(some.len()).is_err() {
            break;
        }
    }
    all
}

impl<'a> Films<'a> {
    /// No tables yet.
    pub fn new() -> Self {
        Self { wanted: RefCell::new(Vec::new()), moments: Vec::new(), found: Vec::new() }
    }

    /// Requests a table; returns its number.
    pub fn want(&self, wanted: Wanted<'a>) -> usize {
        let mut all = self.wanted.borrow_mut();
        all.iter().position(|other| other.same(&wanted)).unwrap_or_else(|| {
            all.push(wanted);
            all.len() - 1
        })
    }

    /// Calculates all requested tables, unless stopped.
    pub fn calculate(
        &mut self,
        air: &Expected,
        grid: &Grid,
        free: &[(Tick, Tick)],
        watch: &mut ProgressSink<'_>,
    ) -> ControlFlow<()> {
        let ticks: Vec<Tick> = free.iter().flat_map(|&(from, to)| from..=to).collect();
        let wanted = &*self.wanted.borrow();
        let row = |&tick: &Tick| {
            let history = air.as_known_at(grid.moment(tick));
            wanted.iter().map(|wanted| wanted.moment(&history, grid, tick)).collect()
        };
        let part = ticks.len().div_ceil(PARTS).max(1);
        let mut go_on = ControlFlow::Continue(());
        self.moments = std::thread::scope(|scope| {
            let (sender, done) = channel();
            let parts: Vec<_> = ticks
                .chunks(part)
                .map(|ticks| {
                    let sender = sender.clone();
                    scope.spawn(move || rows(ticks, row, &sender))
                })
                .collect();
            drop(sender);
            let mut calculated = 0;
            for rows in &done {
                calculated += rows;
                go_on = watch(PlanProgress::Preparing { done: calculated, of: ticks.len() });
                if go_on.is_break() {
                    break;
                }
            }
            // Dropping the receiver ends the threads.
            drop(done);
            // A thread that panicked has no rows, and nothing is planned in them.
            parts.into_iter().flat_map(|part| part.join().unwrap_or_default()).collect()
        });
        go_on?;
        self.found = vec![u32::MAX; ticks.last().map_or(0, |last| *last as usize + 1)];
        for (index, tick) in ticks.iter().enumerate() {
            self.found[*tick as usize] = index as u32;
        }
        ControlFlow::Continue(())
    }

    /// The moment of a table for a free tick.
    pub fn at(&self, table: usize, from: Tick) -> Tick {
        let row = self.found.get(from as usize).and_then(|index| self.moments.get(*index as usize));
        row.and_then(|row| row.get(table)).copied().unwrap_or(NEVER)
    }
}

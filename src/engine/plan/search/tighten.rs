//! Constraint propagation: starts pushed right by edges, windows and order, limited by the deadline; and the
//! check of the free time.

use super::{Block, Search};
use crate::engine::plan::bound::Needed;

impl Search<'_, '_> {
    /// Whether the chosen blocks and the work still needed fit into the free time.
    pub(super) fn has_time(&self) -> bool {
        let mut all: Vec<Needed> = Vec::with_capacity(self.blocks.len() * 2);
        let mut begins = Vec::with_capacity(self.tails.len() + 1);
        begins.push(0);
        for block in 0..self.blocks.len() {
            let length = self.length(block);
            all.push(Needed { step: 0, from: self.earliest(block), to: self.latest(block) + length, length });
        }
        for (chain, tail) in self.tails.iter().enumerate() {
            let Some(tail) = *tail else {
                all.extend(&self.needed[chain]);
                continue;
            };
            let step = self.problem.chains[chain].nodes[self.blocks[tail].node].step;
            let mut free_from = self.earliest(tail) + self.length(tail);
            begins.push(self.earliest(tail));
            for needed in self.needed[chain].iter().filter(|needed| needed.step > step) {
                let from = needed.from.max(free_from);
                free_from = from + needed.length;
                if free_from > needed.to {
                    return false;
                }
                all.push(Needed { from, ..*needed });
            }
        }
        all.sort_unstable_by_key(|needed| needed.to);
        self.capacity.holds(&all, &begins)
    }

    /// Narrows the starts to a fixed point; false if a block has none left.
    pub(super) fn tighten(&mut self) -> bool {
        if !self.may_owe_enough() {
            return false;
        }
        loop {
            let mut changed = false;
            for block in 0..self.blocks.len() {
                if let Some((before, edge)) = self.edge(block) {
                    let (low, high) = (self.blocks[before].low, self.blocks[before].high);
                    let end = edge.end[high as usize];
                    if end == 0 {
                        return false;
                    }
                    changed |= self.raise(block, edge.first[low as usize]);
                    changed |= self.lower(block, end - 1);
                    let (low, high) = (self.blocks[block].low, self.blocks[block].high);
                    changed |= self.raise(before, edge.end.partition_point(|end| *end <= low) as u32);
                    let reach = edge.first.partition_point(|first| *first <= high);
                    if reach == 0 {
                        return false;
                    }
                    changed |= self.lower(before, reach as u32 - 1);
                    if self.is_empty(before) {
                        return false;
                    }
                }
                if self.is_empty(block) || !self.meets_deadline(block, &mut changed) {
                    return false;
                }
            }
            for index in 0..self.order.len() {
                let (a, b) = self.order[index];
                let (free, busy) = (self.release(a, b), self.latest(b));
                let after = self.starts(b).partition_point(|start| *start < free) as u32;
                changed |= self.raise(b, after);
                let length = self.length(a) + self.changeover(a, b);
                let mut until = self.starts(a).partition_point(|start| start + length <= busy);
                if let Some(tacky) = self.dust_of(a, b) {
                    until = until.min(tacky.partition_point(|tacky| *tacky <= busy));
                }
                if until == 0 || self.is_empty(b) {
                    return false;
                }
                changed |= self.lower(a, until as u32 - 1);
                if self.is_empty(a) {
                    return false;
                }
            }
            if !changed {
                return true;
            }
        }
    }

    /// Keeps the starts of an area's newest block from which the area alone still ends in time.
    fn meets_deadline(&mut self, block: usize, changed: &mut bool) -> bool {
        let Block { chain, node, low, high, .. } = self.blocks[block];
        if self.tails[chain] != Some(block) {
            return true;
        }
        let ends = self.reach[chain].from(node, self.allowed - self.owed);
        let by = self.by;
        let within = &ends[low as usize..=high as usize];
        let Some(first) = within.iter().position(|end| *end <= by) else { return false };
        let last = within.iter().rposition(|end| *end <= by).unwrap_or(first);
        *changed |= self.raise(block, low + first as u32);
        *changed |= self.lower(block, low + last as u32);
        true
    }

    /// Whether the remaining extra work is enough for what every area needs by itself.
    fn may_owe_enough(&self) -> bool {
        let mut least = self.owed;
        for (chain, tail) in self.tails.iter().enumerate() {
            let behind = match tail {
                None => self.reach[chain].least(self.by),
                Some(block) => {
                    let Block { node, low, high, .. } = self.blocks[*block];
                    self.reach[chain].least_behind(node, low as usize..=high as usize, self.by)
                }
            };
            let Some(behind) = behind else { return false };
            least += behind;
        }
        least <= self.allowed
    }

    fn raise(&mut self, block: usize, low: u32) -> bool {
        let block = &mut self.blocks[block];
        let raised = low > block.low;
        block.low = block.low.max(low);
        raised
    }

    fn lower(&mut self, block: usize, high: u32) -> bool {
        let block = &mut self.blocks[block];
        let lowered = high < block.high;
        block.high = block.high.min(high);
        lowered
    }

    fn is_empty(&self, block: usize) -> bool {
        self.blocks[block].low > self.blocks[block].high
    }
}

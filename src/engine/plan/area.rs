//! One area alone: the earliest end from every block and start, with limited extra work.
//!
//! Exact, by backward dynamic programming. With several areas it is a lower bound: the others only take the
//! worker's time.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use super::problem::{Chain, Tick};

/// Never.
pub(super) const NEVER: Tick = Tick::MAX;

/// The earliest ends of one area.
#[derive(Debug)]
pub(super) struct Reach {
    /// The possible amounts of extra work, ascending from zero.
    levels: Vec<Tick>,
    /// By block, remaining extra work, and start.
    least: Vec<Vec<Vec<Tick>>>,
    /// By extra work.
    whole: Vec<Tick>,
}

impl Reach {
    pub(super) fn of(chain: &Chain) -> Self {
        let levels = levels(chain);
        let mut least: Vec<Vec<Vec<Tick>>> = vec![Vec::new(); chain.nodes.len()];
        for (number, node) in chain.nodes.iter().enumerate().rev() {
            least[number] = levels
                .iter()
                .map(|&allowed| {
                    if node.last {
                        return (0..node.starts.len()).map(|index| node.done_at(index)).collect();
                    }
                    let mut ends = vec![NEVER; node.starts.len()];
                    for edge in &node.next {
                        let Some(left) = allowed.checked_sub(chain.nodes[edge.to].owed) else { continue };
                        let on = &least[edge.to][level(&levels, left)];
                        let soonest = sliding_least(on, &edge.first, &edge.end, NEVER);
                        ends.iter_mut().zip(soonest).for_each(|(end, on)| *end = (*end).min(on));
                    }
                    let done = |index: usize| if node.done.is_empty() { 0 } else { node.done_at(index) };
                    ends.iter_mut().enumerate().for_each(|(index, end)| *end = (*end).max(done(index)));
                    ends
                })
                .collect();
        }
        let whole = levels
            .iter()
            .map(|&allowed| {
                if chain.idle {
                    return chain.done;
                }
                let roots = chain.roots.iter().filter_map(|root| {
                    let left = level(&levels, allowed.checked_sub(chain.nodes[root.to].owed)?);
                    least[root.to][left].get(root.first as usize..root.end as usize)?.iter().min().copied()
                });
                roots.min().unwrap_or(NEVER).max(chain.done)
            })
            .collect();
        Self { levels, least, whole }
    }

    /// The earliest end of the area from a block at a start, with at most `allowed` extra work after it.
    pub(super) fn from(&self, node: usize, allowed: Tick) -> &[Tick] {
        &self.least[node][level(&self.levels, allowed)]
    }

    /// The earliest end of the whole area.
    pub(super) fn whole(&self, allowed: Tick) -> Tick {
        self.whole[level(&self.levels, allowed)]
    }

    /// The least extra work with which the area ends by a tick.
    pub(super) fn least(&self, by: Tick) -> Option<Tick> {
        let level = self.whole.iter().position(|end| *end <= by)?;
        Some(self.levels[level])
    }

    /// The least extra work after a block, at one of these starts, with which the area ends by a tick.
    pub(super) fn least_behind(&self, node: usize, starts: RangeInclusive<usize>, by: Tick) -> Option<Tick> {
        let ends = |ends: &Vec<Tick>| ends[starts.clone()].iter().any(|end| *end <= by);
        let level = self.least[node].iter().position(ends)?;
        Some(self.levels[level])
    }

    /// More extra work than this gains nothing.
    pub(super) fn most(&self) -> Tick {
        self.levels.last().copied().unwrap_or(0)
    }
}

/// The index of the highest allowed level.
fn level(levels: &[Tick], allowed: Tick) -> usize {
    levels.partition_point(|level| *level <= allowed).saturating_sub(1)
}

/// The possible extra work from any block on, and from the beginning.
fn levels(chain: &Chain) -> Vec<Tick> {
    let mut ahead: Vec<BTreeSet<Tick>> = vec![BTreeSet::new(); chain.nodes.len()];
    let mut all = BTreeSet::from([0]);
    for (number, node) in chain.nodes.iter().enumerate().rev() {
        if node.last {
            ahead[number].insert(0);
        }
        for edge in &node.next {
            let owed = chain.nodes[edge.to].owed;
            let on: Vec<Tick> = ahead[edge.to].iter().map(|behind| behind + owed).collect();
            ahead[number].extend(on);
        }
        all.extend(&ahead[number]);
    }
    for root in &chain.roots {
        all.extend(ahead[root.to].iter().map(|behind| behind + chain.nodes[root.to].owed));
    }
    all.into_iter().collect()
}

/// The minimum of `values` in each window; both ends of the windows ascend; `none` for an empty window.
pub(super) fn sliding_least<T: Copy + Ord>(values: &[T], first: &[u32], end: &[u32], none: T) -> Vec<T> {
    // The candidates for the minimum, ascending; those before `head` have left the window.
    let mut queue: Vec<u32> = Vec::new();
    let mut head = 0;
    let mut taken = first.first().copied().unwrap_or(0);
    let count = values.len() as u32;
    let mut least = Vec::with_capacity(first.len());
    for (&first, &end) in first.iter().zip(end) {
        let end = end.min(count);
        while taken < end {
            let value = values[taken as usize];
            while queue.len() > head && values[queue[queue.len() - 1] as usize] >= value {
                queue.pop();
            }
            queue.push(taken);
            taken += 1;
        }
        while head < queue.len() && queue[head] < first {
            head += 1;
        }
        least.push(if first < end && head < queue.len() { values[queue[head] as usize] } else { none });
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_minimum_of_a_sliding_window() {
        let values = [5, 3, 4, 1, 6];
        assert_eq!(sliding_least(&values, &[0, 1, 2, 4, 5], &[2, 3, 5, 5, 5], NEVER), [3, 3, 1, 6, NEVER]);
        assert_eq!(sliding_least(&values, &[2], &[2], NEVER), [NEVER]);
    }
}

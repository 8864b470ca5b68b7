//! One area by itself: the soonest end from every block and start, with so many sandings at most.
//!
//! Exact, by dynamic programming from the end backwards. With more than one area it is a bound: others take
//! the worker's time, and never give any.

use std::collections::VecDeque;

use super::problem::{Chain, Tick};

/// Never.
pub(super) const NEVER: Tick = Tick::MAX;

/// The soonest ends of one area.
#[derive(Debug)]
pub(super) struct Reach {
    /// By block, sandings still allowed, and start.
    least: Vec<Vec<Vec<Tick>>>,
    /// By sandings allowed.
    whole: Vec<Tick>,
}

impl Reach {
    pub(super) fn of(chain: &Chain) -> Self {
        let levels = most_sandings(chain) + 1;
        let mut least: Vec<Vec<Vec<Tick>>> = vec![Vec::new(); chain.nodes.len()];
        for (number, node) in chain.nodes.iter().enumerate().rev() {
            least[number] = (0..levels)
                .map(|allowed| {
                    if node.last {
                        return (0..node.starts.len()).map(|index| node.done_at(index)).collect();
                    }
                    let mut ends = vec![NEVER; node.starts.len()];
                    for edge in &node.next {
                        let Some(left) = left(allowed, chain.nodes[edge.to].sanding) else { continue };
                        let on = &least[edge.to][left];
                        let soonest = sliding_least(on, &edge.first, &edge.end);
                        ends.iter_mut().zip(soonest).for_each(|(end, on)| *end = (*end).min(on));
                    }
                    let done = |index: usize| if node.done.is_empty() { 0 } else { node.done_at(index) };
                    ends.iter_mut().enumerate().for_each(|(index, end)| *end = (*end).max(done(index)));
                    ends
                })
                .collect();
        }
        let whole = (0..levels)
            .map(|allowed| {
                if chain.idle {
                    return chain.done;
                }
                let roots = chain.roots.iter().filter_map(|root| {
                    let left = left(allowed, chain.nodes[root.to].sanding)?;
                    least[root.to][left].get(root.first as usize..root.end as usize)?.iter().min().copied()
                });
                roots.min().unwrap_or(NEVER).max(chain.done)
            })
            .collect();
        Self { least, whole }
    }

    /// The soonest end of the area from a block at a start, with so many sandings behind it.
    pub(super) fn from(&self, node: usize, allowed: usize) -> &[Tick] {
        let levels = &self.least[node];
        &levels[allowed.min(levels.len() - 1)]
    }

    /// The soonest end of the whole area.
    pub(super) fn whole(&self, allowed: usize) -> Tick {
        self.whole[allowed.min(self.whole.len() - 1)]
    }

    /// The fewest sandings with which the area ends by a tick.
    pub(super) fn fewest(&self, by: Tick) -> Option<usize> {
        self.whole.iter().position(|end| *end <= by)
    }

    /// More sandings than this gain nothing.
    pub(super) fn most(&self) -> usize {
        self.whole.len() - 1
    }
}

pub(super) fn left(allowed: usize, sanding: bool) -> Option<usize> {
    allowed.checked_sub(usize::from(sanding))
}

fn most_sandings(chain: &Chain) -> usize {
    let mut most = vec![0; chain.nodes.len()];
    for (number, node) in chain.nodes.iter().enumerate().rev() {
        let ahead = node.next.iter().map(|edge| most[edge.to]).max().unwrap_or(0);
        most[number] = ahead + usize::from(node.sanding);
    }
    chain.roots.iter().map(|root| most[root.to]).max().unwrap_or(0)
}

/// The least of `values` between each pair of ends; both ends rise.
fn sliding_least(values: &[Tick], first: &[u32], end: &[u32]) -> Vec<Tick> {
    let mut queue: VecDeque<usize> = VecDeque::new();
    let mut taken = 0;
    let each = first.iter().zip(end).map(|(&first, &end)| {
        let (first, end) = (first as usize, (end as usize).min(values.len()));
        while taken < end {
            while queue.back().is_some_and(|&last| values[last] >= values[taken]) {
                queue.pop_back();
            }
            queue.push_back(taken);
            taken += 1;
        }
        while queue.front().is_some_and(|&index| index < first) {
            queue.pop_front();
        }
        if first >= end { NEVER } else { queue.front().map_or(NEVER, |&index| values[index]) }
    });
    each.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_of_a_sliding_window() {
        let values = [5, 3, 4, 1, 6];
        assert_eq!(sliding_least(&values, &[0, 1, 2, 4, 5], &[2, 3, 5, 5, 5]), [3, 3, 1, 6, NEVER]);
        assert_eq!(sliding_least(&values, &[2], &[2]), [NEVER]);
    }
}

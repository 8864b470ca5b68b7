//! What blocks a block at a start, with all others in place; and the left shift.

use super::problem::{Placed, Problem, Schedule, Tick};

/// What blocks a block at one of its starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Obstacle {
    /// The edge from the previous block, or to the first block, does not allow it.
    Before,
    /// The worker is busy with another block.
    Busy(Placed),
    /// It makes dust, and this film is not tack-free.
    WetFilm(Placed),
    /// This block makes dust before its own film is tack-free.
    Dust(Placed),
    /// The next block on its area would be too late or too early.
    Next(Placed),
}

impl Problem {
    /// What blocks a block of a schedule at another start; None if it may move there.
    pub fn obstacle(&self, placed: &[Placed], which: usize, index: u32) -> Option<Obstacle> {
        let moved = Placed { index, ..placed[which] };
        let chain = &self.chains[moved.chain];
        let here = |other: Option<&Placed>| other.copied().filter(|other| other.chain == moved.chain);
        let before = here(which.checked_sub(1).and_then(|before| placed.get(before)));
        let leads = match before {
            Some(before) => self.leads(&before, &moved),
            None => chain
                .roots
                .iter()
                .any(|root| root.to == moved.node && (root.first..root.end).contains(&index)),
        };
        if !leads {
            return Some(Obstacle::Before);
        }
        for (number, other) in placed.iter().enumerate() {
            if number != which
                && let Some(obstacle) = self.clash(&moved, other)
            {
                return Some(obstacle);
            }
        }
        let next = here(placed.get(which + 1))?;
        (!self.leads(&moved, &next)).then_some(Obstacle::Next(next))
    }

    /// Whether one block may follow another of the same area.
    fn leads(&self, before: &Placed, next: &Placed) -> bool {
        self.node(before).next.iter().any(|edge| {
            let index = before.index as usize;
            edge.to == next.node && (edge.first[index]..edge.end[index]).contains(&next.index)
        })
    }

    /// Why two blocks conflict.
    pub(super) fn clash(&self, one: &Placed, other: &Placed) -> Option<Obstacle> {
        let (start, begin) = (self.start(one), self.start(other));
        if start < self.end(other) && begin < self.end(one) {
            return Some(Obstacle::Busy(*other));
        }
        let (first, then) = if begin < start { (other, one) } else { (one, other) };
        let released = self.end(first) + self.node(first).changeover(self.node(then));
        if self.start(then) < released {
            return Some(Obstacle::Busy(*other));
        }
        if begin < start {
            let free = self.release(other, (one.chain, one.node));
            return (start < free).then_some(Obstacle::WetFilm(*other));
        }
        (begin < self.release(one, (other.chain, other.node))).then_some(Obstacle::Dust(*other))
    }

    /// Shifts every block left as far as it can go alone, if `suits` accepts the new schedule.
    pub(super) fn shifted_left(&self, schedule: Schedule, suits: impl Fn(&[Placed]) -> bool) -> Schedule {
        let mut placed = schedule.placed;
        loop {
            let mut order: Vec<usize> = (0..placed.len()).collect();
            order.sort_by_key(|which| self.start(&placed[*which]));
            let mut moved = false;
            for which in order {
                let now = placed[which];
                let sooner = (0..now.index).find(|index| {
                    if self.obstacle(&placed, which, *index).is_some() {
                        return false;
                    }
                    let mut shifted = placed.clone();
                    shifted[which].index = *index;
                    suits(&shifted)
                });
                if let Some(sooner) = sooner {
                    placed[which].index = sooner;
                    moved = true;
                }
            }
            if !moved {
                return self.schedule(placed);
            }
        }
    }

    /// The first block that breaks a rule, and why; None if the schedule is valid.
    pub fn fault(&self, schedule: &Schedule) -> Option<(Placed, Obstacle)> {
        let placed = &schedule.placed;
        let obstacle = |which| Some((placed[which], self.obstacle(placed, which, placed[which].index)?));
        (0..placed.len()).find_map(obstacle)
    }

    /// The index of the free stretch of a tick.
    pub(super) fn stretch(&self, tick: Tick) -> usize {
        self.free.partition_point(|free| free.0 <= tick).saturating_sub(1)
    }
}

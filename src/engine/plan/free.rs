//! A person's free time: stretches in order, disjoint.

use super::problem::Tick;
use crate::engine::units::Moment;

/// Free time as ascending, disjoint stretches.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FreeTime(Vec<(Moment, Moment)>);

impl FreeTime {
    /// From stretches in any order; adjacent ones are merged, empty ones dropped.
    pub fn new(stretches: impl IntoIterator<Item = (Moment, Moment)>) -> Self {
        let mut given: Vec<_> = stretches.into_iter().filter(|(from, to)| from < to).collect();
        given.sort();
        let mut joined: Vec<(Moment, Moment)> = Vec::with_capacity(given.len());
        for (from, to) in given {
            match joined.last_mut() {
                Some(last) if from <= last.1 => last.1 = last.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        Self(joined)
    }

    /// The stretches.
    pub fn stretches(&self) -> &[(Moment, Moment)] {
        &self.0
    }

    /// The longest stretch.
    pub fn longest(&self) -> Option<(Moment, Moment)> {
        self.0.iter().copied().max_by_key(|(from, to)| *to - *from)
    }

    /// Whether a piece of work fits into one stretch.
    pub fn holds(&self, from: Moment, to: Moment) -> bool {
        let after = self.0.partition_point(|stretch| stretch.0 <= from);
        after.checked_sub(1).and_then(|index| self.0.get(index)).is_some_and(|stretch| to <= stretch.1)
    }
}

/// The starts at which work of this length fits into one stretch.
pub(super) fn starts(free: &[(Tick, Tick)], length: Tick) -> impl Iterator<Item = Tick> + '_ {
    starts_within(free, (0, length, 0))
}

/// The starts at which so much work lies in one stretch, with what has to come before and after it.
pub(super) fn starts_within(
    free: &[(Tick, Tick)],
    (before, length, after): (Tick, Tick, Tick),
) -> impl Iterator<Item = Tick> + '_ {
    free.iter().flat_map(move |&(from, to)| {
        let from = from + before;
        from..(to + 1).saturating_sub(length + after).max(from)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;

    fn at(hours: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::hours(hours)
    }

    #[test]
    fn hours_that_touch_are_one_evening() {
        let free = FreeTime::new([(at(5), at(7)), (at(1), at(2)), (at(2), at(3)), (at(9), at(9))]);
        assert_eq!(free.stretches(), [(at(1), at(3)), (at(5), at(7))]);
        assert!(free.holds(at(1), at(3)));
        assert!(!free.holds(at(2), at(6)));
        assert!(!free.holds(at(0), at(1)));
        assert!(!FreeTime::default().holds(at(0), at(1)));
    }

    #[test]
    fn work_has_to_end_inside_its_stretch() {
        assert_eq!(starts(&[(0, 3), (10, 12)], 2).collect::<Vec<_>>(), [0, 1, 10]);
        assert_eq!(starts(&[(0, 3)], 4).count(), 0);
    }

    #[test]
    fn mixing_and_cleaning_lie_in_the_same_stretch_as_the_coat() {
        assert_eq!(starts_within(&[(0, 9), (20, 23)], (2, 3, 2)).collect::<Vec<_>>(), [2, 3, 4]);
    }
}

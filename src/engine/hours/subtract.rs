//! Subtracts busy times from free hours.

use super::Stretch;
use super::expand::joined;
use crate::engine::units::Moment;

/// A time at which a person is busy.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct PlanProgress {
    /// When it begins.
    pub from: Moment,
    /// When it ends.
    pub to: Moment,
    /// The event's title, if the calendar has one.
    pub what: String,
    /// The calendar.
    pub source: String,
}

/// The free hours without the busy times, and the parts of the busy times that were free.
pub fn without(free: &[Stretch], mut busy: Vec<PlanProgress>) -> (Vec<Stretch>, Vec<PlanProgress>) {
    busy.retain(|busy| busy.from < busy.to);
    busy.sort();
    let taken = taken(free, &busy);
    let blocks = joined(taken.iter().map(|busy| (busy.from, busy.to)));
    let mut left = Vec::new();
    let mut blocks = blocks.iter().peekable();
    for &(mut from, to) in free {
        while let Some(&&(begins, ends)) = blocks.peek()
            && begins < to
        {
            left.push((from, begins));
            from = ends;
            // A taken part lies inside one stretch.
            blocks.next();
        }
        left.push((from, to));
    }
    (joined(left.into_iter()), taken)
}

/// The parts of sorted busy times that lie in the free hours, in order.
fn taken(free: &[Stretch], busy: &[PlanProgress]) -> Vec<PlanProgress> {
    let mut taken = Vec::new();
    for busy in busy {
        let first = free.partition_point(|(_, to)| *to <= busy.from);
        let meets = free.iter().skip(first).take_while(|(from, _)| *from < busy.to);
        taken.extend(meets.map(|(from, to)| PlanProgress {
            from: busy.from.max(*from),
            to: busy.to.min(*to),
            ..busy.clone()
        }));
    }
    taken.sort();
    taken
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;
    use proptest::prelude::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn busy(from: i64, to: i64) -> PlanProgress {
        PlanProgress { from: at(from), to: at(to), what: "choir".into(), source: "calendar.ics".into() }
    }

    fn left(free: &[(i64, i64)], busy_times: &[(i64, i64)]) -> Vec<(i64, i64)> {
        let free: Vec<Stretch> = free.iter().map(|(from, to)| (at(*from), at(*to))).collect();
        let busy_times = busy_times.iter().map(|(from, to)| busy(*from, *to)).collect();
        let minutes = |moment: Moment| moment.timestamp() / 60;
        without(&free, busy_times).0.iter().map(|(from, to)| (minutes(*from), minutes(*to))).collect()
    }

    #[test]
    fn a_busy_time_cuts_an_evening() {
        assert_eq!(left(&[(0, 100)], &[(40, 60)]), [(0, 40), (60, 100)]);
        assert_eq!(left(&[(0, 100)], &[(-10, 30), (90, 200)]), [(30, 90)]);
        assert_eq!(left(&[(0, 100), (150, 200)], &[(80, 160)]), [(0, 80), (160, 200)]);
        assert_eq!(left(&[(0, 100)], &[(40, 60), (50, 70), (40, 45)]), [(0, 40), (70, 100)]);
        assert_eq!(left(&[(0, 100), (150, 200)], &[(-5, 300)]), []);
        assert_eq!(left(&[(0, 100)], &[(100, 120), (-5, 0), (50, 50)]), [(0, 100)]);
        assert_eq!(left(&[], &[(1, 2)]), []);
    }

    #[test]
    fn only_the_part_of_a_busy_time_that_was_free_is_listed() {
        let free = [(at(0), at(100)), (at(150), at(200))];
        let (_, taken) = without(&free, vec![busy(80, 160), busy(300, 400)]);
        assert_eq!(taken, [busy(80, 100), busy(150, 160)]);
    }

    proptest! {
        #[test]
        fn every_minute_is_free_or_busy_or_neither(
            free in proptest::collection::vec((0..300_i64, 1..60_i64), 0..6),
            blocked in proptest::collection::vec((-20..320_i64, 1..80_i64), 0..6),
        ) {
            let spans = |given: &[(i64, i64)]| given.iter().map(|(from, length)| (*from, from + length)).collect::<Vec<_>>();
            let (free, blocked) = (spans(&free), spans(&blocked));
            let stated = joined(free.iter().map(|(from, to)| (at(*from), at(*to))));
            let stated: Vec<(i64, i64)> = stated.iter().map(|(from, to)| (from.timestamp() / 60, to.timestamp() / 60)).collect();
            let left = left(&stated, &blocked);
            prop_assert!(left.windows(2).all(|pair| pair[0].1 < pair[1].0));
            let holds = |spans: &[(i64, i64)], minute: i64| spans.iter().any(|(from, to)| (*from..*to).contains(&minute));
            for minute in -30..420 {
                let expected = holds(&free, minute) && !holds(&blocked, minute);
                prop_assert_eq!(holds(&left, minute), expected, "minute {}", minute);
            }
        }
    }
}

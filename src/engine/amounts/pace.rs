//! How fast this person coats: from the finished coats of the area, else from other areas by the square metre,
//! else from the scheme.

use chrono::TimeDelta;

use crate::engine::job::{Area, Job};
use crate::engine::units::SquareMetres;

/// The duration of a coat, and its source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pace {
    /// From the first stroke to the last.
    pub takes: TimeDelta,
    /// Its source.
    pub known: KnownBy,
}

/// The source of a pace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KnownBy {
    /// This number of finished coats of the area.
    Area(usize),
    /// This number of finished coats of other areas, by the square metre.
    Others(usize),
    /// The scheme.
    Scheme,
}

/// The duration of a coat on an area of this name and size; None without any source.
pub fn pace(job: &Job, area: &str, size: SquareMetres) -> Option<Pace> {
    let own = job.area(area);
    let took: Vec<f64> = own.into_iter().flat_map(minutes).collect();
    if !took.is_empty() {
        let count = took.len();
        return Some(Pace { takes: in_minutes(middle(took)?), known: KnownBy::Area(count) });
    }
    let others = job.areas.iter().filter(|other| !other.name.eq_ignore_ascii_case(area));
    let by_size = others.filter_map(|other| {
        let size = other.plan.as_ref()?.square_metres?.square_metres();
        Some(minutes(other).map(move |minutes| minutes / size))
    });
    let by_size: Vec<f64> = by_size.flatten().collect();
    if !by_size.is_empty() {
        let count = by_size.len();
        let takes = in_minutes(middle(by_size)? * size.square_metres());
        return Some(Pace { takes, known: KnownBy::Others(count) });
    }
    let takes = own?.plan.as_ref()?.takes?;
    Some(Pace { takes, known: KnownBy::Scheme })
}

/// The durations of the finished coats of an area. A coat entered as a whole has none.
fn minutes(area: &Area) -> impl Iterator<Item = f64> {
    let took = area.coats.iter().filter_map(|coat| Some(coat.last_stroke? - coat.first_stroke));
    took.filter(|took| *took > TimeDelta::zero()).map(|took| took.as_seconds_f64() / 60.0)
}

/// The median: a coat whose last stroke was entered the next morning must not set the pace.
fn middle(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

fn in_minutes(minutes: f64) -> TimeDelta {
    TimeDelta::seconds((minutes * 60.0).clamp(0.0, 1e9).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Bench;

    const TWO_WALLS: &str = r#"
        name = "Hut"
        [[area]]
        name = "north"
        square_metres = 5
        minutes_per_square_metre = 6
        steps = []
        [[area]]
        name = "south"
        square_metres = 10
        steps = []
    "#;

    fn south(bench: Bench) -> Option<Pace> {
        pace(&bench.job(600), "South", SquareMetres::new(10.0))
    }

    fn of(minutes: i64, known: KnownBy) -> Option<Pace> {
        Some(Pace { takes: TimeDelta::minutes(minutes), known })
    }

    #[test]
    fn the_record_of_the_area_comes_before_that_of_others_and_both_before_the_scheme() {
        let hut = || Bench::default().scheme(TWO_WALLS);
        assert_eq!(south(hut()), None);
        assert_eq!(pace(&hut().job(0), "north", SquareMetres::new(5.0)), of(30, KnownBy::Scheme));
        // 20 minutes for 5 m² is 40 for 10 m².
        let north = || hut().coat("north", "varnish-alkyd", 0, 20);
        assert_eq!(south(north()), of(40, KnownBy::Others(1)));
        let both = north().coat("south", "varnish-alkyd", 100, 155);
        assert_eq!(south(both), of(55, KnownBy::Area(1)));
    }

    #[test]
    fn a_coat_that_was_closed_the_next_morning_does_not_set_the_pace() {
        let coats = [(0, 30), (100, 600), (601, 633)];
        let bench = Bench::default().scheme(TWO_WALLS);
        let bench = coats.iter().fold(bench, |b, (from, to)| b.coat("south", "varnish-alkyd", *from, *to));
        let slow = pace(&bench.job(700), "south", SquareMetres::new(10.0));
        assert_eq!(slow, of(32, KnownBy::Area(3)));
    }

    #[test]
    fn a_coat_entered_as_a_whole_gives_no_pace() {
        let bench = Bench::default().scheme(TWO_WALLS).coat("south", "varnish-alkyd", 5, 5);
        assert_eq!(south(bench), None);
        assert_eq!(pace(&Job::default(), "bench", SquareMetres::new(1.0)), None);
    }
}

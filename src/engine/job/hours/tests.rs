use super::*;
use crate::engine::job::{Job, StepKind};
use proptest::prelude::*;

fn at(minutes: i64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
}

fn named(area: &str) -> Option<String> {
    (!area.is_empty()).then(|| area.to_owned())
}

fn on(area: &str) -> EntryKind {
    EntryKind::ClockOn { area: named(area) }
}

const OFF: EntryKind = EntryKind::ClockOff;

fn work(area: &str, minutes: u32) -> EntryKind {
    EntryKind::Work { area: named(area), minutes }
}

fn sanded(area: &str, minutes: u32) -> EntryKind {
    EntryKind::step(area, StepKind::Sand, Some(minutes))
}

fn coat(area: &str) -> EntryKind {
    EntryKind::Coat {
        area: area.into(),
        product: "oil".into(),
        next: None,
        finished: false,
        batch: None,
        why: None,
    }
}

fn done(area: &str) -> EntryKind {
    EntryKind::Finished { area: area.into() }
}

fn hours(entries: &[(i64, EntryKind)], now: i64) -> Hours {
    let entry = |(index, (minutes, kind)): (usize, &(i64, EntryKind))| Entry {
        id: EntryId(index as i64 + 1),
        at: at(*minutes),
        recorded: at(*minutes),
        kind: kind.clone(),
    };
    let entries: Vec<Entry> = entries.iter().enumerate().map(entry).collect();
    Job::fold(&entries, at(now)).hours
}

/// Minutes on the roof, on the door, on nothing in particular, in all.
fn minutes(entries: &[(i64, EntryKind)], now: i64) -> [i64; 4] {
    let hours = hours(entries, now);
    [hours.of(Some("roof")), hours.of(Some("door")), hours.of(None), hours.total()].map(|d| d.num_minutes())
}

#[test]
fn the_clock_counts_from_its_start_to_its_stop() {
    assert_eq!(minutes(&[(0, on("roof")), (50, OFF)], 90), [50, 0, 0, 50]);
    assert_eq!(minutes(&[(0, on("")), (50, OFF)], 90), [0, 0, 50, 50]);
    assert_eq!(minutes(&[(0, on("roof"))], 30), [30, 0, 0, 30], "and until now while it runs");
    assert_eq!(minutes(&[], 30), [0, 0, 0, 0]);
}

#[test]
fn another_start_ends_the_first_and_a_stop_without_a_start_is_harmless() {
    assert_eq!(minutes(&[(0, on("roof")), (20, on("door")), (50, OFF)], 90), [20, 30, 0, 50]);
    assert_eq!(minutes(&[(0, on("roof")), (20, on("ROOF")), (50, OFF)], 90), [50, 0, 0, 50]);
    assert_eq!(minutes(&[(0, OFF), (10, on("roof")), (20, OFF), (40, OFF)], 90), [10, 0, 0, 10]);
    assert_eq!(minutes(&[(0, on("roof")), (0, OFF)], 90), [0, 0, 0, 0]);
}

#[test]
fn a_stop_that_is_entered_later_is_taken_at_its_own_time() {
    let entries = [(0, on("roof")), (200, on("door")), (230, OFF), (60, OFF)];
    assert_eq!(minutes(&entries, 300), [60, 30, 0, 90]);
}

#[test]
fn steps_and_strokes_count_where_no_clock_ran() {
    assert_eq!(minutes(&[(60, sanded("roof", 45))], 90), [45, 0, 0, 45]);
    assert_eq!(minutes(&[(0, coat("roof")), (26, done("roof"))], 90), [26, 0, 0, 26]);
    assert_eq!(minutes(&[(0, coat("roof"))], 10), [10, 0, 0, 10], "a coat that is being applied");
    let by_the_clock = [(0, on("roof")), (10, coat("roof")), (36, done("roof")), (60, OFF)];
    assert_eq!(minutes(&by_the_clock, 90), [60, 0, 0, 60], "once, not twice");
    let half = [(0, on("roof")), (20, coat("roof")), (30, OFF), (46, done("roof"))];
    assert_eq!(minutes(&half, 90), [46, 0, 0, 46], "what lies beside the clock counts");
    let elsewhere = [(0, on("door")), (10, coat("roof")), (30, done("roof")), (60, OFF)];
    assert_eq!(minutes(&elsewhere, 90), [0, 60, 0, 60], "the clock knows better");
}

#[test]
fn two_coats_at_once_are_worked_on_once() {
    let woven = [(0, coat("roof")), (10, coat("door")), (30, done("roof")), (40, done("door"))];
    assert_eq!(minutes(&woven, 90), [30, 10, 0, 40]);
}

#[test]
fn where_the_clock_names_no_area_the_strokes_do() {
    let entries =
        [(0, on("")), (10, coat("roof")), (36, done("roof")), (100, sanded("door", 30)), (120, OFF)];
    assert_eq!(minutes(&entries, 200), [26, 30, 64, 120]);
}

#[test]
fn minutes_that_were_entered_count_in_full() {
    assert_eq!(minutes(&[(60, work("roof", 90))], 90), [90, 0, 0, 90]);
    let beside_a_clock = [(0, on("roof")), (60, OFF), (60, work("roof", 30))];
    assert_eq!(minutes(&beside_a_clock, 90), [90, 0, 0, 90]);
    let with_its_strokes = [(0, coat("roof")), (26, done("roof")), (30, work("roof", 30))];
    assert_eq!(minutes(&with_its_strokes, 90), [30, 0, 0, 30]);
    let beside_no_area = [(0, on("")), (60, OFF), (60, work("door", 30))];
    assert_eq!(minutes(&beside_no_area, 90), [0, 30, 60, 90]);
}

#[test]
fn a_clock_left_running_does_not_count_until_it_is_said_when_it_stopped() {
    let night = [(0, on("roof"))];
    assert_eq!(minutes(&night, 480), [480, 0, 0, 480]);
    assert_eq!(minutes(&night, 481), [0, 0, 0, 0]);
    assert_eq!(hours(&night, 481).doubtful.len(), 1);
    assert!(hours(&night, 481).running.is_some());
    let said = [(0, on("roof")), (600, OFF)];
    assert_eq!(minutes(&said, 900), [600, 0, 0, 600], "who says so means it");
    let switched = [(0, on("roof")), (600, on("door")), (610, OFF)];
    assert_eq!(minutes(&switched, 900), [0, 10, 0, 10], "the next start does not say so");
    let stroke = [(0, coat("roof"))];
    assert_eq!((minutes(&stroke, 481), hours(&stroke, 481).doubtful.len()), ([0, 0, 0, 0], 1));
}

#[test]
fn it_is_known_what_the_clock_was_on_for() {
    let hours = hours(&[(0, on("roof")), (60, OFF), (100, on(""))], 120);
    let area = |minutes| hours.clock_at(at(minutes)).map(|running| running.area);
    assert_eq!(area(-1), None);
    assert_eq!(area(0), Some(named("roof")));
    assert_eq!(area(60), None);
    assert_eq!(area(110), Some(None));
    assert_eq!(hours.clock_at(at(110)).map(|running| running.since), Some(at(100)));
}

#[test]
fn a_clock_that_ran_through_the_night_is_asked_about() {
    let civil = Civil::utc();
    let left = |from: i64, to: i64| left_running(at(from * 60), at(to * 60), &civil);
    assert!(!left(8, 16), "a long day");
    assert!(left(8, 17), "too long a day");
    assert!(left(20, 28), "an evening, and the next morning");
    assert!(left(23, 30));
    assert!(!left(23, 26), "a late evening");
    assert!(!left(26, 29), "a short night");
}

fn any_entry() -> impl Strategy<Value = (i64, EntryKind)> {
    let area = prop::sample::select(vec!["roof", "door"]);
    let timed = prop_oneof![
        area.clone().prop_map(on),
        Just(on("")),
        Just(OFF),
        area.clone().prop_map(coat),
        area.clone().prop_map(done),
        (area, 1..200_u32).prop_map(|(a, m)| sanded(a, m)),
    ];
    (0..900_i64, timed)
}

proptest! {
    /// Against a wall of minutes, each painted or not.
    #[test]
    fn no_minute_counts_twice(entries in prop::collection::vec(any_entry(), 0..14)) {
        let hours = hours(&entries, 900);
        let mut wall = std::collections::BTreeSet::new();
        for stretch in &hours.stretches {
            prop_assert!(stretch.from < stretch.to);
            for minute in 0..stretch.length().num_minutes() {
                prop_assert!(wall.insert(stretch.from + TimeDelta::minutes(minute)), "{:?}", hours.stretches);
            }
        }
        prop_assert_eq!(hours.total(), TimeDelta::minutes(wall.len() as i64));
        let parts: TimeDelta = hours.areas().iter().map(|area| hours.of(Some(area))).sum();
        prop_assert_eq!(hours.total(), parts + hours.of(None));
    }
}

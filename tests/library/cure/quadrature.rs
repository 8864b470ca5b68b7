//! Coats over irregular readings, against adaptive quadrature.
//!
//! Source: `coats.json` and `spread.json`, made with SciPy by `make_coats.py` and `make_spread.py` and
//! computed a second time with mpmath in 30 digits by `cross_check.py`; see `SOURCES.md`.

use curewright::engine::cure::{Bound, Course, History, Reading};
use curewright::engine::profile::Cure;
use curewright::engine::units::Celsius;
use serde::Deserialize;

use super::shop::{Coat, PROMISED, after, assert_close, assert_moment, history, reading};

#[derive(Debug, Deserialize)]
struct Followed {
    #[serde(flatten)]
    coat: Coat,
    readings: Vec<(f64, f64, Option<f64>)>,
    start_s: f64,
    /// (seconds, progress).
    probes: Vec<(f64, f64)>,
    /// (progress, seconds).
    crossings: Vec<(f64, Option<f64>)>,
}

#[derive(Debug, Deserialize)]
struct Spread {
    #[serde(flatten)]
    coat: Coat,
    /// Seconds, °C, humidity, °C of the surface.
    readings: Vec<(f64, f64, Option<f64>, Option<f64>)>,
    start_s: f64,
    earliest_s: Option<f64>,
    at_s: Option<f64>,
    latest_s: Option<f64>,
}

fn followed() -> Vec<Followed> {
    serde_json::from_str(include_str!("../../reference/coats.json")).unwrap()
}

fn spread() -> Vec<Spread> {
    serde_json::from_str(include_str!("../../reference/spread.json")).unwrap()
}

fn shop_of(readings: &[(f64, f64, Option<f64>)]) -> History {
    history(readings.iter().map(|&(seconds, celsius, humidity)| reading(seconds, celsius, humidity)))
}

#[test]
fn the_cases_cover_damp_cold_and_every_size_of_table() {
    let cases = followed();
    let count = |holds: fn(&Followed) -> bool| cases.iter().filter(|case| holds(case)).count();
    assert!(cases.len() >= 50);
    assert!(count(|case| case.coat.cure != Cure::Reaction) >= 20, "humidity");
    assert!(
        count(|case| case.coat.stall_below.is_some_and(|limit| case.readings.iter().any(|r| r.1 < limit)))
            >= 5,
        "stalled for a while"
    );
    assert!(count(|case| case.crossings.iter().any(|c| c.1.is_none())) >= 5, "stalled for good");
    for points in 1..=3 {
        let of_that_size = cases.iter().filter(|case| case.coat.table().points().len() == points).count();
        assert!(of_that_size >= 10, "tables of {points} points");
    }
    assert!(cases.iter().all(|case| case.probes.len() >= 4 && case.crossings.len() == 3));

    let cases = spread();
    assert!(cases.len() >= 45);
    let count = |holds: fn(&Spread) -> bool| cases.iter().filter(|case| holds(case)).count();
    let gap = |case: &Spread| case.readings.windows(2).any(|pair| pair[1].0 - pair[0].0 > 7200.0);
    assert!(count(gap) >= 15, "gaps");
    assert!(count(|case| case.coat.cure != Cure::Reaction) >= 12, "an error of the humidity");
    assert!(count(|case| case.readings.iter().any(|reading| reading.3.is_some())) >= 6, "a measured surface");
    let never = cases.iter().filter(|case| case.latest_s.is_none() && case.earliest_s.is_some());
    assert!(never.count() >= 2, "only the lowered temperature stalls");
}

#[test]
fn the_progress_is_that_of_adaptive_quadrature() {
    for case in followed() {
        let (shop, table) = (shop_of(&case.readings), case.coat.table());
        let course = Course::new(&shop, &table, case.coat.law());
        for (seconds, expected) in case.probes {
            println!("{} at {seconds} s", case.coat.name);
            let progress = course.progress(after(case.start_s), after(seconds), Bound::AsRead);
            assert_close(progress, expected, PROMISED);
        }
    }
}

#[test]
fn the_moments_are_those_of_adaptive_quadrature() {
    for case in followed() {
        let (shop, table) = (shop_of(&case.readings), case.coat.table());
        let course = Course::new(&shop, &table, case.coat.law());
        let start = after(case.start_s);
        for (target, expected) in case.crossings {
            let what = format!("{} up to {target}", case.coat.name);
            assert_moment(course.crossing(start, target, Bound::AsRead), start, expected, &what);
        }
    }
}

#[test]
fn earliest_and_latest_are_those_of_adaptive_quadrature() {
    for case in spread() {
        let readings = case.readings.iter().map(|&(seconds, celsius, humidity, surface)| Reading {
            surface: surface.map(Celsius::new),
            ..reading(seconds, celsius, humidity)
        });
        let (shop, table) = (history(readings), case.coat.table());
        let course = Course::new(&shop, &table, case.coat.law());
        let start = after(case.start_s);
        for (bound, expected) in
            [(Bound::Warmest, case.earliest_s), (Bound::AsRead, case.at_s), (Bound::Coolest, case.latest_s)]
        {
            let what = format!("{}, {bound:?}", case.coat.name);
            assert_moment(course.crossing(start, 1.0, bound), start, expected, &what);
        }
    }
}

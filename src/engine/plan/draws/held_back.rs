//! Checks the draws on held-back years: four years of public records, each left out of the climate in turn and
//! then simulated as it was (tests/reference/SOURCES.md).

use std::ops::ControlFlow;

use super::super::scenario::{Chance, Scenario};
use super::super::simulate::Simulation;
use crate::engine::air::SeasonalMeans;
use crate::engine::config::SessionTimes;
use crate::engine::cure::{History, Outlook, Reading};
use crate::engine::job::Scheme;
use crate::engine::plan::{Aim, AreaNow, Climate, ClimateFrom, Effort, FreeTime, Input, PlaceAir, Planning};
use crate::engine::profile::Library;
use crate::engine::units::{Celsius, KelvinDelta, Moment};
use chrono::{Datelike, TimeDelta};

const HOUR: TimeDelta = TimeDelta::hours(1);
/// With this excess over the outdoors a shop is usable for most of the year.
const WARMER: f64 = 8.0;
const PIECES: [&str; 2] = [
    "{ coat = \"paint-two-part\" }, { sand = \"320\", minutes = 20 }, { coat = \"paint-two-part\" }, { sand = \"320\", minutes = 20 }, { coat = \"paint-two-part\" }",
    "{ coat = \"oil-penetrating\" }",
];

/// Every hour, interpolated between the daily minimum at 13 h and the maximum at 23 h UTC.
fn hours() -> Vec<Reading> {
    let rows = include_str!("../../../../tests/reference/seattle.csv").lines().skip(1);
    let known = rows.flat_map(|row| {
        let fields: Vec<&str> = row.split(',').collect();
        let midnight: Moment = format!("{}T00:00:00Z", fields[0]).parse().unwrap();
        [(13, 1), (23, 2)].map(|(hour, column)| Reading {
            at: midnight + HOUR * hour,
            air: Celsius::new(fields[column].parse::<f64>().unwrap() + WARMER),
            humidity: None,
            surface: None,
        })
    });
    let line = History::new(known, Outlook::default());
    let (first, last) = (line.first_reading().unwrap(), line.last_reading().unwrap());
    let hours = 0..=(last - first).num_hours() as i32;
    let hours = hours.map(|hour| {
        let at = first + HOUR * hour;
        Reading { at, air: line.air_at(at).unwrap(), humidity: None, surface: None }
    });
    hours.collect()
}

/// The percentage of draws in service by the true service date; None if that is outside the horizon.
/// not inside the days.
fn rank(all: &[Reading], season: &SeasonalMeans, now: Moment, steps: &str, count: usize) -> Option<f64> {
    let library = Library::built_in();
    let (begin, end) = (now - TimeDelta::days(14), now + TimeDelta::days(100));
    let known = all.iter().filter(|reading| reading.at > begin && reading.at <= now).copied();
    let error = KelvinDelta::new(0.0);
    let history = History::new(known, Outlook::held(error));
    let history = history.with_outlook(Outlook::from_record(&history, error));
    let climates = [Climate { season: season.clone(), from: ClimateFrom::Record }];
    let places = [PlaceAir {
        name: "shop",
        history: &history,
        rain: &[],
        known_until: now,
        climates: &climates,
        sky: None,
    }];
    let free = FreeTime::new((0..60).map(|day| {
        // Four hours before solar midnight.
        let evening = now + TimeDelta::days(day) + HOUR * 12;
        (evening, evening + HOUR * 4)
    }));
    let text = format!(
        "name = \"p\"\n[[area]]\nname = \"a\"\nsquare_metres = 2\nminutes_per_square_metre = 10\nsteps = [{steps}]\n"
    );
    let scheme = Scheme::read(&text).unwrap();
    let areas: Vec<AreaNow<'_>> = scheme.areas.iter().map(AreaNow::bare).collect();
    let input = Input {
        now,
        days: 60,
        free: &free,
        places: &places,
        areas: &areas,
        library: &library,
        lead: TimeDelta::minutes(15),
        heat: None,
        session: SessionTimes::default(),
        pace: Some(0.0),
        notes: &[],
    };
    let planning = Planning::prepare(input).ok()?;
    let effort = Effort { each: 20, tries: 1, proof: 50, near: 0, polish: 0 };
    let solved = planning.solve(Aim::Soonest, effort, &mut |_| ControlFlow::Continue(())).ok()?;
    let mut order: Vec<_> = solved.schedule.placed.iter().collect();
    order.sort_by_key(|placed| planning.problem.start(placed));
    let truth = all.iter().filter(|reading| reading.at > begin && reading.at <= end).copied();
    let truth = Scenario::of(truth.collect(), &[areas[0].surface_lag], Outlook::held(error));
    let truth = Simulation::new(&planning, vec![truth]).through(&order, 0.0, &mut Chance::of(1))?;
    let draws = planning.draws(&solved.schedule, count, 1);
    let sooner = draws.ends.iter().filter(|end| **end < truth).count();
    let same = draws.ends.iter().filter(|end| **end == truth).count();
    Some((sooner as f64 + 0.5 * same as f64) / count as f64 * 100.0)
}

#[test]
fn the_ends_of_held_back_years_match_the_draws() {
    let (apart, count) = (73, 40);
    let all = hours();
    let mut ranks = Vec::new();
    for year in 2012..=2015 {
        let others: Vec<Reading> = all.iter().filter(|reading| reading.at.year() != year).copied().collect();
        let season = SeasonalMeans::of(&others);
        for day in (20..=240).step_by(apart) {
            let now: Moment = format!("{year}-01-01T16:00:00Z").parse().unwrap();
            let now = now + TimeDelta::days(day);
            ranks.extend(PIECES.iter().filter_map(|piece| rank(&all, &season, now, piece, count)));
        }
    }
    let by = |percent: f64| ranks.iter().filter(|rank| **rank <= percent).count() as f64;
    let share = |percent: f64| by(percent) / ranks.len() as f64 * 100.0;
    println!(
        "{} ends: {:.0} % by the date that half keep, {:.0} % by that of nine in ten, {:.0} % by that of one in ten",
        ranks.len(),
        share(50.0),
        share(90.0),
        share(10.0)
    );
    assert!(ranks.len() >= 24);
    assert!((30.0..=70.0).contains(&share(50.0)), "{ranks:?}");
    assert!(share(90.0) >= 70.0, "{ranks:?}");
}

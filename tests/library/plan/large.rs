//! Large pieces of real products: a number of areas with eight steps, with two weeks of record and evenings to work in.

use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use chrono::TimeDelta;
use curewright::engine::config::SessionTimes;
use curewright::engine::cure::{History, Outlook, Reading};
use curewright::engine::job::Scheme;
use curewright::engine::plan::{Aim, AreaNow, Effort, FreeTime, Input, PlaceAir, Plan, Planning};
use curewright::engine::profile::Library;
use curewright::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

const STACKS: [&str; 3] = [
    "{ coat = \"epoxy-sealer\" }, { coat = \"epoxy-sealer\" }, { sand = \"120\", minutes = 40 }, { coat = \"primer-two-part\" }, { coat = \"primer-two-part\" }, { coat = \"paint-two-part\" }, { sand = \"320\", minutes = 30 }, { coat = \"paint-two-part\" }",
    "{ tape = \"on\" }, { coat = \"varnish-two-part\" }, { coat = \"varnish-two-part\" }, { coat = \"varnish-two-part\" }, { sand = \"320\", minutes = 30 }, { coat = \"varnish-two-part\" }, { coat = \"varnish-two-part\" }, { tape = \"off\" }",
    "{ coat = \"primer-alkyd\" }, { sand = \"240\", minutes = 25 }, { coat = \"enamel-alkyd\" }, { sand = \"320\", minutes = 25 }, { coat = \"enamel-alkyd\" }, { sand = \"320\", minutes = 25 }, { coat = \"enamel-alkyd\" }, { coat = \"enamel-alkyd\" }",
];

/// What came of a large piece, and how long each part took.
pub struct Large {
    pub plan: Plan,
    pub planned_in: Duration,
    pub drawn_in: Duration,
}

pub fn planned(areas: usize, days: u32, evening_ends: i64, draws: usize) -> Large {
    let library = Library::built_in();
    let now: Moment = "2026-05-04T16:00:00Z".parse().unwrap();
    let readings = (0..14 * 24).map(|hour| {
        let at = now - TimeDelta::hours(14 * 24 - hour);
        let turn = (hour as f64 / 24.0 - 0.4).fract() * std::f64::consts::TAU;
        let stray = ((hour * 7919 % 101) - 50) as f64 / 40.0;
        let air = Celsius::new(17.0 + 4.0 * turn.sin() + stray);
        Reading { at, air, humidity: Some(Humidity::from_fraction(0.6)), surface: None }
    });
    let error = KelvinDelta::new(1.0);
    let history = History::new(readings, Outlook::held(error));
    let history = history.with_outlook(Outlook::from_record(&history, error));
    let free = (0..i64::from(days)).map(|day| {
        let midnight = now - TimeDelta::hours(16) + TimeDelta::days(day);
        let (from, to) = if day % 7 == 5 { (8, 17) } else { (18, evening_ends) };
        (midnight + TimeDelta::hours(from), midnight + TimeDelta::hours(to))
    });
    let free = FreeTime::new(free);
    let mut text = "name = \"piece\"\n".to_owned();
    for area in 0..areas {
        text += &format!(
            "[[area]]\nname = \"area {area}\"\nsquare_metres = {}\nminutes_per_square_metre = 7\nsteps = [{}]\n",
            1 + area % 4,
            STACKS[area % 3]
        );
    }
    let scheme = Scheme::read(&text).unwrap();
    let known_until = history.last_reading().unwrap_or(now);
    let places =
        [PlaceAir { name: "shop", history: &history, rain: &[], known_until, climates: &[], sky: None }];
    let areas: Vec<AreaNow<'_>> = scheme.areas.iter().map(AreaNow::bare).collect();
    let input = Input {
        now,
        days,
        free: &free,
        places: &places,
        areas: &areas,
        library: &library,
        lead: TimeDelta::minutes(15),
        heat: None,
        session: SessionTimes::default(),
        pace: None,
        notes: &[],
    };
    let begun = Instant::now();
    let planning = Planning::prepare(input).unwrap();
    let solved = planning.solve(Aim::Soonest, Effort::default(), &mut |_| ControlFlow::Continue(())).unwrap();
    let plan = planning.plan(&solved);
    let planned_in = begun.elapsed();
    let begun = Instant::now();
    let draws = planning.draws(&solved.schedule, draws, 1);
    assert!(!draws.ends.is_empty());
    Large { plan, planned_in, drawn_in: begun.elapsed() }
}

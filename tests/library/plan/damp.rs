//! A damp autumn: the mean day of the record shows dew at night, and nothing is forecast.

use std::ops::ControlFlow;

use chrono::TimeDelta;
use curewright::engine::air::{dew_point, margin};
use curewright::engine::config::SessionTimes;
use curewright::engine::cure::{History, Outlook, Reading};
use curewright::engine::job::Scheme;
use curewright::engine::plan::{
    Aim, AreaNow, Effort, Expected, FreeTime, Infeasible, Input, PlaceAir, Plan, Planning, What, walk,
};
use curewright::engine::profile::Library;
use curewright::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

const SCHEME: &str = r#"
name = "hut"
[[area]]
name = "door"
square_metres = 2
minutes_per_square_metre = 10
steps = [{ coat = "primer-alkyd" }, { coat = "enamel-alkyd" }, { coat = "enamel-alkyd" }]
"#;

/// Two weeks of days alike: 15 °C at 14:00, 9 °C at 02:00, and as much vapour as makes the nights so damp.
fn autumn(now: Moment, night: f64) -> History {
    // Magnus with the coefficients of Alduchov and Eskridge (1996), to within a constant.
    let saturated = |t: Celsius| (17.625 * t.degrees() / (243.04 + t.degrees())).exp();
    let vapour = night * saturated(Celsius::new(9.0));
    let readings = (0..=14 * 24).map(|hour| {
        let at = now - TimeDelta::hours(14 * 24 - hour);
        let turn = (at.timestamp() as f64 / 86_400.0 - 1.0 / 3.0).fract() * std::f64::consts::TAU;
        let air = Celsius::new(12.0 + 3.0 * turn.sin());
        let humidity = Humidity::from_fraction(vapour / saturated(air));
        Reading { at, air, humidity: Some(humidity), surface: None }
    });
    let history = History::new(readings, Outlook::held(KelvinDelta::new(0.5)));
    history.with_outlook(Outlook::from_record(&history, KelvinDelta::new(0.5)))
}

fn planned(history: &History, now: Moment, hours: (i64, i64)) -> Result<(Plan, Vec<String>), Infeasible> {
    let midnight = now - TimeDelta::hours(6);
    let free = FreeTime::new((0..40).map(|day| {
        let day = midnight + TimeDelta::days(day);
        (day + TimeDelta::hours(hours.0), day + TimeDelta::hours(hours.1))
    }));
    let scheme = Scheme::read(SCHEME).unwrap();
    let areas: Vec<AreaNow<'_>> = scheme.areas.iter().map(AreaNow::bare).collect();
    let places = [PlaceAir { name: "shop", history, rain: &[], known_until: now, climates: &[], sky: None }];
    let library = Library::built_in();
    let input = Input {
        now,
        days: 40,
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
    let planning = Planning::prepare(input)?;
    let effort = Effort { near: 0, ..Effort::default() };
    let plan = planning.plan(&planning.solve(Aim::Soonest, effort, &mut |_| ControlFlow::Continue(()))?);
    let faults = walk(&input, &plan);
    Ok((plan, faults))
}

#[test]
fn no_coat_of_a_damp_autumn_meets_the_dew_that_its_own_mean_day_shows() {
    let now: Moment = "2026-10-05T06:00:00Z".parse().unwrap();
    // Dew, less than 3 K away, comes after 20:00 and stays until the morning.
    let history = autumn(now, 0.84);
    let (plan, faults) = planned(&history, now, (8, 21)).unwrap();
    assert!(faults.is_empty(), "{faults:?}");
    let place =
        PlaceAir { name: "shop", history: &history, rain: &[], known_until: now, climates: &[], sky: None };
    let expected = Expected::of(&place, now, 60, None).unwrap();
    let coats: Vec<_> = plan.steps.iter().filter(|step| step.what == What::Coat).collect();
    assert_eq!(coats.len(), 3);
    for coat in coats {
        // No alkyd of the library is tack-free at 15 °C before four hours are over.
        for minute in (0..240).step_by(10) {
            let at = coat.to + TimeDelta::minutes(minute);
            let (air, humidity) = (expected.air_at(at).unwrap(), expected.line().humidity_at(at).unwrap());
            let left = margin(air, dew_point(air, humidity).unwrap());
            assert!(left.kelvin() >= 3.0, "{}: {left:?} at {at}", coat.from);
        }
    }
}

#[test]
fn where_every_free_hour_leads_into_dew_there_is_no_plan_and_the_dew_is_named() {
    let now: Moment = "2026-10-05T06:00:00Z".parse().unwrap();
    let history = autumn(now, 0.84);
    let trouble = planned(&history, now, (18, 21)).unwrap_err().to_string();
    assert!(trouble.contains("until it is tack-free (mostly dew)"), "{trouble}");
}

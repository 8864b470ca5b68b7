//! The climate of dates beside NumPy, over a typical year and over four real ones (`make_season.py`).

use chrono::TimeDelta;
use curewright::engine::air::{SeasonalMeans, VapourPressure, humidity_at, vapour_pressure};
use curewright::engine::cure::Reading;
use curewright::engine::units::{Celsius, Humidity, KelvinDelta, Moment};
use proptest::prelude::*;

#[derive(serde::Deserialize)]
struct Case {
    date: String,
    air: Vec<f64>,
    air_strays: f64,
    vapour: Option<Vec<f64>>,
    vapour_strays: Option<f64>,
    together: Option<f64>,
}

#[derive(serde::Deserialize)]
struct Cases {
    year: Vec<Case>,
    seattle: Vec<Case>,
}

fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().skip(1).map(|line| line.split(',').collect())
}

fn year() -> Vec<Reading> {
    let begin: Moment = "2021-01-01T00:00:00Z".parse().unwrap();
    let hour = |row: Vec<&str>| Reading {
        at: begin + TimeDelta::hours(row[0].parse().unwrap()),
        air: Celsius::new(row[1].parse().unwrap()),
        humidity: Some(Humidity::from_percent(row[2].parse().unwrap()).unwrap()),
        surface: None,
    };
    rows(include_str!("../../reference/year.csv")).map(hour).collect()
}

/// The least of each day at 13 h, the most at 23 h. Straight between them, every two hours.
fn seattle() -> Vec<Reading> {
    let known = rows(include_str!("../../reference/seattle.csv")).flat_map(|row| {
        let midnight: Moment = format!("{}T00:00:00Z", row[0]).parse().unwrap();
        [(13, 1), (23, 2)]
            .map(|(hour, column)| (midnight + TimeDelta::hours(hour), row[column].parse::<f64>().unwrap()))
    });
    let known: Vec<(Moment, f64)> = known.collect();
    let mut readings = Vec::new();
    for pair in known.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let hours = (to.0 - from.0).num_hours();
        readings.extend((0..hours).step_by(2).map(|hour| Reading {
            at: from.0 + TimeDelta::hours(hour),
            air: Celsius::new(from.1 + (to.1 - from.1) * hour as f64 / hours as f64),
            humidity: None,
            surface: None,
        }));
    }
    let last = known[known.len() - 1];
    readings.push(Reading { at: last.0, air: Celsius::new(last.1), humidity: None, surface: None });
    readings
}

fn compare(season: &SeasonalMeans, cases: &[Case], years: usize) -> usize {
    let mut compared = 0;
    for case in cases {
        // The years of the climate do not count: 2028 has every date.
        let midnight: Moment = format!("2028-{}T00:00:00Z", case.date).parse().unwrap();
        assert_eq!(season.years(midnight), years, "{}", case.date);
        for hour in 0..24 {
            let (air, humidity) = season.at(midnight + TimeDelta::hours(hour as i64)).unwrap();
            assert!((air.degrees() - case.air[hour]).abs() < 1e-9, "{} {hour} h: {air:?}", case.date);
            match (&case.vapour, humidity) {
                (Some(vapour), Some(humidity)) => {
                    let expected = humidity_at(VapourPressure::from_hectopascals(vapour[hour]), air);
                    assert!((humidity.fraction() - expected.fraction()).abs() < 1e-9, "{}", case.date);
                }
                (None, None) => {}
                (case, found) => panic!("{found:?} beside {case:?}"),
            }
            compared += 1;
        }
        let spread = season.spread(midnight).unwrap();
        assert!((spread.air.kelvin() - case.air_strays).abs() < 1e-9, "{}: {spread:?}", case.date);
        let vapour = spread.vapour.map(VapourPressure::hectopascals);
        assert_eq!(vapour.is_some(), case.vapour_strays.is_some());
        let off = vapour.zip(case.vapour_strays).map_or(0.0, |(found, expected)| found - expected);
        assert!(off.abs() < 1e-9, "{}: {spread:?}", case.date);
        assert!((spread.together - case.together.unwrap_or(0.0)).abs() < 1e-9, "{}: {spread:?}", case.date);
    }
    compared
}

#[test]
fn the_climate_of_a_date_is_numpys() {
    let cases: Cases = serde_json::from_str(include_str!("../../reference/season.json")).unwrap();
    let compared = compare(&SeasonalMeans::of(&year()), &cases.year, 1)
        + compare(&SeasonalMeans::of(&seattle()), &cases.seattle, 4);
    println!("{compared} hours and {} dates compared", cases.year.len() + cases.seattle.len());
    assert_eq!(compared, 2 * 12 * 24);
}

/// Nine in ten hours of a year that was held back lie as near to the climate of the others as these deviated.
#[test]
fn a_held_back_year_deviates_about_as_much_as_the_others() {
    let all = seattle();
    let mut shares = Vec::new();
    for held_back in 2012..=2015 {
        let is_held = |reading: &&Reading| reading.at.format("%Y").to_string() == held_back.to_string();
        let season =
            SeasonalMeans::of(&all.iter().filter(|reading| !is_held(reading)).copied().collect::<Vec<_>>());
        let (mut inside, mut hours) = (0, 0);
        for reading in all.iter().filter(is_held) {
            let (air, _) = season.at(reading.at).unwrap();
            let off = (reading.air.degrees() - air.degrees()).abs();
            inside += usize::from(off <= season.spread(reading.at).unwrap().air.kelvin());
            hours += 1;
        }
        shares.push(inside as f64 / hours as f64 * 100.0);
    }
    println!("held-back years inside nine in ten: {shares:.1?} %");
    let mean = shares.iter().sum::<f64>() / 4.0;
    assert!((84.0..=94.0).contains(&mean) && shares.iter().all(|share| *share > 75.0), "{shares:?}");
}

fn reading(hours: i64, air: f64, damp: f64) -> Reading {
    let humidity = Some(Humidity::from_fraction(damp));
    Reading {
        at: Moment::UNIX_EPOCH + TimeDelta::hours(hours),
        air: Celsius::new(air),
        humidity,
        surface: None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn the_air_of_a_date_is_never_outside_of_what_was_read(
        steps in prop::collection::vec((1_i64..9, -20.0..40.0_f64, 0.05..1.0_f64), 50..400),
        begins in 0_i64..9000,
        asked in prop::collection::vec(0_i64..8784 * 60, 20),
    ) {
        let mut hour = begins;
        let readings: Vec<Reading> = steps.iter().map(|&(step, air, damp)| {
            hour += step;
            reading(hour, air, damp)
        }).collect();
        let season = SeasonalMeans::of(&readings);
        let all = |of: &dyn Fn(&Reading) -> f64| {
            readings.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
        };
        let vapour = |air: Celsius, damp: Humidity| vapour_pressure(air, damp).hectopascals();
        let (coolest, warmest) = all(&|reading| reading.air.degrees());
        let (_, dampest) = all(&|reading| vapour(reading.air, reading.humidity.unwrap()));
        for minutes in asked {
            let at = Moment::UNIX_EPOCH + TimeDelta::days(20_000) + TimeDelta::minutes(minutes);
            let Some((air, humidity)) = season.at(at) else { continue };
            prop_assert!((coolest - 1e-9..=warmest + 1e-9).contains(&air.degrees()));
            let humidity = humidity.unwrap();
            prop_assert!((0.0..=1.0).contains(&humidity.fraction()));
            prop_assert!(vapour(air, humidity) <= dampest + 1e-9);
            let spread = season.spread(at).unwrap();
            prop_assert!(spread.air <= KelvinDelta::new(warmest - coolest + 1e-9));
            prop_assert!(spread.together.abs() <= 1.0);
        }
    }
}

use chrono::TimeDelta;

use super::super::{Outlook, Reading};
use super::*;
use crate::engine::profile::Point;
use crate::engine::units::{ActivationEnergy, KelvinDelta};

fn at(minutes: f64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::milliseconds((minutes * 60_000.0).round() as i64)
}

fn history(points: &[(f64, f64)]) -> History {
    let readings = points.iter().map(|&(minutes, air)| Reading {
        at: at(minutes),
        air: Celsius::new(air),
        humidity: None,
        surface: None,
    });
    History::new(readings, Outlook::held(KelvinDelta::new(1.0)))
}

fn table(points: &[(f64, i64)]) -> TimeTable {
    let points =
        points.iter().map(|&(at, minutes)| Point { at: Celsius::new(at), time: TimeDelta::minutes(minutes) });
    TimeTable::new(points.collect(), ActivationEnergy::RULE_OF_THUMB).unwrap()
}

fn law(stall_below: Option<f64>) -> Law {
    Law {
        cure: Cure::Reaction,
        reference_humidity: Humidity::from_fraction(0.5),
        stall_below: stall_below.map(Celsius::new),
        minimum: false,
    }
}

#[test]
fn at_the_temperature_of_the_data_sheet_it_takes_the_time_of_the_data_sheet() {
    let (shop, table) = (history(&[(0.0, 20.0)]), table(&[(20.0, 120)]));
    let course = Course::new(&shop, &table, law(None));
    assert_eq!(course.crossing(at(0.0), 1.0, Bound::AsRead), Some(at(120.0)));
    assert!((course.progress(at(0.0), at(60.0), Bound::AsRead) - 0.5).abs() < 1e-12);
}

#[test]
fn without_a_reading_nothing_is_calculated() {
    let (shop, table) = (history(&[]), table(&[(20.0, 120)]));
    let course = Course::new(&shop, &table, law(None));
    assert_eq!(course.crossing(at(0.0), 1.0, Bound::AsRead), None);
    assert_eq!(course.progress(at(0.0), at(60.0), Bound::AsRead), 0.0);
}

#[test]
fn below_the_stall_nothing_progresses_and_a_held_cold_never_ends() {
    let (shop, table) = (history(&[(0.0, 20.0), (60.0, 20.0), (60.1, 2.0)]), table(&[(20.0, 120)]));
    let course = Course::new(&shop, &table, law(Some(4.0)));
    assert_eq!(course.crossing(at(0.0), 1.0, Bound::AsRead), None);
    let hour = course.progress(at(0.0), at(60.0), Bound::AsRead);
    let day = course.progress(at(0.0), at(1440.0), Bound::AsRead);
    assert!(day - hour < 1e-3, "{hour} {day}");
}

#[test]
fn only_the_warm_part_of_a_stretch_counts_towards_the_progress() {
    let (shop, table) = (history(&[(0.0, 8.0), (60.0, 0.0)]), table(&[(8.0, 60), (20.0, 60)]));
    let course = Course::new(&shop, &table, law(Some(4.0)));
    let progress = course.progress(at(0.0), at(60.0), Bound::AsRead);
    assert!((progress - 0.5).abs() < 1e-12, "{progress}");
}

#[test]
fn cold_stalls_a_film_below_its_table_and_in_small_steps_too() {
    let table = table(&[(10.0, 400), (20.0, 150), (30.0, 80)]);
    for stall in [2.0, 5.0, 12.0] {
        let fine: Vec<(f64, f64)> = (0..=600).map(|i| (f64::from(i), 15.0 - f64::from(i) / 40.0)).collect();
        let shop = history(&fine);
        let progress =
            |to: f64| Course::new(&shop, &table, law(Some(stall))).progress(at(0.0), at(to), Bound::AsRead);
        // Falls 1 K in 40 min from 15 °C on.
        let stalls = (15.0 - stall) * 40.0;
        assert!(progress(stalls) > 0.0);
        assert!((progress(600.0) / progress(stalls) - 1.0).abs() < 1e-9, "below {stall} °C");
    }
}

#[test]
fn a_humidity_that_is_not_a_number_is_ignored() {
    let reading = Reading {
        at: at(0.0),
        air: Celsius::new(20.0),
        humidity: Some(Humidity::from_fraction(f64::NAN)),
        surface: Some(Celsius::new(f64::NAN)),
    };
    let (shop, table) = (History::new([reading], Outlook::default()), table(&[(20.0, 120)]));
    let course = Course::new(&shop, &table, Law { cure: Cure::Drying, ..law(None) });
    assert_eq!(course.crossing(at(0.0), 1.0, Bound::AsRead), Some(at(120.0)));
    assert_eq!((shop.humidity_at(at(0.0)), shop.humidity_age(at(60.0))), (None, None));
}

#[test]
fn a_measured_surface_sets_the_pace() {
    let shop = |surface| {
        let reading = |hour: i32| Reading {
            at: at(f64::from(hour) * 60.0),
            air: Celsius::new(20.0),
            humidity: None,
            surface,
        };
        History::new((0..9).map(reading), Outlook::held(KelvinDelta::new(1.0)))
    };
    let table = table(&[(10.0, 240), (20.0, 120)]);
    let minutes = |surface: Option<f64>| {
        let shop = shop(surface.map(Celsius::new));
        let crossed = Course::new(&shop, &table, law(None)).crossing(at(0.0), 1.0, Bound::AsRead);
        (crossed.unwrap() - at(0.0)).num_minutes()
    };
    assert_eq!([minutes(None), minutes(Some(20.0)), minutes(Some(10.0))], [120, 120, 240]);
}

#[test]
fn progress_in_parts_adds_up_to_the_whole() {
    let shop = history(&[(0.0, 12.0), (33.0, 18.5), (34.0, 18.6), (35.0, 18.6), (90.0, 31.0), (200.0, 4.0)]);
    let table = table(&[(10.0, 400), (20.0, 150), (30.0, 80)]);
    let course = Course::new(&shop, &table, law(Some(5.0)));
    for bound in [Bound::Coolest, Bound::AsRead, Bound::Warmest] {
        // After the last reading, a film that is split in two counts as another film.
        let end = if bound == Bound::AsRead { 500.0 } else { 200.0 };
        let whole = course.progress(at(-20.0), at(end), bound);
        let cuts = [-20.0, 0.0, 11.0, 33.5, 36.0, 90.0, 150.0, 199.0, 200.0, end];
        let parts: f64 = cuts.windows(2).map(|w| course.progress(at(w[0]), at(w[1]), bound)).sum();
        assert!((whole / parts - 1.0).abs() < 1e-11, "{whole} {parts}");
    }
}

#[test]
fn the_progress_at_the_crossing_is_the_target() {
    let shop = history(&[(0.0, 12.0), (33.0, 18.5), (34.0, 18.6), (90.0, 31.0), (200.0, 14.0)]);
    let table = table(&[(10.0, 400), (20.0, 150), (30.0, 80)]);
    let course = Course::new(&shop, &table, law(None));
    for bound in [Bound::Coolest, Bound::AsRead, Bound::Warmest] {
        for target in [0.1, 0.37, 1.0, 2.5] {
            let crossed = course.crossing(at(5.0), target, bound).unwrap();
            let progress = course.progress(at(5.0), crossed, bound);
            assert!((progress / target - 1.0).abs() < 1e-9, "{progress} for {target}");
        }
    }
}

#[test]
fn small_steps_and_one_long_step_along_the_same_line_agree() {
    let fine: Vec<(f64, f64)> =
        (0..=6000).map(|i| (f64::from(i) / 10.0, 5.0 + f64::from(i) / 200.0)).collect();
    let (fine, coarse) = (history(&fine), history(&[(0.0, 5.0), (600.0, 35.0)]));
    let table = table(&[(10.0, 400), (20.0, 150), (30.0, 80)]);
    let sum = |shop| Course::new(shop, &table, law(None)).progress(at(0.0), at(600.0), Bound::AsRead);
    let (fine, coarse) = (sum(&fine), sum(&coarse));
    assert!((fine / coarse - 1.0).abs() < 1e-9, "{fine} {coarse}");
}

#[test]
fn damp_air_slows_drying_and_speeds_moisture_cure() {
    let reading = |humidity| Reading {
        at: at(0.0),
        air: Celsius::new(20.0),
        humidity: Some(Humidity::from_fraction(humidity)),
        surface: None,
    };
    let table = table(&[(20.0, 120)]);
    let minutes = |cure, humidity| {
        let shop = History::new([reading(humidity)], Outlook::default());
        let course = Course::new(&shop, &table, Law { cure, ..law(None) });
        course.crossing(at(0.0), 1.0, Bound::AsRead).map(|m| (m - at(0.0)).num_seconds() as f64 / 60.0)
    };
    assert_eq!(minutes(Cure::Drying, 0.75), Some(240.0));
    assert_eq!(minutes(Cure::Drying, 1.0), None);
    assert_eq!(minutes(Cure::Moisture, 0.25), Some(240.0));
    assert_eq!(minutes(Cure::Moisture, 0.0), None);
    assert_eq!(minutes(Cure::Reaction, 0.99), Some(120.0));
}

use super::*;

fn at(minutes: i64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
}

fn reading(minutes: i64, air: f64, humidity: Option<f64>) -> Reading {
    Reading {
        at: at(minutes),
        air: Celsius::new(air),
        humidity: humidity.map(Humidity::from_fraction),
        surface: None,
    }
}

fn history(readings: &[Reading]) -> History {
    History::new(readings.iter().copied(), Outlook::default())
}

#[test]
fn a_place_without_readings_has_no_temperature() {
    let nothing = history(&[]);
    assert_eq!(nothing.air_at(at(0)), None);
    assert_eq!(nothing.last_reading(), None);
    assert_eq!(nothing.longest_gap(at(0), at(9), TimeDelta::zero()), None);
}

#[test]
fn one_reading_holds_before_and_after() {
    let one = history(&[reading(60, 15.0, None)]);
    for minutes in [0, 60, 600] {
        assert!((one.air_at(at(minutes)).unwrap().degrees() - 15.0).abs() < 1e-9);
    }
}

#[test]
fn between_readings_the_line_is_straight() {
    let two = history(&[reading(0, 10.0, Some(0.4)), reading(60, 20.0, Some(0.6))]);
    assert!((two.air_at(at(15)).unwrap().degrees() - 12.5).abs() < 1e-9);
    assert!((two.humidity_at(at(15)).unwrap().fraction() - 0.45).abs() < 1e-12);
}

#[test]
fn a_reading_without_humidity_takes_it_from_its_neighbours() {
    let readings = [
        reading(0, 10.0, None),
        reading(10, 10.0, Some(0.4)),
        reading(20, 10.0, None),
        reading(30, 10.0, Some(0.6)),
        reading(40, 10.0, None),
    ];
    let filled = history(&readings);
    for (minutes, expected) in [(0, 0.4), (20, 0.5), (40, 0.6)] {
        assert!((filled.humidity_at(at(minutes)).unwrap().fraction() - expected).abs() < 1e-12);
    }
}

#[test]
fn of_two_readings_at_one_moment_the_later_counts() {
    let corrected = history(&[reading(0, 10.0, Some(0.5)), reading(0, 12.0, None)]);
    assert!((corrected.air_at(at(0)).unwrap().degrees() - 12.0).abs() < 1e-9);
    assert!((corrected.humidity_at(at(0)).unwrap().fraction() - 0.5).abs() < 1e-12);
}

#[test]
fn what_is_not_a_number_is_left_out() {
    let broken = history(&[reading(0, f64::NAN, None), reading(5, 12.0, None)]);
    assert_eq!(broken.first_reading(), Some(at(5)));
}

#[test]
fn the_longest_gap_is_found_only_where_it_matters() {
    let readings = [reading(0, 10.0, None), reading(600, 10.0, None), reading(610, 10.0, None)];
    let gappy = history(&readings);
    assert_eq!(gappy.longest_gap(at(100), at(620), TimeDelta::hours(6)), Some((at(0), at(600))));
    assert_eq!(gappy.longest_gap(at(600), at(620), TimeDelta::hours(6)), None);
}

#[test]
fn a_gap_that_touches_the_edge_of_a_span_is_found() {
    let gappy = history(&[reading(0, 10.0, None), reading(600, 10.0, None), reading(1300, 10.0, None)]);
    let longest = |from, to| gappy.longest_gap(at(from), at(to), TimeDelta::hours(6));
    assert_eq!(longest(0, 600), Some((at(0), at(600))), "the gap after the span does not count");
    assert_eq!(longest(600, 601), Some((at(600), at(1300))), "that before it neither");
    assert_eq!(gappy.longest_gap(at(0), at(600), TimeDelta::minutes(600)), None, "not longer");
}

#[test]
fn the_range_includes_the_readings_at_both_ends_of_a_span_and_none_outside() {
    let readings = [reading(0, 5.0, None), reading(10, 10.0, None), reading(20, 20.0, None)];
    let shop = history(&[readings[0], readings[1], readings[2], reading(30, 40.0, None)]);
    let range = |from, to| {
        let (low, high) = shop.range(at(from), at(to)).unwrap();
        (low.degrees().round(), high.degrees().round())
    };
    assert_eq!([range(10, 20), range(-5, 0), range(25, 99)], [(10.0, 20.0), (5.0, 5.0), (30.0, 40.0)]);
    assert_eq!(history(&[]).range(at(0), at(1)), None);
}

#[test]
fn two_hours_are_no_gap_and_a_minute_more_is_one() {
    let shop = history(&[reading(0, 10.0, None), reading(120, 10.0, None), reading(241, 10.0, None)]);
    assert!(!shop.has_gap(at(0), at(120)));
    assert!(shop.has_gap(at(0), at(121)) && shop.has_gap(at(130), at(140)) && shop.has_gap(at(240), at(900)));
    assert!(!shop.has_gap(at(241), at(900)));
    assert!(!history(&[]).has_gap(at(0), at(9)) && !history(&[readings_one()]).has_gap(at(0), at(9)));
}

fn readings_one() -> Reading {
    reading(0, 10.0, None)
}

#[test]
fn a_humidity_ages_from_the_last_reading_that_carries_it() {
    let age = |readings: &[Reading], minutes| {
        history(readings).humidity_age(at(minutes)).map(|age| age.num_minutes())
    };
    let shop = [reading(0, 10.0, Some(0.5)), reading(60, 10.0, None), reading(90, 10.0, None)];
    assert_eq!([age(&shop, -1), age(&shop, 0), age(&shop, 400)], [None, Some(0), Some(400)]);
    assert_eq!(age(&shop[1..], 400), None);
    let held = history(&[reading(0, 10.0, Some(0.5)), reading(60, 10.0, Some(0.5))]);
    let held = held.with_humidity_measured_until(Some(at(0)));
    assert_eq!(held.humidity_age(at(70)), Some(TimeDelta::minutes(70)));
}

fn surface(minutes: i64, air: f64, surface: f64) -> Reading {
    Reading { surface: Some(Celsius::new(surface)), ..reading(minutes, air, None) }
}

fn film(history: &History, minutes: i64) -> f64 {
    history.film_at(at(minutes)).unwrap().degrees()
}

#[test]
fn a_film_has_the_temperature_of_the_measured_surface_and_then_returns_to_the_air() {
    let shop = history(&[surface(0, 20.0, 10.0), surface(120, 20.0, 14.0), reading(600, 20.0, None)]);
    for (minutes, expected) in [(-9, 10.0), (0, 10.0), (60, 12.0), (120, 14.0), (600, 20.0), (900, 20.0)] {
        assert!((film(&shop, minutes) - expected).abs() < 0.01, "{minutes} min: {}", film(&shop, minutes));
    }
    // After one lag, 1/e of the 6 K is left.
    assert!((film(&shop, 180) - (20.0 - 6.0 * (-1.0f64).exp())).abs() < 0.01);
    assert_eq!(shop.air_at(at(60)).map(|air| air.degrees().round()), Some(20.0));
}

#[test]
fn a_surface_measured_once_counts_from_there_on_and_fades_after_the_last_reading_too() {
    let shop = history(&[reading(0, 20.0, None), surface(60, 20.0, 40.0)]);
    for (minutes, left) in [(0, 0.0), (60, 20.0), (120, 20.0 / 1f64.exp()), (180, 20.0 / 2f64.exp())] {
        assert!((film(&shop, minutes) - 20.0 - left).abs() < 0.04, "{minutes} min: {}", film(&shop, minutes));
    }
    assert!((film(&shop, 2000) - 20.0).abs() < 1e-9);
    let at_once = shop.with_surface_lag(TimeDelta::zero());
    assert!((film(&at_once, 61) - 20.0).abs() < 1e-9);
}

#[test]
fn measured_surfaces_more_than_two_hours_apart_are_not_connected() {
    let shop = history(&[surface(0, 20.0, 10.0), reading(110, 20.0, None), surface(121, 20.0, 10.0)]);
    assert!(film(&shop, 110) > 18.0, "{}", film(&shop, 110));
    let near = history(&[surface(0, 20.0, 10.0), reading(110, 20.0, None), surface(120, 20.0, 10.0)]);
    assert!((film(&near, 110) - 10.0).abs() < 1e-9);
}

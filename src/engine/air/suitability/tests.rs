use super::*;
use crate::engine::cure::{Outlook, Reading};
use crate::engine::profile::{Origin, read_profile};

const VARNISH: &str = r#"
schema = 1
id = "test-varnish"
name = "Test varnish"
family = "polyurethane"
cure = "reaction"
basis = "invented for a test"
[application]
air = [8, 30]
humidity_max = 80
dew_margin = 3
[stages]
tack_free = [{ at = 10, time = "8 h" }, { at = 20, time = "4 h" }]
"#;

/// Minutes, air, % humidity, surface.
type Plain = (i64, f64, Option<f64>, Option<f64>);

fn at(minutes: i64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
}

/// The objections to the varnish at the last reading, each with its minute.
fn objections(readings: &[Plain], humidity_old: Option<TimeDelta>) -> Vec<(&'static str, i64)> {
    let product = read_profile(VARNISH, Origin::BuiltIn).unwrap();
    let readings: Vec<Reading> = readings
        .iter()
        .map(|&(minutes, air, humidity, surface)| Reading {
            at: at(minutes),
            air: Celsius::new(air),
            humidity: humidity.map(|percent| Humidity::from_percent(percent).unwrap()),
            surface: surface.map(Celsius::new),
        })
        .collect();
    let now = readings.last().map_or(at(0), |last| last.at);
    let history = History::new(readings.iter().copied(), Outlook::default());
    let surface = SurfaceLine::new(&readings, TimeDelta::hours(1));
    let air = Air {
        history: &history,
        surface: &surface,
        rain: &[],
        known_until: now,
        humidity_old,
        dry_until: None,
    };
    let takes = TimeDelta::minutes(30);
    let task = Task { product: &product, takes, bare_wood: false, outdoors: false };
    let found = air.against(&task, now);
    found.into_iter().map(|(against, from)| (against.code(), (from - now).num_minutes())).collect()
}

#[test]
fn air_that_cools_towards_the_limit_forbids_a_coat() {
    let falling = |last: f64| [(0, last + 0.8, Some(40.0), None), (60, last, Some(40.0), None)];
    // 8.3 °C falling by 0.8 K/h is below 8 °C after 22 minutes.
    assert_eq!(objections(&falling(8.3), None), [("too_cold", 30)]);
    assert_eq!(objections(&falling(14.0), None), []);
    let steady = [(0, 8.3, Some(40.0), None), (60, 8.3, Some(40.0), None)];
    assert_eq!(objections(&steady, None), []);
    let warming = [(0, 29.0, Some(40.0), None), (60, 29.8, Some(40.0), None)];
    assert_eq!(objections(&warming, None), [], "the trend counts on the cold side alone");
}

#[test]
fn air_that_cools_towards_the_dew_point_forbids_a_coat() {
    // At 16 °C and 70 % the dew point is 10.5 °C: a margin of 5.5 K, of which 3 K is left after 2.5 h.
    let falling = [(0, 17.0, Some(65.7), None), (60, 16.0, Some(70.0), None)];
    let found = objections(&falling, None);
    assert!(matches!(found[..], [("dew_margin", 120..=180)]), "{found:?}");
}

#[test]
fn a_measured_surface_out_of_the_limits_forbids_a_coat_and_a_followed_one_does_not() {
    let surface = |air: f64, surface| objections(&[(0, air, Some(20.0), surface)], None);
    assert_eq!(surface(10.0, Some(3.0)), [("surface_too_cold", 0)]);
    assert_eq!(surface(28.0, Some(45.0)), [("surface_too_warm", 0)]);
    assert_eq!(surface(10.0, Some(8.0)), []);
    assert_eq!(surface(10.0, None), []);
    // The surface follows the air from 4 °C and is still colder than 8 °C.
    let followed = [(0, 4.0, Some(20.0), None), (60, 10.0, Some(20.0), None)];
    assert_eq!(objections(&followed, None), []);
}

#[test]
fn the_dew_margin_is_that_of_the_measured_surface() {
    assert_eq!(objections(&[(0, 20.0, Some(60.0), Some(14.0))], None), [("dew_margin", 0)]);
    assert_eq!(objections(&[(0, 20.0, Some(60.0), None)], None), []);
}

#[test]
fn an_old_humidity_is_a_caution_of_its_own_and_still_counts_where_it_forbids() {
    let old = Some(TimeDelta::hours(20));
    assert_eq!(objections(&[(0, 20.0, None, None)], None), [("no_humidity", 0)]);
    assert_eq!(objections(&[(0, 20.0, None, None)], old), [("humidity_old", 0)]);
    assert_eq!(objections(&[(0, 20.0, Some(50.0), None)], old), [("humidity_old", 0)]);
    assert_eq!(objections(&[(0, 20.0, Some(88.0), None)], old).first(), Some(&("too_damp", 0)));
    assert!(!Objection::HumidityOld(TimeDelta::hours(20)).forbids());
}

#[test]
fn without_a_reading_there_is_no_other_objection() {
    assert_eq!(objections(&[], None), [("no_reading", 0)]);
}

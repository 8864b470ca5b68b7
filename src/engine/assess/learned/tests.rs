use super::*;
use crate::engine::air::OutdoorHour;
use crate::engine::units::{Celsius, Humidity};
use crate::testing::{Bench, at};

const SCHEME: &str = r#"
name = "Hut"
[[area]]
name = "roof"
square_metres = 5
minutes_per_square_metre = 6
steps = []
[[area]]
name = "sill"
square_metres = 0.5
steps = []
[[area]]
name = "oar"
steps = []
"#;

fn learned(bench: &Bench, now: i64) -> Learned {
    match Learned::from(&bench.entries(), &Library::built_in(), bench, &Config::default(), at(now)) {
        Ok(learned) => learned,
        Err(never) => match never {},
    }
}

#[test]
fn the_pace_is_the_middle_of_the_coats_by_the_square_metre() {
    let bench = Bench::steady(20.0, 9000)
        .scheme(SCHEME)
        .coat("roof", "varnish-two-part", 0, 20)
        .coat("roof", "varnish-two-part", 240, 265)
        .coat("roof", "primer-two-part", 3000, 3040)
        .coat("sill", "varnish-two-part", 300, 306)
        .coat("oar", "varnish-two-part", 400, 410)
        .coat("roof", "varnish-two-part", 6000, 6000)
        .coat("sill", "varnish-two-part", 6000, 7000);
    let learned = learned(&bench, 9000);
    let told = |paces: &[Pace]| -> Vec<(String, usize, i64)> {
        paces.iter().map(|pace| (pace.name.clone(), pace.coats, pace.square_metre.num_seconds())).collect()
    };
    assert_eq!(told(&learned.areas), [("roof".into(), 3, 300), ("sill".into(), 1, 720)]);
    assert_eq!(learned.areas[0].planned, Some(TimeDelta::minutes(6)));
    assert_eq!(learned.areas[1].planned, None);
    // 4 and 5 min on the roof, 12 on the sill.
    assert_eq!(
        told(&learned.products),
        [("varnish-two-part".into(), 3, 300), ("primer-two-part".into(), 1, 480)]
    );
}

#[test]
fn without_coats_nothing_is_learned() {
    assert_eq!(learned(&Bench::steady(20.0, 100), 100), Learned::default());
}

#[test]
fn in_a_steady_shop_the_windows_come_as_expected() {
    let bench = Bench::steady(20.0, 3000).coat("roof", "varnish-two-part", 0, 20);
    let windows = learned(&bench, 3000).windows;
    assert_eq!(
        windows.iter().map(|window| window.stage).collect::<Vec<_>>(),
        [Stage::RecoatOpen, Stage::RecoatClose]
    );
    for window in &windows {
        assert!(window.late_by().abs() < TimeDelta::seconds(2) && window.is_inside(), "{window:?}");
    }
    assert_eq!(learned(&bench, 30).windows, [], "what has not come is not counted");
}

#[test]
fn in_a_shop_that_cools_they_come_later_than_expected() {
    let mut bench = Bench::steady(20.0, 20);
    for minutes in (30..=3000).step_by(10) {
        bench = bench.reading(minutes, 14.0);
    }
    let windows = learned(&bench.coat("roof", "varnish-two-part", 0, 20), 3000).windows;
    assert!(windows[0].late_by() > TimeDelta::minutes(30), "{windows:?}");
    assert!(!windows[0].is_inside());
}

#[test]
fn a_shop_is_known_by_its_readings_beside_the_outdoors() {
    // A place that follows the outdoors with a lag of three hours, and ends up 2 K warmer: its answer to a
    // sine, in closed form.
    let omega = std::f64::consts::TAU / 24.0;
    let (lag, swing) = (3.0, 6.0);
    let gain = 1.0 / (1.0 + (omega * lag) * (omega * lag)).sqrt();
    let phase = (omega * lag).atan();
    let mut bench = Bench::default().scheme(SCHEME);
    for minutes in (-14_400..=14_400).step_by(60) {
        let hours = minutes as f64 / 60.0;
        bench = bench.reading(minutes, 12.0 + swing * gain * (omega * hours - phase).sin());
        bench = bench.outdoor_hour(OutdoorHour {
            at: at(minutes),
            air: Celsius::new(10.0 + swing * (omega * hours).sin()),
            humidity: Some(Humidity::from_fraction(0.6)),
            rain: None,
            wind: None,
        });
    }
    let learned = learned(&bench.coat("roof", "varnish-two-part", 0, 20), 14_400);
    let model = learned.places[0].model.as_ref().unwrap();
    assert!((model.shop().tau().as_seconds_f64() / 3600.0 - lag).abs() < 0.2, "{:?}", model.shop());
    assert!((model.shop().gain().kelvin() - 2.0).abs() < 0.2, "{:?}", model.shop());
}

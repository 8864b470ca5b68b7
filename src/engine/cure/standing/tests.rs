use super::super::{Outlook, Reading};
use super::*;
use crate::engine::profile::{Library, Origin, read_profile};
use crate::engine::units::Humidity;

const VARNISH: &str = r#"
schema = 1
id = "test-varnish"
name = "Test varnish"
family = "polyurethane"
cure = "reaction"
basis = "invented for a test"
[application]
air = [8, 30]
stall_below = 4
[stages]
tack_free = [{ at = 10, time = "8 h" }, { at = 20, time = "4 h" }]
sandable = [{ at = 10, time = "30 h" }, { at = 20, time = "16 h" }]
full_cure = [{ at = 10, time = "12 d" }, { at = 20, time = "7 d" }]
[[recoat]]
next = ["polyurethane"]
open = [{ at = 10, time = "4 h" }, { at = 20, time = "2 h" }]
close = [{ at = 10, time = "20 h" }, { at = 20, time = "10 h" }]
"#;

fn varnish() -> Product {
    read_profile(VARNISH, Origin::BuiltIn).unwrap()
}

fn at(hours: f64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::milliseconds((hours * 3_600_000.0) as i64)
}

fn shop(readings: &[(f64, f64)]) -> History {
    let readings = readings.iter().map(|&(hours, air)| Reading {
        at: at(hours),
        air: Celsius::new(air),
        humidity: None,
        surface: None,
    });
    History::new(readings, Outlook::default())
}

fn standing(last_stroke: Option<f64>, next: bool, history: &History, now: f64) -> Standing {
    let varnish = varnish();
    let coat = CoatFacts {
        first_stroke: at(0.0),
        last_stroke: last_stroke.map(at),
        product: &varnish,
        next: next.then_some(&varnish),
    };
    Standing::calculate(coat, history, at(now))
}

/// A shop at 20 °C with a reading every hour for a month: only the thermometer's error is left.
fn steady() -> History {
    shop(&(0..720).map(|hour| (f64::from(hour), 20.0)).collect::<Vec<_>>())
}

#[test]
fn the_window_opens_after_the_last_stroke_and_closes_after_the_first() {
    let standing = standing(Some(1.0), true, &steady(), 1.0);
    let (open, close) =
        (standing.stage(Stage::RecoatOpen).unwrap(), standing.stage(Stage::RecoatClose).unwrap());
    assert_eq!(open.at, Some(at(3.0)));
    assert_eq!(close.at, Some(at(10.0)));
    assert!(open.earliest < open.at && open.at < open.latest);
    assert!(close.earliest < close.at && close.at < close.latest);
}

#[test]
fn the_phases_follow_each_other_on_the_safe_side() {
    let history = steady();
    let phase = |now| standing(Some(0.0), true, &history, now).phase;
    assert_eq!(phase(1.9), Phase::Wet);
    assert_eq!(phase(2.05), Phase::Wet, "open counts at its latest");
    assert_eq!(phase(2.3), Phase::Open);
    assert_eq!(phase(9.9), Phase::Shut, "closed counts at its earliest");
    assert_eq!(phase(15.9), Phase::Shut);
    assert_eq!(phase(17.5), Phase::Sandable);
    assert_eq!(phase(200.0), Phase::Cured);
}

#[test]
fn where_the_profile_is_silent_the_film_is_wet_then_sandable_then_cured() {
    let history = steady();
    let library = Library::built_in();
    let (varnish, other) = (varnish(), library.get("oil-penetrating").unwrap());
    let at_hour = |now| {
        let coat = CoatFacts {
            first_stroke: at(0.0),
            last_stroke: Some(at(0.0)),
            product: &varnish,
            next: Some(other),
        };
        Standing::calculate(coat, &history, at(now))
    };
    assert!(at_hour(1.0).silent);
    assert_eq!(at_hour(12.0).phase, Phase::Wet);
    assert_eq!(at_hour(18.0).phase, Phase::Sandable);
    assert_eq!(at_hour(200.0).phase, Phase::Cured);
}

#[test]
fn a_coat_still_being_applied_is_wet_and_its_minimum_times_are_not_before() {
    let standing = standing(None, true, &steady(), 5.0);
    assert_eq!(standing.phase, Phase::Wet);
    let open = standing.stage(Stage::RecoatOpen).unwrap();
    assert!(open.not_before);
    assert_eq!(open.at, Some(at(7.0)));
    assert_eq!(standing.stage(Stage::RecoatClose).unwrap().at, Some(at(10.0)));
}

#[test]
fn without_a_reading_the_film_counts_as_wet_and_has_no_times() {
    let standing = standing(Some(0.0), true, &shop(&[]), 100.0);
    assert_eq!(standing.phase, Phase::Wet);
    assert!(standing.stages.iter().all(|(_, r)| r.at.is_none() && r.latest.is_none() && r.assumed));
}

#[test]
fn a_moment_after_the_last_reading_is_assumed() {
    let history = shop(&[(0.0, 20.0), (2.0, 20.0), (4.0, 20.0)]);
    let standing = standing(Some(0.0), true, &history, 4.0);
    assert!(!standing.stage(Stage::RecoatOpen).unwrap().assumed);
    assert!(standing.stage(Stage::RecoatClose).unwrap().assumed);
}

#[test]
fn a_moment_that_depends_on_a_gap_of_more_than_two_hours_is_assumed() {
    let opens = |gap: f64| {
        let history = shop(&[(-9.0, 20.0), (0.0, 20.0), (gap, 20.0), (3.9, 20.0), (5.8, 20.0)]);
        *standing(Some(0.0), true, &history, 5.8).stage(Stage::RecoatOpen).unwrap()
    };
    let (read, gap) = (opens(2.0), opens(2.0 + 1.0 / 3600.0));
    assert!(!read.assumed, "the gap before the coat does not count, nor one of two hours");
    assert!(gap.assumed);
    assert!(gap.earliest < read.earliest && gap.latest > read.latest && gap.at == read.at);
}

#[test]
fn one_reading_an_evening_leaves_the_night_uncertain() {
    let evenings = |hours: &[f64]| {
        let history = shop(&hours.iter().map(|hour| (*hour, 15.0)).collect::<Vec<_>>());
        let times = *standing(Some(0.0), true, &history, 24.0).stage(Stage::Sandable).unwrap();
        (times.latest.unwrap() - times.earliest.unwrap()).num_minutes()
    };
    let hourly: Vec<f64> = (0..50).map(f64::from).collect();
    assert!(evenings(&[0.0, 24.0, 48.0]) > 2 * evenings(&hourly));
}

const ALKYD: &str = r#"
schema = 1
id = "test-alkyd"
name = "Test alkyd"
family = "alkyd"
cure = "drying"
basis = "invented for a test"
[application]
air = [8, 30]
[stages]
full_cure = [{ at = 20, time = "7 d" }]
[[recoat]]
next = ["alkyd"]
open = [{ at = 20, time = "16 h" }]
close = [{ at = 20, time = "48 h" }]
wash = true
"#;

fn alkyd(readings: &[(f64, Option<f64>)], measured_until: Option<f64>) -> Standing {
    let alkyd = read_profile(ALKYD, Origin::BuiltIn).unwrap();
    let readings = readings.iter().map(|&(hours, humidity)| Reading {
        at: at(hours),
        air: Celsius::new(20.0),
        humidity: humidity.map(Humidity::from_fraction),
        surface: None,
    });
    let history = History::new(readings, Outlook::default());
    let history = history.with_humidity_measured_until(measured_until.map(at));
    let coat =
        CoatFacts { first_stroke: at(0.0), last_stroke: Some(at(0.0)), product: &alkyd, next: Some(&alkyd) };
    Standing::calculate(coat, &history, at(0.5))
}

#[test]
fn the_last_humidity_before_the_coat_counts() {
    let opens = |readings: &[(f64, Option<f64>)]| {
        alkyd(readings, None).stage(Stage::RecoatOpen).unwrap().at.map(|at| at.timestamp() / 3600)
    };
    // 16 h at 50 % are 40 h at 80 %: h = (1 − 0.8) / (1 − 0.5).
    assert_eq!(opens(&[(-1.5, Some(0.8)), (-0.5, None)]), Some(40));
    assert_eq!(opens(&[(-1.5, None), (-0.5, None)]), Some(16));
    assert!(alkyd(&[(-1.5, None)], None).humidity_unknown);
    assert!(!alkyd(&[(-1.5, Some(0.8)), (-0.5, None)], None).humidity_unknown);
}

#[test]
fn a_humidity_that_is_older_than_the_last_reading_has_a_larger_error() {
    let width = |measured_until: Option<f64>| {
        let readings = [(-4.0, Some(0.6)), (-2.0, Some(0.6)), (0.0, Some(0.6)), (2.0, Some(0.6))];
        let times = *alkyd(&readings, measured_until).stage(Stage::RecoatOpen).unwrap();
        times.latest.zip(times.earliest).map(|(latest, earliest)| latest - earliest)
    };
    assert!(width(Some(-4.0)) > width(Some(0.0)) && width(Some(0.0)) > width(None));
    assert_eq!(width(Some(2.0)), width(None));
}

#[test]
fn dry_air_moves_a_closing_time_forward_and_no_opening() {
    let hours = |humidity: f64, stage| {
        let readings: Vec<_> = (0..100).map(|hour| (f64::from(hour), Some(humidity))).collect();
        let at = alkyd(&readings, None).stage(stage).unwrap().at.unwrap();
        (at.timestamp() as f64 / 360.0).round() / 10.0
    };
    assert_eq!([hours(0.5, Stage::RecoatOpen), hours(0.2, Stage::RecoatOpen)], [16.0, 16.0]);
    assert_eq!([hours(0.5, Stage::RecoatClose), hours(0.2, Stage::RecoatClose)], [48.0, 30.0]);
    assert_eq!([hours(0.5, Stage::FullCure), hours(0.2, Stage::FullCure)], [168.0, 168.0]);
}

#[test]
fn the_wash_that_the_window_requires_is_still_to_be_done() {
    assert!(alkyd(&[(0.0, Some(0.5))], None).wash);
    assert!(!standing(Some(0.0), true, &steady(), 1.0).wash);
}

#[test]
fn a_coat_from_before_the_first_reading_has_assumed_times() {
    let standing = standing(Some(0.0), true, &shop(&[(1.0, 20.0), (9.0, 20.0)]), 9.0);
    assert!(standing.stage(Stage::RecoatOpen).unwrap().assumed);
}

#[test]
fn a_cold_beyond_the_data_sheet_is_extrapolated() {
    let warm = standing(Some(0.0), true, &shop(&[(0.0, 15.0)]), 1.0);
    let cold = standing(Some(0.0), true, &shop(&[(0.0, 9.0)]), 1.0);
    assert!(!warm.stage(Stage::RecoatOpen).unwrap().extrapolated);
    assert!(cold.stage(Stage::RecoatOpen).unwrap().extrapolated);
    for (air, extrapolated) in [(10.0, false), (20.0, false), (20.1, true)] {
        let standing = standing(Some(0.0), true, &shop(&[(0.0, air)]), 1.0);
        assert_eq!(standing.stage(Stage::RecoatOpen).unwrap().extrapolated, extrapolated, "{air} °C");
    }
}

#[test]
fn a_film_that_stalls_in_the_cold_never_opens() {
    let standing = standing(Some(0.0), true, &shop(&[(0.0, 3.0)]), 10.0);
    assert!(standing.stalled);
    assert_eq!(standing.stage(Stage::RecoatOpen).unwrap().at, None);
    assert_eq!(standing.phase, Phase::Wet);
}

#[test]
fn a_film_that_has_cured_does_not_stall_in_the_cold() {
    let mut readings: Vec<(f64, f64)> = (0..300).map(|hour| (f64::from(hour), 20.0)).collect();
    readings.push((300.0, 2.0));
    let cured = standing(Some(0.0), true, &shop(&readings), 300.0);
    assert_eq!((cured.phase, cured.stalled), (Phase::Cured, false));
}

#[test]
fn a_day_without_readings_is_shown() {
    let standing = standing(Some(0.0), true, &shop(&[(0.0, 15.0), (30.0, 15.0)]), 31.0);
    assert_eq!(standing.gap, Some((at(0.0), at(30.0))));
}

#[test]
fn a_gap_after_full_cure_is_not_shown() {
    let mut readings: Vec<(f64, f64)> = (0..300).map(|hour| (f64::from(hour), 20.0)).collect();
    readings.push((340.0, 20.0));
    let cured = standing(Some(0.0), true, &shop(&readings), 340.0);
    assert_eq!((cured.phase, cured.gap), (Phase::Cured, None));
}

#[test]
fn the_last_call_leaves_the_time_to_coat_and_the_lead() {
    let call = last_call(at(10.0), TimeDelta::minutes(45), TimeDelta::minutes(15));
    assert_eq!(call, at(9.0));
}

#[test]
fn the_next_change_is_the_next_phase_and_its_moment() {
    let history = steady();
    let fresh = standing(Some(0.0), true, &history, 0.0);
    let (opens, phase) = fresh.next_change(at(0.0)).unwrap();
    assert_eq!(phase, Phase::Open);
    assert!(opens > at(2.0) && opens < at(2.5));
    assert_eq!(fresh.next_change(at(10_000.0)), None);
}

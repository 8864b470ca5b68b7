//! The surface that lags the air: against SciPy, and against the closed forms of step, ramp and sine.

use chrono::TimeDelta;
use curewright::engine::air::{SurfaceLine, surface_at};
use curewright::engine::cure::Reading;
use curewright::engine::units::Celsius;
use serde::Deserialize;

use super::lines::{after, assert_near, reading};

#[derive(Debug, Deserialize)]
struct Case {
    name: String,
    lag_s: i64,
    air: Vec<(f64, f64)>,
    followed: Vec<(f64, f64)>,
}

/// Source: scipy.signal.lsim, `lag.json`, exact for air that runs straight between its readings.
#[test]
fn the_surface_is_where_lsim_has_it() {
    let cases: Vec<Case> = serde_json::from_str(include_str!("../../reference/lag.json")).unwrap();
    let mut worst = 0.0_f64;
    for case in &cases {
        let readings: Vec<_> =
            case.air.iter().map(|&(seconds, air)| reading(seconds / 3600.0, air, None)).collect();
        let lag = TimeDelta::seconds(case.lag_s);
        let line = SurfaceLine::new(&readings, lag);
        for &(seconds, expected) in &case.followed {
            let at = after(seconds / 3600.0);
            let found = line.at(at).unwrap().degrees();
            let alone = surface_at(&readings, lag, at).unwrap().degrees();
            worst = worst.max((found - expected).abs()).max((alone - expected).abs());
            assert_near(found, expected, 1e-9, &case.name);
            assert_near(alone, expected, 1e-9, &case.name);
        }
    }
    println!("{} cases, worst {worst:.1e} K", cases.len());
    assert!(cases.len() >= 7);
}

const HOUR: TimeDelta = TimeDelta::hours(1);

fn surface(readings: &[Reading], lag: TimeDelta, hours: f64) -> f64 {
    surface_at(readings, lag, after(hours)).unwrap().degrees()
}

/// Source: closed form, Ts = 20 − 10·exp(−t/lag), after a cold piece was brought into a warm room.
#[test]
fn a_cold_piece_in_a_warm_room_comes_up_exponentially() {
    let brought_in = Reading { surface: Some(Celsius::new(10.0)), ..reading(0.0, 20.0, None) };
    let readings = [brought_in, reading(9.0, 20.0, None)];
    for hours in [0.0_f64, 0.25, 1.0, 2.5, 8.9, 12.0] {
        let expected = 20.0 - 10.0 * (-hours / 1.5).exp();
        assert_near(surface(&readings, HOUR * 3 / 2, hours), expected, 1e-9, &format!("{hours} h"));
    }
}

/// Source: closed form for air that rises by s an hour: Ts = s·(t − lag·(1 − exp(−t/lag))).
#[test]
fn in_warming_air_the_surface_lags_by_slope_times_lag() {
    let readings = [reading(0.0, 0.0, None), reading(10.0, 20.0, None)];
    for hours in [0.5_f64, 3.0, 10.0] {
        let expected = 2.0 * (hours - (1.0 - (-hours).exp()));
        assert_near(surface(&readings, HOUR, hours), expected, 1e-9, &format!("{hours} h"));
    }
    assert_near(surface(&readings, HOUR, 10.0), 18.0, 1e-3, "two kelvin an hour, an hour of lag");
}

/// Source: closed form of the settled response to a sine: gain 1/√(1 + ω²τ²), lag atan(ωτ)/ω.
#[test]
fn a_daily_swing_arrives_smaller_and_later() {
    let turn = std::f64::consts::TAU / 24.0;
    let readings: Vec<_> =
        (0..=7 * 1440).map(|m| f64::from(m) / 60.0).map(|h| reading(h, (turn * h).sin(), None)).collect();
    for lag in [0.25, 1.0, 3.0] {
        let (gain, late) = ((turn * lag).hypot(1.0).recip(), (turn * lag).atan() / turn);
        for hours in [121.0, 130.5, 137.25, 143.0] {
            let expected = gain * (turn * (hours - late)).sin();
            let found = surface(&readings, TimeDelta::minutes((lag * 60.0) as i64), hours);
            assert_near(found, expected, 2e-6, &format!("lag of {lag} h after {hours} h"));
        }
    }
}

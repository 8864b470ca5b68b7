//! Limits in which the answer is known in closed form.

use chrono::TimeDelta;
use curewright::engine::cure::AirLine;
use curewright::engine::units::Celsius;

use super::{cup, kinetics, steady, tray};

#[test]
fn a_batch_that_does_not_warm_itself_is_usable_as_long_as_the_arrhenius_line_says() {
    let cold = kinetics(&[(20.0, 7200.0)], 50.0, 0.0);
    let gas = 8.314_462_618_f64;
    for celsius in [5.0, 12.0, 20.0, 33.0] {
        let closed = 7200.0 * (50_000.0 / gas * (1.0 / (celsius + 273.15) - 1.0 / 293.15)).exp();
        for portion in [cup(50.0), cup(5000.0), tray(900.0, 12.0)] {
            let found = cold.self_heating(&portion, &steady(celsius)).unwrap().usable.as_seconds_f64();
            assert!((found / closed - 1.0).abs() < 1e-9, "{found} s for {closed} s at {celsius} °C");
        }
    }
}

#[test]
fn the_thinner_the_tray_the_nearer_to_a_batch_that_does_not_warm_itself() {
    let warm = kinetics(&[(10.0, 5400.0), (20.0, 2400.0), (30.0, 1200.0)], 51.2, 60.0);
    let mut before = f64::INFINITY;
    for millimetres in [30.0, 3.0, 0.3, 0.03] {
        let found =
            warm.self_heating(&tray(300.0, millimetres), &steady(20.0)).unwrap().usable.as_seconds_f64();
        let off = 1.0 - found / 2400.0;
        assert!(off > 0.0 && off < before, "{millimetres} mm: {off}");
        before = off;
    }
    // τ·W·E/(R·T²) over the working life, to first order.
    let first_order = 0.03 * 128.0 * 60.0 / 2400.0 / 14.0;
    assert!(before < 1.2 * first_order, "{before} for {first_order}");
}

/// ∫exp(−E/RT) dT in closed form by the exponential integral: a ramp from 5 to 35 °C in 10 h is worth
/// 12.550661637337 h at 20 °C for 60 kJ/mol. Computed, and stated beside `tests/reference/coats.json`.
#[test]
fn a_thin_film_on_a_ramp_is_through_as_the_closed_form_says() {
    let film = kinetics(&[(20.0, 12.550_661_637_337 * 3600.0)], 60.0, 30.0);
    let ramp = [(0, 5.0), (10, 35.0)].map(|(hours, at)| (TimeDelta::hours(hours), Celsius::new(at)));
    let self_heating = film.self_heating(&tray(300.0, 0.001), &AirLine::through(ramp).unwrap()).unwrap();
    let hours = self_heating.usable.as_seconds_f64() / 3600.0;
    assert!((hours / 10.0 - 1.0).abs() < 2e-5, "{hours} h");
}

#[test]
fn a_batch_that_loses_no_heat_warms_by_its_whole_w() {
    let hot = kinetics(&[(20.0, 60.0)], 40.0, 45.0);
    let self_heating = hot.self_heating(&cup(1e9), &steady(20.0)).unwrap();
    assert!((self_heating.at_end.degrees() - 65.0).abs() < 0.01, "{:?}", self_heating.at_end);
}

/// T_air + (T₀ − T_air)·exp(−t/τ): a batch that hardly reacts cools as Newton says.
#[test]
fn a_warm_batch_cools_by_newtons_law() {
    let slow = kinetics(&[(20.0, 20.0 * 3600.0)], 0.001, 0.0);
    let portion = curewright::engine::pot::Portion { temperature: Some(Celsius::new(40.0)), ..cup(800.0) };
    let self_heating = slow.self_heating(&portion, &steady(10.0)).unwrap();
    assert!((self_heating.peak.degrees() - 40.0).abs() < 1e-9);
    let newton = 10.0 + 30.0 * (-self_heating.usable.as_seconds_f64() / (52.0 * 60.0)).exp();
    assert!((self_heating.at_end.degrees() - newton).abs() < 1e-6, "{:?} for {newton}", self_heating.at_end);
}

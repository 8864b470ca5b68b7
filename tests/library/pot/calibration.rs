//! Calibrations against `scipy.optimize` on SciPy's own integration. Source: `tests/reference/pots.json`.

use curewright::engine::pot::{Kinetics, Warmth};
use curewright::engine::units::{Celsius, KelvinDelta};
use serde::Deserialize;

use super::{cup, energy, minutes, pot_life};

#[derive(Deserialize)]
struct File {
    calibrations: Vec<One>,
    fits: Vec<Two>,
}

#[derive(Deserialize)]
struct One {
    mass_g: f64,
    table: Vec<(f64, f64)>,
    warming_k: f64,
    life: Vec<(f64, f64)>,
}

#[derive(Deserialize)]
struct Two {
    mass_g: f64,
    table: Vec<(f64, f64)>,
    other_mass_g: f64,
    other_table: Vec<(f64, f64)>,
    warming_k: f64,
    life: Vec<(f64, f64)>,
}

const ENERGY: f64 = 51.2;

fn file() -> File {
    serde_json::from_str(include_str!("../../reference/pots.json")).unwrap()
}

#[track_caller]
fn assert_life(kinetics: &Kinetics, life: &[(f64, f64)], relative: f64) {
    for &(at, seconds) in life {
        let off = (kinetics.seconds_at(Celsius::new(at)) / seconds - 1.0).abs();
        assert!(off < relative, "at {at} °C the working life is {off:e} off");
    }
}

#[test]
fn the_rates_are_those_that_another_root_finder_finds() {
    for one in file().calibrations {
        let lives = [pot_life(one.mass_g, &one.table, ENERGY)];
        let kinetics = Kinetics::calibrate(&lives, energy(ENERGY), KelvinDelta::new(one.warming_k)).unwrap();
        assert_eq!(kinetics.warmth(), Warmth::Usual);
        assert_life(&kinetics, &one.life, 1e-7);
    }
}

#[test]
fn two_masses_give_the_same_self_warming() {
    for two in file().fits {
        let lives =
            [pot_life(two.other_mass_g, &two.other_table, ENERGY), pot_life(two.mass_g, &two.table, ENERGY)];
        let kinetics = Kinetics::calibrate(&lives, energy(ENERGY), KelvinDelta::new(60.0)).unwrap();
        let off = (kinetics.warming().kelvin() - two.warming_k).abs();
        assert!(off < 1e-4, "{} K is {off} off", two.warming_k);
        assert_life(&kinetics, &two.life, 1e-5);
    }
}

/// Source: a feeling figure that was computed apart from this program, E = 50 kJ/mol, W = 60 K, 26 min at 100 g.
#[test]
fn a_hundred_grams_of_twenty_minutes_at_25_degrees() {
    let lives = [pot_life(100.0, &[(25.0, 20.0 * 60.0)], 50.0)];
    let kinetics = Kinetics::calibrate(&lives, energy(50.0), KelvinDelta::new(60.0)).unwrap();
    for (at, expected) in [(10.0, 75.8), (15.0, 45.2), (20.0, 29.3), (25.0, 20.0), (30.0, 14.1)] {
        let found = minutes(&kinetics, &cup(100.0), at);
        assert!((found - expected).abs() < 0.06, "{found} min at {at} °C");
    }
    let kilogram = kinetics.self_heating(&cup(1000.0), &super::steady(20.0)).unwrap();
    assert!((kilogram.usable.as_seconds_f64() / 60.0 - 25.7).abs() < 0.06, "{:?}", kilogram.usable);
    assert!((kilogram.peak.degrees() - 73.0).abs() < 0.6, "{:?}", kilogram.peak);
}

#[test]
fn tables_that_no_batch_that_warms_itself_has_are_said_to_be_none() {
    // As long at 30 °C as at 20 °C, in a pot that would warm by far more than that.
    let flat = pot_life(5000.0, &[(20.0, 1800.0), (21.0, 1800.0), (22.0, 900.0)], ENERGY);
    let kinetics = Kinetics::calibrate(&[flat], energy(ENERGY), KelvinDelta::new(200.0)).unwrap();
    if kinetics.warmth() != Warmth::None {
        assert!((minutes(&kinetics, &cup(5000.0), 20.0) - 30.0).abs() < 1e-3);
    }
    assert_eq!(Kinetics::calibrate(&[], energy(ENERGY), KelvinDelta::new(60.0)), None);
}

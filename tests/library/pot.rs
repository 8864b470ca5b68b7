//! The pot against numbers from outside: batches that SciPy integrated, closed forms, critical values of
//! thermal explosion, an autocatalytic cure, the pot lives of a specification. Every check names its source.

mod batches;
mod calibration;
mod critical;
mod limits;
mod products;
mod properties;
mod solver;

use chrono::TimeDelta;
use curewright::engine::cure::AirLine;
use curewright::engine::pot::{Kinetics, Portion, Vessel};
use curewright::engine::profile::{Point, PotLife, TimeTable};
use curewright::engine::units::{ActivationEnergy, Celsius, Grams, KelvinDelta, Millimetres};

fn energy(kilojoules_per_mole: f64) -> ActivationEnergy {
    ActivationEnergy::from_kilojoules_per_mole(kilojoules_per_mole)
}

/// Kinetics by working lives without warming: (°C, seconds).
fn kinetics(life: &[(f64, f64)], kilojoules_per_mole: f64, warming: f64) -> Kinetics {
    let life: Vec<_> = life.iter().map(|&(at, seconds)| (Celsius::new(at), seconds)).collect();
    Kinetics::new(&life, energy(kilojoules_per_mole), KelvinDelta::new(warming)).unwrap()
}

/// Pot lives of a portion: (°C, seconds).
fn pot_life(grams: f64, table: &[(f64, f64)], kilojoules_per_mole: f64) -> PotLife {
    let point = |&(at, seconds): &(f64, f64)| Point {
        at: Celsius::new(at),
        time: TimeDelta::milliseconds((seconds * 1000.0).round() as i64),
    };
    let points = table.iter().map(point).collect();
    PotLife { mass: Grams::new(grams), times: TimeTable::new(points, energy(kilojoules_per_mole)).unwrap() }
}

fn cup(grams: f64) -> Portion {
    Portion { mass: Grams::new(grams), vessel: Vessel::Cup, temperature: None }
}

fn tray(grams: f64, millimetres: f64) -> Portion {
    Portion { vessel: Vessel::Tray { depth_mm: Millimetres::new(millimetres) }, ..cup(grams) }
}

fn steady(celsius: f64) -> AirLine {
    AirLine::steady(Celsius::new(celsius))
}

/// How many minutes a portion is usable in steady air.
fn minutes(kinetics: &Kinetics, portion: &Portion, celsius: f64) -> f64 {
    kinetics.self_heating(portion, &steady(celsius)).unwrap().usable.as_seconds_f64() / 60.0
}

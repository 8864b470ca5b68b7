//! Batches against `scipy.integrate.solve_ivp`: sixty masses, vessels, temperatures, in steady air, on ramps, over
//! days and through irregular readings. Source: `tests/reference/pots.json`.

use curewright::engine::cure::AirLine;
use curewright::engine::pot::{Portion, Vessel};
use curewright::engine::units::{Celsius, Grams, Millimetres};
use serde::Deserialize;

use super::kinetics;

#[derive(Deserialize)]
struct File {
    batches: Vec<Batch>,
}

#[derive(Deserialize)]
struct Batch {
    life: Vec<(f64, f64)>,
    activation_energy: f64,
    warming_k: f64,
    mass_g: f64,
    depth_mm: Option<f64>,
    start_c: Option<f64>,
    air: Vec<(f64, f64)>,
    usable_s: f64,
    peak_c: f64,
    at_end_c: f64,
    outruns_s: Option<f64>,
    left_c: f64,
}

/// The time relative, and a temperature in kelvin: what the integration may be off.
const TIME: f64 = 3e-9;
const KELVIN: f64 = 1e-6;
/// A peak inside a step comes from the dense output, which is of one order less.
const KELVIN_INSIDE: f64 = 5e-3;

#[test]
fn sixty_batches_are_as_another_solver_has_them() {
    let file: File = serde_json::from_str(include_str!("../../reference/pots.json")).unwrap();
    assert!(file.batches.len() >= 40);
    let mut worst = (0.0f64, 0.0f64, 0.0f64);
    for (number, batch) in file.batches.iter().enumerate() {
        let kinetics = kinetics(&batch.life, batch.activation_energy, batch.warming_k);
        let vessel = batch.depth_mm.map_or(Vessel::Cup, |mm| Vessel::Tray { depth_mm: Millimetres::new(mm) });
        let temperature = batch.start_c.map(Celsius::new);
        let portion = Portion { mass: Grams::new(batch.mass_g), vessel, temperature };
        let points = batch
            .air
            .iter()
            .map(|&(s, c)| (chrono::TimeDelta::milliseconds((s * 1e3) as i64), Celsius::new(c)));
        let self_heating = kinetics.self_heating(&portion, &AirLine::through(points).unwrap()).unwrap();
        let off = (self_heating.usable.as_seconds_f64() / batch.usable_s - 1.0).abs();
        let end = (self_heating.at_end.degrees() - batch.at_end_c).abs();
        let peaks = (self_heating.peak.degrees() - batch.peak_c)
            .abs()
            .max((self_heating.left.degrees() - batch.left_c).abs());
        worst = (worst.0.max(off), worst.1.max(end), worst.2.max(peaks));
        assert!(off < TIME, "batch {number}: {off:e} of the time off");
        assert!(end < KELVIN, "batch {number}: {end:e} K off at the end");
        assert!(peaks < KELVIN_INSIDE, "batch {number}: {peaks:e} K off at a peak");
        match (self_heating.outruns, batch.outruns_s) {
            (None, None) => {}
            (Some(found), Some(expected)) => {
                let off = (found.as_seconds_f64() - expected).abs();
                assert!(off < 0.01, "batch {number}: outruns its cooling {off} s off");
            }
            (found, expected) => panic!("batch {number}: outruns at {found:?}, not {expected:?}"),
        }
    }
    println!("worst: {:.1e} of the time, {:.1e} K at the end, {:.1e} K at a peak", worst.0, worst.1, worst.2);
}

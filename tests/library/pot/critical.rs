//! Where self-heating turns into running away: published critical values of the theory of thermal explosion.
//!
//! The batch of this program has one temperature and loses its heat at its surface: that is Semenov's case (Biot
//! number 0), and its critical value is checked on the batch itself. Frank-Kamenetskii's case, heat conducted
//! to a cold wall (Biot number ∞), is not this model: a real cup of a kilogram lies between the two, and its middle is
//! warmer than the model says. His values are checked on the solver alone. Both hold for a reaction that is not used
//! up, and for E much larger than R·T.

use curewright::engine::pot::ode::{Watch, follow};

use super::{cup, kinetics, steady};

/// E/(R·T) = 1000 at 20 °C, so that the approximation of the theory holds.
const REDUCED_ENERGY: f64 = 1000.0;
const KELVIN: f64 = 293.15;
const GAS: f64 = 8.314_462_618;
/// The time constant of 100 g in a cup.
const COOLING: f64 = 26.0 * 60.0;

/// A batch with ψ = W·k·τ·E/(R·T²), so large that hardly any of it is used: how many e-folds R·T²/E it warms, and
/// whether its heat outruns the cooling.
fn batch(psi: f64) -> (f64, bool) {
    let (warming, e_fold) = (300.0, KELVIN / REDUCED_ENERGY);
    let rate = psi * e_fold / (warming * COOLING);
    let energy = REDUCED_ENERGY * GAS * KELVIN / 1000.0;
    let self_heating =
        kinetics(&[(20.0, 1.0 / rate)], energy, warming).self_heating(&cup(100.0), &steady(20.0)).unwrap();
    ((self_heating.peak.degrees() - 20.0) / e_fold, self_heating.outruns.is_some())
}

/// Source, read: Semenov's criterion, ψ·e = 1, the batch then R·T²/E warmer than its air.
#[test]
fn a_batch_runs_away_from_semenovs_value_on() {
    let (mut calm, mut away) = (0.2, 0.6);
    for _ in 0..20 {
        let middle = f64::midpoint(calm, away);
        if batch(middle).1 { away = middle } else { calm = middle }
    }
    let critical = away * std::f64::consts::E;
    assert!((critical - 1.0).abs() < 3e-3, "ψ·e = {critical}");
    let (folds, _) = batch(calm);
    assert!((0.9..=1.01).contains(&folds), "{folds} e-folds just below");
    assert!(batch(away * 1.01).0 > 100.0, "just above it goes on to the end");
}

/// θ″ + (j/ξ)·θ′ + δ·e^θ = 0, θ′(0) = 0, θ(1) = 0 has a solution up to the critical δ. With u = θ − θ(0) on a scale of
/// its own, δ = ξ²·e^u: its greatest value is where ξ·u′ = −2, followed from the middle on.
fn frank_kamenetskii(j: f64) -> (f64, f64) {
    let start = 1e-3f64;
    // The series about the middle: u = −ξ²/(2(j+1)) + ξ⁴/(8(j+1)(j+3)).
    let u = -start.powi(2) / (2.0 * (j + 1.0)) + start.powi(4) / (8.0 * (j + 1.0) * (j + 3.0));
    let slope = -start / (j + 1.0) + start.powi(3) / (2.0 * (j + 1.0) * (j + 3.0));
    let past = |x: f64, y: &[f64; 2]| x * y[1] <= -2.0;
    let mut found = None;
    follow(
        |x, [u, slope]| [*slope, -u.exp() - j / x * slope],
        (start, [u, slope]),
        50.0,
        |step| {
            if past(step.to.0, &step.to.1) {
                let x = step.first(past);
                found = Some((x * x * step.at(x)[0].exp(), -step.at(x)[0]));
                return Watch::Stop;
            }
            Watch::On
        },
    );
    found.unwrap()
}

/// Source, read: D. A. Frank-Kamenetskii's values 0.88, 2 and 3.32; to more digits computed by SciPy:
/// 0.8784576798, 2, 3.3219921, the middle then warmer by 1.186842, ln 4 and 1.607457 e-folds.
#[test]
fn the_solver_finds_frank_kamenetskiis_values() {
    for (what, j, delta, middle) in [
        ("slab", 0.0, 0.878_457_679_8, 1.186_842),
        ("cylinder", 1.0, 2.0, 4f64.ln()),
        ("sphere", 2.0, 3.321_992_1, 1.607_457),
    ] {
        let found = frank_kamenetskii(j);
        assert!((found.0 - delta).abs() < 1e-6, "{what}: {}", found.0);
        assert!((found.1 - middle).abs() < 1e-5, "{what}: {}", found.1);
    }
}

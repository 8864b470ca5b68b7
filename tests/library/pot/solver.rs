//! The solver on an autocatalytic cure of the literature.

use curewright::engine::pot::ode::{Watch, follow};

/// Constants of a hot-curing resin: W. I. Lee, A. C. Loos and G. S. Springer, 1982 (attribution from memory; the
/// constants read). dα/dt = (K₁ + K₂α)(1 − α)(B − α) up to α = 0.3, K₃(1 − α) above; per minute, R = 8.314.
struct Resin {
    k: [f64; 3],
}

const B: f64 = 0.47;
const SWITCH: f64 = 0.3;

impl Resin {
    fn at(celsius: f64) -> Self {
        let rate = |a: f64, e: f64| a * (-e / (8.314 * (celsius + 273.15))).exp();
        Self { k: [rate(2.101e9, 8.07e4), rate(-2.014e9, 7.78e4), rate(1.960e5, 5.66e4)] }
    }

    /// When α = 0.3, and α at the given minutes.
    fn cure(&self, minutes: &[f64]) -> (f64, Vec<f64>) {
        let early = |_: f64, [a]: &[f64; 1]| [(self.k[0] + self.k[1] * a) * (1.0 - a) * (B - a)];
        let past = |_: f64, [a]: &[f64; 1]| *a >= SWITCH;
        let mut switch = f64::NAN;
        let before = |to: f64, seen: &mut f64| {
            follow(early, (0.0, [0.0]), to, |step| {
                if past(step.to.0, &step.to.1) {
                    *seen = step.first(past);
                    return Watch::Stop;
                }
                Watch::On
            })
            .unwrap()
        };
        before(1e4, &mut switch);
        let at = |minute: &f64| {
            if *minute <= switch {
                return before(*minute, &mut 0.0).1[0];
            }
            let late = |_: f64, [a]: &[f64; 1]| [self.k[2] * (1.0 - a)];
            follow(late, (switch, [SWITCH]), *minute, |_| Watch::On).unwrap().1[0]
        };
        (switch, minutes.iter().map(at).collect())
    }
}

/// Source: computed with SciPy from those constants, the switch located, to 1e-12.
#[test]
fn an_autocatalytic_cure_of_the_literature() {
    let minutes = [10.0, 30.0, 60.0, 120.0, 240.0];
    for (celsius, switch, conversions) in [
        (120.0, 61.398_70, [0.125_326, 0.231_492, 0.297_970, 0.505_071, 0.756_641]),
        (150.0, 9.961_61, [0.300_542, 0.532_930, 0.745_134, 0.924_112, 0.993_272]),
        (177.0, 2.402_65, [0.532_011, 0.837_853, 0.966_931, 0.998_625, 0.999_998]),
    ] {
        let (found, cured) = Resin::at(celsius).cure(&minutes);
        assert!((found - switch).abs() < 6e-6, "{celsius} °C: α = 0.3 at {found} min");
        for (minute, (found, expected)) in minutes.iter().zip(cured.iter().zip(conversions)) {
            assert!((found - expected).abs() < 6e-7, "{celsius} °C, {minute} min: {found} for {expected}");
        }
    }
}

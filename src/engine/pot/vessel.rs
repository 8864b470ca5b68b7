//! Vessels and how fast a batch cools in them.

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use crate::engine::units::{Grams, Millimetres};

/// The vessel of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Vessel {
    /// A cup, about as deep as it is wide.
    Cup,
    /// A tray, filled to a depth.
    Tray {
        /// How deep.
        depth_mm: Millimetres,
    },
}

/// Time constant of a cup of 100 g in seconds: 26 min. An estimate, no source: ρ·c·d/(6·h) for a cup of
/// diameter and height d, with 1.1 kg/L and 2.0 J/(g·K), that loses 11.5 W/(m²·K) all around, as still air and
/// radiation together do in handbooks.
const CUP: f64 = 26.0 * 60.0;
/// The mass of that cup, in grams. τ grows with the cube root of the mass.
const CUP_MASS: f64 = 100.0;
/// Time constant of a tray in seconds per millimetre: ρ·c/(1.5·h) with the figures above, for a tray on a bench
/// that loses half as much downwards as upwards. An estimate, no source.
const TRAY: f64 = 128.0;

/// A shorter time constant, in seconds, counts as none.
const FILM: f64 = 0.1;

impl Vessel {
    /// The time constant in seconds of this mass. A tray deeper than it is wide counts as a cup.
    pub(super) fn cooling(self, mass: Grams) -> f64 {
        let cup = CUP * (mass.grams() / CUP_MASS).cbrt();
        match self {
            Self::Cup => cup,
            Self::Tray { depth_mm } => (TRAY * depth_mm.millimetres()).max(FILM).min(cup),
        }
    }

    /// The same as a `TimeDelta`.
    pub fn cooling_time(self, mass: Grams) -> TimeDelta {
        TimeDelta::nanoseconds((self.cooling(mass) * 1e9) as i64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minutes(vessel: Vessel, grams: f64) -> f64 {
        vessel.cooling_time(Grams::new(grams)).as_seconds_f64() / 60.0
    }

    fn tray(depth: f64) -> Vessel {
        Vessel::Tray { depth_mm: Millimetres::new(depth) }
    }

    #[test]
    fn a_cup_of_eight_times_the_mass_cools_twice_as_slowly() {
        assert!((minutes(Vessel::Cup, 100.0) - 26.0).abs() < 1e-9);
        assert!((minutes(Vessel::Cup, 800.0) - 52.0).abs() < 1e-6);
    }

    #[test]
    fn in_a_tray_depth_counts_and_not_the_mass() {
        assert!((minutes(tray(10.0), 500.0) - minutes(tray(10.0), 5000.0)).abs() < 1e-9);
        assert!((minutes(tray(20.0), 5000.0) / minutes(tray(10.0), 5000.0) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_little_in_a_deep_tray_is_no_worse_than_in_a_cup() {
        assert!((minutes(tray(200.0), 100.0) - 26.0).abs() < 1e-9);
    }
}

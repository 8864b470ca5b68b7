//! Wet and dry films, and spreading rates.
//!
//! Dry film = wet film · volume solids, and 1 US gallon covers 1604.17 ft² at 1 mil (UFC 3-190-06 §2.1.5,
//! MIL-HDBK-1110); in metric units 1 L covers 1000 m² at 1 µm.

use crate::engine::units::{Micrometres, Percent, SquareMetresPerLitre};

/// The dry film of a wet film.
pub fn dry_film(wet: Micrometres, solids: Percent) -> Micrometres {
    Micrometres::new(wet.micrometres() * solids.percent() / 100.0)
}

/// The wet film for a dry film; infinite at 0 % solids.
pub fn wet_film(dry: Micrometres, solids: Percent) -> Micrometres {
    Micrometres::new(dry.micrometres() * 100.0 / solids.percent())
}

/// Theoretical spreading rate: m²/L = 10 · solids \[%\] / dry film \[µm\].
pub fn spreading_rate(solids: Percent, dry: Micrometres) -> SquareMetresPerLitre {
    SquareMetresPerLitre::new(10.0 * solids.percent() / dry.micrometres())
}

/// Practical rate = theoretical rate · (1 − loss).
pub fn practical_rate(theoretical: SquareMetresPerLitre, loss: Percent) -> SquareMetresPerLitre {
    SquareMetresPerLitre::new(theoretical.square_metres_per_litre() * (1.0 - loss.percent() / 100.0))
}

/// The volume solids of a thinned coating: solids / (1 + p), with `thinner` = p as a share of the unthinned
/// volume.
pub fn thinned_solids(solids: Percent, thinner: Percent) -> Percent {
    Percent::new(solids.percent() / (1.0 + thinner.percent() / 100.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn um(value: f64) -> Micrometres {
        Micrometres::new(value)
    }

    #[test]
    fn half_solids_leave_half_the_film() {
        assert_eq!(dry_film(um(100.0), Percent::new(50.0)), um(50.0));
        assert_eq!(wet_film(um(50.0), Percent::new(50.0)), um(100.0));
        assert_eq!(dry_film(um(100.0), Percent::new(100.0)), um(100.0));
    }

    #[test]
    fn a_litre_one_micrometre_deep_covers_a_thousand_square_metres() {
        let rate = spreading_rate(Percent::new(100.0), um(1.0)).square_metres_per_litre();
        assert_eq!(rate, 1000.0);
        assert!(spreading_rate(Percent::new(50.0), um(0.0)).square_metres_per_litre().is_infinite());
    }

    #[test]
    fn a_tenth_lost_is_a_tenth_less_covered() {
        let rate = practical_rate(SquareMetresPerLitre::new(10.0), Percent::new(10.0));
        assert!((rate.square_metres_per_litre() - 9.0).abs() < 1e-12);
    }
}

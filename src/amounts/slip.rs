//! Amounts that are likely a slip of the unit: grams where kilograms were meant, mil where µm were.

use super::build_up::Range;
use super::material::Material;
use crate::units::Micrometres;

/// Which way an amount is out of all proportion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// About a thousand times too little.
    Little,
    /// About a thousand times too much.
    Much,
}

/// A stock is seldom so many times what a piece needs, or so small a part of it.
const STOCK: f64 = 300.0;
/// A wet film is never so many times what is asked, or so small a part of it: a mil is 25 µm.
const FILM: f64 = 10.0;
/// The least and the most that anyone brings into a shop, in litres or kilograms.
const TINS: (f64, f64) = (0.005, 500.0);

/// Whether an amount of stock is out of all proportion to what the piece needs of it, where that is known, or
/// to any tin.
pub fn stock_slip(came: Material, need: Material) -> Option<Slip> {
    let times = came.over(need).filter(|_| need.is_some());
    let by_need = times.and_then(|times| out_of(times, (1.0 / STOCK, STOCK)));
    let mass = came.mass.map(|mass| mass.grams());
    let amount = mass.or(came.volume.map(|volume| volume.millilitres()));
    by_need.or_else(|| out_of(amount? / 1000.0, TINS))
}

/// Whether a wet film is out of all proportion to what is asked.
pub fn film_slip(wet: Micrometres, asked: Option<Range>) -> Option<Slip> {
    let (thin, thick) = asked.unwrap_or((Micrometres::new(50.0), Micrometres::new(1000.0)));
    out_of(wet.micrometres(), (thin.micrometres() / FILM, thick.micrometres() * FILM))
}

fn out_of(value: f64, (least, most): (f64, f64)) -> Option<Slip> {
    if value < least {
        Some(Slip::Little)
    } else if value > most {
        Some(Slip::Much)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Grams;

    fn kilograms(value: f64) -> Material {
        Material::of_mass(Grams::new(value * 1000.0), None)
    }

    #[test]
    fn grams_for_kilograms_are_a_slip_and_a_large_tin_is_none() {
        let slip = |came| stock_slip(kilograms(came), kilograms(2.1));
        assert_eq!(slip(0.002), Some(Slip::Little));
        assert_eq!(slip(2000.0), Some(Slip::Much));
        assert_eq!(slip(0.05), None, "a sample pot");
        assert_eq!(slip(200.0), None, "a drum");
        assert_eq!(stock_slip(kilograms(0.002), kilograms(0.3)), Some(Slip::Little), "no such tin");
    }

    #[test]
    fn without_a_need_any_tin_is_taken() {
        let slip = |came| stock_slip(kilograms(came), Material::NONE);
        assert_eq!(slip(0.002), Some(Slip::Little));
        assert_eq!(slip(0.01), None);
        assert_eq!(slip(400.0), None);
        assert_eq!(slip(2000.0), Some(Slip::Much));
    }

    #[test]
    fn mil_for_micrometres_are_a_slip_and_a_run_is_none() {
        let asked = Some((Micrometres::new(60.0), Micrometres::new(90.0)));
        let slip = |wet| film_slip(Micrometres::new(wet), asked);
        assert_eq!(slip(3.0), Some(Slip::Little));
        assert_eq!(slip(3.0 * Micrometres::PER_MIL), None);
        assert_eq!(slip(300.0), None, "a run");
        assert_eq!(slip(75_000.0), Some(Slip::Much));
        assert_eq!(film_slip(Micrometres::new(3.0), None), Some(Slip::Little));
    }
}

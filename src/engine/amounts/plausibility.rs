//! Amounts that are probably a slip: grams for kilograms, mil for µm, a zero too many.

use super::build_up::Range;
use super::material::Material;
use crate::engine::units::Micrometres;

/// Direction of an implausible amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Implausible {
    /// Far too little.
    Little,
    /// Far too much.
    Much,
}

/// A stock is rarely more than this many times the need of a piece, or less than its reciprocal.
const STOCK: f64 = 300.0;
/// A wet film is rarely more than this many times the required one, or less than its reciprocal (common
/// practice, no source): a run is three coats thick, a zero too many makes it ten times, mil for µm twenty-five
/// times.
const FILM: f64 = 4.0;
/// The least and the most that anyone brings into a shop, in litres or kilograms.
const TINS: (f64, f64) = (0.005, 500.0);

/// Whether an amount of stock is implausible compared with the need of the piece, if known, or with any tin.
pub fn implausible_stock(came: Material, need: Material) -> Option<Implausible> {
    let times = came.over(need).filter(|_| need.is_some());
    let by_need = times.and_then(|times| out_of(times, (1.0 / STOCK, STOCK)));
    let mass = came.mass.map(|mass| mass.grams());
    let amount = mass.or(came.volume.map(|volume| volume.millilitres()));
    by_need.or_else(|| out_of(amount? / 1000.0, TINS))
}

/// Whether a wet film is implausible compared with the required one.
pub fn implausible_film(wet: Micrometres, asked: Option<Range>) -> Option<Implausible> {
    let (thin, thick) = asked.unwrap_or((Micrometres::new(50.0), Micrometres::new(1000.0)));
    out_of(wet.micrometres(), (thin.micrometres() / FILM, thick.micrometres() * FILM))
}

/// The wet film that was probably meant by an implausible one: with a zero less or more, or in the other unit,
/// it is near the required one. None if neither is.
pub fn film_meant(wet: Micrometres, asked: Option<Range>) -> Option<Micrometres> {
    let (thin, thick) = asked?;
    let near = |film: &f64| (thin.micrometres() / 2.0..=thick.micrometres() * 2.0).contains(film);
    let factors = [Micrometres::PER_MIL, 1.0 / Micrometres::PER_MIL, 0.1, 10.0];
    // The nearest to the geometric mean of the required range.
    let middle = (thin.micrometres() * thick.micrometres()).sqrt();
    let off = |film: &f64| (film / middle).ln().abs();
    let meant = factors.map(|factor| wet.micrometres() * factor).into_iter().filter(near);
    meant.min_by(|a, b| off(a).total_cmp(&off(b))).map(Micrometres::new)
}

fn out_of(value: f64, (least, most): (f64, f64)) -> Option<Implausible> {
    if value < least {
        Some(Implausible::Little)
    } else if value > most {
        Some(Implausible::Much)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::units::Grams;

    fn kilograms(value: f64) -> Material {
        Material::of_mass(Grams::new(value * 1000.0), None)
    }

    #[test]
    fn grams_for_kilograms_are_a_slip_and_a_large_tin_is_none() {
        let slip = |came| implausible_stock(kilograms(came), kilograms(2.1));
        assert_eq!(slip(0.002), Some(Implausible::Little));
        assert_eq!(slip(2000.0), Some(Implausible::Much));
        assert_eq!(slip(0.05), None, "a sample pot");
        assert_eq!(slip(200.0), None, "a drum");
        assert_eq!(
            implausible_stock(kilograms(0.002), kilograms(0.3)),
            Some(Implausible::Little),
            "no such tin"
        );
    }

    #[test]
    fn without_a_need_any_tin_is_accepted() {
        let slip = |came| implausible_stock(kilograms(came), Material::NONE);
        assert_eq!(slip(0.002), Some(Implausible::Little));
        assert_eq!(slip(0.01), None);
        assert_eq!(slip(400.0), None);
        assert_eq!(slip(2000.0), Some(Implausible::Much));
    }

    #[test]
    fn mil_for_micrometres_are_a_slip_and_a_run_is_none() {
        let asked = Some((Micrometres::new(60.0), Micrometres::new(90.0)));
        let slip = |wet| implausible_film(Micrometres::new(wet), asked);
        assert_eq!(slip(3.0), Some(Implausible::Little));
        assert_eq!(slip(3.0 * Micrometres::PER_MIL), None);
        assert_eq!(slip(300.0), None, "a run");
        assert_eq!(slip(75_000.0), Some(Implausible::Much));
        assert_eq!(implausible_film(Micrometres::new(3.0), None), Some(Implausible::Little));
    }

    #[test]
    fn a_zero_too_many_is_a_slip() {
        let asked = Some((Micrometres::new(60.0), Micrometres::new(90.0)));
        let slip = |wet| implausible_film(Micrometres::new(wet), asked);
        assert_eq!(slip(800.0), Some(Implausible::Much));
        assert_eq!((slip(360.0), slip(361.0)), (None, Some(Implausible::Much)));
        assert_eq!((slip(15.0), slip(14.9)), (None, Some(Implausible::Little)));
    }

    #[test]
    fn the_suggested_film_is_near_the_required_one() {
        let asked = Some((Micrometres::new(60.0), Micrometres::new(90.0)));
        let meant = |wet| film_meant(Micrometres::new(wet), asked).map(|film| film.micrometres().round());
        assert_eq!(meant(800.0), Some(80.0));
        assert_eq!(meant(8.0), Some(80.0));
        assert_eq!(meant(3.0), Some(76.0), "3 mil");
        assert_eq!(meant(80.0 * Micrometres::PER_MIL), Some(80.0), "80 µm, entered as mil");
        assert_eq!(meant(75_000.0), None);
        assert_eq!(film_meant(Micrometres::new(800.0), None), None);
    }
}

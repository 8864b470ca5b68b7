//! Reaction rate of a product by temperature, and its self-heating.

use crate::engine::profile::Piece;
use crate::engine::units::{ActivationEnergy, Celsius, Grams, KelvinDelta};

/// The source of a product's temperature rise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Warmth {
    /// Fitted to the pot lives of two masses, each reproduced within this fraction (0.03: 3 %).
    Fitted(f64),
    /// Usual for the family; the profile gives one mass only.
    Usual,
    /// The pot lives do not fit a batch that heats itself; calculated without.
    None,
}

/// The kinetics of a product: k(T) and W.
#[derive(Debug, Clone, PartialEq)]
pub struct Kinetics {
    /// ln(1/k) over 1/T, ascending in T; never empty.
    pieces: Vec<Piece>,
    /// The temperatures between the pieces, in kelvin.
    bends: Vec<f64>,
    /// W in kelvin.
    warming: f64,
    pub(super) warmth: Warmth,
    /// The smallest and the largest mass of the data sheet.
    pub(super) masses: (Grams, Grams),
    /// Its lowest and its highest temperature.
    pub(super) temperatures: (Celsius, Celsius),
}

impl Kinetics {
    /// A reaction with these working lives in seconds (temperatures ascending, isothermal), linear in between
    /// in ln(k) over 1/T; `energy` is used if there is one point. None without points or with one that is not a
    /// number.
    pub fn new(life: &[(Celsius, f64)], energy: ActivationEnergy, warming: KelvinDelta) -> Option<Self> {
        let points: Vec<(f64, f64)> = life.iter().map(|(at, seconds)| (at.kelvin(), seconds.ln())).collect();
        let rising = points.is_sorted_by(|a, b| a.0 < b.0);
        let sound = points.iter().all(|(kelvin, ln)| *kelvin > 0.0 && kelvin.is_finite() && ln.is_finite());
        let (coolest, warmest) = (life.first()?.0, life.last()?.0);
        let warms = warming.kelvin() >= 0.0 && warming.kelvin().is_finite();
        if !(rising && sound && warms) {
            return None;
        }
        let through = |(x0, y0): (f64, f64), (x1, y1): (f64, f64)| {
            let slope = (y1 - y0) / (1.0 / x1 - 1.0 / x0);
            Piece { intercept: y0 - slope / x0, slope }
        };
        let pieces = if let [(kelvin, ln)] = points.as_slice() {
            let slope = energy.over_gas_constant();
            vec![Piece { intercept: ln - slope / kelvin, slope }]
        } else {
            points.windows(2).map(|pair| through(pair[0], pair[1])).collect()
        };
        let bends = points.get(1..points.len() - 1).unwrap_or_default().iter().map(|p| p.0).collect();
        Some(Self {
            pieces,
            bends,
            warming: warming.kelvin(),
            warmth: Warmth::Usual,
            masses: (Grams::new(0.0), Grams::new(f64::INFINITY)),
            temperatures: (coolest, warmest),
        })
    }

    /// W: the adiabatic temperature rise over the working life.
    pub const fn warming(&self) -> KelvinDelta {
        KelvinDelta::new(self.warming)
    }

    /// The source of W.
    pub const fn warmth(&self) -> Warmth {
        self.warmth
    }

    /// The isothermal working life in seconds.
    pub fn seconds_at(&self, temperature: Celsius) -> f64 {
        1.0 / self.rate(temperature.kelvin())
    }

    /// The linear piece at a temperature in kelvin.
    pub(super) fn line_at(&self, kelvin: f64) -> Line {
        let index = self.bends.iter().take_while(|bend| kelvin > **bend).count();
        let low = index.checked_sub(1).map_or(f64::NEG_INFINITY, |below| self.bends[below]);
        let high = self.bends.get(index).copied().unwrap_or(f64::INFINITY);
        Line { piece: self.pieces[index], low, high }
    }

    fn rate(&self, kelvin: f64) -> f64 {
        self.line_at(kelvin).rate(kelvin)
    }
}

/// A linear piece of ln(k) over 1/T, and its temperature range in kelvin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    piece: Piece,
    low: f64,
    high: f64,
}

/// This far past a knot, in kelvin, a batch is on the other side of it.
const PAST: f64 = 1e-7;

impl Line {
    /// k in 1/s at a temperature in kelvin.
    #[inline]
    pub(super) fn rate(&self, kelvin: f64) -> f64 {
        self.piece.rate(kelvin)
    }

    /// R·T²/E in kelvin: the temperature rise by which k grows e-fold, and beyond which the reaction's heat
    /// outruns the cooling (Semenov). Infinite if the rate does not depend on temperature.
    pub(super) fn e_fold(&self, kelvin: f64) -> f64 {
        if self.piece.slope > 0.0 { kelvin * kelvin / self.piece.slope } else { f64::INFINITY }
    }

    /// Whether another piece applies.
    pub(super) fn is_past(&self, kelvin: f64) -> bool {
        kelvin > self.high + PAST || kelvin < self.low - PAST
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_its_points_ln_k_is_linear_in_the_reciprocal_temperature() {
        let life = [(Celsius::new(10.0), 4000.0), (Celsius::new(20.0), 2000.0), (Celsius::new(30.0), 1500.0)];
        let energy = ActivationEnergy::RULE_OF_THUMB;
        let kinetics = Kinetics::new(&life, energy, KelvinDelta::new(50.0)).unwrap();
        for (at, seconds) in life {
            assert!((kinetics.rate(at.kelvin()) * seconds - 1.0).abs() < 1e-12);
        }
        let middle = 2.0 / (1.0 / 283.15 + 1.0 / 293.15);
        assert!((kinetics.rate(middle) * (4000.0f64 * 2000.0).sqrt() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_rule_of_thumb_gives_about_fourteen_kelvin_per_e_fold() {
        let life = [(Celsius::new(20.0), 2000.0)];
        let energy = ActivationEnergy::from_kilojoules_per_mole(50.0);
        let kinetics = Kinetics::new(&life, energy, KelvinDelta::new(0.0)).unwrap();
        assert!((kinetics.line_at(293.15).e_fold(293.15) - 14.29).abs() < 0.01);
    }

    #[test]
    fn an_invalid_table_gives_no_kinetics() {
        let energy = ActivationEnergy::RULE_OF_THUMB;
        let make = |life: &[(Celsius, f64)], warming| Kinetics::new(life, energy, KelvinDelta::new(warming));
        let (cool, warm) = ((Celsius::new(10.0), 100.0), (Celsius::new(20.0), 50.0));
        assert!(make(&[cool, warm], 0.0).is_some());
        assert_eq!(make(&[], 0.0), None);
        assert_eq!(make(&[warm, cool], 0.0), None);
        assert_eq!(make(&[(Celsius::new(10.0), 0.0)], 0.0), None);
        assert_eq!(make(&[(Celsius::new(f64::NAN), 9.0)], 0.0), None);
        assert_eq!(make(&[cool], f64::NAN), None);
    }
}

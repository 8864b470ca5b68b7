//! An amount of a product by volume and by mass, as far as known.

use crate::engine::job::Amount;
use crate::engine::units::{Grams, KilogramsPerLitre, Millilitres};

/// An amount of a product. Without the density one of the two is unknown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// By volume.
    pub volume: Option<Millilitres>,
    /// By mass.
    pub mass: Option<Grams>,
}

impl Material {
    /// Zero, known both ways.
    pub const NONE: Self = Self { volume: Some(Millilitres::new(0.0)), mass: Some(Grams::new(0.0)) };

    /// By volume.
    pub fn of_volume(volume: Millilitres, density: Option<KilogramsPerLitre>) -> Self {
        let mass = density.map(|density| volume.millilitres() * density.kilograms_per_litre());
        Self { volume: Some(volume), mass: mass.map(Grams::new) }
    }

    /// By mass.
    pub fn of_mass(mass: Grams, density: Option<KilogramsPerLitre>) -> Self {
        let volume = density.map(|density| mass.grams() / density.kilograms_per_litre());
        Self { volume: volume.map(Millilitres::new), mass: Some(mass) }
    }

    /// As stated on a tin.
    pub fn of(amount: Amount, density: Option<KilogramsPerLitre>) -> Self {
        match amount {
            Amount::MassG(mass) => Self::of_mass(mass, density),
            Amount::VolumeMl(volume) => Self::of_volume(volume, density),
        }
    }

    /// The sum.
    pub fn plus(self, other: Self) -> Self {
        self.both(other, |a, b| a + b)
    }

    /// The difference, at least zero.
    pub fn minus(self, other: Self) -> Self {
        self.both(other, |a, b| (a - b).max(0.0))
    }

    /// A share of it.
    pub fn times(self, share: f64) -> Self {
        self.both(Self::NONE, |a, _| a * share)
    }

    /// The ratio to another amount, by whichever of volume and mass both have; None if there is none, or the
    /// other is zero.
    pub fn over(self, other: Self) -> Option<f64> {
        let mass = self.mass.zip(other.mass).map(|(a, b)| a.grams() / b.grams());
        let volume = self.volume.zip(other.volume).map(|(a, b)| a.millilitres() / b.millilitres());
        mass.or(volume).filter(|ratio| ratio.is_finite())
    }

    /// Whether it is large enough to weigh.
    pub fn is_some(self) -> bool {
        let mass = self.mass.map(Grams::grams);
        mass.or(self.volume.map(Millilitres::millilitres)).is_some_and(|amount| amount > 0.5)
    }

    fn both(self, other: Self, of: impl Fn(f64, f64) -> f64) -> Self {
        let volume = self.volume.zip(other.volume).map(|(a, b)| of(a.millilitres(), b.millilitres()));
        let mass = self.mass.zip(other.mass).map(|(a, b)| of(a.grams(), b.grams()));
        Self { volume: volume.map(Millilitres::new), mass: mass.map(Grams::new) }
    }
}

impl std::iter::Sum for Material {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::NONE, Self::plus)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAVY: Option<KilogramsPerLitre> = Some(KilogramsPerLitre::new(1.25));

    #[test]
    fn a_litre_weighs_what_its_density_says() {
        let litre = Material::of_volume(Millilitres::new(1000.0), HEAVY);
        assert_eq!(litre.mass, Some(Grams::new(1250.0)));
        assert_eq!(Material::of_mass(Grams::new(1250.0), HEAVY), litre);
        assert_eq!(Material::of_volume(Millilitres::new(1.0), None).mass, None);
    }

    #[test]
    fn a_kilogram_and_a_litre_do_not_add_up_without_the_density() {
        let litre = Material::of_volume(Millilitres::new(1000.0), None);
        let kilogram = Material::of_mass(Grams::new(1000.0), None);
        assert_eq!(litre.plus(kilogram), Material { volume: None, mass: None });
        assert_eq!(litre.plus(litre).volume, Some(Millilitres::new(2000.0)));
        assert_eq!(litre.over(kilogram), None);
        assert_eq!(litre.over(Material::NONE), None);
    }

    #[test]
    fn there_is_never_less_than_nothing() {
        let litre = Material::of_volume(Millilitres::new(1000.0), HEAVY);
        assert_eq!(Material::NONE.minus(litre), Material::NONE);
        assert!(!Material::NONE.is_some() && litre.is_some());
    }
}

//! What a mixing ratio says of the mixed product: the share of each part, and the density of the whole.
//!
//! The volumes of the parts are taken to add up: liquids that shrink as they are mixed do so by less than a
//! label rounds.

use super::product::{Mix, Product};
use crate::engine::units::KilogramsPerLitre;

impl Mix {
    /// The share of each part by mass, adding up to 1: as the label gives it, else from the ratio by volume
    /// and the densities. None where neither is there.
    pub fn shares_by_mass(&self) -> Option<Vec<f64>> {
        let from_volume = || {
            let (volume, density) = (self.by_volume.as_ref()?, self.density.as_ref()?);
            Some(volume.iter().zip(density).map(|(v, d)| v * d.kilograms_per_litre()).collect())
        };
        self.by_mass.clone().or_else(from_volume).map(normal)
    }

    /// The share of each part by volume, adding up to 1: as the label gives it, else from the ratio by mass
    /// and the densities. None where neither is there.
    pub fn shares_by_volume(&self) -> Option<Vec<f64>> {
        let from_mass = || {
            let (mass, density) = (self.by_mass.as_ref()?, self.density.as_ref()?);
            Some(mass.iter().zip(density).map(|(m, d)| m / d.kilograms_per_litre()).collect())
        };
        self.by_volume.clone().or_else(from_mass).map(normal)
    }

    /// The density of the mixed parts: 1 / Σ (share by mass / density). None without the densities.
    pub fn mixed_density(&self) -> Option<KilogramsPerLitre> {
        let (mass, density) = (self.shares_by_mass()?, self.density.as_ref()?);
        let litres: f64 = mass.iter().zip(density).map(|(m, d)| m / d.kilograms_per_litre()).sum();
        Some(KilogramsPerLitre::new(1.0 / litres))
    }
}

impl Product {
    /// The density of the product as it is applied: that of its mixed parts, else the one that the profile
    /// gives for the film.
    pub fn density(&self) -> Option<KilogramsPerLitre> {
        let mixed = self.mix.as_ref().and_then(Mix::mixed_density);
        mixed.or_else(|| self.film.as_ref()?.density)
    }
}

fn normal(parts: Vec<f64>) -> Vec<f64> {
    let sum: f64 = parts.iter().sum();
    parts.into_iter().map(|part| part / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mix(by_volume: Option<Vec<f64>>, by_mass: Option<Vec<f64>>, density: Option<[f64; 2]>) -> Mix {
        let density = density.map(|both| both.map(KilogramsPerLitre::new).to_vec());
        Mix { names: vec!["base".into(), "hardener".into()], by_volume, by_mass, density, induction: None }
    }

    fn close(shares: Option<Vec<f64>>, wanted: [f64; 2]) -> bool {
        shares.is_some_and(|shares| shares.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-12))
    }

    #[test]
    fn a_ratio_by_volume_becomes_one_by_mass_through_the_densities() {
        let mix = mix(Some(vec![3.0, 1.0]), None, Some([1.2, 0.9]));
        assert!(close(mix.shares_by_volume(), [0.75, 0.25]));
        assert!(close(mix.shares_by_mass(), [0.8, 0.2]));
        // Four litres weigh 3 · 1.2 kg + 0.9 kg.
        let density = mix.mixed_density().unwrap().kilograms_per_litre();
        assert!((density - 4.5 / 4.0).abs() < 1e-12, "{density}");
    }

    #[test]
    fn and_the_other_way_round() {
        let mix = mix(None, Some(vec![4.0, 1.0]), Some([1.2, 0.9]));
        assert!(close(mix.shares_by_mass(), [0.8, 0.2]));
        assert!(close(mix.shares_by_volume(), [0.75, 0.25]));
    }

    #[test]
    fn without_densities_one_ratio_says_nothing_of_the_other() {
        assert_eq!(mix(Some(vec![2.0, 1.0]), None, None).shares_by_mass(), None);
        assert_eq!(mix(None, Some(vec![2.0, 1.0]), None).shares_by_volume(), None);
        assert_eq!(mix(Some(vec![2.0, 1.0]), Some(vec![2.0, 1.0]), None).mixed_density(), None);
    }
}

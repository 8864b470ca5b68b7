//! What to weigh or measure of each part, rounded to the scale.

use super::material::Material;
use crate::engine::profile::Mix;
use crate::engine::units::{Grams, Millilitres, Percent};

/// One part of a mix.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name on the label.
    pub name: String,
    /// How much of it.
    pub amount: Material,
}

/// The parts of an amount of a mixed product. Values missing in the profile stay unknown.
pub fn parts(mix: &Mix, mixed: Material) -> Vec<Part> {
    let (by_mass, by_volume) = (mix.shares_by_mass(), mix.shares_by_volume());
    let share = |shares: &Option<Vec<f64>>, index: usize| shares.as_ref().and_then(|s| s.get(index).copied());
    let part = |(index, name): (usize, &String)| {
        let mass = mixed.mass.zip(share(&by_mass, index)).map(|(mass, share)| mass.grams() * share);
        let volume = mixed.volume.zip(share(&by_volume, index));
        let volume = volume.map(|(volume, share)| volume.millilitres() * share);
        let amount = Material { volume: volume.map(Millilitres::new), mass: mass.map(Grams::new) };
        Part { name: name.clone(), amount }
    };
    mix.names.iter().enumerate().map(part).collect()
}

/// A portion as a scale shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// Each part, in whole steps of the scale.
    pub parts: Vec<Grams>,
    /// The largest error of a part's ratio to the first one, from rounding.
    pub off: Percent,
}

impl Weighed {
    /// All parts together.
    pub fn mass(&self) -> Grams {
        Grams::new(self.parts.iter().map(|part| part.grams()).sum())
    }
}

/// Steps of the scale in each of `count` equal portions of a mass, rounded up: together they are at least the
/// mass, and one recipe serves for all.
pub fn equal_portion(mass: Grams, count: usize, step: Grams) -> u64 {
    let steps = mass.grams() / count.max(1) as f64 / step.grams();
    // A tiny fraction of a step is a rounding error, not a need.
    (steps - 1e-6).ceil().clamp(0.0, 1e12) as u64
}

/// Splits a portion of `steps` steps of the scale into parts with these shares. The parts are whole steps and
/// add up to the portion; leftover steps go to the parts that were cut most. Every part gets a step if there
/// are enough.
pub fn weigh(steps: u64, shares: &[f64], step: Grams) -> Weighed {
    let exact: Vec<f64> = shares.iter().map(|share| share * steps as f64).collect();
    let mut whole: Vec<u64> = exact.iter().map(|part| (part + 1e-9).floor() as u64).collect();
    let mut order: Vec<usize> = (0..shares.len()).collect();
    let cut = |index: usize| exact[index] - whole[index] as f64;
    order.sort_by(|a, b| cut(*b).total_cmp(&cut(*a)));
    let left = steps.saturating_sub(whole.iter().sum());
    for index in order.into_iter().take(left as usize) {
        whole[index] += 1;
    }
    for index in 0..whole.len() {
        let largest = (0..whole.len()).max_by_key(|other| whole[*other]).unwrap_or(index);
        if whole[index] == 0 && shares[index] > 0.0 && whole[largest] > 1 {
            whole[index] += 1;
            whole[largest] -= 1;
        }
    }
    let parts = whole.iter().map(|steps| Grams::new(*steps as f64 * step.grams())).collect();
    Weighed { parts, off: Percent::new(off(&whole, shares)) }
}

/// Acceptable error of a batch's ratio (common practice, no source: data sheets that state a tolerance allow a
/// few per cent).
pub const RATIO_TOLERANCE: Percent = Percent::new(2.0);
/// A portion may be this much larger to meet the tolerance.
const LARGER: f64 = 0.02;
/// The most steps of a portion that are searched.
const STEPS: u64 = 50_000;

impl Weighed {
    /// Whether the scale is fine enough for the ratio of this portion.
    pub fn is_accurate(&self) -> bool {
        self.off.percent() <= RATIO_TOLERANCE.percent()
    }
}

/// Weighs a portion of at least `steps` steps: exactly `steps` if the ratio is accurate, else up to 2 % more if
/// that makes it accurate. Rounding up in many small batches adds up.
pub fn weigh_accurately(steps: u64, shares: &[f64], step: Grams) -> Weighed {
    let portion = weigh(steps, shares, step);
    let larger = steps + (steps as f64 * LARGER) as u64;
    let well = |steps| Some(weigh(steps, shares, step)).filter(Weighed::is_accurate);
    if portion.is_accurate() { portion } else { (steps + 1..=larger).find_map(well).unwrap_or(portion) }
}

/// The next larger portion that the scale can weigh accurately; None if it is too coarse for all that are
/// searched.
pub fn next_accurate_batch(mass: Grams, shares: &[f64], step: Grams) -> Option<Weighed> {
    let from = equal_portion(mass, 1, step);
    (from + 1..=from.saturating_add(1).max(STEPS)).find_map(|steps| {
        let portion = weigh(steps, shares, step);
        portion.is_accurate().then_some(portion)
    })
}

/// The largest error of the parts' ratios to the first, in per cent.
fn off(whole: &[u64], shares: &[f64]) -> f64 {
    let [(first, share), rest @ ..] = &whole.iter().zip(shares).collect::<Vec<_>>()[..] else { return 0.0 };
    let off = |(part, own): &(&u64, &f64)| {
        let weighed = **part as f64 / **first as f64;
        (weighed / (**own / **share) - 1.0).abs() * 100.0
    };
    let worst = rest.iter().map(off).fold(0.0, f64::max);
    if **first == 0 { 100.0 } else { worst }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::units::KilogramsPerLitre;

    const GRAM: Grams = Grams::new(1.0);

    fn varnish() -> Mix {
        Mix {
            names: vec!["base".into(), "hardener".into()],
            by_volume: Some(vec![2.0, 1.0]),
            by_mass: Some(vec![100.0, 48.0]),
            density: Some(vec![KilogramsPerLitre::new(1.02), KilogramsPerLitre::new(0.98)]),
            induction: None,
        }
    }

    fn grams(weighed: &Weighed) -> Vec<f64> {
        weighed.parts.iter().map(|part| part.grams()).collect()
    }

    #[test]
    fn the_parts_of_a_mix_are_given_by_mass_and_by_volume() {
        let mixed = Material::of_mass(Grams::new(148.0), varnish().mixed_density());
        let parts = parts(&varnish(), mixed);
        let mass: Vec<f64> = parts.iter().map(|part| part.amount.mass.unwrap().grams()).collect();
        assert!((mass[0] - 100.0).abs() < 1e-9 && (mass[1] - 48.0).abs() < 1e-9, "{mass:?}");
        let [base, hardener] = &parts[..] else { panic!("two parts") };
        let volume = |part: &Part| part.amount.volume.unwrap().millilitres();
        assert!((volume(base) / volume(hardener) - 2.0).abs() < 1e-9);
        assert!((volume(base) + volume(hardener) - mixed.volume.unwrap().millilitres()).abs() < 1e-9);
    }

    #[test]
    fn what_the_label_does_not_give_stays_unknown() {
        let mix = Mix { by_mass: None, density: None, ..varnish() };
        let parts = parts(&mix, Material::of_volume(Millilitres::new(300.0), None));
        assert_eq!(parts[0].amount.volume, Some(Millilitres::new(200.0)));
        assert_eq!(parts[0].amount.mass, None);
    }

    #[test]
    fn a_portion_is_weighed_in_whole_grams_that_add_up() {
        let weighed = weigh(269, &[100.0 / 148.0, 48.0 / 148.0], GRAM);
        assert_eq!(grams(&weighed), [182.0, 87.0]);
        assert_eq!(weighed.mass(), Grams::new(269.0));
        // 87/182 instead of 48/100.
        assert!((weighed.off.percent() - 0.412).abs() < 1e-3, "{:?}", weighed.off);
    }

    #[test]
    fn up_to_two_per_cent_more_is_mixed_to_meet_the_tolerance() {
        // 8.7 oz and 2.4 oz are 2 % off; with 0.1 oz more they are not.
        let (shares, tenth) = ([100.0 / 127.0, 27.0 / 127.0], Grams::new(0.1 * Grams::PER_OUNCE));
        assert!(!weigh(111, &shares, tenth).is_accurate());
        let well = weigh_accurately(111, &shares, tenth);
        assert!(well.is_accurate() && well.mass().grams() < 112.5 * tenth.grams());
        // If the ratio is accurate nothing is added, even if more would be better.
        assert_eq!(weigh_accurately(552, &[100.0 / 147.0, 47.0 / 147.0], GRAM).mass(), Grams::new(552.0));
        let near = weigh_accurately(64, &[100.0 / 143.0, 43.0 / 143.0], GRAM);
        assert_eq!((near.mass(), near.off.percent() > 0.5), (Grams::new(64.0), true));
    }

    #[test]
    fn in_a_small_batch_nothing_is_added_however_coarse_the_scale() {
        let shares = [100.0 / 143.0, 43.0 / 143.0];
        for steps in 0..50 {
            assert_eq!(weigh_accurately(steps, &shares, GRAM), weigh(steps, &shares, GRAM), "{steps} g");
        }
    }

    #[test]
    fn if_the_scale_is_too_coarse_the_next_accurate_portion_is_given() {
        let next = |grams, shares: &[f64]| next_accurate_batch(Grams::new(grams), shares, GRAM);
        let (small, fast) = ([0.97, 0.03], [100.0 / 143.0, 43.0 / 143.0]);
        assert!(!weigh(13, &fast, GRAM).is_accurate());
        let found = next(13.0, &fast).unwrap();
        assert!(found.is_accurate() && found.mass() > Grams::new(13.0));
        assert!((14..found.mass().grams() as u64).all(|steps| !weigh(steps, &fast, GRAM).is_accurate()));
        assert_eq!(grams(&next(10.0, &small).unwrap()), [32.0, 1.0], "1 in 33 is as near as 3 in 100");
        assert_eq!(next(10.0, &[1.0 - 1e-6, 1e-6]), None);
    }

    #[test]
    fn a_small_portion_gives_its_error_and_has_every_part() {
        let shares = [0.97, 0.03];
        let weighed = weigh(10, &shares, GRAM);
        assert_eq!(grams(&weighed), [9.0, 1.0]);
        assert!(weighed.off.percent() > 200.0);
        assert_eq!(grams(&weigh(1, &shares, GRAM)), [1.0, 0.0]);
        assert_eq!(grams(&weigh(0, &shares, GRAM)), [0.0, 0.0]);
        assert_eq!(weigh(0, &shares, GRAM).off, Percent::new(100.0));
    }

    #[test]
    fn portions_are_equal_and_add_up_to_the_need() {
        assert_eq!(equal_portion(Grams::new(1000.0), 3, GRAM), 334);
        assert_eq!(equal_portion(Grams::new(537.2), 1, GRAM), 538);
        assert_eq!(equal_portion(Grams::new(537.000_000_1), 1, GRAM), 537);
        assert_eq!(equal_portion(Grams::new(1000.0), 2, Grams::new(5.0)), 100);
    }
}

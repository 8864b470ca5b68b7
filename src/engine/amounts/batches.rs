//! The number of batches of a coat: the fewest that can each be spread before they set.

use std::ops::RangeInclusive;

use chrono::TimeDelta;

use super::mixing::AirFrom;
use crate::engine::job::Vessel;
use crate::engine::profile::Product;
use crate::engine::units::{Celsius, Grams};

/// How long a mixed portion is usable.
pub trait Pot {
    /// Pot life of a portion of this mass from mixing, in this vessel, now and in this air.
    ///
    /// # Errors
    /// [`Unfit`] if a portion of this mass must not be mixed.
    fn usable(
        &self,
        product: &Product,
        mass: Grams,
        vessel: Vessel,
        air: &AirThere<'_>,
    ) -> Result<Usable, Unfit>;
}

/// The air in which a portion is mixed and spread.
#[derive(Debug, Clone, Copy)]
pub struct AirThere<'p> {
    /// The place.
    pub place: &'p str,
    /// The temperature there plus the thermometer's error.
    pub warm: Celsius,
    /// Its source.
    pub from: AirFrom,
}

/// The pot life of a portion, and its source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Usable {
    /// From mixing on.
    pub time: TimeDelta,
    /// Its source.
    pub by: UsableBy,
    /// Whether it is outside the temperatures of the profile.
    pub basis: bool,
}

/// The source of a pot life.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UsableBy {
    /// The profile's pot life of that mass or the next larger one, in constant air.
    Sheet,
    /// A portion that heats itself in the expected air.
    Model {
        /// Whether its temperature rise is an estimate.
        estimated: bool,
        /// Whether it gets dangerously hot if left.
        runs_away: bool,
    },
}

/// Why a portion of this mass must not be mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// There are no data for this mass.
    Unknown,
    /// It would get dangerously hot during use.
    Hot,
}

/// The pot life from the profile: for the next larger mass of its table, and for no larger mass, which would
/// heat itself more and set sooner. It is that of a cup; in a tray it is no shorter.
#[derive(Debug, Clone, Copy, Default)]
pub struct PotBySheet;

impl Pot for PotBySheet {
    fn usable(&self, product: &Product, mass: Grams, _: Vessel, air: &AirThere<'_>) -> Result<Usable, Unfit> {
        let portion = product.pot_life.iter().find(|portion| portion.mass >= mass).ok_or(Unfit::Unknown)?;
        let (time, basis) = (portion.times.time_at(air.warm), portion.times.is_extrapolated(air.warm));
        Ok(Usable { time, by: UsableBy::Sheet, basis })
    }
}

/// What to split.
#[derive(Debug, Clone, Copy)]
pub struct Spreading<'p> {
    /// The product.
    pub product: &'p Product,
    /// Total mass.
    pub mass: Grams,
    /// The vessel of each batch.
    pub vessel: Vessel,
    /// Time to spread all of it, if known.
    pub takes: Option<TimeDelta>,
    /// The air in which it is mixed and spread.
    pub air: AirThere<'p>,
}

/// A number of equal batches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Split {
    /// Their number.
    pub count: usize,
    /// How long one is usable after its induction time.
    pub usable: TimeDelta,
    /// Time to spread one, if known.
    pub spread: Option<TimeDelta>,
    /// Source of the pot life.
    pub by: UsableBy,
    /// Whether it is outside the temperatures of the profile.
    pub basis: bool,
    /// Why batches that suit the pace are not larger.
    pub capped: Option<Unfit>,
}

/// Why a coat cannot be split into batches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSplit {
    /// The profile gives no pot life.
    NoPotLife,
    /// The profile gives no density, so the mass is unknown.
    NoMass,
    /// Even the smallest batch sets before it has stood or is spread.
    SetsFirst,
    /// Even the smallest batch gets dangerously hot during use.
    TooHot,
    /// More batches than anyone mixes for one coat, each as large as the pot life is known for.
    TooMany,
}

/// The most batches for one coat.
pub(super) const MOST: usize = 60;

/// The fewest equal batches that are each spread before they set. The pot life runs from mixing, so an
/// induction time is subtracted. If the spreading time is unknown, the fewest for which the pot life is known.
///
/// # Errors
/// [`NoSplit`] if no number of batches works.
pub fn split(spreading: &Spreading<'_>, pot: &dyn Pot) -> Result<Split, NoSplit> {
    split_into(1..=MOST, spreading, pot)
}

/// The same for these numbers of batches only.
///
/// # Errors
/// [`NoSplit`] if none of them works.
pub(super) fn split_into(
    counts: RangeInclusive<usize>,
    spreading: &Spreading<'_>,
    pot: &dyn Pot,
) -> Result<Split, NoSplit> {
    let induction = spreading.product.mix.as_ref().and_then(|mix| mix.induction).unwrap_or(TimeDelta::zero());
    let (mut known, mut unfit) = (false, None);
    for count in counts {
        let mass = Grams::new(spreading.mass.grams() / count as f64);
        let found = match pot.usable(spreading.product, mass, spreading.vessel, &spreading.air) {
            Ok(found) => found,
            Err(why) => {
                unfit = Some(why);
                continue;
            }
        };
        let usable = found.time - induction;
        let spread = spreading.takes.map(|takes| takes / count as i32);
        if usable > TimeDelta::zero() && spread.is_none_or(|spread| spread <= usable) {
            let capped = unfit.filter(|_| !known);
            return Ok(Split { count, usable, spread, by: found.by, basis: found.basis, capped });
        }
        known = true;
    }
    Err(match unfit {
        _ if known => NoSplit::SetsFirst,
        _ if spreading.product.pot_life.is_empty() => NoSplit::NoPotLife,
        Some(Unfit::Hot) => NoSplit::TooHot,
        _ => NoSplit::TooMany,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::profile::Library;

    /// A pot with a constant pot life in minutes up to a mass, whatever the product.
    struct Minutes(i64, f64);

    impl Pot for Minutes {
        fn usable(&self, _: &Product, mass: Grams, _: Vessel, _: &AirThere<'_>) -> Result<Usable, Unfit> {
            let time = TimeDelta::minutes(self.0);
            let fits = mass.grams() <= self.1;
            fits.then_some(Usable { time, by: UsableBy::Sheet, basis: false }).ok_or(Unfit::Unknown)
        }
    }

    /// A pot in which more than this mass gets hot.
    struct Hot(f64);

    impl Pot for Hot {
        fn usable(
            &self,
            product: &Product,
            mass: Grams,
            vessel: Vessel,
            air: &AirThere<'_>,
        ) -> Result<Usable, Unfit> {
            let fits = mass.grams() <= self.0;
            if fits { Minutes(30, 1e6).usable(product, mass, vessel, air) } else { Err(Unfit::Hot) }
        }
    }

    fn of(id: &str, mass: f64, takes: Option<i64>, air: f64, pot: &dyn Pot) -> Result<Split, NoSplit> {
        let library = Library::built_in();
        let spreading = Spreading {
            product: library.get(id).unwrap(),
            mass: Grams::new(mass),
            vessel: Vessel::Cup,
            takes: takes.map(TimeDelta::minutes),
            air: AirThere { place: "shop", warm: Celsius::new(air), from: AirFrom::Given },
        };
        split(&spreading, pot)
    }

    fn count(split: Result<Split, NoSplit>) -> usize {
        split.unwrap().count
    }

    #[test]
    fn a_coat_that_is_spread_before_it_sets_is_one_batch() {
        let all = |takes| count(of("epoxy-sealer", 600.0, Some(takes), 20.0, &Minutes(30, 1e6)));
        assert_eq!(all(30), 1);
        assert_eq!(all(31), 2);
        assert_eq!(all(91), 4);
    }

    #[test]
    fn the_induction_time_is_subtracted_from_the_pot_life() {
        // The varnish stands for 10 minutes first.
        let split = of("varnish-two-part", 600.0, Some(50), 20.0, &Minutes(35, 1e6)).unwrap();
        let half = TimeDelta::minutes(25);
        assert_eq!((split.count, split.usable, split.spread), (2, half, Some(half)));
        assert_eq!(of("varnish-two-part", 600.0, Some(50), 20.0, &Minutes(10, 1e6)), Err(NoSplit::SetsFirst));
        assert_eq!(of("varnish-two-part", 600.0, None, 20.0, &Minutes(10, 1e6)), Err(NoSplit::SetsFirst));
    }

    #[test]
    fn no_batch_is_larger_than_the_pot_life_is_known_for() {
        // The profile gives 20 and 30 °C for 100 g and 500 g.
        let slow = |mass, takes| of("epoxy-laminating-slow", mass, takes, 20.0, &PotBySheet).unwrap();
        assert_eq!(slow(500.0, Some(10)).count, 1);
        assert_eq!(slow(501.0, Some(10)).count, 2);
        assert_eq!(slow(1400.0, None).count, 3);
        assert_eq!(slow(501.0, Some(10)).capped, Some(Unfit::Unknown));
        assert_eq!(slow(500.0, Some(10)).capped, None);
        assert_eq!(slow(501.0, Some(140)).capped, None, "three batches, for the pace and not for the pot");
        assert_eq!(slow(500.0, Some(10)).usable, TimeDelta::minutes(60));
        assert_eq!(slow(100.0, Some(10)).usable, TimeDelta::minutes(75));
        assert_eq!(slow(101.0, Some(10)).usable, TimeDelta::minutes(60), "the next larger mass");
    }

    #[test]
    fn no_batch_is_so_large_that_it_gets_hot() {
        let hot = |mass| of("epoxy-sealer", mass, Some(10), 20.0, &Hot(200.0));
        assert_eq!((hot(200.0).unwrap().count, hot(200.0).unwrap().capped), (1, None));
        assert_eq!((hot(500.0).unwrap().count, hot(500.0).unwrap().capped), (3, Some(Unfit::Hot)));
        assert_eq!(of("epoxy-sealer", 500.0, Some(10), 20.0, &Hot(0.0)), Err(NoSplit::TooHot));
    }

    #[test]
    fn a_warm_shop_needs_more_batches() {
        let fast = |air| count(of("epoxy-laminating-fast", 100.0, Some(40), air, &PotBySheet));
        assert_eq!(fast(10.0), 1);
        assert_eq!(fast(20.0), 2);
        assert_eq!(fast(30.0), 4);
    }

    #[test]
    fn one_part_has_no_pot_life() {
        assert_eq!(of("varnish-alkyd", 600.0, Some(30), 20.0, &PotBySheet), Err(NoSplit::NoPotLife));
        assert_eq!(of("epoxy-sealer", 600.0, Some(30), 20.0, &Minutes(30, 1.0)), Err(NoSplit::TooMany));
    }
}

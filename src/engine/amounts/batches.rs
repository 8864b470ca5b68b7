//! How many batches a coat is mixed in: as few as can each be spread before they set.

use std::ops::RangeInclusive;

use chrono::TimeDelta;

use super::mixing::AirFrom;
use crate::engine::job::Vessel;
use crate::engine::profile::Product;
use crate::engine::units::{Celsius, Grams};

/// How long a mixed portion is usable.
pub trait Pot {
    /// How long a portion of this mass is usable from mixing on, in this vessel, now and in this air.
    ///
    /// # Errors
    /// [`Unfit`] where so large a portion is not to be mixed.
    fn usable(
        &self,
        product: &Product,
        mass: Grams,
        vessel: Vessel,
        air: &AirThere<'_>,
    ) -> Result<Usable, Unfit>;
}

/// The air that a portion is mixed and spread in.
#[derive(Debug, Clone, Copy)]
pub struct AirThere<'p> {
    /// The place.
    pub place: &'p str,
    /// How warm it is there, the thermometer's error on top.
    pub warm: Celsius,
    /// How that is known.
    pub from: AirFrom,
}

/// How long a portion is usable, and by what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Usable {
    /// From mixing on.
    pub time: TimeDelta,
    /// How that was found.
    pub by: UsableBy,
    /// Whether it lies beyond the temperatures of the profile.
    pub basis: bool,
}

/// How it was found how long a portion is usable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UsableBy {
    /// From the profile's pot life of that mass or the next larger one, in air that stays as it is.
    Sheet,
    /// From a portion that warms itself in the air to come.
    Model {
        /// Whether how far it warms itself is an estimate.
        estimated: bool,
        /// Whether it gets dangerously hot by itself if it is left where it is.
        runs_away: bool,
    },
}

/// Why so large a portion is not to be mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// Nothing is known of so much.
    Unknown,
    /// It would get dangerously hot while it is worked with.
    Hot,
}

/// The pot life as the profile gives it: for the next larger mass of its table, and for nothing larger than
/// that, which would warm itself more and set sooner. That is of a cup; in a tray it is no shorter.
#[derive(Debug, Clone, Copy, Default)]
pub struct PotBySheet;

impl Pot for PotBySheet {
    fn usable(&self, product: &Product, mass: Grams, _: Vessel, air: &AirThere<'_>) -> Result<Usable, Unfit> {
        let portion = product.pot_life.iter().find(|portion| portion.mass >= mass).ok_or(Unfit::Unknown)?;
        let (time, basis) = (portion.times.time_at(air.warm), portion.times.is_extrapolated(air.warm));
        Ok(Usable { time, by: UsableBy::Sheet, basis })
    }
}

/// What is to be split.
#[derive(Debug, Clone, Copy)]
pub struct Spreading<'p> {
    /// The product.
    pub product: &'p Product,
    /// All that is to be mixed.
    pub mass: Grams,
    /// What each batch stands in.
    pub vessel: Vessel,
    /// How long it takes to spread all of it, where that is known.
    pub takes: Option<TimeDelta>,
    /// The air it is mixed and spread in.
    pub air: AirThere<'p>,
}

/// So many batches, all alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Split {
    /// How many.
    pub count: usize,
    /// How long one is usable once it has stood through its induction time.
    pub usable: TimeDelta,
    /// How long it takes to spread one, where that is known.
    pub spread: Option<TimeDelta>,
    /// How it was found how long one is usable.
    pub by: UsableBy,
    /// Whether that lies beyond the temperatures of the profile.
    pub basis: bool,
    /// Why batches that would do for the pace are not larger.
    pub capped: Option<Unfit>,
}

/// Why a coat cannot be split into batches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSplit {
    /// The profile gives no pot life.
    NoPotLife,
    /// The profile gives no density, so that the mass is not known.
    NoMass,
    /// However small the batch: it sets before it has stood, or before it is spread.
    SetsFirst,
    /// However small the batch: it gets dangerously hot while it is worked with.
    TooHot,
    /// More batches than anyone mixes for one coat, each as large as the pot life is known for.
    TooMany,
}

/// More batches nobody mixes for one coat.
pub(super) const MOST: usize = 60;

/// The fewest equal batches that are each spread before they set. The pot life runs from mixing, so that an
/// induction time is taken off it. Where it is not known how long spreading takes, the fewest that the pot
/// life knows of.
///
/// # Errors
/// [`NoSplit`] where no number of batches will do.
pub fn split(spreading: &Spreading<'_>, pot: &dyn Pot) -> Result<Split, NoSplit> {
    split_into(1..=MOST, spreading, pot)
}

/// The same of these numbers of batches only.
///
/// # Errors
/// [`NoSplit`] where none of them will do.
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

    /// Whatever the product: a pot that is usable for so many minutes, whatever its mass, up to a mass.
    struct Minutes(i64, f64);

    impl Pot for Minutes {
        fn usable(&self, _: &Product, mass: Grams, _: Vessel, _: &AirThere<'_>) -> Result<Usable, Unfit> {
            let time = TimeDelta::minutes(self.0);
            let fits = mass.grams() <= self.1;
            fits.then_some(Usable { time, by: UsableBy::Sheet, basis: false }).ok_or(Unfit::Unknown)
        }
    }

    /// A pot in which more than so much gets hot.
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
    fn what_is_spread_before_it_sets_is_one_batch() {
        let all = |takes| count(of("epoxy-sealer", 600.0, Some(takes), 20.0, &Minutes(30, 1e6)));
        assert_eq!(all(30), 1);
        assert_eq!(all(31), 2);
        assert_eq!(all(91), 4);
    }

    #[test]
    fn the_induction_time_is_taken_off_the_pot_life() {
        // The varnish stands for 10 minutes first.
        let split = of("varnish-two-part", 600.0, Some(50), 20.0, &Minutes(35, 1e6)).unwrap();
        let half = TimeDelta::minutes(25);
        assert_eq!((split.count, split.usable, split.spread), (2, half, Some(half)));
        assert_eq!(of("varnish-two-part", 600.0, Some(50), 20.0, &Minutes(10, 1e6)), Err(NoSplit::SetsFirst));
        assert_eq!(of("varnish-two-part", 600.0, None, 20.0, &Minutes(10, 1e6)), Err(NoSplit::SetsFirst));
    }

    #[test]
    fn no_batch_is_larger_than_the_pot_life_is_known_for() {
        // 20 and 30 °C are given for 100 g and 500 g.
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
    fn a_warm_shop_asks_for_more_batches() {
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

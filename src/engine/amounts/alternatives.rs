//! Alternatives to impractical batches in a cup: a tray, a slower product, a cooler shop, or a smaller area at
//! a time.

use chrono::TimeDelta;

use super::batches::{AirThere, MOST, NoSplit, Split, Spreading, UsableBy, split_into};
use super::mixing::{AirFrom, Shop, ToMix, weighed};
use super::need::{Need, coat_need};
use super::parts::Weighed;
use crate::engine::job::Vessel;
use crate::engine::profile::Product;
use crate::engine::units::{Celsius, Grams, Millilitres, Millimetres, SquareMetres};

/// The most batches that people willingly mix for one coat (common practice, no source).
pub const HANDFUL: usize = 6;
/// A shorter pot life is over before the batch is stirred, poured and spread (common practice, no source).
const SHORTEST: TimeDelta = TimeDelta::minutes(5);
/// Depths to try for a tray, in millimetres: thinner is a film, deeper is a pot.
const DEPTHS: [f64; 10] = [20.0, 15.0, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0];
/// Largest tray in mm²: half a metre square (an estimate).
const TRAY: f64 = 250_000.0;

/// Why batches in a cup are impractical.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Impractical {
    /// More than `HANDFUL`.
    Many,
    /// Each is less than what stays in the tools.
    Little,
    /// Each is usable for a few minutes only.
    Short,
    /// No number of batches works.
    None(NoSplit),
}

/// Alternatives, each by itself; None if it does not help.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternatives {
    /// The reason.
    pub why: Impractical,
    /// The same product, each batch in a tray.
    pub tray: Option<InTray>,
    /// A slower product of the same kind, in a cup.
    pub slower: Option<Slower>,
    /// In a cup in a cooler shop.
    pub cooler: Option<Cooler>,
    /// The area that a few batches cover.
    pub at_a_time: Option<SquareMetres>,
}

/// Batches in a tray.
#[derive(Debug, Clone, PartialEq)]
pub struct InTray {
    /// Filling depth.
    pub depth: Millimetres,
    /// Side of a square tray that one batch fills to this depth.
    pub side: Millimetres,
    /// Number of batches, and the pot life of each.
    pub split: Split,
    /// What to weigh out.
    pub batches: Vec<Weighed>,
}

/// A slower product for the same film.
#[derive(Debug, Clone, PartialEq)]
pub struct Slower {
    /// Its id.
    pub product: String,
    /// Mass for the whole coat.
    pub mass: Grams,
    /// In a cup.
    pub split: Split,
}

/// A cooler shop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooler {
    /// The highest air temperature, as a thermometer shows it.
    pub air: Celsius,
    /// In a cup.
    pub split: Split,
}

impl Alternatives {
    /// None if batches in a cup are practical, or there are no data about them.
    pub(super) fn of(
        coat: &ToMix<'_>,
        cup: Result<Split, NoSplit>,
        air: AirThere<'_>,
        shop: &Shop<'_>,
    ) -> Option<Self> {
        let why = fiddly(cup, &coat.need, coat.practice.in_tools)?;
        let seeking = Seeking { coat, air, shop };
        let tray = seeking.tray(cup);
        let best = tray.as_ref().map(|tray| tray.split).or(cup.ok().filter(|_| why == Impractical::Many));
        let too_many = best.filter(|split| split.count > HANDFUL);
        let share = |split: Split| coat.size.square_metres() * HANDFUL as f64 / split.count as f64;
        Some(Self {
            why,
            slower: seeking.slower(),
            cooler: seeking.cooler(),
            at_a_time: too_many.map(share).map(SquareMetres::new),
            tray,
        })
    }
}

/// Why batches are impractical; None if they are practical or there are no data about them.
fn fiddly(split: Result<Split, NoSplit>, need: &Need, in_tools: Millilitres) -> Option<Impractical> {
    let split = match split {
        Ok(split) => split,
        Err(NoSplit::NoMass | NoSplit::NoPotLife) => return None,
        Err(why) => return Some(Impractical::None(why)),
    };
    // A coat that needs no more than this is itself small.
    let small = |volume: Millilitres| volume.millilitres() / (split.count as f64) < in_tools.millilitres();
    if split.count > 1 && need.product.volume.is_some_and(small) {
        Some(Impractical::Little)
    } else if split.usable < SHORTEST {
        Some(Impractical::Short)
    } else {
        (split.count > HANDFUL).then_some(Impractical::Many)
    }
}

/// The inputs of the search.
struct Seeking<'s> {
    coat: &'s ToMix<'s>,
    air: AirThere<'s>,
    shop: &'s Shop<'s>,
}

impl Seeking<'_> {
    /// At most [`HANDFUL`] batches in trays, preferably ones that stay calm if left; of those the fewest, in
    /// the smallest tray. None if a cup is as good.
    fn tray(&self, cup: Result<Split, NoSplit>) -> Option<InTray> {
        let ToMix { product, need, pace, .. } = self.coat;
        let (mass, volume) = (need.product.mass?, need.product.volume?);
        let (takes, air) = (pace.map(|pace| pace.takes), self.air);
        let in_tools = self.coat.practice.in_tools;
        let filled = |depth: f64| {
            // 1 mL is 1 mm deep on 1000 mm².
            let fewest = (volume.millilitres() * 1000.0 / depth / TRAY).ceil().max(1.0) as usize;
            let vessel = Vessel::Tray { depth_mm: Millimetres::new(depth) };
            let spreading = Spreading { product, mass, vessel, takes, air };
            let split = split_into(fewest..=MOST, &spreading, self.shop.pot).ok()?;
            let workable = matches!(fiddly(Ok(split), need, in_tools), None | Some(Impractical::Many));
            (workable && split.by != UsableBy::Sheet).then_some((split, depth))
        };
        let rank = |(split, _): &(Split, f64)| (split.count > HANDFUL, runs_away(split.by), split.count);
        let (split, depth) = DEPTHS.into_iter().filter_map(filled).min_by_key(rank)?;
        let many = fiddly(cup, need, in_tools) == Some(Impractical::Many);
        if many && cup.is_ok_and(|cup| cup.count <= split.count) {
            return None;
        }
        let side = (volume.millilitres() / split.count as f64 * 1000.0 / depth).sqrt();
        Some(InTray {
            depth: Millimetres::new(depth),
            side: Millimetres::new(side),
            batches: weighed(product, need, split.count, self.shop),
            split,
        })
    }

    /// In a cup, in at most [`HANDFUL`] practical batches.
    fn in_cups(&self, product: &Product, need: &Need, air: AirThere<'_>) -> Option<Split> {
        let takes = self.coat.pace.map(|pace| pace.takes);
        let spreading = Spreading { product, mass: need.product.mass?, vessel: Vessel::Cup, takes, air };
        let split = split_into(1..=HANDFUL, &spreading, self.shop.pot).ok()?;
        fiddly(Ok(split), need, self.coat.practice.in_tools).is_none().then_some(split)
    }

    /// The product of the same kind, for the same film, with the longest pot life.
    fn slower(&self) -> Option<Slower> {
        let ToMix { product, size, practice, library, .. } = self.coat;
        let air = (self.shop.air)(self.air.place).0;
        let suits = |other: &&Product| {
            let allowed = &other.application;
            other.id != product.id
                && is_of_a_kind(product, other)
                && allowed.coolest <= air
                && air <= allowed.warmest
        };
        let split = |other: &Product| {
            let need = coat_need(other, *size, practice)?;
            let split = self.in_cups(other, &need, self.air)?;
            Some(Slower { product: other.id.clone(), mass: need.product.mass?, split })
        };
        let found = library.iter().filter(suits).filter_map(split);
        found.max_by_key(|slower| (std::cmp::Reverse(slower.split.count), slower.split.usable))
    }

    /// The highest whole degree below the current air that works, inside the ranges of product and pot life.
    fn cooler(&self) -> Option<Cooler> {
        let ToMix { product, need, .. } = self.coat;
        let try_at = |degrees: i64| {
            let air = Celsius::new(degrees as f64);
            let there =
                AirThere { place: self.air.place, warm: self.shop.warmest(air), from: AirFrom::Given };
            let split = self.in_cups(product, need, there).filter(|split| !split.basis)?;
            Some(Cooler { air, split })
        };
        let is = (self.shop.air)(self.air.place).0;
        let given = product.pot_life.iter().filter_map(|life| life.times.points().first());
        let coolest =
            given.map(|point| point.at.degrees()).fold(product.application.coolest.degrees(), f64::max);
        let (mut low, mut high) = (coolest.ceil() as i64, is.degrees().ceil() as i64);
        let mut found = try_at(low).filter(|_| low < high)?;
        while high - low > 1 {
            let middle = i64::midpoint(low, high);
            match try_at(middle) {
                Some(cooler) => (low, found) = (middle, cooler),
                None => high = middle,
            }
        }
        Some(found)
    }
}

const fn runs_away(by: UsableBy) -> bool {
    matches!(by, UsableBy::Model { runs_away: true, .. })
}

/// Whether two products differ only in speed: same family, same cure, same film.
fn is_of_a_kind(one: &Product, other: &Product) -> bool {
    let film = |product: &Product| product.film.as_ref().map(|film| (film.wet, film.volume_solids));
    one.family == other.family
        && one.cure == other.cure
        && other.mix.is_some()
        && film(one).is_some()
        && film(one) == film(other)
}

#[cfg(test)]
mod tests;

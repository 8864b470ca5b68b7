//! Batches of a coat: in a cup, and the alternatives if that is impractical.

use chrono::TimeDelta;

use super::alternatives::Alternatives;
use super::batches::{AirThere, NoSplit, Pot, Split, Spreading, split};
use super::need::{Need, Practice};
use super::pace::Pace;
use super::parts::{Weighed, equal_portion, weigh_accurately};
use crate::engine::job::Vessel;
use crate::engine::profile::{Library, Product};
use crate::engine::units::{Celsius, Grams, KelvinDelta, Moment, SquareMetres};

/// The shop in which it is mixed.
pub struct Shop<'s> {
    /// The current air of a place, and its source.
    pub air: &'s dyn Fn(&str) -> (Celsius, AirFrom),
    /// Error of the thermometer: batches are calculated on the warm side.
    pub thermometer_error: KelvinDelta,
    /// The pot life of a portion.
    pub pot: &'s dyn Pot,
    /// The resolution of the scale.
    pub scale: Grams,
}

/// The source of an air temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AirFrom {
    /// Read at this moment.
    Read(Moment),
    /// Given by the person.
    Given,
    /// No reading: [`UNREAD`] is used.
    Unread,
}

/// The air without a reading: that of most data sheets.
pub const UNREAD: Celsius = Celsius::new(20.0);

/// The batches of a coat.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixing {
    /// What to weigh out, by batch, in a cup; empty if unknown.
    pub batches: Vec<Weighed>,
    /// The split, or why there is none.
    pub split: Result<Split, NoSplit>,
    /// How long the whole coat takes.
    pub pace: Option<Pace>,
    /// The air, and its source.
    pub air: (Celsius, AirFrom),
    /// The same plus the thermometer's error; the batches are calculated with it.
    pub warm: Celsius,
    /// Whether the pot life of that air is outside the profile's temperatures.
    pub extrapolated: bool,
    /// Alternatives if batches in a cup are impractical.
    pub alternatives: Option<Alternatives>,
}

/// A coat of a product that is mixed.
pub(super) struct ToMix<'m> {
    pub product: &'m Product,
    pub need: Need,
    pub size: SquareMetres,
    pub pace: Option<Pace>,
    pub place: &'m str,
    pub practice: &'m Practice,
    pub library: &'m Library,
}

impl Mixing {
    pub(super) fn of(coat: &ToMix<'_>, shop: &Shop<'_>) -> Self {
        let ToMix { product, need, pace, place, .. } = coat;
        let air = (shop.air)(place);
        let warm = shop.warmest(air.0);
        let there = AirThere { place, warm, from: air.1 };
        let (vessel, takes) = (Vessel::Cup, pace.map(|pace| pace.takes));
        let found = match need.product.mass {
            Some(mass) => split(&Spreading { product, mass, vessel, takes, air: there }, shop.pot),
            None => Err(NoSplit::NoMass),
        };
        let batches = found.map_or_else(|_| Vec::new(), |split| weighed(product, need, split.count, shop));
        let of_the_table = || product.pot_life.iter().any(|portion| portion.times.is_extrapolated(warm));
        let extrapolated = found.map_or_else(|_| of_the_table(), |split| split.basis);
        let alternatives = Alternatives::of(coat, found, there, shop);
        Self { batches, split: found, pace: *pace, air, warm, extrapolated, alternatives }
    }

    /// How long the whole coat takes.
    pub fn takes(&self) -> Option<TimeDelta> {
        self.pace.map(|pace| pace.takes)
    }

    /// The recommended batches: in a tray if a cup is impractical and a tray works.
    pub fn best(&self) -> &[Weighed] {
        let tray = self.alternatives.as_ref().and_then(|alternatives| alternatives.tray.as_ref());
        tray.map_or(&self.batches, |tray| &tray.batches)
    }
}

impl Shop<'_> {
    /// The highest true temperature for a thermometer reading.
    pub(super) fn warmest(&self, air: Celsius) -> Celsius {
        Celsius::new(air.degrees() + self.thermometer_error.kelvin())
    }
}

/// `count` equal batches of what a coat needs, rounded to the scale; none if the profile gives no ratio by
/// mass.
pub(super) fn weighed(product: &Product, need: &Need, count: usize, shop: &Shop<'_>) -> Vec<Weighed> {
    let shares = product.mix.as_ref().and_then(|mix| mix.shares_by_mass());
    let Some((mass, shares)) = need.product.mass.zip(shares) else { return Vec::new() };
    vec![weigh_accurately(equal_portion(mass, count, shop.scale), &shares, shop.scale); count]
}

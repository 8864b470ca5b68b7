//! In what batches a coat is mixed: in a cup, and where that is none to work with, the way out.

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
    /// The air of a place now, and how it is known.
    pub air: &'s dyn Fn(&str) -> (Celsius, AirFrom),
    /// How far the thermometer may be off: batches are reckoned on the warm side.
    pub thermometer_error: KelvinDelta,
    /// How long a portion is usable.
    pub pot: &'s dyn Pot,
    /// What the scale shows.
    pub scale: Grams,
}

/// How the air is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AirFrom {
    /// It was read then.
    Read(Moment),
    /// The person said so.
    Given,
    /// Nothing was read: [`UNREAD`] is taken.
    Unread,
}

/// The air where none was read: that of most data sheets.
pub const UNREAD: Celsius = Celsius::new(20.0);

/// In what batches a coat is mixed.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixing {
    /// What to weigh out, batch by batch, in a cup; empty where that cannot be told.
    pub batches: Vec<Weighed>,
    /// How they were found, or why not.
    pub split: Result<Split, NoSplit>,
    /// How long the whole coat takes.
    pub pace: Option<Pace>,
    /// The air, and how it is known.
    pub air: (Celsius, AirFrom),
    /// The same with the thermometer's error on top, by which the batches are reckoned.
    pub warm: Celsius,
    /// Whether the pot life of that air lies beyond the profile's temperatures.
    pub extrapolated: bool,
    /// What to do where batches in a cup are none to work with.
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

    /// What is best weighed out: for a tray where a cup is none to work with and a tray is.
    pub fn best(&self) -> &[Weighed] {
        let tray = self.alternatives.as_ref().and_then(|alternatives| alternatives.tray.as_ref());
        tray.map_or(&self.batches, |tray| &tray.batches)
    }
}

impl Shop<'_> {
    /// As warm as it may be where a thermometer shows so much.
    pub(super) fn warmest(&self, air: Celsius) -> Celsius {
        Celsius::new(air.degrees() + self.thermometer_error.kelvin())
    }
}

/// So many equal batches of what a coat needs, as the scale shows them; none where the profile does not tell the
/// ratio by mass.
pub(super) fn weighed(product: &Product, need: &Need, count: usize, shop: &Shop<'_>) -> Vec<Weighed> {
    let shares = product.mix.as_ref().and_then(|mix| mix.shares_by_mass());
    let Some((mass, shares)) = need.product.mass.zip(shares) else { return Vec::new() };
    vec![weigh_accurately(equal_portion(mass, count, shop.scale), &shares, shop.scale); count]
}

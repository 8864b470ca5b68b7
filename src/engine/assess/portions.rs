//! How long a portion is usable: by the model of the pot where that is calibrated, else by the profile's table.

use std::cell::RefCell;
use std::rc::Rc;

use crate::engine::amounts::{AirFrom, AirThere, Pot, PotBySheet, Unfit, Usable, UsableBy};
use crate::engine::assess::Survey;
use crate::engine::cure::{AirLine, Bound};
use crate::engine::pot::{Hazard, Kinetics, Outside, Portion, Vessel, Warmth};
use crate::engine::profile::Product;
use crate::engine::units::{Grams, Moment};

/// Portions that heat themselves in the expected air, with every temperature raised by its error.
pub struct PotByModel {
    /// The air of each place from now on.
    airs: Vec<(String, AirLine)>,
    /// The products asked about so far: to calibrate one takes as long as many portions.
    known: RefCell<Vec<(String, Option<Rc<Kinetics>>)>>,
}

impl PotByModel {
    /// Portions that are mixed at `now` in the places of a survey.
    pub fn of(survey: &Survey<'_>, now: Moment) -> Self {
        let places = survey.places.iter().zip(&survey.skies);
        let airs = places.filter_map(|(place, sky)| {
            Some((place.place.clone(), sky.history.air_from(now, Bound::Warmest)?))
        });
        Self { airs: airs.collect(), known: RefCell::default() }
    }

    /// The kinetics of a product; None if it is not calibrated.
    fn kinetics(&self, product: &Product) -> Option<Rc<Kinetics>> {
        let mut known = self.known.borrow_mut();
        if let Some((_, kinetics)) = known.iter().find(|(id, _)| *id == product.id) {
            return kinetics.clone();
        }
        let calibrated = Kinetics::of(product).filter(|kinetics| kinetics.warmth() != Warmth::None);
        let kinetics = calibrated.map(Rc::new);
        known.push((product.id.clone(), kinetics.clone()));
        kinetics
    }

    /// The air from now on: that of the place if it has readings, else constant.
    fn air(&self, there: &AirThere<'_>) -> AirLine {
        let read = self.airs.iter().find(|(place, _)| place == there.place);
        match (there.from, read) {
            (AirFrom::Read(_), Some((_, air))) => air.clone(),
            _ => AirLine::steady(there.warm),
        }
    }
}

impl Pot for PotByModel {
    fn usable(
        &self,
        product: &Product,
        mass: Grams,
        vessel: Vessel,
        air: &AirThere<'_>,
    ) -> Result<Usable, Unfit> {
        let by_sheet = || PotBySheet.usable(product, mass, vessel, air);
        let Some(kinetics) = self.kinetics(product) else { return by_sheet() };
        let line = self.air(air);
        let portion = Portion { mass, vessel, temperature: None };
        let self_heating = kinetics.self_heating(&portion, &line).ok_or(Unfit::Unknown)?;
        let outside = kinetics.outside(&portion, &line, &self_heating);
        if outside.iter().any(|outside| matches!(outside, Outside::MassBelow(_))) {
            // Such a small mass stays at the air's temperature: the table holds, on the safe side.
            return by_sheet();
        }
        if Hazard::of(&self_heating) == Hazard::Hot {
            return Err(Unfit::Hot);
        }
        if outside.iter().any(|outside| !outside.is_of_the_temperature()) {
            return Err(Unfit::Unknown);
        }
        let (estimated, runs_away) =
            (kinetics.is_estimated(&portion), Hazard::of(&self_heating) != Hazard::Calm);
        Ok(Usable {
            time: self_heating.usable,
            by: UsableBy::Model { estimated, runs_away },
            basis: !outside.is_empty(),
        })
    }
}

#[cfg(test)]
mod tests;

//! When a batch is dangerous, and when the model does not apply.

use super::kinetics::{Kinetics, Warmth};
use super::self_heating::{Portion, SelfHeating};
use super::vessel::Vessel;
use crate::engine::cure::AirLine;
use crate::engine::units::{Celsius, Grams};

/// A batch that gets as warm as this while it is worked with is dangerous. Above 60 °C every liquid that the
/// globally harmonised system (GHS) calls flammable by its flash point gives off vapour that burns, and bare
/// skin burns within seconds (both from memory: GHS chapter 2.6, category 3; ISO 13732-1).
pub const HOT: Celsius = Celsius::new(60.0);

/// The danger of a batch to the person beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hazard {
    /// It stays near the air temperature.
    Calm,
    /// It runs away before the end of its pot life, and if left gets dangerously hot.
    RunsAway,
    /// It gets dangerously hot during use.
    Hot,
}

impl Hazard {
    /// The hazard of a calculated batch.
    pub fn of(self_heating: &SelfHeating) -> Self {
        match self_heating.outruns {
            _ if self_heating.peak >= HOT => Self::Hot,
            Some(_) if self_heating.left >= HOT => Self::RunsAway,
            _ => Self::Calm,
        }
    }
}

/// Why the model does not apply. The batch is then never shown as safe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outside {
    /// More than ten times the data sheet's mass; the limit itself is still inside.
    MassAbove(Grams),
    /// Less than a tenth of it.
    MassBelow(Grams),
    /// A tray that keeps its heat like ten times the data sheet's mass in a cup.
    Deep,
    /// Cooler than the data sheet's lowest temperature.
    Cooler(Celsius),
    /// Warmer than its highest.
    Warmer(Celsius),
    /// The data sheet's pot lives do not fit a batch that heats itself.
    Unreconciled,
}

/// The model applies from 1/10 to 10 times the data sheet's mass.
const TRUSTED: f64 = 10.0;

impl Kinetics {
    /// The smallest and the largest mass in a cup to which the model applies.
    pub fn trusted_masses(&self) -> (Grams, Grams) {
        (Grams::new(self.masses.0.grams() / TRUSTED), Grams::new(self.masses.1.grams() * TRUSTED))
    }

    /// Whether the figures of a batch depend on an estimated temperature rise.
    pub fn is_estimated(&self, portion: &Portion) -> bool {
        let reference = portion.vessel == Vessel::Cup && portion.mass == self.masses.0;
        !reference && !matches!(self.warmth(), Warmth::Fitted(_))
    }

    /// What about a batch, and the air during its pot life, lies outside the calibrated range.
    pub fn outside(&self, portion: &Portion, air: &AirLine, self_heating: &SelfHeating) -> Vec<Outside> {
        let (least, most) = self.trusted_masses();
        let deepest = Vessel::Cup.cooling(most);
        let mut outside = Vec::new();
        match portion.vessel {
            Vessel::Cup if portion.mass > most => outside.push(Outside::MassAbove(most)),
            Vessel::Tray { .. } if portion.vessel.cooling(portion.mass) > deepest => {
                outside.push(Outside::Deep)
            }
            _ if portion.mass < least => outside.push(Outside::MassBelow(least)),
            _ => {}
        }
        let (low, high) = air.range(self_heating.usable);
        let start = portion.temperature.unwrap_or(low);
        let (low, high) = (if start < low { start } else { low }, if start > high { start } else { high });
        let (coolest, warmest) = self.temperatures;
        // Typed and converted values differ in the last digit.
        let basis = |a: Celsius, b: Celsius| a.degrees() > b.degrees() + 1e-6;
        outside.extend(basis(coolest, low).then_some(Outside::Cooler(coolest)));
        outside.extend(basis(high, warmest).then_some(Outside::Warmer(warmest)));
        outside.extend((self.warmth() == Warmth::None).then_some(Outside::Unreconciled));
        outside
    }
}

impl Outside {
    /// Whether only the temperature is outside, where the data sheet's line is extrapolated; not the batch as
    /// such, for which there are no data.
    pub const fn is_of_the_temperature(self) -> bool {
        matches!(self, Self::Cooler(_) | Self::Warmer(_))
    }
}

//! A batch in calendar time: usable from, usable until, bounds and hazard.

use chrono::TimeDelta;

use super::hazard::{Hazard, Outside};
use super::kinetics::Kinetics;
use super::self_heating::{Portion, SelfHeating};
use crate::engine::cure::{AirLine, Bound, History};
use crate::engine::units::{Celsius, Moment};

/// When the pot life ends. None: never, with the readings so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Usable {
    /// With temperatures as measured.
    pub at: Option<Moment>,
    /// With every temperature raised by its error.
    pub earliest: Option<Moment>,
    /// With every temperature lowered by its error.
    pub latest: Option<Moment>,
}

/// The standing of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct PotStanding {
    /// When it was mixed.
    pub mixed_at: Moment,
    /// The end of its induction time, if the product has one.
    pub induction_over: Option<Moment>,
    /// Until when it is usable. Induction counts as part of it, on the safe side.
    pub usable: Usable,
    /// Peak temperature during the pot life.
    pub peak: Celsius,
    /// The same with every temperature raised by its error.
    pub peak_at_most: Celsius,
    /// Peak temperature if it is left standing, with every temperature raised by its error; an estimate.
    pub left: Celsius,
    /// The earliest moment at which its own heat outruns the cooling.
    pub outruns: Option<Moment>,
    /// The hazard, with every temperature raised by its error.
    pub hazard: Hazard,
    /// Where the model does not apply.
    pub outside: Vec<Outside>,
    /// Whether the figures depend on an estimated temperature rise.
    pub estimated: bool,
    /// Whether it depends on temperatures after the last reading.
    pub assumed: bool,
}

impl PotStanding {
    /// Calculates a batch in the air of its place; `induction` is the wait between mixing and the first stroke.
    /// None if no temperature is known.
    pub fn calculate(
        kinetics: &Kinetics,
        induction: Option<TimeDelta>,
        portion: &Portion,
        mixed_at: Moment,
        history: &History,
    ) -> Option<Self> {
        let last = history.last_reading()?;
        let self_heating = |bound: Bound| {
            let (portion, air) = Self::edge(portion, mixed_at, history, bound)?;
            Some((kinetics.self_heating(&portion, &air), portion, air))
        };
        let (as_read, shown_portion, air) = self_heating(Bound::AsRead)?;
        let (warmest, coolest) = (self_heating(Bound::Warmest)?.0, self_heating(Bound::Coolest)?.0);
        let ends = |self_heating: &Option<SelfHeating>| {
            self_heating.map(|self_heating| mixed_at + self_heating.usable)
        };
        let usable = Usable { at: ends(&as_read), earliest: ends(&warmest), latest: ends(&coolest) };
        let most = warmest?;
        let shown = as_read.unwrap_or(most);
        Some(Self {
            mixed_at,
            induction_over: induction.map(|wait| mixed_at + wait),
            usable,
            peak: shown.peak,
            peak_at_most: most.peak,
            left: most.left,
            outruns: most.outruns.map(|after| mixed_at + after),
            hazard: Hazard::of(&most),
            outside: kinetics.outside(&shown_portion, &air, &shown),
            estimated: kinetics.is_estimated(&shown_portion),
            assumed: usable.latest.is_none_or(|latest| latest > last),
        })
    }

    /// A batch and its air at one bound of the errors.
    pub fn edge(
        portion: &Portion,
        mixed_at: Moment,
        history: &History,
        bound: Bound,
    ) -> Option<(Portion, AirLine)> {
        let air = history.air_from(mixed_at, bound)?;
        let error = bound.sign() * history.outlook().thermometer_error().kelvin();
        let temperature = portion.temperature.map(|given| Celsius::new(given.degrees() + error));
        Some((Portion { temperature, ..*portion }, air))
    }
}

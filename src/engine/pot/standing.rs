//! A batch on the wall clock: usable from when, until when, how sure that is, and what it does meanwhile.

use chrono::TimeDelta;

use super::hazard::{Hazard, Outside};
use super::kinetics::Kinetics;
use super::self_heating::{Portion, SelfHeating};
use crate::engine::cure::{AirLine, Bound, History};
use crate::engine::units::{Celsius, Moment};

/// Until when a batch is usable. None: never through on what is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Usable {
    /// As the temperatures were read.
    pub at: Option<Moment>,
    /// With every temperature raised by its error.
    pub earliest: Option<Moment>,
    /// With every temperature lowered by it.
    pub latest: Option<Moment>,
}

/// Where a batch stands.
#[derive(Debug, Clone, PartialEq)]
pub struct PotStanding {
    /// When it was mixed.
    pub mixed_at: Moment,
    /// The end of its induction time, where the product has one.
    pub induction_over: Option<Moment>,
    /// Until when it is usable. Induction counts as part of it: that is the safe side.
    pub usable: Usable,
    /// The warmest it gets by then.
    pub peak: Celsius,
    /// The same with every temperature raised by its error.
    pub peak_at_most: Celsius,
    /// How warm it gets if it is left where it is, with every temperature raised by its error; an estimate.
    pub left: Celsius,
    /// From when on its own heat outruns the cooling, at the earliest.
    pub outruns: Option<Moment>,
    /// How dangerous it is, with every temperature raised by its error.
    pub hazard: Hazard,
    /// What the model has nothing to rest on.
    pub outside: Vec<Outside>,
    /// Whether the figure depends on how far the product warms itself, and its profile does not tell that.
    pub estimated: bool,
    /// Whether it rests on temperatures behind the last reading.
    pub assumed: bool,
}

impl PotStanding {
    /// Reckons a batch over the air of its place; `induction` is the wait between mixing and the first stroke.
    /// None where no temperature is known.
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
        let (as_read, told_portion, air) = self_heating(Bound::AsRead)?;
        let (warmest, coolest) = (self_heating(Bound::Warmest)?.0, self_heating(Bound::Coolest)?.0);
        let ends = |self_heating: &Option<SelfHeating>| {
            self_heating.map(|self_heating| mixed_at + self_heating.usable)
        };
        let usable = Usable { at: ends(&as_read), earliest: ends(&warmest), latest: ends(&coolest) };
        let most = warmest?;
        let told = as_read.unwrap_or(most);
        Some(Self {
            mixed_at,
            induction_over: induction.map(|wait| mixed_at + wait),
            usable,
            peak: told.peak,
            peak_at_most: most.peak,
            left: most.left,
            outruns: most.outruns.map(|after| mixed_at + after),
            hazard: Hazard::of(&most),
            outside: kinetics.outside(&told_portion, &air, &told),
            estimated: kinetics.is_estimated(&told_portion),
            assumed: usable.latest.is_none_or(|latest| latest > last),
        })
    }

    /// A batch and its air at an edge of what may be true.
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

//! The batches in use, each with its standing.

use std::rc::Rc;

use chrono::TimeDelta;

use crate::engine::assess::AreaSurvey;
use crate::engine::assess::Readings;
use crate::engine::assess::Sky;
use crate::engine::cure::{AirLine, Bound, History, Outlook};
use crate::engine::job::{Batch, Job};
use crate::engine::pot::{Hazard, Kinetics, Portion, PotStanding, Safer};
use crate::engine::profile::{Library, Product};
use crate::engine::units::{Celsius, KelvinDelta, Moment};

/// A batch with its standing.
#[derive(Debug, Clone)]
pub struct BatchSurvey<'a> {
    /// The batch.
    pub batch: Batch,
    /// Its product; None if unknown to the program.
    pub product: Option<&'a Product>,
    /// Its standing; None if no temperature is known.
    pub standing: Option<PotStanding>,
    /// The last reading of its place that counts.
    pub last_reading: Option<Moment>,
    /// The areas on which it is being spread, else those that take its product next.
    pub goes_on: Vec<String>,
    model: Option<Model>,
}

/// The inputs of a batch calculation.
#[derive(Debug, Clone)]
struct Model {
    kinetics: Rc<Kinetics>,
    portion: Portion,
    /// The air with every temperature raised by its error.
    warmest: AirLine,
    /// The error of a thermometer.
    error: KelvinDelta,
}

/// A batch without an end in the record is shown for this long after its pot life.
const FORGOTTEN: TimeDelta = TimeDelta::hours(12);
/// An older batch is ignored.
const LONG_AGO: TimeDelta = TimeDelta::days(14);

impl BatchSurvey<'_> {
    /// Whether it is in use: not emptied, and not long past its pot life.
    pub fn is_live(&self, now: Moment) -> bool {
        let end = self.standing.as_ref().map_or(Some(self.batch.mixed_at), |standing| standing.usable.latest);
        self.batch.emptied.is_none() && end.is_none_or(|end| now < end + FORGOTTEN)
    }

    /// Whether a coat may be begun with it: its induction time is over and its pot life is not.
    pub fn is_usable(&self, now: Moment) -> bool {
        self.standing.as_ref().is_some_and(|standing| {
            standing.induction_over.is_none_or(|over| over <= now)
                && standing.usable.earliest.is_none_or(|end| now < end)
        })
    }

    /// Whether it is harmless or dangerous; None if no temperature is known. Where the model does not apply it
    /// counts as dangerous.
    pub fn is_dangerous(&self) -> Option<bool> {
        let standing = self.standing.as_ref()?;
        let untrusted = standing.outside.iter().any(|outside| !outside.is_of_the_temperature());
        Some(standing.hazard == Hazard::Hot || untrusted)
    }

    /// Safe alternatives, by trial.
    pub fn safer(&self) -> Option<Safer> {
        let model = self.model.as_ref()?;
        let induction = self.product.and_then(|product| product.mix.as_ref()?.induction);
        let wait = induction.unwrap_or(TimeDelta::zero());
        let safer = model.kinetics.safer(&model.portion, &model.warmest, wait);
        // The trial uses the highest temperature of the parts; the displayed one may be lower by the error.
        let read = |warmest: Celsius| Celsius::new((warmest.degrees() - model.error.kelvin()).floor());
        Some(Safer { cooler: safer.cooler.map(read), ..safer })
    }
}

/// The batches of a job: those in use, or `all`.
pub fn survey<'a, R: Readings>(
    job: &Job,
    library: &'a Library,
    readings: &R,
    (places, skies): (&[String], &[Sky]),
    thermometer_error: KelvinDelta,
    now: Moment,
    all: bool,
) -> Result<Vec<BatchSurvey<'a>>, R::Error> {
    let mut known: Vec<(&str, Option<Rc<Kinetics>>)> = Vec::new();
    let mut surveyed = Vec::new();
    for batch in &job.batches {
        if !all && (batch.emptied.is_some() || now - batch.mixed_at > LONG_AGO) {
            continue;
        }
        let product = library.get(&batch.product).ok();
        let kinetics = match known.iter().find(|(id, _)| *id == batch.product) {
            Some((_, kinetics)) => kinetics.clone(),
            None => {
                let kinetics = product.and_then(Kinetics::of).map(Rc::new);
                known.push((&batch.product, kinetics.clone()));
                kinetics
            }
        };
        let sky = places.iter().position(|place| *place == batch.place).and_then(|index| skies.get(index));
        let outlook = sky.map_or_else(|| Outlook::held(thermometer_error), |sky| sky.outlook().clone());
        let until = now.min(batch.mixed_at + LONG_AGO);
        let history = History::new(readings.readings(&batch.place, batch.mixed_at, until)?, outlook);
        let mut pot = BatchSurvey {
            batch: batch.clone(),
            product,
            standing: None,
            last_reading: history.last_reading(),
            goes_on: Vec::new(),
            model: None,
        };
        if let Some(kinetics) = kinetics {
            pot.calculate(kinetics, &history);
        }
        if all || pot.is_live(now) {
            surveyed.push(pot);
        }
    }
    Ok(surveyed)
}

impl BatchSurvey<'_> {
    /// The areas for it.
    pub fn find_its_areas(&mut self, areas: &[AreaSurvey<'_>]) {
        let id = self.batch.id;
        let applied = |area: &&AreaSurvey<'_>| {
            area.newest
                .as_ref()
                .is_some_and(|coat| coat.coat.batch == Some(id) && coat.coat.last_stroke.is_none())
        };
        let takes_it = |area: &&AreaSurvey<'_>| {
            area.wants_coat() && area.next.is_some_and(|next| next.id == self.batch.product)
        };
        let names = |found: Vec<&AreaSurvey<'_>>| found.into_iter().map(|area| area.name.clone()).collect();
        let now: Vec<String> = names(areas.iter().filter(applied).collect());
        self.goes_on = if now.is_empty() { names(areas.iter().filter(takes_it).collect()) } else { now };
    }

    fn calculate(&mut self, kinetics: Rc<Kinetics>, history: &History) {
        let Batch { mass, vessel, temperature, mixed_at, .. } = self.batch;
        let portion = Portion { mass, vessel, temperature };
        let induction = self.product.and_then(|product| product.mix.as_ref()?.induction);
        self.standing = PotStanding::calculate(&kinetics, induction, &portion, mixed_at, history);
        self.model =
            PotStanding::edge(&portion, mixed_at, history, Bound::Warmest).map(|(portion, warmest)| {
                let error = history.outlook().thermometer_error();
                Model { kinetics, portion, warmest, error }
            });
    }
}

#[cfg(test)]
mod tests;

//! The batches of a survey: those that stand in the shop, each with its standing.

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
    /// Its product; None where the program does not know it.
    pub product: Option<&'a Product>,
    /// Where it stands; None where no temperature is known.
    pub standing: Option<PotStanding>,
    /// The last reading of its place that counts.
    pub last_reading: Option<Moment>,
    /// The areas that it is being spread on, or else those that take its product next.
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
    /// How far a thermometer may be off.
    error: KelvinDelta,
}

/// A batch without an end in the record is shown for this long after its pot life.
const FORGOTTEN: TimeDelta = TimeDelta::hours(12);
/// A batch that was mixed longer ago is not asked about at all.
const LONG_AGO: TimeDelta = TimeDelta::days(14);

impl BatchSurvey<'_> {
    /// Whether it stands in the shop as far as is known: nobody emptied it, and it is not long through.
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

    /// Whether it is known to be harmless, or else dangerous; None where no temperature is known. What the model
    /// is not trusted with counts as dangerous.
    pub fn is_dangerous(&self) -> Option<bool> {
        let standing = self.standing.as_ref()?;
        let untrusted = standing.outside.iter().any(|outside| !outside.is_of_the_temperature());
        Some(standing.hazard == Hazard::Hot || untrusted)
    }

    /// What would be safe in its stead, by trying.
    pub fn safer(&self) -> Option<Safer> {
        let model = self.model.as_ref()?;
        let induction = self.product.and_then(|product| product.mix.as_ref()?.induction);
        let wait = induction.unwrap_or(TimeDelta::zero());
        let safer = model.kinetics.safer(&model.portion, &model.warmest, wait);
        // What is tried there is the warmest that the parts may be; what is read off them may be as much less.
        let read = |warmest: Celsius| Celsius::new((warmest.degrees() - model.error.kelvin()).floor());
        Some(Safer { cooler: safer.cooler.map(read), ..safer })
    }
}

/// The batches of a job: those that are live, or `all` of them.
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
    /// Where it goes.
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

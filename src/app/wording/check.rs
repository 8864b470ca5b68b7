//! A check in words: the verdict, every reason, the next slots, and the assumptions. The command and the coat
//! form show the same.

use super::Words;
use super::words::sentence;
use crate::engine::air::NotPredicted;
use crate::engine::assess::{Answer, AreaSurvey, Sky, Substrate, Survey, Verdict};
use crate::engine::profile::Product;
use crate::engine::units::{Moment, clean};

/// A reason against a coat now.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// Its key in JSON.
    pub code: &'static str,
    /// A sentence with its figures.
    pub text: String,
    /// Since when.
    pub from: Moment,
}

/// Whether a coat may go on an area, in words and figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Yes, not yet, or no.
    pub answer: Answer,
    /// The verdict.
    pub verdict: Verdict,
    /// The verdict with the area and the product.
    pub says: String,
    /// The reasons and the time limit, strongest first, a sentence each.
    pub why: Vec<String>,
    /// Until when it may start, or has to wait; None if unknown.
    pub until: Option<Moment>,
    /// The next possible start, if it may not start now.
    pub from: Option<Moment>,
    /// All reasons against it now.
    pub reasons: Vec<Reason>,
    /// The next stretches long enough for it, soonest first.
    pub slots: Vec<(Moment, Moment)>,
    /// The same with weekday and times.
    pub slot_texts: Vec<String>,
    /// Index of the first slot for which the film below has to be sanded.
    pub sanded_from: usize,
    /// Why only the current air was judged, if so.
    pub unforecast: Option<String>,
}

impl Check {
    /// The slots for a coat as it is, and those after a sanding.
    pub fn slots_by_ground(&self) -> (&[String], &[String]) {
        self.slot_texts.split_at(self.sanded_from.min(self.slot_texts.len()))
    }
}

impl Survey<'_> {
    /// Checks a coat of a product on an area at the survey's moment. None if its place is unknown.
    pub fn check_text(&self, area: &AreaSurvey<'_>, product: &Product, words: &Words) -> Option<Check> {
        let now = self.at;
        let judgement = self.check(area, product)?;
        let verdict = area.verdict_on(&judgement, now);
        let (name, id) = (clean(&area.name), &product.id);
        let says = sentence(&format!("{}: {name}, {id}", words.headline(verdict, now)));
        let why = words.why_with_tape(area, &judgement, product, now);
        let why = why.iter().map(|why| clean(why)).collect();
        let go = judgement.answer == Answer::Go;
        let sky = self.sky(&area.place);
        Some(Check {
            answer: judgement.answer,
            verdict,
            says,
            why,
            until: judgement.begin_by().filter(|_| go),
            from: judgement.next_start().filter(|_| !go),
            reasons: words.reasons(area, &judgement, product, now),
            slot_texts: judgement.slots.iter().map(|slot| words.slot(*slot, now)).collect(),
            sanded_from: judgement.slots.iter().take_while(|slot| !owed(area, product, **slot)).count(),
            slots: judgement.slots,
            unforecast: sky.filter(|_| !go).and_then(|sky| unforecast(sky, &area.place)),
        })
    }
}

/// Whether the film below has to be sanded before this slot.
fn owed(area: &AreaSurvey<'_>, product: &Product, slot: (Moment, Moment)) -> bool {
    let ground = Substrate::forbids(area, product, slot.0);
    ground.is_some_and(|ground| ground.is_owed() && !ground.is_tape())
}

fn unforecast(sky: &Sky, place: &str) -> Option<String> {
    let sentence = match sky.not_predicted.as_ref()? {
        NotPredicted::NoForecast if sky.forecast_at.is_some() => {
            "The forecast has ended, so only the air now was checked: curewright forecast".into()
        }
        NotPredicted::NoForecast => {
            "There is no forecast, so only the air now was checked: curewright forecast".into()
        }
        NotPredicted::TooLittle(why) => {
            clean(&format!("The air of {place} cannot be forecast: {why}. Only the air now was checked."))
        }
        NotPredicted::NoReading => return None,
    };
    Some(sentence)
}

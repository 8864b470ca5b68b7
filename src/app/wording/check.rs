//! A check in words: the verdict, every reason, the next slots, and what that rests on. The command and the form of
//! a coat show the same.

use super::Words;
use super::words::sentence;
use crate::engine::air::NotPredicted;
use crate::engine::assess::{Answer, AreaSurvey, Sky, Substrate, Survey, Verdict};
use crate::engine::profile::Product;
use crate::engine::units::{Moment, clean};

/// Something that speaks against a coat now.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// Its key in JSON.
    pub code: &'static str,
    /// A sentence with its figures.
    pub text: String,
    /// From when on.
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
    /// Why, and until when, the strongest reason first, each a sentence.
    pub why: Vec<String>,
    /// Until when it may be begun, or wait; None where that has no end that is known.
    pub until: Option<Moment>,
    /// When it may be begun next, where it may not now.
    pub from: Option<Moment>,
    /// Everything that speaks against it now.
    pub reasons: Vec<Reason>,
    /// The next stretches long enough for it, soonest first.
    pub slots: Vec<(Moment, Moment)>,
    /// The same with weekday and times.
    pub slot_texts: Vec<String>,
    /// From which of them on what is under the coat has to be sanded first.
    pub sanded_from: usize,
    /// Why only the air now was judged, where it was.
    pub unforecast: Option<String>,
}

impl Check {
    /// The slots for a coat as things are, and those for it once it is sanded.
    pub fn slots_by_ground(&self) -> (&[String], &[String]) {
        self.slot_texts.split_at(self.sanded_from.min(self.slot_texts.len()))
    }
}

impl Survey<'_> {
    /// Checks a coat of a product on an area at the survey's moment. None where nothing is known of its
    /// place.
    pub fn check_text(&self, area: &AreaSurvey<'_>, product: &Product, words: &Words) -> Option<Check> {
        let now = self.at;
        let judgement = self.check(area, product)?;
        let verdict = judgement.verdict();
        let (name, id) = (clean(&area.name), &product.id);
        let says = sentence(&format!("{}: {name}, {id}", words.headline(verdict, now)));
        let why = words.why(area, &judgement, product, now).iter().map(|why| clean(why)).collect();
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

/// Whether what is under a coat has to be sanded before this slot.
fn owed(area: &AreaSurvey<'_>, product: &Product, slot: (Moment, Moment)) -> bool {
    Substrate::forbids(area, product, slot.0).is_some_and(Substrate::is_owed)
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

//! What a check tells, in words: the verdict, every reason, the next slots, and on what that rests. The
//! command and the form of a coat show the same.

use crate::app::wording::Words;
use crate::engine::air::NotPredicted;
use crate::engine::assess::Sky;
use crate::engine::assess::Substrate;
use crate::engine::assess::{AreaSurvey, Survey};
use crate::engine::assess::{Judgement, Verdict};
use crate::engine::profile::Product;
use crate::engine::units::{Moment, clean};

/// Something that speaks against a coat now.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// Its key in JSON.
    pub code: &'static str,
    /// In words and figures.
    pub text: String,
    /// From when on.
    pub from: Moment,
}

/// Whether a coat may go on an area, in words and figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Yes, not yet, or no.
    pub verdict: Verdict,
    /// The verdict in a sentence.
    pub says: String,
    /// Until when the air suits it, in a sentence, where it does now and the end is foreseen.
    pub until: Option<String>,
    /// Everything that speaks against it now.
    pub reasons: Vec<Reason>,
    /// The next stretches long enough for it, soonest first.
    pub slots: Vec<(Moment, Moment)>,
    /// The same with weekday and times.
    pub slots_told: Vec<String>,
    /// From which of them on what is under the coat has to be sanded first.
    pub sanded_from: usize,
    /// Why nothing is foreseen, in a sentence, where nothing is.
    pub not_predicted: Option<String>,
}

impl Check {
    /// The slots that a coat may go on in as things are, and those in which it may once it is sanded.
    pub fn slots_by_ground(&self) -> (&[String], &[String]) {
        self.slots_told.split_at(self.sanded_from.min(self.slots_told.len()))
    }
}

impl Survey<'_> {
    /// Checks a coat of a product on an area at the survey's moment. None where nothing is known of its
    /// place.
    pub fn check_text(&self, area: &AreaSurvey<'_>, product: &Product, words: &Words) -> Option<Check> {
        let now = self.at;
        let fitness = self.check(area, product)?;
        let name = clean(&area.name);
        let id = &product.id;
        let says = match (fitness.verdict, fitness.slots.first()) {
            (Verdict::Go, _) => format!("Go: {name} may take a coat of {id} now."),
            (Verdict::Wait, Some(slot)) if fitness.under.is_some_and(Substrate::is_owed) && slot.0 <= now => {
                format!("Wait until it is sanded: then {name} may take a coat of {id}.")
            }
            (Verdict::Wait, Some(slot)) => {
                let when = words.when(slot.0, now);
                let sanded = if owed(area, product, *slot) { ", once it is sanded," } else { "" };
                format!("Wait until {when}: then{sanded} {name} may take a coat of {id}.")
            }
            _ => format!("No: {name} may not take a coat of {id} on what is known."),
        };
        let sky = self.sky(&area.place);
        Some(Check {
            verdict: fitness.verdict,
            says,
            until: until(&fitness, words, now),
            reasons: words
                .reasons(&fitness, now)
                .into_iter()
                .chain(not_listed(area, product, words, now))
                .collect(),
            slots_told: fitness.slots.iter().map(|slot| words.slot(*slot, now)).collect(),
            sanded_from: fitness.slots.iter().take_while(|slot| !owed(area, product, **slot)).count(),
            slots: fitness.slots,
            not_predicted: sky.and_then(|sky| unforeseen_told(sky, &area.place)),
        })
    }
}

impl Words {
    /// What speaks against a coat now: what is under it first, then the air.
    pub fn reasons(&self, judgement: &Judgement, now: Moment) -> Vec<Reason> {
        let under = judgement.under.map(|under| self.substrate(under, now));
        let air = judgement.air.iter().map(|(against, from)| Reason {
            code: against.code(),
            text: self.against(*against, *from, now),
            from: *from,
        });
        under.into_iter().chain(air).collect()
    }
}

/// Whether what is under a coat has to be sanded before this slot.
fn owed(area: &AreaSurvey<'_>, product: &Product, slot: (Moment, Moment)) -> bool {
    Substrate::forbids(area, product, slot.0).is_some_and(Substrate::is_owed)
}

/// That the profile of the film under a coat does not name it, sanded or not.
fn not_listed(area: &AreaSurvey<'_>, product: &Product, words: &Words, now: Moment) -> Option<Reason> {
    let text = words.not_listed(area.not_listed(product)?);
    Some(Reason { code: "not_named", text, from: now })
}

fn until(fitness: &Judgement, words: &Words, now: Moment) -> Option<String> {
    let by = words.when(fitness.begin_by().filter(|_| fitness.verdict == Verdict::Go)?, now);
    Some(match fitness.met_later() {
        Some(last) => {
            let from = words.when(last.from, now);
            format!("Begin by {by}: one begun later is wet when {}, {from}.", words.meets(last.against))
        }
        None => format!("Begin by {by}, to finish before the window closes."),
    })
}

fn unforeseen_told(sky: &Sky, place: &str) -> Option<String> {
    let sentence = match sky.not_predicted.as_ref()? {
        NotPredicted::NoForecast if sky.forecast_at.is_some() => {
            "The forecast has come to its end, so only the air as it is now was judged: curewright forecast"
                .into()
        }
        NotPredicted::NoForecast => {
            "No forecast is known, so only the air as it is now was judged: curewright forecast".into()
        }
        NotPredicted::TooLittle(why) => {
            clean(&format!("Nothing is foreseen for {place}: {why}. The air as it is now was judged."))
        }
        // That is the first reason already.
        NotPredicted::NoReading => return None,
    };
    Some(sentence)
}

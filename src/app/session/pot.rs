//! Batches: calculate, mix, use up, and assign to a coat.

use super::{Done, Mixing, Session, SessionError};
use crate::app::json::BatchStatus;
use crate::engine::amounts::{Material, Part, Weighed, equal_portion, parts, weigh};
use crate::engine::assess::{BatchSurvey, Survey, SurveyOptions};
use crate::engine::job::{Entry, EntryId, EntryKind, Job, Vessel};
use crate::engine::pot::{Hazard, Kinetics, Safer};
use crate::engine::profile::{COMES_FIRST, Product};
use crate::engine::units::{Celsius, Grams, MassUnit, Moment, capital, clean};

/// A mixed or calculated batch.
#[derive(Debug, Clone)]
pub struct Mixed {
    /// The result in words.
    pub done: Done,
    /// The same as JSON.
    pub status: BatchStatus,
    /// Its parts, exact.
    pub parts: Vec<Part>,
    /// The same rounded to the scale; None if the profile gives no ratio by mass.
    pub weighed: Option<Weighed>,
    /// The end of its induction time.
    pub usable_from: Option<Moment>,
    /// Its peak temperature if left standing, and whether it then runs away.
    pub left: Option<(Celsius, bool)>,
    /// Safe alternatives, if it is dangerous.
    pub safer: Option<Safer>,
    /// Why the model does not apply, a clause each.
    pub outside: Vec<String>,
}

/// More than this is not mixed by hand; grams may be meant instead of kilograms.
const MOST: Grams = Grams::new(10_000.0);
/// The filling depths of a tray, in millimetres.
const DEPTHS: std::ops::RangeInclusive<f64> = 1.0..=200.0;

impl<'a> Session<'a> {
    /// Calculates a batch mixed at `at`, or now. Nothing is recorded.
    ///
    /// # Errors
    /// Where there is nothing to mix, or the job cannot be read.
    pub fn would_mix(&self, mixing: &Mixing, at: Option<Moment>) -> Result<Mixed, SessionError> {
        let at = at.unwrap_or_else(|| self.now());
        let (product, kind) = self.batch_entry(mixing, at)?;
        self.predict_place(product, kind, at, false)
    }

    /// Records a batch.
    ///
    /// [`SessionError::Ask`] if it is dangerous or the amount is implausible, and not confirmed; nothing is
    /// recorded then.
    /// not said yes; nothing is recorded then.
    pub fn mix(&mut self, mixing: &Mixing, at: Option<Moment>) -> Result<Mixed, SessionError> {
        let at = at.unwrap_or_else(|| self.now());
        let (product, kind) = self.batch_entry(mixing, at)?;
        if !mixing.sure {
            self.believe(product, mixing)?;
        }
        let forecast = self.predict_place(product, kind.clone(), at, false)?;
        if !mixing.sure && forecast.status.is_dangerous() {
            return Err(SessionError::Ask(forecast.done.says));
        }
        self.append(at, kind.clone())?;
        self.predict_place(product, kind, at, true)
    }

    /// Records that a batch is used up; by default the one in use.
    pub(super) fn emptied(&mut self, batch: Option<EntryId>, at: Moment) -> Result<Done, SessionError> {
        let batch = match batch {
            Some(batch) => batch,
            None => {
                let survey = self.survey(at, SurveyOptions::default())?;
                match survey.batches.as_slice() {
                    [one] => one.batch.id,
                    several => return Err(SessionError::Input(self.which(several))),
                }
            }
        };
        self.append(at, EntryKind::Emptied { batch })
    }

    /// The batch of a coat of a product, and its warnings. By default the one in use, if there is only one.
    pub(super) fn batch_for(
        &self,
        product: &Product,
        named: Option<EntryId>,
        at: Moment,
        sure: bool,
    ) -> Result<(Option<EntryId>, Vec<String>), SessionError> {
        if product.mix.is_none() && named.is_none() {
            return Ok((None, Vec::new()));
        }
        // The batches in use at that moment, by all current data.
        let now = self.answered_at(at);
        let survey = self.survey_with(None, at, now, looking_back(at, now))?;
        let stands = |pot: &&BatchSurvey<'_>| pot.batch.product == product.id && pot.is_live(at);
        let over = |pot: &BatchSurvey<'_>| {
            let end = pot.standing.as_ref().and_then(|standing| standing.usable.latest);
            end.is_some_and(|end| end <= at)
        };
        let mut standing: Vec<&BatchSurvey<'_>> = survey.batches.iter().filter(stands).collect();
        // One past its pot life needs a confirmation, unless another can be meant.
        if standing.iter().any(|pot| !over(pot)) {
            standing.retain(|pot| !over(pot));
        }
        let pot = match (named, standing.as_slice()) {
            // One that is not there is refused with the coat.
            (Some(id), _) => survey.batches.iter().find(|pot| pot.batch.id == id),
            (None, [one]) => Some(*one),
            (None, [_, _, ..]) => {
                let several: Vec<String> = standing.iter().map(|pot| pot.batch.id.to_string()).collect();
                let says =
                    format!("Batches {} of it are in use; choose one with --batch.", several.join(" and "));
                return Ok((None, vec![says]));
            }
            (None, []) => None,
        };
        let Some(pot) = pot else { return Ok((named, Vec::new())) };
        let id = pot.batch.id;
        let Some(standing) = &pot.standing else { return Ok((Some(id), Vec::new())) };
        let when = |moment| self.words().when(moment, at);
        if let Some(end) = standing.usable.earliest.filter(|end| *end <= at && !sure) {
            let over = if standing.usable.latest.is_some_and(|latest| latest <= at) {
                "is"
            } else {
                "may have been"
            };
            return Err(SessionError::Ask(format!(
                "the pot life of {} {over} over since {}; a coat of it may not harden properly. If this coat is from a fresh batch, record the batch first: curewright emptied {id}, curewright mix {}.",
                self.words().batch(&pot.batch),
                when(end),
                product.id
            )));
        }
        let early = standing.induction_over.filter(|over| *over > at);
        let early = early.map(|over| format!("The induction time of batch {id} runs until {}.", when(over)));
        Ok((Some(id), early.into_iter().collect()))
    }

    /// A batch that was taken back may be one that coats were taken from.
    pub(super) fn coats_without_batch(&self, taken: EntryId) -> Result<Vec<String>, SessionError> {
        let job = self.job(Moment::MAX_UTC)?;
        let of_it = job.areas.iter().flat_map(|area| {
            let coats = area.every_coat().filter(|coat| coat.batch == Some(taken));
            coats.map(|coat| format!("coat {} of {}", coat.layer, clean(&area.name)))
        });
        let coats: Vec<String> = of_it.collect();
        if coats.is_empty() {
            return Ok(Vec::new());
        }
        Ok(vec![format!(
            "{} is recorded as taken from batch {taken}, which no longer exists.",
            capital(&coats.join(", "))
        )])
    }

    fn which(&self, batches: &[BatchSurvey<'_>]) -> String {
        match batches {
            [] => "no batch is in use; \"curewright record\" shows all batches".into(),
            batches => {
                let names: Vec<String> = batches.iter().map(|pot| self.words().batch(&pot.batch)).collect();
                format!("which one is used up: {}?", names.join(" or "))
            }
        }
    }

    /// The entry of a batch, and its product.
    fn batch_entry(&self, mixing: &Mixing, at: Moment) -> Result<(&'a Product, EntryKind), SessionError> {
        let product = self.library().get(mixing.product.trim())?;
        if product.mix.is_none() {
            return Err(SessionError::Input(format!("{} has one part: there is nothing to mix", product.id)));
        }
        if let Vessel::Tray { depth_mm } = mixing.vessel
            && !DEPTHS.contains(&depth_mm.millimetres())
        {
            return Err(SessionError::Input(format!(
                "a tray {} mm deep is out of range (1 to 200 mm); give its depth as --depth 10mm, or leave --in tray out",
                plain(depth_mm.millimetres())
            )));
        }
        let place =
            mixing.place.as_deref().map(|place| clean(place.trim())).filter(|place| !place.is_empty());
        let first = || self.job(at).map(|job| job.first_place());
        let kind = EntryKind::Batch {
            product: product.id.clone(),
            mass_g: mixing.mass,
            vessel: mixing.vessel,
            temperature: mixing.temperature.map(|temperature| temperature.plausible()).transpose()?,
            place: place.map_or_else(first, Ok)?,
        };
        Ok((product, kind))
    }

    /// Whether an amount is one that is mixed of this product.
    fn believe(&self, product: &Product, mixing: &Mixing) -> Result<(), SessionError> {
        let units = self.words().units;
        let Some((least, most)) = Kinetics::of(product).map(|kinetics| kinetics.trusted_masses()) else {
            return Ok(());
        };
        let of_it = format!("{} of {}", units.mass(mixing.mass), product.id);
        // What the number would be in the other unit of the same kind.
        let (small, large, ratio) = match units.mass {
            MassUnit::Grams => ("g", "kg", 1000.0),
            MassUnit::Ounces => ("oz", "lb", 16.0),
        };
        let number = match units.mass {
            MassUnit::Grams => mixing.mass.grams(),
            MassUnit::Ounces => mixing.mass.grams() / Grams::PER_OUNCE,
        };
        let question = if mixing.mass > MOST || mixing.mass > most {
            let limit = if MOST < most { MOST } else { most };
            let limit = units.mass(limit);
            format!(
                "{of_it} in one batch is more than {limit}. If you mean {small}, write {}{small}.",
                plain(number / ratio)
            )
        } else if mixing.mass < least {
            format!(
                "{of_it} is less than {}. If you mean {large}, write {}{large}.",
                units.mass(least),
                plain(number)
            )
        } else {
            return Ok(());
        };
        Err(SessionError::Ask(question))
    }

    /// What comes of a batch; `recorded` says whether it is in the job already.
    fn predict_place(
        &self,
        product: &Product,
        kind: EntryKind,
        at: Moment,
        recorded: bool,
    ) -> Result<Mixed, SessionError> {
        let now = self.answered_at(at);
        let entries = self.entries()?;
        let next = entries.last().map_or(1, |entry| entry.id.0 + 1);
        let id = if recorded { EntryId(next - 1) } else { EntryId(next) };
        let entry = Entry { id, at, recorded: now, kind };
        let now = now.max(at);
        let survey =
            self.survey_with((!recorded).then_some(entry.clone()), now, now, looking_back(at, now))?;
        let lost = || SessionError::World("the batch is missing in the job".into());
        let pot = survey.batches.iter().find(|pot| pot.batch.id == id).ok_or_else(lost)?;
        let words = self.words();
        let summary = entry.summary(&words.units);
        let just_now = (now - at).abs() < chrono::TimeDelta::minutes(1);
        let when = if just_now { String::new() } else { format!(" ({})", words.when(at, now)) };
        let begins = if recorded {
            format!("Batch {id}: {summary}{when}.")
        } else {
            format!("{}{when}:", capital(summary.trim_start_matches("mixed ")))
        };
        let hot = pot.standing.as_ref().is_some_and(|standing| standing.hazard == Hazard::Hot);
        let safer = pot.safer().filter(|_| hot);
        let says =
            format!("{begins} {}", words.pot_answer(pot, safer.as_ref(), self.config.amounts.scale, now));
        let outside: Vec<String> = pot
            .standing
            .iter()
            .flat_map(|standing| standing.outside.iter().map(|outside| words.outside(*outside)))
            .collect();
        let mut cautions = words.pot_doubts(pot, now);
        if let (true, EntryKind::Batch { place, .. }) = (recorded, &entry.kind) {
            cautions.extend(super::execute::unknown_place(&self.job(now)?, place));
        }
        cautions.extend(product.cautions.iter().map(|caution| clean(caution)));
        cautions.push(COMES_FIRST.into());
        let status = BatchStatus::of(pot);
        let runs_away = |hazard: Hazard| hazard != Hazard::Calm;
        let left = pot.standing.as_ref().map(|standing| (standing.left, runs_away(standing.hazard)));
        let usable_from = pot.standing.as_ref().and_then(|standing| standing.induction_over);
        let mixed = Material::of_mass(pot.batch.mass, product.density());
        let parts = product.mix.as_ref().map(|mix| parts(mix, mixed)).unwrap_or_default();
        let shares = product.mix.as_ref().and_then(|mix| mix.shares_by_mass());
        let scale = self.config.amounts.scale;
        let weighed = shares.map(|shares| weigh(equal_portion(pot.batch.mass, 1, scale), &shares, scale));
        let done = Done { says, cautions };
        Ok(Mixed { done, status, parts, weighed, usable_from, left, safer, outside })
    }

    /// The survey of the job folded as of `fold`, with one entry more, calculated with the data at `now`.
    fn survey_with(
        &self,
        more: Option<Entry>,
        fold: Moment,
        now: Moment,
        options: SurveyOptions,
    ) -> Result<Survey<'a>, SessionError> {
        let mut entries = self.entries()?;
        entries.extend(more);
        let job = Job::fold(&entries, fold);
        self.survey_of(&job, now, options)
    }
}

/// What happened long ago may be of a batch that is not looked at any more.
fn looking_back(at: Moment, now: Moment) -> SurveyOptions {
    SurveyOptions { all_coats: now - at > chrono::TimeDelta::hours(1) }
}

/// A number as a person would write it.
fn plain(number: f64) -> String {
    let text = format!("{number:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

//! The first stroke of a coat: what is asked before it is recorded, and what is said with it.

use super::{Done, Session, SessionError};
use crate::app::wording::{OLD_PAINT, Words};
use crate::engine::air::Objection;
use crate::engine::assess::{
    AreaSurvey, CoatSurvey, Survey, SurveyOptions, old_paint_objects, pair_objection,
};
use crate::engine::cure::Phase;
use crate::engine::job::{Area, EntryId, EntryKind, Ground, Job, StepKind};
use crate::engine::profile::{COMES_FIRST, Product, Stage};
use crate::engine::units::{Moment, capital, clean};
use crate::io::store::StoreError;

impl Session<'_> {
    pub(super) fn coat(
        &mut self,
        area: &str,
        (product, next): (Option<String>, Option<String>),
        finished: bool,
        (batch, why): (Option<EntryId>, Option<String>),
        (sure, starts_now): (bool, bool),
        at: Moment,
    ) -> Result<Done, SessionError> {
        let job = self.job(at)?;
        let area = self.area_name(area, true)?;
        let product = match product {
            Some(id) => id,
            None => {
                let known = job.area(&area).and_then(|area| area.next_product().map(str::to_owned));
                known.ok_or_else(|| SessionError::WhichProduct { area: area.clone() })?
            }
        };
        let profile = self.library.get(product.trim())?;
        let next = next.map(|id| self.library.get(id.trim()).map(|next| next.id.clone())).transpose()?;
        let mut questions = Vec::new();
        let (batch, of_the_batch) = match self.batch_for(profile, batch, at, sure) {
            Err(SessionError::Ask(question)) => {
                questions.push(question);
                (batch, Vec::new())
            }
            found => found?,
        };
        let why = why.map(|why| clean(why.trim())).filter(|why| !why.is_empty());
        let kind =
            EntryKind::Coat { area: area.clone(), product: profile.id.clone(), next, finished, batch, why };
        // What cannot be recorded is not asked about first.
        self.job(Moment::MAX_UTC)?.admit(&kind, at, self.clock.latest()).map_err(StoreError::Refused)?;
        questions.extend(self.pair_question(&job, &area, profile));
        if starts_now && !sure {
            let survey = self.survey_of(&job, at, SurveyOptions::default())?;
            questions.extend(self.ground(&survey, &area, at));
        }
        let departure = job.area(&area).and_then(|area| area.departure(&profile.id));
        let against = departure.is_some();
        questions.extend(departure.map(|departure| self.words.departure(&departure)));
        if !questions.is_empty() && !sure {
            let questions = questions.join(" ");
            return Err(match against {
                true => SessionError::AgainstScheme(questions),
                false => SessionError::Ask(questions),
            });
        }
        let mut cautions = self.coat_cautions(profile, &job, &area, at)?;
        self.confirm(&job, &area, profile, at)?;
        cautions.splice(0..0, of_the_batch);
        let done = self.append(at, kind)?;
        Ok(Done { cautions, ..done })
    }

    /// What is asked about a product that no profile allows on the film below.
    fn pair_question(&self, job: &Job, area: &str, product: &Product) -> Option<String> {
        let area = job.area(area)?;
        let Some(film) = area.newest() else {
            let ground = area.plan.as_ref().and_then(|plan| plan.ground);
            let objects = old_paint_objects(ground, product, &job.confirmed);
            return objects.then(|| format!("{}.", capital(OLD_PAINT)));
        };
        let film = self.library.get(&film.product).ok()?;
        let pair = pair_objection(film, product, &job.confirmed)?;
        Some(format!("{}.", self.words.not_allowed(pair).trim_end_matches('.')))
    }

    /// Records that a person who was asked is sure of a pair that no profile allows.
    fn confirm(&mut self, job: &Job, area: &str, product: &Product, at: Moment) -> Result<(), SessionError> {
        if self.pair_question(job, area, product).is_some() {
            let film = job.area(area).and_then(Area::newest).map(|coat| coat.product.as_str());
            let film = film.unwrap_or(Ground::OldPaint.key()).to_owned();
            self.note_down(at, EntryKind::PairConfirmed { film, coat: product.id.clone() })?;
        }
        Ok(())
    }

    /// Records that a person asked both data sheets about a product on the film of an area, where no profile
    /// allows it.
    ///
    /// # Errors
    /// Where the job cannot be read or written, or the product is unknown.
    pub fn confirm_pair(&mut self, area: &str, product: Option<&str>) -> Result<(), SessionError> {
        let now = self.now();
        let job = self.job(now)?;
        let next = job.area(area).and_then(|area| area.next_product().map(str::to_owned));
        let Some(product) = product.map(str::to_owned).or(next) else { return Ok(()) };
        let product = self.library.get(product.trim())?;
        self.confirm(&job, area, product, now)
    }

    fn coat_cautions(
        &self,
        product: &Product,
        job: &Job,
        area: &str,
        at: Moment,
    ) -> Result<Vec<String>, SessionError> {
        let mut cautions: Vec<String> = product.cautions.iter().map(|caution| clean(caution)).collect();
        cautions.push(COMES_FIRST.into());
        let mut job = job.clone();
        let known = job.areas.iter_mut().find(|known| known.name.eq_ignore_ascii_case(area));
        if let Some(under) = known.and_then(|area| area.coats.last_mut()) {
            under.next = Some(product.id.clone());
        }
        let survey = self.survey_of(&job, at, SurveyOptions::default())?;
        let bare = survey.bare_area(area);
        let fitness = survey.check(survey.area(area).unwrap_or(&bare), product);
        let air = fitness.into_iter().flat_map(|fitness| fitness.air);
        let air = air.filter(|(against, _)| against.forbids() && *against != Objection::NoReading);
        let air = air.map(|(against, from)| {
            format!("The air is not suitable: {}.", self.words.against(against, from, at))
        });
        let full = survey.area(area).and_then(|area| self.one_too_many(area, product, at));
        let not_allowed = survey.area(area).and_then(|area| area.not_allowed(product));
        let not_allowed = not_allowed.map(|pair| capital(&self.words.not_allowed(pair)));
        let ground = self.ground(&survey, area, at).into_iter().chain(not_allowed);
        cautions.splice(0..0, ground.chain(full).chain(air));
        Ok(cautions)
    }

    /// What the film under a new coat is not ready for. The coat is recorded all the same: it has happened.
    fn ground(&self, survey: &Survey<'_>, area: &str, at: Moment) -> Option<String> {
        let area = survey.area(area)?;
        let read = survey.air(&area.place).is_some_and(|air| air.reading.is_some());
        let under = area.newest.as_ref().filter(|_| read);
        let not_ready = under.and_then(|under| not_ready(area, under, &self.words, at));
        not_ready.or_else(|| {
            let stripped =
                area.stripped.then(|| "A coat was taken off, and no sanding is recorded since.".to_owned());
            let wet = area.dry_from.filter(|dry| *dry > at);
            let wet = wet.map(|dry| format!("It was washed: let it dry until {}.", self.words.when(dry, at)));
            stripped.or(wet)
        })
    }
}

fn not_ready(area: &AreaSurvey<'_>, under: &CoatSurvey<'_>, words: &Words, at: Moment) -> Option<String> {
    // A coat that is not finished is refused for that reason.
    under.coat.last_stroke?;
    let standing = &under.standing;
    let from = |what: &str, moment: Option<Moment>| {
        moment.map(|moment| format!(" {what} from {}.", words.when(moment, at))).unwrap_or_default()
    };
    let sandable = || from("It can be sanded", standing.stage(Stage::Sandable).and_then(|r| r.latest));
    let sanded =
        area.steps.iter().any(|step| step.kind == StepKind::Sand && step.at >= under.coat.first_stroke);
    match (standing.phase_at(at), standing.window()) {
        (Phase::Wet, Some((open, _))) => {
            Some(format!("The coat below is not ready.{}", from("It can be recoated", open)))
        }
        (Phase::Wet, None) => Some(format!("The coat below is too soft to sand.{}", sandable())),
        (Phase::Shut, _) => Some(format!("The window of the coat below has closed.{}", sandable())),
        (Phase::Sandable | Phase::Cured, _) if !area.prepared => {
            let owed = match (standing.wash && !area.washed, sanded) {
                (true, true) => "washed",
                (true, false) => "washed and sanded",
                (false, _) => "sanded",
            };
            Some(format!("The coat below has to be {owed} first, and that is not recorded."))
        }
        _ => None,
    }
}

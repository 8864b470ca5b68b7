//! The plan of a job from its record, scheme, free hours and air.

use std::cell::Cell;
use std::path::PathBuf;

use chrono::TimeDelta;

use super::execute::area_of;
use super::{Session, SessionError, Shelf};
use crate::app::view::PlanView;
use crate::app::wording::{Checklist, Words};
use crate::engine::amounts::{Asked, ProductNeed, planned_needs};
use crate::engine::assess::{AreaSurvey, Sky, Survey, SurveyOptions};
use crate::engine::cure::{History, Outlook, Reading};
use crate::engine::hours::Stretch;
use crate::engine::job::{Area, Coat, Entry, EntryId, EntryKind, Job, Scheme, StepKind};
use crate::engine::plan::{
    Aim, AirBasis, AreaNow, Climate, Draws, Effort, FreeTime, Infeasible, Input, NewestCoat, PlaceAir, Plan,
    PlanProgress, Planning, ProgressSink, What, walk,
};
use crate::engine::units::{Celsius, Moment, clean, duration_text};

/// The options of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanRequest {
    /// A scheme's file name and text, in place of the job's own.
    pub scheme: Option<(String, String)>,
    /// The horizon in days.
    pub days: u32,
    /// Minimum temperature of the shop.
    pub heat: Option<Celsius>,
    /// The temperature if there are no readings.
    pub temperature: Option<Celsius>,
    /// The file with the climate after the forecast ends, in place of the one that the settings name.
    pub climate: Option<PathBuf>,
    /// The objective.
    pub aim: Aim,
    /// Whether to include the plans between the least work and the soonest end.
    pub choices: bool,
    /// The number of draws, and the seed.
    pub draws: Option<(usize, u64)>,
    /// Compare with the plan as of this long ago.
    pub since: Option<TimeDelta>,
    /// Whether to ignore forecasts made after the moment of the plan.
    pub recalled: bool,
    /// Areas whose coming steps are left out; the beginning of a name is enough.
    pub without: Vec<String>,
}

impl Default for PlanRequest {
    fn default() -> Self {
        Self {
            scheme: None,
            days: 90,
            heat: None,
            temperature: None,
            climate: None,
            aim: Aim::Soonest,
            choices: false,
            draws: None,
            since: None,
            recalled: false,
            without: Vec::new(),
        }
    }
}

/// A plan with all requested extras.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// The plan.
    pub plan: Plan,
    /// Whether it was stopped: the plan is the best so far, and the extras are missing.
    pub stopped: bool,
    /// From the least work to the soonest end.
    pub choices: Vec<Plan>,
    /// The uncertainty of its end.
    pub draws: Option<Draws>,
    /// The same without heating, if requested; or why there is none.
    pub unheated: Option<Result<Plan, Infeasible>>,
    /// The effect of the last days on the end, if requested.
    pub since: Option<Since>,
    /// The need of the coats, and its cost.
    pub materials: Vec<ProductNeed>,
    /// Its currency, from the settings.
    pub currency: String,
    /// The sources of the assumed air, by place.
    pub basis: Vec<(String, AirBasis)>,
    /// The free stretches that it was made with.
    pub free: Vec<Stretch>,
}

/// The plan as of a while ago, for comparison.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Since {
    /// How long ago.
    pub ago: TimeDelta,
    /// The end as planned then, from the entries and readings up to then; or why there was no plan.
    pub service: Result<Moment, String>,
}

impl Planned {
    /// The plan in words, with all requested extras.
    pub fn view(&self, words: &Words, now: Moment) -> PlanView {
        let mut view = PlanView::of(&self.plan, &self.basis, words, now);
        if self.stopped {
            let told = match self.plan.optimal {
                true => "It was stopped: the additional answers are missing.",
                false => "It was stopped: this is the best plan so far.",
            };
            view.summary.insert(1, told.into());
        }
        view.summary.extend(self.draws.as_ref().map(|draws| words.draws(draws, now)));
        let moved = self.since.as_ref().map(|since| {
            let then = since.service.as_ref().map_err(String::as_str).copied();
            words.moved(since.ago, then, self.plan.service, now)
        });
        view.summary.extend(moved);
        view.materials = words.materials(&self.materials, &self.currency);
        view
    }
}

impl Session<'_> {
    /// Plans the job as of `now`.
    ///
    /// # Errors
    /// Where the job cannot be read, or a scheme is none. Why there is no plan comes out inside.
    pub fn plan(
        &self,
        request: &PlanRequest,
        now: Moment,
        watch: &mut ProgressSink<'_>,
    ) -> Result<Result<Planned, Infeasible>, SessionError> {
        let effort = Effort::default();
        let job = self.job_of(request, now)?;
        let stopped = Cell::new(false);
        let mut watch = |busy| {
            let go_on = watch(busy);
            stopped.set(stopped.get() || go_on.is_break());
            go_on
        };
        let planned = self.prepare(request, &job, now, &mut watch, |planning, watch| {
            let solved = planning.solve(request.aim, effort, watch)?;
            let plan = planning.plan(&solved);
            let faults = walk(planning.input(), &plan);
            let choices = if request.choices { planning.front(effort, watch) } else { Vec::new() };
            let draws = request.draws.and_then(|(count, seed)| {
                planning.draws_while(&solved.schedule, count, seed, &mut |done| {
                    watch(PlanProgress::Drawing { done, of: count }).is_continue()
                })
            });
            let choices = choices.iter().map(|solved| planning.plan(solved)).collect();
            let basis = planning.basis(plan.service);
            let planned = Planned {
                plan,
                stopped: false,
                choices,
                draws,
                unheated: None,
                since: None,
                materials: Vec::new(),
                currency: self.config.amounts.currency.clone(),
                basis,
                free: planning.input().free.stretches().to_vec(),
            };
            Ok((planned, faults))
        })?;
        let (mut planned, faults) = match planned.and_then(|planned| planned) {
            Ok(planned) => planned,
            // An impossible scheme is wrong input, not an answer.
            Err(Infeasible::Scheme(trouble)) => return Err(SessionError::Input(trouble.to_string())),
            Err(trouble) => return Ok(Err(trouble)),
        };
        if !faults.is_empty() {
            // A plan that breaks a window is never shown.
            return Err(SessionError::World(format!("the plan is not valid: {}", faults.join("; "))));
        }
        planned.materials = self.materials(&job, &planned.plan);
        planned.stopped = stopped.get();
        if planned.stopped {
            return Ok(Ok(planned));
        }
        let watch = &mut watch;
        if request.heat.is_some() {
            let without =
                PlanRequest { heat: None, choices: false, draws: None, since: None, ..request.clone() };
            let plan = self.plan(&without, now, watch)?;
            planned.unheated = Some(plan.map(|planned| planned.plan));
        }
        if let Some(ago) = request.since {
            let service = self.service_as_of(request, now, ago, watch)?;
            planned.since = Some(Since { ago, service });
        }
        Ok(Ok(planned))
    }

    /// The next session of a plan as a checklist; None if it has no steps.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn checklist(&self, planned: &Planned, now: Moment) -> Result<Option<Checklist>, SessionError> {
        let Some(session) = planned.plan.next_session(&planned.free) else { return Ok(None) };
        let survey = self.survey(now, SurveyOptions::default())?;
        let mut amounts = Vec::new();
        for step in session.steps.iter().filter(|step| step.what == What::Coat) {
            let practice = self.practice();
            let asked = Asked { area: Some(step.area.clone()), product: None, size: None, practice };
            // An area of another scheme is not in the job: its amount stays unknown.
            amounts.extend(self.quantities(&asked, None, now).ok());
        }
        let scale = self.config.amounts.scale;
        Ok(Some(self.words.checklist(&session, (&survey, self.library), &amounts, scale)))
    }

    /// The end as planned a while ago, with the record, scheme and readings of then.
    fn service_as_of(
        &self,
        request: &PlanRequest,
        now: Moment,
        ago: TimeDelta,
        watch: &mut ProgressSink<'_>,
    ) -> Result<Result<Moment, String>, SessionError> {
        let then = now - ago;
        if self.entries()?.iter().all(|entry| entry.at > then) {
            return Ok(Err("nothing is recorded yet".into()));
        }
        // Both have the same horizon.
        let days = request.days.saturating_add(u32::try_from(ago.num_days()).unwrap_or(0));
        let asked =
            PlanRequest { days, choices: false, draws: None, since: None, recalled: true, ..request.clone() };
        match self.plan(&asked, then, watch) {
            Ok(Ok(planned)) => {
                Ok(planned.plan.in_service().ok_or_else(|| "its full cure had no date".to_owned()))
            }
            Ok(Err(trouble)) => Ok(Err(trouble.to_string())),
            Err(SessionError::Input(trouble)) => Ok(Err(trouble)),
            Err(error) => Err(error),
        }
    }

    /// The job, with the named scheme in place of its own.
    fn job_of(&self, request: &PlanRequest, now: Moment) -> Result<Job, SessionError> {
        let mut entries = self.entries()?;
        if let Some((file, text)) = &request.scheme {
            Scheme::read(text).map_err(|error| SessionError::Scheme { file: clean(file), error })?;
            let id = EntryId(entries.iter().map(|entry| entry.id.0).max().unwrap_or(0) + 1);
            let kind = EntryKind::Scheme { text: text.clone() };
            entries.push(Entry { id, at: now, recorded: now, kind });
        }
        Ok(Job::fold(&entries, now))
    }

    /// The need of a plan's coats.
    fn materials(&self, job: &Job, plan: &Plan) -> Vec<ProductNeed> {
        let coats = plan.steps.iter().filter(|step| step.what == What::Coat);
        let coats = coats.filter_map(|step| Some((step.area.as_str(), step.product.as_deref()?)));
        planned_needs(job, self.library, &self.practice(), coats)
    }

    /// Prepares the plan of a job as of `now`, and passes it on.
    fn prepare<R>(
        &self,
        request: &PlanRequest,
        job: &Job,
        now: Moment,
        watch: &mut ProgressSink<'_>,
        take: impl FnOnce(&Planning<'_>, &mut ProgressSink<'_>) -> R,
    ) -> Result<Result<R, Infeasible>, SessionError> {
        let shelf = Shelf { as_of: request.recalled.then_some(now), ..self.shelf() };
        let options = SurveyOptions::default();
        let survey = Survey::make(job, self.library, &shelf, &self.config, now, options)?;
        let free = self.free_time(job, now, request.days)?;
        let given = request.temperature.map(|air| {
            let reading = Reading { at: now, air, humidity: None, surface: None };
            History::new(
                [reading],
                Outlook::held(self.config.thermometer_error)
                    .with_hygrometer_error(self.config.hygrometer_error),
            )
        });
        let climates = self.climates(request, &survey, now)?;
        let places: Vec<PlaceAir<'_>> = survey
            .places
            .iter()
            .zip(&survey.skies)
            .enumerate()
            .map(|(index, (place, sky))| place_air(&place.place, sky, given.as_ref(), climates.of(index)))
            .collect();
        let without = request.without.iter().map(|given| area_of(job, given));
        let without = without.collect::<Result<Vec<_>, _>>()?;
        let is_planned = |area: &AreaSurvey<'_>| !area.to_do.is_empty() && !without.contains(&area.name);
        let areas =
            survey.areas.iter().zip(&job.areas).filter(|(area, _)| area.coats > 0 || is_planned(area));
        // What is left out is still there: dust must not fall on its film.
        let areas = areas.map(|(surveyed, area)| {
            let to_do = if is_planned(surveyed) { surveyed.to_do.clone() } else { Vec::new() };
            Ok(AreaNow { to_do, ..area_now(surveyed, area, &survey)? })
        });
        let areas = areas.collect::<Result<Vec<_>, SessionError>>()?;
        if areas.iter().all(|area| area.to_do.is_empty()) {
            return Err(SessionError::Input(match job.areas.iter().any(|area| area.plan.is_some()) {
                true => "all steps of the scheme are done; there is nothing to plan".into(),
                false => "the job has no scheme; load one (curewright scheme FILE), or name one: curewright plan FILE".into(),
            }));
        }
        // A plan may be made from an old reading, but nobody should begin on it.
        let worked = |place: &str| survey.areas.iter().any(|area| area.place == place && is_planned(area));
        let old = survey.places.iter().filter(|air| air.old && given.is_none() && worked(&air.place));
        let old = old.filter_map(|air| {
            let (place, age) = (clean(&air.place), duration_text(air.age(now)?));
            Some(format!("{place}: the last reading is {age} old; read the thermometer before you begin"))
        });
        let notes: Vec<String> = old.chain(climates.notes.iter().cloned()).collect();
        let input = Input {
            now,
            days: request.days,
            free: &free,
            places: &places,
            areas: &areas,
            library: self.library,
            lead: self.config.leads.last_call,
            heat: request.heat,
            session: self.config.session,
            pace: pace_spread(job),
            notes: &notes,
        };
        Ok(Planning::prepare_while(input, watch).map(|planning| take(&planning, watch)))
    }

    /// The free hours of the settings and of the scheme, less what the calendars hold.
    fn free_time(&self, job: &Job, now: Moment, days: u32) -> Result<FreeTime, SessionError> {
        let times = self.free_times_for(&job.free, (now, now + TimeDelta::days(i64::from(days))))?;
        if !times.hours.names_hours() {
            return Err(SessionError::Input(
                "your free hours are unknown; give them under [free] in the settings (\"curewright config\" shows where they are) or in the scheme: hours = [\"Mon-Fri 19:00-22:00\", \"Sat 9-17\"]".into(),
            ));
        }
        if let Some(calendar) = times.calendars.iter().find(|calendar| calendar.error.is_some()) {
            let error = calendar.error.as_deref().unwrap_or_default();
            return Err(SessionError::Input(format!(
                "{}: {error}; there is no plan, because these hours may be busy",
                calendar.file
            )));
        }
        Ok(FreeTime::new(times.free))
    }
}

fn place_air<'a>(
    name: &'a str,
    sky: &'a Sky,
    given: Option<&'a History>,
    climates: &'a [Climate],
) -> PlaceAir<'a> {
    match given {
        Some(history) => {
            let known_until = history.last_reading().unwrap_or(sky.known_until);
            PlaceAir { name, history, rain: &[], known_until, climates, sky: None }
        }
        None => PlaceAir {
            name,
            history: &sky.history,
            rain: sky.rain(),
            known_until: sky.known_until,
            climates,
            sky: Some(sky),
        },
    }
}

fn area_now<'a>(
    surveyed: &'a AreaSurvey<'a>,
    area: &Area,
    survey: &Survey<'_>,
) -> Result<AreaNow<'a>, SessionError> {
    if let Some(trouble) =
        surveyed.trouble.as_ref().filter(|_| surveyed.coats > 0 && surveyed.newest.is_none())
    {
        return Err(SessionError::Input(format!("area \"{}\": {trouble}", surveyed.name)));
    }
    let newest = surveyed.newest.as_ref().map(|coat| NewestCoat {
        product: coat.product,
        standing: coat.standing.clone(),
        run: coats_in_a_row(area),
        window_for: coat.next.map(|next| next.id.as_str()),
        sand_from: coat.sand_from.latest,
    });
    Ok(AreaNow {
        name: surveyed.name.clone(),
        place: survey.places.iter().position(|place| place.place == surveyed.place).unwrap_or(0),
        square_metres: area.plan.as_ref().and_then(|plan| plan.square_metres),
        takes: surveyed.takes,
        surface_lag: surveyed.surface_lag,
        outdoors: surveyed.outdoors,
        coats: surveyed.coats,
        newest,
        prepared: surveyed.prepared,
        washed: surveyed.washed,
        dry_from: surveyed.dry_from,
        taped: surveyed.taped,
        to_do: surveyed.to_do.clone(),
        ground: surveyed.ground,
        confirmed: surveyed.confirmed.clone(),
    })
}

/// How far the coats of the record deviated from the median of their area, as one standard deviation; None
/// where fewer than four show it.
fn pace_spread(job: &Job) -> Option<f64> {
    let mut spread: Vec<f64> = Vec::new();
    for area in &job.areas {
        let took = area.coats.iter().filter_map(Coat::took).map(|took| took.as_seconds_f64());
        let took: Vec<f64> = took.filter(|took| *took > 0.0).collect();
        if took.len() > 1 {
            let mean = took.iter().map(|took| took.ln()).sum::<f64>() / took.len() as f64;
            spread.extend(took.iter().map(|took| took.ln() - mean));
        }
    }
    let squares = spread.iter().map(|stray| stray * stray).sum::<f64>();
    (spread.len() >= 4).then(|| (squares / (spread.len() - 1) as f64).sqrt())
}

/// How many coats of the newest one's product lie on one another with no sanding between.
fn coats_in_a_row(area: &Area) -> usize {
    let Some(newest) = area.newest() else { return 0 };
    let mut row = 1;
    for pair in area.coats.windows(2).rev() {
        let (from, to) = (pair[0].first_stroke, pair[1].first_stroke);
        let sanded =
            area.steps.iter().any(|step| step.kind == StepKind::Sand && from < step.at && step.at < to);
        if pair[0].product != newest.product || sanded {
            break;
        }
        row += 1;
    }
    row
}

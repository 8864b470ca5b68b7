//! The survey: every area of a job with its coat and its standing.

use chrono::TimeDelta;

mod surveyor;

use surveyor::Surveyor;

use super::batches;
use super::judgement::comes_next;
use crate::engine::air::{Objection, rain_between};
use crate::engine::amounts::{BuildUp, WetOnWet};
use crate::engine::assess::BatchSurvey;
use crate::engine::assess::FilmAir;
use crate::engine::assess::Judgement;
use crate::engine::assess::OwnHours;
use crate::engine::assess::PlaceAir;
use crate::engine::assess::Readings;
use crate::engine::assess::SandFrom;
use crate::engine::assess::Sky;
use crate::engine::assess::Substrate;
use crate::engine::assess::{Tacky, tacky_beside};
use crate::engine::config::Config;
use crate::engine::cure::{Phase, Standing};
use crate::engine::hours::Stretch;
use crate::engine::job::{Coat, Ground, Job, SchemeStep, StepDone};
use crate::engine::profile::{Library, Product, Stage};
use crate::engine::units::Moment;

/// The extent of a survey.
#[derive(Debug, Clone, Copy, Default)]
pub struct SurveyOptions {
    /// Every coat of every area, not the newest alone.
    pub all_coats: bool,
}

/// A coat with its standing.
#[derive(Debug, Clone)]
pub struct CoatSurvey<'a> {
    /// The coat.
    pub coat: Coat,
    /// Its product.
    pub product: &'a Product,
    /// What goes on next.
    pub next: Option<&'a Product>,
    /// Where it stands.
    pub standing: Standing,
    /// From when on it may be sanded for what goes on next.
    pub sand_from: SandFrom,
    /// The latest start of the next coat that still ends inside the window.
    pub last_call: Option<Moment>,
}

impl CoatSurvey<'_> {
    /// Whether the film cannot be hard enough to be sanded yet, even by its earliest time.
    fn is_soft_at(&self, at: Moment) -> bool {
        let stage = |stage| self.standing.stage(stage).is_some();
        let known = stage(Stage::Sandable) || stage(Stage::FullCure);
        known && self.sand_from.earliest.is_none_or(|earliest| at < earliest)
    }

    /// Whether water would still have marked the film, even by the earliest time at which it is tack-free.
    fn is_tacky_at(&self, at: Moment) -> bool {
        let times = self.dust_free().and_then(|stage| self.standing.stage(stage));
        times.is_some_and(|times| times.earliest.is_none_or(|earliest| at < earliest))
    }
}

/// One area of the survey.
#[derive(Debug, Clone)]
pub struct AreaSurvey<'a> {
    /// Its name.
    pub name: String,
    /// Its state.
    pub place: String,
    /// Its newest coat.
    pub newest: Option<CoatSurvey<'a>>,
    /// The coats below it, oldest first, if requested.
    pub under: Vec<CoatSurvey<'a>>,
    /// What goes on next, newest coat or not.
    pub next: Option<&'a Product>,
    /// How many coats it has.
    pub coats: usize,
    /// How many the scheme gives it.
    pub planned: Option<usize>,
    /// The duration of one coat, if known.
    pub takes: Option<TimeDelta>,
    /// When the last stroke of the coat that is being applied likely came, where it was likely forgotten.
    pub forgotten: Option<Moment>,
    /// Whether the ground is sanded, and washed if required, for the next coat.
    pub prepared: bool,
    /// When it was sanded, if the film cannot have been hard then: that sanding does not count.
    pub sanded_soft: Option<Moment>,
    /// Whether coats were taken off, and the film below has not been sanded since.
    pub stripped: bool,
    /// Whether it was washed since the newest coat, and the film cannot have been liquid then.
    pub washed: bool,
    /// When the water of the last washing has dried off.
    pub dry_from: Option<Moment>,
    /// Whether tape is on that has to come off this coat.
    pub taped: bool,
    /// The remaining steps of the scheme.
    pub to_do: Vec<SchemeStep>,
    /// The steps done.
    pub steps: Vec<StepDone>,
    /// The first stroke of every coat.
    pub strokes: Vec<Moment>,
    /// The last reading of its place that counts.
    pub last_reading: Option<Moment>,
    /// Why it cannot be calculated, in a sentence.
    pub trouble: Option<String>,
    /// The age of the last reading of its place, if it is too old.
    pub reading_old: Option<TimeDelta>,
    /// The time constant of its surface.
    pub surface_lag: TimeDelta,
    /// Its material, if the scheme gives it.
    pub ground: Option<Ground>,
    /// Whether rain can fall on it.
    pub outdoors: bool,
    /// Whether the next coat may go on.
    pub judgement: Option<Judgement>,
    /// What the person's free hours make of the next step, where they are stated.
    pub own_hours: Option<OwnHours>,
    /// The pairs of film and coat that the person has confirmed with both data sheets.
    pub confirmed: Vec<(String, String)>,
    /// The film beside it to which the dust of sanding it would stick.
    pub dust_on: Option<Tacky>,
    /// The air over the newest coat, while that is sensitive to it.
    pub film: Option<FilmAir>,
    /// The hour in which rain may have fallen on the newest coat while it was wet.
    pub rained_on: Option<Moment>,
    /// The films of its coats, where any was measured.
    pub films: Option<BuildUp>,
    /// The number of coats wet on wet, if the newest one's profile sets a limit.
    pub wet_on_wet: Option<WetOnWet>,
}

/// A job at a moment.
#[derive(Debug, Clone)]
pub struct Survey<'a> {
    /// The moment it was made for.
    pub at: Moment,
    /// The name of the piece.
    pub piece: Option<String>,
    /// The air of every place.
    pub places: Vec<PlaceAir>,
    /// The same over time, in the order of `places`.
    pub skies: Vec<Sky>,
    /// The areas.
    pub areas: Vec<AreaSurvey<'a>>,
    /// The batches in use; all of them if all coats were requested.
    pub batches: Vec<BatchSurvey<'a>>,
}

/// A forecast reaches no further than this.
const FORECAST_DAYS: TimeDelta = TimeDelta::days(12);
/// Default time constant of a surface.
pub const SURFACE_LAG: TimeDelta = TimeDelta::hours(1);
/// The record that gives the spread of a place.
const RECORD_DAYS: TimeDelta = TimeDelta::days(14);

impl<'a> Survey<'a> {
    /// Says of every area what a person's free hours make of its next step.
    pub fn mind_hours(&mut self, free: &[Stretch]) {
        for area in &mut self.areas {
            area.own_hours = OwnHours::of(area, free, self.at);
        }
    }

    /// Surveys a job at `now`.
    ///
    /// # Errors
    /// Those of the readings.
    pub fn make<R: Readings>(
        job: &Job,
        library: &'a Library,
        readings: &R,
        config: &Config,
        now: Moment,
        options: SurveyOptions,
    ) -> Result<Self, R::Error> {
        let outdoor = readings.outdoor(now - RECORD_DAYS, now + FORECAST_DAYS)?;
        let (forecast_at, forecast_from) = (readings.forecast_at()?, readings.forecast_from()?);
        let (mut places, mut skies) = (Vec::new(), Vec::new());
        for place in job.places() {
            let recent = readings.readings(&place, now - RECORD_DAYS, now)?;
            let air = PlaceAir::of(&place, &recent, now, config);
            let mut sky = Sky::make(recent, &outdoor, (is_outdoors(&place), forecast_at), now, config);
            sky.forecast_from.clone_from(&forecast_from);
            places.push(air);
            skies.push(sky);
        }
        let mut areas = Vec::with_capacity(job.areas.len());
        for area in &job.areas {
            let index = places.iter().position(|air| air.place == area.place()).unwrap_or(0);
            let last_reading = places[index].reading.map(|reading| reading.at);
            let outlook = skies[index].outlook();
            let surveyor = Surveyor { library, readings, config, outlook, last_reading, now };
            let mut surveyed = surveyor.area(area, options)?;
            surveyed.forgotten = job.forgotten_last_stroke(area, now);
            surveyed.confirmed.clone_from(&job.confirmed);
            surveyed.reading_old = places[index].age(now).filter(|_| places[index].old);
            let wanted = surveyed.next.filter(|_| surveyed.wants_coat());
            surveyed.judgement = wanted.map(|next| Judgement::judge(&surveyed, next, &skies[index], now));
            surveyed.film = FilmAir::over(&surveyed, &skies[index], now);
            surveyed.rained_on = rained_on(&surveyed, &skies[index], now);
            areas.push(surveyed);
        }
        let dust: Vec<_> = areas.iter().map(|area| tacky_beside(&areas, area, now)).collect();
        areas.iter_mut().zip(dust).for_each(|(area, on)| area.dust_on = on);
        let names: Vec<String> = places.iter().map(|air| air.place.clone()).collect();
        let places = places.into_iter().zip(&skies);
        let places = places.map(|(air, sky)| {
            let lag = surface_lag_of(&areas, &air.place, now);
            air.under(sky, lag, now)
        });
        let places = places.collect();
        let (error, all) = (config.thermometer_error, options.all_coats);
        let mut batches = batches::survey(job, library, readings, (&names, &skies), error, now, all)?;
        batches.iter_mut().for_each(|pot| pot.find_its_areas(&areas));
        Ok(Self { at: now, piece: job.name.clone(), places, skies, areas, batches })
    }

    /// An area that the job does not know, in its first place, with the age of the last reading there.
    pub fn bare_area(&self, name: &str) -> AreaSurvey<'a> {
        let air = self.places.first();
        AreaSurvey {
            last_reading: air.and_then(|air| air.reading).map(|reading| reading.at),
            reading_old: air.filter(|air| air.old).and_then(|air| air.age(self.at)),
            ..AreaSurvey::bare(name, air.map_or("shop", |air| &air.place))
        }
    }

    /// The air of a place.
    pub fn air(&self, place: &str) -> Option<&PlaceAir> {
        self.places.iter().find(|air| air.place == place)
    }

    /// The area of a place that is judged there: the one whose coat comes next.
    pub fn comes_next(&self, place: &str) -> Option<&AreaSurvey<'a>> {
        comes_next(&self.areas, place, self.at)
    }

    /// The air of a place over time.
    pub fn sky(&self, place: &str) -> Option<&Sky> {
        self.places.iter().position(|air| air.place == place).and_then(|index| self.skies.get(index))
    }

    /// Whether a coat of a product may go on an area.
    pub fn check(&self, area: &AreaSurvey<'_>, product: &Product) -> Option<Judgement> {
        Some(Judgement::judge(area, product, self.sky(&area.place)?, self.at))
    }

    /// The area of this name, upper and lower case alike.
    pub fn area(&self, name: &str) -> Option<&AreaSurvey<'a>> {
        self.areas.iter().find(|area| area.name.eq_ignore_ascii_case(name))
    }
}

/// The time constant of a place's surface: that of the area whose coat comes next, else of a sensitive film,
/// else of any.
fn surface_lag_of(areas: &[AreaSurvey<'_>], place: &str, now: Moment) -> TimeDelta {
    let here = || areas.iter().filter(|area| area.place == place);
    let next = comes_next(areas, place, now);
    let area = next.or_else(|| here().find(|area| area.film.is_some())).or_else(|| here().next());
    area.map_or(SURFACE_LAG, |area| area.surface_lag)
}

/// The first hour in which rain may have fallen on the newest coat of an area before it was certainly tack-free.
fn rained_on(area: &AreaSurvey<'_>, sky: &Sky, now: Moment) -> Option<Moment> {
    let coat = area.newest.as_ref().filter(|_| area.outdoors)?;
    let safe =
        coat.dust_free().and_then(|stage| coat.standing.stage(stage)?.latest).map_or(now, |at| at.min(now));
    let (begins, _) = rain_between(sky.rain(), coat.coat.first_stroke, safe)?;
    Some(begins.max(coat.coat.first_stroke))
}

/// Whether a place is outdoors, by its name.
pub fn is_outdoors(place: &str) -> bool {
    ["outside", "outdoors"].iter().any(|name| place.eq_ignore_ascii_case(name))
}

impl AreaSurvey<'_> {
    /// An area of which nothing is recorded.
    pub fn bare(name: &str, place: &str) -> Self {
        Self {
            name: name.to_owned(),
            place: place.to_owned(),
            newest: None,
            under: Vec::new(),
            next: None,
            coats: 0,
            planned: None,
            takes: None,
            forgotten: None,
            prepared: false,
            sanded_soft: None,
            stripped: false,
            washed: false,
            dry_from: None,
            taped: false,
            to_do: Vec::new(),
            steps: Vec::new(),
            strokes: Vec::new(),
            last_reading: None,
            trouble: None,
            reading_old: None,
            surface_lag: SURFACE_LAG,
            ground: None,
            outdoors: is_outdoors(place),
            judgement: None,
            own_hours: None,
            confirmed: Vec::new(),
            dust_on: None,
            film: None,
            rained_on: None,
            films: None,
            wet_on_wet: None,
        }
    }

    /// Whether the window decides the next step: not if the film is sanded first, or the ground is ready.
    pub fn minds_window(&self) -> bool {
        self.wants_coat() && !self.sands_next() && !self.prepared
    }

    /// Whether the film is left to harden before the next coat, so that no coat has to start in its window.
    pub fn hardens_first(&self) -> bool {
        let ground = self.judgement.as_ref().and_then(|judgement| judgement.ground);
        matches!(ground, Some(Substrate::Hardening(..)))
    }

    /// Whether another coat is planned: by the scheme or the person, or because there is no scheme.
    pub fn wants_coat(&self) -> bool {
        let said = self.newest.as_ref().is_some_and(|coat| coat.coat.next.is_some());
        said || self.planned.is_none()
            || self.to_do.iter().any(|step| matches!(step, SchemeStep::Coat { .. }))
    }

    /// What threatens the newest coat while it is wet, each with its moment.
    pub fn threats(&self) -> &[(Objection, Moment)] {
        self.film.as_ref().map_or(&[], |film| &film.threats)
    }

    /// The phase of the newest coat at a moment.
    pub fn phase_at(&self, moment: Moment) -> Option<Phase> {
        self.newest.as_ref().map(|coat| coat.standing.phase_at(moment))
    }

    /// Whether sanding comes before the next coat: the scheme says so, or no more coats may go on wet on wet.
    pub fn sands_next(&self) -> bool {
        self.scheme_sands() || self.next.is_some_and(|next| self.is_full_for(next))
    }

    /// Whether the scheme sands or washes before the next coat.
    pub fn scheme_sands(&self) -> bool {
        matches!(self.to_do.first(), Some(SchemeStep::Sand { .. } | SchemeStep::Wash))
    }

    /// Whether the profile allows no more coats wet on wet.
    pub fn is_full_for(&self, product: &Product) -> bool {
        let same = self.newest.as_ref().is_some_and(|coat| coat.product.id == product.id);
        same && !self.prepared && self.wet_on_wet.is_some_and(|wet| wet.left() == 0)
    }
}

//! What a job gives for the next scheme: pace, shop model, and the errors of the expected windows.

use chrono::TimeDelta;

use crate::engine::air::{ShopModel, TooLittle};
use crate::engine::assess::Readings;
use crate::engine::assess::{CoatSurvey, Survey, SurveyOptions};
use crate::engine::config::Config;
use crate::engine::job::{Area, Coat, Entry, Job};
use crate::engine::profile::{Library, Stage};
use crate::engine::units::{Celsius, Moment};

/// What was learned.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Learned {
    /// The pace on each area that has a size.
    pub areas: Vec<Pace>,
    /// The pace with each product, over all areas.
    pub products: Vec<Pace>,
    /// How each place follows the outdoors.
    pub places: Vec<PlaceLearned>,
    /// The windows that have come, as they were forecast at the last stroke.
    pub windows: Vec<WindowLearned>,
}

/// The measured pace.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pace {
    /// The area, or the product's id.
    pub name: String,
    /// From how many coats.
    pub coats: usize,
    /// Per square metre: the median of the coats.
    pub square_metre: TimeDelta,
    /// The scheme's figure.
    pub planned: Option<TimeDelta>,
}

/// How a place follows the outdoors.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceLearned {
    /// The place.
    pub place: String,
    /// The fitted model, or why there is none.
    pub model: Result<ShopModel, TooLittle>,
}

/// A window that has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WindowLearned {
    /// The area.
    pub area: String,
    /// Which coat, from 1.
    pub layer: usize,
    /// Whether it is its opening or its closing.
    pub stage: Stage,
    /// When it was forecast, at the last stroke: at the earliest, most likely, at the latest.
    pub forecast: (Option<Moment>, Moment, Option<Moment>),
    /// When it came.
    pub came: Moment,
}

impl WindowLearned {
    /// Actual less expected moment.
    pub fn late_by(&self) -> TimeDelta {
        self.came - self.forecast.1
    }

    /// Whether it came between the earliest and the latest.
    pub fn is_inside(&self) -> bool {
        let (earliest, _, latest) = self.forecast;
        earliest.is_none_or(|earliest| earliest <= self.came)
            && latest.is_none_or(|latest| self.came <= latest)
    }
}

/// The number of newest coats used.
const COATS: usize = 60;
/// And the readings before the first of them.
const BEFORE: TimeDelta = TimeDelta::days(14);

impl Learned {
    /// The lessons from the entries and readings of a job, as of `now`.
    ///
    /// # Errors
    /// Those of the readings.
    pub fn from<R: Readings>(
        entries: &[Entry],
        library: &Library,
        readings: &R,
        config: &Config,
        now: Moment,
    ) -> Result<Self, R::Error> {
        let job = Job::fold(entries, now);
        Ok(Self {
            areas: job.areas.iter().filter_map(area_pace).collect(),
            products: product_paces(&job),
            places: places(&job, readings, now)?,
            windows: windows(entries, &job, (library, readings, config), now)?,
        })
    }
}

/// The seconds that a coat took for one square metre.
fn took(area: &Area, coat: &Coat) -> Option<f64> {
    area.square_metre_took(coat).map(|took| took.as_seconds_f64())
}

fn area_pace(area: &Area) -> Option<Pace> {
    let took = area.coats.iter().filter_map(|coat| took(area, coat)).collect();
    let plan = area.plan.as_ref()?;
    let planned = plan.takes.zip(plan.square_metres);
    let planned = planned.map(|(takes, size)| seconds(takes.as_seconds_f64() / size.square_metres()));
    Some(Pace { planned, ..pace(&area.name, took)? })
}

fn product_paces(job: &Job) -> Vec<Pace> {
    let mut products: Vec<&str> = Vec::new();
    for coat in job.areas.iter().flat_map(|area| &area.coats) {
        if !products.contains(&coat.product.as_str()) {
            products.push(&coat.product);
        }
    }
    let of = |product: &&str| {
        let coats = job.areas.iter().flat_map(|area| area.coats.iter().map(move |coat| (area, coat)));
        let coats = coats.filter(|(_, coat)| coat.product == *product);
        pace(product, coats.filter_map(|(area, coat)| took(area, coat)).collect())
    };
    products.iter().filter_map(of).collect()
}

/// The median.
fn pace(name: &str, mut took: Vec<f64>) -> Option<Pace> {
    took.sort_by(f64::total_cmp);
    let middle = took.len() / 2;
    let upper = *took.get(middle)?;
    let lower = if took.len().is_multiple_of(2) { *took.get(middle - 1)? } else { upper };
    let square_metre = seconds((lower + upper) / 2.0);
    Some(Pace { name: name.to_owned(), coats: took.len(), square_metre, planned: None })
}

fn seconds(seconds: f64) -> TimeDelta {
    TimeDelta::milliseconds((seconds * 1000.0).round() as i64)
}

fn places<R: Readings>(job: &Job, readings: &R, now: Moment) -> Result<Vec<PlaceLearned>, R::Error> {
    let first = job.areas.iter().flat_map(|area| &area.coats).map(|coat| coat.first_stroke).min();
    let Some(from) = first.map(|first| first - BEFORE) else { return Ok(Vec::new()) };
    let outdoor: Vec<(Moment, Celsius)> =
        readings.outdoor(from, now)?.iter().map(|hour| (hour.at, hour.air)).collect();
    let mut learned = Vec::new();
    for place in job.places().into_iter().filter(|place| !super::survey::is_outdoors(place)) {
        let inside = readings.readings(&place, from, now)?;
        let inside: Vec<(Moment, Celsius)> = inside.iter().map(|reading| (reading.at, reading.air)).collect();
        learned.push(PlaceLearned { model: ShopModel::fit(&inside, &outdoor), place });
    }
    Ok(learned)
}

/// The windows that have come, each beside its forecast at the last stroke: with the readings up to
/// then, and the outdoor hours as they were last forecast.
fn windows<R: Readings>(
    entries: &[Entry],
    job: &Job,
    (library, readings, config): (&Library, &R, &Config),
    now: Moment,
) -> Result<Vec<WindowLearned>, R::Error> {
    let all = SurveyOptions { all_coats: true };
    let survey = Survey::make(job, library, readings, config, now, all)?;
    let coats = survey
        .areas
        .iter()
        .flat_map(|area| area.under.iter().chain(&area.newest).map(move |coat| (area.name.as_str(), coat)));
    let mut coats: Vec<(&str, &CoatSurvey<'_>)> = coats.collect();
    coats.sort_by_key(|(_, coat)| coat.coat.first_stroke);
    let mut learned = Vec::new();
    for (area, coat) in coats.iter().skip(coats.len().saturating_sub(COATS)) {
        let Some(last) = coat.coat.last_stroke else { continue };
        let then = Job::fold(entries, last);
        let then = Survey::make(&then, library, readings, config, last, SurveyOptions::default())?;
        let forecast = then.area(area).and_then(|area| area.newest.as_ref());
        if let Some(forecast) = forecast.filter(|forecast| is_same(forecast, coat)) {
            learned.extend(came(area, coat, forecast, now));
        }
    }
    Ok(learned)
}

/// Whether both concern the same coat and the same next product.
fn is_same(forecast: &CoatSurvey<'_>, coat: &CoatSurvey<'_>) -> bool {
    let next = |coat: &CoatSurvey<'_>| coat.next.map(|next| next.id.clone());
    forecast.coat.id == coat.coat.id && next(forecast) == next(coat)
}

/// The actual moments of a coat's window by `now`, from readings.
fn came(area: &str, coat: &CoatSurvey<'_>, forecast: &CoatSurvey<'_>, now: Moment) -> Vec<WindowLearned> {
    let window = |stage: Stage| {
        let came = coat.standing.stage(stage).filter(|times| !times.assumed)?.at?;
        let told = forecast.standing.stage(stage)?;
        (came <= now).then_some(WindowLearned {
            area: area.to_owned(),
            layer: coat.coat.layer,
            stage,
            forecast: (told.earliest, told.at?, told.latest),
            came,
        })
    };
    [Stage::RecoatOpen, Stage::RecoatClose].into_iter().filter_map(window).collect()
}

#[cfg(test)]
mod tests;

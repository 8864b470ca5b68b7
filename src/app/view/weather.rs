//! The weather of a place as plain data: the last day and the next three, the slots for the next coat, and the
//! assumptions.

use chrono::TimeDelta;

use crate::app::wording::Wording;
use crate::app::wording::Words;
use crate::engine::air::Provenance;
use crate::engine::air::{Air, NotPredicted, Objection, Task, dew_point, margin};
use crate::engine::assess::Sky;
use crate::engine::assess::Substrate;
use crate::engine::assess::{AreaSurvey, SURFACE_LAG, Survey};
use crate::engine::assess::{SLOTS, task_of};
use crate::engine::profile::Product;
use crate::engine::units::{Celsius, KelvinDelta, Moment, Units, clean, duration_text};

/// The past time shown.
pub const BEFORE: TimeDelta = TimeDelta::days(1);
/// The coming time shown.
pub const AHEAD: TimeDelta = TimeDelta::days(3);
/// The sampling interval.
const EVERY: TimeDelta = TimeDelta::minutes(30);
/// Judging a start is expensive: one stands for the starts of this time after it.
const JUDGED_EVERY: TimeDelta = TimeDelta::hours(3);
/// The number of slots shown.
const SLOTS_SHOWN: usize = 4;
/// The required dew margin where no product sets one: ISO 8502-4, as it is commonly quoted.
const DEW_MARGIN: KelvinDelta = KelvinDelta::new(3.0);

/// The weather of one place.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherView {
    /// The place.
    pub place: String,
    /// The air every half hour, on one grid for all.
    pub samples: Vec<Sample>,
    /// The area and the product of the stretches; empty if no coat is planned.
    pub about: String,
    /// From now on: where the next coat fits, and the objections in between. Without gaps, up to the end of the
    /// forecast.
    pub stretches: Vec<Stretch>,
    /// Whether that coat may go on, in a sentence.
    pub verdict: String,
    /// Whether the air suits the wet films; empty if there are none.
    pub film: Wording,
    /// The next slots with weekday and times.
    pub slots: Vec<String>,
    /// The assumptions, a sentence each.
    pub rests_on: Vec<String>,
    /// The required margin of a surface above the dew point.
    pub dew_margin: KelvinDelta,
    /// The units of the scale.
    pub units: Units,
}

/// The air of a place at a moment, and outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// The moment.
    pub at: Moment,
    /// Whether it is after the last reading.
    pub forecast: bool,
    /// The air of the place.
    pub air: Option<Celsius>,
    /// The outdoor air.
    pub outdoor: Option<Celsius>,
    /// The dew point of the place's air.
    pub dew: Option<Celsius>,
    /// The surface to be coated.
    pub surface: Option<Celsius>,
    /// Whether the surface is too close to the dew point.
    pub near_dew: bool,
    /// The rain of the hour around it, in mm/h; zero if none.
    pub rain: f64,
}

/// A stretch of time, judged for the next coat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// From when on.
    pub from: Moment,
    /// Until when.
    pub to: Moment,
    /// Whether the coat may start and be finished in it.
    pub fits: bool,
    /// "fit", or the objection: "dew", "damp", "cold", "then rain" …
    pub word: &'static str,
}

impl WeatherView {
    /// The weather of every place of a survey.
    pub fn all(survey: &Survey<'_>, words: &Words, now: Moment) -> Vec<Self> {
        let places = survey.places.iter().zip(&survey.skies);
        places.map(|(air, sky)| Self::of(survey, sky, &air.place, words, now)).collect()
    }

    fn of(survey: &Survey<'_>, sky: &Sky, place: &str, words: &Words, now: Moment) -> Self {
        let area = survey.comes_next(place);
        let lag = area.map_or(SURFACE_LAG, |area| area.surface_lag);
        let coat = area.and_then(|area| Some((area, area.next?)));
        let dew_margin = coat.map_or(DEW_MARGIN, |(_, product)| product.application.dew_margin);
        let surface = sky.surface(lag);
        let air = sky.air(&surface);
        let judgement = area.and_then(|area| area.judgement.as_ref());
        let slots = judgement.map_or(&[][..], |judgement| &judgement.slots);
        let verdict = match judgement {
            None => "No coat is planned here.".into(),
            Some(_) => words.next_at(survey, place, now).full,
        };
        let film = words.film_at(survey, place, now);
        let about = coat.map(|(area, product)| format!("{}, {}", area.name.trim(), product.id));
        Self {
            place: clean(place),
            samples: samples(sky, &air, dew_margin, now),
            about: clean(&about.unwrap_or_default()),
            stretches: coat
                .map(|(area, product)| stretches(&air, area, product, slots, now))
                .unwrap_or_default(),
            verdict,
            film,
            slots: slots
                .iter()
                .filter(|slot| slot.1 > now)
                .take(SLOTS_SHOWN)
                .map(|slot| words.slot(*slot, now))
                .collect(),
            rests_on: rests_on(sky, place, words, now),
            dew_margin,
            units: words.units,
        }
    }
}

fn samples(sky: &Sky, air: &Air<'_>, dew_margin: KelvinDelta, now: Moment) -> Vec<Sample> {
    let (first, last) = (sky.history.first_reading(), sky.history.last_reading());
    let grid = EVERY.num_seconds();
    let begin = (now - BEFORE).timestamp().div_euclid(grid) * grid;
    let count = (BEFORE + AHEAD).num_seconds() / grid + 1;
    let moments = (0..=count).filter_map(|step| Moment::from_timestamp(begin + step * grid, 0));
    let sample = |at: Moment| {
        let known = first.is_some_and(|first| at >= first) && (at <= now || at <= air.known_until);
        let celsius = air.history.air_at(at).filter(|_| known);
        let humidity = air.history.humidity_at(at).filter(|_| known);
        let dew = celsius.zip(humidity).and_then(|(celsius, humidity)| dew_point(celsius, humidity));
        let surface = air.surface.at(at).filter(|_| known);
        let left = surface.zip(dew).map(|(surface, dew)| margin(surface, dew));
        Sample {
            at,
            forecast: last.is_none_or(|last| at > last),
            air: celsius,
            outdoor: sky.outdoor_at(at),
            dew: dew.map(|dew| dew.at),
            surface,
            near_dew: left.is_some_and(|left| left < dew_margin),
            rain: sky.rain_at(at).map_or(0.0, |rain| rain.millimetres()),
        }
    };
    let mut samples: Vec<Sample> = moments.map(sample).collect();
    // A first reading after the last step of the grid would not be seen.
    if samples.iter().all(|sample| sample.air.is_none()) && first.is_some_and(|first| first <= now) {
        let at = samples.partition_point(|sample| sample.at <= now);
        samples.insert(at, sample(now));
    }
    samples
}

/// The slots of the next coat from now on, and the objections between them; the current air comes before later
/// objections.
fn stretches(
    air: &Air<'_>,
    area: &AreaSurvey<'_>,
    product: &Product,
    slots: &[(Moment, Moment)],
    now: Moment,
) -> Vec<Stretch> {
    let mut end = air.known_until.min(now + AHEAD);
    // After this many slots there may be more.
    if let (Some(last), true) = (slots.last(), slots.len() >= SLOTS) {
        end = end.min(last.1);
    }
    let mut all = Vec::new();
    let mut at = now;
    for &(from, to) in slots {
        let (from, to) = (from.clamp(at, end.max(at)), to.min(end));
        between(air, area, product, (at, from), &mut all);
        if to > from {
            add(&mut all, Stretch { from, to, fits: true, word: "OK" });
        }
        at = to.max(from);
    }
    between(air, area, product, (at, end), &mut all);
    all
}

fn between(
    air: &Air<'_>,
    area: &AreaSurvey<'_>,
    product: &Product,
    (from, to): (Moment, Moment),
    all: &mut Vec<Stretch>,
) {
    let task = task_of(area, product);
    let mut later: Option<(Moment, &'static str)> = None;
    let mut at = from;
    while at < to {
        let next = (at + EVERY).min(to);
        let against = air.forbids_between(product, area.outdoors, at, next);
        let word = match (against, Substrate::forbids(area, product, at)) {
            (Some(against), _) => against.word(),
            (None, Some(under)) if !under.is_owed() => under.word(),
            (None, _) => {
                let judged = later.filter(|(judged, _)| at - *judged < JUDGED_EVERY);
                let (judged, word) = judged.unwrap_or_else(|| (at, later_word(air, &task, at)));
                later = Some((judged, word));
                word
            }
        };
        add(all, Stretch { from: at, to: next, fits: false, word });
        at = next;
    }
}

fn add(all: &mut Vec<Stretch>, stretch: Stretch) {
    match all.last_mut() {
        Some(last) if last.word == stretch.word && last.fits == stretch.fits => last.to = stretch.to,
        _ => all.push(stretch),
    }
}

/// The objection before a coat started then is safe.
fn later_word(air: &Air<'_>, task: &Task<'_>, start: Moment) -> &'static str {
    match air.forbids(task, start).map(|(against, _)| against) {
        Some(Objection::Warming(_)) => "warming",
        Some(Objection::NoReading | Objection::OldReading(_)) => "unread",
        Some(Objection::DewMargin(..)) => "then dew",
        Some(Objection::Rain(_)) => "then rain",
        Some(Objection::WetGround(..)) => "wet",
        Some(Objection::TooDamp(..)) => "then humid",
        Some(Objection::TooDry(..)) => "then dry",
        Some(Objection::TooCold(..) | Objection::SurfaceTooCold(..) | Objection::Stalls(..)) => "then cold",
        Some(Objection::TooWarm(..) | Objection::SurfaceTooWarm(..)) => "then warm",
        _ => "short",
    }
}

fn rests_on(sky: &Sky, place: &str, words: &Words, now: Moment) -> Vec<String> {
    let until = words.when(sky.known_until, now);
    let sentence = match (&sky.not_predicted, sky.follows) {
        (None, Some((lag, gain))) => {
            let ends_up = match gain.kelvin() {
                warmer if warmer >= 0.05 => format!(" and stays {} warmer", words.units.difference(gain)),
                colder if colder <= -0.05 => {
                    format!(" and stays {} colder", words.units.difference(gain.abs()))
                }
                _ => String::new(),
            };
            format!(
                "The forecast reaches until {until}: the {place} follows the outdoor air within {}{ends_up}.",
                duration_text(lag)
            )
        }
        (None, None) => format!("The forecast reaches until {until}; this place is outdoors."),
        (Some(NotPredicted::NoForecast), _) if sky.forecast_at.is_some() => {
            "The forecast has ended (curewright forecast).".into()
        }
        (Some(NotPredicted::NoForecast), _) => "There is no forecast (curewright forecast).".into(),
        (Some(NotPredicted::NoReading), _) => {
            "No forecast for this place: no temperature was read (t, or curewright reading).".into()
        }
        (Some(NotPredicted::TooLittle(why)), _) => {
            format!("The air of the {place} cannot be forecast: {why}.")
        }
    };
    forecast_source(sky, now).into_iter().chain([clean(&sentence)]).collect()
}

/// The source of the forecast, its age, and its credit.
fn forecast_source(sky: &Sky, now: Moment) -> Option<String> {
    let made = sky.forecast_at.filter(|made| *made <= now)?;
    let name = sky.forecast_from.as_ref().map(|from| format!(" of {}", from.origin.name()));
    let age = match now - made {
        age if age < TimeDelta::minutes(1) => "was just loaded".into(),
        age => format!("is {} old", duration_text(age)),
    };
    let credit = sky.forecast_from.as_ref().and_then(Provenance::credit);
    let credit = credit.map(|credit| format!(" {credit}.")).unwrap_or_default();
    Some(clean(&format!("The forecast{} {age}.{credit}", name.unwrap_or_default())))
}

impl Words {
    /// "Sun 09:40 … 13:20"; from now on if it has begun.
    pub fn slot(&self, (from, to): (Moment, Moment), now: Moment) -> String {
        let day = |at: Moment| self.civil.weekday(at);
        let begin = if from <= now {
            "now".to_owned()
        } else {
            format!("{} {}", day(from), self.civil.time_of_day(from))
        };
        let same = day(from) == day(to) && to - from < TimeDelta::days(1);
        let end = if to - now >= TimeDelta::days(6) {
            // A weekday alone would be taken for this week's.
            self.when(to, now)
        } else if same {
            self.civil.time_of_day(to)
        } else {
            format!("{} {}", day(to), self.civil.time_of_day(to))
        };
        format!("{begin} … {end}")
    }
}

#[cfg(test)]
mod tests;

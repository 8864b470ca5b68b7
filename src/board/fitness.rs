//! Whether a coat may go on an area, by the film under it and by the air: the check behind the board, the
//! command and the alerts.

use chrono::TimeDelta;

use super::sky::Sky;
use super::survey::{AreaSurvey, Survey};
use super::words::Words;
use crate::climate::{Against, Coming, Reasons, Task};
use crate::cure::Phase;
use crate::profile::Product;
use crate::units::{Moment, clean, duration_text};

/// Yes, not yet, or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Now.
    Go,
    /// From the first slot on.
    Wait,
    /// Not on what is known.
    No,
}

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

/// Whether a coat may go on an area.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitness {
    /// The verdict.
    pub verdict: Verdict,
    /// The film under it that does not allow a coat now.
    pub film: Option<Phase>,
    /// What speaks against it in the air.
    pub air: Reasons,
    /// The next stretches long enough for it, soonest first.
    pub slots: Vec<(Moment, Moment)>,
    /// Until when the air suits it, where it does now and the end is foreseen; and what speaks against it
    /// from then on.
    pub air_until: Option<(Moment, Against)>,
}

/// So many slots are enough to choose from.
pub(super) const SLOTS: usize = 6;

impl Fitness {
    /// Judges a coat of `product` on `area` at `now`.
    pub(super) fn judge(area: &AreaSurvey<'_>, product: &Product, sky: &Sky, now: Moment) -> Self {
        let surface = sky.surface(area.surface_lag);
        let air = sky.air(&surface);
        let takes = area.takes.unwrap_or(TimeDelta::minutes(30));
        let task = Task { product, takes, bare_wood: area.coats == 0, outdoors: area.outdoors };
        let full = area.is_full_for(product);
        let film = |at: Moment| film_forbids(area, at).or_else(|| full_at(area, full, at));
        let mut reasons = air.against(&task, now);
        if let Some(age) = area.reading_old {
            reasons.insert(0, (Against::OldReading(age), now));
        }
        let coming = Coming::new(&air, &task, now);
        let mut slots = coming.slots(|at| film(at).is_none() && area.reading_old.is_none());
        let air_fits = reasons.iter().all(|(against, _)| !against.forbids());
        let fit = film(now).is_none() && air_fits;
        let air_until = if air_fits { coming.until() } else { None };
        let verdict = match (fit, slots.is_empty()) {
            (true, _) => Verdict::Go,
            (false, false) => Verdict::Wait,
            (false, true) => Verdict::No,
        };
        slots.truncate(SLOTS);
        Self { verdict, film: film(now), air: reasons, slots, air_until }
    }

    /// What speaks against it now, in words: the film first, then the air.
    pub fn reasons(&self, words: &Words, now: Moment) -> Vec<Reason> {
        let film = self.film.map(|phase| {
            let (code, text) = match phase {
                Phase::Wet => ("film_wet", "the coat under it is not ready for the next"),
                Phase::Open | Phase::Shut => {
                    ("film_shut", "the coat under it can take no coat as it is, nor be sanded yet")
                }
                Phase::Sandable | Phase::Cured => ("not_sanded", "the ground has to be sanded first"),
            };
            Reason { code, text: text.into(), from: now }
        });
        let air = self.air.iter().map(|(against, from)| Reason {
            code: against.code(),
            text: words.against(*against, *from, now),
            from: *from,
        });
        film.into_iter().chain(air).collect()
    }
}

/// The phase of the film under the next coat, where it does not allow one.
pub(super) fn film_forbids(area: &AreaSurvey<'_>, at: Moment) -> Option<Phase> {
    let coat = area.newest.as_ref()?;
    let phase = coat.standing.phase_at(at);
    let ready = match phase {
        Phase::Open => coat.coat.last_stroke.is_some() && coat.last_call.is_none_or(|call| at <= call),
        Phase::Sandable | Phase::Cured => area.prepared,
        Phase::Wet | Phase::Shut => false,
    };
    (!ready).then_some(phase)
}

/// The phase of a film that is open, where no more coats of the product may go on wet on wet.
fn full_at(area: &AreaSurvey<'_>, full: bool, at: Moment) -> Option<Phase> {
    area.phase_at(at).filter(|phase| full && *phase == Phase::Open)
}

impl<'a> Survey<'a> {
    /// The area of a place that is judged there: the one that comes first, or else any that wants a coat.
    pub(super) fn next_coated(&self, place: &str, first: Option<&str>) -> Option<&AreaSurvey<'a>> {
        let here = || self.areas.iter().filter(|area| area.place == place && area.fitness.is_some());
        here().find(|area| Some(area.name.as_str()) == first).or_else(|| here().next())
    }
}

impl Words {
    /// Whether the air of a place suits what goes on there next: the area that comes first, or another.
    pub(super) fn fitness(
        &self,
        survey: &Survey<'_>,
        place: &str,
        first: Option<&str>,
        now: Moment,
    ) -> String {
        let area = survey.next_coated(place, first);
        let Some(fitness) = area.and_then(|area| area.fitness.as_ref()) else {
            return String::new();
        };
        let against = fitness.air.iter().find(|(against, _)| against.forbids());
        let sentence = match (against, fitness.slots.first()) {
            (None, _) => {
                let until = fitness.air_until.map(|(until, against)| {
                    format!(" until about {}; then {}", self.when(until, now), self.then_against(against))
                });
                let unknown = fitness.air.iter().any(|(against, _)| *against == Against::NoHumidity);
                let unknown = if unknown { "; the humidity is not known" } else { "" };
                format!("Fit to coat{unknown}{}.", until.unwrap_or_default())
            }
            (Some((against, from)), slot) => {
                let slot = slot.map(|slot| format!(" Fit from {}.", self.when(slot.0, now)));
                let what = self.against(*against, *from, now);
                format!("Not fit to coat: {what}.{}", slot.unwrap_or_default())
            }
        };
        clean(&sentence)
    }

    /// What will speak against a coat, in words and figures.
    pub fn then_against(&self, against: Against) -> String {
        match against {
            Against::DewMargin(_, limit) => {
                format!("the surface comes within {} of the dew point", self.units.difference(limit))
            }
            other => self.against(other, Moment::MIN_UTC, Moment::MIN_UTC),
        }
    }

    /// What speaks against a coat, in words and figures, with its moment where that is not now.
    pub fn against(&self, against: Against, from: Moment, now: Moment) -> String {
        let units = &self.units;
        let when = if from <= now + TimeDelta::minutes(1) {
            String::new()
        } else {
            format!(" from {} on", self.when(from, now))
        };
        match against {
            Against::NoReading => "no temperature is known; read the thermometer first".into(),
            Against::OldReading(age) => {
                format!("the last reading is {} old; read the thermometer first", duration_text(age))
            }
            Against::NoHumidity => "the humidity is not known, so the dew point is not either".into(),
            Against::TooCold(air, limit) => format!(
                "too cold{when}: {}, the product asks for {} at least",
                units.temperature(air),
                units.temperature(limit)
            ),
            Against::TooWarm(air, limit) => format!(
                "too warm{when}: {}, the product allows {} at most",
                units.temperature(air),
                units.temperature(limit)
            ),
            Against::TooDamp(humidity, limit) => {
                format!("too damp{when}: {humidity}, the product allows {limit}")
            }
            Against::DewMargin(margin, limit) if margin.kelvin() < 0.0 => format!(
                "the surface is {} under the dew point{when}: it sweats; {} over it are asked for",
                units.difference(margin.abs()),
                units.difference(limit)
            ),
            Against::DewMargin(margin, limit) => format!(
                "the surface is {} over the dew point{when}; {} are asked for",
                units.difference(margin),
                units.difference(limit)
            ),
            Against::Rain(fallen) => {
                format!("rain{when} ({:.1} mm an hour) before the film is safe", fallen.millimetres())
            }
            Against::Warming(pace) => format!(
                "the air warms by {}/h: bare wood breathes out bubbles; coat it while it cools",
                units.difference(pace)
            ),
            Against::Stalls(air, limit) => format!(
                "the film stands still{when}: {}, below {}, before it is tack-free",
                units.temperature(air),
                units.temperature(limit)
            ),
        }
    }
}

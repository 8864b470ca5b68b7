//! The air of a place: whether it suits the wet films, and the verdict on the next coat. Each in three lengths
//! with the same meaning; a screen uses the longest that fits.

use crate::app::wording::{Words, sentence};
use crate::engine::assess::FilmAir;
use crate::engine::assess::Judgement;
use crate::engine::assess::{AreaSurvey, Survey};
use crate::engine::profile::Product;
use crate::engine::units::{Moment, capital, clean, duration_text};

/// Letters of an area's name in a line.
const SHORT_NAME: usize = 14;

/// One statement in three lengths.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wording {
    /// A sentence with every figure.
    pub full: String,
    /// A line.
    pub brief: String,
    /// A few words.
    pub word: String,
    /// Whether something is wrong.
    pub warns: bool,
}

impl Wording {
    /// Whether there is nothing to say.
    pub const fn is_empty(&self) -> bool {
        self.full.is_empty()
    }

    fn cleaned(self) -> Self {
        Self { full: clean(&self.full), brief: clean(&self.brief), word: clean(&self.word), ..self }
    }
}

impl Words {
    /// The verdict on the next coat at a place; empty if no coat is planned.
    pub fn next_at(&self, survey: &Survey<'_>, place: &str, now: Moment) -> Wording {
        let Some(area) = survey.comes_next(place) else { return Wording::default() };
        let (Some(judgement), Some(next)) = (&area.judgement, area.next) else { return Wording::default() };
        let several = survey.areas.iter().filter(|other| other.place == place && other.judgement.is_some());
        let name = if several.count() > 1 { capital(area.name.trim()) } else { String::new() };
        self.judged(area, judgement, next, &name, now).cleaned()
    }

    fn judged(
        &self,
        area: &AreaSurvey<'_>,
        judgement: &Judgement,
        next: &Product,
        name: &str,
        now: Moment,
    ) -> Wording {
        let head = self.headline(area.verdict_on(judgement, now), now);
        let lead = |name: &str| if name.is_empty() { String::new() } else { format!("{name}: ") };
        let why = self.why_with_tape(area, judgement, next, now).join(" ");
        let briefly = match (judgement.against(), judgement.ground) {
            (Some((against, from)), _) => format!(" ({})", self.briefly(against, from, now)),
            (None, Some(ground)) => format!(" ({})", ground.word()),
            (None, None) => judgement
                .met_later()
                .map(|last| format!(" (then {})", last.against.word()))
                .unwrap_or_default(),
        };
        Wording {
            full: format!("{}{head}. {why}", lead(name)),
            brief: format!("{}{head}{briefly}.", lead(&shortened(name))),
            word: head,
            warns: judgement.against().is_some(),
        }
    }

    /// Whether the air of a place suits its wet films; empty if there are none.
    pub fn film_at(&self, survey: &Survey<'_>, place: &str, now: Moment) -> Wording {
        let here = survey.areas.iter().filter(|area| area.place == place);
        let films: Vec<(&AreaSurvey<'_>, &FilmAir)> =
            here.filter_map(|area| Some((area, area.film.as_ref()?))).collect();
        // Films in danger first, soonest first; otherwise the one with the longest time left.
        let first = films.iter().min_by_key(|(_, film)| {
            let threat = film.threats.iter().map(|(_, from)| *from).min();
            let safe = film.safe.unwrap_or(Moment::MAX_UTC);
            (threat.is_none() && !film.stalled, threat.unwrap_or(Moment::MAX_UTC), std::cmp::Reverse(safe))
        });
        let Some((area, film)) = first else { return Wording::default() };
        let more = films.len() - 1;
        let more = if more > 0 { format!(" (and {more} more)") } else { String::new() };
        self.film(area, film, &more, now).cleaned()
    }

    fn film(&self, area: &AreaSurvey<'_>, film: &FilmAir, more: &str, now: Moment) -> Wording {
        let name = capital(area.name.trim());
        let first = film.threats.iter().min_by_key(|(_, from)| *from);
        if let Some(&(against, from)) = first {
            let also = film.threats.iter().filter(|(other, _)| other.word() != against.word());
            let also: Vec<String> = also.map(|(other, from)| self.against(*other, *from, now)).collect();
            let also = if also.is_empty() { String::new() } else { format!("; {}", also.join("; ")) };
            let when = if from > now { format!(" {}", self.when(from, now)) } else { " now".into() };
            return Wording {
                full: sentence(&format!(
                    "{name}, still wet{more}: {}{also}",
                    self.against(against, from, now)
                )),
                brief: format!("{name}, wet{more}: {}.", self.briefly(against, from, now)),
                word: format!("wet: {}{when}", against.word()),
                warns: true,
            };
        }
        if !film.wet || film.stalled {
            return Wording {
                full: format!("{name}{more}: too cold, the film does not cure."),
                brief: format!("{name}{more}: too cold, the film does not cure."),
                word: "wet: too cold".into(),
                warns: true,
            };
        }
        if let Some(age) = area.reading_old {
            let age = duration_text(age);
            return Wording {
                full: format!(
                    "{name}, still wet{more}: the last reading is {age} old. Read the thermometer."
                ),
                brief: format!("{name}, wet{more}: the last reading is {age} old."),
                word: "wet: read the thermometer".into(),
                warns: true,
            };
        }
        if film.air_unknown {
            return Wording {
                full: format!("{name}, still wet{more}: the temperature is unknown. Read the thermometer."),
                brief: format!("{name}, wet{more}: the temperature is unknown."),
                word: "wet: read the thermometer".into(),
                warns: true,
            };
        }
        let damp = if film.humidity_unknown { "; the humidity is unknown, so dew is possible" } else { "" };
        let until = match film.safe {
            Some(safe) if safe <= film.known_until => {
                format!(" until it is tack-free ({} at the latest)", self.when(safe, now))
            }
            _ if film.known_until > now => {
                format!(" until {}, where the forecast ends", self.when(film.known_until, now))
            }
            _ => " now; there is no forecast".into(),
        };
        let brief = match film.safe {
            Some(safe) if safe <= film.known_until => {
                format!(" until it is tack-free ({})", self.when(safe, now))
            }
            _ => " now".into(),
        };
        Wording {
            full: format!("{name}, still wet{more}: the air is suitable{until}{damp}."),
            brief: format!(
                "{name}, wet{more}: the air is suitable{brief}{}.",
                if damp.is_empty() { "" } else { ", humidity unknown" }
            ),
            word: if damp.is_empty() { "wet: air OK now" } else { "wet: humidity unknown" }.into(),
            warns: false,
        }
    }
}

/// A name shortened to fit a line.
fn shortened(name: &str) -> String {
    let mut short: String = name.chars().take(SHORT_NAME).collect();
    if short.len() < name.len() {
        short = format!("{}…", short.trim_end());
    }
    short
}

#[cfg(test)]
mod tests;

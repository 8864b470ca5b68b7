//! Whether the air of a place suits what is on its surfaces now, and what goes on next, each in three lengths:
//! the screen takes the longest that it has room for, and all three say the same.

use crate::app::wording::{Words, sentence, the};
use crate::engine::air::Objection;
use crate::engine::assess::FilmAir;
use crate::engine::assess::Judgement;
use crate::engine::assess::{AreaSurvey, Survey};
use crate::engine::units::{Moment, capital, clean, duration_text};

/// So many letters of an area's name stand in a line.
const SHORT_NAME: usize = 14;

/// The same thing in three lengths.
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
    /// Whether there is nothing to tell.
    pub const fn is_empty(&self) -> bool {
        self.full.is_empty()
    }

    fn cleaned(self) -> Self {
        Self { full: clean(&self.full), brief: clean(&self.brief), word: clean(&self.word), ..self }
    }
}

impl Words {
    /// Whether the air of a place suits what goes on there next; empty where no coat is to come.
    pub fn told_next(&self, survey: &Survey<'_>, place: &str, now: Moment) -> Wording {
        let Some(area) = survey.comes_next(place) else { return Wording::default() };
        let Some(fitness) = &area.fitness else { return Wording::default() };
        let several = survey.areas.iter().filter(|other| other.place == place && other.fitness.is_some());
        let name = if several.count() > 1 { named(&area.name) } else { String::new() };
        let told = match (fitness.against(), fitness.under) {
            (Some((against, from)), _) => self.told_unfit(fitness, &name, against, from, now),
            (None, None) => self.told_fit(fitness, &name, now),
            (None, Some(under)) => {
                let reason = self.substrate(under, now).text;
                let of = if name.is_empty() { String::new() } else { format!(" for{name}") };
                let until = fitness.last_start.map(|last| format!(", begun by {}", self.when(last.at, now)));
                let until = until.unwrap_or_default();
                Wording {
                    full: format!("The air suits the next coat{of}{until}, but {reason}."),
                    brief: format!("The air would do{until}, but {reason}."),
                    word: "air fit, film not ready".into(),
                    warns: false,
                }
            }
        };
        told.cleaned()
    }

    fn told_fit(&self, fitness: &Judgement, name: &str, now: Moment) -> Wording {
        let unknown = fitness.air.iter().find_map(|(against, _)| match against {
            Objection::NoHumidity => Some("; the humidity is not known".to_owned()),
            Objection::HumidityOld(age) => Some(format!("; the humidity is {} old", duration_text(*age))),
            _ => None,
        });
        let unknown = unknown.unwrap_or_default();
        let Some(by) = fitness.begin_by().map(|by| self.when(by, now)) else {
            let forecast = if fitness.known_until > now {
                format!(", as far as is foreseen ({})", self.when(fitness.known_until, now))
            } else {
                " now; what comes is not foreseen".into()
            };
            return Wording {
                full: format!("Fit to coat{name}{forecast}{unknown}."),
                brief: format!("Fit to coat{name}{unknown}."),
                word: "fit".into(),
                warns: false,
            };
        };
        let word = format!("fit, begin by {by}");
        let Some(last) = fitness.met_later() else {
            let full =
                format!("Fit to coat{name}, begun by {by} to finish before the window closes{unknown}.");
            let brief = format!("Fit to coat{name}, begun by {by}: then the window closes{unknown}.");
            return Wording { full, brief, word, warns: false };
        };
        let (from, meets) = (self.when(last.from, now), self.meets(last.against));
        Wording {
            full: format!(
                "Fit to coat{name}, begun by {by}{unknown}. One begun later is wet when {meets}: {from}."
            ),
            brief: format!("Fit to coat{name}, begun by {by}{unknown}; {} {from}.", last.against.word()),
            word,
            warns: false,
        }
    }

    fn told_unfit(
        &self,
        fitness: &Judgement,
        name: &str,
        against: Objection,
        from: Moment,
        now: Moment,
    ) -> Wording {
        let slot = fitness.slots.first().map(|slot| self.when(slot.0, now));
        let then = match &slot {
            // What is to come cannot be told from there.
            _ if matches!(against, Objection::NoReading | Objection::OldReading(_)) => String::new(),
            Some(slot) => format!(" Fit from {slot}."),
            None if fitness.known_until > now => {
                format!(" No fit time until {}, as far as is foreseen.", self.when(fitness.known_until, now))
            }
            None => String::new(),
        };
        let in_brief = slot.as_ref().map(|slot| format!(" Fit from {slot}.")).unwrap_or_default();
        let in_words = slot.map(|slot| format!("; fit {slot}")).unwrap_or_default();
        let about = match name.trim().trim_start_matches("the ") {
            "" => String::new(),
            name => format!(" ({})", shortened(name)),
        };
        Wording {
            full: format!("Not fit to coat{name}: {}.{then}", self.against(against, from, now)),
            brief: format!("Not fit{about}: {}.{in_brief}", self.briefly(against, from, now)),
            word: format!("not fit: {}{in_words}", against.word()),
            warns: true,
        }
    }

    /// Whether the air of a place suits what is on its surfaces now; empty where no film is wet.
    pub fn told_film(&self, survey: &Survey<'_>, place: &str, now: Moment) -> Wording {
        let here = survey.areas.iter().filter(|area| area.place == place);
        let films: Vec<(&AreaSurvey<'_>, &FilmAir)> =
            here.filter_map(|area| Some((area, area.film.as_ref()?))).collect();
        // What is in danger first, the soonest first; else what has the longest way to go.
        let first = films.iter().min_by_key(|(_, film)| {
            let threat = film.threats.iter().map(|(_, from)| *from).min();
            let safe = film.safe.unwrap_or(Moment::MAX_UTC);
            (threat.is_none() && !film.stalled, threat.unwrap_or(Moment::MAX_UTC), std::cmp::Reverse(safe))
        });
        let Some((area, film)) = first else { return Wording::default() };
        let more = films.len() - 1;
        let more = if more > 0 { format!(" (and {more} more)") } else { String::new() };
        self.told_one(area, film, &more, now).cleaned()
    }

    fn told_one(&self, area: &AreaSurvey<'_>, film: &FilmAir, more: &str, now: Moment) -> Wording {
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
                full: format!("{name}{more}: too cold, the film stands still."),
                brief: format!("{name}{more}: too cold, the film stands still."),
                word: "stands still".into(),
                warns: true,
            };
        }
        if let Some(age) = area.reading_old {
            let age = duration_text(age);
            return Wording {
                full: format!(
                    "{name}, still wet{more}: the last reading is {age} old, too old to tell whether the air suits it."
                ),
                brief: format!("{name}, wet{more}: the last reading is {age} old."),
                word: "wet: unread".into(),
                warns: true,
            };
        }
        let damp = if film.humidity_unknown { "; the humidity is not known, so neither is dew" } else { "" };
        let until = match film.safe {
            Some(safe) if safe <= film.known_until => {
                format!(" until it is tack-free ({} at the latest)", self.when(safe, now))
            }
            _ if film.known_until > now => {
                format!(" until {}, as far as is foreseen", self.when(film.known_until, now))
            }
            _ => " now; what comes is not foreseen".into(),
        };
        let brief = match film.safe {
            Some(safe) if safe <= film.known_until => {
                format!(" until it is tack-free ({})", self.when(safe, now))
            }
            _ => String::new(),
        };
        Wording {
            full: format!("{name}, still wet{more}: the air suits it{until}{damp}."),
            brief: format!(
                "{name}, wet{more}: the air suits it{brief}{}.",
                if damp.is_empty() { "" } else { ", dew unknown" }
            ),
            word: "wet: air suits".into(),
            warns: false,
        }
    }
}

/// A name in so few letters that a line has room for it.
fn shortened(name: &str) -> String {
    let mut short: String = name.chars().take(SHORT_NAME).collect();
    if short.len() < name.len() {
        short = format!("{}…", short.trim_end());
    }
    short
}

/// " the roof", and " Roof" where the name does not go with an article.
fn named(area: &str) -> String {
    let area = area.trim();
    let with_article = the(area);
    format!(" {}", if with_article.is_empty() { area } else { with_article.trim_end() })
}

#[cfg(test)]
mod tests;

//! Moments, quantities and names in words.

use crate::engine::assess::CoatSurvey;
use crate::engine::cure::StageTimes;
use crate::engine::job::SchemeStep;
use crate::engine::profile::Stage;
use crate::engine::units::{Celsius, Civil, KelvinDelta, Moment, Money, Units, capital};

/// The units and the clock face of the texts.
#[derive(Debug, Clone)]
pub struct Words {
    /// Civil time.
    pub civil: Civil,
    /// The units.
    pub units: Units,
}

/// "First coat" to "tenth coat", then "coat 11".
pub fn ordinal_coat(layer: usize) -> String {
    const ORDINALS: [&str; 10] =
        ["First", "Second", "Third", "Fourth", "Fifth", "Sixth", "Seventh", "Eighth", "Ninth", "Tenth"];
    match layer.checked_sub(1).and_then(|index| ORDINALS.get(index)) {
        Some(ordinal) => format!("{ordinal} coat"),
        None => format!("Coat {layer}"),
    }
}

impl Words {
    /// A moment as shown at `now`.
    pub fn when(&self, moment: Moment, now: Moment) -> String {
        self.civil.when(moment, now)
    }

    /// A moment as a person types it: "2026-05-01 18:26".
    pub fn typed(&self, moment: Moment) -> String {
        self.civil.local(moment).format("%Y-%m-%d %H:%M").to_string()
    }

    /// "17.8 °C".
    pub fn temperature(&self, value: Celsius) -> String {
        self.units.temperature(value)
    }

    /// "falling 0.4 K/h"; None where it is steady.
    pub fn trend(&self, per_hour: KelvinDelta) -> String {
        if per_hour.abs().kelvin() < 0.1 {
            return "steady".into();
        }
        let word = if per_hour.kelvin() > 0.0 { "rising" } else { "falling" };
        format!("{word} {}/h", self.units.difference(per_hour.abs()))
    }

    /// A step of a scheme, as what to do.
    pub fn step(&self, step: &SchemeStep) -> String {
        match step {
            SchemeStep::Coat { product, .. } => format!("a coat of {product}"),
            SchemeStep::Sand { grit, .. } if grit.is_empty() => "sand".into(),
            SchemeStep::Sand { grit, .. } => format!("sand with grit {grit}"),
            SchemeStep::Wash => "wash".into(),
            SchemeStep::Tape { on: true } => "put the tape on".into(),
            SchemeStep::Tape { on: false } => "pull the tape".into(),
        }
    }

    /// "opens 16:22 … 16:40 · closes 19:10 … 20:05"
    pub fn range(&self, coat: &CoatSurvey<'_>, stages: &[Stage], now: Moment) -> String {
        let part = |stage: &Stage| {
            let times = coat.standing.stage(*stage)?;
            let (word, never) = match stage {
                Stage::RecoatOpen => ("opens", "does not open in this air"),
                Stage::RecoatClose => ("closes", "does not close in this air"),
                other => (other.name(), ""),
            };
            Some(match (self.between(times, now), never) {
                (Some(between), _) if times.not_before => format!("{word} {between} or later"),
                (Some(between), _) => format!("{word} {between}"),
                (None, "") => format!("not {word} in this air"),
                (None, never) => never.to_owned(),
            })
        };
        stages.iter().filter_map(part).collect::<Vec<_>>().join(" · ")
    }

    /// "16:22 … 16:40", or "Sun 08:00 … 09:20"; None where the stage is not reached.
    fn between(&self, times: &StageTimes, now: Moment) -> Option<String> {
        let earliest = times.earliest?;
        Some(match times.latest {
            None => format!("{} at the earliest, perhaps not at all", self.when(earliest, now)),
            Some(latest) => self.span(earliest, latest, now),
        })
    }

    /// "16:22 … 16:40", or "Sun 08:00 … 09:20".
    pub fn span(&self, earliest: Moment, latest: Moment, now: Moment) -> String {
        let (from, to) = (self.when(earliest, now), self.when(latest, now));
        let same_day = self.civil.local(earliest).date_naive() == self.civil.local(latest).date_naive();
        let to = if same_day { self.civil.time_of_day(latest) } else { to };
        if from.ends_with(&to) { from } else { format!("{from} … {to}") }
    }
}

/// A text with a capital and a full stop.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next();
    let stop = if letters.as_str().ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{}{stop}", capital(text))
}

/// "the roof ", and nothing where the name does not go with an article.
pub fn the(area: &str) -> String {
    let plain = area.chars().all(|c| c.is_lowercase() || c == ' ');
    if plain { format!("the {area} ") } else { String::new() }
}

/// A text with a lower-case first letter, without a trailing comma.
pub fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_lowercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}", letters.as_str()).trim_end_matches(',').to_owned()
}

/// Money with at least two decimals.
pub fn money_text(money: Money) -> String {
    let text = money.to_string();
    match text.split_once('.') {
        None => format!("{text}.00"),
        Some((_, cents)) if cents.len() == 1 => format!("{text}0"),
        Some(_) => text,
    }
}

//! Why the film or ground below takes no coat, in words.

use super::Words;
use crate::engine::assess::{AreaSurvey, Hardening, NotAllowed, StepBefore, Substrate};
use crate::engine::units::{Moment, capital, clean};

impl Substrate {
    /// In a word or two, for a stretch of time.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Applying => "being coated",
            Self::NotListed => "not listed",
            Self::OldPaint => "old paint",
            Self::Forbidden => "forbidden",
            Self::Wet(_) | Self::Hardening(..) => "not ready",
            Self::Late { .. } => "too late",
            Self::Shut(_) => "shut",
            Self::Drying(_) => "drying",
            Self::Unsanded { .. } | Self::Before(StepBefore::Sand) => "sand first",
            Self::Before(StepBefore::Wash) => "wash first",
            Self::Before(StepBefore::TapeOn) => "tape first",
            Self::Before(StepBefore::TapeOff(_)) => "tape off first",
        }
    }

    /// Its key in JSON.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Hardening(_, Hardening::Full(_)) => "film_full",
            Self::Applying | Self::Wet(_) | Self::Hardening(..) => "film_wet",
            Self::NotListed => "not_listed",
            Self::OldPaint => "old_paint",
            Self::Forbidden => "forbidden",
            Self::Late { .. } | Self::Shut(_) => "film_shut",
            Self::Drying(_) => "drying",
            Self::Unsanded { .. } | Self::Before(StepBefore::Sand) => "not_sanded",
            Self::Before(StepBefore::Wash) => "not_washed",
            Self::Before(StepBefore::TapeOn) => "not_taped",
            Self::Before(StepBefore::TapeOff(_)) => "tape_on",
        }
    }
}

impl Words {
    /// "Roof is tacky until 21:40: dust would stick to it.", where an area would be sanded now.
    pub fn dust(&self, area: &AreaSurvey<'_>, now: Moment) -> Option<String> {
        let tacky = area.dust_on.as_ref().filter(|on| on.until.is_none_or(|until| until > now))?;
        let name = capital(&clean(&tacky.area));
        let state = match tacky.until {
            _ if tacky.applying => "is being coated".to_owned(),
            Some(until) => format!("is tacky until {}", self.when(until, now)),
            None => "is tacky".to_owned(),
        };
        Some(format!("{name} {state}: dust of sanding here would stick to it."))
    }

    /// Why the profiles do not allow a product on a film.
    pub fn not_allowed(&self, pair: NotAllowed<'_>) -> String {
        let (under, next) = (&pair.under.id, &pair.next.id);
        match pair.because {
            Some(because) => format!("{next} must not go on {under}: {}", clean(because)),
            None => {
                let note = pair.under.notes.as_deref().map(|note| format!(" Its note: {}", clean(note)));
                format!(
                    "the profile of {under} does not list {next} as a next coat, sanded or not: check both data sheets.{}",
                    note.unwrap_or_default()
                )
            }
        }
    }
}

//! Why what is under the next coat can take none, in words.

use super::{Reason, Words};
use crate::engine::assess::{NotListed, Substrate};
use crate::engine::units::{Moment, clean};

impl Substrate {
    /// In a word, for a stretch of time.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Applying | Self::Wet(_) => "wet",
            Self::Late(_) => "late",
            Self::Shut(_) => "shut",
            Self::Full { .. } => "full",
            Self::Unsanded { .. } => "sand",
        }
    }
}

impl Words {
    /// That the profile of a film does not list the coat to come, and what it notes.
    pub fn not_listed(&self, NotListed { under, next }: NotListed<'_>) -> String {
        let note = under.notes.as_deref().map(|note| format!(" It notes: {}", clean(note)));
        format!(
            "the profile of {} does not name {} among what may go on it, sanded or not: ask both data sheets.{}",
            under.id,
            next.id,
            note.unwrap_or_default()
        )
    }

    /// Why what is under the next coat can take none, with its key in JSON.
    pub fn substrate(&self, substrate: Substrate, now: Moment) -> Reason {
        let at = |moment: Option<Moment>, what: &str| {
            moment.map(|moment| format!("{what}{}", self.when(moment, now)))
        };
        let (code, text) = match substrate {
            Substrate::Applying => ("film_wet", "the coat under it is still being applied".into()),
            Substrate::Wet(until) => {
                let until = at(until, " before ").unwrap_or_else(|| ", nor will it be as the air is".into());
                ("film_wet", format!("the coat under it is not ready{until}"))
            }
            Substrate::Late(close) => {
                let closes = at(close, ", at ").unwrap_or_default();
                ("film_shut", format!("too late to finish it before the window closes{closes}"))
            }
            Substrate::Shut(until) => {
                let until = at(until, " before ").unwrap_or_else(|| ", nor will it be as the air is".into());
                ("film_shut", format!("the window has closed, and it cannot be sanded{until}"))
            }
            Substrate::Full { most, until } => {
                let until =
                    at(until, " before ").unwrap_or_else(|| ", nor will that be as the air is".into());
                let text = format!(
                    "no more coats may go on wet on wet ({most} are the most), and it cannot be sanded{until}"
                );
                ("film_full", text)
            }
            Substrate::Unsanded { planned: true, .. } => ("not_sanded", "the scheme sands it first".into()),
            Substrate::Unsanded { wash: true, .. } => {
                ("not_sanded", "the coat under it has to be washed and sanded first".into())
            }
            Substrate::Unsanded { .. } => ("not_sanded", "the coat under it has to be sanded first".into()),
        };
        Reason { code, text, from: now }
    }
}

//! Why what is under the next coat can take none, in words.

use super::Words;
use crate::engine::assess::{Hardening, NotListed, Substrate};
use crate::engine::units::clean;

impl Substrate {
    /// In a word or two, for a stretch of time.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Applying => "being coated",
            Self::NotListed => "not listed",
            Self::Wet(_) | Self::Hardening(..) => "not ready",
            Self::Late { .. } => "too late",
            Self::Shut(_) => "shut",
            Self::Unsanded { .. } => "sand first",
        }
    }

    /// Its key in JSON.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Hardening(_, Hardening::Full(_)) => "film_full",
            Self::Applying | Self::Wet(_) | Self::Hardening(..) => "film_wet",
            Self::NotListed => "not_listed",
            Self::Late { .. } | Self::Shut(_) => "film_shut",
            Self::Unsanded { .. } => "not_sanded",
        }
    }
}

impl Words {
    /// That the profile of a film does not list the coat to come, and what it notes.
    pub fn not_listed(&self, NotListed { under, next }: NotListed<'_>) -> String {
        let note = under.notes.as_deref().map(|note| format!(" It notes: {}", clean(note)));
        format!(
            "the profile of {} does not list {} on top of it, sanded or not. Ask both data sheets; then confirm with --yes.{}",
            under.id,
            next.id,
            note.unwrap_or_default()
        )
    }
}

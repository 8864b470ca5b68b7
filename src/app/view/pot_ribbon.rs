//! A batch as plain data for a screen: stretches, words, countdown.

use crate::app::wording::Countdown;
use crate::app::wording::Rank;
use crate::app::wording::Words;
use crate::engine::assess::BatchSurvey;
use crate::engine::job::EntryId;
use crate::engine::pot::{Hazard, PotStanding};
use crate::engine::units::{Moment, clean};

/// One batch.
#[derive(Debug, Clone, PartialEq)]
pub struct PotRibbon {
    /// Its number.
    pub batch: EntryId,
    /// Its product.
    pub product: String,
    /// "300 g"
    pub mass: String,
    /// Its stretches.
    pub bands: Vec<PotBand>,
    /// What to do with it, in a sentence or two.
    pub says: String,
    /// When it stops being usable, earliest and latest, and its peak temperature.
    pub range: String,
    /// The assumptions.
    pub assumed: Vec<String>,
    /// The countdown.
    pub countdown: Option<Countdown>,
    /// Whether it gets dangerously hot.
    pub hot: bool,
}

/// A stretch of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PotBand {
    /// Its start.
    pub from: Moment,
    /// Its end; None if unknown.
    pub to: Option<Moment>,
    /// What it is then.
    pub phase: PotPhase,
}

/// The phase of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PotPhase {
    /// Its induction time runs: leave it alone.
    Induction,
    /// It can be spread.
    Usable,
    /// Its pot life may be over.
    Perhaps,
    /// It is over.
    Over,
}

impl PotPhase {
    /// In a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Induction => "induction",
            Self::Usable => "usable",
            Self::Perhaps => "usable?",
            Self::Over => "over",
        }
    }
}

impl PotRibbon {
    /// A batch at `now`, and its rank.
    pub fn of(pot: &BatchSurvey<'_>, words: &Words, now: Moment) -> (Rank, Self) {
        let said = words.pot(pot, now);
        let ribbon = Self {
            batch: pot.batch.id,
            product: clean(&pot.batch.product),
            mass: words.units.mass(pot.batch.mass),
            bands: pot.standing.as_ref().map(bands).unwrap_or_default(),
            says: said.says,
            range: said.range,
            assumed: said.assumed,
            countdown: said.countdown,
            hot: pot.standing.as_ref().is_some_and(|standing| standing.hazard == Hazard::Hot),
        };
        (said.rank, ribbon)
    }

    /// When the countdown ends.
    pub fn due(&self) -> Moment {
        self.countdown.as_ref().map_or(Moment::MAX_UTC, |countdown| countdown.to)
    }

    /// Its phase at a moment; None if unknown.
    pub fn phase_at(&self, now: Moment) -> Option<PotPhase> {
        let now = self.bands.iter().rev().find(|band| band.from <= now);
        now.or(self.bands.first()).map(|band| band.phase)
    }
}

fn bands(standing: &PotStanding) -> Vec<PotBand> {
    let usable = &standing.usable;
    let ready = standing.induction_over.unwrap_or(standing.mixed_at);
    let mut edges = vec![(standing.mixed_at, PotPhase::Induction), (ready, PotPhase::Usable)];
    edges.extend(usable.earliest.map(|end| (end, PotPhase::Perhaps)));
    edges.extend(usable.earliest.and(usable.latest).map(|end| (end, PotPhase::Over)));
    let ends = edges.iter().skip(1).map(|edge| Some(edge.0)).chain([None]);
    let bands = edges.iter().zip(ends).map(|(edge, to)| PotBand { from: edge.0, to, phase: edge.1 });
    bands.filter(|band| band.to.is_none_or(|to| to > band.from)).collect()
}

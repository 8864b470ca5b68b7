//! The verdict on an area: what may be done now, until or from when.

use chrono::TimeDelta;

use super::{AreaSurvey, Judgement, StepBefore, Substrate};
use crate::engine::cure::Phase;
use crate::engine::job::SchemeStep;
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// What may be done on an area now. Every output begins with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The next coat may start, up to this moment if there is a limit.
    Go {
        /// The last moment to begin.
        until: Option<Moment>,
        /// Whether that holds only in dry air and without rain: one of them is unknown.
        if_dry: bool,
    },
    /// Nothing may be done before this moment; None if unknown.
    Wait {
        /// When that changes.
        until: Option<Moment>,
    },
    /// Sand now, then coat.
    Sand {
        /// Whether it is washed first.
        wash: bool,
    },
    /// Wash now.
    Wash,
    /// Put the tape on.
    PutTape,
    /// Pull the tape.
    PullTape {
        /// The last moment for it.
        by: Option<Moment>,
    },
    /// Too late for a coat without sanding, too soon to sand.
    TooLate {
        /// When it can be sanded.
        until: Option<Moment>,
    },
    /// A coat is going on.
    Coating,
    /// There is no usable reading.
    ReadThermometer,
    /// The profile of the film does not list the next product.
    AskDataSheets,
    /// The product is unknown.
    UnknownProduct,
    /// Not in this air, and no suitable time is known.
    No,
    /// No coat follows; it cures.
    Curing,
    /// Full cure, or every step of the scheme is done.
    Done,
    /// Nothing is recorded or planned.
    Empty,
}

impl Verdict {
    /// Its key in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Go { .. } => "coat",
            Self::Wait { .. } => "wait",
            Self::Sand { wash: true } => "wash_and_sand",
            Self::Sand { wash: false } => "sand",
            Self::Wash => "wash",
            Self::PutTape => "tape_on",
            Self::PullTape { .. } => "tape_off",
            Self::TooLate { .. } => "too_late",
            Self::Coating => "finish",
            Self::ReadThermometer => "read",
            Self::AskDataSheets => "ask",
            Self::UnknownProduct => "unknown_product",
            Self::No => "no",
            Self::Curing => "cure",
            Self::Done => "done",
            Self::Empty => "nothing",
        }
    }
}

/// A more distant deadline does not take precedence over what can be done now.
pub const PRESSING: TimeDelta = TimeDelta::hours(4);

impl StepBefore {
    /// What to do now.
    pub const fn verdict(self) -> Verdict {
        match self {
            Self::Sand => Verdict::Sand { wash: false },
            Self::Wash => Verdict::Wash,
            Self::TapeOn => Verdict::PutTape,
            Self::TapeOff(by) => Verdict::PullTape { by: Some(by) },
        }
    }
}

impl AreaSurvey<'_> {
    /// The verdict at a moment, which may be a little later than the survey's own.
    pub fn verdict(&self, now: Moment) -> Verdict {
        if self.trouble.is_some() {
            return Verdict::UnknownProduct;
        }
        let judged = || self.judgement.as_ref().map_or(Verdict::Empty, Judgement::verdict);
        let Some(coat) = &self.newest else {
            if self.pair_refused() {
                return judged();
            }
            if let Some(dry) = self.dry_from.filter(|dry| *dry > now && self.wants_coat()) {
                return Verdict::Wait { until: Some(dry) };
            }
            return self.first_step().unwrap_or_else(judged);
        };
        if coat.coat.last_stroke.is_none() {
            return Verdict::Coating;
        }
        if let Some(by) = self.tape_pressing(now) {
            return Verdict::PullTape { by: Some(by) };
        }
        // No temperature makes a pair right that the profiles do not allow.
        if self.wants_coat() && self.pair_refused() {
            return judged();
        }
        if self.last_reading.is_none() {
            return Verdict::ReadThermometer;
        }
        let cured = coat.standing.phase_at(now) == Phase::Cured;
        if !self.wants_coat() {
            return if cured || self.prepared { Verdict::Done } else { Verdict::Curing };
        }
        if self.reading_old.is_some() && coat.standing.is_assumed() && !cured {
            return Verdict::ReadThermometer;
        }
        judged()
    }

    /// The verdict on a judged coat of this area: tape that has to come off soon is more urgent.
    pub fn verdict_on(&self, judgement: &Judgement, now: Moment) -> Verdict {
        let tape = self.tape_pressing(now).map(|by| Verdict::PullTape { by: Some(by) });
        tape.unwrap_or_else(|| judgement.verdict())
    }

    /// When tape on a finished coat has to be off, if that is soon.
    pub(super) fn tape_pressing(&self, now: Moment) -> Option<Moment> {
        self.newest.as_ref()?.coat.last_stroke?;
        self.tape_by().filter(|by| *by - now <= PRESSING)
    }

    /// Whether the profiles refuse the next product on the newest film.
    fn pair_refused(&self) -> bool {
        let ground = self.judgement.as_ref().and_then(|judgement| judgement.ground);
        ground.is_some_and(Substrate::is_refused)
    }

    /// The scheme's steps before the first coat.
    fn first_step(&self) -> Option<Verdict> {
        match self.to_do.first()? {
            SchemeStep::Coat { .. } => None,
            SchemeStep::Sand { .. } => Some(Verdict::Sand { wash: false }),
            SchemeStep::Wash => Some(Verdict::Wash),
            SchemeStep::Tape { on: true } => Some(Verdict::PutTape),
            SchemeStep::Tape { on: false } => Some(Verdict::PullTape { by: None }),
        }
    }

    /// When the tape has to be off, where tape is on.
    pub fn tape_by(&self) -> Option<Moment> {
        let coat = self.newest.as_ref().filter(|_| self.taped)?;
        coat.standing.stage(Stage::TapeBy)?.earliest
    }
}

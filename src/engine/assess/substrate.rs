//! The film or ground below the next coat, and why it takes none.

use super::{AreaSurvey, old_paint_objects};
use crate::engine::cure::Phase;
use crate::engine::job::SchemeStep;
use crate::engine::profile::{Product, Stage};
use crate::engine::units::Moment;

/// Why the film or ground below takes no coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Substrate {
    /// It is still being applied.
    Applying,
    /// Its profile does not list the next product, and the pair is not confirmed.
    NotListed,
    /// A profile forbids the next product on it, and the pair is not confirmed.
    Forbidden,
    /// The ground is paint of which nothing is known, and the pair is not confirmed.
    OldPaint,
    /// It takes the next coat without sanding from this moment on; None if never.
    Wet(Option<Moment>),
    /// It takes the next coat only after a sanding, which is possible from this moment on; None if never.
    Hardening(Option<Moment>, Hardening),
    /// A coat started now would not be finished before its window closes.
    Late {
        /// When the window closes, at its earliest.
        closes: Option<Moment>,
        /// When it can be sanded.
        sandable: Option<Moment>,
    },
    /// Its window has closed, and it is not sandable before this moment.
    Shut(Option<Moment>),
    /// It has to be sanded first, and washed if required.
    Unsanded {
        /// Whether it has to be washed.
        wash: bool,
        /// Whether only the scheme requires it.
        planned: bool,
    },
    /// It was washed, and is dry from this moment on.
    Drying(Moment),
    /// The scheme puts this step before the coat.
    Before(StepBefore),
}

/// A step of the scheme that comes before a coat and needs no waiting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepBefore {
    /// Sand the bare ground.
    Sand,
    /// Wash the bare ground.
    Wash,
    /// Put the tape on.
    TapeOn,
    /// Pull the tape off the coat below, by this moment.
    TapeOff(Moment),
}

/// Why a film is left to harden and sanded before the next coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hardening {
    /// The scheme sands before the next coat.
    Planned,
    /// The profile allows no more coats wet on wet.
    Full(usize),
    /// The profile gives no window for the next product.
    NoWindow,
    /// The profile asks for this stage before the next product, sanded or not.
    After(Stage),
    /// The window may close at the first moment, before it is certain to be open at the second.
    Unsure(Moment, Moment),
}

impl Substrate {
    /// Why a coat of a product may not go on an area at a moment; None if it may.
    pub fn forbids(area: &AreaSurvey<'_>, product: &Product, at: Moment) -> Option<Self> {
        let film = Self::film_forbids(area, product, at);
        let drying = area.dry_from.filter(|dry| *dry > at).map(Self::Drying);
        if drying.is_some() && film.is_none_or(Self::is_owed) {
            return drying;
        }
        film.or_else(|| {
            if let Some(by) = area.tape_pressing(at) {
                return Some(Self::Before(StepBefore::TapeOff(by)));
            }
            let bare = area.newest.is_none();
            Some(Self::Before(match area.to_do.first()? {
                SchemeStep::Tape { on: true } => StepBefore::TapeOn,
                SchemeStep::Sand { .. } if bare => StepBefore::Sand,
                SchemeStep::Wash if bare => StepBefore::Wash,
                _ => return None,
            }))
        })
    }

    fn film_forbids(area: &AreaSurvey<'_>, product: &Product, at: Moment) -> Option<Self> {
        let Some(coat) = &area.newest else {
            return old_paint_objects(area.ground, product, &area.confirmed).then_some(Self::OldPaint);
        };
        let standing = &coat.standing;
        if coat.coat.last_stroke.is_none() {
            return Some(Self::Applying);
        }
        if let Some(pair) = area.not_allowed(product) {
            return Some(if pair.because.is_some() { Self::Forbidden } else { Self::NotListed });
        }
        let sandable = coat.sand_from.latest;
        let unlisted = coat.sand_from.after.map_or(Hardening::NoWindow, Hardening::After);
        let too_soon = sandable.is_none_or(|from| at < from);
        let wash = standing.wash && !area.washed;
        match standing.phase_at(at) {
            Phase::Sandable if too_soon => Some(Self::Hardening(sandable, unlisted)),
            Phase::Sandable | Phase::Cured if area.prepared => None,
            Phase::Sandable | Phase::Cured => Some(Self::Unsanded { wash, planned: false }),
            // Where it is sanded anyway, nothing was missed.
            Phase::Shut if area.scheme_sands() && !area.prepared => {
                Some(Self::Hardening(sandable, Hardening::Planned))
            }
            Phase::Shut => Some(Self::Shut(sandable)),
            Phase::Wet | Phase::Open => match (why_hardening(area, product), standing.window()) {
                (Some(why), _) => Some(hardening(sandable, why, at)),
                (None, None) => Some(hardening(sandable, unlisted, at)),
                (None, Some((Some(open), Some(close)))) if close <= open => {
                    Some(hardening(sandable, Hardening::Unsure(close, open), at))
                }
                (None, Some((open, _))) if open.is_none_or(|open| at < open) => Some(Self::Wet(open)),
                (None, Some(_)) if Self::limit(area).is_none_or(|limit| at <= limit) => None,
                (None, Some((_, closes))) => Some(Self::Late { closes, sandable }),
            },
        }
    }

    /// The last start on the film as it is, if it has a window; if the duration of a coat is unknown, the
    /// closing time.
    pub fn limit(area: &AreaSurvey<'_>) -> Option<Moment> {
        let coat = area.newest.as_ref().filter(|_| !area.prepared)?;
        let close = coat.standing.window().and_then(|(_, close)| close);
        if area.takes.is_some() { coat.last_call.or(close) } else { close }
    }

    /// Whether the products forbid it, whatever the air and the time.
    pub const fn is_refused(self) -> bool {
        matches!(self, Self::NotListed | Self::Forbidden | Self::OldPaint)
    }

    /// Whether a sanding comes before the coat, and can be done.
    pub const fn is_sanding(self) -> bool {
        matches!(self, Self::Unsanded { .. } | Self::Before(StepBefore::Sand))
    }

    /// Whether tape comes off before the coat.
    pub const fn is_tape(self) -> bool {
        matches!(self, Self::Before(StepBefore::TapeOff(_)))
    }

    /// Whether a person can fix it at once: then a coat may follow as soon as the air is suitable.
    pub const fn is_owed(self) -> bool {
        matches!(self, Self::Unsanded { .. } | Self::Before(_))
    }

    /// When it ends, by itself or after a sanding.
    pub const fn until(self) -> Option<Moment> {
        match self {
            Self::Wet(until) | Self::Shut(until) | Self::Hardening(until, _) => until,
            Self::Late { sandable, .. } => sandable,
            Self::Drying(until) => Some(until),
            Self::Applying
            | Self::NotListed
            | Self::Forbidden
            | Self::OldPaint
            | Self::Unsanded { .. }
            | Self::Before(_) => None,
        }
    }
}

/// Why the film takes no coat without sanding although its window is open.
fn why_hardening(area: &AreaSurvey<'_>, product: &Product) -> Option<Hardening> {
    if area.scheme_sands() && !area.prepared {
        return Some(Hardening::Planned);
    }
    area.wet_on_wet.filter(|_| area.is_full_for(product)).map(|wet| Hardening::Full(wet.most))
}

fn hardening(sandable: Option<Moment>, why: Hardening, at: Moment) -> Substrate {
    match sandable {
        Some(from) if from <= at => {
            Substrate::Unsanded { wash: false, planned: matches!(why, Hardening::Planned) }
        }
        from => Substrate::Hardening(from, why),
    }
}

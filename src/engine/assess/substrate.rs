//! What is under the next coat, and whether it can take one.

use crate::engine::assess::AreaSurvey;
use crate::engine::cure::Phase;
use crate::engine::profile::{Product, Stage};
use crate::engine::units::Moment;

/// Why what is under the next coat can take none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Substrate {
    /// It is still being applied.
    Applying,
    /// It is not ready for the next before this moment; None where that is not known.
    Wet(Option<Moment>),
    /// A coat begun now would not be finished before its window closes at this moment.
    Late(Option<Moment>),
    /// Its window has closed, and it cannot be sanded before this moment.
    Shut(Option<Moment>),
    /// No more coats of the product may go on wet on wet; it can be sanded from this moment on.
    Full {
        /// How many its profile allows.
        most: usize,
        /// When it can be sanded, where that is known.
        until: Option<Moment>,
    },
    /// It has to be sanded first, and washed where that is owed.
    Unsanded {
        /// Whether it has to be washed.
        wash: bool,
        /// Whether the scheme alone wants it.
        planned: bool,
    },
}

impl Substrate {
    /// What forbids a coat of a product on an area at a moment; None where it may go on.
    pub fn forbids(area: &AreaSurvey<'_>, product: &Product, at: Moment) -> Option<Self> {
        let coat = area.newest.as_ref()?;
        let standing = &coat.standing;
        if coat.coat.last_stroke.is_none() {
            return Some(Self::Applying);
        }
        let sandable = || standing.stage(Stage::Sandable).and_then(|times| times.latest);
        let close = || standing.window().and_then(|(_, close)| close);
        let sands = area.scheme_sands() && !area.prepared;
        let full = area.wet_on_wet.filter(|_| area.is_full_for(product));
        match (standing.phase_at(at), full) {
            (Phase::Open | Phase::Wet, _) if sands => match sandable() {
                Some(from) if from <= at => Some(Self::Unsanded { wash: false, planned: true }),
                from => Some(Self::Wet(from)),
            },
            (Phase::Wet | Phase::Open, Some(wet)) => match sandable() {
                Some(from) if from <= at => Some(Self::Unsanded { wash: false, planned: false }),
                until => Some(Self::Full { most: wet.most, until }),
            },
            (Phase::Open, None) if Self::limit(area).is_none_or(|limit| at <= limit) => None,
            (Phase::Open, None) => Some(Self::Late(close())),
            (Phase::Sandable | Phase::Cured, _) if area.prepared => None,
            (Phase::Sandable | Phase::Cured, _) => {
                Some(Self::Unsanded { wash: standing.wash && !area.washed, planned: false })
            }
            (Phase::Wet, None) => Some(Self::Wet(standing.window().map_or_else(sandable, |(open, _)| open))),
            (Phase::Shut, _) => Some(Self::Shut(sandable())),
        }
    }

    /// The last moment at which a coat may be begun on the film as it is, where that has a window; where nobody
    /// knows how long the area takes, the window itself is the limit.
    pub fn limit(area: &AreaSurvey<'_>) -> Option<Moment> {
        let coat = area.newest.as_ref().filter(|_| !area.prepared)?;
        let close = coat.standing.window().and_then(|(_, close)| close);
        if area.takes.is_some() { coat.last_call.or(close) } else { close }
    }

    /// Whether a person can put it right at once: then a coat may follow as soon as the air suits it.
    pub const fn is_owed(self) -> bool {
        matches!(self, Self::Unsanded { .. })
    }

    /// From when on it would not forbid any more, by itself.
    pub const fn until(self) -> Option<Moment> {
        match self {
            Self::Wet(until) | Self::Shut(until) | Self::Full { until, .. } => until,
            Self::Applying | Self::Late(_) | Self::Unsanded { .. } => None,
        }
    }
}

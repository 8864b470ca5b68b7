//! How the air suits the newest coat of an area while it can still be hurt by it.

use crate::engine::air::Objections;
use crate::engine::assess::AreaSurvey;
use crate::engine::assess::Sky;
use crate::engine::cure::Phase;
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// A film that is not tack-free, or stands still in the cold, and the air over it.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmAir {
    /// What threatens it, each with its moment.
    pub threats: Objections,
    /// Whether it is wet, and does not only stand still.
    pub wet: bool,
    /// When it is tack-free at the latest; None where that is never, or not told by the profile.
    pub safe: Option<Moment>,
    /// Until when the air over it is known: as it is now, where that is `now`.
    pub known_until: Moment,
    /// Whether dew cannot be told, since nothing says how damp the air is.
    pub humidity_unknown: bool,
    /// Whether it stands still in the cold.
    pub stalled: bool,
}

impl FilmAir {
    /// Looks at the newest coat of an area; None where there is none, or where the air cannot hurt it.
    pub fn over(area: &AreaSurvey<'_>, sky: &Sky, now: Moment) -> Option<Self> {
        let coat = area.newest.as_ref()?;
        let tack_free = coat.standing.stage(Stage::TackFree).map(|times| times.latest);
        let wet = match tack_free {
            Some(latest) => latest.is_none_or(|latest| latest > now),
            None => coat.standing.phase_at(now) == Phase::Wet,
        };
        let stalled = coat.standing.stalled;
        if !wet && !stalled {
            return None;
        }
        let safe = tack_free.flatten();
        // A film that is never tack-free is in danger up to the end of the forecast.
        let until = match tack_free {
            Some(latest) => latest.unwrap_or(sky.known_until),
            None => now,
        };
        let threats = if wet {
            let surface = sky.surface(area.surface_lag);
            sky.air(&surface).threats(coat.product, area.outdoors, now, until)
        } else {
            Objections::new()
        };
        let known_until = until.min(sky.known_until).max(now);
        let humidity_unknown = sky.history.humidity_at(now).is_none();
        Some(Self { threats, wet, safe, known_until, humidity_unknown, stalled })
    }
}

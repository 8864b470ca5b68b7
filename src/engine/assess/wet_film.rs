//! The air over the newest coat while it is sensitive to it.

use crate::engine::air::Objections;
use crate::engine::assess::AreaSurvey;
use crate::engine::assess::Sky;
use crate::engine::cure::Phase;
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// A film that is not tack-free, or stands still in the cold, and the air over it.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmAir {
    /// The threats, each with its moment.
    pub threats: Objections,
    /// Whether it is wet, and not only stalled.
    pub wet: bool,
    /// When it is tack-free at the latest; None if never, or if the profile gives no time.
    pub safe: Option<Moment>,
    /// The end of the known air; `now` if only the current air is known.
    pub known_until: Moment,
    /// Whether the temperature is unknown.
    pub air_unknown: bool,
    /// Whether dew is unknown, because the humidity is.
    pub humidity_unknown: bool,
    /// Whether it is stalled.
    pub stalled: bool,
}

impl FilmAir {
    /// The air over the newest coat of an area; None without one, or if it is not sensitive.
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
        let air_unknown = sky.history.air_at(now).is_none();
        Some(Self { air_unknown, threats, wet, safe, known_until, humidity_unknown, stalled })
    }
}

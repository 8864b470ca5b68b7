//! Whether a coat may go on an area, by the film under it and by the air: the check behind the board, the
//! command and the alerts.

use chrono::TimeDelta;

use crate::engine::air::{Coming, LastStart, Objection, Objections, Task};
use crate::engine::assess::AreaSurvey;
use crate::engine::assess::Sky;
use crate::engine::assess::Substrate;
use crate::engine::profile::Product;
use crate::engine::units::Moment;

/// Yes, not yet, or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Now.
    Go,
    /// From the first slot on.
    Wait,
    /// Not on what is known.
    No,
}

/// Whether a coat may go on an area.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The verdict.
    pub verdict: Verdict,
    /// What is under it and can take no coat now.
    pub under: Option<Substrate>,
    /// What speaks against it in the air.
    pub air: Objections,
    /// The next stretches long enough for it, soonest first.
    pub slots: Vec<(Moment, Moment)>,
    /// The last moment at which it may still be begun in this air, where the air suits it now and the end of
    /// that is foreseen.
    pub last_start: Option<LastStart>,
    /// The last moment at which it may still be begun on what is under it, where that has a window.
    pub window: Option<Moment>,
    /// Until when the air is foreseen.
    pub known_until: Moment,
}

/// So many slots are enough to choose from.
pub const SLOTS: usize = 6;

impl Judgement {
    /// Judges a coat of `product` on `area` at `now`.
    pub fn judge(area: &AreaSurvey<'_>, product: &Product, sky: &Sky, now: Moment) -> Self {
        let surface = sky.surface(area.surface_lag);
        let air = sky.air(&surface);
        let task = task_of(area, product);
        let under = Substrate::forbids(area, product, now);
        let mut reasons = air.against(&task, now);
        if let Some(age) = area.reading_old {
            reasons.insert(0, (Objection::OldReading(age), now));
        }
        let coming = Coming::new(&air, &task, now);
        let ready = |at: Moment| {
            area.reading_old.is_none()
                && Substrate::forbids(area, product, at).is_none_or(|under| under.is_owed())
        };
        let mut slots = coming.slots(ready);
        let air_fits = reasons.iter().all(|(against, _)| !against.forbids());
        let last_start = if air_fits { coming.last_start() } else { None };
        let verdict = match (under.is_none() && air_fits, slots.is_empty()) {
            (true, _) => Verdict::Go,
            (false, false) => Verdict::Wait,
            (false, true) => Verdict::No,
        };
        slots.truncate(SLOTS);
        let window = Substrate::limit(area).filter(|_| under.is_none());
        Self { verdict, under, air: reasons, slots, last_start, window, known_until: sky.known_until }
    }

    /// The last moment at which it may be begun, by what is under it and by the air; None where neither ends.
    pub fn begin_by(&self) -> Option<Moment> {
        self.window.into_iter().chain(self.last_start.map(|last| last.at)).min()
    }

    /// What is met by a coat that is begun later, where that is the air and not the window.
    pub fn met_later(&self) -> Option<LastStart> {
        self.last_start.filter(|last| self.window.is_none_or(|window| last.at <= window))
    }

    /// What speaks against it in the air first; None where the air suits it.
    pub fn against(&self) -> Option<(Objection, Moment)> {
        self.air.iter().find(|(against, _)| against.forbids()).copied()
    }

    /// The verdict of the air alone, whatever is under the coat.
    pub fn air_verdict(&self) -> Verdict {
        match self.verdict {
            _ if self.against().is_none() => Verdict::Go,
            Verdict::Wait => Verdict::Wait,
            _ => Verdict::No,
        }
    }
}

/// The coat that would go on an area.
pub fn task_of<'a>(area: &AreaSurvey<'_>, product: &'a Product) -> Task<'a> {
    let takes = area.takes.unwrap_or(TimeDelta::minutes(30));
    Task { product, takes, bare_wood: area.coats == 0, outdoors: area.outdoors }
}

/// The area of a place that comes next there: one that can take its coat now before those that cannot, the
/// one whose window shuts first before the others.
pub fn comes_next<'s, 'a>(
    areas: &'s [AreaSurvey<'a>],
    place: &str,
    now: Moment,
) -> Option<&'s AreaSurvey<'a>> {
    let here = areas.iter().filter(|area| area.place == place && area.fitness.is_some());
    here.min_by_key(|area| {
        let under = area.fitness.as_ref().and_then(|fitness| fitness.under);
        let closes = || area.newest.as_ref().and_then(|coat| coat.last_call).filter(|_| area.minds_window());
        let moment = match under {
            None => closes(),
            Some(under) if under.is_owed() => Some(now),
            Some(under) => under.until(),
        };
        (under.is_some(), moment.unwrap_or(Moment::MAX_UTC).max(now))
    })
}

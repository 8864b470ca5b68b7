//! Stages, window and phase of a coat, and when they change.

use chrono::TimeDelta;

use super::course::{Bound, Course, Law};
use super::history::History;
use crate::engine::profile::{Product, Recoat, Stage, TimeTable};
use crate::engine::units::{Celsius, Moment};

/// The phase of a coat, on the safe side: a minimum time counts as reached at its latest moment, a maximum time
/// as passed at its earliest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Phase {
    /// Leave it alone.
    Wet,
    /// The next coat may go on without sanding.
    Open,
    /// Too late for a coat, too soft to sand.
    Shut,
    /// Sand, then coat.
    Sandable,
    /// Full cure: ready for service.
    Cured,
}

impl Phase {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Wet => "wet",
            Self::Open => "open",
            Self::Shut => "shut",
            Self::Sandable => "sandable",
            Self::Cured => "cured",
        }
    }
}

/// The facts about a coat that the calculation needs.
#[derive(Debug, Clone, Copy)]
pub struct CoatFacts<'a> {
    /// The first brush stroke.
    pub first_stroke: Moment,
    /// The last stroke; None while the coat is still being applied.
    pub last_stroke: Option<Moment>,
    /// What was applied.
    pub product: &'a Product,
    /// The next product, if known.
    pub next: Option<&'a Product>,
}

/// When a stage is reached, with its bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageTimes {
    /// Progress, 0 to 1.
    pub progress: f64,
    /// With temperature and humidity as measured; None if never.
    pub at: Option<Moment>,
    /// With every temperature raised by its error and every humidity on the quick side.
    pub earliest: Option<Moment>,
    /// With every temperature lowered by its error and every humidity on the slow side.
    pub latest: Option<Moment>,
    /// Whether it depends on temperatures that were not measured: before the first reading, after the last one,
    /// or between two readings more than 2 h apart.
    pub assumed: bool,
    /// Whether a temperature was outside the points of the data sheet.
    pub extrapolated: bool,
    /// Whether the coat is still being applied, so that the moment can only get later.
    pub not_before: bool,
}

/// A coat at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The stages that the profile gives, in the order of [`Stage::ALL`].
    pub stages: Vec<(Stage, StageTimes)>,
    /// The phase now.
    pub phase: Phase,
    /// Whether the profile does not list the next product.
    pub silent: bool,
    /// Whether the film has to be washed before it is sanded.
    pub wash: bool,
    /// Whether the film is below its stall temperature before full cure.
    pub stalled: bool,
    /// A long stretch without a reading while the film cured; the temperature over it is interpolated.
    pub gap: Option<(Moment, Moment)>,
    /// The first reading, if the coat began before it: that reading is held backwards.
    pub unread_before: Option<Moment>,
    /// Whether the humidity matters and is unknown.
    pub humidity_unknown: bool,
    changes: Changes,
}

/// The moments between the phases, on the safe side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Changes {
    window: Window,
    sandable: Option<Moment>,
    cured: Option<Moment>,
}

#[derive(Debug, Clone, Copy, PartialEq, Default)]
enum Window {
    /// The profile gives no window for the next product.
    #[default]
    Unknown,
    /// Opens at a moment (never, if None) and closes at another (no limit, if None).
    Known { open: Option<Moment>, close: Option<Moment> },
}

/// A longer gap between readings is shown.
const GAP_WORTH_TELLING: TimeDelta = TimeDelta::hours(6);

impl Standing {
    /// The standing of the coat at `now`. Without a single reading all moments are None and the film counts as
    /// wet.
    pub fn calculate(coat: CoatFacts<'_>, history: &History, now: Moment) -> Self {
        let recoat = coat.next.and_then(|next| coat.product.recoat_before(next));
        let stages: Vec<_> = Stage::ALL
            .into_iter()
            .filter_map(|stage| {
                let table = table_of(stage, coat.product, recoat)?;
                Some((stage, stage_times(stage, table, coat, history, now)))
            })
            .collect();
        let reached = |stage| stages.iter().find(|(s, _)| *s == stage).map(|(_, r): &(_, StageTimes)| *r);
        let window = recoat.map_or(Window::Unknown, |recoat| Window::Known {
            open: reached(Stage::RecoatOpen).and_then(|r| r.latest),
            close: recoat
                .close
                .is_some()
                .then(|| reached(Stage::RecoatClose).and_then(|r| r.earliest))
                .flatten(),
        });
        let changes = Changes {
            window,
            sandable: reached(Stage::Sandable).and_then(|r| r.latest),
            cured: reached(Stage::FullCure).and_then(|r| r.latest),
        };
        let phase = if coat.last_stroke.is_none() { Phase::Wet } else { changes.phase_at(now) };
        let through = stages.iter().all(|(_, times)| times.progress >= 1.0);
        let end = changes.cured.map_or(now, |cured| cured.min(now));
        Self {
            phase,
            silent: coat.next.is_some() && recoat.is_none(),
            wash: recoat.map_or(coat.product.washes(), |entry| entry.wash),
            stalled: !through && is_stalled(coat.product, history.air_at(now)),
            gap: history.longest_gap(coat.first_stroke, end, GAP_WORTH_TELLING),
            unread_before: history.first_reading().filter(|first| *first > coat.first_stroke),
            humidity_unknown: Law::minimum(coat.product).minds_humidity()
                && history.humidity_at(now).is_none(),
            stages,
            changes,
        }
    }

    /// The times of a stage, if the profile gives it.
    pub fn stage(&self, stage: Stage) -> Option<&StageTimes> {
        self.stages.iter().find(|(s, _)| *s == stage).map(|(_, times)| times)
    }

    /// The phase of the film at a moment, from the readings so far.
    pub fn phase_at(&self, moment: Moment) -> Phase {
        self.changes.phase_at(moment)
    }

    /// The next moment after `now` at which the phase changes, and the new phase.
    pub fn next_change(&self, now: Moment) -> Option<(Moment, Phase)> {
        let present = self.phase_at(now);
        let mut moments = self.changes.moments();
        moments.sort();
        moments
            .into_iter()
            .filter(|moment| *moment > now)
            .map(|m| (m, self.phase_at(m)))
            .find(|(_, p)| *p != present)
    }

    /// The safe window for the next coat: opens at its latest, closes at its earliest.
    pub fn window(&self) -> Option<(Option<Moment>, Option<Moment>)> {
        match self.changes.window {
            Window::Unknown => None,
            Window::Known { open, close } => Some((open, close)),
        }
    }

    /// Whether any moment depends on temperatures that were not measured.
    pub fn is_assumed(&self) -> bool {
        self.stages.iter().any(|(_, times)| times.assumed)
    }
}

impl Changes {
    fn phase_at(&self, moment: Moment) -> Phase {
        let passed = |limit: Option<Moment>| limit.is_some_and(|limit| moment >= limit);
        if passed(self.cured) {
            return Phase::Cured;
        }
        let hard = if passed(self.sandable) { Phase::Sandable } else { Phase::Shut };
        match self.window {
            Window::Known { close, .. } if passed(close) => hard,
            Window::Known { open, .. } if passed(open) => Phase::Open,
            Window::Unknown if passed(self.sandable) => Phase::Sandable,
            _ => Phase::Wet,
        }
    }

    fn moments(&self) -> Vec<Moment> {
        let window = match self.window {
            Window::Unknown => [None, None],
            Window::Known { open, close } => [open, close],
        };
        window.into_iter().chain([self.sandable, self.cured]).flatten().collect()
    }
}

/// The latest start of the next coat that still ends inside the window: the earliest closing time, less the
/// time this area takes, less the lead.
pub fn last_call(close_earliest: Moment, takes: TimeDelta, lead: TimeDelta) -> Moment {
    close_earliest - takes - lead
}

fn table_of<'a>(stage: Stage, product: &'a Product, recoat: Option<&'a Recoat>) -> Option<&'a TimeTable> {
    match stage {
        Stage::RecoatOpen => recoat.map(|entry| &entry.open),
        Stage::RecoatClose => recoat.and_then(|entry| entry.close.as_ref()),
        other => product.stage(other),
    }
}

fn stage_times(
    stage: Stage,
    table: &TimeTable,
    coat: CoatFacts<'_>,
    history: &History,
    now: Moment,
) -> StageTimes {
    let start = match (stage.is_maximum(), coat.last_stroke) {
        (true, _) => coat.first_stroke,
        (false, Some(last_stroke)) => last_stroke,
        (false, None) => now.max(coat.first_stroke),
    };
    let course = Course::new(history, table, Law::of_stage(coat.product, stage));
    let at = course.crossing(start, 1.0, Bound::AsRead);
    let latest = course.crossing(start, 1.0, Bound::Coolest);
    let progress = match at {
        Some(at) if at <= now => 1.0,
        _ => course.progress(start, now, Bound::AsRead).clamp(0.0, 1.0),
    };
    let until = at.unwrap_or(now).max(start);
    StageTimes {
        progress,
        at,
        earliest: course.crossing(start, 1.0, Bound::Warmest),
        latest,
        assumed: match (history.first_reading(), history.last_reading()) {
            (Some(first), Some(last)) => {
                start < first || latest.is_none_or(|latest| latest > last || history.has_gap(start, latest))
            }
            _ => true,
        },
        extrapolated: history
            .range(start, until)
            .is_some_and(|(low, high)| table.is_extrapolated(low) || table.is_extrapolated(high)),
        not_before: !stage.is_maximum() && coat.last_stroke.is_none(),
    }
}

fn is_stalled(product: &Product, air: Option<Celsius>) -> bool {
    air.zip(product.application.stall_below).is_some_and(|(air, limit)| air < limit)
}

#[cfg(test)]
mod tests;

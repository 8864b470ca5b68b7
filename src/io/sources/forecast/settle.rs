//! Puts the steps of a forecast in order: sorted, unique, filled in by the hour, gaps reported.

use chrono::TimeDelta;

use super::{LARGEST_STEP, Note};
use crate::engine::air::OutdoorHour;
use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, Moment};

const HOUR: TimeDelta = TimeDelta::hours(1);

/// One step of the forecast.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    pub(super) at: Moment,
    pub(super) air: Celsius,
    pub(super) humidity: Option<Humidity>,
    pub(super) wind: Option<MetresPerSecond>,
    pub(super) rain: Rain,
}

/// The forms of rain.
#[derive(Debug, Clone, Copy)]
pub(super) enum Rain {
    /// Until the next step, in millimetres.
    UntilNext(Option<f64>),
    /// In the hour, and in the six hours, after the step.
    Ahead { one: Option<f64>, six: Option<f64> },
}

impl Rain {
    /// The rain of the hour that begins `after` hours after the step; `hours` is the number filled in.
    fn in_hour(self, after: usize, hours: usize) -> Option<Millimetres> {
        let millimetres = match self {
            Self::UntilNext(all) => all.map(|all| all / hours.max(1) as f64),
            Self::Ahead { one, .. } if after == 0 && one.is_some() => one,
            Self::Ahead { six, .. } => six.map(|six| six / 6.0),
        };
        millimetres.map(Millimetres::new)
    }
}

/// The hours of a forecast, and its oddities.
pub(super) fn settle(mut steps: Vec<Step>, now: Moment) -> (Vec<OutdoorHour>, Vec<Note>) {
    let mut notes = Vec::new();
    if !steps.is_sorted_by_key(|step| step.at) {
        notes.push(Note::Unsorted);
        // Stable: of two at the same moment the later one stays later.
        steps.sort_by_key(|step| step.at);
    }
    let given = steps.len();
    steps.reverse();
    steps.dedup_by_key(|step| step.at);
    steps.reverse();
    if steps.len() < given {
        notes.push(Note::Twice(given - steps.len()));
    }
    let is_gap = gaps(&steps);
    let mut longest: Option<(TimeDelta, Moment, Moment)> = None;
    let mut hours = Vec::with_capacity(steps.len());
    for (index, step) in steps.iter().enumerate() {
        let next = steps.get(index + 1);
        let gap = is_gap.get(index).copied().unwrap_or(true);
        let Some(next) = next.filter(|_| !gap) else {
            if let Some(next) = next
                && longest.is_none_or(|(length, ..)| next.at - step.at > length)
            {
                longest = Some((next.at - step.at, step.at, next.at));
            }
            hours.push(between(step, step, 0, 1));
            continue;
        };
        // Rounded up: a partial hour before the next step counts.
        let count = ((next.at - step.at).num_seconds() + 3599) / 3600;
        let count = usize::try_from(count).unwrap_or(1).clamp(1, 6);
        hours.extend((0..count).map(|after| between(step, next, after, count)));
    }
    if let Some((_, from, to)) = longest {
        notes.push(Note::Gaps { count: is_gap.iter().filter(|gap| **gap).count(), from, to });
    }
    if let Some(last) = steps.last()
        && last.at + HOUR <= now
    {
        notes.push(Note::Past { until: last.at });
    }
    (hours, notes)
}

/// Whether a gap follows each step but the last. A forecast may get coarser towards its end; a step longer than
/// a later one is a gap.
fn gaps(steps: &[Step]) -> Vec<bool> {
    let mut shortest = LARGEST_STEP;
    let mut gaps: Vec<bool> = steps
        .windows(2)
        .rev()
        .map(|pair| {
            let [step, next] = pair else { return false };
            let length = next.at - step.at;
            let gap = length > LARGEST_STEP || (length > HOUR && length > shortest + shortest / 2);
            shortest = shortest.min(length);
            gap
        })
        .collect();
    gaps.reverse();
    gaps
}

/// The hour that begins `after` hours after a step, interpolated to the next one.
fn between(step: &Step, next: &Step, after: usize, hours: usize) -> OutdoorHour {
    let rain = step.rain.in_hour(after, hours);
    if after == 0 {
        return OutdoorHour { at: step.at, air: step.air, humidity: step.humidity, rain, wind: step.wind };
    }
    let passed = HOUR * i32::try_from(after).unwrap_or(0);
    let share = passed.num_seconds() as f64 / ((next.at - step.at).num_seconds().max(1)) as f64;
    let line = |from: f64, to: f64| from + (to - from) * share;
    let humidity = step.humidity.zip(next.humidity);
    let wind = step.wind.zip(next.wind);
    OutdoorHour {
        at: step.at + passed,
        air: Celsius::new(line(step.air.degrees(), next.air.degrees())),
        humidity: humidity.map(|(from, to)| Humidity::from_fraction(line(from.fraction(), to.fraction()))),
        rain,
        wind: wind
            .map(|(from, to)| MetresPerSecond::new(line(from.metres_per_second(), to.metres_per_second()))),
    }
}

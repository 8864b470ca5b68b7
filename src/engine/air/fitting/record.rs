//! The readings of a place and the outdoor record over the same hours.

use chrono::TimeDelta;

use super::super::lag::{Line, seconds_between};
use crate::engine::units::Moment;

/// After a longer gap the outdoor record starts anew. Forecasts have steps of at most six hours.
const GAP: f64 = 6.0 * HOUR;
/// Readings further apart do not add to the overlap.
const LONGEST_STEP: f64 = 12.0 * HOUR;
const HOUR: f64 = 3600.0;

/// Stretches over which both are known. The mean of the outdoor record is subtracted from both lines, to avoid
/// cancellation.
#[derive(Debug)]
pub(super) struct Record {
    pub stretches: Vec<Stretch>,
}

/// A stretch without a gap in the outdoor record; it begins with a reading.
#[derive(Debug, Default)]
pub(super) struct Stretch {
    /// Its first reading.
    pub start: f64,
    /// The steps after it; each ends at a knot of the outdoor record or at a reading.
    pub steps: Vec<Step>,
}

/// A step over which the outdoor value is linear.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// Its length in hours.
    pub hours: f64,
    /// The outdoor value at its start and at its end.
    pub outside: (f64, f64),
    /// The reading at its end, if any.
    pub reading: Option<f64>,
}

impl Record {
    pub fn of(inside: &Line, outside: &Line) -> Self {
        let points = outside.points();
        let middle = points.iter().map(|point| point.1).sum::<f64>() / points.len().max(1) as f64;
        let readings = hourly_means(inside);
        let mut stretches = Vec::new();
        for known in points.chunk_by(|a, b| seconds_between(a.0, b.0) <= GAP) {
            let (Some(first), Some(last)) = (known.first(), known.last()) else { continue };
            let from = readings.partition_point(|reading| reading.0 < first.0);
            let to = readings.partition_point(|reading| reading.0 <= last.0);
            let part = Line::new(known.iter().map(|&(at, value)| (at, value - middle)));
            if let Some(stretch) = readings.get(from..to).and_then(|r| Stretch::of(r, middle, &part)) {
                stretches.push(stretch);
            }
        }
        Self { stretches }
    }

    /// The number of hours with a reading.
    pub fn hours(&self) -> usize {
        self.stretches.iter().map(|stretch| 1 + stretch.readings().count()).sum()
    }

    /// The overlap.
    pub fn together(&self) -> TimeDelta {
        let hours: f64 = self.stretches.iter().flat_map(Stretch::readings).map(|(hours, _)| hours).sum();
        TimeDelta::seconds((hours * HOUR).round() as i64)
    }

    /// The range of the outdoor value.
    pub fn swing(&self) -> f64 {
        let outside = self.stretches.iter().flat_map(|s| &s.steps).flat_map(|s| [s.outside.0, s.outside.1]);
        let (low, high) = outside
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
        (high - low).max(0.0)
    }
}

impl Stretch {
    fn of(readings: &[(Moment, f64)], middle: f64, outside: &Line) -> Option<Self> {
        let (first, rest) = readings.split_first()?;
        let mut stretch = Self { start: first.1 - middle, steps: Vec::new() };
        let mut at = first.0;
        for &(to, value) in rest {
            stretch.steps.extend(outside.pieces(at, to).map(|piece| Step {
                hours: piece.seconds / HOUR,
                outside: (piece.first, piece.last),
                reading: (piece.to == to).then_some(value - middle),
            }));
            at = to;
        }
        Some(stretch)
    }

    /// Every reading but the first, with the hours since the previous one, as far as they count.
    fn readings(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let mut since = 0.0;
        self.steps.iter().filter_map(move |step| {
            since += step.hours;
            let reading = step.reading?;
            Some((std::mem::take(&mut since).min(LONGEST_STEP / HOUR), reading))
        })
    }
}

/// One value per hour: the mean of its readings, at the mean of their moments. This averages out the
/// thermometer's noise and changes a daily swing of 8 K by 0.02 K at most.
fn hourly_means(inside: &Line) -> Vec<(Moment, f64)> {
    let of_one_hour = |a: &(Moment, f64), b: &(Moment, f64)| {
        a.0.timestamp().div_euclid(3600) == b.0.timestamp().div_euclid(3600)
    };
    inside
        .points()
        .chunk_by(of_one_hour)
        .filter_map(|hour| {
            let (first, count) = (hour.first()?.0, hour.len() as f64);
            let seconds = hour.iter().map(|reading| seconds_between(first, reading.0)).sum::<f64>() / count;
            let mean = hour.iter().map(|reading| reading.1).sum::<f64>() / count;
            Some((first + TimeDelta::milliseconds((seconds * 1000.0) as i64), mean))
        })
        .collect()
}

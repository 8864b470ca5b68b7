//! The prediction error of the model and of the held reading, hours ahead, on the record itself.

use super::super::lag::{follow, weights};
use super::record::{Record, Stretch};

/// Longest prediction, in hours.
const HOURS_AHEAD: usize = 48;
/// The share of the errors that the residual covers.
const COVERED: f64 = 0.9;

/// The errors of predictions from each reading of the record.
#[derive(Debug)]
pub(super) struct Ahead {
    /// 0.9 quantile of the error after 0, 1, 2 … 48 hours, non-decreasing.
    pub residual: Vec<f64>,
    /// RMS error of the model over all hours ahead.
    pub model_rms: f64,
    /// The same with the reading held.
    pub held_rms: f64,
}

/// Predicts every reading of the record from every reading up to 48 hours before it.
pub(super) fn ahead(record: &Record, tau: f64, gain: f64) -> Ahead {
    let mut errors = vec![Vec::new(); HOURS_AHEAD + 1];
    let (mut model, mut held, mut count) = (0.0, 0.0, 0.0_f64);
    for stretch in &record.stretches {
        from_every_reading(stretch, tau, gain, |hours, start, predicted, reading| {
            let error = (reading - predicted).abs();
            model += error * error;
            held += (reading - start) * (reading - start);
            count += 1.0;
            if let Some(of_that_hour) = errors.get_mut((hours.round() as usize).max(1)) {
                of_that_hour.push(error);
            }
        });
    }
    let together = record.together().as_seconds_f64() / 3600.0;
    let covering = errors.iter_mut().map(|errors| covering(errors, together));
    let rms = |squares: f64| (squares / count.max(1.0)).sqrt();
    Ahead { residual: never_shrinking(covering.collect()), model_rms: rms(model), held_rms: rms(held) }
}

/// Calls `tell` for every pair of readings at most 48 hours apart: hours, first reading, prediction, second
/// reading.
fn from_every_reading(stretch: &Stretch, tau: f64, gain: f64, mut tell: impl FnMut(f64, f64, f64, f64)) {
    // A step is y·decay + input for any start y.
    let steps: Vec<(f64, f64, f64, Option<f64>)> = stretch
        .steps
        .iter()
        .map(|step| {
            let x = step.hours / tau;
            let (first, last) = (step.outside.0 + gain, step.outside.1 + gain);
            (step.hours, weights(x).0, follow(0.0, first, last, x), step.reading)
        })
        .collect();
    let starts = steps.iter().enumerate().filter_map(|(index, step)| Some((index + 1, step.3?)));
    for (begin, start) in std::iter::once((0, stretch.start)).chain(starts) {
        let (mut hours, mut predicted) = (0.0, start);
        for &(length, decay, input, reading) in &steps[begin..] {
            hours += length;
            if hours > HOURS_AHEAD as f64 + 0.5 {
                break;
            }
            predicted = predicted * decay + input;
            if let Some(reading) = reading {
                tell(hours, start, predicted, reading);
            }
        }
    }
}

/// The error that covers nine in ten future errors. For n independent errors it is the quantile 0.9·(1 + 1/n)
/// (split conformal prediction: V. Vovk, A. Gammerman, G. Shafer, Algorithmic Learning in a Random World, 2005;
/// from memory). The errors of one half day count as one: they share the night or the sun. None without errors.
fn covering(errors: &mut [f64], together: f64) -> Option<f64> {
    let half_days = (together / 12.0).max(1.0);
    let rank = (COVERED * (1.0 + 1.0 / half_days) * errors.len() as f64).ceil() as usize;
    let rank = rank.clamp(1, errors.len().max(1)) - 1;
    (rank < errors.len()).then(|| *errors.select_nth_unstable_by(rank, f64::total_cmp).1)
}

/// Fills hours without a pair from the next one that has one, and makes the sequence non-decreasing.
fn never_shrinking(mut covering: Vec<Option<f64>>) -> Vec<f64> {
    let mut next = None;
    for value in covering.iter_mut().rev() {
        next = value.or(next);
        *value = next;
    }
    if let Some(now) = covering.first_mut() {
        *now = Some(0.0);
    }
    let mut largest = 0.0_f64;
    covering
        .into_iter()
        .map(|value| {
            largest = largest.max(value.unwrap_or(largest));
            largest
        })
        .collect()
}

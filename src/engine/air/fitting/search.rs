//! Least squares over tau and gain.
//!
//! For a given tau the free run is linear in the gain and in the start of each stretch, so these are solved for
//! and only ln(tau) is searched: on a grid, to avoid local minima, then by golden section. The interval of tau
//! ends where the sum of squares has risen as far as chance explains (profile likelihood); it may be
//! asymmetric.

use super::super::lag::weights;
use super::record::{Record, Stretch};

/// tau is searched from six minutes to six weeks.
const SHORTEST: f64 = 0.1;
const LONGEST: f64 = 1000.0;
const GRID: usize = 64;
const REFINED: usize = 40;
/// Two standard errors: 95 %.
const SURE: f64 = 2.0;
/// Upper limit of the autocorrelation: above it errors cannot be distinguished from a drift.
const MOST_ALIKE: f64 = 0.98;

/// The best tau and gain, in hours and in the unit of the record.
#[derive(Debug, Clone, Copy)]
pub(super) struct Found {
    pub tau: f64,
    pub gain: f64,
    pub tau_range: (f64, f64),
    pub gain_error: f64,
}

/// The residuals with the best gain and starts for one tau.
struct Trial {
    squares: f64,
    gain: f64,
    /// The information about the gain: the sum of squares of its regressor, less what the starts take.
    weight: f64,
    residuals: Vec<Vec<f64>>,
}

pub(super) fn search(record: &Record) -> Found {
    let (low, high) = (SHORTEST.ln(), LONGEST.ln());
    let step = (high - low) / (GRID - 1) as f64;
    let squares_at = |log_tau: f64| trial(record, log_tau.exp()).squares;
    let grid: Vec<(f64, f64)> =
        (0..GRID).map(|i| low + step * i as f64).map(|log_tau| (log_tau, squares_at(log_tau))).collect();
    let best = grid.iter().min_by(|a, b| a.1.total_cmp(&b.1)).map_or(low, |point| point.0);
    let best = golden_section(squares_at, (best - step).max(low), (best + step).min(high));
    let tau = best.exp();
    let Trial { squares, gain, weight, residuals } = trial(record, tau);

    let count = residuals.iter().map(Vec::len).sum::<usize>() as f64;
    let parameters = 2.0 + record.stretches.len() as f64;
    let alike = alikeness(&residuals);
    let repeats = (1.0 + alike) / (1.0 - alike);
    let independent = (count / repeats - parameters).max(1.0);
    let risen = squares * (1.0 + SURE * SURE / independent) + f64::MIN_POSITIVE;
    let within = |point: &&(f64, f64)| point.1 <= risen;
    let first = grid.iter().find(within).map_or(best, |point| point.0.min(best));
    let last = grid.iter().rev().find(within).map_or(best, |point| point.0.max(best));
    let from = bisect(|log_tau| squares_at(log_tau) <= risen, first, (first - step).max(low));
    let to = bisect(|log_tau| squares_at(log_tau) <= risen, last, (last + step).min(high));
    let tau_range = (from.exp(), to.exp());

    let by_noise = if weight > 0.0 { SURE * (squares / independent / weight).sqrt() } else { 0.0 };
    let by_tau = (trial(record, tau_range.1).gain - trial(record, tau_range.0).gain) / 2.0;
    Found { tau, gain, tau_range, gain_error: by_noise.hypot(by_tau) }
}

/// A stretch of the free run: reading = run + start · left + gain · (1 − left).
struct Run {
    /// (left, reading − run), where `run` began at 0 and `left` is the remaining share of its start.
    points: Vec<(f64, f64)>,
    /// Sums over the points: left², left · (1 − left), left · residual.
    starts: (f64, f64, f64),
}

impl Run {
    fn of(stretch: &Stretch, tau: f64) -> Self {
        let (mut left, mut run) = (1.0, 0.0);
        let mut points = vec![(1.0, stretch.start)];
        for step in &stretch.steps {
            let (decay, reached) = weights(step.hours / tau);
            let (first, last) = step.outside;
            run = run * decay + first * (1.0 - decay) + (last - first) * reached;
            left *= decay;
            points.extend(step.reading.map(|reading| (left, reading - run)));
        }
        let starts = points.iter().fold((0.0, 0.0, 0.0), |sums, &(left, rest)| {
            (sums.0 + left * left, sums.1 + left * (1.0 - left), sums.2 + left * rest)
        });
        Self { points, starts }
    }

    /// For each point the part that the start cannot explain: of the gain's regressor, and of the reading.
    fn freed(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let (of_start, of_gain, of_rest) = self.starts;
        self.points.iter().map(move |&(left, rest)| {
            (1.0 - left - left * of_gain / of_start, rest - left * of_rest / of_start)
        })
    }
}

fn trial(record: &Record, tau: f64) -> Trial {
    let runs: Vec<Run> = record.stretches.iter().map(|stretch| Run::of(stretch, tau)).collect();
    let (weight, pull) = runs
        .iter()
        .flat_map(Run::freed)
        .fold((0.0, 0.0), |sums, (gain, rest)| (sums.0 + gain * gain, sums.1 + gain * rest));
    let gain = if weight > 0.0 { pull / weight } else { 0.0 };
    let residuals: Vec<Vec<f64>> =
        runs.iter().map(|run| run.freed().map(|(of_gain, rest)| rest - gain * of_gain).collect()).collect();
    let squares = residuals.iter().flatten().map(|residual| residual * residual).sum();
    Trial { squares, gain, weight, residuals }
}

/// Lag-1 autocorrelation r of the errors, 0 for chance. (1 + r) / (1 − r) correlated errors carry the
/// information of one independent error.
fn alikeness(residuals: &[Vec<f64>]) -> f64 {
    let squares: f64 = residuals.iter().flatten().map(|residual| residual * residual).sum();
    let products: f64 = residuals.iter().flat_map(|run| run.windows(2)).map(|pair| pair[0] * pair[1]).sum();
    if squares > 0.0 { (products / squares).clamp(0.0, MOST_ALIKE) } else { 0.0 }
}

/// The minimum of a valley between `low` and `high`.
fn golden_section(height: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let share = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut left, mut right) = (high - share * (high - low), low + share * (high - low));
    let (mut at_left, mut at_right) = (height(left), height(right));
    for _ in 0..REFINED {
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - share * (high - low);
            at_left = height(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + share * (high - low);
            at_right = height(right);
        }
    }
    (low + high) / 2.0
}

/// Between a point where it holds and one where it may not: the last where it holds.
fn bisect(holds: impl Fn(f64) -> bool, mut inside: f64, mut outside: f64) -> f64 {
    if holds(outside) {
        return outside;
    }
    for _ in 0..REFINED {
        let middle = (inside + outside) / 2.0;
        if holds(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    inside
}

//! The error growth of a place from its own record: by the hour if long, by its swing if short.

use super::super::history::Node;
use super::growth::{Growth, HOUR};

/// The growth is taken from the record up to this number of hours.
const RECORD_HOURS: usize = 48;
/// A shorter record, in hours, gives the swing only.
const LONG: f64 = 72.0;
/// A shorter one, in hours, gives nothing.
const SHORT: f64 = 3.0;
/// The share of the record's changes that the growth covers.
const COVERED: f64 = 0.9;
/// Swing of a light shed in the sun, ±K: assumed for a place without a record.
const LIGHT_SHED: f64 = 8.0;
/// Upper limit of the swing.
const MOST: f64 = 10.0;

/// Of a sparse record the last ten days count, and at least three changes.
const THIN_FOR: f64 = 240.0;
const CHANGES: usize = 3;
/// A long time span has few changes in a short record: they are scaled up by this.
const FEW: f64 = 0.7;

/// The growth from readings.
pub(super) fn growth(nodes: &[Node]) -> Growth {
    let Some((first, last)) = nodes.first().zip(nodes.last()) else { return unknown() };
    let hours = (last.seconds - first.seconds) / HOUR;
    let dense = nodes.len() as f64 >= hours / 3.0;
    if dense && hours >= LONG {
        return of_changes(&hourly_line(nodes));
    }
    let since =
        |hours: f64| &nodes[nodes.partition_point(|node| node.seconds < last.seconds - hours * HOUR)..];
    Growth::of_swing(swing(since(24.0)).or_else(|| thin_swing(since(THIN_FOR))).unwrap_or(LIGHT_SHED))
}

/// The growth without a record.
pub(super) fn unknown() -> Growth {
    Growth::of_swing(LIGHT_SHED)
}

/// The swing from less than three days: k·R^1.25, where R is the range and k runs from 3 for 6 h to 0.8 for a
/// day. Fitted to light, medium and slow shops over public weather (`docs/cure.md`).
fn swing(nodes: &[Node]) -> Option<f64> {
    let (first, last) = nodes.first().zip(nodes.last())?;
    let hours = (last.seconds - first.seconds) / HOUR;
    if hours < SHORT || (nodes.len() as f64) < hours / 3.0 {
        return None;
    }
    let (low, high) = nodes
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), n| (low.min(n.kelvin), high.max(n.kelvin)));
    let per_range = if hours <= 6.0 { 3.0 * (6.0 / hours) } else { 3.0 - (hours - 6.0) / 18.0 * 2.2 };
    Some((per_range * (high - low).powf(1.25)).min(MOST))
}

/// The swing from one reading a day: 3·M^1.7, where M is the mean difference between days. Fitted likewise: a
/// place that follows the weather from day to day follows the sun from hour to hour.
fn thin_swing(nodes: &[Node]) -> Option<f64> {
    let changes = nodes.len().saturating_sub(1);
    let sum: f64 = nodes.windows(2).map(|pair| (pair[1].kelvin - pair[0].kelvin).abs()).sum();
    (changes >= CHANGES).then(|| (3.0 * (sum / changes as f64).powf(1.7)).min(MOST))
}

/// The 0.9 quantile of the changes over each number of hours: at their end, and of their mean.
fn of_changes(hourly: &[f64]) -> Growth {
    let sums: Vec<f64> = std::iter::once(0.0)
        .chain(hourly.windows(2).scan(0.0, |sum, pair| {
            *sum += (pair[0] + pair[1]) / 2.0;
            Some(*sum)
        }))
        .collect();
    let (mut point, mut mean) = (vec![0.0], vec![0.0]);
    for hours in 1..=RECORD_HOURS.min(hourly.len() - 1) {
        let few = 1.0 + FEW * hours as f64 / hourly.len() as f64;
        let ends = hourly.iter().zip(&hourly[hours..]).map(|(a, b)| (b - a).abs());
        point.push((few * covering(ends.collect())).max(point[hours - 1]));
        let starts = sums.iter().zip(&sums[hours..]).zip(hourly);
        let means = starts.map(|((from, to), start)| ((to - from) / hours as f64 - start).abs());
        mean.push((few * covering(means.collect())).max(mean[hours - 1]));
    }
    Growth::of_hours(&point, &mean)
}

fn covering(mut changes: Vec<f64>) -> f64 {
    let rank = ((changes.len() - 1) as f64 * COVERED).round() as usize;
    *changes.select_nth_unstable_by(rank, f64::total_cmp).1
}

/// The temperature at every full hour from the first reading on.
fn hourly_line(nodes: &[Node]) -> Vec<f64> {
    let Some(first) = nodes.first() else { return Vec::new() };
    let mut line = Vec::new();
    for pair in nodes.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        loop {
            let due = first.seconds + line.len() as f64 * HOUR;
            if due > b.seconds {
                break;
            }
            line.push(a.kelvin + (b.kelvin - a.kelvin) * (due - a.seconds) / (b.seconds - a.seconds));
        }
    }
    line
}

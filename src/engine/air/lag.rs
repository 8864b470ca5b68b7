//! First-order lag: y' = (u − y) / tau, exact for a piecewise linear input u.
//!
//! This module knows moments and bare numbers; its callers add the units.

use crate::engine::units::Moment;

/// y after `x` time constants, with the input linear from `u0` to `u1`.
///
/// Closed form: y + (u0 − y)·(1 − e^(−x)) + (u1 − u0)·(1 − (1 − e^(−x)) / x), written without cancellation for
/// small x. x = 0 changes nothing; infinite x ends at the input.
pub(super) fn follow(y: f64, u0: f64, u1: f64, x: f64) -> f64 {
    let (decay, reached) = weights(x);
    y + (u0 - y) * (1.0 - decay) + (u1 - u0) * reached
}

/// The remaining share of the start after `x` time constants, and the share of the input's change that arrived.
pub(super) fn weights(x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (1.0, 0.0);
    }
    let decay = (-x).exp();
    let reached = if x < 1e-3 { x * (0.5 - x * (1.0 / 6.0 - x / 24.0)) } else { 1.0 + (-x).exp_m1() / x };
    (decay, reached)
}

/// Seconds from one moment to another.
pub(super) fn seconds_between(from: Moment, to: Moment) -> f64 {
    (to - from).as_seconds_f64()
}

/// A value over time: linear between its points, constant before the first and after the last.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Line {
    points: Vec<(Moment, f64)>,
}

/// A linear piece of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    /// Where it ends.
    pub to: Moment,
    /// How long it is.
    pub seconds: f64,
    /// The value at its beginning.
    pub first: f64,
    /// The value at its end.
    pub last: f64,
}

impl Line {
    /// From points ascending in time. Values that are not numbers and points before their predecessor are
    /// dropped; of two at the same moment the later one counts.
    pub fn new(points: impl IntoIterator<Item = (Moment, f64)>) -> Self {
        let mut line: Vec<(Moment, f64)> = Vec::new();
        for (at, value) in points.into_iter().filter(|(_, value)| value.is_finite()) {
            match line.last_mut() {
                Some(last) if last.0 == at => last.1 = value,
                Some(last) if last.0 > at => {}
                _ => line.push((at, value)),
            }
        }
        Self { points: line }
    }

    pub fn points(&self) -> &[(Moment, f64)] {
        &self.points
    }

    pub fn last(&self) -> Option<(Moment, f64)> {
        self.points.last().copied()
    }

    /// The value at a moment; None without points.
    pub fn at(&self, moment: Moment) -> Option<f64> {
        let after = self.points.partition_point(|point| point.0 <= moment);
        let before = after.checked_sub(1).and_then(|index| self.points.get(index));
        match (before, self.points.get(after)) {
            (Some(before), Some(after)) => {
                let share = seconds_between(before.0, moment) / seconds_between(before.0, after.0);
                Some(before.1 + (after.1 - before.1) * share)
            }
            (Some(only), None) | (None, Some(only)) => Some(only.1),
            (None, None) => None,
        }
    }

    /// The pieces from one moment to another, split at every point between; none without points.
    pub fn pieces(&self, from: Moment, to: Moment) -> impl Iterator<Item = Piece> + '_ {
        let inside = self.points.partition_point(|point| point.0 <= from);
        let corners = self.points[inside..].iter().copied().take_while(move |point| point.0 < to);
        let end = self.at(to).filter(|_| from < to).map(|value| (to, value));
        let mut at = self.at(from).map(|value| (from, value));
        corners.chain(end).filter_map(move |(to, last)| {
            let (start, first) = at?;
            at = Some((to, last));
            Some(Piece { to, seconds: seconds_between(start, to), first, last })
        })
    }
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;

    use super::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    #[test]
    fn no_time_changes_nothing_and_endless_time_ends_at_the_input() {
        assert_eq!(follow(3.0, 10.0, 20.0, 0.0), 3.0);
        assert_eq!(follow(3.0, 10.0, 20.0, -1.0), 3.0);
        assert_eq!(follow(3.0, 10.0, 20.0, f64::INFINITY), 20.0);
    }

    #[test]
    fn the_series_and_the_closed_form_meet() {
        let (_, below) = weights(0.999_999e-3);
        let (_, above) = weights(1.000_001e-3);
        assert!((above - below - 1e-9).abs() < 1e-12, "{below} {above}");
    }

    #[test]
    fn a_split_changes_nothing() {
        let whole = follow(3.0, 10.0, 20.0, 1.7);
        let half = follow(3.0, 10.0, 15.0, 0.85);
        assert!((follow(half, 15.0, 20.0, 0.85) - whole).abs() < 1e-12);
    }

    #[test]
    fn a_line_is_straight_between_its_points_and_held_outside() {
        let line = Line::new([(at(0), 1.0), (at(10), 3.0), (at(5), 99.0), (at(12), f64::NAN), (at(10), 4.0)]);
        assert_eq!(line.at(at(-1)), Some(1.0));
        assert_eq!(line.at(at(5)), Some(2.5));
        assert_eq!(line.at(at(99)), Some(4.0));
        assert_eq!(Line::default().at(at(0)), None);
    }

    #[test]
    fn pieces_are_split_at_the_points() {
        let line = Line::new([(at(0), 1.0), (at(10), 3.0)]);
        let pieces: Vec<_> = line.pieces(at(-5), at(15)).map(|p| (p.seconds, p.first, p.last)).collect();
        assert_eq!(pieces, [(300.0, 1.0, 1.0), (600.0, 1.0, 3.0), (300.0, 3.0, 3.0)]);
        assert_eq!(line.pieces(at(5), at(5)).count(), 0);
        assert_eq!(line.pieces(at(5), at(1)).count(), 0);
        assert_eq!(Line::default().pieces(at(0), at(9)).count(), 0);
    }
}

//! A segment with smooth temperature and humidity factor, and the integral over it.

use super::ramp::Ramp;
use crate::engine::profile::Piece;

/// A stretch of time. Temperature and factor are linear in `u`, which runs from 0 to 1 over it. Only the part
/// between `from` and `to` counts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Segment {
    pub pace: Pace,
    pub kelvin: Ramp,
    /// The humidity factor before it is clamped.
    pub factor: Ramp,
    pub from: f64,
    pub to: f64,
}

/// Maps `u` linearly to seconds.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    pub from: f64,
    pub to: f64,
}

impl Pace {
    pub fn seconds_at(self, u: f64) -> f64 {
        self.from + (self.to - self.from) * u
    }

    /// `u` at a moment.
    pub fn u_at(self, seconds: f64) -> f64 {
        (seconds - self.from) / (self.to - self.from)
    }
}

/// Nodes and weights of the five-point Gauss–Legendre rule on −1…1 (Abramowitz and Stegun, table 25.4).
const GAUSS_LEGENDRE: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

/// Integrates over a part of a segment inside one piece of the table, on which the temperature only rises or
/// only falls. The part is cut so that ln(rate) changes by at most 1 in each: the error of the rule for e^u over a
/// length of 1, (n!)⁴/((2n+1)·(2n)!³) with n = 5, is 4e-13.
pub(super) fn smooth_integral(piece: Piece, segment: &Segment, factor: Ramp, from: f64, to: f64) -> f64 {
    let change = piece.slope * (1.0 / segment.kelvin.at(from) - 1.0 / segment.kelvin.at(to));
    let parts = change.abs().ceil().clamp(1.0, 1000.0);
    let half = (to - from) / parts / 2.0;
    let mut sum = 0.0;
    for part in 0..parts as usize {
        let middle = from + half * (2 * part + 1) as f64;
        for (node, weight) in GAUSS_LEGENDRE {
            let u = middle + half * node;
            let rate = piece.rate(segment.kelvin.at(u));
            sum += weight * half * rate * factor.at(u) * (segment.pace.to - segment.pace.from);
        }
    }
    sum
}

/// The root of an increasing function that is negative at `from` and not at `to` (regula falsi, Illinois
/// variant).
pub(super) fn root_of(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = ((from, f(from)), (to, f(to)));
    let mut kept_high = None;
    for _ in 0..200 {
        let step = high.0 - (high.1 * (high.0 - low.0)) / (high.1 - low.1);
        let u = if step > low.0 && step < high.0 { step } else { (low.0 + high.0) / 2.0 };
        let value = f(u);
        if value == 0.0 || high.0 - low.0 < 1e-15 {
            return u;
        }
        if value < 0.0 {
            low = (u, value);
            if kept_high == Some(true) {
                high.1 /= 2.0;
            }
            kept_high = Some(true);
        } else {
            high = (u, value);
            if kept_high == Some(false) {
                low.1 /= 2.0;
            }
            kept_high = Some(false);
        }
        if value.abs() < 1e-16 {
            return u;
        }
    }
    high.0
}

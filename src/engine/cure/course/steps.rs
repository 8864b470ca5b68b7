//! Short steps from reading to reading by the two-point Hermite rule. Error: δ⁴/720 for a change of δ in
//! ln(rate).

use super::Run;
use crate::engine::cure::history::Node;
use crate::engine::profile::Piece;

/// A piece of the table and its temperature range.
#[derive(Debug, Clone, Copy)]
pub(super) struct Smooth {
    pub line: Piece,
    pub lowest: f64,
    pub highest: f64,
    pub shift: f64,
}

/// A step is short where ln(rate) changes by less than this …
const SHORT_CHANGE: f64 = 0.02;
/// … and the temperature by less than this, in kelvin.
const SHORT_WARMING: f64 = 0.8;
/// Steps per block.
const BLOCK: usize = 16;
/// After this many steps the rate is read from the table again, to limit rounding errors.
const STEPS: usize = 1024;

impl Smooth {
    fn holds(&self, kelvin: f64) -> bool {
        kelvin >= self.lowest && kelvin <= self.highest
    }

    pub fn steps(&self, run: &mut Run, from: Node, to: &[Node], target: f64) -> usize {
        let mut taken = 0;
        let mut before = from;
        for steps in to.chunks(STEPS) {
            let count = self.few_steps(run, before, steps, target);
            taken += count;
            if count < steps.len() {
                break;
            }
            before = steps[count - 1];
        }
        taken
    }

    /// Takes whole blocks of short steps while every step is short, inside the piece and below the target. The
    /// loops run over arrays so that they vectorize. Returns the number of steps and the rate at the last.
    fn blocks(&self, run: &mut Run, from: Node, to: &[Node], target: f64, mut rate: f64) -> (usize, f64) {
        let (slope, curve) = (self.line.slope, self.line.slope / 12.0);
        let (mut before, mut taken) = (from, 0);
        for block in to.chunks_exact(BLOCK) {
            let (mut kelvin, mut inverse) = ([0.0; BLOCK + 1], [0.0; BLOCK + 1]);
            let (mut growth, mut length) = ([0.0; BLOCK], [0.0; BLOCK]);
            kelvin[0] = before.kelvin + self.shift;
            length[0] = block[0].seconds - before.seconds;
            for index in 0..BLOCK {
                kelvin[index + 1] = block[index].kelvin + self.shift;
            }
            for index in 1..BLOCK {
                length[index] = block[index].seconds - block[index - 1].seconds;
            }
            for index in 0..=BLOCK {
                inverse[index] = 1.0 / kelvin[index];
            }
            let mut short = true;
            for index in 0..BLOCK {
                let change = slope * (inverse[index] - inverse[index + 1]);
                let warming = kelvin[index + 1] - kelvin[index];
                short &= (change.abs() <= SHORT_CHANGE) & (warming.abs() <= SHORT_WARMING);
                short &= (kelvin[index + 1] >= self.lowest) & (kelvin[index + 1] <= self.highest);
                growth[index] = exp_of_small(change);
            }
            let mut rates = [rate; BLOCK + 1];
            for index in 0..BLOCK {
                rates[index + 1] = rates[index] * growth[index];
            }
            let mut sums = [0.0; 4];
            for index in 0..BLOCK {
                let turn = rates[index] * inverse[index] * inverse[index]
                    - rates[index + 1] * inverse[index + 1] * inverse[index + 1];
                let warming = kelvin[index + 1] - kelvin[index];
                let height = (rates[index] + rates[index + 1]) * 0.5 + curve * warming * turn;
                sums[index % 4] += length[index] * height;
            }
            let part = (sums[0] + sums[1]) + (sums[2] + sums[3]);
            if !short || run.amount + part >= target {
                break;
            }
            run.amount += part;
            (before, rate, taken) = (block[BLOCK - 1], rates[BLOCK], taken + BLOCK);
        }
        (taken, rate)
    }

    fn few_steps(&self, run: &mut Run, from: Node, to: &[Node], target: f64) -> usize {
        let slope = self.line.slope;
        let curve = slope / 12.0;
        let (taken, mut rate) = self.blocks(run, from, to, target, self.line.rate(from.kelvin + self.shift));
        let from = taken.checked_sub(1).map_or(from, |last| to[last]);
        let (mut seconds, mut kelvin) = (from.seconds, from.kelvin + self.shift);
        let mut inverse = 1.0 / kelvin;
        let mut turn = rate * inverse * inverse;
        for (index, node) in to.iter().enumerate().skip(taken) {
            let next = node.kelvin + self.shift;
            let next_inverse = 1.0 / next;
            let warming = next - kelvin;
            let change = slope * (inverse - next_inverse);
            let short = change.abs() <= SHORT_CHANGE && warming.abs() <= SHORT_WARMING;
            if !(short && self.holds(next)) {
                return index;
            }
            let next_rate = rate * exp_of_small(change);
            let next_turn = next_rate * next_inverse * next_inverse;
            let part =
                (node.seconds - seconds) * ((rate + next_rate) * 0.5 + curve * warming * (turn - next_turn));
            let amount = run.amount + part;
            if amount >= target {
                return index;
            }
            run.amount = amount;
            (seconds, kelvin, inverse, rate, turn) = (node.seconds, next, next_inverse, next_rate, next_turn);
        }
        to.len()
    }

    /// The same with humidity: `factor` gives the factor before it is clamped to `limits`. A step that crosses
    /// a limit is not short.
    pub fn steps_in_damp(
        &self,
        run: &mut Run,
        from: Node,
        to: &[Node],
        target: f64,
        limits: (f64, f64),
        factor: impl Fn(&Node) -> f64,
    ) -> usize {
        let slope = self.line.slope;
        let mut before = from;
        let mut raw = factor(&from);
        let (mut k0, mut r0) = (0.0, 0.0);
        for (index, node) in to.iter().enumerate() {
            if index % STEPS == 0 {
                k0 = before.kelvin + self.shift;
                r0 = self.line.rate(k0);
            }
            let (k1, next) = (node.kelvin + self.shift, factor(node));
            if leaves(raw, next, limits) {
                return index;
            }
            let (h0, h1) = (raw.clamp(limits.0, limits.1), next.clamp(limits.0, limits.1));
            let (warming, damping) = (k1 - k0, h1 - h0);
            let (i0, i1) = (1.0 / k0, 1.0 / k1);
            let change = slope * (i0 - i1);
            let short = change.abs() <= SHORT_CHANGE && warming.abs() <= SHORT_WARMING;
            if !(short && self.holds(k1)) || damping.abs() > SHORT_CHANGE * h0.abs() {
                return index;
            }
            let r1 = r0 * exp_of_small(change);
            let turn = |r: f64, h: f64, i: f64| r * (h * slope * i * i * warming + damping);
            let curve = (turn(r0, h0, i0) - turn(r1, h1, i1)) * (1.0 / 12.0);
            let part = (node.seconds - before.seconds) * ((r0 * h0 + r1 * h1) * 0.5 + curve);
            if run.amount + part >= target {
                return index;
            }
            run.amount += part;
            (before, k0, r0, raw) = (*node, k1, r1, next);
        }
        to.len()
    }
}

/// Whether a value crosses one of two limits between two nodes.
fn leaves(from: f64, to: f64, (low, high): (f64, f64)) -> bool {
    let passes = |limit: f64| (from < limit) != (to < limit);
    passes(low) || passes(high)
}

/// e^x for |x| ≤ 0.02; the truncation error is below 3e-16.
#[inline]
fn exp_of_small(x: f64) -> f64 {
    const C: [f64; 5] = [1.0 / 2.0, 1.0 / 6.0, 1.0 / 24.0, 1.0 / 120.0, 1.0 / 720.0];
    1.0 + x * (1.0 + x * (C[0] + x * (C[1] + x * (C[2] + x * (C[3] + x * C[4])))))
}

//! The integral of the rate over a history, and the moment at which it reaches one.
//!
//! Exact to 1e-9 relative: where a stretch is short the two-point Hermite rule serves (its error is
//! δ⁴/720 for a change of δ in ln(rate)), elsewhere Gauss–Legendre; stretches are cut where the table
//! bends and where the cold stalls the film.

mod segment;
mod steps;

use segment::{Pace, Segment, root_of, smooth_integral};
use steps::Smooth;

use super::history::{History, Node};
use super::outlook::Stretch;
use crate::engine::profile::{Cure, Product, TimeTable};
use crate::engine::units::{Celsius, Humidity, Moment};

/// Which edge of what may be true is followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// Every temperature lowered by its error: the latest moment.
    Coolest,
    /// As it was read.
    AsRead,
    /// Every temperature raised by its error: the earliest moment.
    Warmest,
}

impl Bound {
    pub(crate) const fn sign(self) -> f64 {
        match self {
            Self::Coolest => -1.0,
            Self::AsRead => 0.0,
            Self::Warmest => 1.0,
        }
    }
}

/// What besides the time table governs the pace of a product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// How damp acts.
    pub cure: Cure,
    /// The humidity the tables hold for.
    pub reference_humidity: Humidity,
    /// Colder than this, nothing progresses.
    pub stall_below: Option<Celsius>,
}

impl Law {
    /// The law of a product.
    pub fn of(product: &Product) -> Self {
        Self {
            cure: product.cure,
            reference_humidity: product.reference_humidity,
            stall_below: product.application.stall_below,
        }
    }

    /// Whether damp changes the pace.
    pub fn minds_humidity(&self) -> bool {
        self.cure != Cure::Reaction
    }

    /// h(RH) = a + b·RH as (a, b).
    fn humidity_line(&self) -> (f64, f64) {
        let reference = self.reference_humidity.fraction();
        match self.cure {
            Cure::Reaction => (1.0, 0.0),
            Cure::Drying => (1.0 / (1.0 - reference), -1.0 / (1.0 - reference)),
            Cure::Moisture => (0.0, 1.0 / reference),
        }
    }
}

/// One table followed over one history.
#[derive(Debug, Clone, Copy)]
pub struct Course<'a> {
    history: &'a History,
    table: &'a TimeTable,
    stall: f64,
    humidity: (f64, f64),
}

/// How far a run came.
#[derive(Debug, Clone, Copy, Default)]
struct Run {
    amount: f64,
    crossed: Option<f64>,
}

impl<'a> Course<'a> {
    /// Follows `table` over `history`.
    pub fn new(history: &'a History, table: &'a TimeTable, law: Law) -> Self {
        Self {
            history,
            table,
            stall: law.stall_below.map_or(f64::NEG_INFINITY, Celsius::kelvin),
            humidity: law.humidity_line(),
        }
    }

    /// The progress from one moment to another; 1 is the time of the table. Zero without readings.
    pub fn progress(&self, from: Moment, to: Moment, bound: Bound) -> f64 {
        let (from, to) = (self.history.seconds(from), self.history.seconds(to));
        if to <= from {
            return 0.0;
        }
        self.run(from, to, f64::INFINITY, bound).amount
    }

    /// The moment at which the progress from `from` on reaches `target`; None where it never does on
    /// what is known, within a hundred years.
    pub fn crossing(&self, from: Moment, target: f64, bound: Bound) -> Option<Moment> {
        let from = self.history.seconds(from);
        let crossed = self.run(from, f64::INFINITY, target, bound).crossed?;
        (crossed - from < 3.2e9).then(|| self.history.moment(crossed))
    }

    fn run(&self, from: f64, to: f64, target: f64, bound: Bound) -> Run {
        let nodes = self.history.nodes();
        let (Some(first), Some(last)) = (nodes.first(), nodes.last()) else { return Run::default() };
        let shift = bound.sign() * self.history.outlook().thermometer_error().kelvin();
        let mut run = Run::default();
        if from < first.seconds {
            let until = to.min(first.seconds);
            let held =
                self.segment(Node { seconds: from, ..*first }, Node { seconds: until, ..*first }, shift);
            if self.add(&mut run, held, target) || until >= to {
                return run;
            }
        }
        if nodes.len() > 1 && from < last.seconds && self.over_readings(&mut run, from, to, target, shift) {
            return run;
        }
        for stretch in self.history.outlook().stretches() {
            let (start, end) = (last.seconds + stretch.from, last.seconds + stretch.to);
            if end <= from {
                continue;
            }
            if start >= to {
                break;
            }
            let behind = self.behind(*last, *stretch, from.max(start), to.min(end), bound.sign());
            if self.add(&mut run, behind, target) {
                break;
            }
        }
        run
    }

    /// Adds what lies between the first and the last reading; true where `target` or `to` was reached.
    fn over_readings(&self, run: &mut Run, from: f64, to: f64, target: f64, shift: f64) -> bool {
        let nodes = self.history.nodes();
        let mut next = nodes.partition_point(|node| node.seconds <= from).max(1);
        let end = nodes.partition_point(|node| node.seconds <= to);
        let mut before = cut(nodes[next - 1], nodes[next], from.max(nodes[0].seconds));
        while next < end {
            next += self.short_steps(run, before, &nodes[next..end], shift, target);
            before = if nodes[next - 1].seconds > before.seconds { nodes[next - 1] } else { before };
            if next == end {
                break;
            }
            if self.add(run, self.segment(before, nodes[next], shift), target) {
                return true;
            }
            before = nodes[next];
            next += 1;
        }
        let Some(after) = nodes.get(next) else { return before.seconds >= to };
        let last = cut(before, *after, to);
        self.add(run, self.segment(before, last, shift), target);
        true
    }

    /// Adds one short step after the other by the two-point Hermite rule, inside one piece of the table,
    /// and tells how many: up to the first that is too long for the rule, leaves the piece or reaches the
    /// target.
    fn short_steps(&self, run: &mut Run, from: Node, to: &[Node], shift: f64, target: f64) -> usize {
        let kelvin = from.kelvin + shift;
        let piece = self.table.piece_at(kelvin);
        let bends = self.table.bends();
        let lowest = piece.checked_sub(1).map_or(self.stall, |i| bends[i].max(self.stall));
        let highest = bends.get(piece).copied().unwrap_or(f64::INFINITY);
        if kelvin < lowest {
            return 0;
        }
        let line = self.table.pieces()[piece];
        let piece = Smooth { line, lowest, highest, shift };
        if self.humidity.1 == 0.0 {
            piece.steps(run, from, to, target)
        } else {
            piece.steps_in_damp(run, from, to, target, |humidity| self.factor(humidity))
        }
    }

    fn factor(&self, humidity: f64) -> f64 {
        let (a, b) = self.humidity;
        if b == 0.0 || humidity.is_nan() { 1.0 } else { (a + b * humidity).max(0.0) }
    }

    fn segment(&self, a: Node, b: Node, shift: f64) -> Segment {
        Segment {
            pace: Pace::Even(a.seconds, b.seconds),
            kelvin: (a.kelvin + shift, b.kelvin + shift),
            factor: (self.factor(a.humidity), self.factor(b.humidity)),
        }
    }

    /// A part of a stretch behind the last reading, between two seconds of the history.
    fn behind(&self, last: Node, stretch: Stretch, from: f64, to: f64, sign: f64) -> Segment {
        let at = |seconds: f64| seconds - last.seconds;
        let kelvin = |seconds: f64| {
            let expected = stretch.kelvin.map_or(last.kelvin, |ends| stretch.between(ends, at(seconds)));
            expected + sign * stretch.error_at(at(seconds))
        };
        let factor = |seconds: f64| {
            self.factor(stretch.humidity.map_or(last.humidity, |ends| stretch.between(ends, at(seconds))))
        };
        let pace = if stretch.root && sign != 0.0 {
            let base = last.seconds + stretch.from;
            let root = |seconds: f64| (seconds - base).max(0.0).sqrt();
            Pace::Root { base, from: root(from), to: root(to) }
        } else {
            Pace::Even(from, to)
        };
        Segment { pace, kelvin: (kelvin(from), kelvin(to)), factor: (factor(from), factor(to)) }
    }

    /// Adds a segment; true where the target was reached in it, or never will be.
    fn add(&self, run: &mut Run, segment: Segment, target: f64) -> bool {
        if let Pace::Even(start, f64::INFINITY) = segment.pace {
            let rate = self.rate(segment.kelvin.0) * segment.factor.0;
            if rate > 0.0 && target.is_finite() {
                run.crossed = Some(start + (target - run.amount) / rate);
            }
            return true;
        }
        let whole = self.integral(&segment, 1.0);
        if run.amount + whole < target {
            run.amount += whole;
            return false;
        }
        let missing = target - run.amount;
        let share = root_of(|u| self.integral(&segment, u) - missing);
        run.amount = target;
        run.crossed = Some(segment.pace.seconds_at(share));
        true
    }

    fn rate(&self, kelvin: f64) -> f64 {
        if kelvin < self.stall { 0.0 } else { self.table.pieces()[self.table.piece_at(kelvin)].rate(kelvin) }
    }

    /// The integral over a segment from its start to the share `until` of its `u`.
    fn integral(&self, segment: &Segment, until: f64) -> f64 {
        let (k0, k1) = segment.kelvin;
        let edges = || self.table.bends().iter().copied().chain([self.stall]);
        let mut from = 0.0;
        let mut sum = 0.0;
        while from < until {
            let to = edges().map(|edge| (edge - k0) / (k1 - k0)).filter(|u| *u > from).fold(until, f64::min);
            let middle = k0 + (k1 - k0) * (from + to) / 2.0;
            if middle >= self.stall {
                sum += smooth_integral(self.table.pieces()[self.table.piece_at(middle)], segment, from, to);
            }
            from = to;
        }
        sum
    }
}

fn cut(a: Node, b: Node, seconds: f64) -> Node {
    let share = (seconds - a.seconds) / (b.seconds - a.seconds);
    let between = |x: f64, y: f64| if share == 0.0 { x } else { x + (y - x) * share };
    Node { seconds, kelvin: between(a.kelvin, b.kelvin), humidity: between(a.humidity, b.humidity) }
}

#[cfg(test)]
mod tests;

//! The integral of the rate over a history, and the moment at which it reaches 1.
//!
//! The relative error is at most 1e-9. Short steps use the two-point Hermite rule (error δ⁴/720 for a change of
//! δ in ln(rate)), longer ones Gauss–Legendre. Segments are split where the table has a knot, where the film
//! stalls in the cold and where the humidity factor reaches a limit.

mod ramp;
mod segment;
mod steps;
mod uncertain;

use ramp::Ramp;
use segment::{Pace, Segment, root_of, smooth_integral};
use steps::Smooth;

use super::history::{History, Node};
use crate::engine::profile::{Cure, Product, Stage, TimeTable};
use crate::engine::units::{Celsius, Humidity, Moment};

/// Thermometer and hygrometer rarely err to the same side at once, so where both count each error is scaled by
/// this (fitted, see `docs/cure.md`). The scale is smaller where damp air speeds the film up, because air that
/// warms gets drier.
const BOTH_DRYING: f64 = 0.93;
const BOTH_MOISTURE: f64 = 0.82;

/// Which bound of the errors is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// Every temperature lowered by its error, every humidity moved to the slow side: the latest moment.
    Coolest,
    /// As measured.
    AsRead,
    /// Every temperature raised by its error, every humidity moved to the quick side: the earliest moment.
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

/// What sets the pace of a product besides its time table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// How humidity changes the pace.
    pub cure: Cure,
    /// The humidity that the tables are stated for.
    pub reference_humidity: Humidity,
    /// Below this temperature there is no progress.
    pub stall_below: Option<Celsius>,
    /// Whether the time is a minimum time. Drying in air drier than the reference then earns no credit.
    pub minimum: bool,
}

impl Law {
    /// The law of a minimum time: no coat and no sanding before it.
    pub fn minimum(product: &Product) -> Self {
        Self { minimum: true, ..Self::maximum(product) }
    }

    /// The law of a maximum time: no coat after it, and the tape is off by then.
    pub fn maximum(product: &Product) -> Self {
        Self {
            cure: product.cure,
            reference_humidity: product.reference_humidity,
            stall_below: product.application.stall_below,
            minimum: false,
        }
    }

    /// The law of a stage.
    pub fn of_stage(product: &Product, stage: Stage) -> Self {
        if stage.is_maximum() { Self::maximum(product) } else { Self::minimum(product) }
    }

    /// Whether humidity changes the pace.
    pub fn minds_humidity(&self) -> bool {
        self.cure != Cure::Reaction
    }

    /// h(RH) = a + b·RH, within limits.
    fn humidity(&self) -> HumidityFactor {
        let reference = self.reference_humidity.fraction();
        let (a, b, most) = match self.cure {
            Cure::Reaction => (1.0, 0.0, 1.0),
            Cure::Drying if self.minimum => (1.0 / (1.0 - reference), -1.0 / (1.0 - reference), 1.0),
            Cure::Drying => (1.0 / (1.0 - reference), -1.0 / (1.0 - reference), 1.0 / (1.0 - reference)),
            Cure::Moisture => (0.0, 1.0 / reference, 1.0 / reference),
        };
        HumidityFactor { a, b, limits: (0.0, most) }
    }
}

/// h(RH) = a + b·RH, clamped to the two limits. These are h at RH 0 and 100 %, so an error of the humidity
/// cannot go past them.
#[derive(Debug, Clone, Copy)]
struct HumidityFactor {
    a: f64,
    b: f64,
    limits: (f64, f64),
}

impl HumidityFactor {
    /// The factor before it is clamped, at one bound of the error; 1 if the humidity is unknown.
    fn of(self, humidity: f64, error: f64, sign: f64) -> f64 {
        if self.b == 0.0 || humidity.is_nan() {
            1.0
        } else {
            self.a + self.b * humidity + sign * self.b.abs() * error
        }
    }

    /// Whether damp air speeds up the film.
    fn opposed(self) -> bool {
        self.b > 0.0
    }

    fn both(self) -> f64 {
        match self.b {
            0.0 => 1.0,
            _ if self.opposed() => BOTH_MOISTURE,
            _ => BOTH_DRYING,
        }
    }

    fn limited(self, factor: f64) -> f64 {
        factor.clamp(self.limits.0, self.limits.1)
    }
}

/// One table integrated over one history.
#[derive(Debug, Clone, Copy)]
pub struct Course<'a> {
    history: &'a History,
    table: &'a TimeTable,
    stall: f64,
    humidity: HumidityFactor,
}

/// Progress so far.
#[derive(Debug, Clone, Copy, Default)]
struct Run {
    amount: f64,
    crossed: Option<f64>,
}

impl<'a> Course<'a> {
    /// Integrates `table` over `history`.
    pub fn new(history: &'a History, table: &'a TimeTable, law: Law) -> Self {
        Self {
            history,
            table,
            stall: law.stall_below.map_or(f64::NEG_INFINITY, Celsius::kelvin),
            humidity: law.humidity(),
        }
    }

    /// The progress between two moments; 1 is the time of the table. Zero without readings.
    pub fn progress(&self, from: Moment, to: Moment, bound: Bound) -> f64 {
        let (from, to) = (self.history.seconds(from), self.history.seconds(to));
        if to <= from {
            return 0.0;
        }
        self.run(from, to, f64::INFINITY, bound).amount
    }

    /// The moment at which the progress since `from` reaches `target`; None if it does not within a hundred
    /// years.
    pub fn crossing(&self, from: Moment, target: f64, bound: Bound) -> Option<Moment> {
        let from = self.history.seconds(from);
        let crossed = self.run(from, f64::INFINITY, target, bound).crossed?;
        (crossed - from < 3.2e9).then(|| self.history.moment(crossed))
    }

    fn run(&self, from: f64, to: f64, target: f64, bound: Bound) -> Run {
        let nodes = self.history.film_nodes();
        let (Some(first), Some(last)) = (nodes.first(), nodes.last()) else { return Run::default() };
        let sign = bound.sign() * if first.humidity.is_nan() { 1.0 } else { self.humidity.both() };
        let mut run = Run::default();
        if from < first.seconds {
            let until = to.min(first.seconds);
            let held =
                self.segment(Node { seconds: from, ..*first }, Node { seconds: until, ..*first }, sign);
            if self.add(&mut run, held, target) || until >= to {
                return run;
            }
        }
        if nodes.len() > 1 && from < last.seconds && self.over_readings(&mut run, from, to, target, sign) {
            return run;
        }
        self.after_last(&mut run, from, to, target, sign);
        run
    }

    /// Adds the part between the first and the last reading; true if `target` or `to` was reached.
    fn over_readings(&self, run: &mut Run, from: f64, to: f64, target: f64, sign: f64) -> bool {
        let nodes = self.history.nodes();
        let (first, last) = (nodes[0].seconds, nodes[nodes.len() - 1].seconds);
        let mut at = from.max(first);
        // Inside a gap only the errors differ.
        let gaps = if sign == 0.0 { &[] } else { self.history.gaps_after(at) };
        for gap in gaps {
            if self.steadily(run, at, gap.from.min(to), target, sign) || gap.from >= to {
                return true;
            }
            if self.over_gap(run, *gap, (at, to), target, sign) || gap.to >= to {
                return true;
            }
            at = gap.to;
        }
        self.steadily(run, at, last.min(to), target, sign) || last >= to
    }

    /// Adds the part between two moments with no gap between them; true if `target` was reached.
    fn steadily(&self, run: &mut Run, from: f64, to: f64, target: f64, sign: f64) -> bool {
        if from >= to {
            return false;
        }
        let nodes = self.history.film_nodes();
        let mut next = nodes.partition_point(|node| node.seconds <= from).max(1);
        let end = nodes.partition_point(|node| node.seconds <= to);
        let mut before = Node::between(nodes[next - 1], nodes[next], from);
        while next < end {
            next += self.short_steps(run, before, &nodes[next..end], sign, target);
            before = if nodes[next - 1].seconds > before.seconds { nodes[next - 1] } else { before };
            if next == end {
                break;
            }
            if self.add(run, self.segment(before, nodes[next], sign), target) {
                return true;
            }
            before = nodes[next];
            next += 1;
        }
        let Some(after) = nodes.get(next).filter(|_| before.seconds < to) else { return false };
        let last = Node::between(before, *after, to);
        self.add(run, self.segment(before, last, sign), target)
    }

    /// Adds short steps by the two-point Hermite rule inside one piece of the table and returns their number.
    /// Stops at a step that is too long for the rule, leaves the piece or reaches the target.
    fn short_steps(&self, run: &mut Run, from: Node, to: &[Node], sign: f64, target: f64) -> usize {
        let shift = self.shift(sign);
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
        if self.humidity.b == 0.0 {
            piece.steps(run, from, to, target)
        } else {
            let factor = |node: &Node| self.humidity.of(node.humidity, node.humidity_error, sign);
            piece.steps_in_damp(run, from, to, target, self.humidity.limits, factor)
        }
    }

    fn shift(&self, sign: f64) -> f64 {
        sign * self.history.outlook().thermometer_error().kelvin()
    }

    fn segment(&self, a: Node, b: Node, sign: f64) -> Segment {
        let shift = self.shift(sign);
        let factor = |node: Node| self.humidity.of(node.humidity, node.humidity_error, sign);
        Segment {
            pace: Pace { from: a.seconds, to: b.seconds },
            kelvin: Ramp::between(a.kelvin + shift, b.kelvin + shift),
            factor: Ramp::between(factor(a), factor(b)),
            from: 0.0,
            to: 1.0,
        }
    }

    /// Adds a segment; true if it reached the target.
    fn add(&self, run: &mut Run, segment: Segment, target: f64) -> bool {
        let whole = self.integral(&segment, segment.to);
        if run.amount + whole < target {
            run.amount += whole;
            return false;
        }
        let missing = target - run.amount;
        let u = root_of(segment.from, segment.to, |u| self.integral(&segment, u) - missing);
        run.amount = target;
        run.crossed = Some(segment.pace.seconds_at(u));
        true
    }

    fn rate(&self, kelvin: f64) -> f64 {
        if kelvin < self.stall { 0.0 } else { self.table.pieces()[self.table.piece_at(kelvin)].rate(kelvin) }
    }

    /// The integral over a segment from its start to `until`.
    fn integral(&self, segment: &Segment, until: f64) -> f64 {
        let (kelvin, factor, limits) = (segment.kelvin, segment.factor, self.humidity.limits);
        let edges = || {
            let kelvins = self.table.bends().iter().copied().chain([self.stall]);
            let factors = [limits.0, limits.1].into_iter().map(move |limit| factor.reaches(limit));
            kelvins.map(move |edge| kelvin.reaches(edge)).chain(factors)
        };
        let mut from = segment.from;
        let mut sum = 0.0;
        while from < until {
            let to = edges().filter(|u| *u > from).fold(until, f64::min);
            let middle = (from + to) / 2.0;
            if kelvin.at(middle) >= self.stall {
                let piece = self.table.pieces()[self.table.piece_at(kelvin.at(middle))];
                let free = factor.at(middle);
                let limited = self.humidity.limited(free);
                let factor = if free == limited { factor } else { Ramp::constant(limited) };
                if limited > 0.0 {
                    sum += smooth_integral(piece, segment, factor, from, to);
                }
            }
            from = to;
        }
        sum
    }
}

#[cfg(test)]
mod tests;

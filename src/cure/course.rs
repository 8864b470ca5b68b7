//! The integral of the rate over a history, and the moment at which it reaches one.
//!
//! Exact to 1e-9 relative: where a stretch is short the two-point Hermite rule serves (its error is
//! δ⁴/720 for a change of δ in ln(rate)), elsewhere Gauss–Legendre; stretches are cut where the table
//! bends and where the cold stalls the film.

use super::history::{History, Node};
use super::outlook::Stretch;
use crate::profile::{Cure, Piece, Product, TimeTable};
use crate::units::{Celsius, Humidity, Moment};

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
    const fn sign(self) -> f64 {
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

/// A stretch of time over which temperature and pace factor run straight in `u` from 0 to 1.
#[derive(Debug, Clone, Copy)]
struct Segment {
    pace: Pace,
    kelvin: (f64, f64),
    factor: (f64, f64),
}

/// How time runs with `u`.
#[derive(Debug, Clone, Copy)]
enum Pace {
    /// Evenly, between these seconds.
    Even(f64, f64),
    /// As the square of a root that runs evenly between `from` and `to`, after `base` seconds.
    Root { base: f64, from: f64, to: f64 },
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
            let behind = self.behind(*last, stretch, from.max(start), to.min(end), bound.sign());
            if self.add(&mut run, behind, target) {
                break;
            }
        }
        run
    }

    /// Adds what lies between the first and the last reading; true where `target` or `to` was reached.
    fn over_readings(&self, run: &mut Run, from: f64, to: f64, target: f64, shift: f64) -> bool {
        let nodes = self.history.nodes();
        let after = nodes.partition_point(|node| node.seconds <= from).max(1);
        let mut before = cut(nodes[after - 1], nodes[after], from.max(nodes[0].seconds));
        let mut carried: Option<(usize, End)> = None;
        for &node in &nodes[after..] {
            let node = if node.seconds > to { cut(before, node, to) } else { node };
            let part = self.short_step(before, node, shift, &mut carried);
            match part {
                Some(part) if run.amount + part < target => run.amount += part,
                _ => {
                    if part.is_none() {
                        carried = None;
                    }
                    if self.add(run, self.segment(before, node, shift), target) {
                        return true;
                    }
                }
            }
            if node.seconds >= to {
                return true;
            }
            before = node;
        }
        false
    }

    /// The two-point Hermite rule, where the step is small enough for it and inside one piece of the
    /// table. `carried` keeps the end of the last step, which is the start of this one.
    #[inline]
    fn short_step(&self, a: Node, b: Node, shift: f64, carried: &mut Option<(usize, End)>) -> Option<f64> {
        let (piece, start) = match *carried {
            Some(known) => known,
            None => {
                let kelvin = a.kelvin + shift;
                let piece = self.table.piece_at(kelvin);
                (piece, End::new(self.table.pieces()[piece], kelvin, self.factor(a.humidity)))
            }
        };
        let kelvin = b.kelvin + shift;
        let bends = self.table.bends();
        let above = piece.checked_sub(1).map_or(self.stall, |i| bends[i].max(self.stall));
        let below = bends.get(piece).copied().unwrap_or(f64::INFINITY);
        let inside = |kelvin: f64| kelvin >= above && kelvin <= below;
        if !inside(start.kelvin) || !inside(kelvin) {
            return None;
        }
        let line = self.table.pieces()[piece];
        let end = End::new(line, kelvin, self.factor(b.humidity));
        let (warming, damping) = (end.kelvin - start.kelvin, end.factor - start.factor);
        let change = line.slope * (start.inverse - end.inverse);
        let long = change.abs() > 0.02 || warming.abs() > 0.004 * start.kelvin;
        if long || damping.abs() > 0.02 * start.factor.abs() {
            return None;
        }
        *carried = Some((piece, end));
        let slope = |e: &End| e.rate * (e.factor * line.slope * e.inverse * e.inverse * warming + damping);
        let (f0, f1) = (start.rate * start.factor, end.rate * end.factor);
        Some((b.seconds - a.seconds) * ((f0 + f1) / 2.0 + (slope(&start) - slope(&end)) / 12.0))
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
        let kelvin = |seconds: f64| last.kelvin + sign * stretch.error_at(seconds - last.seconds);
        let factor = self.factor(last.humidity);
        let pace = if stretch.root && sign != 0.0 {
            let root = |seconds: f64| (seconds - last.seconds).max(0.0).sqrt();
            Pace::Root { base: last.seconds, from: root(from), to: root(to) }
        } else {
            Pace::Even(from, to)
        };
        Segment { pace, kelvin: (kelvin(from), kelvin(to)), factor: (factor, factor) }
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

/// One end of a short step.
#[derive(Debug, Clone, Copy)]
struct End {
    kelvin: f64,
    inverse: f64,
    rate: f64,
    factor: f64,
}

impl End {
    #[inline]
    fn new(piece: Piece, kelvin: f64, factor: f64) -> Self {
        let inverse = 1.0 / kelvin;
        Self { kelvin, inverse, rate: (-piece.intercept - piece.slope * inverse).exp(), factor }
    }
}

impl Pace {
    fn seconds_at(self, u: f64) -> f64 {
        match self {
            Self::Even(from, to) => from + (to - from) * u,
            Self::Root { base, from, to } => base + (from + (to - from) * u).powi(2),
        }
    }

    /// d(seconds)/du.
    fn density_at(self, u: f64) -> f64 {
        match self {
            Self::Even(from, to) => to - from,
            Self::Root { from, to, .. } => 2.0 * (from + (to - from) * u) * (to - from),
        }
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

/// Integrates over a part of a segment inside one piece of the table, cut so that ln(rate) changes by at
/// most a half in each part: the rule is then exact to 1e-12.
fn smooth_integral(piece: Piece, segment: &Segment, from: f64, to: f64) -> f64 {
    let at = |(a, b): (f64, f64), u: f64| a + (b - a) * u;
    let change = piece.slope * (1.0 / at(segment.kelvin, from) - 1.0 / at(segment.kelvin, to));
    let parts = (change.abs() * 2.0).ceil().clamp(1.0, 1000.0);
    let half = (to - from) / parts / 2.0;
    let mut sum = 0.0;
    for part in 0..parts as usize {
        let middle = from + half * (2 * part + 1) as f64;
        for (node, weight) in GAUSS_LEGENDRE {
            let u = middle + half * node;
            let rate = piece.rate(at(segment.kelvin, u));
            sum += weight * half * rate * at(segment.factor, u) * segment.pace.density_at(u);
        }
    }
    sum
}

/// The root of a rising function on 0…1 that is negative at 0 and not at 1 (regula falsi, Illinois).
fn root_of(f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = ((0.0, f(0.0)), (1.0, f(1.0)));
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

fn cut(a: Node, b: Node, seconds: f64) -> Node {
    let share = (seconds - a.seconds) / (b.seconds - a.seconds);
    let between = |x: f64, y: f64| if share == 0.0 { x } else { x + (y - x) * share };
    Node { seconds, kelvin: between(a.kelvin, b.kelvin), humidity: between(a.humidity, b.humidity) }
}

#[cfg(test)]
mod tests;

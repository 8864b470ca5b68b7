//! Segments with a growing error: inside gaps, and after the last reading.

use super::ramp::Ramp;
use super::segment::{Pace, Segment};
use super::{Course, Run};
use crate::engine::cure::history::{Gap, Node};
use crate::engine::cure::outlook::{FilmGrowth, Outlook, Stretch};

impl Course<'_> {
    /// Adds the part of a gap that lies inside a span; true if the target was reached.
    pub(super) fn over_gap(
        &self,
        run: &mut Run,
        gap: Gap,
        (from, to): (f64, f64),
        target: f64,
        sign: f64,
    ) -> bool {
        let corners = self.corners_of(gap);
        let mut pairs = corners.windows(2).map(|pair| (pair[0], pair[1]));
        let wanted = |&(start, end): &(f64, f64)| end > from && start < to;
        pairs.any(|(start, end)| {
            wanted(&(start, end))
                && self.add(
                    run,
                    clipped(self.in_gap(gap, start, end, sign), (start, end), (from, to)),
                    target,
                )
        })
    }

    /// The moments of a gap between which its line and its error are linear.
    fn corners_of(&self, gap: Gap) -> Vec<f64> {
        let half = (gap.to - gap.from) / 2.0;
        let grown = Outlook::knots().filter(|after| *after > 0.0 && *after < half);
        let mut corners = vec![gap.from, gap.from + half, gap.to];
        corners.extend(grown.flat_map(|after| [gap.from + after, gap.to - after]));
        let film = self.history.film_nodes();
        let first = film.partition_point(|node| node.seconds <= gap.from);
        corners.extend(film[first..].iter().map(|node| node.seconds).take_while(|at| *at < gap.to));
        corners.sort_unstable_by(f64::total_cmp);
        corners.dedup();
        corners
    }

    fn in_gap(&self, gap: Gap, start: f64, end: f64, sign: f64) -> Segment {
        let outlook = self.history.outlook();
        let film = self.history.film_nodes();
        let next = film.partition_point(|node| node.seconds <= start).clamp(1, film.len() - 1);
        let value = |seconds| {
            let node = Node::between(film[next - 1], film[next], seconds);
            let error = outlook.film_error_in_gap(gap.depth(seconds));
            let damp = self.history.humidity_error_at(self.humidity.opposed(), seconds);
            (node.kelvin + sign * error, self.humidity.of(node.humidity, damp, sign))
        };
        straight((start, end), value(start), value(end))
    }

    /// Adds the part after the last reading.
    pub(super) fn after_last(&self, run: &mut Run, from: f64, to: f64, target: f64, sign: f64) {
        let Some(last) = self.history.nodes().last() else { return };
        let begun = from - last.seconds;
        let mut errors = Errors::new(self, begun, sign);
        let mut stretches = self.history.outlook().stretches().iter().peekable();
        let mut start = begun.max(0.0);
        let mut at_start = errors.at(start);
        while let Some(stretch) = {
            while stretches.next_if(|stretch| stretch.to <= start).is_some() {}
            stretches.peek()
        } {
            let begins = last.seconds + start;
            if begins >= to {
                return;
            }
            let value = |seconds: f64, off: Off| self.value_after(*last, stretch, seconds, off);
            let end = errors.corner_after(start).min(stretch.to);
            let first = value(start, at_start);
            if end.is_infinite() {
                self.hold(run, first, (from.max(begins), to), target);
                return;
            }
            let at_end = errors.at(end);
            let ends = last.seconds + end;
            let whole = straight((begins, ends), first, value(end, at_end));
            if self.add(run, clipped(whole, (begins, ends), (from, to)), target) {
                return;
            }
            (start, at_start) = (end, at_end);
        }
    }

    /// Temperature and factor `after` seconds after the last reading.
    fn value_after(&self, last: Node, stretch: &Stretch, after: f64, off: Off) -> (f64, f64) {
        let kelvin = stretch.kelvin.map_or(last.kelvin, |ends| stretch.between(ends, after));
        let humidity = stretch.humidity.map_or(last.humidity, |ends| stretch.between(ends, after));
        (kelvin + off.kelvin, self.humidity.of(humidity, off.humidity, 1.0))
    }

    /// Adds the constant part without end.
    fn hold(&self, run: &mut Run, (kelvin, factor): (f64, f64), (from, to): (f64, f64), target: f64) {
        let rate = self.rate(kelvin) * self.humidity.limited(factor);
        if to.is_finite() {
            run.amount += rate * (to - from);
        } else if rate > 0.0 && target.is_finite() {
            run.crossed = Some(from + (target - run.amount) / rate);
        }
    }
}

/// The deviation of a bound from the expected value.
#[derive(Debug, Clone, Copy)]
struct Off {
    kelvin: f64,
    /// As a fraction.
    humidity: f64,
}

/// The deviation of the film from the expected air after the last reading, at ascending times: from its
/// measured surface, and from the errors.
struct Errors<'a> {
    sign: f64,
    begun: f64,
    /// The age of the last measured humidity at the last reading.
    aged: f64,
    back: &'a [(f64, f64)],
    air: FilmGrowth<'a>,
    damp: Option<FilmGrowth<'a>>,
    /// The next knot of either.
    knots: (usize, usize),
}

impl<'a> Errors<'a> {
    fn new(course: &Course<'a>, begun: f64, sign: f64) -> Self {
        let (outlook, aged) = (course.history.outlook(), course.history.humidity_aged());
        let damp = (course.humidity.b != 0.0)
            .then(|| outlook.film_humidity_error(course.humidity.opposed(), begun + aged));
        let (back, air) = (course.history.film_return(), outlook.film_error(begun));
        Self { sign, begun, aged, back, air, damp, knots: (0, 0) }
    }

    fn at(&mut self, after: f64) -> Off {
        let bend = self.back.partition_point(|point| point.0 <= after);
        let kelvin = match bend.checked_sub(1).and_then(|i| self.back.get(i)).zip(self.back.get(bend)) {
            Some((a, b)) => a.1 + (b.1 - a.1) * (after - a.0) / (b.0 - a.0),
            None => 0.0,
        };
        if self.sign == 0.0 {
            return Off { kelvin, humidity: 0.0 };
        }
        let damp = self.damp.as_mut().map_or(0.0, |damp| damp.at(after + self.aged));
        Off { kelvin: kelvin + self.sign * self.air.at(after), humidity: self.sign * damp }
    }

    /// The next moment at which the slope of the line changes.
    fn corner_after(&mut self, after: f64) -> f64 {
        let bend = self.back.partition_point(|point| point.0 <= after);
        let back = self.back.get(bend).map_or(f64::INFINITY, |point| point.0);
        if self.sign == 0.0 {
            return back;
        }
        let next = |knot: &mut usize, begun: f64| {
            loop {
                match Outlook::knot(*knot).map(|hours| begun + hours) {
                    Some(corner) if corner <= after => *knot += 1,
                    corner => return corner.unwrap_or(f64::INFINITY),
                }
            }
        };
        let air = next(&mut self.knots.0, self.begun.max(0.0));
        let damp = match self.damp {
            Some(_) => next(&mut self.knots.1, (self.begun + self.aged).max(0.0) - self.aged),
            None => f64::INFINITY,
        };
        back.min(air).min(damp)
    }
}

/// A segment through the values of temperature and factor at both ends.
fn straight((start, end): (f64, f64), first: (f64, f64), last: (f64, f64)) -> Segment {
    Segment {
        pace: Pace { from: start, to: end },
        kelvin: Ramp::between(first.0, last.0),
        factor: Ramp::between(first.1, last.1),
        from: 0.0,
        to: 1.0,
    }
}

/// The part of a segment between two moments of a span.
fn clipped(segment: Segment, (start, end): (f64, f64), (from, to): (f64, f64)) -> Segment {
    let begins = if from > start { segment.pace.u_at(from) } else { 0.0 };
    let ends = if to < end { segment.pace.u_at(to) } else { 1.0 };
    Segment { from: begins, to: ends, ..segment }
}

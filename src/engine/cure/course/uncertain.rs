//! Segments with a growing error: inside gaps, and after the last reading.

use super::ramp::Ramp;
use super::segment::{Pace, Segment};
use super::{Course, Run};
use crate::engine::cure::history::{Gap, Node};
use crate::engine::cure::outlook::{Outlook, Stretch};

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
        straight((start, end), |seconds| {
            let node = Node::between(film[next - 1], film[next], seconds);
            let error = outlook.film_error_in_gap(gap.depth(seconds));
            let damp = self.history.humidity_error_at(self.humidity.opposed(), seconds);
            (node.kelvin + sign * error, self.humidity.of(node.humidity, damp, sign))
        })
    }

    /// Adds the part after the last reading.
    pub(super) fn after_last(&self, run: &mut Run, from: f64, to: f64, target: f64, sign: f64) {
        let Some(last) = self.history.nodes().last() else { return };
        let begun = from - last.seconds;
        let corners = self.corners_after(begun, sign);
        let mut stretches = self.history.outlook().stretches().iter().peekable();
        for pair in corners.windows(2) {
            let (start, end) = (pair[0], pair[1]);
            while stretches.next_if(|stretch| stretch.to <= start).is_some() {}
            let Some(stretch) = stretches.peek() else { return };
            let (begins, ends) = (last.seconds + start, last.seconds + end);
            if ends <= from {
                continue;
            }
            if begins >= to {
                return;
            }
            let value = |seconds: f64| self.value_after(*last, stretch, begun, seconds - last.seconds, sign);
            let reached = if end.is_infinite() {
                let (kelvin, factor) = value(last.seconds + start);
                self.hold(run, (kelvin, factor), (from.max(begins), to), target)
            } else {
                self.add(run, clipped(straight((begins, ends), value), (begins, ends), (from, to)), target)
            };
            if reached {
                return;
            }
        }
    }

    /// The seconds after the last reading between which everything is linear, for a film begun `begun` seconds
    /// after it.
    fn corners_after(&self, begun: f64, sign: f64) -> Vec<f64> {
        let stretches = self.history.outlook().stretches();
        let mut corners: Vec<f64> = stretches.iter().map(|stretch| stretch.from).collect();
        corners.extend(self.history.film_return().iter().map(|point| point.0));
        if sign != 0.0 {
            corners.extend(Outlook::knots().map(|after| begun.max(0.0) + after));
            let aged = self.history.humidity_aged();
            if aged > 0.0 {
                let damp = Outlook::knots().map(|after| (begun + aged).max(0.0) - aged + after);
                corners.extend(damp.filter(|after| *after > 0.0));
            }
        }
        corners.push(f64::INFINITY);
        corners.sort_unstable_by(f64::total_cmp);
        corners.dedup();
        corners
    }

    /// Temperature and factor, `after` seconds after the last reading.
    fn value_after(&self, last: Node, stretch: &Stretch, begun: f64, after: f64, sign: f64) -> (f64, f64) {
        let back = self.history.film_return();
        let bend = back.partition_point(|point| point.0 <= after);
        let offset = match bend.checked_sub(1).and_then(|i| back.get(i)).zip(back.get(bend)) {
            Some((a, b)) => a.1 + (b.1 - a.1) * (after - a.0) / (b.0 - a.0),
            None => 0.0,
        };
        let kelvin = stretch.kelvin.map_or(last.kelvin, |ends| stretch.between(ends, after)) + offset;
        let humidity = stretch.humidity.map_or(last.humidity, |ends| stretch.between(ends, after));
        if sign == 0.0 {
            return (kelvin, self.humidity.of(humidity, 0.0, 0.0));
        }
        let error = self.history.outlook().film_error(begun, after);
        let damp = self.history.film_humidity_error_after(self.humidity.opposed(), begun, after);
        (kelvin + sign * error, self.humidity.of(humidity, damp, sign))
    }

    /// Adds the constant part without end; true if the target was reached or never will be.
    fn hold(&self, run: &mut Run, (kelvin, factor): (f64, f64), (from, to): (f64, f64), target: f64) -> bool {
        let rate = self.rate(kelvin) * self.humidity.limited(factor);
        if to.is_finite() {
            run.amount += rate * (to - from);
        } else if rate > 0.0 && target.is_finite() {
            run.crossed = Some(from + (target - run.amount) / rate);
        }
        true
    }
}

/// The segment through the values of temperature and factor at both ends.
fn straight((start, end): (f64, f64), value: impl Fn(f64) -> (f64, f64)) -> Segment {
    let (first, last) = (value(start), value(end));
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

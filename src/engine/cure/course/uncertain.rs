//! The segments whose error grows: inside a gap between readings, and after the last reading.

use super::curve::Curve;
use super::segment::{Pace, Segment};
use super::{Course, Run};
use crate::engine::cure::history::{Gap, Node};
use crate::engine::cure::outlook::Stretch;

impl Course<'_> {
    /// Adds what lies in a gap, inside a span; true where the target was reached.
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

    /// The moments of a gap between which its line and its error are smooth.
    fn corners_of(&self, gap: Gap) -> Vec<f64> {
        let half = (gap.to - gap.from) / 2.0;
        let grown = self.history.outlook().growth().iter().map(|stretch| stretch.from);
        let grown = grown.filter(|from| *from > 0.0 && *from < half);
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
        let back = start + end > gap.from + gap.to;
        let depth = |seconds: f64| if back { gap.to - seconds } else { seconds - gap.from };
        let middle = depth((start + end) / 2.0);
        let stretch = outlook.growth().iter().find(|stretch| stretch.to > middle);
        let pace = match stretch.filter(|stretch| stretch.root) {
            Some(root) => {
                let base = if back { gap.to - root.from } else { gap.from + root.from };
                let root = |seconds: f64| (depth(seconds) - root.from).max(0.0).sqrt();
                Pace::Root { base, from: root(start), to: root(end), back }
            }
            None => Pace::Even(start, end),
        };
        let film = self.history.film_nodes();
        let next = film.partition_point(|node| node.seconds <= start).clamp(1, film.len() - 1);
        let node = |seconds: f64| Node::between(film[next - 1], film[next], seconds);
        let error = |seconds: f64| stretch.map_or(0.0, |stretch| stretch.error_at(depth(seconds)));
        let damp = (self.history.humidity_error_at(start), self.history.humidity_error_at(end));
        let value = |u: f64| {
            let seconds = pace.seconds_at(u);
            let node = node(seconds);
            let damp = damp.0 + (damp.1 - damp.0) * u;
            (node.kelvin + sign * error(seconds), self.humidity.of(node.humidity, damp, sign))
        };
        smooth(pace, value)
    }

    /// Adds what lies behind the last reading.
    pub(super) fn behind(&self, run: &mut Run, from: f64, to: f64, target: f64, sign: f64) {
        let nodes = self.history.nodes();
        let Some(last) = nodes.last() else { return };
        for stretch in self.history.outlook().stretches() {
            let (start, end) = (last.seconds + stretch.from, last.seconds + stretch.to);
            if end <= from {
                continue;
            }
            if start >= to {
                break;
            }
            // The film returns to the air: cut where its line bends.
            let back = self.history.film_return().iter().map(|point| point.0);
            let bends = back.filter(|after| *after > stretch.from && *after < stretch.to);
            let mut start = stretch.from;
            for end in bends.chain([stretch.to]) {
                let (begins, ends) = (last.seconds + start, last.seconds + end);
                if ends > from && begins < to {
                    let held = end.is_infinite();
                    let reached = if held {
                        self.hold(run, *last, stretch, (from.max(begins), to), target, sign)
                    } else {
                        let segment = self.after_last(*last, stretch, (start, end), sign);
                        self.add(run, clipped(segment, (begins, ends), (from, to)), target)
                    };
                    if reached {
                        return;
                    }
                }
                start = end;
            }
        }
    }

    /// A part of a stretch after the last reading, from and to these seconds after it.
    fn after_last(&self, last: Node, stretch: &Stretch, (start, end): (f64, f64), sign: f64) -> Segment {
        let pace = if stretch.root && sign != 0.0 {
            let root = |seconds: f64| (seconds - stretch.from).max(0.0).sqrt();
            Pace::Root { base: last.seconds + stretch.from, from: root(start), to: root(end), back: false }
        } else {
            Pace::Even(last.seconds + start, last.seconds + end)
        };
        let ends = (self.humidity_error(stretch.from), self.humidity_error(stretch.to));
        let back = self.history.film_return();
        let bend = back.partition_point(|point| point.0 <= start);
        let offset = |seconds: f64| match bend.checked_sub(1).and_then(|i| back.get(i)).zip(back.get(bend)) {
            Some((a, b)) => a.1 + (b.1 - a.1) * (seconds - a.0) / (b.0 - a.0),
            None => 0.0,
        };
        let value = |u: f64| {
            let seconds = pace.seconds_at(u) - last.seconds;
            let expected = stretch.kelvin.map_or(last.kelvin, |ends| stretch.between(ends, seconds));
            let kelvin = expected + offset(seconds) + sign * stretch.error_at(seconds);
            let humidity = stretch.humidity.map_or(last.humidity, |ends| stretch.between(ends, seconds));
            let error = ends.0 + (ends.1 - ends.0) * stretch.error_share(seconds);
            (kelvin, self.humidity.of(humidity, error, sign))
        };
        smooth(pace, value)
    }

    /// Adds what is held for good; true where the target was reached, or never will be.
    fn hold(
        &self,
        run: &mut Run,
        last: Node,
        stretch: &Stretch,
        (from, to): (f64, f64),
        target: f64,
        sign: f64,
    ) -> bool {
        let kelvin = stretch.kelvin.map_or(last.kelvin, |ends| ends.0) + sign * stretch.error_from;
        let humidity = stretch.humidity.map_or(last.humidity, |ends| ends.0);
        let factor = self.humidity.of(humidity, self.humidity_error(stretch.from), sign);
        let rate = self.rate(kelvin) * self.humidity.limited(factor);
        if to.is_finite() {
            run.amount += rate * (to - from);
        } else if rate > 0.0 && target.is_finite() {
            run.crossed = Some(from + (target - run.amount) / rate);
        }
        true
    }

    fn humidity_error(&self, behind: f64) -> f64 {
        if behind.is_finite() { self.history.humidity_error_behind(behind) } else { 0.0 }
    }
}

/// A segment through the values of temperature and factor at 0, ½ and 1.
fn smooth(pace: Pace, value: impl Fn(f64) -> (f64, f64)) -> Segment {
    let (first, middle, last) = (value(0.0), value(0.5), value(1.0));
    let (kelvin, factor) = match pace {
        Pace::Even(..) => (Curve::line(first.0, last.0), Curve::line(first.1, last.1)),
        Pace::Root { .. } => {
            (Curve::through(first.0, middle.0, last.0), Curve::through(first.1, middle.1, last.1))
        }
    };
    Segment { pace, kelvin, factor, from: 0.0, to: 1.0 }
}

/// The part of a segment between two moments of a span.
fn clipped(segment: Segment, (start, end): (f64, f64), (from, to): (f64, f64)) -> Segment {
    let begins = if from > start { segment.pace.u_at(from) } else { 0.0 };
    let ends = if to < end { segment.pace.u_at(to) } else { 1.0 };
    Segment { from: begins, to: ends, ..segment }
}

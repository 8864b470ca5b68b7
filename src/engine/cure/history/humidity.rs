//! The humidity of readings that carry none, and its error.
//!
//! Linear between two readings that carry a humidity; constant before the first and after the last.

use super::{Gap, NO_GAP, Node};
use crate::engine::cure::outlook::Outlook;

/// The stretches without a humidity for longer than [`NO_GAP`], before the first and after the last one.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct HumidityGaps(Vec<Gap>);

impl HumidityGaps {
    /// From readings whose humidity is NaN if not measured; empty if none ever was.
    pub fn of(nodes: &[Node]) -> Self {
        let mut gaps = Vec::new();
        let mut before = None;
        for node in nodes.iter().filter(|node| !node.humidity.is_nan()) {
            match before {
                None => gaps.push(Gap { from: f64::NEG_INFINITY, to: node.seconds }),
                Some(from) if node.seconds - from > NO_GAP => gaps.push(Gap { from, to: node.seconds }),
                Some(_) => {}
            }
            before = Some(node.seconds);
        }
        gaps.extend(before.map(|from| Gap { from, to: f64::INFINITY }));
        Self(gaps)
    }

    /// Whether no humidity was ever measured.
    pub fn is_unknown(&self) -> bool {
        self.0.is_empty()
    }

    /// Treats everything after a moment as not measured.
    pub fn end_at(&mut self, seconds: f64) {
        if self.is_unknown() {
            return;
        }
        self.0.retain(|gap| gap.to <= seconds);
        self.0.push(Gap { from: seconds, to: f64::INFINITY });
    }

    /// The last moment, not after this one, at which the humidity is known: measured, or between two
    /// measurements without a gap. None before the first.
    pub fn last_before(&self, seconds: f64) -> Option<f64> {
        let next = self.0.get(self.0.partition_point(|gap| gap.to <= seconds))?;
        let known = next.from.min(seconds);
        known.is_finite().then_some(known)
    }

    /// Sets the error of the humidity at every node.
    pub fn set_errors(&self, nodes: &mut [Node], outlook: &Outlook) {
        if self.is_unknown() {
            return;
        }
        let outside = outlook.film_humidity_error_in_gap(false, 0.0);
        let mut gaps = self.0.iter().peekable();
        for node in nodes {
            while gaps.next_if(|gap| gap.to <= node.seconds).is_some() {}
            let depth = gaps.peek().map_or(0.0, |gap| gap.depth(node.seconds));
            node.humidity_error =
                if depth > 0.0 { outlook.film_humidity_error_in_gap(false, depth) } else { outside };
        }
    }

    /// The error of the humidity as a fraction.
    pub fn error_at(&self, opposed: bool, seconds: f64, outlook: &Outlook) -> f64 {
        let gap = self.0.get(self.0.partition_point(|gap| gap.to <= seconds));
        let depth = gap.map_or(0.0, |gap| gap.depth(seconds));
        outlook.film_humidity_error_in_gap(opposed, depth)
    }
}

/// Fills in the humidity that was not measured.
pub(super) fn fill(nodes: &mut [Node]) {
    let mut known: Option<usize> = None;
    for index in 0..nodes.len() {
        if nodes[index].humidity.is_nan() {
            continue;
        }
        let (from, to) = (known.map(|k| nodes[k]), nodes[index]);
        for node in &mut nodes[known.map_or(0, |k| k + 1)..index] {
            node.humidity = from.map_or(to.humidity, |from| Node::between(from, to, node.seconds).humidity);
        }
        known = Some(index);
    }
    if let Some(last) = known {
        let held = nodes[last].humidity;
        nodes[last + 1..].iter_mut().for_each(|node| node.humidity = held);
    }
}

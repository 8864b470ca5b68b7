//! The temperature of a film: its surface where measured, else the air.
//!
//! Linear between two measured values at most two hours apart. After the last one the difference to the air
//! decays as e^(−t/lag), in points lag/8 apart. Up to a measured value it is linear from the reading before.

use super::{NO_GAP, Node};

/// The film over time.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Film {
    nodes: Vec<Node>,
    /// The difference film − air, by the seconds after the last reading.
    back: Vec<(f64, f64)>,
}

/// Points per lag of the decay.
const POINTS: f64 = 8.0;
/// A smaller difference to the air, in kelvin, counts as zero.
const FADED: f64 = 0.005;

impl Film {
    /// From the readings and the measured surfaces (seconds, kelvin), each at the moment of a reading; None if
    /// no surface was measured.
    pub fn of(nodes: &[Node], measured: &[(f64, f64)], lag: f64) -> Option<Self> {
        let first = measured.first()?.0;
        let begin = nodes.partition_point(|node| node.seconds < first);
        let mut line: Vec<Node> = Vec::with_capacity(nodes.len() + measured.len());
        line.extend_from_slice(&nodes[..begin]);
        let mut values = measured.iter().copied().peekable();
        // The last measured surface: when, and its difference to the air.
        let (mut at, mut offset) = (first, 0.0);
        for (index, node) in nodes.iter().enumerate().skip(begin) {
            if let Some((seconds, kelvin)) = values.next_if(|value| value.0 == node.seconds) {
                (at, offset) = (seconds, kelvin - node.kelvin);
            }
            let surface = at_most_faded(node.kelvin, offset, node.seconds - at, lag);
            let next = values.peek().copied().filter(|next| next.0 - at <= NO_GAP);
            if let Some((to, kelvin)) = next {
                // Linear up to the next measured value, through every reading between.
                let before = line.last().filter(|last| node.seconds > at && last.seconds >= at);
                let from = before.map_or((node.seconds, surface), |last| (last.seconds, last.kelvin));
                let share = if to > from.0 { (node.seconds - from.0) / (to - from.0) } else { 0.0 };
                line.push(Node { kelvin: from.1 + (kelvin - from.1) * share, ..*node });
                continue;
            }
            line.push(Node { kelvin: surface, ..*node });
            let Some(after) = nodes.get(index + 1) else { break };
            for seconds in fading(at, offset, lag) {
                if seconds > node.seconds && seconds < after.seconds {
                    let air = Node::between(*node, *after, seconds);
                    line.push(Node { kelvin: at_most_faded(air.kelvin, offset, seconds - at, lag), ..air });
                }
            }
        }
        let (air, film) = (nodes.last()?, line.last()?);
        let left = film.kelvin - air.kelvin;
        let mut back = vec![(0.0, left)];
        back.extend(fading(0.0, left, lag).map(|after| (after, left * (-after / lag).exp())));
        match back.last_mut() {
            Some(last) if last.0 > 0.0 => last.1 = 0.0,
            _ => back.clear(),
        }
        Some(Self { nodes: line, back })
    }

    /// The line up to the last reading.
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// The difference film − air after the last reading.
    pub fn back(&self) -> &[(f64, f64)] {
        &self.back
    }

    /// The same at one moment.
    pub fn offset_after(&self, seconds: f64) -> f64 {
        let after = self.back.partition_point(|point| point.0 <= seconds);
        let before = after.checked_sub(1).and_then(|index| self.back.get(index));
        let (Some(a), Some(b)) = (before, self.back.get(after)) else { return 0.0 };
        a.1 + (b.1 - a.1) * (seconds - a.0) / (b.0 - a.0)
    }
}

/// The moments at which a decaying difference is sampled.
fn fading(from: f64, offset: f64, lag: f64) -> impl Iterator<Item = f64> {
    let lags = if lag > 0.0 { (offset.abs() / FADED).ln().max(0.0) } else { 0.0 };
    (1..=(lags * POINTS).ceil() as usize).map(move |point| from + lag * point as f64 / POINTS)
}

fn at_most_faded(air: f64, offset: f64, seconds: f64, lag: f64) -> f64 {
    if seconds <= 0.0 {
        return air + offset;
    }
    let left = if lag > 0.0 { offset * (-seconds / lag).exp() } else { 0.0 };
    if left.abs() < FADED { air } else { air + left }
}

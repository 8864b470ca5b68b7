//! The temperature and humidity of one place over time, as recorded.
//!
//! Linear between readings; before the first reading the first is held. What is behind the last reading
//! is the matter of the [`Outlook`].

use chrono::TimeDelta;

use super::outlook::Outlook;
use crate::engine::units::{Celsius, Humidity, Moment};

/// What was measured at a place at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When.
    pub at: Moment,
    /// The temperature of the air.
    pub air: Celsius,
    /// The relative humidity, where it was measured.
    pub humidity: Option<Humidity>,
    /// The temperature of the surface, where it was measured.
    pub surface: Option<Celsius>,
}

/// A point of the recorded line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    /// Seconds after the history's origin.
    pub seconds: f64,
    /// Absolute temperature.
    pub kelvin: f64,
    /// Relative humidity as a fraction; NaN where none is known.
    pub humidity: f64,
}

/// The readings of one place as a line over time, and what is expected behind them.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    origin: Moment,
    nodes: Vec<Node>,
    outlook: Outlook,
}

impl History {
    /// A history from readings in rising order of time; of two at one moment the later one counts.
    /// A reading that is not a number is left out.
    pub fn new(readings: impl IntoIterator<Item = Reading>, outlook: Outlook) -> Self {
        let mut readings = readings.into_iter().filter(|r| r.air.degrees().is_finite()).peekable();
        let origin = readings.peek().map_or(Moment::UNIX_EPOCH, |first| first.at);
        let mut nodes: Vec<Node> = Vec::with_capacity(readings.size_hint().0);
        for reading in readings {
            let node = Node {
                seconds: seconds_between(origin, reading.at),
                kelvin: reading.air.kelvin(),
                humidity: reading.humidity.map_or(f64::NAN, Humidity::fraction),
            };
            match nodes.last_mut() {
                Some(last) if last.seconds == node.seconds => {
                    let humidity = if node.humidity.is_nan() { last.humidity } else { node.humidity };
                    *last = Node { humidity, ..node };
                }
                _ => nodes.push(node),
            }
        }
        debug_assert!(nodes.is_sorted_by(|a, b| a.seconds < b.seconds), "readings out of order");
        fill_humidity(&mut nodes);
        Self { origin, nodes, outlook }
    }

    /// The same readings with another outlook.
    pub fn with_outlook(&self, outlook: Outlook) -> Self {
        Self { outlook, ..self.clone() }
    }

    /// What is expected behind the last reading.
    pub fn outlook(&self) -> &Outlook {
        &self.outlook
    }

    /// The moment of the last reading.
    pub fn last_reading(&self) -> Option<Moment> {
        self.nodes.last().map(|node| self.moment(node.seconds))
    }

    /// The moment of the first reading.
    pub fn first_reading(&self) -> Option<Moment> {
        self.nodes.first().map(|node| self.moment(node.seconds))
    }

    /// The temperature at a moment; held before the readings, as expected behind them, None without any.
    pub fn air_at(&self, moment: Moment) -> Option<Celsius> {
        self.line_at(moment).map(|(kelvin, _)| Celsius::from_kelvin(kelvin))
    }

    /// The relative humidity at a moment, where any is known.
    pub fn humidity_at(&self, moment: Moment) -> Option<Humidity> {
        self.line_at(moment)
            .and_then(|(_, humidity)| (!humidity.is_nan()).then(|| Humidity::from_fraction(humidity)))
    }

    /// The coolest and the warmest air between two moments, read, held and expected alike.
    pub fn range(&self, from: Moment, to: Moment) -> Option<(Celsius, Celsius)> {
        let ends = [self.air_at(from)?.kelvin(), self.air_at(to)?.kelvin()];
        let (from, to) = (self.seconds(from), self.seconds(to));
        let first = self.nodes.partition_point(|node| node.seconds < from);
        let inside = self.nodes[first..].iter().take_while(|node| node.seconds <= to).map(|node| node.kelvin);
        let last = self.nodes.last().map_or(0.0, |node| node.seconds);
        let expected = self.outlook.stretches().iter();
        let expected = expected
            .filter(|stretch| last + stretch.from >= from && last + stretch.from <= to)
            .filter_map(|stretch| stretch.kelvin.map(|ends| ends.0));
        let (low, high) = inside
            .chain(expected)
            .chain(ends)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), kelvin| {
                (low.min(kelvin), high.max(kelvin))
            });
        Some((Celsius::from_kelvin(low), Celsius::from_kelvin(high)))
    }

    /// The longest stretch without a reading between two moments, if longer than `at_least`.
    pub fn longest_gap(&self, from: Moment, to: Moment, at_least: TimeDelta) -> Option<(Moment, Moment)> {
        let (from, to) = (self.seconds(from), self.seconds(to));
        let first = self.nodes.partition_point(|node| node.seconds <= from).saturating_sub(1);
        let gaps = self.nodes[first..].windows(2).take_while(|pair| pair[0].seconds < to);
        let longest =
            gaps.max_by(|a, b| (a[1].seconds - a[0].seconds).total_cmp(&(b[1].seconds - b[0].seconds)))?;
        let gap = (self.moment(longest[0].seconds), self.moment(longest[1].seconds));
        (gap.1 - gap.0 > at_least).then_some(gap)
    }

    pub(super) fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    pub(super) fn seconds(&self, moment: Moment) -> f64 {
        seconds_between(self.origin, moment)
    }

    /// The moment so many seconds after the origin.
    pub(super) fn moment(&self, seconds: f64) -> Moment {
        self.origin + TimeDelta::nanoseconds((seconds * 1e9).round() as i64)
    }

    fn line_at(&self, moment: Moment) -> Option<(f64, f64)> {
        let seconds = self.seconds(moment);
        let after = self.nodes.partition_point(|node| node.seconds <= seconds);
        let (before, after) = match (after.checked_sub(1).map(|i| self.nodes[i]), self.nodes.get(after)) {
            (Some(before), Some(after)) => (before, *after),
            (Some(last), None) => {
                let (kelvin, humidity) = self.outlook.expected_after(seconds - last.seconds);
                return Some((kelvin.unwrap_or(last.kelvin), humidity.unwrap_or(last.humidity)));
            }
            (None, Some(first)) => (*first, *first),
            (None, None) => return None,
        };
        let length = after.seconds - before.seconds;
        let share = if length > 0.0 { (seconds - before.seconds) / length } else { 0.0 };
        let between = |a: f64, b: f64| a + (b - a) * share;
        Some((between(before.kelvin, after.kelvin), between(before.humidity, after.humidity)))
    }
}

pub(super) fn seconds_between(from: Moment, to: Moment) -> f64 {
    let length = to - from;
    length.num_seconds() as f64 + f64::from(length.subsec_nanos()) * 1e-9
}

/// Humidity is a line of its own: straight between the readings that know it, held outside of them.
fn fill_humidity(nodes: &mut [Node]) {
    let mut known: Option<usize> = None;
    for index in 0..nodes.len() {
        if nodes[index].humidity.is_nan() {
            continue;
        }
        let (from, to) = (known.map(|k| nodes[k]), nodes[index]);
        for node in &mut nodes[known.map_or(0, |k| k + 1)..index] {
            node.humidity = from.map_or(to.humidity, |from| {
                let share = (node.seconds - from.seconds) / (to.seconds - from.seconds);
                from.humidity + (to.humidity - from.humidity) * share
            });
        }
        known = Some(index);
    }
    if let Some(last) = known {
        let held = nodes[last].humidity;
        nodes[last + 1..].iter_mut().for_each(|node| node.humidity = held);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn reading(minutes: i64, air: f64, humidity: Option<f64>) -> Reading {
        Reading {
            at: at(minutes),
            air: Celsius::new(air),
            humidity: humidity.map(Humidity::from_fraction),
            surface: None,
        }
    }

    fn history(readings: &[Reading]) -> History {
        History::new(readings.iter().copied(), Outlook::default())
    }

    #[test]
    fn a_place_without_readings_knows_nothing() {
        let nothing = history(&[]);
        assert_eq!(nothing.air_at(at(0)), None);
        assert_eq!(nothing.last_reading(), None);
        assert_eq!(nothing.longest_gap(at(0), at(9), TimeDelta::zero()), None);
    }

    #[test]
    fn one_reading_holds_before_and_after() {
        let one = history(&[reading(60, 15.0, None)]);
        for minutes in [0, 60, 600] {
            assert!((one.air_at(at(minutes)).unwrap().degrees() - 15.0).abs() < 1e-9);
        }
    }

    #[test]
    fn between_readings_the_line_is_straight() {
        let two = history(&[reading(0, 10.0, Some(0.4)), reading(60, 20.0, Some(0.6))]);
        assert!((two.air_at(at(15)).unwrap().degrees() - 12.5).abs() < 1e-9);
        assert!((two.humidity_at(at(15)).unwrap().fraction() - 0.45).abs() < 1e-12);
    }

    #[test]
    fn a_reading_without_humidity_takes_it_from_its_neighbours() {
        let readings = [
            reading(0, 10.0, None),
            reading(10, 10.0, Some(0.4)),
            reading(20, 10.0, None),
            reading(30, 10.0, Some(0.6)),
            reading(40, 10.0, None),
        ];
        let filled = history(&readings);
        for (minutes, expected) in [(0, 0.4), (20, 0.5), (40, 0.6)] {
            assert!((filled.humidity_at(at(minutes)).unwrap().fraction() - expected).abs() < 1e-12);
        }
    }

    #[test]
    fn of_two_readings_at_one_moment_the_later_counts() {
        let corrected = history(&[reading(0, 10.0, Some(0.5)), reading(0, 12.0, None)]);
        assert!((corrected.air_at(at(0)).unwrap().degrees() - 12.0).abs() < 1e-9);
        assert!((corrected.humidity_at(at(0)).unwrap().fraction() - 0.5).abs() < 1e-12);
    }

    #[test]
    fn what_is_not_a_number_is_left_out() {
        let broken = history(&[reading(0, f64::NAN, None), reading(5, 12.0, None)]);
        assert_eq!(broken.first_reading(), Some(at(5)));
    }

    #[test]
    fn the_longest_gap_is_found_only_where_it_matters() {
        let readings = [reading(0, 10.0, None), reading(600, 10.0, None), reading(610, 10.0, None)];
        let gappy = history(&readings);
        assert_eq!(gappy.longest_gap(at(100), at(620), TimeDelta::hours(6)), Some((at(0), at(600))));
        assert_eq!(gappy.longest_gap(at(600), at(620), TimeDelta::hours(6)), None);
    }
}

//! Measured temperature and humidity of one place over time.
//!
//! Linear between readings; constant before the first one. After the last one the [`Outlook`] applies. Between
//! readings more than two hours apart the values in between are uncertain: see [`Gap`].

use chrono::TimeDelta;

mod film;
mod humidity;

use film::Film;
use humidity::HumidityGaps;

use super::outlook::Outlook;
use crate::engine::units::{Celsius, Humidity, Moment};

/// A measurement at a place at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When.
    pub at: Moment,
    /// Air temperature.
    pub air: Celsius,
    /// Relative humidity, if measured.
    pub humidity: Option<Humidity>,
    /// Surface temperature, if measured.
    pub surface: Option<Celsius>,
}

/// A point of the recorded line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    /// Seconds after the history's origin.
    pub seconds: f64,
    /// Absolute temperature.
    pub kelvin: f64,
    /// Relative humidity as a fraction; NaN if unknown.
    pub humidity: f64,
    /// The error of the humidity.
    pub humidity_error: f64,
}

impl Node {
    /// The point of the line between two nodes at a moment.
    pub fn between(a: Self, b: Self, seconds: f64) -> Self {
        let share = (seconds - a.seconds) / (b.seconds - a.seconds);
        let between = |x: f64, y: f64| if share == 0.0 { x } else { x + (y - x) * share };
        Self {
            seconds,
            kelvin: between(a.kelvin, b.kelvin),
            humidity: between(a.humidity, b.humidity),
            humidity_error: between(a.humidity_error, b.humidity_error),
        }
    }
}

/// A stretch between two readings more than [`NO_GAP`] apart, in seconds of the history.
///
/// The error inside is that of the thermometer plus a growth with the time to the nearer reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gap {
    pub from: f64,
    pub to: f64,
}

impl Gap {
    /// The time to the nearer end.
    pub fn depth(self, seconds: f64) -> f64 {
        (seconds - self.from).min(self.to - seconds).max(0.0)
    }
}

/// Readings up to this far apart, in seconds, leave no gap.
pub(super) const NO_GAP: f64 = 2.0 * 3600.0;

/// Default time constant with which a surface follows the air.
const SURFACE_LAG: TimeDelta = TimeDelta::hours(1);

/// The readings of one place as a line over time, and what is expected after them.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    origin: Moment,
    nodes: Vec<Node>,
    gaps: Vec<Gap>,
    humidity_gaps: HumidityGaps,
    /// Measured surface temperatures: seconds and kelvin.
    measured: Vec<(f64, f64)>,
    /// The line of the film, if the surface was ever measured.
    film: Option<Film>,
    lag: TimeDelta,
    outlook: Outlook,
}

impl History {
    /// A history from readings ascending in time; of two at the same moment the later one counts. A reading
    /// that is not a number is dropped. A surface follows the air with a lag of 1 h.
    pub fn new(readings: impl IntoIterator<Item = Reading>, outlook: Outlook) -> Self {
        let mut readings = readings.into_iter().filter(|r| r.air.degrees().is_finite()).peekable();
        let origin = readings.peek().map_or(Moment::UNIX_EPOCH, |first| first.at);
        let mut nodes: Vec<Node> = Vec::with_capacity(readings.size_hint().0);
        let mut measured: Vec<(f64, f64)> = Vec::new();
        for reading in readings {
            let humidity = reading.humidity.map(Humidity::fraction).filter(|humidity| humidity.is_finite());
            let node = Node {
                seconds: seconds_between(origin, reading.at),
                kelvin: reading.air.kelvin(),
                humidity: humidity.unwrap_or(f64::NAN),
                humidity_error: 0.0,
            };
            if let Some(surface) = reading.surface.filter(|surface| surface.degrees().is_finite()) {
                measured.pop_if(|last| last.0 == node.seconds);
                measured.push((node.seconds, surface.kelvin()));
            }
            match nodes.last_mut() {
                Some(last) if last.seconds == node.seconds => {
                    let humidity = if node.humidity.is_nan() { last.humidity } else { node.humidity };
                    *last = Node { humidity, ..node };
                }
                _ => nodes.push(node),
            }
        }
        debug_assert!(nodes.is_sorted_by(|a, b| a.seconds < b.seconds), "readings out of order");
        let gaps = nodes
            .windows(2)
            .filter(|pair| pair[1].seconds - pair[0].seconds > NO_GAP)
            .map(|pair| Gap { from: pair[0].seconds, to: pair[1].seconds });
        let gaps = gaps.collect();
        let humidity_gaps = HumidityGaps::of(&nodes);
        humidity::fill(&mut nodes);
        let history =
            Self { origin, nodes, gaps, humidity_gaps, measured, film: None, lag: SURFACE_LAG, outlook };
        history.with_errors()
    }

    /// The same readings with another outlook.
    #[must_use]
    pub fn with_outlook(&self, outlook: Outlook) -> Self {
        Self { outlook, ..self.clone() }.with_errors()
    }

    /// The same, if the humidity after `moment` was not measured but derived from an older one: its error grows
    /// from there. None changes nothing.
    #[must_use]
    pub fn with_humidity_measured_until(mut self, moment: Option<Moment>) -> Self {
        let Some(moment) = moment else { return self };
        self.humidity_gaps.end_at(seconds_between(self.origin, moment));
        self.with_errors()
    }

    /// The same with another surface lag.
    #[must_use]
    pub fn with_surface_lag(self, lag: TimeDelta) -> Self {
        Self { lag, ..self }.with_errors()
    }

    /// Calculates what depends on the outlook and on the lag.
    fn with_errors(mut self) -> Self {
        self.humidity_gaps.set_errors(&mut self.nodes, &self.outlook);
        self.film = Film::of(&self.nodes, &self.measured, self.lag.as_seconds_f64());
        self
    }

    /// What is expected after the last reading.
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

    /// The moment of the first reading that is not before another moment.
    pub fn first_reading_from(&self, moment: Moment) -> Option<Moment> {
        let from = self.seconds(moment);
        let first = self.nodes.partition_point(|node| node.seconds < from);
        self.nodes.get(first).map(|node| self.moment(node.seconds))
    }

    /// How long before a moment the last humidity was measured; None where none was by then.
    pub fn humidity_age(&self, moment: Moment) -> Option<TimeDelta> {
        let last = self.humidity_gaps.last_before(self.seconds(moment))?;
        Some(moment - self.moment(last))
    }

    /// The temperature at a moment; constant before the readings, expected after them, None without readings.
    pub fn air_at(&self, moment: Moment) -> Option<Celsius> {
        self.line_at(moment).map(|(kelvin, _)| Celsius::from_kelvin(kelvin))
    }

    /// The relative humidity at a moment, if known.
    pub fn humidity_at(&self, moment: Moment) -> Option<Humidity> {
        self.line_at(moment)
            .and_then(|(_, humidity)| (!humidity.is_nan()).then(|| Humidity::from_fraction(humidity)))
    }

    /// The film temperature at a moment: the surface where it was measured, else the air.
    pub fn film_at(&self, moment: Moment) -> Option<Celsius> {
        let seconds = self.seconds(moment);
        let Some(film) = &self.film else { return self.air_at(moment) };
        let last = film.nodes().last()?.seconds;
        if seconds > last {
            let air = self.air_at(moment)?.kelvin();
            return Some(Celsius::from_kelvin(air + film.offset_after(seconds - last)));
        }
        let after = film.nodes().partition_point(|node| node.seconds < seconds);
        let next = *film.nodes().get(after)?;
        let before = after.checked_sub(1).map(|index| film.nodes()[index]);
        let kelvin = before.map_or(next.kelvin, |before| Node::between(before, next, seconds).kelvin);
        Some(Celsius::from_kelvin(kelvin))
    }

    /// The lowest and the highest air temperature between two moments, measured or expected.
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

    /// Whether two readings around any part of this time are more than two hours apart.
    pub fn has_gap(&self, from: Moment, to: Moment) -> bool {
        let (from, to) = (self.seconds(from), self.seconds(to));
        self.gaps_after(from).first().is_some_and(|gap| gap.from < to)
    }

    /// The readings.
    pub(super) fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// The line of the film: the surface where it was measured, else the air.
    pub(super) fn film_nodes(&self) -> &[Node] {
        self.film.as_ref().map_or(&self.nodes, Film::nodes)
    }

    /// The difference film − air after the last reading: seconds and kelvin, linear between these points; empty
    /// if there is none.
    pub(super) fn film_return(&self) -> &[(f64, f64)] {
        self.film.as_ref().map_or(&[], Film::back)
    }

    /// The gaps that end after a moment.
    pub(super) fn gaps_after(&self, seconds: f64) -> &[Gap] {
        &self.gaps[self.gaps.partition_point(|gap| gap.to <= seconds)..]
    }

    /// The age of the last measured humidity at the last reading, in seconds.
    pub(super) fn humidity_aged(&self) -> f64 {
        let last = self.nodes.last().map_or(0.0, |node| node.seconds);
        last - self.humidity_gaps.last_before(last).unwrap_or(last)
    }

    /// The error of the humidity as a fraction, at a moment between readings.
    pub(super) fn humidity_error_at(&self, opposed: bool, seconds: f64) -> f64 {
        self.humidity_gaps.error_at(opposed, seconds, &self.outlook)
    }

    pub(super) fn seconds(&self, moment: Moment) -> f64 {
        seconds_between(self.origin, moment)
    }

    /// The moment `seconds` after the origin.
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

#[cfg(test)]
mod tests;

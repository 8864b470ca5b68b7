//! The air of a place from a moment on, as a line through points: what a thing that stands in it feels.

use chrono::TimeDelta;

use super::course::Bound;
use super::history::History;
use super::outlook::Stretch;
use crate::engine::units::{Celsius, Moment};

/// The temperature of the air over the time after a moment: straight between its points, held behind the last.
#[derive(Debug, Clone, PartialEq)]
pub struct AirLine {
    /// Seconds after the moment, and kelvin; never empty, in rising order of time.
    points: Vec<(f64, f64)>,
}

/// A stretch of an [`AirLine`] over which the temperature runs straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirSegment {
    /// Its beginning in seconds.
    pub from: f64,
    /// Its end; infinite for what is held.
    pub to: f64,
    /// The temperature at its beginning in kelvin.
    pub kelvin: f64,
    /// How fast it rises, in K/s.
    pub slope: f64,
}

impl AirSegment {
    /// The temperature in kelvin, so many seconds after the moment.
    pub fn kelvin_at(&self, seconds: f64) -> f64 {
        self.kelvin + self.slope * (seconds - self.from)
    }
}

/// An error that grows by the root of time is followed by so many straight pieces a root of an hour.
const PIECES: f64 = 4.0;

impl AirLine {
    /// Air that stays as it is.
    pub fn steady(air: Celsius) -> Self {
        Self { points: vec![(0.0, air.kelvin())] }
    }

    /// A line through points in rising order of time; what is not a number or out of order is left out. None
    /// where nothing is left.
    pub fn through(points: impl IntoIterator<Item = (TimeDelta, Celsius)>) -> Option<Self> {
        let points = points.into_iter().map(|(after, air)| (after.as_seconds_f64(), air.kelvin()));
        Self::of(points.collect())
    }

    fn of(mut points: Vec<(f64, f64)>) -> Option<Self> {
        let mut last = f64::NEG_INFINITY;
        points.retain(|(seconds, kelvin)| {
            let sound = seconds.is_finite() && kelvin.is_finite() && *seconds >= last;
            if sound {
                last = *seconds;
            }
            sound
        });
        (!points.is_empty()).then_some(Self { points })
    }

    /// The temperature so long after the moment.
    pub fn at(&self, after: TimeDelta) -> Celsius {
        let seconds = after.as_seconds_f64();
        let segment = self.segments_from(seconds).next();
        Celsius::from_kelvin(segment.map_or(self.points[0].1, |segment| segment.kelvin_at(seconds)))
    }

    /// The coolest and the warmest air up to so long after the moment.
    pub fn range(&self, until: TimeDelta) -> (Celsius, Celsius) {
        let seconds = until.as_seconds_f64();
        let inside = self.points.iter().filter(|(at, _)| (0.0..=seconds).contains(at)).map(|point| point.1);
        let ends = [self.at(TimeDelta::zero()).kelvin(), self.at(until).kelvin()];
        let (low, high) = inside
            .chain(ends)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), k| (low.min(k), high.max(k)));
        (Celsius::from_kelvin(low), Celsius::from_kelvin(high))
    }

    /// Its stretches from so many seconds after the moment on; the last one has no end.
    pub fn segments_from(&self, seconds: f64) -> impl Iterator<Item = AirSegment> + '_ {
        let first = (seconds < self.points[0].0).then(|| AirSegment {
            from: seconds,
            to: self.points[0].0,
            kelvin: self.points[0].1,
            slope: 0.0,
        });
        let between = self.points.windows(2).filter_map(move |pair| {
            let ((from, a), (to, b)) = (pair[0], pair[1]);
            let slope = (b - a) / (to - from);
            let begin = from.max(seconds);
            (to > begin).then_some(AirSegment { from: begin, to, kelvin: a + slope * (begin - from), slope })
        });
        let (end, kelvin) = self.points[self.points.len() - 1];
        let held = AirSegment { from: end.max(seconds), to: f64::INFINITY, kelvin, slope: 0.0 };
        first.into_iter().chain(between).chain([held])
    }
}

impl History {
    /// The air from a moment on, as read, held before the readings and as expected behind them, at an edge of
    /// what may be true. None without a reading.
    pub fn air_from(&self, moment: Moment, bound: Bound) -> Option<AirLine> {
        let (first, last) = (*self.nodes().first()?, *self.nodes().last()?);
        let start = self.seconds(moment);
        let sign = bound.sign();
        let shift = sign * self.outlook().thermometer_error().kelvin();
        let mut points: Vec<(f64, f64)> = Vec::new();
        if start < first.seconds {
            points.push((0.0, first.kelvin + shift));
        }
        let next = self.nodes().partition_point(|node| node.seconds <= start);
        if next > 0 && start < last.seconds {
            let (a, b) = (self.nodes()[next - 1], self.nodes()[next]);
            let share = (start - a.seconds) / (b.seconds - a.seconds);
            points.push((0.0, a.kelvin + (b.kelvin - a.kelvin) * share + shift));
        }
        let read = self.nodes()[next..].iter();
        points.extend(read.map(|node| (node.seconds - start, node.kelvin + shift)));
        for stretch in self.outlook().stretches().iter().filter(|s| last.seconds + s.to > start) {
            points.extend(behind(stretch, last.kelvin, sign).filter_map(|(seconds, kelvin)| {
                let after = last.seconds + seconds - start;
                (after >= 0.0).then_some((after, kelvin))
            }));
        }
        if points.first().is_none_or(|point| point.0 > 0.0) {
            let now = self.air_at(moment)?.kelvin();
            points.insert(
                0,
                (0.0, now + sign * self.outlook().error_after(moment - self.last_reading()?).kelvin()),
            );
        }
        AirLine::of(points)
    }
}

/// The points of a stretch behind the last reading: seconds behind it, and kelvin.
fn behind(stretch: &Stretch, held: f64, sign: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
    let kelvin = move |at: f64| {
        stretch.kelvin.map_or(held, |ends| stretch.between(ends, at)) + sign * stretch.error_at(at)
    };
    let length = if stretch.to.is_finite() { stretch.to - stretch.from } else { 0.0 };
    let root = (length / 3600.0).sqrt();
    let pieces = if stretch.root && sign != 0.0 { (root * PIECES).ceil().max(1.0) } else { 1.0 };
    let last = if length > 0.0 { pieces as usize } else { 0 };
    (0..=last).map(move |piece| {
        let share = piece as f64 / pieces;
        let share = if stretch.root { share * share } else { share };
        let at = if piece == last && last > 0 { stretch.to } else { stretch.from + length * share };
        (at, kelvin(at))
    })
}

#[cfg(test)]
mod tests {
    use super::super::history::Reading;
    use super::super::outlook::{ForecastPoint, Outlook};
    use super::*;
    use crate::engine::units::KelvinDelta;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn history(readings: &[(i64, f64)]) -> History {
        let reading = |&(minutes, air): &(i64, f64)| Reading {
            at: at(minutes),
            air: Celsius::new(air),
            humidity: None,
            surface: None,
        };
        History::new(readings.iter().map(reading), Outlook::default())
    }

    fn after(line: &AirLine, minutes: i64) -> f64 {
        line.at(TimeDelta::minutes(minutes)).degrees()
    }

    #[test]
    fn without_a_reading_there_is_no_line() {
        assert_eq!(history(&[]).air_from(at(0), Bound::AsRead), None);
        assert_eq!(AirLine::through([(TimeDelta::zero(), Celsius::new(f64::NAN))]), None);
    }

    #[test]
    fn it_is_what_the_history_says_at_every_minute_and_from_every_moment() {
        let shop = history(&[(0, 10.0), (60, 20.0), (90, 14.0)]);
        for from in [-30, 0, 20, 60, 75, 90, 400] {
            let line = shop.air_from(at(from), Bound::AsRead).unwrap();
            for minutes in 0..300 {
                let told = shop.air_at(at(from + minutes)).unwrap().degrees();
                let drawn = after(&line, minutes);
                assert!((drawn - told).abs() < 1e-9, "from {from}, {minutes} min on: {drawn} for {told}");
            }
        }
    }

    #[test]
    fn its_edges_are_off_by_the_thermometer_and_behind_the_last_reading_by_the_growing_error() {
        let shop = history(&[(0, 10.0), (60, 20.0)]);
        for from in [0, 60, 240] {
            let line = |bound| shop.air_from(at(from), bound).unwrap();
            let (cool, warm) = (line(Bound::Coolest), line(Bound::Warmest));
            for minutes in 0..1000 {
                let moment = at(from + minutes);
                let read = shop.air_at(moment).unwrap().degrees();
                let error = shop.outlook().error_after(moment - at(60)).kelvin();
                for (line, error) in [(&cool, -error), (&warm, error)] {
                    let off = after(line, minutes) - read - error;
                    assert!(off.abs() < 0.07, "from {from}, {minutes} min on: off by {off} K");
                }
            }
        }
    }

    #[test]
    fn a_forecast_is_followed_with_its_own_errors() {
        let base = history(&[(0, 20.0)]);
        let point = |hours: i64, air: f64, error: f64| ForecastPoint {
            at: at(hours * 60),
            air: Celsius::new(air),
            humidity: None,
            error: KelvinDelta::new(error),
        };
        let points = [point(0, 20.0, 0.0), point(2, 10.0, 1.0), point(4, 12.0, 2.0)];
        let outlook = Outlook::forecast(KelvinDelta::new(0.5), at(0), &points).unwrap();
        let line = base.with_outlook(outlook).air_from(at(60), Bound::Warmest).unwrap();
        for (minutes, air) in [(0, 16.0), (60, 11.5), (180, 14.5)] {
            assert!(
                (after(&line, minutes) - air).abs() < 1e-9,
                "{minutes} min on: {}",
                after(&line, minutes)
            );
        }
    }

    #[test]
    fn the_range_takes_in_the_ends_and_all_between() {
        let minutes = TimeDelta::minutes;
        let line = [(minutes(0), 10.0), (minutes(10), 30.0), (minutes(20), 20.0)];
        let line = AirLine::through(line.map(|(after, air)| (after, Celsius::new(air)))).unwrap();
        let range = |until| {
            let (low, high) = line.range(minutes(until));
            (low.degrees().round(), high.degrees().round())
        };
        assert_eq!(
            [range(0), range(5), range(15), range(60)],
            [(10.0, 10.0), (10.0, 20.0), (10.0, 30.0), (10.0, 30.0)]
        );
    }
}

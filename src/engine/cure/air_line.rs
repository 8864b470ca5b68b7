//! The air temperature of a place after a moment, as a polyline.

use chrono::TimeDelta;

use super::course::Bound;
use super::history::{Gap, History};
use super::outlook::Outlook;
use crate::engine::units::{Celsius, Moment};

/// Air temperature after a moment: linear between its points, constant after the last.
#[derive(Debug, Clone, PartialEq)]
pub struct AirLine {
    /// Seconds after the moment and kelvin; never empty, ascending in time.
    points: Vec<(f64, f64)>,
}

/// A stretch of an [`AirLine`] with a linear temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirSegment {
    /// Start in seconds.
    pub from: f64,
    /// End in seconds; infinite for the last stretch.
    pub to: f64,
    /// Temperature at `from`, in kelvin.
    pub kelvin: f64,
    /// Slope in K/s.
    pub slope: f64,
}

impl AirSegment {
    /// The temperature in kelvin, `seconds` after the moment.
    pub fn kelvin_at(&self, seconds: f64) -> f64 {
        self.kelvin + self.slope * (seconds - self.from)
    }
}

impl AirLine {
    /// Constant air.
    pub fn steady(air: Celsius) -> Self {
        Self { points: vec![(0.0, air.kelvin())] }
    }

    /// A line through points ascending in time. Points that are not a number or out of order are dropped; None
    /// if none is left.
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

    /// The temperature at `after`.
    pub fn at(&self, after: TimeDelta) -> Celsius {
        let seconds = after.as_seconds_f64();
        let segment = self.segments_from(seconds).next();
        Celsius::from_kelvin(segment.map_or(self.points[0].1, |segment| segment.kelvin_at(seconds)))
    }

    /// The lowest and the highest temperature up to `until`.
    pub fn range(&self, until: TimeDelta) -> (Celsius, Celsius) {
        let seconds = until.as_seconds_f64();
        let inside = self.points.iter().filter(|(at, _)| (0.0..=seconds).contains(at)).map(|point| point.1);
        let ends = [self.at(TimeDelta::zero()).kelvin(), self.at(until).kelvin()];
        let (low, high) = inside
            .chain(ends)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), k| (low.min(k), high.max(k)));
        (Celsius::from_kelvin(low), Celsius::from_kelvin(high))
    }

    /// The stretches from `seconds` on; the last one has no end.
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
    /// The air from a moment on, at one bound: constant before the first reading, expected after the last one.
    /// The error grows inside gaps and after the last reading. None without a reading.
    pub fn air_from(&self, moment: Moment, bound: Bound) -> Option<AirLine> {
        let (first, last) = (*self.nodes().first()?, *self.nodes().last()?);
        let start = self.seconds(moment);
        let after = |seconds: f64| seconds > start;
        let mut corners: Vec<f64> = vec![start];
        corners.extend(self.nodes().iter().map(|node| node.seconds).filter(|at| after(*at)));
        if bound != Bound::AsRead {
            let gaps = self.gaps_after(start).iter();
            corners.extend(gaps.flat_map(|gap| corners_inside(*gap)).filter(|at| after(*at)));
            corners.extend(Outlook::knots().map(|knot| last.seconds + knot).filter(|at| after(*at)));
        }
        let expected = self.outlook().stretches().iter().map(|stretch| last.seconds + stretch.from);
        corners.extend(expected.filter(|at| after(*at)));
        corners.sort_unstable_by(f64::total_cmp);
        corners.dedup();
        let base = self.outlook().thermometer_error().kelvin();
        let point = |seconds: f64| {
            let error = if seconds > last.seconds {
                let after = TimeDelta::nanoseconds(((seconds - last.seconds) * 1e9).round() as i64);
                self.outlook().error_after(after).kelvin()
            } else if seconds < first.seconds {
                base
            } else {
                let gap = self.gaps_after(seconds).first();
                self.outlook().error_in_gap(gap.map_or(0.0, |gap| gap.depth(seconds)))
            };
            Some((seconds - start, self.air_at(self.moment(seconds))?.kelvin() + bound.sign() * error))
        };
        AirLine::of(corners.into_iter().map_while(point).collect())
    }
}

/// The moments inside a gap at which the slope of its error changes.
fn corners_inside(gap: Gap) -> impl Iterator<Item = f64> {
    let half = (gap.to - gap.from) / 2.0;
    let knots = Outlook::knots().filter(move |knot| *knot < half).chain([half]);
    knots.flat_map(move |depth| [gap.from + depth, gap.to - depth])
}

#[cfg(test)]
mod tests {
    use super::super::history::Reading;
    use super::super::outlook::ForecastPoint;
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
    fn the_line_agrees_with_the_history_at_every_minute() {
        let shop = history(&[(0, 10.0), (60, 20.0), (90, 14.0)]);
        for from in [-30, 0, 20, 60, 75, 90, 400] {
            let line = shop.air_from(at(from), Bound::AsRead).unwrap();
            for minutes in 0..300 {
                let expected = shop.air_at(at(from + minutes)).unwrap().degrees();
                let drawn = after(&line, minutes);
                assert!(
                    (drawn - expected).abs() < 1e-9,
                    "from {from}, {minutes} min on: {drawn} for {expected}"
                );
            }
        }
    }

    #[test]
    fn the_bounds_include_the_thermometer_error_and_the_growth_after_the_last_reading() {
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
                    assert!(off.abs() < 0.2, "from {from}, {minutes} min on: off by {off} K");
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
        for (minutes, air) in
            [(0, 15.0 + 0.5_f64.sqrt()), (60, 10.0 + 1.25_f64.sqrt()), (180, 12.0 + 4.25_f64.sqrt())]
        {
            assert!(
                (after(&line, minutes) - air).abs() < 1e-9,
                "{minutes} min on: {}",
                after(&line, minutes)
            );
        }
    }

    #[test]
    fn the_range_includes_both_ends_and_everything_between() {
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

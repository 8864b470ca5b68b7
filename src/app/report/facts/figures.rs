//! What the air was over a stretch of time: lowest, mean, highest.

use chrono::TimeDelta;

use crate::engine::assess::AirSample;
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

/// The lowest, the mean and the highest of a quantity; the mean over time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span<T> {
    /// The lowest.
    pub low: T,
    /// The mean over time.
    pub mean: T,
    /// The highest.
    pub high: T,
}

/// The air over a film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirFigures {
    /// The air.
    pub air: Span<Celsius>,
    /// Relative humidity, where it was known all the time.
    pub humidity: Option<Span<Humidity>>,
    /// The surface.
    pub surface: Option<Span<Celsius>>,
    /// The dew point.
    pub dew: Option<Span<Celsius>>,
    /// How far the surface was over the dew point.
    pub margin: Option<Span<KelvinDelta>>,
    /// When it was nearest.
    pub nearest: Option<Moment>,
    /// How many readings there are.
    pub readings: usize,
    /// How long the air was not read, but held or forecast.
    pub assumed: TimeDelta,
}

impl AirFigures {
    /// Of samples in order of time; None without any.
    pub fn of(samples: &[AirSample], read: usize) -> Option<Self> {
        let span = |value: &dyn Fn(&AirSample) -> Option<f64>| span(samples, value);
        let celsius = |span: Span<f64>| span.map(Celsius::new);
        let margin = |sample: &AirSample| sample.margin.map(KelvinDelta::kelvin);
        let nearest = samples.iter().filter_map(|sample| Some((sample.at, margin(sample)?)));
        let assumed = samples.windows(2).filter(|pair| pair[0].assumed || pair[1].assumed);
        Some(Self {
            air: span(&|sample| Some(sample.air.degrees())).map(celsius)?,
            humidity: span(&|s| s.humidity.map(Humidity::fraction)).map(|s| s.map(Humidity::from_fraction)),
            surface: span(&|sample| sample.surface.map(Celsius::degrees)).map(celsius),
            dew: span(&|sample| sample.dew.map(Celsius::degrees)).map(celsius),
            margin: span(&margin).map(|span| span.map(KelvinDelta::new)),
            nearest: nearest.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at),
            readings: read,
            assumed: assumed.map(|pair| pair[1].at - pair[0].at).sum(),
        })
    }
}

impl Span<f64> {
    fn map<T>(self, make: impl Fn(f64) -> T) -> Span<T> {
        Span { low: make(self.low), mean: make(self.mean), high: make(self.high) }
    }
}

/// The span of a value that every sample has; straight between two samples.
fn span(samples: &[AirSample], value: &dyn Fn(&AirSample) -> Option<f64>) -> Option<Span<f64>> {
    let points: Vec<(Moment, f64)> =
        samples.iter().map(|sample| Some((sample.at, value(sample)?))).collect::<Option<_>>()?;
    let (first, last) = (points.first()?, points.last()?);
    let low = points.iter().map(|point| point.1).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|point| point.1).fold(f64::NEG_INFINITY, f64::max);
    let area: f64 = points
        .windows(2)
        .map(|pair| (pair[1].0 - pair[0].0).as_seconds_f64() * (pair[0].1 + pair[1].1) / 2.0)
        .sum();
    let length = (last.0 - first.0).as_seconds_f64();
    let mean = if length > 0.0 { area / length } else { first.1 };
    Some(Span { low, mean, high })
}

/// How long a line lies under a limit, from when to when, and its lowest point; None where it never does.
/// Straight between the samples.
pub(super) fn under(
    samples: &[AirSample],
    limit: f64,
    value: &dyn Fn(&AirSample) -> Option<f64>,
) -> Option<Substrate> {
    let mut found: Option<Substrate> = None;
    let mut add = |from: Moment, to: Moment, lowest: f64, assumed: bool| {
        let under = found.get_or_insert(Substrate { from, to, lowest, long: TimeDelta::zero(), assumed });
        under.to = to;
        under.long += to - from;
        if lowest < under.lowest {
            (under.lowest, under.assumed) = (lowest, assumed);
        }
    };
    if let [only] = samples
        && let Some(low) = value(only).filter(|low| *low < limit)
    {
        add(only.at, only.at, low, only.assumed);
    }
    for pair in samples.windows(2) {
        let (Some(first), Some(last)) = (value(&pair[0]), value(&pair[1])) else { continue };
        let assumed = if first < last { pair[0].assumed } else { pair[1].assumed };
        let long = (pair[1].at - pair[0].at).as_seconds_f64();
        let crossing = || {
            let share = (limit - first) / (last - first);
            pair[0].at + TimeDelta::seconds((share * long).round() as i64)
        };
        match (first < limit, last < limit) {
            (true, true) => add(pair[0].at, pair[1].at, first.min(last), assumed),
            (true, false) => add(pair[0].at, crossing(), first, pair[0].assumed),
            (false, true) => add(crossing(), pair[1].at, last, pair[1].assumed),
            (false, false) => {}
        }
    }
    found
}

/// A stretch under a limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Substrate {
    /// From when.
    pub from: Moment,
    /// To when.
    pub to: Moment,
    /// The lowest point.
    pub lowest: f64,
    /// How long in all.
    pub long: TimeDelta,
    /// Whether the lowest point was not read.
    pub assumed: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn sample(minutes: i64, air: f64, margin: Option<f64>) -> AirSample {
        AirSample {
            at: at(minutes),
            air: Celsius::new(air),
            humidity: None,
            surface: None,
            dew: None,
            margin: margin.map(KelvinDelta::new),
            assumed: minutes > 100,
        }
    }

    #[test]
    fn the_mean_is_that_over_time_and_not_over_readings() {
        // Ten minutes at 10 °C, read every minute; then straight up to 20 °C in fifty.
        let mut samples: Vec<AirSample> = (0..=10).map(|m| sample(m, 10.0, None)).collect();
        samples.push(sample(60, 20.0, None));
        let figures = AirFigures::of(&samples, 12).unwrap();
        assert_eq!((figures.air.low.degrees(), figures.air.high.degrees()), (10.0, 20.0));
        assert!((figures.air.mean.degrees() - (10.0 * 10.0 + 50.0 * 15.0) / 60.0).abs() < 1e-9);
        assert_eq!((figures.humidity, figures.margin, figures.nearest), (None, None, None));
    }

    #[test]
    fn one_sample_is_its_own_mean_and_none_is_nothing() {
        let figures = AirFigures::of(&[sample(0, 12.5, Some(4.0))], 1).unwrap();
        assert_eq!(figures.air.mean, Celsius::new(12.5));
        assert_eq!(figures.nearest, Some(at(0)));
        assert_eq!(AirFigures::of(&[], 0), None);
    }

    #[test]
    fn what_was_not_read_is_counted() {
        let samples = [sample(90, 10.0, None), sample(100, 10.0, None), sample(130, 10.0, None)];
        assert_eq!(AirFigures::of(&samples, 2).unwrap().assumed, TimeDelta::minutes(30));
    }

    #[test]
    fn a_dip_under_the_limit_is_found_between_the_readings() {
        let line = [sample(0, 12.0, None), sample(60, 8.0, None), sample(90, 11.0, None)];
        let air = |sample: &AirSample| Some(sample.air.degrees());
        let dip = under(&line, 10.0, &air).unwrap();
        assert_eq!((dip.from, dip.to, dip.lowest), (at(30), at(80), 8.0));
        assert_eq!(dip.long, TimeDelta::minutes(50));
        assert_eq!(under(&line, 8.0, &air), None, "at the limit is within it");
        assert_eq!(under(&line[..1], 13.0, &air).map(|dip| dip.long), Some(TimeDelta::zero()));
        assert_eq!(under(&[], 13.0, &air), None);
        let unknown = |_: &AirSample| None;
        assert_eq!(under(&line, 10.0, &unknown), None);
    }
}

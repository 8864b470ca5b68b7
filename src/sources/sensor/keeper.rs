//! What is known of each source: whether it works, since when it says the same, and what it last measured.

use chrono::TimeDelta;

use super::values::Measured;
use super::{SensorEvent, SensorFault};
use crate::config::{Measures, Sensor, SensorSource};
use crate::cure::Reading;
use crate::units::Moment;

/// Air moves; what says the same to the last figure for so long does not measure.
const STUCK: TimeDelta = TimeDelta::hours(24);
/// A topic may speak on change only.
const QUIET_TOPIC: TimeDelta = TimeDelta::hours(1);

/// Who was away for longer than this cannot tell who was silent meanwhile.
const AWAY: TimeDelta = TimeDelta::seconds(30);

/// Every source, and what is known of it.
pub(super) struct Keeper {
    sources: Vec<Source>,
    looked: Moment,
}

struct Source {
    sensor: Sensor,
    failing: bool,
    heard: Moment,
    /// The last good answer, and since when it is the same.
    last: Option<(Measured, Moment)>,
    /// When it last could be used.
    used: Option<Moment>,
}

impl Keeper {
    pub(super) fn new(sensors: &[Sensor], now: Moment) -> Self {
        let source = |sensor: &Sensor| Source {
            sensor: sensor.clone(),
            failing: false,
            heard: now,
            last: None,
            used: None,
        };
        Self { sources: sensors.iter().map(source).collect(), looked: now }
    }

    /// Takes an answer in.
    pub(super) fn heard(
        &mut self,
        index: usize,
        at: Moment,
        outcome: Result<Measured, SensorFault>,
    ) -> Vec<SensorEvent> {
        let Some(source) = self.sources.get_mut(index) else { return Vec::new() };
        source.heard = at;
        let measured = outcome.and_then(|measured| source.unless_stuck(measured, at));
        let (told, measured) = match measured {
            Ok(measured) => (source.works(at), measured),
            Err(fault) => return source.fails(at, fault).into_iter().collect(),
        };
        source.used = Some(at);
        let dead_band = source.sensor.dead_band;
        let (place, measures) = (source.sensor.place.clone(), source.sensor.measures);
        let reading = match measures {
            Measures::Air => Some(Reading {
                at,
                air: measured.temperature,
                humidity: measured.humidity,
                surface: measured
                    .surface
                    .or_else(|| self.fresh(&place, Measures::Surface, at).map(|surface| surface.temperature)),
            }),
            Measures::Surface => self.fresh(&place, Measures::Air, at).map(|air| Reading {
                at,
                air: air.temperature,
                humidity: air.humidity,
                surface: Some(measured.temperature),
            }),
        };
        let reading = reading.map(|reading| SensorEvent::Measured { place, reading, dead_band });
        told.into_iter().chain(reading).collect()
    }

    /// Tells of those that have gone quiet. To be called every few seconds: after a longer while the machine
    /// slept, or its clock was set, and every source has its time again.
    pub(super) fn look(&mut self, now: Moment) -> Vec<SensorEvent> {
        let away = now - std::mem::replace(&mut self.looked, now);
        if away > AWAY || away < TimeDelta::zero() {
            self.sources.iter_mut().for_each(|source| source.heard = now);
        }
        let quiet = |source: &mut Source| {
            let silent = now - source.heard;
            let limit = match source.sensor.source {
                SensorSource::Topic(_) => QUIET_TOPIC.max(source.sensor.every * 3),
                _ => source.sensor.every * 2 + TimeDelta::seconds(30),
            };
            (silent > limit).then(|| source.fails(now, SensorFault::Silent(silent))).flatten()
        };
        self.sources.iter_mut().filter_map(quiet).collect()
    }

    /// What the other sensor of a place has just measured.
    fn fresh(&self, place: &str, measures: Measures, at: Moment) -> Option<Measured> {
        let other = self.sources.iter().find(|source| {
            source.sensor.measures == measures && source.sensor.place.eq_ignore_ascii_case(place)
        })?;
        let limit = other.sensor.every * 2 + TimeDelta::seconds(30);
        other.used.filter(|used| (at - *used).abs() <= limit)?;
        other.last.map(|(measured, _)| measured)
    }
}

impl Source {
    fn unless_stuck(&mut self, measured: Measured, at: Moment) -> Result<Measured, SensorFault> {
        match self.last {
            Some((last, since)) if last == measured && since <= at => {
                if at - since >= STUCK {
                    Err(SensorFault::Stuck)
                } else {
                    Ok(measured)
                }
            }
            _ => {
                self.last = Some((measured, at));
                Ok(measured)
            }
        }
    }

    fn works(&mut self, at: Moment) -> Option<SensorEvent> {
        std::mem::take(&mut self.failing).then(|| SensorEvent::Recovered {
            at,
            place: self.sensor.place.clone(),
            source: self.sensor.source.to_string(),
        })
    }

    fn fails(&mut self, at: Moment, fault: SensorFault) -> Option<SensorEvent> {
        (!std::mem::replace(&mut self.failing, true)).then(|| SensorEvent::Failed {
            at,
            place: self.sensor.place.clone(),
            source: self.sensor.source.to_string(),
            fault,
        })
    }
}

//! The state of each source: health, time without a change, last value.

use chrono::TimeDelta;

use super::health::{Health, Tell};
use super::values::Measured;
use super::{SensorEvent, SensorFault};
use crate::engine::config::{Measures, Sensor, SensorSource};
use crate::engine::cure::Reading;
use crate::engine::units::Moment;

/// Air varies; a sensor whose value is exactly the same for this time is stuck.
const STUCK: TimeDelta = TimeDelta::hours(24);
/// A topic may publish on change only.
const QUIET_TOPIC: TimeDelta = TimeDelta::hours(1);

/// Stored readings further apart than this do not show that a sensor was constant in between: one is kept every
/// half hour, even in a steady place.
const UNBROKEN: TimeDelta = TimeDelta::hours(2);
/// The span that a constant day leaves in the job: its last reading may not have been kept.
const STUCK_STORED: TimeDelta = TimeDelta::hours(23);
/// After a longer absence it is unknown which sensors were silent.
const AWAY: TimeDelta = TimeDelta::seconds(30);

/// All sources and their state.
pub(super) struct Keeper {
    sources: Vec<Source>,
    looked: Moment,
}

struct Source {
    sensor: Sensor,
    health: Health,
    heard: Moment,
    /// Whether it has answered at all.
    answered: bool,
    /// The last valid answer, and since when it is the same.
    last: Option<(Measured, Moment)>,
    /// When it was last usable.
    used: Option<Moment>,
}

impl Keeper {
    pub(super) fn new(sensors: &[Sensor], now: Moment) -> Self {
        let source = |sensor: &Sensor| Source {
            sensor: sensor.clone(),
            health: Health::default(),
            heard: now,
            answered: false,
            last: None,
            used: None,
        };
        Self { sources: sensors.iter().map(source).collect(), looked: now }
    }

    /// Adds the stored readings of a place, so that a sensor that was stuck before the program started is still
    /// stuck.
    pub(super) fn remember(&mut self, place: &str, readings: &[Reading], now: Moment) {
        let here = |source: &&mut Source| source.sensor.place.eq_ignore_ascii_case(place);
        for source in self.sources.iter_mut().filter(here) {
            source.last = source.last.or_else(|| said_since(readings, &source.sensor, now));
        }
    }

    /// The sources without an answer so far.
    pub(super) fn unheard(&self) -> Vec<(String, String)> {
        let unheard = self.sources.iter().filter(|source| !source.answered);
        unheard.map(|source| (source.sensor.place.clone(), source.sensor.source.to_string())).collect()
    }

    /// Records an answer.
    pub(super) fn heard(
        &mut self,
        index: usize,
        at: Moment,
        outcome: Result<Measured, SensorFault>,
    ) -> Vec<SensorEvent> {
        let Some(source) = self.sources.get_mut(index) else { return Vec::new() };
        source.heard = at;
        source.answered = true;
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

    /// Reports sources that have gone silent. Called every few seconds: after a longer pause the machine slept
    /// or its clock was set, and every source gets its time again.
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

    /// The last measurement of the other sensor of a place.
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
            Some((last, since)) if last.says(&measured) && since <= at => {
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
        self.health.works(at).then(|| SensorEvent::Recovered {
            at,
            place: self.sensor.place.clone(),
            source: self.sensor.source.to_string(),
        })
    }

    fn fails(&mut self, at: Moment, fault: SensorFault) -> Option<SensorEvent> {
        let fault = match self.health.fails(at)? {
            Tell::Failure => fault,
            Tell::Flaps => SensorFault::ComesAndGoes(fault.to_string()),
        };
        let (place, source) = (self.sensor.place.clone(), self.sensor.source.to_string());
        Some(SensorEvent::Failed { at, place, source, fault })
    }
}

/// The exact value of a place's last stored readings, and since when; None if a gap leaves that open.
fn said_since(readings: &[Reading], sensor: &Sensor, now: Moment) -> Option<(Measured, Moment)> {
    // The surface of a reading may come from another sensor.
    let own_surface = |reading: &Reading| reading.surface.filter(|_| sensor.pointers.surface.is_some());
    let of = |reading: &Reading| match sensor.measures {
        Measures::Air => {
            let surface = own_surface(reading);
            Some(Measured { temperature: reading.air, humidity: reading.humidity, surface })
        }
        Measures::Surface => Some(Measured { temperature: reading.surface?, humidity: None, surface: None }),
    };
    let mut back = readings.iter().rev();
    let newest = back.next()?;
    let (said, mut since) = (of(newest)?, newest.at);
    for reading in back {
        let same = of(reading).is_some_and(|other| said.says(&other));
        if !same || since - reading.at > UNBROKEN {
            break;
        }
        since = reading.at;
    }
    let stuck = newest.at - since >= STUCK_STORED;
    let since = if stuck { since.min(now - STUCK) } else { since };
    (stuck || now - newest.at <= UNBROKEN).then_some((said, since))
}

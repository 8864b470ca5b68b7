//! Sensors at work on a job: their readings are kept, and what they cannot do is told.
//!
//! The board and `watch` may both be at it. No lease says whose turn it is: the dead band is measured from
//! the newest reading that the job itself holds, whoever wrote it, so that the second one to come finds
//! nothing new to write; and when either leaves, the other goes on without having to notice.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::TimeDelta;

use super::{Clock, Session, SessionError};
use crate::engine::cure::Reading;
use crate::engine::units::{KelvinDelta, clean};
use crate::io::sources::{SensorEvent, SensorHub, to_keep};
use crate::io::store::Store;

/// So far back it is looked whether a sensor has said the same all the while.
const REMEMBERED: TimeDelta = TimeDelta::hours(60);

/// The sensors of the settings, and the last reading of each place that was passed over.
pub struct SensorLog {
    hub: SensorHub,
    held: BTreeMap<String, Reading>,
    trouble: Option<String>,
}

/// What came of a look at the sensors.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sensed {
    /// Whether there are new readings in the job.
    pub written: bool,
    /// What has to be told, a sentence each.
    pub says: Vec<String>,
}

impl SensorLog {
    /// Starts the sensors of the settings; None where there are none, or where the clock is not that on the
    /// wall: a demo measures nothing.
    pub fn start(session: &Session<'_>) -> Option<Self> {
        let (config, clock) = (session.config(), session.clock());
        if config.sensors.is_empty() || clock != Clock::Wall {
            return None;
        }
        let mut hub = SensorHub::start(&config.sensors, config.mqtt.as_ref(), Arc::new(move || clock.now()));
        let now = clock.now();
        for sensor in &config.sensors {
            // What cannot be read now is told by whoever shows it; without it, a day shows what is stuck.
            let stored = session.store.as_ref().map(|s| s.readings(&sensor.place, now - REMEMBERED, now));
            hub.remember(&sensor.place, &stored.and_then(Result::ok).unwrap_or_default());
        }
        Some(Self { hub, held: BTreeMap::new(), trouble: None })
    }

    /// The sources that have not answered yet, a sentence each.
    pub fn unheard(&self) -> Vec<String> {
        let sentence = |(place, source): (String, String)| {
            format!("the sensor of {} sent nothing. ({source})", clean(&place))
        };
        self.hub.unheard().into_iter().map(sentence).collect()
    }

    /// Takes in what has come, without waiting for more. A job that cannot be written is told once, and
    /// stops nothing.
    pub fn take(&mut self, session: &mut Session<'_>) -> Sensed {
        let mut sensed = Sensed::default();
        for event in self.hub.take() {
            match event {
                SensorEvent::Measured { place, reading, dead_band } => {
                    let held = self.held.get(&place).copied();
                    match session.log_sensed(&place, reading, held, dead_band) {
                        Ok(0) => {
                            self.trouble = None;
                            self.held.insert(place, reading);
                        }
                        Ok(_) => {
                            self.trouble = None;
                            self.held.remove(&place);
                            sensed.written = true;
                        }
                        Err(error) => {
                            let says = format!("Sensor readings cannot be saved: {error}");
                            if self.trouble.as_ref() != Some(&says) {
                                sensed.says.push(says.clone());
                                self.trouble = Some(says);
                            }
                        }
                    }
                }
                SensorEvent::Failed { at, place, source, fault } => {
                    let when = session.words().civil.time_of_day(at);
                    let (place, fault) = (clean(&place), clean(&fault.to_string()));
                    sensed.says.push(format!(
                        "{when}: the sensor of {place} gives no reading: {fault}. The last one ages. ({source})"
                    ));
                }
                SensorEvent::Recovered { at, place, source } => {
                    let when = session.words().civil.time_of_day(at);
                    let place = clean(&place);
                    sensed.says.push(format!("{when}: the sensor of {place} works again. ({source})"));
                }
            }
        }
        sensed
    }
}

impl Session<'_> {
    /// Keeps a reading of a sensor, unless the job's newest of that place says the same; says how many were
    /// written.
    fn log_sensed(
        &mut self,
        place: &str,
        reading: Reading,
        held: Option<Reading>,
        band: KelvinDelta,
    ) -> Result<u64, SessionError> {
        // Another process may have made the job.
        self.version()?;
        let newest = self.store.as_ref().map(|store: &Store| store.latest_reading(place, reading.at));
        let newest = newest.transpose()?.flatten();
        let keep = to_keep(newest.as_ref(), held.as_ref(), reading, band);
        if keep.is_empty() {
            return Ok(0);
        }
        Ok(self.writer()?.log_readings(place, &keep)?)
    }
}

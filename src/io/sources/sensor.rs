//! Sensors: kernel files, programs and MQTT topics, each read on its own thread.
//!
//! The drawing thread never waits here: events are taken on request. An invalid reading is refused and reported
//! once, and its end is reported once.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender, channel, sync_channel};
use std::thread;
use std::time::Duration;

use crate::engine::config::{Broker, Sensor, SensorSource};
use crate::engine::cure::Reading;
use crate::engine::units::{KelvinDelta, Moment};
use keeper::Keeper;
use poll::Running;
use values::Measured;

mod band;
mod fault;
mod health;
mod keeper;
mod mqtt;
mod poll;
#[cfg(test)]
mod tests;
mod values;

pub use band::to_keep;
pub use fault::SensorFault;

/// Longer input is not read.
const LIMIT: usize = 64 * 1024;

/// The capacity of the event queue.
const QUEUE: usize = 1024;

/// Returns the time. The one clock is elsewhere.
pub type Now = Arc<dyn Fn() -> Moment + Send + Sync>;

/// An event of a sensor.
#[derive(Debug, Clone, PartialEq)]
pub enum SensorEvent {
    /// A valid reading.
    Measured {
        /// The place.
        place: String,
        /// The reading.
        reading: Reading,
        /// The difference to the last one that makes it worth keeping.
        dead_band: KelvinDelta,
    },
    /// A source has failed.
    Failed {
        /// Since when.
        at: Moment,
        /// The place.
        place: String,
        /// The source.
        source: String,
        /// The reason.
        fault: SensorFault,
    },
    /// A source works again.
    Recovered {
        /// Since when.
        at: Moment,
        /// The place.
        place: String,
        /// The source.
        source: String,
    },
}

/// The result of one poll.
struct Answer {
    sensor: usize,
    at: Moment,
    outcome: Result<Measured, SensorFault>,
}

/// All sensors of the settings. Dropped, they stop.
pub struct SensorHub {
    answers: Receiver<Answer>,
    keeper: Keeper,
    now: Now,
    running: Arc<Running>,
    /// Closed with the hub; the threads notice.
    _stops: Vec<Sender<()>>,
}

impl SensorHub {
    /// Starts them.
    pub fn start(sensors: &[Sensor], broker: Option<&Broker>, now: Now) -> Self {
        let (sender, answers) = sync_channel(QUEUE);
        let running = Arc::new(Running::default());
        let mut stops = Vec::new();
        let mut topics = Vec::new();
        for (index, sensor) in sensors.iter().enumerate() {
            if matches!(sensor.source, SensorSource::Topic(_)) {
                topics.push((index, sensor.clone()));
                continue;
            }
            let (stop, stopped) = channel();
            stops.push(stop);
            let (sensor, sender) = (sensor.clone(), sender.clone());
            let (now, running) = (Arc::clone(&now), Arc::clone(&running));
            thread::spawn(move || poll_on(index, &sensor, &sender, &stopped, &now, &running));
        }
        if let (false, Some(broker)) = (topics.is_empty(), broker) {
            let (stop, stopped) = channel();
            stops.push(stop);
            let (broker, now) = (broker.clone(), Arc::clone(&now));
            thread::spawn(move || mqtt::listen(&broker, &topics, &sender, &stopped, &now));
        }
        let keeper = Keeper::new(sensors, now());
        Self { answers, keeper, now, running, _stops: stops }
    }

    /// Adds the stored readings of a place: what its sensor measured before the program started.
    pub fn remember(&mut self, place: &str, readings: &[Reading]) {
        self.keeper.remember(place, readings, (self.now)());
    }

    /// The sources without an answer so far, each with its place.
    pub fn unheard(&self) -> Vec<(String, String)> {
        self.keeper.unheard()
    }

    /// The events since the last call, without waiting.
    pub fn take(&mut self) -> Vec<SensorEvent> {
        let mut events = Vec::new();
        for answer in self.answers.try_iter() {
            events.extend(self.keeper.heard(answer.sensor, answer.at, answer.outcome));
        }
        events.extend(self.keeper.look((self.now)()));
        events
    }
}

impl Drop for SensorHub {
    fn drop(&mut self) {
        self.running.end_all();
    }
}

fn poll_on(
    index: usize,
    sensor: &Sensor,
    answers: &SyncSender<Answer>,
    stopped: &Receiver<()>,
    now: &Now,
    running: &Running,
) {
    let every = sensor.every.to_std().unwrap_or(Duration::from_secs(60));
    loop {
        let outcome = poll::measure(sensor, running);
        if answers.send(Answer { sensor: index, at: now(), outcome }).is_err() {
            return;
        }
        if stopped.recv_timeout(every) != Err(RecvTimeoutError::Timeout) {
            return;
        }
    }
}

//! The topics of an MQTT broker, on one thread. A lost broker is reported, and tried again at growing
//! intervals.

use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TryRecvError};
use std::time::Duration;

use rumqttc::{Client, ConnectionError, Event, MqttOptions, Packet, Publish, QoS};

use super::values::{self, Measured};
use super::{Answer, LIMIT, Now, SensorFault, poll};
use crate::engine::config::{Broker, Sensor, SensorSource};
use crate::engine::units::{Moment, clean};

/// The first and the longest interval between attempts.
const FIRST_PAUSE: Duration = Duration::from_secs(1);
const LONGEST_PAUSE: Duration = Duration::from_secs(60);
/// The ping interval; also how soon the thread sees that the hub is gone.
const KEEP_ALIVE: Duration = Duration::from_secs(30);
/// Packet overhead beyond the payload: mainly the topic.
const ENVELOPE: usize = 2048;

type Topics = [(usize, Sensor)];

/// Listens until the hub is gone.
pub(super) fn listen(
    broker: &Broker,
    topics: &Topics,
    answers: &SyncSender<Answer>,
    stopped: &Receiver<()>,
    now: &Now,
) {
    let mut pause = FIRST_PAUSE;
    let mut taken: Vec<Option<Moment>> = vec![None; topics.len()];
    loop {
        let connected = once(broker, topics, answers, stopped, now, &mut taken);
        let fault = match connected {
            Ok(()) => return,
            Err((fault, true)) => {
                pause = FIRST_PAUSE;
                fault
            }
            Err((fault, false)) => fault,
        };
        for (sensor, _) in topics {
            let _ = answers.try_send(Answer { sensor: *sensor, at: now(), outcome: Err(fault.clone()) });
        }
        if stopped.recv_timeout(pause) != Err(RecvTimeoutError::Timeout) {
            return;
        }
        pause = (pause * 2).min(LONGEST_PAUSE);
    }
}

/// One connection; returns its error and whether it was established. `Ok` if the hub is gone.
fn once(
    broker: &Broker,
    topics: &Topics,
    answers: &SyncSender<Answer>,
    stopped: &Receiver<()>,
    now: &Now,
    taken: &mut [Option<Moment>],
) -> Result<(), (SensorFault, bool)> {
    let options = options(broker).map_err(|fault| (fault, false))?;
    // Capacity for every subscription: the loop below sends them.
    let (client, mut connection) = Client::new(options, topics.len() + 8);
    let mut connected = false;
    loop {
        if !matches!(stopped.try_recv(), Err(TryRecvError::Empty)) {
            return Ok(());
        }
        // A timeout here would also abort connecting. Each wait ends with the next ping at the latest.
        let event = match connection.recv() {
            Err(_) => return Err((broken("the connection has ended"), connected)),
            Ok(Err(error)) => return Err((why(&error), connected)),
            Ok(Ok(event)) => event,
        };
        match event {
            Event::Incoming(Packet::ConnAck(_)) => {
                connected = true;
                for (_, sensor) in topics {
                    let SensorSource::Topic(topic) = &sensor.source else { continue };
                    client
                        .try_subscribe(topic, QoS::AtLeastOnce)
                        .map_err(|error| (broken(&error.to_string()), connected))?;
                }
            }
            Event::Incoming(Packet::Publish(message)) => {
                for ((sensor, settings), taken) in topics.iter().zip(taken.iter_mut()) {
                    let at = now();
                    if let Some(outcome) = hear(&message, settings, at, taken) {
                        let _ = answers.try_send(Answer { sensor: *sensor, at, outcome });
                    }
                }
            }
            _ => {}
        }
    }
}

/// The sensor's result for a message; None if it belongs to another sensor or is skipped.
fn hear(
    message: &Publish,
    sensor: &Sensor,
    now: Moment,
    taken: &mut Option<Moment>,
) -> Option<Result<Measured, SensorFault>> {
    // A retained message may be old, without a sign of it.
    if message.retain || !matches!(&sensor.source, SensorSource::Topic(topic) if *topic == message.topic) {
        return None;
    }
    // A chatty topic is read at the requested interval.
    if taken.is_some_and(|taken| taken <= now && now - taken < sensor.every / 2) {
        return None;
    }
    let outcome = heard(&message.payload, sensor);
    if outcome.is_ok() {
        *taken = Some(now);
    }
    Some(outcome)
}

/// The value of a payload.
pub(super) fn heard(payload: &[u8], sensor: &Sensor) -> Result<Measured, SensorFault> {
    if payload.len() > LIMIT {
        return Err(SensorFault::TooMuch);
    }
    values::spoken(&String::from_utf8_lossy(payload), sensor)
}

fn options(broker: &Broker) -> Result<MqttOptions, SensorFault> {
    let name = format!("curewright-{}", std::process::id());
    let mut options = MqttOptions::new(name, &broker.host, broker.port);
    options.set_keep_alive(KEEP_ALIVE);
    options.set_max_packet_size(LIMIT + ENVELOPE, ENVELOPE);
    if let Some(user) = &broker.user {
        let password = broker.password_file.as_deref().map(poll::file_text).transpose();
        let password = password
            .map_err(|fault| broken(&format!("the file of its password: {fault}")))?
            .unwrap_or_default();
        options.set_credentials(user, password.trim_end_matches(['\r', '\n']));
    }
    Ok(options)
}

fn why(error: &ConnectionError) -> SensorFault {
    match error {
        ConnectionError::ConnectionRefused(code) => broken(&format!("it refuses: {code:?}")),
        ConnectionError::NetworkTimeout | ConnectionError::FlushTimeout => broken("it does not answer"),
        ConnectionError::Io(error) => broken(&error.to_string()),
        other => broken(&other.to_string()),
    }
}

fn broken(what: &str) -> SensorFault {
    SensorFault::Broker(clean(what))
}

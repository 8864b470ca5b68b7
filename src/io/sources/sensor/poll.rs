//! Reads a file or a program's output, bounded in time and size.

use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use super::values::{self, Measured};
use super::{LIMIT, SensorFault};
use crate::engine::config::{Sensor, SensorSource};
use crate::engine::units::clean;
use crate::io::platform::Family;

/// A program is stopped after this time.
const PATIENCE: Duration = Duration::from_secs(10);

/// The running programs, so that none outlives the board.
#[derive(Default)]
pub(super) struct Running(Mutex<Programs>);

#[derive(Default)]
struct Programs {
    known: Vec<Family>,
    ended: bool,
}

impl Running {
    fn all(&self) -> MutexGuard<'_, Programs> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Stops all of them; none is started afterwards.
    pub(super) fn end_all(&self) {
        let mut all = self.all();
        all.ended = true;
        all.known.drain(..).for_each(Family::kill);
    }

    /// Starts a program. It is known before the lock is free: one that nobody knows could not be stopped.
    fn start(&self, command: &mut Command) -> Result<(Child, Family), SensorFault> {
        let mut all = self.all();
        if all.ended {
            return Err(SensorFault::NotRun("the watch has ended".into()));
        }
        let started = Family::start(command);
        let (child, family) = started.map_err(|error| SensorFault::NotRun(clean(&error.to_string())))?;
        all.known.push(family);
        Ok((child, family))
    }

    /// Whether a program has succeeded, once known. It leaves the list in the moment its process id becomes
    /// free.
    fn ended(&self, child: &mut Child, family: Family) -> Option<Result<(), SensorFault>> {
        let mut all = self.all();
        let status = match child.try_wait() {
            Ok(None) => return None,
            Ok(Some(status)) => status,
            Err(error) => return Some(Err(SensorFault::NotRun(error.to_string()))),
        };
        all.known.retain(|known| *known != family);
        Some(if status.success() { Ok(()) } else { Err(SensorFault::Status(status.to_string())) })
    }

    fn stop(&self, child: &mut Child, family: Family) {
        let mut all = self.all();
        family.kill();
        let _ = child.wait();
        all.known.retain(|known| *known != family);
    }
}

/// One poll of a source.
pub(super) fn measure(sensor: &Sensor, running: &Running) -> Result<Measured, SensorFault> {
    match &sensor.source {
        SensorSource::File { path, humidity, scale } => {
            let temperature = values::kernel_temperature(&file_text(path)?, *scale)?;
            let humidity = humidity
                .as_deref()
                .map(|path| values::kernel_humidity(&file_text(path)?, *scale))
                .transpose()?;
            Ok(Measured { temperature, humidity, surface: None })
        }
        SensorSource::Command(words) => values::spoken(&output(words, PATIENCE, running)?, sensor),
        // Topics are pushed.
        SensorSource::Topic(_) => Err(SensorFault::Empty),
    }
}

/// The text of a file.
pub(super) fn file_text(path: &Path) -> Result<String, SensorFault> {
    let unreadable = |error: std::io::Error| match error.kind() {
        ErrorKind::NotFound => SensorFault::Missing,
        _ => SensorFault::Unreadable(error.to_string()),
    };
    // Opening a pipe would block.
    if !fs::metadata(path).map_err(unreadable)?.is_file() {
        return Err(SensorFault::NotAFile);
    }
    text_of(File::open(path).map_err(unreadable)?)
}

fn text_of(from: impl Read) -> Result<String, SensorFault> {
    let mut bytes = Vec::new();
    let read = from.take(LIMIT as u64 + 1).read_to_end(&mut bytes);
    read.map_err(|error| SensorFault::Unreadable(error.to_string()))?;
    if bytes.len() > LIMIT {
        return Err(SensorFault::TooMuch);
    }
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A program's output.
pub(super) fn output(words: &[String], patience: Duration, running: &Running) -> Result<String, SensorFault> {
    let (program, arguments) = words.split_first().ok_or(SensorFault::Empty)?;
    let mut command = Command::new(program);
    command.args(arguments).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
    let (mut child, family) = running.start(&mut command)?;
    let until = Instant::now() + patience;
    let (sender, said) = channel();
    if let Some(out) = child.stdout.take() {
        thread::spawn(move || sender.send(text_of(out)));
    }
    let text = match said.recv_timeout(patience) {
        Ok(Ok(text)) => text,
        Ok(Err(fault)) => {
            running.stop(&mut child, family);
            return Err(fault);
        }
        Err(_) => {
            running.stop(&mut child, family);
            return Err(SensorFault::Hung);
        }
    };
    loop {
        if let Some(end) = running.ended(&mut child, family) {
            return end.map(|()| text);
        }
        if Instant::now() >= until {
            running.stop(&mut child, family);
            return Err(SensorFault::Hung);
        }
        thread::sleep(Duration::from_millis(10));
    }
}

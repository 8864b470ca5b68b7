//! The lines of a job, read back: each is held against what came before it.

use std::collections::BTreeSet;
use std::io::{self, BufRead, Read};

use super::{AlertLine, EntryLine, ForecastLine, Head, Line, OutdoorLine, ReadingLine, VERSION};
use crate::engine::air::{Origin, OutdoorHour, Provenance};
use crate::engine::cure::Reading;
use crate::engine::job::AlertId;
use crate::engine::job::{Entry, EntryId};
use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, clean};
use crate::io::store::{Forecast, ForecastId, KeptReading, Whole};

/// A scheme is one line, and the largest that there is.
const LONGEST: u64 = 8 << 20;

/// Why lines are no job; nothing of them was taken.
#[derive(Debug, thiserror::Error)]
pub enum LineFault {
    /// A line that is not what it should be.
    #[error("line {line}: {what}; nothing was taken")]
    Line {
        /// Which one, from 1.
        line: usize,
        /// What is wrong with it.
        what: String,
    },
    /// The lines cannot be read at all.
    #[error("cannot be read: {0}; nothing was taken")]
    Unreadable(#[from] io::Error),
}

/// Reads the lines of a job.
///
/// # Errors
/// [`LineFault`] with the first line that is wrong, and what is wrong with it.
pub fn read_lines(mut text: impl BufRead) -> Result<Whole, LineFault> {
    let mut reading = ReadingIn::default();
    let mut bytes = Vec::new();
    loop {
        bytes.clear();
        let got = text.by_ref().take(LONGEST + 1).read_until(b'\n', &mut bytes)?;
        if got == 0 {
            break;
        }
        reading.line += 1;
        if got as u64 > LONGEST {
            return Err(reading.fault("longer than any line of a job"));
        }
        if !bytes.iter().all(u8::is_ascii_whitespace) {
            reading.take(&bytes)?;
        }
    }
    match reading.ended {
        true => Ok(reading.whole),
        false => Err(reading.fault("the file ends before the job does; it was cut off")),
    }
}

/// What has been read so far.
#[derive(Default)]
struct ReadingIn {
    line: usize,
    begun: bool,
    ended: bool,
    whole: Whole,
    entries: BTreeSet<EntryId>,
    forecasts: BTreeSet<ForecastId>,
    alerts: BTreeSet<AlertId>,
    raised: BTreeSet<(&'static str, String, u32)>,
}

impl ReadingIn {
    fn fault(&self, what: impl Into<String>) -> LineFault {
        LineFault::Line { line: self.line.max(1), what: what.into() }
    }

    fn take(&mut self, bytes: &[u8]) -> Result<(), LineFault> {
        let line = self.parse(bytes)?;
        if self.ended {
            return Err(self.fault("the job has ended before this line"));
        }
        let wrong = match line {
            Line::Job(head) if !self.begun => return self.begin(&head),
            Line::Job(_) => Some("a second job begins"),
            _ if !self.begun => Some("this is no job: its first line is no head"),
            Line::Entry(line) => self.entry(line),
            Line::Reading(line) => self.reading(line),
            Line::Forecast(line) => self.forecast(line),
            Line::Outdoor(line) => self.outdoor(line),
            Line::Alert(line) => self.alert(line),
            Line::Window(window) if !self.entries.contains(&window.coat) => {
                Some("the window of an unknown coat")
            }
            Line::Window(window) => {
                self.whole.windows.push(window);
                None
            }
            Line::End(end) if end.lines != self.line => {
                let what = format!("the job has {} lines, and this is line {}", end.lines, self.line);
                return Err(self.fault(what));
            }
            Line::End(_) => {
                self.ended = true;
                None
            }
        };
        wrong.map_or(Ok(()), |what| Err(self.fault(what)))
    }

    fn parse(&self, bytes: &[u8]) -> Result<Line, LineFault> {
        serde_json::from_slice(bytes.trim_ascii()).map_err(|error| {
            if !self.begun {
                return self.fault("this is no job: its first line is no head");
            }
            // The line within the line says nothing.
            let what = error.to_string().replace(" at line 1 column ", ", at column ");
            self.fault(clean(&what))
        })
    }

    fn begin(&mut self, head: &Head) -> Result<(), LineFault> {
        if head.version > VERSION {
            let (found, known) = (head.version, VERSION);
            return Err(self.fault(format!(
                "written by a newer curewright (lines of version {found}, this one knows {known}); update curewright"
            )));
        }
        self.begun = true;
        Ok(())
    }

    fn entry(&mut self, line: EntryLine) -> Option<&'static str> {
        let EntryLine { id, at, recorded, body } = line;
        if id.0 < 1 || self.whole.entries.last().is_some_and(|before| before.id >= id) {
            return Some("the numbers of entries have to rise");
        }
        self.entries.insert(id);
        self.whole.entries.push(Entry { id, at, recorded, kind: body });
        None
    }

    fn reading(&mut self, line: ReadingLine) -> Option<&'static str> {
        if line.entry.is_some_and(|entry| !self.entries.contains(&entry)) {
            return Some("a reading of an unknown entry");
        }
        let number = |degrees: f64| degrees.is_finite() && degrees.abs() < 1e6;
        if !number(line.air_c) || line.surface_c.is_some_and(|degrees| !number(degrees)) {
            return Some("a temperature that no air has");
        }
        let humidity = line.humidity_percent.map(Humidity::from_percent).transpose();
        let Ok(humidity) = humidity else { return Some("a humidity outside of 0…100 %") };
        // As it is kept: in hundredths of a per cent.
        let kept = |humidity: Humidity| Humidity::from_fraction((humidity.percent() * 100.0).round() / 1e4);
        let reading = Reading {
            at: line.at,
            air: Celsius::new(line.air_c),
            humidity: humidity.map(kept),
            surface: line.surface_c.map(Celsius::new),
        };
        self.whole.readings.push(KeptReading { place: line.place, reading, entry: line.entry });
        None
    }

    fn forecast(&mut self, line: ForecastLine) -> Option<&'static str> {
        let origin = match (line.file, line.service) {
            (Some(file), None) => Origin::File(file),
            (None, Some(service)) => Origin::Service(service),
            _ => return Some("a forecast is from a file or from a service"),
        };
        if !self.forecasts.insert(line.id) {
            return Some("two forecasts of one number");
        }
        let provenance = Provenance { origin, made: line.made, met_norway: line.met_norway };
        self.whole.forecasts.push(Forecast { id: line.id, taken: line.taken, provenance });
        None
    }

    fn outdoor(&mut self, line: OutdoorLine) -> Option<&'static str> {
        if !self.forecasts.contains(&line.forecast) {
            return Some("an hour of an unknown forecast");
        }
        let some = |value: Option<f64>| value.is_none_or(|value| (0.0..=1e6).contains(&value));
        let humidity = line.humidity_fraction;
        let well = humidity.is_none_or(|fraction| (0.0..=1.0).contains(&fraction));
        let well = well && some(line.rain_mm) && some(line.wind_m_per_s);
        if !well || Celsius::new(line.air_c).plausible().is_err() {
            return Some("an outdoor hour with a figure that is none");
        }
        if self.whole.outdoor.last().is_some_and(|(before, _)| before.at >= line.at) {
            return Some("outdoor hours have to be in order of time");
        }
        let hour = OutdoorHour {
            at: line.at,
            air: Celsius::new(line.air_c),
            humidity: humidity.map(Humidity::from_fraction),
            rain: line.rain_mm.map(Millimetres::new),
            wind: line.wind_m_per_s.map(MetresPerSecond::new),
        };
        self.whole.outdoor.push((hour, line.forecast));
        None
    }

    fn alert(&mut self, line: AlertLine) -> Option<&'static str> {
        let raised = (line.kind.key(), line.subject.clone(), line.round);
        if !self.alerts.insert(line.id) || !self.raised.insert(raised) {
            return Some("an alert that was there before");
        }
        let mut channels: Vec<_> = line.sent.iter().map(|sent| sent.channel).collect();
        channels.sort_unstable();
        if channels.windows(2).any(|two| two[0] == two[1]) {
            return Some("an alert that one channel took twice");
        }
        let (alert, sent) = line.into_alert();
        self.whole.alerts.push(alert);
        self.whole.deliveries.extend(sent);
        None
    }
}

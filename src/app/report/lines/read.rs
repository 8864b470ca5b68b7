//! The lines of a job, read back: each is held against what came before it.

use std::collections::BTreeSet;
use std::io::{self, BufRead, Read};

use super::{AlertLine, EntryLine, ForecastLine, Head, Line, OutdoorLine, ReadingLine, VERSION};
use crate::engine::air::{Origin, OutdoorHour, Provenance};
use crate::engine::cure::Reading;
use crate::engine::job::gate::{self, Improper};
use crate::engine::job::{AlertId, Entry, EntryId, EntryKind, ReportedWindow, Scheme};
use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, clean};
use crate::io::store::{Forecast, ForecastId, KeptReading, Whole};

/// A scheme is one line, and the largest that there is.
const LONGEST: u64 = 8 << 20;

/// Why lines are no job; nothing of them was taken.
#[derive(Debug, thiserror::Error)]
pub enum LineFault {
    /// A line that is not what it should be.
    #[error("line {line}: {what}; nothing was imported")]
    Line {
        /// Which one, from 1.
        line: usize,
        /// What is wrong with it.
        what: String,
    },
    /// The lines cannot be read at all.
    #[error("cannot be read: {0}; nothing was imported")]
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
        false => Err(reading.fault("the file ends before the job does; part of it is missing")),
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
        let taken = match line {
            Line::Job(head) if !self.begun => return self.begin(&head),
            Line::Job(_) => wrong("a second job starts"),
            _ if !self.begun => wrong("this is not a job: its first line is not a header"),
            Line::Entry(line) => self.entry(line),
            Line::Reading(line) => self.reading(line),
            Line::Forecast(line) => self.forecast(line),
            Line::Outdoor(line) => self.outdoor(line),
            Line::Alert(line) => self.alert(line),
            Line::Window(window) => self.window(window),
            Line::End(end) if end.lines != self.line => {
                Err(Wrong(format!("the job has {} lines, and this is line {}", end.lines, self.line)))
            }
            Line::End(_) => {
                self.ended = true;
                Ok(())
            }
        };
        taken.map_err(|Wrong(what)| self.fault(what))
    }

    fn parse(&self, bytes: &[u8]) -> Result<Line, LineFault> {
        serde_json::from_slice(bytes.trim_ascii()).map_err(|error| {
            if !self.begun {
                return self.fault("this is not a job: its first line is not a header");
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

    fn entry(&mut self, line: EntryLine) -> Taken {
        let EntryLine { id, at, recorded, body } = line;
        if self.whole.entries.last().is_some_and(|before| before.id >= id) {
            return wrong("the numbers of entries must rise");
        }
        let entry = Entry { id, at, recorded, kind: body };
        entry.check()?;
        if let EntryKind::Scheme { text } = &entry.kind {
            Scheme::read(text).map_err(|error| Wrong(format!("the scheme: {error}")))?;
        }
        self.entries.insert(id);
        self.whole.entries.push(entry);
        Ok(())
    }

    fn reading(&mut self, line: ReadingLine) -> Taken {
        if line.entry.is_some_and(|entry| !self.entries.contains(&entry)) {
            return wrong("a reading of an unknown entry");
        }
        gate::name("place", &line.place)?;
        // As it is kept: in hundredths of a per cent.
        let kept = |percent: f64| Humidity::from_fraction((percent * 100.0).round() / 1e4);
        let reading = Reading {
            at: line.at,
            air: Celsius::new(line.air_c),
            humidity: line.humidity_percent.map(kept),
            surface: line.surface_c.map(Celsius::new),
        };
        reading.check()?;
        self.whole.readings.push(KeptReading { place: line.place, reading, entry: line.entry });
        Ok(())
    }

    fn forecast(&mut self, line: ForecastLine) -> Taken {
        let origin = match (line.file, line.service) {
            (Some(file), None) => Origin::File(file),
            (None, Some(service)) => Origin::Service(service),
            _ => return wrong("a forecast is from a file or from a service"),
        };
        let (Origin::File(name) | Origin::Service(name)) = &origin;
        gate::name("forecast", name)?;
        gate::number("the forecast", line.id)?;
        [line.taken].into_iter().chain(line.made).try_for_each(|at| gate::moment("the forecast", at))?;
        if !self.forecasts.insert(line.id) {
            return wrong("two forecasts of one number");
        }
        let provenance = Provenance { origin, made: line.made, met_norway: line.met_norway };
        self.whole.forecasts.push(Forecast { id: line.id, taken: line.taken, provenance });
        Ok(())
    }

    fn outdoor(&mut self, line: OutdoorLine) -> Taken {
        if !self.forecasts.contains(&line.forecast) {
            return wrong("an hour of an unknown forecast");
        }
        let some = |value: Option<f64>| value.is_none_or(|value| (0.0..=1e6).contains(&value));
        let humidity = line.humidity_fraction;
        let well = humidity.is_none_or(|fraction| (0.0..=1.0).contains(&fraction));
        let well = well && some(line.rain_mm) && some(line.wind_m_per_s);
        if !well || Celsius::new(line.air_c).plausible().is_err() {
            return wrong("an outdoor hour with an invalid number");
        }
        gate::moment("the outdoor hour", line.at)?;
        if self.whole.outdoor.last().is_some_and(|(before, _)| before.at >= line.at) {
            return wrong("outdoor hours must be in order of time");
        }
        let hour = OutdoorHour {
            at: line.at,
            air: Celsius::new(line.air_c),
            humidity: humidity.map(Humidity::from_fraction),
            rain: line.rain_mm.map(Millimetres::new),
            wind: line.wind_m_per_s.map(MetresPerSecond::new),
        };
        self.whole.outdoor.push((hour, line.forecast));
        Ok(())
    }

    fn alert(&mut self, line: AlertLine) -> Taken {
        let raised = (line.kind.key(), line.subject.clone(), line.round);
        if !self.alerts.insert(line.id) || !self.raised.insert(raised) {
            return wrong("an alert that already exists");
        }
        let mut channels: Vec<_> = line.sent.iter().map(|sent| sent.channel).collect();
        channels.sort_unstable();
        if channels.windows(2).any(|two| two[0] == two[1]) {
            return wrong("an alert that one channel has twice");
        }
        let (alert, sent) = line.into_alert();
        alert.check()?;
        sent.iter().try_for_each(|delivery| delivery.check())?;
        self.whole.alerts.push(alert);
        self.whole.deliveries.extend(sent);
        Ok(())
    }

    fn window(&mut self, window: ReportedWindow) -> Taken {
        if !self.entries.contains(&window.coat) {
            return wrong("the window of an unknown coat");
        }
        window.open.into_iter().chain(window.close).try_for_each(|at| gate::moment("the window", at))?;
        self.whole.windows.push(window);
        Ok(())
    }
}

/// What is wrong with a line.
struct Wrong(String);

type Taken = Result<(), Wrong>;

fn wrong(what: &str) -> Taken {
    Err(Wrong(what.to_owned()))
}

impl From<Improper> for Wrong {
    fn from(improper: Improper) -> Self {
        Self(improper.to_string())
    }
}

//! A person's free hours: settings and scheme, less the events of their calendars.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::{Session, SessionError};
use crate::engine::hours::{FreeHours, PlanProgress, Stretch, without};
use crate::engine::units::clean;
use crate::io::sources::{CALENDAR_LIMIT, CalendarFile, RowFault, read_calendar};

/// The free hours of a span, and their origin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FreeTimes {
    /// The hours from the settings and the scheme.
    pub hours: FreeHours,
    /// The span.
    pub span: Stretch,
    /// The stated hours of the span.
    pub stated: Vec<Stretch>,
    /// What is left of them: ascending and disjoint.
    pub free: Vec<Stretch>,
    /// The subtracted events.
    pub taken: Vec<PlanProgress>,
    /// The calendar files.
    pub calendars: Vec<ReadCalendar>,
}

/// A calendar file and its faults.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadCalendar {
    /// The file as it was named.
    pub file: String,
    /// How many events it has.
    pub events: usize,
    /// Its faults.
    pub faults: Vec<RowFault>,
    /// How many of these there are in all.
    pub bad: usize,
    /// Why it could not be read at all.
    pub error: Option<String>,
}

impl FreeTimes {
    /// Whether a calendar could not be read, so that more time may be busy.
    pub fn lacks_a_calendar(&self) -> bool {
        self.calendars.iter().any(|calendar| calendar.error.is_some())
    }
}

impl Session<'_> {
    /// The free hours of a span. A calendar that cannot be read does not hide the hours: see
    /// [`FreeTimes::calendars`].
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn free_times(&self, span: Stretch) -> Result<FreeTimes, SessionError> {
        self.free_times_for(&self.job(self.now())?.free, span)
    }

    /// The free hours of a span, with those of a scheme.
    ///
    /// # Errors
    /// As [`Session::free_times`].
    pub fn free_times_for(&self, scheme: &FreeHours, span: Stretch) -> Result<FreeTimes, SessionError> {
        let hours = self.config.free.clone().under(scheme);
        let stated = hours.over(span.0, span.1, &self.words.civil);
        let (mut busy, mut calendars) = (Vec::new(), Vec::new());
        for file in &hours.busy {
            let mut calendar =
                ReadCalendar { file: clean(file), events: 0, faults: Vec::new(), bad: 0, error: None };
            match self.calendar(file, span) {
                Ok(mut read) => {
                    busy.append(&mut read.busy);
                    (calendar.events, calendar.bad) = (read.events, read.bad);
                    calendar.faults = read.faults;
                }
                Err(error) => calendar.error = Some(error),
            }
            calendars.push(calendar);
        }
        let (free, taken) = without(&stated, busy);
        Ok(FreeTimes { hours, span, stated, free, taken, calendars })
    }

    fn calendar(&self, file: &str, span: Stretch) -> Result<CalendarFile, String> {
        let path = at_home(file)?;
        let bytes = read(&path).map_err(|error| format!("it cannot be read: {error}"))?;
        let name = path.file_name().map(|name| clean(&name.to_string_lossy())).unwrap_or_default();
        read_calendar(&bytes, &name, span, &self.words.civil).map_err(|error| error.to_string())
    }
}

/// A path as written, with "~/" for the home directory.
pub(super) fn at_home(file: &str) -> Result<PathBuf, String> {
    let Some(rest) = file.strip_prefix("~/") else { return Ok(PathBuf::from(file)) };
    let home =
        etcetera::home_dir().map_err(|error| format!("no home folder is known ({error}); set HOME"))?;
    Ok(home.join(rest))
}

/// The bytes of a calendar file; one byte more than is read of any, to detect a larger one.
fn read(path: &Path) -> io::Result<Vec<u8>> {
    // A special file may block or never end.
    if !path.metadata()?.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "it is not a file"));
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(CALENDAR_LIMIT as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

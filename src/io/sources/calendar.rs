//! A person's busy times from a calendar file (iCalendar, RFC 5545).
//!
//! An invalid event does not affect the others; it is reported with its line and the fault. Everything is
//! bounded: rules are expanded inside the requested span and within a budget.

mod blocks;
mod event;
mod moments;
mod repeat;
mod zone;

use std::collections::BTreeMap;

use super::RowFault;
use crate::engine::hours::{OWN_EVENTS, PlanProgress, Stretch};
use crate::engine::units::Civil;
use blocks::{Block, Blocks, Kind};
use event::Event;
use moments::{Span, busy_times};
use repeat::Budget;
use zone::Zones;

/// Larger files are not read.
pub const CALENDAR_LIMIT: usize = 10 << 20;
/// The most repetitions of all rules of a file.
const REPETITIONS: usize = 1_000_000;
/// The most faults that are kept.
const FAULTS: usize = 1000;

/// The events of a calendar file in a span.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CalendarFile {
    /// The busy times that overlap the span, ascending; they may overlap each other.
    pub busy: Vec<PlanProgress>,
    /// The number of events, at any time.
    pub events: usize,
    /// The faults, in the order of the file.
    pub faults: Vec<RowFault>,
    /// Their total number.
    pub bad: usize,
}

/// Why a file cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CalendarError {
    /// The file is too large.
    #[error("it is larger than 10 MB, too large for a calendar; export less of it")]
    TooLarge,
    /// It is not a calendar.
    #[error("it is not a calendar; a calendar file (.ics) starts with BEGIN:VCALENDAR")]
    NoCalendar,
    /// It is UTF-16.
    #[error("it is in UTF-16; save it as UTF-8")]
    Utf16,
}

/// Reads the busy times of a span. Times without a zone are those of `civil`; `source` names the file in the
/// result.
///
/// # Errors
/// [`CalendarError`] if it is not a calendar. Invalid events are not an error: see [`CalendarFile::faults`].
pub fn read_calendar(
    bytes: &[u8],
    source: &str,
    span: Stretch,
    civil: &Civil,
) -> Result<CalendarFile, CalendarError> {
    if bytes.len() > CALENDAR_LIMIT {
        return Err(CalendarError::TooLarge);
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(CalendarError::Utf16);
    }
    let text = String::from_utf8_lossy(bytes);
    let blocks = Blocks::of(&text).ok_or(CalendarError::NoCalendar)?;
    let mut faults = Faults { kept: Vec::new(), all: 0 };
    for (line, what) in blocks.faults {
        faults.add(line, what);
    }
    let span = Span::new(span);
    let mut budget = Budget::new(REPETITIONS);
    let zone_blocks = blocks.found.iter().filter(|block| block.kind == Kind::Zone);
    let zones = Zones::read(zone_blocks, civil, &span, &mut budget, &mut faults);
    let mut file = CalendarFile::default();
    let mut by_identity: BTreeMap<String, Vec<Event>> = BTreeMap::new();
    for block in &blocks.found {
        match block.kind {
            Kind::Zone => {}
            Kind::FreeBusy => {
                file.events += 1;
                file.busy.extend(event::free_busy(block, &zones, &span, source, &mut faults));
            }
            Kind::Event => {
                file.events += 1;
                if let Some(event) = event_of(block, &zones, &mut faults) {
                    by_identity.entry(event.identity.clone()).or_default().push(event);
                }
            }
        }
    }
    for events in by_identity.values() {
        busy_times(events, &span, source, &mut budget, &mut faults, &mut file.busy);
    }
    file.busy.sort();
    faults.kept.sort_by_key(|fault| fault.line);
    (file.faults, file.bad) = (faults.kept, faults.all);
    Ok(file)
}

/// The event of a block; None if it is invalid, which is reported, or one of this program's own.
fn event_of(block: &Block<'_>, zones: &Zones, faults: &mut Faults) -> Option<Event> {
    match Event::read(block, zones, faults) {
        Ok(event) if event.identity.ends_with(OWN_EVENTS) => None,
        Ok(event) => Some(event),
        Err((line, what)) => {
            faults.add(line, format!("{what}. It is ignored."));
            None
        }
    }
}

/// The faults.
struct Faults {
    kept: Vec<RowFault>,
    all: usize,
}

impl Faults {
    /// Counts a fault; line and text are only looked up if it is kept.
    fn add_with(&mut self, told: impl FnOnce() -> (usize, String)) {
        match self.kept.len() < FAULTS {
            true => {
                let (line, what) = told();
                self.add(line, what);
            }
            false => self.all += 1,
        }
    }

    fn add(&mut self, line: usize, what: String) {
        self.all += 1;
        if self.kept.len() < FAULTS {
            self.kept.push(RowFault { line, what });
        }
    }
}

#[cfg(test)]
mod tests;

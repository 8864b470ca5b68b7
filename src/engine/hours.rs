//! A person's free hours: weekly hours, exceptions by date and busy times, as plain data.
//!
//! This room knows civil time, but no jobs, files or clock. It is given the time span and the busy times.

mod clock;
mod expand;
mod subtract;
mod table;
mod text;

use chrono::{NaiveDate, Weekday};

pub use clock::DaySpan;
pub use expand::day_begins;
pub use subtract::{PlanProgress, without};
pub use table::{HoursError, RawFree};
pub(crate) use table::{is_whole_path, place_in};

use crate::engine::units::Moment;

/// End of the UIDs of events that this program writes into calendars. In a person's calendar file they do not
/// count as busy.
pub const OWN_EVENTS: &str = "@curewright";

/// A half-open interval [from, to).
pub type Stretch = (Moment, Moment);

/// Hours that come again every week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weekly {
    /// The days, from Monday.
    days: [bool; 7],
    /// From when to when.
    span: DaySpan,
}

impl Weekly {
    /// Whether they come on this day of the week.
    pub fn is_on(&self, day: Weekday) -> bool {
        self.days.get(day.num_days_from_monday() as usize).copied().unwrap_or(false)
    }

    /// From when to when.
    pub const fn span(&self) -> DaySpan {
        self.span
    }
}

/// One or more days that differ from their weekday.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exception {
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
    /// The free hours of each day; empty if the person is not free at all.
    pub spans: Vec<DaySpan>,
    /// As written.
    pub said: String,
}

/// A person's settings of their free hours.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FreeHours {
    /// Every week's hours; None if not set.
    pub weekly: Option<Vec<Weekly>>,
    /// The exceptions; of two for the same day the later one counts.
    pub except: Vec<Exception>,
    /// The calendar files with the busy times.
    pub busy: Vec<String>,
}

impl FreeHours {
    /// These hours with those of a scheme added: the scheme's weekly hours replace these, its exceptions and
    /// calendars are added.
    #[must_use]
    pub fn under(mut self, scheme: &Self) -> Self {
        if scheme.weekly.is_some() {
            self.weekly.clone_from(&scheme.weekly);
        }
        self.except.extend(scheme.except.iter().cloned());
        for file in &scheme.busy {
            if !self.busy.contains(file) {
                self.busy.push(file.clone());
            }
        }
        self
    }

    /// Whether any hours are set, so that there is something to expand.
    pub fn names_hours(&self) -> bool {
        self.weekly.as_ref().is_some_and(|weekly| !weekly.is_empty())
            || self.except.iter().any(|exception| !exception.spans.is_empty())
    }

    /// The free hours of a day in local time, and the exception that sets them.
    pub fn on(&self, date: NaiveDate) -> (Vec<DaySpan>, Option<&Exception>) {
        let exception =
            self.except.iter().rev().find(|exception| (exception.from..=exception.to).contains(&date));
        if let Some(exception) = exception {
            return (exception.spans.clone(), Some(exception));
        }
        let weekly =
            self.weekly.iter().flatten().filter(|weekly| weekly.is_on(chrono::Datelike::weekday(&date)));
        (weekly.map(Weekly::span).collect(), None)
    }
}

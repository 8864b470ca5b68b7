//! When a person is free: weekly hours as people write them, exceptions by date, and what keeps them busy; as
//! plain data.
//!
//! This room knows civil time and nothing of jobs, files or the clock: it is given the span that is asked
//! about, and the busy times that were read elsewhere.

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

/// How the identities of events end that this program itself writes into calendars. They come back in a
/// person's calendar file, and keep nobody busy with anything else.
pub const OWN_EVENTS: &str = "@curewright";

/// From one moment to another, the second not part of it.
pub type Stretch = (Moment, Moment);

/// Hours that come again every week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weekly {
    /// On which days, from Monday.
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

/// A day, or several, that are not like their weekday.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exception {
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub to: NaiveDate,
    /// The free hours of each of them; none where the person is not free at all.
    pub spans: Vec<DaySpan>,
    /// As it was written.
    pub said: String,
}

/// What a person has said of their free hours.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FreeHours {
    /// Every week's hours; None where nothing was said.
    pub weekly: Option<Vec<Weekly>>,
    /// The exceptions; of two for the same day the later one counts.
    pub except: Vec<Exception>,
    /// The calendar files that say when the person is busy.
    pub busy: Vec<String>,
}

impl FreeHours {
    /// These hours with those of a scheme laid over them: its weekly hours count instead, its exceptions and
    /// its calendars count too.
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

    /// Whether any hour was named, so that there is something to expand.
    pub fn names_hours(&self) -> bool {
        self.weekly.as_ref().is_some_and(|weekly| !weekly.is_empty())
            || self.except.iter().any(|exception| !exception.spans.is_empty())
    }

    /// The free hours of a day, as the wall clock shows them, and the exception that gives them.
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

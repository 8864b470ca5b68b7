//! Calendars that others write, against the recurrences that the standard and other people's code give.

#[path = "calendar/reference.rs"]
mod reference;

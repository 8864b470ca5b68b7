//! The record of one project: entries, and the state they fold to.
//!
//! An entry is never altered; a later entry voids it. Everything shown is a function of the entries, so
//! that voiding one restores what was before it. This room knows no clock, no file and no terminal.

mod alert;
mod change;
mod correction;
mod departure;
mod entry;
mod fold;
pub mod gate;
mod hours;
mod pace;
mod scheme;
mod state;
mod step;

pub use alert::{
    Alert, AlertId, AlertKind, CLOCK_SLACK, Channel, Delivery, NewAlert, Raising, ReportedWindow,
    clock_was_ahead,
};
pub use change::{Change, ChangeError, Detail, minutes};
pub use correction::{Corrections, voided};
pub use departure::Departure;
pub use entry::{Amount, Entry, EntryId, EntryKind, StepKind, Vessel};
pub use fold::{Job, Refusal};
pub use hours::{Hours, IN_ONE_GO, Running, Source, Stretch, left_running};
pub use scheme::{Ground, Scheme, SchemeArea, SchemeError, SchemeStep, WetOnWet};
pub use state::{Area, Batch, Coat, Note, Pause, StepDone, Stock, StrippedCoat, WetFilm};

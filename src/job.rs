//! The record of one project: entries, and the state they fold to.
//!
//! An entry is never altered; a later entry voids it. Everything shown is a function of the entries, so
//! that voiding one restores what was before it. This room knows no clock, no file and no terminal.

mod entry;
mod fold;
mod scheme;

pub use entry::{Entry, EntryId, EntryKind, StepKind};
pub use fold::voided;
pub use fold::{Area, Coat, Job, Refusal, StepDone};
pub use scheme::{Scheme, SchemeArea, SchemeError, SchemeStep, WetOnWet};

//! All sentences about a job, made from facts and judgements.
//!
//! It adds no judgement of its own and knows no clock, file or terminal.

mod air;
mod alert;
mod amounts;
mod area;
mod assumptions;
mod batch;
mod check;
mod checklist;
mod costs;
mod objections;
mod plan;
mod scheme;
mod substrate;
mod verdict;
mod words;

pub use air::Wording;
pub use amounts::{AmountsPage, PageLine, count, listed};
pub use area::{Countdown, Rank, Said};
pub use assumptions::NO_READING;
pub use check::{Check, Reason};
pub use checklist::{Checklist, ChecklistPart};
pub use verdict::OLD_PAINT;
pub use words::{Words, money_text, ordinal_coat, sentence, the, uncapital};

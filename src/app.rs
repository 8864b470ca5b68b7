//! One person at work on a job: what is said, shown and reported, and what commands and keys do.
pub mod json;
pub mod report;
pub mod session;
pub mod view;
pub mod wording;

//! One person at work on a job: what is said, shown and reported, and what commands and keys do.
pub mod alert;
pub mod board;
pub mod export;
pub mod session;

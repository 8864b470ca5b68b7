//! A person at work on a job: what commands and keys do, in one place for both.

mod order;

pub use order::{Done, Order};

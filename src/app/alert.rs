//! Which alerts are due: pure rules, given the survey, what was raised and sent before, and `now`.

mod rules;

pub use rules::{Due, Memory, due};

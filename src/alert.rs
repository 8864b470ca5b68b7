//! Alerts: what is told, when, and how it reaches the person.
//!
//! The rules are pure: they are given the survey, what was told before, and `now`. Only the herald
//! touches the desktop.

mod herald;
mod model;
mod rules;

pub use herald::{Herald, HeraldOptions};
pub use model::{Alert, AlertId, AlertKind, NewAlert, Told};
pub use rules::{Due, Memory, due};

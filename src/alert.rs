//! Alerts: what is told, when, and how it reaches the person.
//!
//! The rules are pure: they are given the state, what was told before, and `now`. Only delivery touches
//! the desktop.

mod model;

pub use model::{Alert, AlertId, AlertKind, NewAlert, Told};

//! curewright: a cure-and-recoat timer that follows the shop's temperature.
//!
//! The house has five floors. Each knows only those above it in this list:
//!
//! - [`engine`]: what is true. Pure functions; no clock, no file, no terminal.
//! - [`io`]: files, sensors, services and the desktop's notifications.
//! - [`app`]: one person at work on a job, and how that is worded, shown and reported.
//! - [`tui`]: the board on a terminal.
//! - [`cli`]: the commands.
pub mod app;
pub mod cli;
pub mod engine;
pub mod io;
#[cfg(test)]
mod testing;
pub mod tui;

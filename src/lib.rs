//! curewright: a cure-and-recoat timer that follows the shop's temperature.
pub mod alert;
pub mod amounts;
pub mod board;
pub mod cli;
pub mod climate;
pub mod config;
pub mod cure;
pub mod export;
pub mod hours;
pub mod job;
pub mod plan;
pub mod pot;
pub mod profile;
pub mod session;
pub mod sources;
pub mod store;
#[cfg(test)]
mod testing;
pub mod tui;
pub mod units;
pub mod weather;

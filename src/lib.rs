//! curewright: a cure-and-recoat timer that follows the shop's temperature.
pub mod alert;
pub mod config;
pub mod cure;
pub mod job;
pub mod profile;
pub mod units;

//! curewright: a cure-and-recoat timer that follows the shop's temperature.
pub mod cure;
pub mod profile;
pub mod units;

//! What is true of a job: quantities, products, cure, air, amounts, plans. Pure functions, given `now`.
pub mod air;
pub mod amounts;
pub mod assess;
pub mod config;
pub mod cure;
pub mod hours;
pub mod job;
pub mod plan;
pub mod pot;
pub mod profile;
pub mod units;

//! The cure engine: how far a film has cured, when it reaches each stage, and how certain that is.
//!
//! Inputs are `now`, the time tables and the readings. This room knows no clock, file, terminal or weather; the
//! forecast reaches it as an [`Outlook`].
//!
//! Progress is p(t) = ∫ h(RH(τ)) / t_table(T(τ)) dτ from a start; a stage is reached where p = 1. For a table
//! of one point this is the temperature-adjusted age of EN 1992-1-1 Annex B and the equivalent age of ASTM
//! C1074, divided by the table's time.

mod air_line;
mod course;
mod history;
mod outlook;
mod standing;

pub use air_line::{AirLine, AirSegment};
pub use course::{Bound, Course, Law};
pub use history::{History, Reading};
pub use outlook::{ForecastPoint, Outlook};
pub use standing::{CoatFacts, Phase, StageTimes, Standing, last_call};

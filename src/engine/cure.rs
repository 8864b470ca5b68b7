//! The cure engine: how far a film has come, when it gets where, and how sure that is.
//!
//! This room is given `now`, the tables and the readings. It knows no clock, no file, no terminal and
//! no weather; what the future is expected to bring reaches it as an [`Outlook`].
//!
//! Progress is p(t) = ∫ h(RH(τ)) / t_table(T(τ)) dτ from a start point; the moment is where p = 1. For a
//! table of one point this is the temperature-adjusted age of EN 1992-1-1 Annex B and the equivalent age
//! of ASTM C1074, divided by the time of the table.

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

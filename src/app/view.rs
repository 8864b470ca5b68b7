//! The content of screens and pages, as plain data.
//!
//! It knows no terminal, clock or files.

mod air_line;
mod axis;
mod bands;
mod board;
mod plan;
mod pot_ribbon;
mod record;
mod weather;

pub use air_line::AirLine;
pub use axis::Axis;
pub use bands::{Band, Mark, MarkKind, area_bands, marks};
pub use board::{Banner, NextThing, Ribbon, View};
pub use plan::{PlanDay, PlanEntry, PlanEntryKind, PlanLine, PlanShown, PlanView};
pub use pot_ribbon::{PotBand, PotPhase, PotRibbon};
pub use record::{CoatView, RecordLine, RecordView};
pub use weather::{AHEAD, BEFORE, Sample, Stretch, WeatherView};

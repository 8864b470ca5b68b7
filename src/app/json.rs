//! The `--json` output of the commands. The keys are a contract.
//!
//! It contains facts, and sentences only where a key holds one.

mod amounts;
mod film;
mod plain;
mod status;

pub use amounts::{parts_json, quantities_json, stock_json};
pub use film::{FilmStatus, WetOnWetStatus};
pub use plain::{write_line, write_pretty};
pub use status::{AirStatus, AlertStatus, BatchStatus, CoatStatus, StageStatus, Status, UsableStatus};

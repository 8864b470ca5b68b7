//! What the person is to see, as plain data: the survey of a job at a moment, and its view in words.
//!
//! The screen, the status text and the alerts are all drawn from here, so that they cannot contradict
//! each other. This room knows no terminal, no clock and no files.

mod air;
mod amounts;
mod bands;
mod fitness;
mod grounds;
mod sentence;
mod sky;
mod status;
mod survey;
mod view;
mod weather;
mod words;

pub use air::PlaceAir;
pub use amounts::{AmountsPage, PageLine, quantities_json, stock_json};
pub use bands::{Band, Mark, MarkKind};
pub use fitness::{Fitness, Reason, Verdict};
pub use sky::Sky;
pub use status::{AirStatus, AlertStatus, CoatStatus, StageStatus, Status};
pub use survey::{AreaSurvey, CoatSurvey, Readings, Survey, SurveyOptions};
pub use view::{AirLine, Axis, Banner, Countdown, NextThing, Ribbon, View};
pub use weather::{Sample, Stretch, WeatherView};
pub use words::{Words, ordinal_coat};

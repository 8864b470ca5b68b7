//! What the person is to see, as plain data: the survey of a job at a moment, and its view in words.
//!
//! The screen, the status text and the alerts are all drawn from here, so that they cannot contradict
//! each other. This room knows no terminal, no clock and no files.

mod air;
mod bands;
mod fitness;
mod grounds;
mod learned;
mod ledger;
mod record;
mod sentence;
mod sky;
mod status;
mod survey;
mod trace;
mod view;
mod weather;
mod words;

pub use air::PlaceAir;
pub use bands::{Band, Mark, MarkKind};
pub use fitness::{Fitness, Reason, Verdict};
pub use learned::{Learned, Pace, PlaceLearned, WindowLearned};
pub use ledger::{AreaHours, HoursReport, MoneyReport, Purchase};
pub use record::{CoatView, RecordLine, RecordView, money_text};
pub use sky::Sky;
pub use status::{AirStatus, AlertStatus, CoatStatus, StageStatus, Status};
pub use survey::{AreaSurvey, CoatSurvey, Readings, Survey, SurveyOptions};
pub use trace::{AirSample, CoatTrace, TraceSample};
pub use view::{AirLine, Axis, Banner, Countdown, NextThing, Ribbon, View};
pub use weather::{Sample, Stretch, WeatherView};
pub use words::{Words, ordinal_coat};

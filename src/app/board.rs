//! What the person is to see, as plain data: the survey of a job at a moment, and its view in words.
//!
//! The screen, the status text and the alerts are all drawn from here, so that they cannot contradict
//! each other. This room knows no terminal, no clock and no files.

mod air;
mod air_line;
mod amounts;
mod assumptions;
mod axis;
mod bands;
mod check;
mod film;
mod judgement;
mod learned;
mod ledger;
mod not_listed;
mod objections;
mod planned;
mod pot_ribbon;
mod pot_words;
mod pots;
mod readings;
mod record;
mod sentence;
mod sky;
mod status;
mod substrate;
mod survey;
mod trace;
mod verdict;
mod view;
mod weather;
mod words;

pub use air::PlaceAir;
pub use air_line::AirLine;
pub use amounts::{AmountsPage, PageLine, PotByModel, parts_json, quantities_json, stock_json};
pub use axis::Axis;
pub use bands::{Band, Mark, MarkKind};
pub use check::Check;
pub use film::FilmAir;
pub use judgement::{Fitness, Reason, Verdict};
pub use learned::{Learned, Pace, PlaceLearned, WindowLearned};
pub use ledger::{AreaHours, HoursReport, MoneyReport, Purchase};
pub use planned::{PlanDay, PlanLine, PlanShown, PlanView};
pub use pots::BatchSurvey;
pub use readings::Readings;
pub use record::{CoatView, RecordLine, RecordView, money_text};
pub use sky::Sky;
pub use status::{AirStatus, AlertStatus, BatchStatus, CoatStatus, StageStatus, Status, UsableStatus};
pub use substrate::Substrate;
pub use survey::{AreaSurvey, CoatSurvey, Survey, SurveyOptions, is_outdoors};
pub use trace::{AirSample, CoatTrace, TraceSample};
pub use verdict::Wording;
pub use view::{Banner, Countdown, NextThing, PotBand, PotPhase, PotRibbon, Ribbon, View};
pub use weather::{Sample, Stretch, WeatherView};
pub use words::{Words, ordinal_coat};

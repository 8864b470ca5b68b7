//! The judgement: what a job's facts mean at a moment, as data. Every output uses it.
//!
//! The survey collects each area with its film, air and batches; the judgement says whether a coat may go on.
//! This room has no sentences, and knows no clock, file or terminal.

mod alerts;
mod batches;
mod dust;
mod judgement;
mod learned;
mod ledger;
mod not_allowed;
mod own_hours;
mod place_air;
mod portions;
mod readings;
mod sand_from;
mod sky;
mod substrate;
mod survey;
mod trace;
mod verdict;
mod wet_film;

pub use alerts::{AlertState, Due, Memory, Ring, Shift, WindowEnd, alert_state, due, still_matters};
pub use batches::BatchSurvey;
pub use dust::{Tacky, tacky_beside};
pub use judgement::{Answer, Judgement, SLOTS, task_of};
pub use learned::{Learned, Pace, PlaceLearned, WindowLearned};
pub use ledger::{AreaHours, HoursReport, MoneyReport, Purchase};
pub use not_allowed::{NotAllowed, old_paint_objects, pair_objection};
pub use own_hours::OwnHours;
pub use place_air::PlaceAir;
pub use portions::PotByModel;
pub use readings::Readings;
pub use sand_from::SandFrom;
pub use sky::Sky;
pub use substrate::{Hardening, StepBefore, Substrate};
pub use survey::{AreaSurvey, CoatSurvey, SURFACE_LAG, Survey, SurveyOptions, is_outdoors};
pub use trace::{AirSample, CoatTrace, TraceSample};
pub use verdict::{PRESSING, Verdict};
pub use wet_film::FilmAir;

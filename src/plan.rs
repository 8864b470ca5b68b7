//! The plan: every coat in a free hour, and an honest date for the end.
//!
//! This room is given what is still to do, the free hours, the air and `now`; it knows no clock, no file, no
//! terminal. All times of a film come from the cure engine, all fitness from the climate; what is searched is
//! a problem of whole ticks of five minutes that knows neither.

mod air;
mod area;
mod beyond;
mod bound;
mod drawn;
mod draws;
mod explain;
mod films;
mod fit;
mod free;
mod grid;
mod heat;
mod joint;
mod life;
mod planning;
mod problem;
mod ready;
mod solve;
mod trouble;
mod walk;
mod watch;
mod weave;
mod work;

pub use air::{Expected, PlaceAir};
pub use beyond::{Beyond, Climate, ClimateFrom};
pub use draws::Draws;
pub use explain::{Held, Ready, Step, What};
pub use free::FreeTime;
pub use grid::Grid;
pub use heat::Heating;
pub use planning::{Input, Plan, Planning};
pub use problem::{Chain, Edge, Node, Placed, Problem, Root, Schedule, Tick};
pub use ready::AreaReady;
pub use solve::{Aim, Effort, Progress, Solved, Watch, front, solve};
pub use trouble::{PlanTrouble, SchemeTrouble};
pub use walk::walk;
pub use watch::{Busy, Watcher};
pub use weave::{CoatTask, Follows, Ground, Part, Prep, Stack, Windows, part_of, step_of, weave};
pub use work::{AreaNow, NewestCoat};

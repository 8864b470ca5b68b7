//! The plan: every coat in a free hour, and a reliable date for the end.
//!
//! Inputs are the remaining work, the free hours, the air and `now`; this room knows no clock, file or
//! terminal. The cure engine gives all times of a film, the climate all suitability. The search itself is a
//! problem of integer ticks of five minutes.

mod air;
mod area;
mod bound;
mod changeover;
mod climatology;
mod draws;
mod explain;
mod films;
mod free;
mod grid;
mod heat;
mod improve;
mod infeasible;
mod milestones;
mod obstacle;
mod planning;
mod precedence;
mod problem;
mod progress;
mod reinsert;
mod scenario;
mod search;
mod session;
mod simulate;
mod solve;
mod suitability;
mod verify;
mod work;

pub use air::{Expected, PlaceAir};
pub use climatology::{AirBasis, Climate, ClimateFrom};
pub use draws::Draws;
pub use explain::{Held, Ready, Step, What};
pub use free::FreeTime;
pub use grid::Grid;
pub use heat::Heating;
pub use improve::Figures;
pub use infeasible::{Infeasible, SchemeFault};
pub use milestones::Milestones;
pub use obstacle::Obstacle;
pub use planning::{Input, Plan, Planning};
pub use precedence::{CoatTask, Follows, Ground, Part, Prep, Stack, Windows, build_chain, part_of, step_of};
pub use problem::{Chain, Edge, Node, Placed, Problem, Root, Schedule, Tick};
pub use progress::{PlanProgress, ProgressSink};
pub use session::NextSession;
pub use solve::{Aim, Effort, Progress, Solved, Unsolved, Watch, front, solve};
pub use verify::walk;
pub use work::{AreaNow, NewestCoat};

//! Progress of a plan, reported to a callback that may end it. It knows no clock: the callback decides how
//! often to show it.

use std::ops::ControlFlow;

use crate::engine::units::Moment;

/// The current phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanProgress {
    /// Calculating the windows of the free ticks.
    Preparing {
        /// Ticks done.
        done: usize,
        /// Ticks in all.
        of: usize,
    },
    /// Searching for a better plan.
    Searching {
        /// The best service date so far.
        best: Option<Moment>,
        /// The lower bound of the service date.
        bound: Moment,
    },
    /// Simulating the plan.
    Drawing {
        /// Draws done.
        done: usize,
        /// Draws in all.
        of: usize,
    },
}

/// A progress callback, which may end the run with the best plan so far.
pub type ProgressSink<'w> = dyn FnMut(PlanProgress) -> ControlFlow<()> + 'w;

//! What a plan is busy with, told to whoever waits for it and may end it. It knows no clock: whoever watches
//! decides how often anything is shown.

use std::ops::ControlFlow;

use crate::engine::units::Moment;

/// What a plan is busy with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanProgress {
    /// The windows of so many free ticks are reckoned.
    Preparing {
        /// So many are done.
        done: usize,
        /// So many there are.
        of: usize,
    },
    /// A better plan is sought.
    Searching {
        /// When all is in service by the best one so far.
        best: Option<Moment>,
        /// None can be in service sooner.
        bound: Moment,
    },
    /// The plan is lived through.
    Drawing {
        /// So often already.
        done: usize,
        /// So often it will be.
        of: usize,
    },
}

/// Whoever watches a plan being made, and may end it: with the best so far, where there is one.
pub type ProgressSink<'w> = dyn FnMut(PlanProgress) -> ControlFlow<()> + 'w;

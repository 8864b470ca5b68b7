//! The next session of a plan: the steps of one free stretch.

use super::{Plan, Step};
use crate::engine::hours::Stretch;

/// The next session of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextSession<'a> {
    /// The free time in which its steps lie.
    pub free: Stretch,
    /// Its steps, in order.
    pub steps: &'a [Step],
    /// The first step after it.
    pub after: Option<&'a Step>,
}

impl Plan {
    /// The session of the first step, out of a person's free stretches; None for a plan without steps.
    pub fn next_session(&self, free: &[Stretch]) -> Option<NextSession<'_>> {
        let first = self.steps.first()?;
        let free = *free.iter().find(|(from, to)| (*from..*to).contains(&first.from))?;
        let count = self.steps.iter().take_while(|step| step.from < free.1).count();
        let (steps, later) = self.steps.split_at(count);
        Some(NextSession { free, steps, after: later.first() })
    }
}

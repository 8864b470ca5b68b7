//! Where a coat is not as the scheme says.

use super::Words;
use crate::engine::job::{Departure, SchemeStep};
use crate::engine::units::clean;

impl Words {
    /// "The scheme says varnish-water here, tape first."
    pub fn departure(&self, departure: &Departure) -> String {
        match departure {
            Departure::OneMore => "The scheme has no more coats here: this is one more.".into(),
            Departure::Differs { planned, before } => {
                let steps: Vec<&str> = before.iter().map(noun).collect();
                let first =
                    if steps.is_empty() { String::new() } else { format!(", {} first", steps.join(", ")) };
                format!("The scheme says {} here{first}.", clean(planned))
            }
        }
    }
}

/// A step that comes before a coat.
const fn noun(step: &SchemeStep) -> &'static str {
    match step {
        SchemeStep::Coat { .. } => "a coat",
        SchemeStep::Sand { .. } => "sanding",
        SchemeStep::Wash => "washing",
        SchemeStep::Tape { on: true } => "tape",
        SchemeStep::Tape { on: false } => "the tape off",
    }
}

//! What a person can have done, as plain data: a command and a key make the same order.

use crate::alert::AlertId;
use crate::job::{Amount, EntryId, StepKind};
use crate::units::{Celsius, Humidity, Micrometres, Money};

/// Something to be recorded.
#[derive(Debug, Clone, PartialEq)]
pub enum Order {
    /// The first stroke of a coat.
    Coat {
        /// The area; a new name makes a new area.
        area: String,
        /// The product; None: as the scheme says, else the last coat's.
        product: Option<String>,
        /// What goes on after it; None: as the scheme says, else the same.
        next: Option<String>,
        /// Whether this was the last stroke too.
        finished: bool,
    },
    /// The last stroke.
    Finish {
        /// The area; None: the one being coated, where there is one only.
        area: Option<String>,
    },
    /// Another step.
    Step {
        /// The area.
        area: String,
        /// Which step.
        step: StepKind,
        /// How long it took.
        minutes: Option<u32>,
    },
    /// A reading.
    Reading {
        /// The place; None: the first of the job.
        place: Option<String>,
        /// The air.
        air: Celsius,
        /// Relative humidity.
        humidity: Option<Humidity>,
        /// The surface.
        surface: Option<Celsius>,
    },
    /// A wet film was measured on the newest coat of an area.
    WetFilm {
        /// The area.
        area: String,
        /// What the comb showed, spot by spot.
        spots: Vec<Micrometres>,
        /// Whether it is right though it is out of all proportion.
        sure: bool,
    },
    /// Material came into the shop.
    Stock {
        /// The product.
        product: String,
        /// How much.
        amount: Amount,
        /// What it cost.
        price: Option<Money>,
        /// The number on the tin.
        lot: Option<String>,
        /// Whether it is right though it is out of all proportion.
        sure: bool,
    },
    /// An entry no longer counts.
    Undo {
        /// Which one; None: the last.
        entry: Option<EntryId>,
    },
    /// An alert was seen.
    Acknowledge {
        /// Which one; None: all.
        alert: Option<AlertId>,
    },
}

/// What was done.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Done {
    /// What was recorded, in a sentence, and what follows from it.
    pub says: String,
    /// What can hurt here, a sentence each.
    pub cautions: Vec<String>,
}

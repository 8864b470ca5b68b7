//! Orders as plain data: a command and a key make the same order.

use std::path::PathBuf;

use super::SessionError;
use crate::engine::job::AlertId;
use crate::engine::job::{Amount, Change, EntryId, StepKind, Vessel};
use crate::engine::units::{Celsius, Grams, Humidity, Micrometres, Money};

/// A batch, as it is to be mixed.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixing {
    /// The product.
    pub product: String,
    /// All parts together.
    pub mass: Grams,
    /// What it stands in.
    pub vessel: Vessel,
    /// How warm the parts are; None: as the air.
    pub temperature: Option<Celsius>,
    /// Where it stands; None: the first place of the job.
    pub place: Option<String>,
    /// Whether the person has been asked and said yes.
    pub sure: bool,
}

/// An order.
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
        /// The batch it is taken from; None: the one that stands here, where there is one only.
        batch: Option<EntryId>,
        /// Why it is not as the scheme says.
        why: Option<String>,
        /// Whether the person has been asked and said yes.
        sure: bool,
    },
    /// A batch was mixed.
    Mix(Mixing),
    /// Record that a batch is used up, or thrown away.
    Emptied {
        /// Which one; None: the one that stands here, where there is one only.
        batch: Option<EntryId>,
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
        /// How many of the newest coats a strip took off; None: one.
        coats: Option<usize>,
        /// Why coats were taken off.
        why: Option<String>,
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
    /// Work that was not timed.
    Work {
        /// The area; None: the piece as a whole.
        area: Option<String>,
        /// How long.
        minutes: u32,
    },
    /// The work clock starts.
    StartClock {
        /// The area; None: the piece as a whole.
        area: Option<String>,
    },
    /// The work clock stops.
    StopClock {
        /// What it ran for, where that was said.
        area: Option<String>,
        /// Whether so long a time is right.
        sure: bool,
    },
    /// Something to remember.
    Note {
        /// The area, where it is about one.
        area: Option<String>,
        /// The entry, where it is about one.
        entry: Option<EntryId>,
        /// The words.
        text: String,
        /// Where a photo lies.
        photo: Option<PathBuf>,
    },
    /// An entry was wrong: its time is the moment of the order, where one is given.
    Correct {
        /// Which one.
        entry: EntryId,
        /// What it should have been.
        changes: Vec<Change>,
    },
    /// Record a measured wet film on the newest coat of an area.
    WetFilm {
        /// The area.
        area: String,
        /// What the comb showed, spot by spot.
        spots: Vec<Micrometres>,
        /// Whether it is right though it is out of all proportion.
        sure: bool,
    },
    /// New material.
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

/// Why an order was not carried out, for a screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// In words.
    pub says: String,
    /// Whether it is carried out all the same once the person has said yes.
    pub asks: bool,
}

impl From<String> for Refused {
    fn from(says: String) -> Self {
        Self { says, asks: false }
    }
}

impl From<&SessionError> for Refused {
    fn from(error: &SessionError) -> Self {
        match error {
            SessionError::Ask(question) | SessionError::AgainstScheme(question) => {
                Self { says: question.clone(), asks: true }
            }
            error => error.to_string().into(),
        }
    }
}

/// What was done.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Done {
    /// What was recorded, in a sentence, and what follows from it.
    pub says: String,
    /// What can hurt here, a sentence each.
    pub cautions: Vec<String>,
}

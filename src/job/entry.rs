//! The entries of a job, as they are stored.

use std::fmt;

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use crate::units::{Celsius, Humidity, Moment};

/// The number of an entry; entries are numbered as they are recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EntryId(pub i64);

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A step other than a coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StepKind {
    /// Sanded.
    Sand,
    /// Washed.
    Wash,
    /// Tape put on.
    TapeOn,
    /// Tape pulled.
    TapeOff,
}

impl StepKind {
    /// As a sentence says it of an area: "Roof: sanded".
    pub const fn done_word(self) -> &'static str {
        match self {
            Self::Sand => "sanded",
            Self::Wash => "washed",
            Self::TapeOn => "taped",
            Self::TapeOff => "tape pulled",
        }
    }
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum EntryKind {
    /// The first stroke of a coat.
    Coat {
        /// The area it goes on.
        area: String,
        /// The product.
        product: String,
        /// What goes on after it, where the person said so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        next: Option<String>,
        /// Whether this was the last stroke too.
        #[serde(default)]
        finished: bool,
    },
    /// The last stroke of the coat that is being applied.
    Finished {
        /// Its area.
        area: String,
    },
    /// Another step.
    Step {
        /// The area.
        area: String,
        /// Which step.
        step: StepKind,
        /// How long it took.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<u32>,
    },
    /// A reading that a person entered; it is kept among the readings too.
    Reading {
        /// The place.
        place: String,
        /// The air.
        air: Celsius,
        /// Relative humidity in per cent, where given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        humidity_percent: Option<f64>,
        /// The surface, where given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        surface: Option<Celsius>,
    },
    /// A logger's file was taken in.
    Import {
        /// The file's name.
        file: String,
        /// How many readings were taken.
        readings: u64,
    },
    /// A scheme was taken into the job, whole.
    Scheme {
        /// The text of the scheme file.
        text: String,
    },
    /// An earlier entry no longer counts.
    Void {
        /// Which one.
        entry: EntryId,
    },
}

impl EntryKind {
    /// The area that the entry is about.
    pub fn area(&self) -> Option<&str> {
        match self {
            Self::Coat { area, .. } | Self::Finished { area } | Self::Step { area, .. } => Some(area),
            _ => None,
        }
    }
}

/// One line of the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its number.
    pub id: EntryId,
    /// When it happened.
    pub at: Moment,
    /// When it was written down.
    pub recorded: Moment,
    /// What happened.
    pub kind: EntryKind,
}

impl Entry {
    /// The entry in words, for the record and for what was taken back.
    pub fn summary(&self, units: &crate::units::Units) -> String {
        match &self.kind {
            EntryKind::Coat { area, product, next, finished } => {
                let begun = if *finished { "a coat of" } else { "began a coat of" };
                let then = next.as_ref().map(|n| format!(", {n} to follow")).unwrap_or_default();
                format!("{area}: {begun} {product}{then}")
            }
            EntryKind::Finished { area } => format!("{area}: last stroke"),
            EntryKind::Step { area, step, minutes } => {
                let took = minutes
                    .map(|m| format!(", {}", crate::units::duration_text(TimeDelta::minutes(m.into()))));
                format!("{area}: {}{}", step.done_word(), took.unwrap_or_default())
            }
            EntryKind::Reading { place, air, humidity_percent, surface } => {
                let humidity = humidity_percent
                    .and_then(|p| Humidity::from_percent(p).ok())
                    .map(|h| format!(", humidity {h}"))
                    .unwrap_or_default();
                let surface =
                    surface.map(|s| format!(", surface {}", units.temperature(s))).unwrap_or_default();
                format!("{place}: {}{humidity}{surface}", units.temperature(*air))
            }
            EntryKind::Import { file, readings } => format!("{readings} readings from {file}"),
            EntryKind::Scheme { .. } => "took a scheme in".into(),
            EntryKind::Void { entry } => format!("took back entry {entry}"),
        }
    }
}

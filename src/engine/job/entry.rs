//! The entries of a job, as they are stored.

use std::fmt;

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

pub use super::step::StepKind;
pub use crate::engine::pot::Vessel;
use crate::engine::units::{Celsius, Grams, Humidity, Micrometres, Millilitres, Moment};

/// The number of an entry; entries are numbered as they are recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EntryId(pub i64);

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// How much of a product: what was on the tin.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// By mass.
    MassG(Grams),
    /// By volume.
    VolumeMl(Millilitres),
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
        /// The batch it is taken from, where the person said so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        batch: Option<EntryId>,
        /// Why it is not as the scheme says, where the person said so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
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
        /// The coats that it took off.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        coats: Vec<EntryId>,
        /// Why, where the person said so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
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
    /// A batch was mixed; its entry's number is the batch's number.
    Batch {
        /// The product.
        product: String,
        /// All parts together.
        mass_g: Grams,
        /// What it stands in.
        vessel: Vessel,
        /// How warm it was when it was mixed; the air of its place where that was not said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        temperature: Option<Celsius>,
        /// Where it stands.
        place: String,
    },
    /// Record that a batch is used up, or thrown away.
    Emptied {
        /// Which one.
        batch: EntryId,
    },
    /// Record a measured wet film on the newest coat of an area.
    WetFilm {
        /// The area.
        area: String,
        /// What the comb or the wheel showed, spot by spot.
        micrometres: Vec<Micrometres>,
    },
    /// New material.
    Stock {
        /// The product.
        product: String,
        /// How much.
        amount: Amount,
        /// What it cost, as a decimal number in the person's currency.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        price: Option<String>,
        /// The number on the tin by which its maker knows the batch.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lot: Option<String>,
    },
    /// Work on the piece was timed, or entered afterwards.
    Work {
        /// The area; the piece as a whole where none is named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        area: Option<String>,
        /// How long.
        minutes: u32,
    },
    /// The work clock runs from here on.
    ClockOn {
        /// The area; the piece as a whole where none is named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        area: Option<String>,
    },
    /// The work clock stands.
    ClockOff,
    /// Something to remember.
    Note {
        /// The area, where it is about one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        area: Option<String>,
        /// The entry, where it is about one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        entry: Option<EntryId>,
        /// The words.
        text: String,
        /// Where a photo lies.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<String>,
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
    /// Both data sheets were asked: this product may go on that film, though no profile says so.
    PairConfirmed {
        /// The product of the film.
        film: String,
        /// The product that may go on it.
        coat: String,
    },
    /// An earlier entry no longer counts.
    Void {
        /// Which one.
        entry: EntryId,
        /// The entry that takes its place, where it was corrected.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        by: Option<EntryId>,
    },
}

impl EntryKind {
    /// A step that takes nothing off.
    pub fn step(area: impl Into<String>, step: StepKind, minutes: Option<u32>) -> Self {
        Self::Step { area: area.into(), step, minutes, coats: Vec::new(), why: None }
    }

    /// The area that the entry is about.
    pub fn area(&self) -> Option<&str> {
        match self {
            Self::Coat { area, .. }
            | Self::Finished { area }
            | Self::Step { area, .. }
            | Self::WetFilm { area, .. } => Some(area),
            Self::Work { area, .. } | Self::ClockOn { area } | Self::Note { area, .. } => area.as_deref(),
            _ => None,
        }
    }
}

impl EntryKind {
    /// The entry that takes the place of another, where this one says so.
    pub const fn replaced_by(&self) -> Option<EntryId> {
        if let Self::Void { by, .. } = self { *by } else { None }
    }

    /// The same about an area of this name.
    pub fn rename_area(&mut self, name: String) {
        match self {
            Self::Coat { area, .. }
            | Self::Finished { area }
            | Self::Step { area, .. }
            | Self::WetFilm { area, .. } => *area = name,
            Self::Work { area, .. } | Self::ClockOn { area } | Self::Note { area, .. } => *area = Some(name),
            _ => {}
        }
    }

    /// The batches and the coats that it names.
    pub(super) fn entries_mut(&mut self) -> Vec<&mut EntryId> {
        match self {
            Self::Coat { batch, .. } => batch.iter_mut().collect(),
            Self::Emptied { batch } => vec![batch],
            Self::Step { coats, .. } => coats.iter_mut().collect(),
            _ => Vec::new(),
        }
    }

    /// The products that it names.
    pub fn products_mut(&mut self) -> Vec<&mut String> {
        match self {
            Self::Coat { product, next, .. } => std::iter::once(product).chain(next).collect(),
            Self::Batch { product, .. } | Self::Stock { product, .. } => vec![product],
            Self::PairConfirmed { film, coat } => vec![film, coat],
            _ => Vec::new(),
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
    pub fn summary(&self, units: &crate::engine::units::Units) -> String {
        match &self.kind {
            EntryKind::Coat { area, product, next, finished, batch, why } => {
                let begun = if *finished { "a coat of" } else { "started a coat of" };
                let then = next.as_ref().map(|n| format!(", {n} to follow")).unwrap_or_default();
                let from = batch.map(|batch| format!(" from batch {batch}")).unwrap_or_default();
                let why = why.as_ref().map(|why| format!(" ({why})")).unwrap_or_default();
                format!("{area}: {begun} {product}{from}{then}{why}")
            }
            EntryKind::Finished { area } => format!("{area}: last stroke"),
            EntryKind::Step { area, step, minutes, coats, why } => {
                let took = minutes.map(|m| {
                    format!(", {}", crate::engine::units::duration_text(TimeDelta::minutes(m.into())))
                });
                let off = if coats.len() > 1 { format!(", {} coats", coats.len()) } else { String::new() };
                let why = why.as_ref().map(|why| format!(" ({why})")).unwrap_or_default();
                format!("{area}: {}{off}{}{why}", step.done_word(), took.unwrap_or_default())
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
            EntryKind::Batch { product, mass_g, vessel, .. } => {
                let vessel = match vessel {
                    Vessel::Cup => "a cup".to_owned(),
                    Vessel::Tray { depth_mm } => format!("a tray, {:.0} mm deep", depth_mm.millimetres()),
                };
                format!("mixed {} of {product} in {vessel}", units.mass(*mass_g))
            }
            EntryKind::Emptied { batch } => format!("batch {batch} is used up"),
            EntryKind::WetFilm { area, micrometres } => {
                format!("{area}: wet film {}", units.film_list(micrometres))
            }
            EntryKind::Stock { product, amount, price, lot } => {
                let amount = match amount {
                    Amount::MassG(mass) => units.mass(*mass),
                    Amount::VolumeMl(volume) => units.volume(*volume),
                };
                let price = price.as_ref().map(|price| format!(" for {price}")).unwrap_or_default();
                let lot = lot.as_ref().map(|lot| format!(", lot {lot}")).unwrap_or_default();
                format!("{amount} of {product} bought{price}{lot}")
            }
            EntryKind::Work { area, minutes } => {
                let took = crate::engine::units::duration_text(TimeDelta::minutes((*minutes).into()));
                format!("{}{took} of work", prefix(area.as_deref()))
            }
            EntryKind::ClockOn { area } => format!("{}work started", prefix(area.as_deref())),
            EntryKind::ClockOff => "work stopped".into(),
            EntryKind::PairConfirmed { film, coat } => {
                format!("both data sheets allow {coat} on {film}")
            }
            EntryKind::Note { area, entry, text, photo } => {
                let on = entry.map(|entry| format!(" (on entry {entry})")).unwrap_or_default();
                let photo = photo.as_ref().map(|photo| format!(" [photo: {photo}]")).unwrap_or_default();
                format!("{}note{on}: {text}{photo}", prefix(area.as_deref()))
            }
            EntryKind::Import { file, readings } => format!("{readings} readings from {file}"),
            EntryKind::Scheme { .. } => "loaded a scheme".into(),
            EntryKind::Void { entry, by: None } => format!("took back entry {entry}"),
            EntryKind::Void { entry, by: Some(by) } => format!("corrected entry {entry} by entry {by}"),
        }
    }
}

fn prefix(area: Option<&str>) -> String {
    area.map(|area| format!("{area}: ")).unwrap_or_default()
}

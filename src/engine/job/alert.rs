//! Alerts as records: kinds, channels, deliveries.

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use crate::engine::air::Objection;
use crate::engine::job::EntryId;
use crate::engine::units::{Moment, duration_text};

/// The number of an alert in its job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct AlertId(pub i64);

/// The kind of an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AlertKind {
    /// The minimum interval is reached: the next coat may go on.
    RecoatOpen,
    /// The window is about to close.
    RecoatClose,
    /// The last moment to start the next coat and finish it inside the window.
    LastCall,
    /// The tape has to come off.
    TapeBy,
    /// The film can be sanded.
    Sandable,
    /// The film is at full cure.
    FullCure,
    /// It is too cold for the film to progress.
    Stall,
    /// A window has moved since it was last reported.
    Moved,
    /// The last reading is too old to trust.
    ReadingOld,
    /// The surface comes too near the dew point while a film is wet.
    Dew,
    /// The air leaves what the product may cure in while a film is wet.
    OutOfRange,
    /// Rain falls before an outdoor film is safe.
    Rain,
    /// The pot life of a batch may end soon.
    PotLife,
    /// The pot life of a batch may be over.
    PotOver,
    /// The induction time of a batch is over.
    Induction,
}

impl AlertKind {
    /// Every kind.
    pub const ALL: [Self; 15] = [
        Self::RecoatOpen,
        Self::RecoatClose,
        Self::LastCall,
        Self::TapeBy,
        Self::Sandable,
        Self::FullCure,
        Self::Stall,
        Self::Moved,
        Self::ReadingOld,
        Self::Dew,
        Self::OutOfRange,
        Self::Rain,
        Self::PotLife,
        Self::PotOver,
        Self::Induction,
    ];

    /// Its key in the job and in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::RecoatOpen => "recoat_open",
            Self::RecoatClose => "recoat_close",
            Self::LastCall => "last_call",
            Self::TapeBy => "tape_by",
            Self::Sandable => "sandable",
            Self::FullCure => "full_cure",
            Self::Stall => "stall",
            Self::Moved => "moved",
            Self::ReadingOld => "reading_old",
            Self::Dew => "dew",
            Self::OutOfRange => "out_of_range",
            Self::Rain => "rain",
            Self::PotLife => "pot_life",
            Self::PotOver => "pot_over",
            Self::Induction => "induction",
        }
    }

    /// The kind of this key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.key() == key)
    }

    /// Whether it warns of this threat to a wet film.
    pub const fn warns_of(self, against: Objection) -> bool {
        match against {
            Objection::DewMargin(..) => matches!(self, Self::Dew),
            Objection::Rain(_) => matches!(self, Self::Rain),
            Objection::TooCold(..)
            | Objection::TooWarm(..)
            | Objection::SurfaceTooCold(..)
            | Objection::SurfaceTooWarm(..)
            | Objection::Stalls(..) => {
                matches!(self, Self::OutOfRange)
            }
            _ => false,
        }
    }

    /// Whether missing it costs a sanding or a batch, so that it is repeated until acknowledged.
    pub const fn insists(self) -> bool {
        matches!(self, Self::RecoatClose | Self::LastCall | Self::TapeBy | Self::PotLife | Self::PotOver)
    }

    /// Whether it is about a batch, not about an area or a place.
    pub const fn is_of_a_batch(self) -> bool {
        matches!(self, Self::PotLife | Self::PotOver | Self::Induction)
    }
}

/// An alert that is due and not yet raised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAlert {
    /// Its kind.
    pub kind: AlertKind,
    /// The coat, or the place of a reading. Together with kind and round it is unique, so that two processes
    /// raise it once.
    pub subject: String,
    /// How often this kind was raised for the subject before.
    pub round: u32,
    /// The area, where it is about one.
    pub area: Option<String>,
    /// When it fell due.
    pub due: Moment,
    /// The words.
    pub text: String,
}

/// An alert that was raised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alert {
    /// Its number.
    pub id: AlertId,
    /// What it is about.
    pub kind: AlertKind,
    /// See [`NewAlert::subject`].
    pub subject: String,
    /// See [`NewAlert::round`].
    pub round: u32,
    /// The area, where it is about one.
    pub area: Option<String>,
    /// When it fell due.
    pub due: Moment,
    /// When it was raised.
    pub raised: Moment,
    /// The number of repetitions without acknowledgement: 0 the first time.
    pub repeat: u32,
    /// The moment of this repetition. It is sent until a channel has taken it.
    pub wanted: Moment,
    /// When the person acknowledged it.
    pub acknowledged: Option<Moment>,
    /// The words.
    pub text: String,
}

/// An alert that is sent later than this says how long ago it fell due.
const LATE: TimeDelta = TimeDelta::minutes(5);

impl Alert {
    /// Whether it is in the job. One that could not be written there has a number below zero.
    pub const fn is_recorded(&self) -> bool {
        self.id.0 > 0
    }

    /// The words to send at a moment: with how long ago it fell due, where that is long.
    pub fn text_at(&self, now: Moment) -> String {
        let late = now - self.due;
        let of_the_film = !matches!(self.kind, AlertKind::ReadingOld | AlertKind::Stall | AlertKind::Moved);
        if of_the_film && late > LATE {
            format!("{} It was due {} ago.", self.text, duration_text(late))
        } else {
            self.text.clone()
        }
    }
}

/// A channel. Each channel of a job takes an alert once, whichever process serves it; only the screen of a
/// board is its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Channel {
    /// The notification service of the desktop.
    Desktop,
    /// The program of the settings.
    Command,
    /// A board: its banner and the bell of its terminal.
    Screen,
    /// The terminal that `watch` writes to.
    Terminal,
    /// The standard output of `watch` where it is no terminal.
    Output,
}

impl Channel {
    /// Every channel.
    pub const ALL: [Self; 5] = [Self::Desktop, Self::Command, Self::Screen, Self::Terminal, Self::Output];

    /// Its key in the job.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Desktop => "desktop",
            Self::Command => "command",
            Self::Screen => "screen",
            Self::Terminal => "terminal",
            Self::Output => "output",
        }
    }

    /// The channel of this key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|channel| channel.key() == key)
    }

    /// Whether several processes may serve it, so that one has to claim an alert before it sends.
    pub const fn is_shared(self) -> bool {
        !matches!(self, Self::Screen)
    }
}

/// That a channel took an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Delivery {
    /// The alert.
    pub alert: AlertId,
    /// Which repetition of it, see [`Alert::repeat`].
    pub repeat: u32,
    /// What took it.
    pub channel: Channel,
    /// When.
    pub sent: Moment,
}

/// A clock correction smaller than this does not move an alert into the future.
pub const CLOCK_SLACK: TimeDelta = TimeDelta::minutes(1);

/// Whether a record is in the future: the clock was ahead and has been set back. It then counts as neither
/// raised nor sent.
pub fn clock_was_ahead(at: Moment, now: Moment) -> bool {
    at > now + CLOCK_SLACK
}

/// The changes of alerts to record, all or nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Raising {
    /// Alerts to raise.
    pub raise: Vec<NewAlert>,
    /// Alerts to repeat, because they are not acknowledged.
    pub again: Vec<AlertId>,
    /// Windows as the alerts above report them.
    pub windows: Vec<ReportedWindow>,
}

impl Raising {
    /// Whether there is nothing to record.
    pub const fn is_empty(&self) -> bool {
        self.raise.is_empty() && self.again.is_empty() && self.windows.is_empty()
    }
}

/// A coat's window as it was last reported to a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReportedWindow {
    /// The coat.
    pub coat: EntryId,
    /// When the window opens, with temperatures as measured; a narrower band around it is not a move.
    pub open: Option<Moment>,
    /// When it closes, likewise.
    pub close: Option<Moment>,
}

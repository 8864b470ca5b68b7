//! What a data sheet says, once it has been read and checked.

use std::path::PathBuf;

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use super::table::TimeTable;
use crate::engine::units::{
    ActivationEnergy, Celsius, Grams, Humidity, KelvinDelta, KilogramsPerLitre, Micrometres, Percent,
};

/// How a film hardens, and so what damp air does to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Cure {
    /// Two parts react; damp changes nothing in the pace.
    Reaction,
    /// Water or solvent leaves; damp air slows it.
    Drying,
    /// The film takes its hardener from damp air; dry air slows it.
    Moisture,
}

impl Cure {
    /// Every way to harden.
    pub const ALL: [Self; 3] = [Self::Reaction, Self::Drying, Self::Moisture];

    /// Its word in profiles and in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Reaction => "reaction",
            Self::Drying => "drying",
            Self::Moisture => "moisture",
        }
    }
}

/// A named point of a coat's drying.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// The next coat may go on as the film is.
    RecoatOpen,
    /// Too late for that.
    RecoatClose,
    /// Dust no longer sticks.
    TackFree,
    /// The tape has to be off before.
    TapeBy,
    /// The film can be sanded.
    Sandable,
    /// The piece can be handled.
    Handle,
    /// The film is at its end and ready for service.
    FullCure,
}

impl Stage {
    /// Every stage in the order of the day.
    pub const ALL: [Self; 7] = [
        Self::RecoatOpen,
        Self::RecoatClose,
        Self::TackFree,
        Self::TapeBy,
        Self::Sandable,
        Self::Handle,
        Self::FullCure,
    ];

    /// Its key in profiles and in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::RecoatOpen => "recoat_open",
            Self::RecoatClose => "recoat_close",
            Self::TackFree => "tack_free",
            Self::TapeBy => "tape_by",
            Self::Sandable => "sandable",
            Self::Handle => "handle",
            Self::FullCure => "full_cure",
        }
    }

    /// Its name in a sentence.
    pub const fn name(self) -> &'static str {
        match self {
            Self::RecoatOpen => "recoat window opens",
            Self::RecoatClose => "recoat window closes",
            Self::TackFree => "tack-free",
            Self::TapeBy => "tape off by",
            Self::Sandable => "sandable",
            Self::Handle => "dry to handle",
            Self::FullCure => "full cure",
        }
    }

    /// A maximum time runs from the first stroke, a minimum time from the last.
    pub const fn is_maximum(self) -> bool {
        matches!(self, Self::RecoatClose | Self::TapeBy)
    }
}

/// The parts of a product that is mixed before use.
#[derive(Debug, Clone, PartialEq)]
pub struct Mix {
    /// The names of the parts.
    pub names: Vec<String>,
    /// Parts by volume.
    pub by_volume: Option<Vec<f64>>,
    /// Parts by mass.
    pub by_mass: Option<Vec<f64>>,
    /// The density of each part.
    pub density: Option<Vec<KilogramsPerLitre>>,
    /// The wait between mixing and the first stroke.
    pub induction: Option<TimeDelta>,
}

/// How long a mixed portion of this mass is usable.
#[derive(Debug, Clone, PartialEq)]
pub struct PotLife {
    /// The mass of the portion.
    pub mass: Grams,
    /// The time over the temperature of the air and the parts.
    pub times: TimeTable,
}

/// What air the product may be applied in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Application {
    /// The coolest air.
    pub coolest: Celsius,
    /// The warmest air.
    pub warmest: Celsius,
    /// The dampest air.
    pub humidity_max: Option<Humidity>,
    /// The driest air: below it a moisture-curing film does not harden as its data sheet says.
    pub humidity_min: Option<Humidity>,
    /// How far the surface must be above the dew point.
    pub dew_margin: KelvinDelta,
    /// Colder than this, nothing progresses.
    pub stall_below: Option<Celsius>,
}

/// The film of one coat.
#[derive(Debug, Clone, PartialEq)]
pub struct Film {
    /// What of the wet film stays, by volume.
    pub volume_solids: Option<Percent>,
    /// Wet film thickness of a coat, thinnest and thickest.
    pub wet: Option<(Micrometres, Micrometres)>,
    /// The density as it is applied; of a product of one part nothing else tells it.
    pub density: Option<KilogramsPerLitre>,
    /// How many coats may go on wet on wet.
    pub wet_on_wet_coats: Option<u32>,
}

/// When the next coat may go on, for the products named.
#[derive(Debug, Clone, PartialEq)]
pub struct Recoat {
    /// Product ids or families; `*` for any.
    pub next: Vec<String>,
    /// The minimum time, from the last stroke.
    pub open: TimeTable,
    /// The maximum time, from the first stroke; no upper limit where there is none.
    pub close: Option<TimeTable>,
    /// Whether the film is washed before it is sanded, once the window is shut.
    pub wash: bool,
    /// The stage that the film must have reached; `open` then holds the times of that stage.
    pub after: Option<Stage>,
    /// Whether the film must be sanded first, however fresh it is.
    pub sand: bool,
}

/// What must not follow the product, or lie below it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Never {
    /// Ids or families that must not go on it; `*` for any that no recoat entry names.
    pub next: Vec<String>,
    /// Ids or families that it must not go on.
    pub over: Vec<String>,
    /// Why not, as a person reads it.
    pub because: String,
}

/// Where a profile came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// Shipped with the program.
    BuiltIn,
    /// A file of the user's.
    File(PathBuf),
}

/// One product, as its data sheet describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// The name that commands and schemes use.
    pub id: String,
    /// The name that people use.
    pub name: String,
    /// The chemistry, as recoat entries name it.
    pub family: String,
    /// How it hardens.
    pub cure: Cure,
    /// What the figures rest on.
    pub basis: String,
    /// For tables of one point.
    pub activation_energy: ActivationEnergy,
    /// The humidity that the data sheet's times hold for.
    pub reference_humidity: Humidity,
    /// What can hurt.
    pub cautions: Vec<String>,
    /// A word on use.
    pub notes: Option<String>,
    /// The parts, where there are two or more.
    pub mix: Option<Mix>,
    /// The pot life at one or more masses.
    pub pot_life: Vec<PotLife>,
    /// What air it may be applied in.
    pub application: Application,
    /// The film of a coat.
    pub film: Option<Film>,
    /// The stages that the data sheet gives, but for the recoat window.
    pub stages: Vec<(Stage, TimeTable)>,
    /// The recoat windows, one for each group of following products.
    pub recoat: Vec<Recoat>,
    /// What must not follow it or lie below it.
    pub never: Vec<Never>,
    /// Whether it closes the pores of bare wood before the air in them is out, so that bubbles stay.
    pub seals: bool,
    /// Where the profile came from.
    pub origin: Origin,
}

impl Product {
    /// The window in which `next` may go on the film as it is. None where the profile is silent or asks
    /// for sanding first.
    pub fn recoat_before(&self, next: &Product) -> Option<&Recoat> {
        self.recoat_entry(next).map(|(_, entry)| entry).filter(|entry| !entry.sand)
    }

    /// The entry that asks for sanding before `next`, however fresh the film is.
    pub fn sanded_for(&self, next: &Product) -> Option<&Recoat> {
        self.recoat_entry(next).map(|(_, entry)| entry).filter(|entry| entry.sand)
    }

    /// The recoat entry for `next` and how closely it names it: an id wins over a family, and that over `*`.
    pub(super) fn recoat_entry(&self, next: &Product) -> Option<(Closeness, &Recoat)> {
        let named = self.recoat.iter().filter_map(|entry| Some((next.named_in(&entry.next)?, entry)));
        // The first of equals counts.
        named.reduce(|best, other| if other.0 > best.0 { other } else { best })
    }

    /// How closely a list of ids, families and `*` names this product.
    pub(super) fn named_in(&self, names: &[String]) -> Option<Closeness> {
        let ways = [(&*self.id, Closeness::Id), (&*self.family, Closeness::Family), ("*", Closeness::Any)];
        ways.into_iter().find(|(name, _)| names.iter().any(|n| n == name)).map(|(_, close)| close)
    }

    /// The table of a stage other than the recoat window.
    pub fn stage(&self, stage: Stage) -> Option<&TimeTable> {
        self.stages.iter().find(|(s, _)| *s == stage).map(|(_, table)| table)
    }

    /// Whether the film owes a wash before it is sanded, whatever comes next.
    pub fn washes(&self) -> bool {
        self.recoat.iter().any(|entry| entry.wash)
    }
}

/// How closely a list names a product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Closeness {
    Any,
    Family,
    Id,
}

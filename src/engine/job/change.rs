//! Changes of a wrong entry: details as typed, and the resulting entry.

mod detail;

pub use detail::Detail;

use super::entry::{Amount, EntryId, EntryKind, StepKind, Vessel};
use crate::engine::units::{
    Celsius, Grams, Humidity, Micrometres, Millilitres, Millimetres, Money, UnitError, Units, clean,
    parse_duration,
};

/// A detail and its new value as typed. "none" removes an optional one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The detail.
    pub detail: Detail,
    /// What it should have been.
    pub text: String,
}

/// Why an entry cannot be changed so.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChangeError {
    /// The entry has no such detail.
    #[error("entry {entry} has no {}; it can be corrected by {}", detail.name(), options(*entry, can))]
    NoSuchDetail {
        /// The entry.
        entry: EntryId,
        /// What was given.
        detail: Detail,
        /// What there is.
        can: Vec<Detail>,
    },
    /// The entry is of a kind that is taken back and entered anew.
    #[error(
        "entry {entry} {what} and cannot be corrected; take it back (curewright undo {entry}) and {instead}"
    )]
    NotThat {
        /// The entry.
        entry: EntryId,
        /// What it did.
        what: &'static str,
        /// What to do in its stead.
        instead: &'static str,
    },
    /// A detail that must not be left out.
    #[error("{} must not be left out", .0.name())]
    Needed(Detail),
    /// Not what the detail is.
    #[error("{}: {error}", detail.name())]
    Wrong {
        /// The detail.
        detail: Detail,
        /// Why not.
        error: UnitError,
    },
}

fn options(entry: EntryId, can: &[Detail]) -> String {
    let mut options: Vec<String> = can.iter().map(|detail| format!("--{}", detail.name())).collect();
    options.insert(0, "--at".into());
    format!("curewright correct {entry} {}", options.join(", "))
}

impl EntryKind {
    /// The details that can be corrected, as they are now; empty where one is left out.
    pub fn details(&self, units: &Units) -> Vec<(Detail, String)> {
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        match self {
            Self::Coat { area, product, next, batch, why, .. } => {
                let mut details = vec![
                    (Detail::Area, area.clone()),
                    (Detail::Product, product.clone()),
                    (Detail::Next, text(next)),
                    (Detail::Batch, batch.map(|batch| batch.to_string()).unwrap_or_default()),
                ];
                details.extend(why.clone().map(|why| (Detail::Why, why)));
                details
            }
            Self::Finished { area } => vec![(Detail::Area, area.clone())],
            Self::Step { area, step, minutes, coats, why } => {
                let mut details = vec![(Detail::Area, area.clone()), (Detail::Step, step.key().into())];
                // What took coats off is no other step, and on no other area.
                if !coats.is_empty() {
                    details.clear();
                }
                let minutes = minutes.map(|minutes| minutes.to_string());
                details.push((Detail::Minutes, minutes.unwrap_or_default()));
                if *step == StepKind::Strip {
                    details.push((Detail::Why, text(why)));
                }
                details
            }
            Self::Reading { place, air, humidity_percent, surface } => vec![
                (Detail::Temperature, units.temperature(*air)),
                (Detail::Humidity, humidity_percent.map(|percent| percent.to_string()).unwrap_or_default()),
                (Detail::Surface, surface.map(|surface| units.temperature(surface)).unwrap_or_default()),
                (Detail::Place, place.clone()),
            ],
            Self::Batch { product, mass_g, vessel, temperature, place } => vec![
                (Detail::Product, product.clone()),
                (Detail::Mass, units.mass(*mass_g)),
                (Detail::Vessel, vessel_text(*vessel)),
                (Detail::Temperature, temperature.map(|t| units.temperature(t)).unwrap_or_default()),
                (Detail::Place, place.clone()),
            ],
            Self::Emptied { batch } => vec![(Detail::Batch, batch.to_string())],
            Self::WetFilm { area, micrometres } => {
                let spots: Vec<String> = micrometres.iter().map(|spot| units.film(*spot)).collect();
                vec![(Detail::Area, area.clone()), (Detail::Film, spots.join(", "))]
            }
            Self::Stock { product, amount, price, lot } => vec![
                (Detail::Product, product.clone()),
                (Detail::Amount, amount_text(*amount, units)),
                (Detail::Price, text(price)),
                (Detail::Lot, text(lot)),
            ],
            Self::Work { area, minutes } => {
                vec![(Detail::Area, text(area)), (Detail::Minutes, minutes.to_string())]
            }
            Self::ClockOn { area } => vec![(Detail::Area, text(area))],
            Self::Note { area, text: words, photo, .. } => {
                vec![(Detail::Text, words.clone()), (Detail::Area, text(area)), (Detail::Photo, text(photo))]
            }
            Self::ClockOff
            | Self::Import { .. }
            | Self::Scheme { .. }
            | Self::PairConfirmed { .. }
            | Self::Void { .. } => Vec::new(),
        }
    }

    /// Whether such an entry can be corrected, and is not only taken back.
    ///
    /// # Errors
    /// [`ChangeError::NotThat`] says what to do in its stead.
    pub const fn correctable(&self, entry: EntryId) -> Result<(), ChangeError> {
        let (what, instead) = match self {
            Self::Import { .. } => ("imported a file", "import the right file"),
            Self::Void { .. } => ("took another entry back", "take back the right one"),
            Self::PairConfirmed { .. } => ("confirmed a pair of products", "take it back"),
            _ => return Ok(()),
        };
        Err(ChangeError::NotThat { entry, what, instead })
    }

    /// The entry with these changes. Names of areas and products are taken as they are typed.
    ///
    /// # Errors
    /// [`ChangeError`] says which detail is wrong, and what would be right.
    pub fn changed(&self, entry: EntryId, changes: &[Change], units: &Units) -> Result<Self, ChangeError> {
        self.correctable(entry)?;
        let can: Vec<Detail> = self.details(units).into_iter().map(|(detail, _)| detail).collect();
        let mut kind = self.clone();
        for Change { detail, text } in changes {
            if !can.contains(detail) {
                return Err(ChangeError::NoSuchDetail { entry, detail: *detail, can });
            }
            kind.change(&Given { detail: *detail, text: clean(text.trim()), units })?;
        }
        Ok(kind)
    }

    fn change(&mut self, to: &Given<'_>) -> Result<(), ChangeError> {
        match (self, to.detail) {
            (
                Self::Coat { area, .. }
                | Self::Finished { area }
                | Self::Step { area, .. }
                | Self::WetFilm { area, .. },
                Detail::Area,
            ) => *area = to.needed()?,
            (Self::Work { area, .. } | Self::ClockOn { area } | Self::Note { area, .. }, Detail::Area) => {
                *area = to.perhaps()
            }
            (
                Self::Coat { product, .. } | Self::Batch { product, .. } | Self::Stock { product, .. },
                Detail::Product,
            ) => *product = to.needed()?,
            (Self::Coat { next, .. }, Detail::Next) => *next = to.perhaps(),
            (Self::Coat { batch, .. }, Detail::Batch) => *batch = to.maybe(number)?,
            (Self::Emptied { batch }, Detail::Batch) => *batch = to.read(number)?,
            (Self::Step { step, .. }, Detail::Step) => *step = to.read(step_kind)?,
            (Self::Step { why, .. } | Self::Coat { why, .. }, Detail::Why) => *why = to.perhaps(),
            (Self::Step { minutes: taken, .. }, Detail::Minutes) => *taken = to.maybe(minutes)?,
            (Self::Work { minutes: taken, .. }, Detail::Minutes) => *taken = to.read(minutes)?,
            (Self::Reading { air, .. }, Detail::Temperature) => *air = to.read(|text| to.celsius(text))?,
            (Self::Reading { humidity_percent, .. }, Detail::Humidity) => {
                *humidity_percent = to.maybe(Humidity::parse_typed)?.map(Humidity::percent);
            }
            (Self::Reading { surface, .. }, Detail::Surface) => {
                *surface = to.maybe(|text| to.celsius(text))?
            }
            (Self::Batch { temperature, .. }, Detail::Temperature) => {
                *temperature = to.maybe(|text| to.celsius(text))?;
            }
            (Self::Reading { place, .. } | Self::Batch { place, .. }, Detail::Place) => {
                *place = to.needed()?
            }
            (Self::Batch { mass_g, .. }, Detail::Mass) => {
                *mass_g = to.read(|text| Grams::parse(text, to.units.mass))?;
            }
            (Self::Batch { vessel: stands_in, .. }, Detail::Vessel) => *stands_in = to.read(vessel)?,
            (Self::WetFilm { micrometres, .. }, Detail::Film) => {
                let spot = |text: &str| Micrometres::parse(text, to.units.area);
                *micrometres = to.read(|text| text.split(',').map(spot).collect())?;
            }
            (Self::Stock { amount: bought, .. }, Detail::Amount) => {
                *bought = to.read(|text| amount(text, to.units))?;
            }
            (Self::Stock { price, .. }, Detail::Price) => {
                *price = to.maybe(Money::parse)?.map(|money| money.to_string());
            }
            (Self::Stock { lot, .. }, Detail::Lot) => *lot = to.perhaps(),
            (Self::Note { text, .. }, Detail::Text) => *text = to.needed()?,
            (Self::Note { photo, .. }, Detail::Photo) => *photo = to.perhaps(),
            _ => {}
        }
        Ok(())
    }
}

/// What was typed for a detail.
struct Given<'a> {
    detail: Detail,
    text: String,
    units: &'a Units,
}

impl Given<'_> {
    fn perhaps(&self) -> Option<String> {
        let left_out = self.text.is_empty() || self.text.eq_ignore_ascii_case("none");
        (!left_out).then(|| self.text.clone())
    }

    fn needed(&self) -> Result<String, ChangeError> {
        self.perhaps().ok_or(ChangeError::Needed(self.detail))
    }

    fn read<T>(&self, read: impl Fn(&str) -> Result<T, UnitError>) -> Result<T, ChangeError> {
        read(&self.needed()?).map_err(|error| ChangeError::Wrong { detail: self.detail, error })
    }

    fn maybe<T>(&self, read: impl Fn(&str) -> Result<T, UnitError>) -> Result<Option<T>, ChangeError> {
        self.perhaps().map(|_| self.read(read)).transpose()
    }

    fn celsius(&self, text: &str) -> Result<Celsius, UnitError> {
        Celsius::parse(text, self.units.temperature)
    }
}

fn not_that(text: &str, wanted: &'static str) -> UnitError {
    UnitError::NotThat { text: clean(text), wanted }
}

fn number(text: &str) -> Result<EntryId, UnitError> {
    text.parse().map(EntryId).map_err(|_| not_that(text, "the number of a batch"))
}

fn step_kind(text: &str) -> Result<StepKind, UnitError> {
    let known = StepKind::named(text)
        .filter(|step| !matches!(step, StepKind::Strip | StepKind::Pause | StepKind::Resume));
    known.ok_or_else(|| not_that(text, "a step: sand, wash, tape-on or tape-off"))
}

/// So many minutes of work: "90", or as a favour "1 h 30 min"; a day at most.
///
/// # Errors
/// [`UnitError`] where it is no number of minutes, or more than a person works.
pub fn minutes(text: &str) -> Result<u32, UnitError> {
    let wanted = "a number of minutes, such as 45 or \"1 h 30 min\"";
    let text = text.trim();
    let written_out = || parse_duration(text).ok().and_then(|long| u32::try_from(long.num_minutes()).ok());
    let minutes = text.parse().ok().or_else(written_out).ok_or_else(|| not_that(text, wanted))?;
    if (1..=1440).contains(&minutes) {
        return Ok(minutes);
    }
    Err(UnitError::OutOfRange {
        value: format!("{minutes} min"),
        range: "1…1440 min",
        advice: "enter the work of each day by itself",
    })
}

fn vessel(text: &str) -> Result<Vessel, UnitError> {
    if text.eq_ignore_ascii_case("cup") {
        return Ok(Vessel::Cup);
    }
    Millimetres::parse(text).map(|depth_mm| Vessel::Tray { depth_mm })
}

fn vessel_text(vessel: Vessel) -> String {
    match vessel {
        Vessel::Cup => "cup".into(),
        Vessel::Tray { depth_mm } => format!("{} mm", depth_mm.millimetres()),
    }
}

fn amount(text: &str, units: &Units) -> Result<Amount, UnitError> {
    let mass = || Grams::parse(text, units.mass).map(Amount::MassG);
    let volume = Millilitres::parse(text, units.volume).map(Amount::VolumeMl);
    let unit_named = text.contains(|c: char| c.is_alphabetic());
    match (volume, unit_named) {
        (volume, true) => volume.or_else(|_| mass()),
        (_, false) => Err(not_that(text, "an amount with its unit, such as 2.5L or 4kg")),
    }
}

fn amount_text(amount: Amount, units: &Units) -> String {
    match amount {
        Amount::MassG(mass) => units.mass(mass),
        Amount::VolumeMl(volume) => units.volume(volume),
    }
}

#[cfg(test)]
mod tests;

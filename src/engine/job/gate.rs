//! The limits of entries, readings and alerts: one check for every way into a job.
//!
//! Typed text is checked where it is read, with better advice. This is for other input: a job as lines, and the
//! job's own file, which another program may have written. It knows no lines and no file.

use chrono::Datelike;

use super::alert::{Alert, Delivery};
use super::entry::{Amount, Entry, EntryId, EntryKind, Vessel};
use crate::engine::cure::Reading;
use crate::engine::units::{Celsius, Humidity, MOST, Moment, Money, clean};

/// Why something cannot be part of a job, in a few words.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Improper(String);

/// The highest number that an entry, an alert or a forecast may have: there is always room for more.
pub const HIGHEST: i64 = 1_000_000_000;

/// The longest name of an area, a place, a product or a file, in characters.
const NAME: usize = 1000;
/// The longest note.
const WORDS: usize = 10_000;
/// The longest scheme.
const SCHEME: usize = 4 << 20;
/// The most measurements of one film.
const SPOTS: usize = 10_000;
/// The longest work at one go, in minutes: a week.
const MINUTES: u32 = 10_080;
/// The highest count of a round or a repetition.
const ROUNDS: u32 = 1_000_000;

impl Entry {
    /// Whether an entry says what can be.
    ///
    /// # Errors
    /// [`Improper`] says what cannot.
    pub fn check(&self) -> Result<(), Improper> {
        number("the entry", self.id.0)?;
        moment("the entry", self.at)?;
        moment("the entry", self.recorded)?;
        self.kind.check()
    }
}

impl EntryKind {
    /// Whether an entry says what can be.
    ///
    /// # Errors
    /// [`Improper`] says what cannot.
    pub fn check(&self) -> Result<(), Improper> {
        for (what, value) in self.texts() {
            match what {
                "note" => text(what, value, WORDS)?,
                "scheme" => long_text(value)?,
                "photo" | "lot" | "file" | "price" | "reason" => text(what, value, NAME)?,
                _ => name(what, value)?,
            }
        }
        match self {
            Self::Reading { air, humidity_percent, surface, .. } => {
                temperature("air", *air)?;
                let humidity = humidity_percent.map(Humidity::from_percent).transpose();
                humidity.map_err(|error| Improper(format!("the humidity: {error}")))?;
                surface.map_or(Ok(()), |surface| temperature("surface", surface))
            }
            Self::Batch { mass_g, vessel, temperature: warm, .. } => {
                amount("mass", mass_g.grams(), "g")?;
                if let Vessel::Tray { depth_mm } = vessel {
                    amount("depth of the tray", depth_mm.millimetres(), "mm")?;
                }
                warm.map_or(Ok(()), |warm| temperature("batch", warm))
            }
            Self::WetFilm { micrometres, .. } if micrometres.len() > SPOTS => {
                Err(Improper(format!("more than {SPOTS} measurements of one film")))
            }
            Self::WetFilm { micrometres, .. } => {
                micrometres.iter().try_for_each(|film| amount("film", film.micrometres(), "µm"))
            }
            Self::Stock { amount: bought, price, .. } => {
                match bought {
                    Amount::MassG(mass) => amount("mass", mass.grams(), "g")?,
                    Amount::VolumeMl(volume) => amount("volume", volume.millilitres(), "ml")?,
                }
                let price = price.as_deref().map(Money::parse).transpose();
                price.map(drop).map_err(|error| Improper(format!("the price: {error}")))
            }
            Self::Step { minutes: Some(minutes), .. } | Self::Work { minutes, .. } if *minutes > MINUTES => {
                Err(Improper(format!("{minutes} min of work is more than a week")))
            }
            Self::Step { coats, .. } => coats.iter().try_for_each(|coat| refers_to(*coat)),
            Self::Coat { batch: Some(entry), .. } | Self::Emptied { batch: entry } => refers_to(*entry),
            Self::Note { entry: Some(entry), .. } => refers_to(*entry),
            Self::Void { entry, by } => {
                refers_to(*entry)?;
                by.map_or(Ok(()), refers_to)
            }
            _ => Ok(()),
        }
    }

    /// Every text in it, with what it is.
    fn texts(&self) -> Vec<(&'static str, &str)> {
        macro_rules! some {
            ($what:literal, $text:expr) => {
                $text.as_deref().map(|text| ($what, text))
            };
        }
        // Every field is named, so that a new one is not forgotten.
        match self {
            Self::Coat { area, product, next, finished: _, batch: _, why } => {
                let rest = some!("product", next).into_iter().chain(some!("note", why));
                [("area", area.as_str()), ("product", product)].into_iter().chain(rest).collect()
            }
            Self::Step { area, step: _, minutes: _, coats: _, why } => {
                [("area", area.as_str())].into_iter().chain(some!("note", why)).collect()
            }
            Self::Finished { area } | Self::WetFilm { area, micrometres: _ } => vec![("area", area)],
            Self::Reading { place, air: _, humidity_percent: _, surface: _ } => vec![("place", place)],
            Self::Batch { product, place, mass_g: _, vessel: _, temperature: _ } => {
                vec![("product", product), ("place", place)]
            }
            Self::Stock { product, price, lot, amount: _ } => {
                let rest = some!("price", price).into_iter().chain(some!("lot", lot));
                [("product", product.as_str())].into_iter().chain(rest).collect()
            }
            Self::Work { area, minutes: _ } | Self::ClockOn { area } => {
                some!("area", area).into_iter().collect()
            }
            Self::Note { area, text, photo, entry: _ } => {
                let rest = some!("area", area).into_iter().chain(some!("photo", photo));
                [("note", text.as_str())].into_iter().chain(rest).collect()
            }
            Self::Import { file, readings: _ } => vec![("file", file)],
            Self::Scheme { text } => vec![("scheme", text)],
            Self::PairConfirmed { film, coat } => vec![("product", film), ("product", coat)],
            Self::Emptied { batch: _ } | Self::ClockOff | Self::Void { entry: _, by: _ } => Vec::new(),
        }
    }

    /// Takes what could drive a terminal out of every text, and says whether something was there.
    pub fn clean(&mut self) -> bool {
        if self.texts().iter().all(|(what, text)| *what == "scheme" || is_clean(text)) {
            return false;
        }
        let texts: Vec<&mut String> = match self {
            Self::Coat { area, product, next, why, .. } => {
                [area, product].into_iter().chain(next).chain(why).collect()
            }
            Self::Step { area, why, .. } => [area].into_iter().chain(why).collect(),
            Self::Finished { area } | Self::WetFilm { area, .. } => vec![area],
            Self::Reading { place, .. } => vec![place],
            Self::Batch { product, place, .. } => vec![product, place],
            Self::Stock { product, price, lot, .. } => {
                [product].into_iter().chain(price).chain(lot).collect()
            }
            Self::Work { area, .. } | Self::ClockOn { area } => area.iter_mut().collect(),
            Self::Note { area, text, photo, .. } => [text].into_iter().chain(area).chain(photo).collect(),
            Self::Import { file, .. } => vec![file],
            Self::PairConfirmed { film, coat } => vec![film, coat],
            Self::Scheme { .. } | Self::Emptied { .. } | Self::ClockOff | Self::Void { .. } => Vec::new(),
        };
        texts.into_iter().for_each(|text| *text = clean(text));
        true
    }
}

impl Reading {
    /// Whether a reading says what can be.
    ///
    /// # Errors
    /// [`Improper`] says what cannot.
    pub fn check(&self) -> Result<(), Improper> {
        moment("the reading", self.at)?;
        temperature("air", self.air)?;
        self.surface.map_or(Ok(()), |surface| temperature("surface", surface))?;
        let humidity = self.humidity.map(|humidity| Humidity::from_percent(humidity.percent())).transpose();
        humidity.map(drop).map_err(|error| Improper(format!("the humidity: {error}")))
    }
}

impl Alert {
    /// Whether an alert says what can be.
    ///
    /// # Errors
    /// [`Improper`] says what cannot.
    pub fn check(&self) -> Result<(), Improper> {
        number("the alert", self.id.0)?;
        let moments = [self.due, self.raised, self.wanted].into_iter().chain(self.acknowledged);
        moments.into_iter().try_for_each(|at| moment("the alert", at))?;
        name("subject", &self.subject)?;
        self.area.as_deref().map_or(Ok(()), |area| name("area", area))?;
        text("alert", &self.text, WORDS)?;
        count(self.round.max(self.repeat))
    }
}

impl Delivery {
    /// Whether it says what can be.
    ///
    /// # Errors
    /// [`Improper`] says what cannot.
    pub fn check(&self) -> Result<(), Improper> {
        moment("the delivery", self.sent)?;
        count(self.repeat)
    }
}

fn count(repeat: u32) -> Result<(), Improper> {
    match repeat > ROUNDS {
        true => Err(Improper(format!("an alert that was repeated {repeat} times"))),
        false => Ok(()),
    }
}

/// Whether something happened in a time that has this program.
///
/// # Errors
/// [`Improper`] outside of the years 1900 to 2999.
pub fn moment(of: &str, at: Moment) -> Result<(), Improper> {
    match at.year() {
        1900..=2999 => Ok(()),
        year => Err(Improper(format!("{of} is of the year {year}; it must be in 1900…2999"))),
    }
}

/// Whether a number can be that of an entry, an alert or a forecast.
///
/// # Errors
/// [`Improper`] below 1 and above [`HIGHEST`].
pub fn number(of: &str, number: i64) -> Result<(), Improper> {
    match number {
        1..=HIGHEST => Ok(()),
        _ => Err(Improper(format!("{of} has the number {number}; it must be in 1…{HIGHEST}"))),
    }
}

/// Whether a text can be a name: there is something in it, it is not too long, and it can be shown.
///
/// # Errors
/// [`Improper`] says what is wrong with it.
pub fn name(what: &str, name: &str) -> Result<(), Improper> {
    match name.trim().is_empty() {
        true => Err(Improper(format!("the {what} has no name"))),
        false => text(what, name, NAME),
    }
}

fn text(what: &str, text: &str, longest: usize) -> Result<(), Improper> {
    if !is_clean(text) {
        return Err(Improper(format!(
            "the {what} holds characters that cannot be shown: \"{}\"",
            clean(text)
        )));
    }
    // A character has a byte at least.
    match text.len() > longest && text.chars().count() > longest {
        true => Err(Improper(format!("the {what} is longer than {longest} characters"))),
        false => Ok(()),
    }
}

fn long_text(text: &str) -> Result<(), Improper> {
    match text.len() > SCHEME {
        true => Err(Improper(format!("the scheme is larger than {} MB", SCHEME >> 20))),
        false => Ok(()),
    }
}

fn is_clean(text: &str) -> bool {
    text.bytes().all(|byte| (b' '..=b'~').contains(&byte)) || clean(text) == text
}

fn refers_to(entry: EntryId) -> Result<(), Improper> {
    number("an entry that it names", entry.0)
}

fn temperature(of: &str, temperature: Celsius) -> Result<(), Improper> {
    temperature
        .plausible()
        .map(drop)
        .map_err(|error| Improper(format!("the temperature of the {of}: {error}")))
}

fn amount(what: &str, amount: f64, unit: &str) -> Result<(), Improper> {
    match amount > 0.0 && amount <= MOST {
        true => Ok(()),
        // A figure such as 1e300 is not written out.
        false => {
            Err(Improper(format!("the {what} is {amount:e} {unit}; it must be above 0 and at most {MOST}")))
        }
    }
}

#[cfg(test)]
mod tests;

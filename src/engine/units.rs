//! Quantities with units: parsed from typed text or files, printed in the preferred units.
//!
//! This is the innermost room. It knows no products, clock or files.

use std::fmt;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

mod amount;
mod civil;
mod duration;
mod money;
mod preferences;
mod when;

pub use amount::MOST;
pub use civil::{Civil, ClockFace};
pub use duration::{duration_text, hours_text, parse_duration};
pub use money::Money;
pub use preferences::{AreaUnit, MassUnit, TemperatureUnit, Units, VolumeUnit};
pub use when::{WhenError, local_moment, parse_when, rfc3339};

/// A moment on the time line, in UTC. Civil time is only for display and for planning.
pub type Moment = DateTime<Utc>;

/// The molar gas constant in J/(mol·K): CODATA 2018, exact since the SI of 2019.
pub const GAS_CONSTANT: f64 = 8.314_462_618;

/// 0 °C in kelvin.
pub const ZERO_CELSIUS: f64 = 273.15;

/// Why a text is not the quantity that was asked for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// No number, or a number followed by an unknown unit.
    #[error("\"{text}\" is not {wanted}")]
    NotThat {
        /// What was given, cleaned of control characters.
        text: String,
        /// What was expected, with an example.
        wanted: &'static str,
    },
    /// A number outside what a shop can have.
    #[error("{value} is outside {range}; {advice}")]
    OutOfRange {
        /// The value with its unit.
        value: String,
        /// The range that is accepted.
        range: &'static str,
        /// What to do about it.
        advice: &'static str,
    },
}

/// A temperature in °C.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Celsius(f64);

impl Celsius {
    /// From °C. Not checked: see [`Celsius::plausible`].
    pub const fn new(degrees: f64) -> Self {
        Self(degrees)
    }

    /// From kelvin.
    pub fn from_kelvin(kelvin: f64) -> Self {
        Self(kelvin - ZERO_CELSIUS)
    }

    /// From °F.
    pub fn from_fahrenheit(fahrenheit: f64) -> Self {
        Self((fahrenheit - 32.0) / 1.8)
    }

    /// The number of °C.
    pub const fn degrees(self) -> f64 {
        self.0
    }

    /// The absolute temperature in kelvin.
    pub fn kelvin(self) -> f64 {
        self.0 + ZERO_CELSIUS
    }

    /// The number of °F.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }

    /// This temperature, if air or a surface in a workshop can have it.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] outside −40…60 °C, and for what is not a number.
    pub fn plausible(self) -> Result<Self, UnitError> {
        if (-40.0..=60.0).contains(&self.0) {
            return Ok(self);
        }
        Err(UnitError::OutOfRange {
            // 1e300 is not written out.
            value: if self.0.abs() < 1e6 {
                format!("{:.1} °C", self.0)
            } else {
                format!("{:e} °C", self.0)
            },
            range: "−40…60 °C",
            advice: "check the thermometer, or write the unit: \"63F\"",
        })
    }

    /// Reads "17.5", "17,5", "17.5C", "63 F" or "63 °F"; a bare number is in `default`.
    ///
    /// # Errors
    /// [`UnitError`] where it is no temperature, or none that a shop has.
    pub fn parse(text: &str, default: TemperatureUnit) -> Result<Self, UnitError> {
        let (number, unit) = split_number(text).ok_or_else(|| not_a_temperature(text))?;
        let unit = match unit.trim_start_matches('°') {
            "" => default,
            "C" | "c" => TemperatureUnit::Celsius,
            "F" | "f" => TemperatureUnit::Fahrenheit,
            _ => return Err(not_a_temperature(text)),
        };
        match unit {
            TemperatureUnit::Celsius => Self(number),
            TemperatureUnit::Fahrenheit => Self::from_fahrenheit(number),
        }
        .plausible()
    }
}

fn not_a_temperature(text: &str) -> UnitError {
    UnitError::NotThat { text: clean(text), wanted: "a temperature such as 17.5 or 63F" }
}

/// A temperature difference in kelvin.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct KelvinDelta(f64);

impl KelvinDelta {
    /// From kelvin.
    pub const fn new(kelvin: f64) -> Self {
        Self(kelvin)
    }

    /// The number of kelvin.
    pub const fn kelvin(self) -> f64 {
        self.0
    }

    /// Its absolute value.
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// A relative humidity, held as a fraction.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Humidity(f64);

impl Humidity {
    /// From a fraction, 0 for dry and 1 for saturated. Not checked.
    pub const fn from_fraction(fraction: f64) -> Self {
        Self(fraction)
    }

    /// From per cent.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] outside 0…100 %, and for what is not a number.
    pub fn from_percent(percent: f64) -> Result<Self, UnitError> {
        if (0.0..=100.0).contains(&percent) {
            return Ok(Self(percent / 100.0));
        }
        Err(UnitError::OutOfRange {
            value: format!("{percent} %"),
            range: "0…100 %",
            advice: "give relative humidity in per cent",
        })
    }

    /// Parses typed text like [`Humidity::parse`], and refuses a fraction: no shop is drier than 1 %.
    ///
    /// # Errors
    /// [`UnitError`] where it is no humidity, or a fraction.
    pub fn parse_typed(text: &str) -> Result<Self, UnitError> {
        match split_number(text) {
            Some((percent, "")) => Self::from_number(percent),
            _ => Self::parse(text),
        }
    }

    /// From a number without a unit, in per cent. A fraction is refused: no shop is drier than 1 %.
    ///
    /// # Errors
    /// [`UnitError::OutOfRange`] outside 0…100 %, for a fraction, and for what is not a number.
    pub fn from_number(percent: f64) -> Result<Self, UnitError> {
        if percent > 0.0 && percent < 1.0 {
            return Err(UnitError::OutOfRange {
                value: format!("{percent} %"),
                range: "1…100 %",
                advice: "write 60 for 60 %, not 0.6",
            });
        }
        Self::from_percent(percent)
    }

    /// Reads "62", "62%" or "62 %".
    ///
    /// # Errors
    /// [`UnitError`] where it is no humidity.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        match split_number(text) {
            Some((percent, "" | "%")) => Self::from_percent(percent),
            _ => Err(UnitError::NotThat {
                text: clean(text),
                wanted: "a relative humidity in per cent, such as 62",
            }),
        }
    }

    /// As a fraction.
    pub const fn fraction(self) -> f64 {
        self.0
    }

    /// In per cent.
    pub fn percent(self) -> f64 {
        self.0 * 100.0
    }
}

impl fmt::Display for Humidity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} %", self.percent())
    }
}

/// An activation energy in kJ/mol.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct ActivationEnergy(f64);

impl ActivationEnergy {
    /// The rate doubles from 20 to 30 °C: R · ln 2 · T₁T₂ / 10 K = 51.2 kJ/mol. Common practice of the trade.
    pub const RULE_OF_THUMB: Self = Self(51.2);

    /// From kJ/mol.
    pub const fn from_kilojoules_per_mole(value: f64) -> Self {
        Self(value)
    }

    /// E/R in kelvin.
    pub fn over_gas_constant(self) -> f64 {
        self.0 * 1000.0 / GAS_CONSTANT
    }

    /// In kJ/mol.
    pub const fn kilojoules_per_mole(self) -> f64 {
        self.0
    }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $getter:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("So many ", $unit, ".")]
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The number of ", $unit, ".")]
            pub const fn $getter(self) -> f64 {
                self.0
            }
        }
    };
}

quantity!(
    /// A mass.
    Grams, grams, "grams"
);
quantity!(
    /// An area.
    SquareMetres, square_metres, "square metres"
);
quantity!(
    /// A film thickness.
    Micrometres, micrometres, "micrometres"
);
quantity!(
    /// A volume.
    Millilitres, millilitres, "millilitres"
);
quantity!(
    /// A density.
    KilogramsPerLitre, kilograms_per_litre, "kilograms per litre"
);
quantity!(
    /// A spreading rate.
    SquareMetresPerLitre, square_metres_per_litre, "square metres a litre"
);
quantity!(
    /// Rain, as the depth of water.
    Millimetres, millimetres, "millimetres"
);
quantity!(
    /// A wind speed.
    MetresPerSecond, metres_per_second, "metres per second"
);
quantity!(
    /// A share in per cent.
    Percent, percent, "per cent"
);

/// Splits "17.5 °C" into 17.5 and "°C". A comma counts as a decimal point, U+2212 as a minus.
pub(crate) fn split_number(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|(_, c)| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | '\u{2212}')))
        .map_or(text.len(), |(at, _)| at);
    let number = text[..end].replace(',', ".").replace('\u{2212}', "-");
    Some((number.parse().ok()?, text[end..].trim()))
}

/// The text without control characters, so that nothing from a file or an argument controls the terminal. Tabs
/// and line ends become spaces.
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if matches!(c, '\t' | '\n' | '\r') { ' ' } else { c })
        .filter(|c| !drives_a_terminal(*c))
        .collect()
}

/// Whether a character controls a terminal: a control character, or a bidirectional mark.
pub fn drives_a_terminal(c: char) -> bool {
    c.is_control() || is_direction_override(c)
}

/// The text with its first letter in upper case.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Bidirectional marks can make a line show something else than it says.
fn is_direction_override(c: char) -> bool {
    matches!(c, '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(text: &str) -> Result<f64, UnitError> {
        Celsius::parse(text, TemperatureUnit::Celsius).map(Celsius::degrees)
    }

    #[test]
    fn a_temperature_is_read_with_and_without_its_unit() {
        assert_eq!(celsius("17.5"), Ok(17.5));
        assert_eq!(celsius(" 17,5 C "), Ok(17.5));
        assert_eq!(celsius("−3"), Ok(-3.0));
        assert_eq!(celsius("68F"), Ok(20.0));
        assert_eq!(celsius("68 °F"), Ok(20.0));
        let bare = Celsius::parse("68", TemperatureUnit::Fahrenheit);
        assert_eq!(bare.map(Celsius::degrees), Ok(20.0));
    }

    #[test]
    fn impossible_values_are_refused() {
        for text in ["99", "-41", "60.1", "NaN", "", "warm", "17.5 K", "inf", "1e3", "--2", "1.2.3"] {
            assert!(celsius(text).is_err(), "{text} was taken");
        }
        assert!(Celsius::new(f64::NAN).plausible().is_err());
        assert_eq!(celsius("-40"), Ok(-40.0));
        assert_eq!(celsius("60"), Ok(60.0));
    }

    #[test]
    fn humidity_is_per_cent() {
        assert_eq!(Humidity::parse("62 %").map(Humidity::fraction), Ok(0.62));
        for text in ["101", "-1", "damp", "NaN", "0.5 kg", "0.6"] {
            assert!(Humidity::parse_typed(text).is_err(), "{text} was taken");
        }
    }

    #[test]
    fn control_characters_never_pass() {
        assert_eq!(clean("roof\u{1b}[2J\tred\u{202e}x\u{7f}"), "roof[2J redx");
    }
}

//! The units a person wants to read.

use serde::Deserialize;

use super::{Celsius, KelvinDelta};

/// Degrees Celsius or Fahrenheit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
pub enum TemperatureUnit {
    /// °C
    #[default]
    #[serde(rename = "C", alias = "°C", alias = "celsius")]
    Celsius,
    /// °F
    #[serde(rename = "F", alias = "°F", alias = "fahrenheit")]
    Fahrenheit,
}

/// Grams or ounces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
pub enum MassUnit {
    /// g
    #[default]
    #[serde(rename = "g")]
    Grams,
    /// oz
    #[serde(rename = "oz")]
    Ounces,
}

/// Square metres or square feet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
pub enum AreaUnit {
    /// m²
    #[default]
    #[serde(rename = "m2", alias = "m²")]
    SquareMetres,
    /// ft²
    #[serde(rename = "ft2", alias = "ft²")]
    SquareFeet,
}

/// What quantities are printed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Units {
    /// For temperatures and their differences.
    pub temperature: TemperatureUnit,
    /// For masses.
    pub mass: MassUnit,
    /// For areas.
    pub area: AreaUnit,
}

impl Units {
    /// "17.8 °C" or "64.0 °F".
    pub fn temperature(&self, value: Celsius) -> String {
        match self.temperature {
            TemperatureUnit::Celsius => format!("{:.1} °C", value.degrees()),
            TemperatureUnit::Fahrenheit => format!("{:.1} °F", value.fahrenheit()),
        }
    }

    /// "2.0 K" or "3.6 °F".
    pub fn difference(&self, value: KelvinDelta) -> String {
        match self.temperature {
            TemperatureUnit::Celsius => format!("{:.1} K", value.kelvin()),
            TemperatureUnit::Fahrenheit => format!("{:.1} °F", value.kelvin() * 1.8),
        }
    }
}

//! The units a person wants to read.

use serde::Deserialize;

use super::{Celsius, Grams, KelvinDelta, Micrometres, Millilitres, SquareMetres, SquareMetresPerLitre};

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

/// Litres or US quarts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
pub enum VolumeUnit {
    /// L
    #[default]
    #[serde(rename = "L", alias = "l")]
    Litres,
    /// US liquid quarts
    #[serde(rename = "qt")]
    Quarts,
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
    /// For volumes.
    pub volume: VolumeUnit,
    /// For areas, and with them for films: µm or mil.
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

    /// "300 g", "1.25 kg", "10.6 oz" or "2.76 lb".
    pub fn mass(&self, value: Grams) -> String {
        let (small, large) = match self.mass {
            MassUnit::Grams => (value.grams(), 1000.0),
            MassUnit::Ounces => (value.grams() / Grams::PER_OUNCE, 16.0),
        };
        let (small_unit, large_unit) = match self.mass {
            MassUnit::Grams => ("g", "kg"),
            MassUnit::Ounces => ("oz", "lb"),
        };
        match self.mass {
            _ if small >= large => format!("{:.2} {large_unit}", small / large),
            MassUnit::Grams if small >= 20.0 => format!("{small:.0} {small_unit}"),
            _ => format!("{small:.1} {small_unit}"),
        }
    }

    /// "250 mL", "1.25 L", "8.5 fl oz" or "1.32 qt".
    pub fn volume(&self, value: Millilitres) -> String {
        let millilitres = value.millilitres();
        match self.volume {
            VolumeUnit::Litres if millilitres >= 1000.0 => format!("{:.2} L", millilitres / 1000.0),
            VolumeUnit::Litres if millilitres >= 20.0 => format!("{millilitres:.0} mL"),
            VolumeUnit::Litres => format!("{millilitres:.1} mL"),
            VolumeUnit::Quarts if millilitres >= Millilitres::PER_QUART => {
                format!("{:.2} qt", millilitres / Millilitres::PER_QUART)
            }
            VolumeUnit::Quarts => format!("{:.1} fl oz", millilitres / Millilitres::PER_FLUID_OUNCE),
        }
    }

    /// "6.5 m²" or "70 ft²".
    pub fn area(&self, value: SquareMetres) -> String {
        match self.area {
            AreaUnit::SquareMetres => format!("{:.1} m²", value.square_metres()),
            AreaUnit::SquareFeet => {
                format!("{:.0} ft²", value.square_metres() / SquareMetres::PER_SQUARE_FOOT)
            }
        }
    }

    /// "75 µm" or "3.0 mil".
    pub fn film(&self, value: Micrometres) -> String {
        match self.area {
            AreaUnit::SquareMetres => format!("{:.0} µm", value.micrometres()),
            AreaUnit::SquareFeet => format!("{:.1} mil", value.micrometres() / Micrometres::PER_MIL),
        }
    }

    /// "60 to 90 µm" or "2.4 to 3.5 mil".
    pub fn films(&self, thin: Micrometres, thick: Micrometres) -> String {
        let (thin, thick) = (self.film(thin), self.film(thick));
        format!("{} to {thick}", thin.split(' ').next().unwrap_or(&thin))
    }

    /// "50, 80, 100 µm".
    pub fn film_list(&self, films: &[Micrometres]) -> String {
        let films: Vec<String> = films.iter().map(|film| self.film(*film)).collect();
        let unit = films.last().and_then(|last| last.split_once(' ')).map_or("", |(_, unit)| unit);
        let numbers: Vec<&str> = films.iter().filter_map(|film| film.split(' ').next()).collect();
        format!("{} {unit}", numbers.join(", "))
    }

    /// What a scale of this step shows: "366 g" or "12.9 oz", never in kilograms.
    pub fn weighed(&self, value: Grams, step: Grams) -> String {
        let (per_unit, unit) = match self.mass {
            MassUnit::Grams => (1.0, "g"),
            MassUnit::Ounces => (Grams::PER_OUNCE, "oz"),
        };
        let step = step.grams() / per_unit;
        let whole = |steps: f64| steps.round() >= 1.0 && (steps - steps.round()).abs() < 1e-6;
        let decimals = (0_u8..3).find(|d| whole(step * 10_f64.powi((*d).into()))).unwrap_or(3);
        format!("{:.*} {unit}", usize::from(decimals), value.grams() / per_unit)
    }

    /// "12.1 m² a litre" or "123 ft² a quart".
    pub fn spreading_rate(&self, value: SquareMetresPerLitre) -> String {
        let (volume, name) = match self.volume {
            VolumeUnit::Litres => (1000.0, "litre"),
            VolumeUnit::Quarts => (Millilitres::PER_QUART, "quart"),
        };
        let area = SquareMetres::new(value.square_metres_per_litre() * volume / 1000.0);
        format!("{} a {name}", self.area(area))
    }

    /// The step of a usual kitchen or shop scale: 1 g, or 0.1 oz.
    pub const fn usual_scale(&self) -> Grams {
        match self.mass {
            MassUnit::Grams => Grams::new(1.0),
            MassUnit::Ounces => Grams::new(0.1 * Grams::PER_OUNCE),
        }
    }
}

//! Masses, volumes, areas and films as a person types them.

use super::{
    AreaUnit, Grams, MassUnit, Micrometres, Millilitres, Millimetres, SquareMetres, UnitError, VolumeUnit,
    clean, split_number,
};

/// The largest accepted amount, in grams, millilitres, square metres, micrometres or millimetres. Implausible
/// amounts are questioned later, where their context is known.
pub const MOST: f64 = 1e8;

impl Grams {
    /// The avoirdupois ounce in grams, exact since 1959.
    pub const PER_OUNCE: f64 = 28.349_523_125;

    /// Reads "300", "300g", "0.3 kg", "10.6 oz" or "1.2 lb"; a bare number is in `default`.
    ///
    /// # Errors
    /// [`UnitError`] where it is no mass, or not more than nothing.
    pub fn parse(text: &str, default: MassUnit) -> Result<Self, UnitError> {
        let wanted = "a mass such as 300g, 0.3kg or 10.6oz";
        positive(text, wanted, |unit| match (unit, default) {
            ("g", _) | ("", MassUnit::Grams) => Some(1.0),
            ("kg", _) => Some(1000.0),
            ("oz", _) | ("", MassUnit::Ounces) => Some(Self::PER_OUNCE),
            ("lb" | "lbs", _) => Some(16.0 * Self::PER_OUNCE),
            _ => None,
        })
        .map(Self)
    }
}

impl Millilitres {
    /// The US liquid quart in millilitres, exact: 57.75 cubic inches.
    pub const PER_QUART: f64 = 946.352_946;
    /// The US fluid ounce in millilitres, exact: 1/32 quart.
    pub const PER_FLUID_OUNCE: f64 = 29.573_529_562_5;

    /// Reads "750 ml", "0.75 L", "1 qt", "8 fl oz"; a bare number is in litres or quarts, by `default`.
    ///
    /// # Errors
    /// [`UnitError`] where it is no volume, or not more than nothing.
    pub fn parse(text: &str, default: VolumeUnit) -> Result<Self, UnitError> {
        let wanted = "a volume such as 750ml, 0.75L or 1qt";
        positive(text, wanted, |unit| match (unit.to_ascii_lowercase().as_str(), default) {
            ("ml", _) => Some(1.0),
            ("l", _) | ("", VolumeUnit::Litres) => Some(1000.0),
            ("qt", _) | ("", VolumeUnit::Quarts) => Some(Self::PER_QUART),
            ("fl oz" | "floz", _) => Some(Self::PER_FLUID_OUNCE),
            ("gal", _) => Some(4.0 * Self::PER_QUART),
            _ => None,
        })
        .map(Self)
    }
}

impl SquareMetres {
    /// The international square foot in square metres, exact.
    pub const PER_SQUARE_FOOT: f64 = 0.092_903_04;

    /// Reads "6.5", "6.5 m2" or "70 ft2"; a bare number is in `default`.
    ///
    /// # Errors
    /// [`UnitError`] where it is no area, or not more than nothing.
    pub fn parse(text: &str, default: AreaUnit) -> Result<Self, UnitError> {
        positive(text, "an area such as 6.5m2 or 70ft2", |unit| match (unit, default) {
            ("m2" | "m²", _) | ("", AreaUnit::SquareMetres) => Some(1.0),
            ("ft2" | "ft²" | "sqft", _) | ("", AreaUnit::SquareFeet) => Some(Self::PER_SQUARE_FOOT),
            _ => None,
        })
        .map(Self)
    }
}

impl Micrometres {
    /// The thousandth of an inch in micrometres, exact.
    pub const PER_MIL: f64 = 25.4;

    /// Reads "75", "75 um", "75 µm" or "3 mil"; a bare number is in µm, or in mil beside square feet.
    ///
    /// # Errors
    /// [`UnitError`] where it is no thickness, or not more than nothing.
    pub fn parse(text: &str, default: AreaUnit) -> Result<Self, UnitError> {
        positive(text, "a film such as 75um or 3mil", |unit| match (unit, default) {
            ("um" | "µm" | "μm", _) | ("", AreaUnit::SquareMetres) => Some(1.0),
            ("mil" | "mils", _) | ("", AreaUnit::SquareFeet) => Some(Self::PER_MIL),
            _ => None,
        })
        .map(Self)
    }
}

impl Millimetres {
    /// Reads "10", "10 mm", "1 cm" or "0.4 in".
    ///
    /// # Errors
    /// [`UnitError`] where it is no depth, or not more than nothing.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        positive(text, "a depth such as 10mm, 1cm or 0.4in", |unit| match unit {
            "" | "mm" => Some(1.0),
            "cm" => Some(10.0),
            "in" | "\"" => Some(25.4),
            _ => None,
        })
        .map(Self)
    }
}

fn positive(
    text: &str,
    wanted: &'static str,
    factor: impl Fn(&str) -> Option<f64>,
) -> Result<f64, UnitError> {
    let read = split_number(text).and_then(|(number, unit)| Some((number, factor(unit)?)));
    let Some((number, factor)) = read else {
        return Err(UnitError::NotThat { text: clean(text), wanted });
    };
    let value = number * factor;
    if value > 0.0 && value <= MOST {
        return Ok(value);
    }
    Err(UnitError::OutOfRange {
        value: clean(text.trim()),
        range: "the possible range",
        advice: if value > MOST { "check the number and its unit" } else { "give more than 0" },
    })
}

#[cfg(test)]
mod tests {
    use super::super::Units;
    use super::*;

    #[test]
    fn a_mass_is_read_with_its_unit_and_printed_in_the_persons() {
        let grams = |text| Grams::parse(text, MassUnit::Grams).map(Grams::grams);
        assert_eq!(grams("300g"), Ok(300.0));
        assert_eq!(grams("0,3 kg"), Ok(300.0));
        assert_eq!(grams("1 lb"), Ok(453.592_37));
        assert_eq!(Grams::parse("2", MassUnit::Ounces).map(Grams::grams), Ok(56.699_046_25));
        for text in ["0", "-5 g", "NaN", "", "300 ml", "heavy", "inf"] {
            assert!(grams(text).is_err(), "{text} was taken");
        }
        let metric = Units::default();
        assert_eq!(metric.mass(Grams::new(300.0)), "300 g");
        assert_eq!(metric.mass(Grams::new(7.25)), "7.2 g");
        assert_eq!(metric.mass(Grams::new(1250.0)), "1.25 kg");
        let other = Units { mass: MassUnit::Ounces, ..metric };
        assert_eq!(other.mass(Grams::new(300.0)), "10.6 oz");
        assert_eq!(other.mass(Grams::new(1000.0)), "2.20 lb");
    }

    #[test]
    fn a_volume_is_read_with_its_unit_and_printed_in_the_persons() {
        let litres = |text| Millilitres::parse(text, VolumeUnit::Litres).map(Millilitres::millilitres);
        assert_eq!(litres("750ml"), Ok(750.0));
        assert_eq!(litres("0.75"), Ok(750.0));
        assert_eq!(litres("1 qt"), Ok(946.352_946));
        assert_eq!(litres("1 gal"), Ok(3_785.411_784));
        assert!(litres("1 kg").is_err());
        let quarts = Units { volume: VolumeUnit::Quarts, ..Units::default() };
        assert_eq!(quarts.volume(Millilitres::new(250.0)), "8.5 fl oz");
        assert_eq!(quarts.volume(Millilitres::new(1250.0)), "1.32 qt");
        assert_eq!(Units::default().volume(Millilitres::new(250.0)), "250 mL");
    }

    #[test]
    fn a_film_and_an_area_are_read_with_their_units() {
        assert_eq!(Micrometres::parse("3 mil", AreaUnit::SquareMetres), Ok(Micrometres::new(3.0 * 25.4)));
        assert_eq!(Micrometres::parse("3", AreaUnit::SquareFeet), Ok(Micrometres::new(3.0 * 25.4)));
        assert_eq!(Micrometres::parse("75 µm", AreaUnit::SquareFeet), Ok(Micrometres::new(75.0)));
        assert_eq!(SquareMetres::parse("100 ft2", AreaUnit::SquareMetres), Ok(SquareMetres::new(9.290_304)));
        assert_eq!(Millimetres::parse("1 cm"), Ok(Millimetres::new(10.0)));
        assert!(Millimetres::parse("10 g").is_err());
    }
}

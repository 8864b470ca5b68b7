//! The details of an entry that can be corrected.

/// A detail of an entry that can be corrected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Detail {
    /// The area.
    Area,
    /// The product.
    Product,
    /// What goes on next.
    Next,
    /// The number of a batch.
    Batch,
    /// Which step.
    Step,
    /// How long it took.
    Minutes,
    /// A temperature: of the air, or of a batch.
    Temperature,
    /// Relative humidity.
    Humidity,
    /// The temperature of the surface.
    Surface,
    /// The place.
    Place,
    /// The mass of a batch.
    Mass,
    /// What a batch stands in: "cup", or the depth in a tray.
    Vessel,
    /// A wet film, spot by spot.
    Film,
    /// How much was bought.
    Amount,
    /// What it cost.
    Price,
    /// The number on the tin.
    Lot,
    /// The words of a note.
    Text,
    /// Where a photo lies.
    Photo,
    /// Why coats were taken off.
    Why,
}

impl Detail {
    /// Its name, as an option and before a field.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Area => "area",
            Self::Product => "product",
            Self::Next => "next",
            Self::Batch => "batch",
            Self::Step => "step",
            Self::Minutes => "minutes",
            Self::Temperature => "temperature",
            Self::Humidity => "humidity",
            Self::Surface => "surface",
            Self::Place => "place",
            Self::Mass => "mass",
            Self::Vessel => "vessel",
            Self::Film => "film",
            Self::Amount => "amount",
            Self::Price => "price",
            Self::Lot => "lot",
            Self::Text => "text",
            Self::Photo => "photo",
            Self::Why => "why",
        }
    }
}

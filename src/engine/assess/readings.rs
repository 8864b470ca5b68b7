//! The survey's interface to readings and weather; another room implements it.

use crate::engine::air::{OutdoorHour, Provenance};
use crate::engine::cure::Reading;
use crate::engine::units::Moment;

/// Where readings come from.
pub trait Readings {
    /// Its error.
    type Error;

    /// The readings of a place from the last one before `from` on, none after `to`, in order of time.
    ///
    /// # Errors
    /// Where they cannot be read.
    fn readings(&self, place: &str, from: Moment, to: Moment) -> Result<Vec<Reading>, Self::Error>;

    /// The outdoor hours between two moments, recorded and forecast, in order of time.
    ///
    /// # Errors
    /// Where they cannot be read.
    fn outdoor(&self, from: Moment, to: Moment) -> Result<Vec<OutdoorHour>, Self::Error>;

    /// When the forecast was made or, if unknown, imported.
    ///
    /// # Errors
    /// Where it cannot be read.
    fn forecast_at(&self) -> Result<Option<Moment>, Self::Error>;

    /// The source of the forecast; None without one.
    ///
    /// # Errors
    /// Where it cannot be read.
    fn forecast_from(&self) -> Result<Option<Provenance>, Self::Error> {
        Ok(None)
    }
}

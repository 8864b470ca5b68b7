//! The air of a place: dew point, surface temperature, and how a place follows the outdoor air.
//!
//! Inputs are readings, records and moments. This room knows no clock, file or terminal.
//!
//! Surface, shop and moisture share one equation, y' = (input − y) / tau, solved in closed form where the input
//! is linear: between two readings, or two hours of a forecast.

mod climatology;
mod dew;
mod fitting;
mod forecast_error;
mod lag;
mod moisture;
mod outdoor;
mod prediction;
mod shop;
mod slots;
mod suitability;
mod surface;
mod trend;

pub use climatology::{SeasonalMeans, Spread, indoors};
pub use dew::{DewPoint, VapourPressure, dew_point, humidity_at, margin, vapour_pressure};
pub use fitting::TooLittle;
pub use forecast_error::{error_inside, outdoor_error};
pub use moisture::{Moisture, hold_moisture};
pub use outdoor::{
    FetchState, KeptForecast, MET_NORWAY_CREDIT, MET_NORWAY_LICENCE, Origin, OutdoorHour, Provenance,
};
pub use prediction::{NotPredicted, Prediction, predict_place};
pub use shop::{Shop, ShopModel};
pub use slots::{Coming, LastStart};
pub use suitability::{Air, Objection, Objections, Task, rain_between};
pub use surface::{SurfaceLine, SurfaceSource, surface_at};
pub use trend::{Cooling, Dampening};

//! The air of a place and the weather over it: dew point, surface temperature, and how a place follows the
//! outdoors.
//!
//! This room is given readings, records and moments. It knows no clock, no file and no terminal.
//!
//! Surface, shop and moisture share one equation, y' = (input − y) / tau, solved in closed form wherever
//! the input is a straight line: between two readings, or two hours of a forecast.

mod dew;
mod fitness;
mod fitting;
mod follow;
mod foresight;
mod moisture;
mod season;
mod shop;
mod skill;
mod slots;
mod surface;

pub use dew::{DewPoint, VapourPressure, dew_point, humidity_at, margin, vapour_pressure};
pub use fitness::{Against, Air, Reasons, Task};
pub use fitting::TooLittle;
pub use foresight::{Foresight, Unforeseen, foresee};
pub use moisture::{Moisture, hold_moisture};
pub use season::{Season, Strays, indoors};
pub use shop::{Shop, ShopModel};
pub use skill::{error_inside, outdoor_error};
pub use slots::{Coming, LastStart};
pub use surface::{SurfaceLine, surface_at};

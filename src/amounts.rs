//! How much: what a coat needs, what to weigh out and in how many batches, what the stock still holds, and how
//! the film builds up.
//!
//! This room is given the job, the products and the air, and knows no clock, no file and no terminal.

mod batches;
mod build_up;
mod cost;
mod film;
mod material;
mod mixing;
mod need;
mod pace;
mod parts;
mod planned;
mod quantity;
mod slip;
mod stock;
mod way_out;
mod wet_on_wet;

pub use batches::{AirThere, NoSplit, Pot, PotBySheet, Split, Spreading, Unfit, Usable, UsableBy, split};
pub use build_up::{BuildUp, CoatFilm, Fits, Range, Spot};
pub use cost::Costs;
pub use film::{dry_film, practical_rate, spreading_rate, thinned_solids, wet_film};
pub use material::Material;
pub use mixing::{AirFrom, Mixing, Shop, UNREAD};
pub use need::{Need, Practice, coat_need};
pub use pace::{KnownBy, Pace, pace};
pub use parts::{Part, RATIO_TOLERANCE, Weighed, equal_portion, next_well_weighed, parts, weigh, weigh_well};
pub use planned::{ProductNeed, planned_needs};
pub use quantity::{AreaQuantity, Asked, Cannot, CoatQuantity, ProductQuantity, Quantities};
pub use slip::{Slip, film_meant, film_slip, stock_slip};
pub use stock::{Ledger, Used, ledgers, mean_film};
pub use way_out::{Cooler, Fiddly, InTray, Slower, WayOut};
pub use wet_on_wet::WetOnWet;

//! Amounts: needs, parts and batches of a coat, stock, and film build-up.
//!
//! Inputs are the job, the products and the air. This room knows no clock, file or terminal.

mod alternatives;
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
mod plausibility;
mod quantity;
mod stock;
mod wet_on_wet;

pub use alternatives::{Alternatives, Cooler, Impractical, InTray, Slower};
pub use batches::{AirThere, NoSplit, Pot, PotBySheet, Split, Spreading, Unfit, Usable, UsableBy, split};
pub use build_up::{BuildUp, CoatFilm, Fits, Range, Spot};
pub use cost::Costs;
pub use film::{dry_film, practical_rate, spreading_rate, thinned_solids, wet_film};
pub use material::Material;
pub use mixing::{AirFrom, Mixing, Shop, UNREAD};
pub use need::{Need, Practice, coat_need};
pub use pace::{KnownBy, Pace, pace};
pub use parts::{
    Part, RATIO_TOLERANCE, Weighed, equal_portion, next_accurate_batch, parts, weigh, weigh_accurately,
};
pub use planned::{ProductNeed, planned_needs};
pub use plausibility::{Implausible, film_meant, implausible_film, implausible_stock};
pub use quantity::{AreaQuantity, Asked, Cannot, CoatQuantity, ProductQuantity, Quantities};
pub use stock::{Ledger, Used, ledgers, mean_film};
pub use wet_on_wet::WetOnWet;

//! The pot: how long a mixed batch is usable, how warm it makes itself, and what would be safe.
//!
//! A batch warms itself. a: share of the working life used, T: its temperature, t: time.
//! da/dt = k(T), dT/dt = W·k(T) − (T − T_air(t))/τ; usable until a = 1. k is Arrhenius between the points of
//! the data sheet; W, in kelvin, is how much the batch would warm over its working life without losses; τ is
//! the time constant with which its container cools. k, and W where the data sheet gives two masses, are
//! calibrated so that the data sheet's own pot lives come out again.
//!
//! This room is given the profile, the air over time and the batch. It knows no clock, no file and no job.

mod advice;
mod calibration;
mod hazard;
mod kinetics;
pub mod ode;
mod self_heating;
mod standing;
mod vessel;

pub use advice::Safer;
pub use hazard::{HOT, Hazard, Outside};
pub use kinetics::{Kinetics, Warmth};
pub use self_heating::{Portion, SelfHeating};
pub use standing::{PotStanding, Usable};
pub use vessel::Vessel;

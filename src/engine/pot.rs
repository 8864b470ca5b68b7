//! The pot life of a mixed batch, its self-heating, and safe alternatives.
//!
//! A batch heats itself. a: used share of the working life, T: its temperature, t: time.
//! da/dt = k(T), dT/dt = W·k(T) − (T − T_air(t))/τ; usable until a = 1. k is Arrhenius between the points of
//! the data sheet. W, in kelvin, is the adiabatic temperature rise over the working life. τ is the cooling time
//! constant of the container. k, and W if the data sheet gives two masses, are calibrated to reproduce the data
//! sheet's pot lives.
//!
//! Inputs are the profile, the air over time and the batch. This room knows no clock, file or job.

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

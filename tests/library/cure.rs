//! The engine against numbers that it did not make: published ones, closed forms, and integrals that
//! SciPy computed. Every check names its source.

mod arrhenius;
mod band;
mod coverage;
mod maturity;
mod properties;
mod quadrature;
mod shop;
mod ufgs;
mod year;

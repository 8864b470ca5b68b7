//! The engine against numbers from outside: published ones, closed forms, and integrals that
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

//! The engine against numbers that it did not make: published ones, closed forms, and integrals that
//! SciPy computed. Every check names its source.

#[path = "reference/arrhenius.rs"]
mod arrhenius;
#[path = "reference/coverage.rs"]
mod coverage;
#[path = "reference/maturity.rs"]
mod maturity;
#[path = "reference/quadrature.rs"]
mod quadrature;
#[path = "reference/shop.rs"]
mod shop;
#[path = "reference/ufgs.rs"]
mod ufgs;
#[path = "reference/year.rs"]
mod year;

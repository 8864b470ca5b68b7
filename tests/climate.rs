//! The climate room against numbers that it did not make: published tables, closed forms, SciPy, and a
//! public record of an unheated space. Every check names its source.

#[path = "climate/air.rs"]
mod air;
#[path = "climate/attic.rs"]
mod attic;
#[path = "climate/dew.rs"]
mod dew;
#[path = "climate/forecast.rs"]
mod forecast;
#[path = "climate/lag.rs"]
mod lag;
#[path = "climate/properties.rs"]
mod properties;
#[path = "climate/season.rs"]
mod season;
#[path = "climate/shop.rs"]
mod shop;
#[path = "climate/textbook.rs"]
mod textbook;

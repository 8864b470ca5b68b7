//! The climate room against numbers from outside: published tables, closed forms, SciPy, and a
//! public record of an unheated space. Every check names its source.

mod attic;
mod dew;
mod forecast;
mod lag;
mod lines;
mod properties;
mod season;
mod shop;
mod textbook;

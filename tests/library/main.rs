//! The rooms of the library through their public doors: figures from outside, properties, whole jobs.
//! A folder for each room; `cargo test --test library cure` runs one of them.

mod air;
mod amounts;
mod assess;
mod calendar;
mod cure;
mod import;
mod moving;
mod picture;
mod plan;
mod pot;
mod profile;
mod rooms;
mod store;
mod words;

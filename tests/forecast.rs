//! The outdoor forecast: taken in, kept, fetched from a service that is good, slow or broken, and shown.

#[expect(dead_code, reason = "the home that all tests of commands share")]
mod common;

#[path = "forecast/commands.rs"]
mod commands;
#[path = "forecast/fetching.rs"]
mod fetching;
#[path = "forecast/keeping.rs"]
mod keeping;
#[path = "forecast/server.rs"]
mod server;

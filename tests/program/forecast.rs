//! The outdoor forecast: taken in, kept, fetched from a service that is good, slow or broken, and shown.

mod commands;
mod fetching;
mod keeping;
mod server;

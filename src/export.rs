//! The record as files for others: a page, a text, tables.
//!
//! What is in them is gathered once, as plain data; each form is written from that and from nothing else, so
//! that they cannot contradict one another. This room knows no clock, no file and no terminal.

mod csv;
mod escape;
mod glance;
mod html;
mod lines;
mod markdown;
pub mod report;
mod tell;

pub use csv::{coats_csv, readings_csv};
pub use glance::coat_view;
pub use html::html;
pub use lines::{LineFault, read_lines, write_lines};
pub use markdown::markdown;
pub use report::Report;

//! What a job knows, in the forms that other programs read.
//!
//! This room is given surveys and `now`, and gives back text. It knows no files, no terminal and no clock.

pub mod calendar;

//! The command line, end to end: the real program in a home of its own.

mod air;
mod amounts;
mod calendar;
mod climate;
mod closed_pipe;
mod demo;
mod files_that_are_no_job;
mod following;
mod free;
mod full_or_locked;
mod json;
mod labour;
mod learned;
mod logger;
mod moving;
mod own_profiles;
mod packaging;
mod plan;
mod pot;
mod refusals;
mod report;
mod settings;
mod times;
mod together;
mod watch;
mod weekend;

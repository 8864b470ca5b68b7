//! The command line, end to end: the real program in a home of its own.

mod common;

#[path = "commands/air.rs"]
mod air;
#[path = "commands/amounts.rs"]
mod amounts;
#[path = "commands/calendar.rs"]
mod calendar;
#[path = "commands/climate.rs"]
mod climate;
#[path = "commands/closed_pipe.rs"]
mod closed_pipe;
#[path = "commands/demo.rs"]
mod demo;
#[path = "commands/files_that_are_no_job.rs"]
mod files_that_are_no_job;
#[path = "commands/following.rs"]
mod following;
#[path = "commands/free.rs"]
mod free;
#[path = "commands/full_or_locked.rs"]
mod full_or_locked;
#[path = "commands/json.rs"]
mod json;
#[path = "commands/labour.rs"]
mod labour;
#[path = "commands/learned.rs"]
mod learned;
#[path = "commands/logger.rs"]
mod logger;
#[path = "commands/moving.rs"]
mod moving;
#[path = "commands/own_profiles.rs"]
mod own_profiles;
#[path = "commands/packaging.rs"]
mod packaging;
#[path = "commands/plan.rs"]
mod plan;
#[path = "commands/pot.rs"]
mod pot;
#[path = "commands/refusals.rs"]
mod refusals;
#[path = "commands/report.rs"]
mod report;
#[path = "commands/settings.rs"]
mod settings;
#[path = "commands/times.rs"]
mod times;
#[path = "commands/together.rs"]
mod together;
#[path = "commands/watch.rs"]
mod watch;
#[path = "commands/weekend.rs"]
mod weekend;

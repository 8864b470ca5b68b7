//! The outside world: the job's file, what loggers, sensors and services say, the desktop's notifications.
pub mod notifier;
pub mod platform;
pub mod sources;
pub mod store;

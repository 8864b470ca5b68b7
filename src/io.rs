//! The outside world: the job's file, loggers, sensors, services, desktop notifications.
pub mod notifier;
pub mod platform;
pub mod sources;
pub mod store;

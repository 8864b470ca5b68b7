//! Where readings come from: files of loggers.
//!
//! This room turns what others write into readings. It knows no job and no film, opens no files and has no
//! clock: it is given the bytes and `now`.

mod csv;

pub use self::csv::{LoggerError, LoggerFile, RowFault, read_logger};

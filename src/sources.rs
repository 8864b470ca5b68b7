//! Where readings and the weather come from: files of loggers, forecasts, and the service that is asked for
//! one.
//!
//! This room turns what others write into readings and hours. It knows no job and no film, opens no files
//! and has no clock: it is given the bytes and `now`. `fetch` alone reaches into the network.

mod csv;
mod fetch;
mod forecast;

pub use self::csv::{LoggerError, LoggerFile, RowFault, read_logger};
pub use self::fetch::{FetchError, FetchOptions, Fetched, Outcome, fetch};
pub use self::forecast::{
    Forecast, ForecastError, Form, JSON_LIMIT as FORECAST_LIMIT, Note, read_forecast, read_forecast_csv,
    read_forecast_json,
};

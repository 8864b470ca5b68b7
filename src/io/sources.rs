//! Sources of readings, weather and busy times: logger files, sensors, forecasts, a weather service, calendars.
//!
//! This room turns external data into readings and hours. It knows no job or film, opens no files and has no
//! clock: it is given the bytes and `now`. Only `fetch` and `sensor` do I/O: the network, kernel files and
//! programs.

mod calendar;
mod csv;
mod fetch;
mod forecast;
mod sensor;

pub use self::calendar::{CALENDAR_LIMIT, CalendarError, CalendarFile, read_calendar};
pub use self::csv::{
    DateOrder, LoggerColumn, LoggerError, LoggerFile, LoggerOptions, NamedColumn, Recognised, RowFault,
    read_logger, read_logger_with,
};
pub use self::fetch::{FetchError, FetchOptions, Fetched, Outcome, fetch};
pub use self::forecast::{
    Forecast, ForecastError, Form, JSON_LIMIT as FORECAST_LIMIT, Note, read_forecast, read_forecast_csv,
    read_forecast_json,
};
pub use self::sensor::{Now, SensorEvent, SensorFault, SensorHub, to_keep};

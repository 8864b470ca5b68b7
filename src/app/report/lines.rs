//! The whole job as JSON Lines, for export: a head with the version, a line for each thing, and an end
//! that counts them, so that a file that was cut off is known for one.

mod read;

use std::io::{self, Write};

use chrono::SubsecRound;
use serde::{Deserialize, Serialize};

use crate::app::json::write_line;
use crate::engine::air::{Origin, OutdoorHour};
use crate::engine::job::{Alert, AlertId, AlertKind, Channel, Delivery, ReportedWindow};
use crate::engine::job::{Entry, EntryId, EntryKind};
use crate::engine::units::{Celsius, Humidity, MetresPerSecond, Millimetres, Moment};
use crate::io::store::{Forecast, ForecastId, KeptReading, Whole};

pub use read::{LineFault, read_lines};

/// The version of the lines. What is read by name can grow without a new one.
pub const VERSION: u32 = 1;

/// What the lines of a job begin with.
pub const JOB_HEAD: &[u8] = br#"{"job":{"version":"#;

/// One line.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Line {
    Job(Head),
    Entry(EntryLine),
    Reading(ReadingLine),
    Forecast(ForecastLine),
    Outdoor(OutdoorLine),
    Alert(AlertLine),
    #[serde(rename = "told")]
    Window(ReportedWindow),
    End(End),
}

#[derive(Debug, Serialize, Deserialize)]
struct Head {
    version: u32,
    program: String,
    at: Moment,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct End {
    lines: usize,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EntryLine {
    id: EntryId,
    at: Moment,
    recorded: Moment,
    body: EntryKind,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ReadingLine {
    place: String,
    at: Moment,
    air_c: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    humidity_percent: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    surface_c: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    entry: Option<EntryId>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ForecastLine {
    id: ForecastId,
    taken: Moment,
    made: Option<Moment>,
    file: Option<String>,
    service: Option<String>,
    met_norway: bool,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct OutdoorLine {
    at: Moment,
    air_c: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    humidity_fraction: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    rain_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    wind_m_per_s: Option<f64>,
    forecast: ForecastId,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AlertLine {
    id: AlertId,
    kind: AlertKind,
    subject: String,
    round: u32,
    area: Option<String>,
    due: Moment,
    raised: Moment,
    #[serde(default, skip_serializing_if = "is_zero")]
    repeat: u32,
    #[serde(rename = "told")]
    wanted: Moment,
    acknowledged: Option<Moment>,
    text: String,
    /// The channels that took it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    sent: Vec<SentLine>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct SentLine {
    channel: Channel,
    #[serde(default, skip_serializing_if = "is_zero")]
    repeat: u32,
    at: Moment,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
const fn is_zero(count: &u32) -> bool {
    *count == 0
}

/// Writes a job as lines.
///
/// # Errors
/// Those of the writer.
pub fn write_lines(whole: &Whole, program: &str, at: Moment, out: &mut dyn Write) -> io::Result<()> {
    let mut lines = Lines { out, count: 0 };
    lines.put(&Line::Job(Head { version: VERSION, program: program.to_owned(), at: at.trunc_subsecs(0) }))?;
    for Entry { id, at, recorded, kind } in &whole.entries {
        let body = kind.clone();
        lines.put(&Line::Entry(EntryLine { id: *id, at: *at, recorded: *recorded, body }))?;
    }
    for kept in &whole.readings {
        lines.put(&Line::Reading(ReadingLine::of(kept)))?;
    }
    for forecast in &whole.forecasts {
        lines.put(&Line::Forecast(ForecastLine::of(forecast)))?;
    }
    for (hour, forecast) in &whole.outdoor {
        lines.put(&Line::Outdoor(OutdoorLine::of(hour, *forecast)))?;
    }
    for alert in &whole.alerts {
        lines.put(&Line::Alert(AlertLine::of(alert, &whole.deliveries)))?;
    }
    for window in &whole.windows {
        lines.put(&Line::Window(*window))?;
    }
    let end = End { lines: lines.count + 1 };
    lines.put(&Line::End(end))
}

struct Lines<'w> {
    out: &'w mut dyn Write,
    count: usize,
}

impl Lines<'_> {
    fn put(&mut self, line: &Line) -> io::Result<()> {
        self.count += 1;
        write_line(self.out, line)?;
        self.out.write_all(b"\n")
    }
}

impl ReadingLine {
    fn of(kept: &KeptReading) -> Self {
        // A packed humidity is in hundredths of a per cent; the rest is rounding of the computer.
        let percent = |humidity: Humidity| (humidity.percent() * 100.0).round() / 100.0;
        Self {
            place: kept.place.clone(),
            at: kept.reading.at,
            air_c: kept.reading.air.degrees(),
            humidity_percent: kept.reading.humidity.map(percent),
            surface_c: kept.reading.surface.map(Celsius::degrees),
            entry: kept.entry,
        }
    }
}

impl ForecastLine {
    fn of(forecast: &Forecast) -> Self {
        let provenance = &forecast.provenance;
        let (file, service) = match &provenance.origin {
            Origin::File(name) => (Some(name.clone()), None),
            Origin::Service(name) => (None, Some(name.clone())),
        };
        let Forecast { id, taken, .. } = *forecast;
        Self { id, taken, made: provenance.made, file, service, met_norway: provenance.met_norway }
    }
}

impl OutdoorLine {
    fn of(hour: &OutdoorHour, forecast: ForecastId) -> Self {
        Self {
            at: hour.at,
            air_c: hour.air.degrees(),
            humidity_fraction: hour.humidity.map(Humidity::fraction),
            rain_mm: hour.rain.map(Millimetres::millimetres),
            wind_m_per_s: hour.wind.map(MetresPerSecond::metres_per_second),
            forecast,
        }
    }
}

impl AlertLine {
    fn of(alert: &Alert, deliveries: &[Delivery]) -> Self {
        let sent = deliveries.iter().filter(|delivery| delivery.alert == alert.id);
        let sent = sent.map(|sent| SentLine { channel: sent.channel, repeat: sent.repeat, at: sent.sent });
        Self {
            id: alert.id,
            kind: alert.kind,
            subject: alert.subject.clone(),
            round: alert.round,
            area: alert.area.clone(),
            due: alert.due,
            raised: alert.raised,
            repeat: alert.repeat,
            wanted: alert.wanted,
            acknowledged: alert.acknowledged,
            text: alert.text.clone(),
            sent: sent.collect(),
        }
    }

    fn into_alert(self) -> (Alert, Vec<Delivery>) {
        let alert = self.id;
        let sent = self.sent.into_iter().map(|line| Delivery {
            alert,
            repeat: line.repeat,
            channel: line.channel,
            sent: line.at,
        });
        let sent = sent.collect();
        let alert = Alert {
            id: self.id,
            kind: self.kind,
            subject: self.subject,
            round: self.round,
            area: self.area,
            due: self.due,
            raised: self.raised,
            repeat: self.repeat,
            wanted: self.wanted,
            acknowledged: self.acknowledged,
            text: self.text,
        };
        (alert, sent)
    }
}

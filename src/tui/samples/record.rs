//! A record made by hand.

use super::{at, now, roof};
use crate::app::view::{CoatView, RecordLine, RecordView};
use crate::engine::assess::{AirSample, CoatTrace, TraceSample};
use crate::engine::job::{Detail, EntryId};
use crate::engine::profile::Stage;
use crate::engine::units::{Celsius, Humidity, KelvinDelta};

fn line(id: i64, minutes: i64, area: Option<&str>, text: &str) -> RecordLine {
    let local = at(minutes);
    RecordLine {
        undone_by: None,
        id: EntryId(id),
        at: local,
        day: local.format("%a %-d %b %Y").to_string(),
        time: local.format("%H:%M").to_string(),
        area: area.map(str::to_owned),
        text: text.into(),
        struck: None,
        coat: text.contains("coat of"),
        details: Some(vec![(Detail::Area, area.unwrap_or_default().into())]),
        typed: local.format("%Y-%m-%d %H:%M:%S").to_string(),
    }
}

/// Three days of work.
pub fn record() -> RecordView {
    let (roof, door) = (Some("Roof"), Some("Door, outside"));
    let mut lines = vec![
        line(14, -12, None, "shop: 17.8 °C, humidity 62 %"),
        line(13, -40, roof, "Roof: note (on entry 11): a run at the eaves [photo: /home/me/eaves.jpg]"),
        line(12, -45, roof, "Roof: last stroke"),
        line(11, -75, roof, "Roof: started a coat of epoxy-sealer"),
        line(10, -100, door, "Door, outside: tape pulled"),
        line(9, -110, None, "took back entry 8"),
        line(8, -300, door, "Door, outside: sanded, 40 min"),
        line(7, -700, door, "Door, outside: a coat of varnish-two-part"),
        line(6, -900, door, "Door, outside: sanded, 30 min"),
        line(5, -1470, roof, "Roof: last stroke"),
        line(4, -1500, roof, "Roof: started a coat of epoxy-sealer"),
        line(3, -1500, roof, "Roof: started a coat of primer-two-part"),
        line(2, -1510, None, "2.50 L of epoxy-sealer bought for 84.90, lot A-118"),
        line(1, -1600, None, "loaded a scheme"),
    ];
    lines[6].struck = Some("taken back".into());
    lines[11].struck = Some("corrected: 4".into());
    lines[5].details = None;
    RecordView {
        lines,
        areas: vec!["Roof".into(), "Door, outside".into()],
        work: vec![
            "Worked 8 h 20 min; the scheme gives 6 h so far, 9 h 30 min in all.".into(),
            "Paid for material: 84.90.".into(),
            "The work clock runs for Roof since 14:40.".into(),
        ],
        area_work: vec!["Roof: worked 5 h.".into(), "Door, outside: worked 3 h 20 min.".into()],
    }
}

/// A coat that dries over an evening.
pub fn coat_view(entry: EntryId) -> Option<CoatView> {
    let air = |minutes: i64| {
        let degrees = 18.0 - 5.0 * (minutes as f64 / 600.0);
        AirSample {
            at: at(minutes),
            air: Celsius::new(degrees),
            humidity: Some(Humidity::from_fraction(0.6)),
            surface: Some(Celsius::new(degrees - 0.8)),
            dew: Some(Celsius::new(9.0)),
            margin: Some(KelvinDelta::new(degrees - 9.8)),
            assumed: at(minutes) > now(),
        }
    };
    let sample = |step: i64| {
        let minutes = -75 + step * 3;
        TraceSample { air: Some(air(minutes)), at: at(minutes), progress: (step as f64 / 120.0).min(1.0) }
    };
    let trace = CoatTrace {
        goal: Some(Stage::RecoatOpen),
        wet_until: at(40),
        wet: vec![air(-75), air(40)],
        readings: 1,
        samples: (0..=240).map(sample).collect(),
    };
    (entry != EntryId(7)).then(|| CoatView {
        title: "Roof, coat 2: Epoxy sealer, penetrating".into(),
        trace,
        bands: roof().bands,
        lines: vec![
            "Applied: Sat 2 May 2026 14:45 … 15:15 (30 min)".into(),
            "Air 13.0 °C to 18.0 °C while it was wet.".into(),
        ],
    })
}

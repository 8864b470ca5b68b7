//! A job in memory, for the tests of the rooms that look at surveys.

use std::convert::Infallible;

use chrono::TimeDelta;

use crate::app::wording::Words;
use crate::engine::air::{Origin, OutdoorHour, Provenance};
use crate::engine::assess::{Readings, Survey, SurveyOptions};
use crate::engine::config::Config;
use crate::engine::cure::Reading;
use crate::engine::job::{Entry, EntryId, EntryKind, Job, StepKind, Vessel};
use crate::engine::profile::Library;
use crate::engine::units::{Celsius, Civil, Grams, Humidity, Moment, Units};

/// Saturday, 2 May 2026, 08:00 UTC; the tests count minutes from here.
pub fn at(minutes: i64) -> Moment {
    Moment::from_timestamp(1_777_708_800, 0).unwrap() + TimeDelta::minutes(minutes)
}

pub fn words() -> Words {
    Words { civil: Civil::utc(), units: Units::default() }
}

/// The built-in products, and one whose times stay as they are when a built-in profile is corrected.
pub fn library() -> Library {
    let mut library = Library::built_in();
    library.with_file("varnish-quick.toml".into(), include_str!("testing/varnish-quick.toml").into());
    assert!(library.faults().is_empty(), "{:?}", library.faults());
    library
}

/// A job whose entries and readings are given in minutes.
#[derive(Default)]
pub struct Bench {
    entries: Vec<Entry>,
    readings: Vec<Reading>,
    outdoor: Vec<OutdoorHour>,
    forecast: Option<(Moment, Provenance)>,
}

impl Bench {
    /// A shop at a steady temperature, read every ten minutes from two days before until `until`.
    pub fn steady(air: f64, until: i64) -> Self {
        let mut bench = Self::default();
        for minutes in (-2880..=until).step_by(10) {
            bench = bench.reading(minutes, air);
        }
        bench
    }

    pub fn reading(self, minutes: i64, air: f64) -> Self {
        self.damp_reading(minutes, air, 0.5)
    }

    pub fn damp_reading(mut self, minutes: i64, air: f64, humidity: f64) -> Self {
        let humidity = Some(Humidity::from_fraction(humidity));
        self.readings.push(Reading { at: at(minutes), air: Celsius::new(air), humidity, surface: None });
        self.readings.sort_by_key(|reading| reading.at);
        self
    }

    /// A reading of a thermometer alone.
    pub fn dry_reading(mut self, minutes: i64, air: f64) -> Self {
        self = self.damp_reading(minutes, air, 0.5);
        for reading in self.readings.iter_mut().filter(|reading| reading.at == at(minutes)) {
            reading.humidity = None;
        }
        self
    }

    pub fn outdoor_hour(mut self, hour: OutdoorHour) -> Self {
        self.outdoor.push(hour);
        self
    }

    /// The forecast was made at a minute, and comes from there.
    pub fn forecast(mut self, minutes: i64, origin: Origin, met_norway: bool) -> Self {
        self.forecast = Some((at(minutes), Provenance { origin, made: Some(at(minutes)), met_norway }));
        self
    }

    pub fn entry(mut self, minutes: i64, kind: EntryKind) -> Self {
        let id = EntryId(self.entries.len() as i64 + 1);
        self.entries.push(Entry { id, at: at(minutes), recorded: at(minutes), kind });
        self
    }

    /// A coat from one minute to another.
    pub fn coat(self, area: &str, product: &str, from: i64, to: i64) -> Self {
        let coat = EntryKind::Coat {
            area: area.into(),
            product: product.into(),
            next: None,
            finished: false,
            batch: None,
            why: None,
        };
        self.entry(from, coat).entry(to, EntryKind::Finished { area: area.into() })
    }

    /// A batch in a cup, as warm as the air; its number is that of its entry.
    pub fn batch(self, product: &str, grams: f64, minutes: i64) -> Self {
        let batch = EntryKind::Batch {
            product: product.into(),
            mass_g: Grams::new(grams),
            vessel: Vessel::Cup,
            temperature: None,
            place: "shop".into(),
        };
        self.entry(minutes, batch)
    }

    pub fn step(self, area: &str, step: StepKind, minutes: i64) -> Self {
        self.entry(minutes, EntryKind::step(area, step, None))
    }

    pub fn scheme(self, text: &str) -> Self {
        self.entry(-3000, EntryKind::Scheme { text: text.into() })
    }

    pub fn job(&self, now: i64) -> Job {
        Job::fold(&self.entries, at(now))
    }

    pub fn survey<'a>(&self, library: &'a Library, now: i64) -> Survey<'a> {
        let job = self.job(now);
        let made = Survey::make(&job, library, self, &Config::default(), at(now), SurveyOptions::default());
        match made {
            Ok(survey) => survey,
            Err(never) => match never {},
        }
    }
}

impl Bench {
    /// The entries.
    pub fn entries(&self) -> Vec<Entry> {
        self.entries.clone()
    }

    /// The report of the job at a minute.
    pub fn report(&self, library: &Library, now: i64) -> crate::app::report::Report {
        let job = Job::fold(&self.entries, at(now));
        let (config, options) = (Config::default(), SurveyOptions { all_coats: true });
        let made = Survey::make(&job, library, self, &config, at(now), options).and_then(|survey| {
            let view = crate::app::view::View::of(&survey, &[], &words(), at(now));
            crate::app::report::Report::gather(&self.entries, &survey, &view, library, self, &config)
        });
        match made {
            Ok(report) => report,
            Err(never) => match never {},
        }
    }
}

impl Readings for Bench {
    type Error = Infallible;

    fn readings(&self, _place: &str, from: Moment, to: Moment) -> Result<Vec<Reading>, Infallible> {
        let before = self.readings.iter().rposition(|reading| reading.at < from).unwrap_or(0);
        Ok(self.readings[before..].iter().filter(|reading| reading.at <= to).copied().collect())
    }

    fn forecast_at(&self) -> Result<Option<Moment>, Infallible> {
        Ok(self.forecast.as_ref().map(|forecast| forecast.0))
    }

    fn forecast_from(&self) -> Result<Option<Provenance>, Infallible> {
        Ok(self.forecast.as_ref().map(|forecast| forecast.1.clone()))
    }

    fn outdoor(&self, from: Moment, to: Moment) -> Result<Vec<OutdoorHour>, Infallible> {
        let inside = |hour: &&OutdoorHour| (from..=to).contains(&hour.at);
        Ok(self.outdoor.iter().filter(inside).copied().collect())
    }
}

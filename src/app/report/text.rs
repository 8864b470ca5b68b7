//! The words of a report, for whatever form it takes. A report is read years later: every moment has its date.

use chrono::TimeDelta;

mod findings;
mod tables;

pub use tables::GENERIC;

use super::facts::{AirFigures, CoatReport, Report, Span, TakenOff};
use crate::app::wording::{Words, count, money_text, sentence};
use crate::engine::cure::StageTimes;
use crate::engine::job::{Amount, Batch, Note, StepDone, Vessel, WetFilm};
use crate::engine::profile::Stage;
use crate::engine::units::{
    Celsius, Humidity, KelvinDelta, Moment, Money, TemperatureUnit, capital, clean, duration_text,
};

/// Tells a report in the person's words.
#[derive(Clone, Copy)]
pub struct Tell<'a> {
    words: &'a Words,
}

impl<'a> Tell<'a> {
    /// In these words.
    pub const fn new(words: &'a Words) -> Self {
        Self { words }
    }

    /// The words themselves.
    pub const fn words(&self) -> &'a Words {
        self.words
    }

    /// "Sat 2 May 2026 16:40"
    pub fn stamp(&self, moment: Moment) -> String {
        format!("{} {}", self.day(moment), self.words.civil.time_of_day(moment))
    }

    /// "Sat 2 May 2026"
    pub fn day(&self, moment: Moment) -> String {
        self.words.civil.local(moment).format("%a %-d %b %Y").to_string()
    }

    /// A moment beside another one: the time alone where it is the same day.
    pub fn beside(&self, moment: Moment, other: Moment) -> String {
        let day = |moment| self.words.civil.local(moment).date_naive();
        if day(moment) == day(other) { self.words.civil.time_of_day(moment) } else { self.stamp(moment) }
    }

    /// "Sat 2 May 2026 16:40 … 17:05"
    pub fn between(&self, from: Moment, to: Moment) -> String {
        if from == to {
            return self.stamp(from);
        }
        format!("{} … {}", self.stamp(from), self.beside(to, from))
    }

    /// "17.8 °C"
    pub fn celsius(&self, value: Celsius) -> String {
        self.words.units.temperature(value)
    }

    /// "2.9 K"
    pub fn kelvin(&self, value: KelvinDelta) -> String {
        self.words.units.difference(value)
    }

    /// The title of a report.
    pub fn title(report: &Report) -> String {
        let piece = report.piece.as_ref().map_or_else(|| "The piece".into(), |piece| clean(piece));
        format!("{piece}: record of the coatings")
    }

    /// "Coat 2: Epoxy sealer, penetrating"
    pub fn coat(coat: &CoatReport) -> String {
        let name = coat.name.as_deref().unwrap_or(&coat.product);
        let off = if coat.off.is_some() { ", taken off" } else { "" };
        format!("Coat {}{off}: {}", coat.layer, clean(name))
    }

    /// "Sat 2 May 2026 16:40: rained on"
    pub fn taken_off(&self, off: &TakenOff) -> String {
        let why = off.why.as_ref().map(|why| format!(": {}", clean(why))).unwrap_or_default();
        format!("{}{why}", self.stamp(off.at))
    }

    /// "The scheme says varnish-water here, tape first. Why: …", where a coat did not follow it.
    pub fn scheme(&self, coat: &CoatReport) -> Option<String> {
        let departs = coat.departure.as_ref().map(|departure| self.words.departure(departure));
        let why = coat.why.as_ref().map(|why| format!("Why: {}", sentence(&clean(why))));
        let said: Vec<String> = departs.into_iter().chain(why).collect();
        (!said.is_empty()).then(|| said.join(" "))
    }

    /// From the first stroke to the last.
    pub fn strokes(&self, coat: &CoatReport) -> String {
        match coat.last_stroke {
            None => format!("{}, being applied", self.stamp(coat.first_stroke)),
            Some(last) if last == coat.first_stroke => self.stamp(last),
            Some(last) => {
                let took = duration_text(last - coat.first_stroke);
                format!("{} ({took})", self.between(coat.first_stroke, last))
            }
        }
    }

    /// "batch 3, 300 g in a cup, mixed Sat 2 May 2026 16:40"
    pub fn batch(&self, batch: &Batch) -> String {
        let vessel = match batch.vessel {
            Vessel::Cup => "a cup".into(),
            Vessel::Tray { depth_mm } => format!("a tray, {:.0} mm deep", depth_mm.millimetres()),
        };
        let mass = self.words.units.mass(batch.mass);
        format!("batch {}, {mass} in {vessel}, mixed {}", batch.id, self.stamp(batch.mixed_at))
    }

    /// "250 g", "1.25 L"
    pub fn amount(&self, amount: Amount) -> String {
        match amount {
            Amount::MassG(mass) => self.words.units.mass(mass),
            Amount::VolumeMl(volume) => self.words.units.volume(volume),
        }
    }

    /// Money with two decimals at least.
    pub fn money(money: Money) -> String {
        money_text(money)
    }

    /// "Sanded, Sat 2 May 2026 16:40, 25 min"
    pub fn step(&self, step: &StepDone) -> String {
        let took =
            step.minutes.map(|minutes| format!(", {}", duration_text(TimeDelta::minutes(minutes.into()))));
        let off =
            if step.coats > 0 { format!(" {}", count(step.coats, "coat", "coats")) } else { String::new() };
        let done = capital(step.kind.done_word());
        format!("{done}{off}, {}{}", self.stamp(step.at), took.unwrap_or_default())
    }

    /// "80, 95 µm (Sat 2 May 2026 16:40)"
    pub fn film(&self, film: &WetFilm) -> String {
        let spots: Vec<String> = film.spots.iter().map(|spot| self.words.units.film(*spot)).collect();
        format!("{} ({})", spots.join(", "), self.stamp(film.at))
    }

    /// "Sat 2 May 2026 16:40: a run at the eaves (photo: …)"
    pub fn note(&self, note: &Note) -> String {
        let photo = note.photo.as_ref().map(|photo| format!("photo: {}", clean(photo)));
        let text = clean(&note.text);
        let about = match (text.is_empty(), photo) {
            (_, None) => text,
            (true, Some(photo)) => photo,
            (false, Some(photo)) => format!("{text} ({photo})"),
        };
        format!("{}: {about}", self.stamp(note.at))
    }

    /// The rows of a table of figures: what, lowest, mean, highest.
    pub fn figures(&self, air: &AirFigures) -> Vec<[String; 4]> {
        let celsius = |name: &str, span: Span<Celsius>| {
            [name.into(), self.celsius(span.low), self.celsius(span.mean), self.celsius(span.high)]
        };
        let humidity = |span: Span<Humidity>| {
            ["Humidity".into(), span.low.to_string(), span.mean.to_string(), span.high.to_string()]
        };
        let margin = |span: Span<KelvinDelta>| {
            let name = "Surface above dew point".into();
            [name, self.kelvin(span.low), self.kelvin(span.mean), self.kelvin(span.high)]
        };
        let mut rows = vec![celsius("Air", air.air)];
        rows.extend(air.surface.map(|span| celsius("Surface", span)));
        rows.extend(air.dew.map(|span| celsius("Dew point", span)));
        rows.extend(air.margin.map(margin));
        rows.extend(air.humidity.map(humidity));
        rows
    }

    /// A sentence under the figures.
    pub fn read(&self, air: &AirFigures) -> String {
        let readings = match air.readings {
            0 => "no reading".into(),
            1 => "one reading".into(),
            count => format!("{count} readings"),
        };
        let assumed = if air.assumed > TimeDelta::zero() {
            format!("; {} of the time is assumed or forecast, not read", duration_text(air.assumed))
        } else {
            String::new()
        };
        let nearest = air
            .nearest
            .map(|at| format!(" The surface was closest to the dew point at {}.", self.stamp(at)))
            .unwrap_or_default();
        capital(&format!("{readings} while the film was wet{assumed}.{nearest}"))
    }

    /// The name of a stage, as the head of a row.
    pub fn stage(stage: Stage) -> String {
        capital(stage.name())
    }

    /// Earliest, calculated, latest, of something that began at a moment.
    pub fn moments(&self, times: &StageTimes) -> [String; 3] {
        let moment = |moment: Option<Moment>| moment.map_or_else(|| "never".into(), |at| self.stamp(at));
        [moment(times.earliest), moment(times.at), moment(times.latest)]
    }

    /// A temperature in the person's unit, as a bare number.
    pub fn degrees(&self, value: Celsius) -> f64 {
        match self.words.units.temperature {
            TemperatureUnit::Celsius => value.degrees(),
            TemperatureUnit::Fahrenheit => value.fahrenheit(),
        }
    }

    /// A difference in the person's unit, as a bare number.
    pub fn difference(&self, value: KelvinDelta) -> f64 {
        match self.words.units.temperature {
            TemperatureUnit::Celsius => value.kelvin(),
            TemperatureUnit::Fahrenheit => value.kelvin() * 1.8,
        }
    }

    /// "°C" or "°F"
    pub const fn degree(&self) -> &'static str {
        match self.words.units.temperature {
            TemperatureUnit::Celsius => "°C",
            TemperatureUnit::Fahrenheit => "°F",
        }
    }

    /// The unit of a difference.
    pub const fn kelvin_unit(&self) -> &'static str {
        match self.words.units.temperature {
            TemperatureUnit::Celsius => "K",
            TemperatureUnit::Fahrenheit => "°F",
        }
    }
}

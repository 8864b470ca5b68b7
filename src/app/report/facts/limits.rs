//! What was outside a data sheet's limits while a coat was applied and wet, with the figure.

use chrono::TimeDelta;

use super::Gathering;
use super::coat::CoatReport;
use super::figures::under;
use crate::engine::assess::{AirSample, Readings};
use crate::engine::cure::Phase;
use crate::engine::job::EntryId;
use crate::engine::profile::Product;
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Micrometres, Millimetres, Moment};

/// Something outside the limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What.
    pub what: Outside,
    /// From when.
    pub from: Moment,
    /// To when.
    pub to: Moment,
    /// How long in all.
    pub long: TimeDelta,
    /// Whether it is so for certain: not where a temperature, or the moment of a stage, may be off by more
    /// than what is missing.
    pub sure: bool,
}

/// What was outside, with the figure and the limit.
#[derive(Debug, Clone, PartialEq)]
pub enum Outside {
    /// Colder than the product allows.
    Cold(Celsius, Celsius),
    /// Warmer.
    Warm(Celsius, Celsius),
    /// Damper, while it was applied.
    Damp(Humidity, Humidity),
    /// The surface came too near the dew point.
    Dew(KelvinDelta, KelvinDelta),
    /// The film stood still in the cold.
    Stalled(Celsius, Celsius),
    /// Rain on a film that was not safe yet, as it was forecast.
    Rain(Millimetres),
    /// It went on a film that was not ready; when that was, at the earliest and the latest.
    TooEarly(Moment, Option<Moment>),
    /// It went on a film whose window had closed, and that was too soft to sand; when it closed, at the
    /// earliest and the latest.
    TooLate(Moment, Option<Moment>),
    /// It went on hard ground that was not sanded, or not washed.
    NotPrepared {
        /// Whether a sanding is missing.
        sand: bool,
        /// Whether a wash is.
        wash: bool,
    },
    /// It was sanded before it could be: when it could, at the earliest and the latest.
    SandedSoft(Moment, Option<Moment>),
    /// This area was sanded beside it before it was tack-free; when that was, at the earliest and the latest.
    Dust(String, Moment, Option<Moment>),
    /// The tape came off too late: when it had to be off, at the earliest.
    TapeLate(Moment),
    /// A wet film that was too thin.
    Thin(Micrometres, Micrometres),
    /// A wet film that was too thick.
    Thick(Micrometres, Micrometres),
    /// More coats wet on wet than the product takes.
    TooManyWet(usize, u32),
    /// It was taken from a batch before its induction time was over; when that was.
    BatchEarly(EntryId, Moment),
    /// It was taken from a batch whose pot life was over; when that ended, at the earliest and the latest.
    BatchOver(EntryId, Moment, Option<Moment>),
    /// It was still spread from a batch whose pot life was over by then.
    BatchOutspread(EntryId, Moment, Option<Moment>),
}

impl<R: Readings> Gathering<'_, '_, R> {
    /// What was outside the limits of a coat, in order of time.
    pub(super) fn findings(&self, index: usize, coat: &CoatReport) -> Result<Vec<Finding>, R::Error> {
        let mut findings: Vec<Finding> = self.on_its_ground(index, coat).into_iter().collect();
        if let Some(product) = self.library.get(&coat.product).ok().filter(|_| coat.calculated.is_some()) {
            findings.extend(in_its_air(coat, product, self.error, self.survey.at));
            findings.extend(films(coat, product));
            findings.extend(self.in_the_rain(coat)?);
            findings.extend(self.too_many_wet(index, product));
        }
        findings.extend(self.on_its_batch(coat));
        findings.extend(self.after_it(coat));
        findings.extend(self.dust_on(coat));
        findings.sort_by_key(|finding| finding.from);
        Ok(findings)
    }

    /// The outdoor record is what was forecast last.
    fn in_the_rain(&self, coat: &CoatReport) -> Result<Option<Finding>, R::Error> {
        let (Some(area), Some(calculated)) = (self.surveyed, &coat.calculated) else { return Ok(None) };
        if !area.outdoors {
            return Ok(None);
        }
        let (from, to) = (coat.first_stroke, calculated.trace.wet_until);
        let hours = self.readings.outdoor(from, to)?;
        let falls = |at: Moment| at + TimeDelta::hours(1) > from && at < to;
        let rain = hours.iter().filter(|hour| falls(hour.at));
        let rain =
            rain.filter_map(|hour| Some((hour.at, hour.rain.filter(|rain| rain.millimetres() > 0.0)?)));
        let heaviest = rain.max_by(|a, b| a.1.millimetres().total_cmp(&b.1.millimetres()));
        Ok(heaviest.map(|(at, rain)| Finding {
            what: Outside::Rain(rain),
            from: at.max(from),
            to: (at + TimeDelta::hours(1)).min(to),
            long: TimeDelta::hours(1),
            sure: false,
        }))
    }
}

/// What the air was while the coat was applied and wet, against what the product allows.
fn in_its_air(coat: &CoatReport, product: &Product, error: KelvinDelta, now: Moment) -> Vec<Finding> {
    let Some(calculated) = &coat.calculated else { return Vec::new() };
    let (wet, allowed) = (&calculated.trace.wet, &product.application);
    let last_stroke = coat.last_stroke.unwrap_or(calculated.trace.wet_until);
    let applied = &wet[..wet.partition_point(|sample| sample.at <= last_stroke)];
    let air = |sample: &AirSample| Some(sample.air.degrees());
    let warmth = |sample: &AirSample| Some(-sample.air.degrees());
    let damp = |sample: &AirSample| sample.humidity.map(|humidity| -humidity.fraction());
    let margin = |sample: &AirSample| sample.margin.map(KelvinDelta::kelvin);
    let mut findings = Vec::new();
    let mut look = |samples: &[AirSample],
                    limit: f64,
                    value: &dyn Fn(&AirSample) -> Option<f64>,
                    what: &dyn Fn(f64) -> Outside,
                    error: f64| {
        findings.extend(under(samples, limit, value).map(|under| Finding {
            what: what(under.lowest),
            from: under.from,
            to: under.to,
            long: under.long,
            sure: !under.assumed && limit - under.lowest >= error,
        }));
    };
    let (coolest, warmest, error) = (allowed.coolest, allowed.warmest, error.kelvin());
    look(wet, coolest.degrees(), &air, &|low| Outside::Cold(Celsius::new(low), coolest), error);
    look(wet, -warmest.degrees(), &warmth, &|low| Outside::Warm(Celsius::new(-low), warmest), error);
    if let Some(most) = allowed.humidity_max {
        let what = |low: f64| Outside::Damp(Humidity::from_fraction(-low), most);
        look(applied, -most.fraction(), &damp, &what, 0.0);
    }
    let least = allowed.dew_margin;
    look(wet, least.kelvin(), &margin, &|low| Outside::Dew(KelvinDelta::new(low), least), error);
    if let Some(limit) = allowed.stall_below {
        let under_way = calculated.trace.samples.iter().take_while(|sample| sample.progress < 1.0);
        let cured: Vec<AirSample> = under_way
            .filter_map(|sample| sample.air)
            .filter(|air| air.at <= now && air.at >= last_stroke && !air.assumed)
            .collect();
        look(&cured, limit.degrees(), &air, &|low| Outside::Stalled(Celsius::new(low), limit), error);
    }
    findings
}

fn films(coat: &CoatReport, product: &Product) -> Vec<Finding> {
    let Some((thin, thick)) = product.film.as_ref().and_then(|film| film.wet) else { return Vec::new() };
    let spots = || coat.films.iter().flat_map(|film| film.spots.iter().map(move |spot| (film.at, *spot)));
    let by_size = |a: &(Moment, Micrometres), b: &(Moment, Micrometres)| {
        a.1.micrometres().total_cmp(&b.1.micrometres())
    };
    let finding =
        |at: Moment, what: Outside| Finding { what, from: at, to: at, long: TimeDelta::zero(), sure: true };
    let thinnest = spots().min_by(by_size).filter(|(_, spot)| *spot < thin);
    let thickest = spots().max_by(by_size).filter(|(_, spot)| *spot > thick);
    let thinnest = thinnest.map(|(at, spot)| finding(at, Outside::Thin(spot, thin)));
    let thickest = thickest.map(|(at, spot)| finding(at, Outside::Thick(spot, thick)));
    thinnest.into_iter().chain(thickest).collect()
}

impl Outside {
    /// Its key in tables.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Cold(..) => "too_cold",
            Self::Warm(..) => "too_warm",
            Self::Damp(..) => "too_damp",
            Self::Dew(..) => "dew_margin",
            Self::Stalled(..) => "stalls",
            Self::Rain(_) => "rain",
            Self::TooEarly(..) => "too_early",
            Self::TooLate(..) => "too_late",
            Self::NotPrepared { .. } => "not_prepared",
            Self::SandedSoft(..) => "sanded_soft",
            Self::Dust(..) => "dust",
            Self::TapeLate(_) => "tape_late",
            Self::Thin(..) => "film_thin",
            Self::Thick(..) => "film_thick",
            Self::TooManyWet(..) => "too_many_wet",
            Self::BatchEarly(..) => "batch_early",
            Self::BatchOver(..) => "batch_over",
            Self::BatchOutspread(..) => "batch_outspread",
        }
    }
}

/// The phases in which a film can be sanded.
pub(super) const fn is_hard(phase: Phase) -> bool {
    matches!(phase, Phase::Sandable | Phase::Cured)
}

//! Whether the air suits a coat: now, until the film is safe, and if not, when next.
//!
//! Inputs are the air of a place over time, read and forecast, and the product's limits. This module knows no
//! area, record or words. The margin of 3 K above the dew point is what ISO 8502-4 is commonly quoted for. That
//! a sealing coat goes on at a falling temperature, because warming wood releases air bubbles, is common
//! practice, no source.

use chrono::TimeDelta;

use super::dew::{VapourPressure, dew_point, humidity_at, margin, vapour_pressure};
use super::surface::SurfaceLine;
use super::trend::{self, Cooling, Dampening};
use crate::engine::cure::{Bound, Course, History, Law};
use crate::engine::profile::{Product, Stage};
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Millimetres, Moment};

/// The air of a place over time.
#[derive(Debug, Clone, Copy)]
pub struct Air<'a> {
    /// Temperature and humidity.
    pub history: &'a History,
    /// The surface to be coated.
    pub surface: &'a SurfaceLine,
    /// Rain in the hours that begin at these moments, ascending.
    pub rain: &'a [(Moment, Millimetres)],
    /// End of the forecast; now, without one.
    pub known_until: Moment,
    /// Age of the last measured humidity, if it is too old to trust.
    pub humidity_old: Option<TimeDelta>,
    /// The forecast is too old to trust an hour without rain after this.
    pub dry_until: Option<Moment>,
}

/// The air and the surface at one moment.
#[derive(Debug, Clone, Copy)]
struct Conditions {
    air: Celsius,
    humidity: Option<Humidity>,
    surface: Celsius,
    /// Whether a measured value determines the surface.
    measured: bool,
}

/// The coat to be applied.
#[derive(Debug, Clone, Copy)]
pub struct Task<'a> {
    /// The product.
    pub product: &'a Product,
    /// From the first stroke to the last.
    pub takes: TimeDelta,
    /// Whether it goes on bare ground with pores.
    pub bare_wood: bool,
    /// Whether rain can fall on it.
    pub outdoors: bool,
}

/// An objection to coating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Objection {
    /// There is no reading.
    NoReading,
    /// The last reading is too old.
    OldReading(TimeDelta),
    /// So long ago the surface was measured, and it was outside the limits: this is what it was.
    MeasureSurface(TimeDelta, Celsius),
    /// The last reading is not old, but too old to be sure of a limit that it is close to.
    NearLimit(TimeDelta),
    /// The humidity is unknown. A caution: the rest is judged without it.
    NoHumidity,
    /// The last measured humidity is too old to trust. A caution: it still counts where it forbids.
    HumidityOld(TimeDelta),
    /// Colder than the product's limit.
    TooCold(Celsius, Celsius),
    /// Warmer than the product's limit.
    TooWarm(Celsius, Celsius),
    /// The measured surface is colder than the product's limit.
    SurfaceTooCold(Celsius, Celsius),
    /// The measured surface is warmer than the product's limit.
    SurfaceTooWarm(Celsius, Celsius),
    /// Above the product's limit.
    TooDamp(Humidity, Humidity),
    /// The humidity is unknown, and the product needs this much.
    HumidityNeeded(Humidity),
    /// Drier than a moisture-curing film needs.
    TooDry(Humidity, Humidity),
    /// The surface is too close to the dew point.
    DewMargin(KelvinDelta, KelvinDelta),
    /// Rain falls on the film.
    Rain(Millimetres),
    /// It is unknown whether rain falls on the film from this moment on, before it is tack-free. A caution.
    RainUnknown(Moment),
    /// Rain has wetted what the coat goes on: how long ago it ended, and how long that takes to dry.
    WetGround(TimeDelta, TimeDelta),
    /// Bare wood warms under a product that closes its pores, in K/h.
    Warming(KelvinDelta),
    /// The film stalls in the cold before it is tack-free.
    Stalls(Celsius, Celsius),
}

impl Objection {
    /// Its key in JSON.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NoReading => "no_reading",
            Self::OldReading(_) => "reading_old",
            Self::NearLimit(_) => "near_limit",
            Self::MeasureSurface(..) => "measure_surface",
            Self::NoHumidity => "no_humidity",
            Self::HumidityOld(_) => "humidity_old",
            Self::TooCold(..) => "too_cold",
            Self::TooWarm(..) => "too_warm",
            Self::SurfaceTooCold(..) => "surface_too_cold",
            Self::SurfaceTooWarm(..) => "surface_too_warm",
            Self::TooDamp(..) => "too_damp",
            Self::HumidityNeeded(_) => "humidity_needed",
            Self::TooDry(..) => "too_dry",
            Self::DewMargin(..) => "dew_margin",
            Self::Rain(_) => "rain",
            Self::RainUnknown(_) => "rain_unknown",
            Self::WetGround(..) => "wet_ground",
            Self::Warming(_) => "warming",
            Self::Stalls(..) => "stalls",
        }
    }

    /// Whether something is unknown that may forbid the coat: it may go on if the air and the sky are dry.
    pub const fn is_caution(&self) -> bool {
        matches!(self, Self::NoHumidity | Self::HumidityOld(_) | Self::RainUnknown(_))
    }

    /// Whether it forbids the coat, and is more than a caution.
    pub const fn forbids(&self) -> bool {
        !self.is_caution()
    }
}

/// The objections to a start, each with its first moment.
pub type Objections = Vec<(Objection, Moment)>;

/// The time step of the checks.
pub(super) const GRAIN: TimeDelta = TimeDelta::minutes(10);
/// Wood that warms more slowly than this, in K/h, does not bubble.
const STEADY: f64 = 0.5;
/// Bare wood dries in a day after rain, a film or metal in some hours (common practice, no source).
const BARE_WOOD_DRIES: TimeDelta = TimeDelta::hours(24);
const FILM_DRIES: TimeDelta = TimeDelta::hours(3);
/// The wait for tack-free ends after this time.
pub(super) const AT_MOST: TimeDelta = TimeDelta::days(3);

/// The first hour with rain that lies at least partly between two moments, of hours that begin at these.
pub fn rain_between(
    hours: &[(Moment, Millimetres)],
    from: Moment,
    to: Moment,
) -> Option<(Moment, Millimetres)> {
    let falls = |(begins, fallen): &&(Moment, Millimetres)| {
        *begins + TimeDelta::hours(1) > from && *begins < to && fallen.millimetres() > 0.0
    };
    hours.iter().find(falls).copied()
}

/// Every moment to check between two, both included.
fn moments(from: Moment, to: Moment) -> impl Iterator<Item = Moment> {
    std::iter::successors(Some(from), move |at| (*at < to).then(|| (*at + GRAIN).min(to)))
}

impl Air<'_> {
    /// The objections to a start: humidity from the first stroke to the last; cold, heat, dew, rain and stall
    /// until the film is tack-free at the latest (or until the last stroke, if the profile gives no time). The
    /// coat may go on if it is empty or has cautions only.
    pub fn against(&self, task: &Task<'_>, start: Moment) -> Objections {
        let mut reasons = Objections::new();
        if self.history.air_at(start).is_none() {
            return vec![(Objection::NoReading, start)];
        }
        let last_stroke = start + task.takes;
        let tack_free = self.tack_free(task, last_stroke);
        // When dew, rain and cold no longer harm the film, as far as the air is known.
        let safe = tack_free.min(self.known_until.max(last_stroke)).max(last_stroke);
        for at in moments(start, safe) {
            self.at(task, at, at <= last_stroke, &mut reasons);
        }
        let (cooling, dampening) = (self.cooling(start), self.dampening(start));
        if cooling.is_some() || dampening.is_some() {
            let (least, most) = (start + trend::AT_LEAST, start + trend::CONTINUES);
            let end = tack_free.clamp(least, most);
            // The air at the start is as shown everywhere; the trend says what comes.
            for at in moments(start, end).skip(1) {
                let Some(now) = self.conditions(at) else { break };
                let fall = cooling.map_or(KelvinDelta::new(0.0), |cooling| cooling.fall_at(at));
                let rise = dampening.map_or(VapourPressure::from_hectopascals(0.0), |damp| damp.rise_at(at));
                judge(task, at, now.changed_by(fall, rise), at <= last_stroke, &mut reasons);
            }
        }
        if task.bare_wood && task.product.seals {
            reasons.extend(self.warming(start, last_stroke).map(|against| (against, start)));
        }
        if task.outdoors {
            let rain = self.rain_between(start, safe);
            reasons.extend(rain.map(|(begins, fallen)| (Objection::Rain(fallen), start.max(begins))));
            reasons.extend(self.wet_ground(task, start).map(|against| (against, start)));
            let unknown = self.rain_unknown(start, tack_free);
            reasons.extend(unknown.map(|from| (Objection::RainUnknown(from), from)));
        }
        reasons
    }

    /// The first objection that forbids a start, with its moment.
    pub fn forbids(&self, task: &Task<'_>, start: Moment) -> Option<(Objection, Moment)> {
        self.against(task, start).into_iter().find(|(against, _)| against.forbids())
    }

    /// The objection to a stroke at one moment, whatever comes after it.
    pub fn forbids_stroke(&self, task: &Task<'_>, at: Moment) -> Option<Objection> {
        let mut reasons = Objections::new();
        self.at(task, at, true, &mut reasons);
        reasons.into_iter().map(|(against, _)| against).find(Objection::forbids)
    }

    /// The objection to a film that is not yet tack-free, at one moment.
    pub fn forbids_film(&self, task: &Task<'_>, at: Moment) -> Option<Objection> {
        let mut reasons = Objections::new();
        self.at(task, at, false, &mut reasons);
        reasons.into_iter().map(|(against, _)| against).find(Objection::forbids)
    }

    /// The objection to a start apart from temperature and humidity: bare wood that warms, and rain before the
    /// film is safe.
    pub fn forbids_begin(&self, task: &Task<'_>, start: Moment, safe: Moment) -> Option<Objection> {
        let warms =
            || self.warming(start, start + task.takes).filter(|_| task.bare_wood && task.product.seals);
        let rains = || self.rain_between(start, safe).filter(|_| task.outdoors);
        warms()
            .or_else(|| rains().map(|(_, fallen)| Objection::Rain(fallen)))
            .or_else(|| self.wet_ground(task, start))
    }

    /// Whether rain, recorded or forecast, has left the ground wet at the first stroke.
    pub(super) fn wet_ground(&self, task: &Task<'_>, start: Moment) -> Option<Objection> {
        let dries = if task.bare_wood { BARE_WOOD_DRIES } else { FILM_DRIES };
        let fell = |(begins, fallen): &&(Moment, Millimetres)| {
            let ends = *begins + TimeDelta::hours(1);
            fallen.millimetres() > 0.0 && *begins <= start && ends > start - dries
        };
        let (begins, _) = self.rain.iter().rev().find(fell).filter(|_| task.outdoors)?;
        let ended = (start - (*begins + TimeDelta::hours(1))).max(TimeDelta::zero());
        Some(Objection::WetGround(ended, dries))
    }

    /// Threats to a film that is wet from `now` until it is safe: the objections to a coat started now, without
    /// those that matter only under the brush. Up to the end of the forecast, and in any case now.
    pub fn threats(&self, product: &Product, outdoors: bool, now: Moment, safe: Moment) -> Objections {
        self.over(product, outdoors, now, safe, false)
    }

    /// The objection to applying the product between two moments, whatever comes later.
    pub fn forbids_between(
        &self,
        product: &Product,
        outdoors: bool,
        from: Moment,
        to: Moment,
    ) -> Option<Objection> {
        self.over(product, outdoors, from, to, true).first().map(|(against, _)| *against)
    }

    fn over(
        &self,
        product: &Product,
        outdoors: bool,
        now: Moment,
        end: Moment,
        applying: bool,
    ) -> Objections {
        let task = Task { product, takes: TimeDelta::zero(), bare_wood: false, outdoors };
        let end = end.min(self.known_until).min(now + AT_MOST).max(now);
        let mut reasons = Objections::new();
        for at in moments(now, end) {
            self.at(&task, at, applying, &mut reasons);
        }
        if outdoors {
            let rain = self.rain_between(now, end);
            reasons.extend(rain.map(|(begins, fallen)| (Objection::Rain(fallen), now.max(begins))));
        }
        reasons.retain(|(against, _)| against.forbids());
        reasons
    }

    pub(super) fn rains_between(&self, from: Moment, to: Moment) -> bool {
        self.rain_between(from, to).is_some()
    }

    fn rain_between(&self, from: Moment, to: Moment) -> Option<(Moment, Millimetres)> {
        rain_between(self.rain, from, to)
    }

    /// The first moment between two at which nothing says whether it rains.
    fn rain_unknown(&self, from: Moment, to: Moment) -> Option<Moment> {
        let hour = TimeDelta::hours(1);
        let mut known = from;
        for &(begins, _) in &self.rain[self.rain.partition_point(|fallen| fallen.0 + hour <= from)..] {
            if begins > known || known >= to || self.dry_until.is_some_and(|until| begins >= until) {
                break;
            }
            known = begins + hour;
        }
        (known < to).then_some(known)
    }

    /// When the film is tack-free at the latest (a minimum time), within three days; the last stroke, if the profile gives no
    /// time.
    fn tack_free(&self, task: &Task<'_>, last_stroke: Moment) -> Moment {
        let Some(table) = task.product.stage(Stage::TackFree) else { return last_stroke };
        let course = Course::new(self.history, table, Law::minimum(task.product));
        let at_most = last_stroke + AT_MOST;
        course.crossing(last_stroke, 1.0, Bound::Coolest).map_or(at_most, |at| at.min(at_most))
    }

    /// The cooling trend, without a forecast.
    fn cooling(&self, start: Moment) -> Option<Cooling> {
        let forecast = self.known_until > start || self.history.outlook().is_forecast();
        if forecast { None } else { Cooling::of(self.history, start) }
    }

    /// How the air takes up vapour, where nothing else tells what comes and the last humidity is to be trusted.
    fn dampening(&self, start: Moment) -> Option<Dampening> {
        let told = self.known_until > start || self.history.outlook().is_forecast();
        if told || self.humidity_old.is_some() { None } else { Dampening::of(self.history, start) }
    }

    fn conditions(&self, at: Moment) -> Option<Conditions> {
        let air = self.history.air_at(at)?;
        Some(Conditions {
            air,
            humidity: self.history.humidity_at(at),
            surface: self.surface.at(at).unwrap_or(air),
            measured: self.surface.source(at).is_measured(),
        })
    }

    pub(super) fn at(&self, task: &Task<'_>, at: Moment, applying: bool, reasons: &mut Objections) {
        let Some(conditions) = self.conditions(at) else { return };
        judge(task, at, conditions, applying, reasons);
        if let Some(age) = self.humidity_old {
            reasons.retain(|(against, _)| *against != Objection::NoHumidity);
            object(reasons, Objection::HumidityOld(age), at);
        }
    }

    pub(super) fn warming(&self, start: Moment, last_stroke: Moment) -> Option<Objection> {
        let end = (last_stroke + TimeDelta::hours(1)).min(self.known_until.max(start));
        // Without a forecast the last hour counts.
        let (from, to) = if end > start { (start, end) } else { (start - TimeDelta::hours(1), start) };
        let hours = (to - from).as_seconds_f64() / 3600.0;
        let (before, after) = (self.history.air_at(from)?, self.history.air_at(to)?);
        let pace = (after.degrees() - before.degrees()) / hours;
        (pace > STEADY).then_some(Objection::Warming(KelvinDelta::new(pace)))
    }
}

impl Conditions {
    /// The same after air and surface have cooled and the air has taken up more vapour.
    fn changed_by(self, fall: KelvinDelta, rise: VapourPressure) -> Self {
        let cooled = |temperature: Celsius| Celsius::new(temperature.degrees() - fall.kelvin());
        let vapour = self.humidity.map(|humidity| {
            VapourPressure::from_hectopascals(
                vapour_pressure(self.air, humidity).hectopascals() + rise.hectopascals(),
            )
        });
        Self {
            air: cooled(self.air),
            humidity: vapour.map(|vapour| humidity_at(vapour, cooled(self.air))),
            surface: cooled(self.surface),
            ..self
        }
    }
}

/// Adds an objection, unless there is an earlier one of its kind.
fn object(reasons: &mut Objections, against: Objection, at: Moment) {
    if !reasons.iter().any(|(known, _)| known.code() == against.code()) {
        reasons.push((against, at));
    }
}

fn judge(task: &Task<'_>, at: Moment, now: Conditions, applying: bool, reasons: &mut Objections) {
    let allowed = task.product.application;
    let mut add = |against: Objection| object(reasons, against, at);
    if now.air < allowed.coolest {
        add(Objection::TooCold(now.air, allowed.coolest));
    }
    if now.air > allowed.warmest {
        add(Objection::TooWarm(now.air, allowed.warmest));
    }
    if now.measured && now.surface < allowed.coolest {
        add(Objection::SurfaceTooCold(now.surface, allowed.coolest));
    }
    if now.measured && now.surface > allowed.warmest {
        add(Objection::SurfaceTooWarm(now.surface, allowed.warmest));
    }
    let film = if now.measured { now.surface } else { now.air };
    match allowed.stall_below {
        Some(limit) if film < limit => add(Objection::Stalls(film, limit)),
        _ => {}
    }
    let Some(humidity) = now.humidity else {
        add(Objection::NoHumidity);
        if let Some(least) = allowed.humidity_min.filter(|_| applying) {
            add(Objection::HumidityNeeded(least));
        }
        return;
    };
    match allowed.humidity_max {
        Some(limit) if applying && humidity > limit => add(Objection::TooDamp(humidity, limit)),
        _ => {}
    }
    match allowed.humidity_min {
        Some(limit) if applying && humidity < limit => add(Objection::TooDry(humidity, limit)),
        _ => {}
    }
    if let Some(dew) = dew_point(now.air, humidity) {
        let left = margin(now.surface, dew);
        if left < allowed.dew_margin {
            add(Objection::DewMargin(left, allowed.dew_margin));
        }
    }
}

#[cfg(test)]
mod tests;

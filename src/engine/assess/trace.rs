//! A coat over time: air, surface, dew point and progress.

use chrono::TimeDelta;

use crate::engine::air::{SurfaceLine, dew_point, hold_moisture, margin};
use crate::engine::assess::Readings;
use crate::engine::assess::{AreaSurvey, CoatSurvey, Survey};
use crate::engine::cure::{Bound, Course, History, Law, Reading};
use crate::engine::profile::Stage;
use crate::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

/// A coat over time.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatTrace {
    /// The stage that the progress runs to; None where the profile gives none.
    pub goal: Option<Stage>,
    /// The end of the wet film: tack-free, or else the next stage of the profile; the moment of the survey if
    /// it is still wet.
    pub wet_until: Moment,
    /// The air at every reading while the film was wet, and at both ends.
    pub wet: Vec<AirSample>,
    /// How many readings there are among them.
    pub readings: usize,
    /// The whole of it, in even steps.
    pub samples: Vec<TraceSample>,
}

/// The air over a coat at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirSample {
    /// When.
    pub at: Moment,
    /// The air.
    pub air: Celsius,
    /// Its humidity, where known.
    pub humidity: Option<Humidity>,
    /// The surface.
    pub surface: Option<Celsius>,
    /// The dew point, where the humidity is known.
    pub dew: Option<Celsius>,
    /// Surface less dew point.
    pub margin: Option<KelvinDelta>,
    /// Whether it lies beyond the readings: held or forecast.
    pub assumed: bool,
}

/// A point of the trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TraceSample {
    /// The air; None where nothing was ever read.
    pub air: Option<AirSample>,
    /// When.
    pub at: Moment,
    /// The progress, 0 to 1.
    pub progress: f64,
}

/// The number of points of a plot.
const POINTS: i32 = 240;
/// The longest plot: the stages show what comes later.
const LONGEST: TimeDelta = TimeDelta::days(5);
/// The shortest plot.
const SHORTEST: TimeDelta = TimeDelta::hours(2);
/// The readings before and after the plot, for interpolation.
const READ_FOR: TimeDelta = TimeDelta::days(16);
/// Earlier air does not affect a surface.
const REMEMBERS: TimeDelta = TimeDelta::days(3);

impl Survey<'_> {
    /// A coat of an area over time. `next` is the first stroke of the coat on it, where there is one.
    ///
    /// # Errors
    /// Those of the readings.
    pub fn trace<R: Readings>(
        &self,
        readings: &R,
        area: &AreaSurvey<'_>,
        coat: &CoatSurvey<'_>,
        next: Option<Moment>,
    ) -> Result<CoatTrace, R::Error> {
        let from = coat.coat.first_stroke;
        let wet_until = wet_until(coat).map_or(self.at, |until| until.min(self.at)).max(from);
        let to = end(coat, next, wet_until).max(from + SHORTEST).min(from + LONGEST);
        let mut line = readings.readings(&area.place, from - REMEMBERS, (from + READ_FOR).min(self.at))?;
        let measured = hold_moisture(&mut line);
        let outlook = self.sky(&area.place).map(|sky| sky.outlook().clone()).unwrap_or_default();
        let over = Over {
            ahead: self.sky(&area.place).map(|sky| sky.surface(area.surface_lag)),
            surface: SurfaceLine::new(&line, area.surface_lag),
            read: line
                .iter()
                .map(|reading| reading.at)
                .filter(|at| (from..=wet_until).contains(at))
                .collect(),
            history: History::new(line.iter().copied().filter(is_number), outlook)
                .with_humidity_measured_until(measured)
                .with_surface_lag(area.surface_lag),
        };
        let goal = goal(coat);
        let wet = std::iter::once(from).chain(over.read.iter().copied()).chain([wet_until]);
        let mut wet: Vec<AirSample> = wet.filter_map(|at| over.air(at)).collect();
        wet.dedup_by_key(|sample| sample.at);
        let (readings, samples) = (over.read.len(), over.samples(coat, goal, (from, to)));
        Ok(CoatTrace { goal, wet_until, wet, readings, samples })
    }
}

/// What a trace is followed over.
struct Over {
    history: History,
    surface: SurfaceLine,
    /// The surface after the last reading, under the forecast air.
    ahead: Option<SurfaceLine>,
    read: Vec<Moment>,
}

impl Over {
    fn air(&self, at: Moment) -> Option<AirSample> {
        let air = self.history.air_at(at)?;
        let humidity = self.history.humidity_at(at);
        let behind = self.history.last_reading().is_some_and(|last| at > last);
        let surface = self.ahead.as_ref().filter(|_| behind).unwrap_or(&self.surface).at(at);
        let dew = humidity.and_then(|humidity| dew_point(air, humidity));
        let read = self.history.first_reading().zip(self.history.last_reading());
        Some(AirSample {
            at,
            air,
            humidity,
            surface,
            dew: dew.map(|dew| dew.at),
            margin: surface.zip(dew).map(|(surface, dew)| margin(surface, dew)),
            assumed: read.is_none_or(|(first, last)| at < first || at > last),
        })
    }

    fn samples(
        &self,
        coat: &CoatSurvey<'_>,
        goal: Option<Stage>,
        (from, to): (Moment, Moment),
    ) -> Vec<TraceSample> {
        let recoat = coat.next.and_then(|next| coat.product.recoat_before(next));
        let table = goal.and_then(|goal| match goal {
            Stage::RecoatOpen => recoat.map(|recoat| &recoat.open),
            goal => coat.product.stage(goal),
        });
        let course = table.map(|table| Course::new(&self.history, table, Law::minimum(coat.product)));
        let start = coat.coat.last_stroke.unwrap_or(to);
        let (mut done, mut before) = (0.0, start);
        let point = |step: i32| from + (to - from) * step / POINTS;
        let sample = |step: i32| {
            let at = point(step);
            if let Some(course) = &course
                && at > before
            {
                done += course.progress(before, at, Bound::AsRead);
                before = at;
            }
            TraceSample { air: self.air(at), at, progress: done.min(1.0) }
        };
        (0..=POINTS).map(sample).collect()
    }
}

fn is_number(reading: &Reading) -> bool {
    reading.air.degrees().is_finite()
}

/// The first stage that the profile gives: recoat, else sandable, else cured.
fn goal(coat: &CoatSurvey<'_>) -> Option<Stage> {
    let stages = [Stage::RecoatOpen, Stage::Sandable, Stage::FullCure];
    stages.into_iter().find(|stage| coat.standing.stage(*stage).is_some())
}

/// When a film is no longer wet, at its latest; None if unknown or never.
fn wet_until(coat: &CoatSurvey<'_>) -> Option<Moment> {
    let stages = [Stage::TackFree, Stage::RecoatOpen, Stage::Sandable, Stage::FullCure];
    stages.into_iter().find_map(|stage| coat.standing.stage(stage)).and_then(|times| times.latest)
}

/// Where a plot ends: after the window, or the coat that went on before it closed.
fn end(coat: &CoatSurvey<'_>, next: Option<Moment>, wet_until: Moment) -> Moment {
    let stage = |stage| coat.standing.stage(stage).and_then(|times| times.latest);
    let close = stage(Stage::RecoatClose).or_else(|| stage(Stage::RecoatOpen)).unwrap_or(wet_until);
    let until = next.map_or(close, |next| next.min(close.max(wet_until))).max(wet_until);
    until + (until - coat.coat.first_stroke) / 12
}

#[cfg(test)]
mod tests;

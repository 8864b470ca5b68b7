//! Whether a coat may go on an area, by the film below and the air: the check for the board, the commands and
//! the alerts.

use chrono::TimeDelta;

use super::verdict::Verdict;
use crate::engine::air::{Coming, LastStart, Objection, Objections, Task, dew_point, margin};
use crate::engine::assess::AreaSurvey;
use crate::engine::assess::Sky;
use crate::engine::assess::Substrate;
use crate::engine::cure::{Bound, Course, Law};
use crate::engine::job::Ground;
use crate::engine::profile::{Product, Stage};
use crate::engine::units::Moment;

/// Yes, not yet, or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Answer {
    /// Now.
    Go,
    /// From the first slot on.
    Wait,
    /// Never, with the readings so far.
    No,
}

/// Whether a coat may go on an area.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The answer.
    pub answer: Answer,
    /// Why the film or ground below takes no coat now.
    pub ground: Option<Substrate>,
    /// The objections in the air.
    pub air: Objections,
    /// The next stretches long enough for it, soonest first.
    pub slots: Vec<(Moment, Moment)>,
    /// The last start in this air, if the air suits it now and the forecast shows an end of that.
    pub last_start: Option<LastStart>,
    /// The last start on the film below, if it has a window.
    pub window: Option<Moment>,
    /// End of the forecast, if there is one.
    pub forecast_until: Option<Moment>,
    /// With a GO: whether the new film may never be tack-free, or ready for another coat of its kind: at the cold and humid bounds of
    /// the expected air it is not.
    pub may_stay_wet: bool,
}

/// The most slots.
pub const SLOTS: usize = 6;

impl Judgement {
    /// Judges a coat of `product` on `area` at `now`.
    pub fn judge(area: &AreaSurvey<'_>, product: &Product, sky: &Sky, now: Moment) -> Self {
        let surface = sky.surface(area.surface_lag);
        let air = sky.air(&surface);
        let task = task_of(area, product);
        let ground = Substrate::forbids(area, product, now);
        let mut reasons = air.against(&task, now);
        if let Some(age) = area.reading_old {
            reasons.insert(0, (Objection::OldReading(age), now));
        } else if let Some(surface) = measure_surface(product, sky, now) {
            reasons.push((surface, now));
        } else if let Some(age) = near_limit(area, product, sky, now) {
            reasons.insert(0, (Objection::NearLimit(age), now));
        }
        let coming = Coming::new(&air, &task, now);
        let ready = |at: Moment| {
            area.reading_old.is_none()
                && Substrate::forbids(area, product, at).is_none_or(|ground| ground.is_owed())
        };
        let mut slots = coming.slots(ready);
        slots.truncate(SLOTS);
        // Steps of ten minutes are coarse: the film may be ready a little before the first one that fits.
        let soon =
            ground.and_then(Substrate::until).filter(|until| *until > now && area.reading_old.is_none());
        if let (Some(until), Some(slot)) = (soon, slots.first_mut())
            && (TimeDelta::zero()..TimeDelta::minutes(10)).contains(&(slot.0 - until))
            && Substrate::forbids(area, product, until).is_none_or(Substrate::is_owed)
            && air.forbids(&task, until).is_none()
        {
            slot.0 = until;
        }
        let air_fits = reasons.iter().all(|(against, _)| !against.forbids());
        let last_start = if air_fits { coming.last_start() } else { None };
        let window = Substrate::limit(area).filter(|_| ground.is_none());
        let forecast_until = Some(sky.known_until).filter(|until| *until > now);
        let mut judged = Self {
            answer: Answer::No,
            ground,
            air: reasons,
            slots,
            last_start,
            window,
            forecast_until,
            may_stay_wet: false,
        };
        judged.answer = judged.find_answer();
        judged.may_stay_wet = judged.answer == Answer::Go && may_stay_wet(product, sky, now + task.takes);
        judged
    }

    /// Since when the air has suited a coat of `product` without interruption, up to a day back in steps of ten
    /// minutes; None if it suited all day, or does not now.
    pub fn air_suits_since(
        area: &AreaSurvey<'_>,
        product: &Product,
        sky: &Sky,
        now: Moment,
    ) -> Option<Moment> {
        let surface = sky.surface(area.surface_lag);
        let air = sky.air(&surface);
        let task = task_of(area, product);
        let forbids = |at: Moment| air.forbids(&task, at).is_some();
        let step = TimeDelta::minutes(10);
        let last = (0..=144).map(|steps| now - step * steps).find(|at| forbids(*at))?;
        (last < now).then_some(last + step)
    }

    fn find_answer(&self) -> Answer {
        let air_fits = self.against().is_none();
        // After the end of the forecast the air is unknown: wait for a film that is ready only then.
        let later = |ground: Substrate| {
            let until = ground.until();
            air_fits || self.forecast_until.is_none_or(|end| until.is_some_and(|until| until > end))
        };
        match self.ground {
            None if air_fits => Answer::Go,
            Some(ground) if ground.is_refused() => Answer::No,
            _ if !self.slots.is_empty() => Answer::Wait,
            _ if self.is_unread() => Answer::No,
            Some(ground) if later(ground) => Answer::Wait,
            _ => Answer::No,
        }
    }

    /// Whether there is no usable reading.
    pub fn is_unread(&self) -> bool {
        let unread = |against: &Objection| {
            matches!(
                against,
                Objection::NoReading
                    | Objection::OldReading(_)
                    | Objection::NearLimit(_)
                    | Objection::MeasureSurface(..)
            )
        };
        self.air.iter().any(|(against, _)| unread(against))
    }

    /// The verdict at the start of every output.
    pub fn verdict(&self) -> Verdict {
        match (self.answer, self.ground) {
            (_, Some(Substrate::Applying)) => Verdict::Coating,
            (_, Some(Substrate::NotListed | Substrate::OldPaint)) => Verdict::AskDataSheets,
            (_, Some(Substrate::Forbidden)) => Verdict::No,
            (_, Some(Substrate::Before(step))) => step.verdict(),
            _ if self.is_unread() => Verdict::ReadThermometer,
            (Answer::Go, _) => Verdict::Go { until: self.begin_by(), if_dry: self.has_cautions() },
            (_, Some(Substrate::Unsanded { wash, .. })) => Verdict::Sand { wash },
            (_, Some(ground @ (Substrate::Late { .. } | Substrate::Shut(_)))) => {
                Verdict::TooLate { until: ground.until() }
            }
            (_, Some(Substrate::Hardening(until, _))) => Verdict::Wait { until },
            (Answer::No, _) => Verdict::No,
            (Answer::Wait, _) => Verdict::Wait { until: self.next_start() },
        }
    }

    /// The next start; None if the coming air is unknown.
    pub fn next_start(&self) -> Option<Moment> {
        let film = || self.ground.and_then(Substrate::until).filter(|_| self.against().is_none());
        self.slots.first().map(|slot| slot.0).or_else(film)
    }

    /// When the verdict becomes GO, as far as known.
    pub fn go_from(&self, now: Moment) -> Option<Moment> {
        match self.verdict() {
            Verdict::Go { .. } => Some(now),
            _ => self.next_start().filter(|start| *start > now),
        }
    }

    /// Whether the humidity or the rain is unknown.
    pub fn has_cautions(&self) -> bool {
        self.air.iter().any(|(against, _)| against.is_caution())
    }

    /// The last start, by the film below and by the air; None if neither has a limit. A window is not promised beyond
    /// the end of the forecast.
    pub fn begin_by(&self) -> Option<Moment> {
        let window = self.window.map(|window| self.forecast_until.map_or(window, |until| window.min(until)));
        window.into_iter().chain(self.last_start.map(|last| last.at)).min()
    }

    /// The objection to a later start, if that is the air and not the window.
    pub fn met_later(&self) -> Option<LastStart> {
        self.last_start.filter(|last| self.window.is_none_or(|window| last.at <= window))
    }

    /// The first objection in the air; None if the air suits it.
    pub fn against(&self) -> Option<(Objection, Moment)> {
        self.air.iter().find(|(against, _)| against.forbids()).copied()
    }

    /// The answer from the air alone, whatever is below.
    pub fn air_answer(&self) -> Answer {
        match self.answer {
            _ if self.against().is_none() => Answer::Go,
            Answer::Wait => Answer::Wait,
            _ => Answer::No,
        }
    }
}

/// Whether a film may never be tack-free, or ready for another coat of its kind, by the slow bound of its errors.
fn may_stay_wet(product: &Product, sky: &Sky, last_stroke: Moment) -> bool {
    let recoat = product.recoat_before(product).map(|entry| &entry.open);
    let tables = product.stage(Stage::TackFree).into_iter().chain(recoat);
    let course = |table| Course::new(&sky.history, table, Law::minimum(product));
    tables.map(course).any(|course| course.crossing(last_stroke, 1.0, Bound::Coolest).is_none())
}

/// For so long a measured surface counts.
const SURFACE_COUNTS: TimeDelta = TimeDelta::hours(6);
/// A reading of the last half hour is the air of now.
const FRESH: TimeDelta = TimeDelta::minutes(30);

/// The age of the last reading, if nothing else says how the air has changed since and it may have passed a limit of the
/// product by now: within the error that has grown since, a limit is no longer certainly met.
fn near_limit(area: &AreaSurvey<'_>, product: &Product, sky: &Sky, now: Moment) -> Option<TimeDelta> {
    let age = now - area.last_reading.filter(|_| sky.known_until <= now)?;
    let air = sky.history.air_at(now)?.degrees();
    let allowed = product.application;
    let grown = sky.outlook().grown_after(age).kelvin();
    let inside = (allowed.coolest.degrees()..=allowed.warmest.degrees()).contains(&air);
    let sure = air - grown >= allowed.coolest.degrees() && air + grown <= allowed.warmest.degrees();
    (age > FRESH && inside && !sure).then_some(age)
}

/// A surface that was outside the limits when it was last measured: the lag with which it follows the air is mostly a
/// guess, so only a new measurement shows that it is inside.
fn measure_surface(product: &Product, sky: &Sky, now: Moment) -> Option<Objection> {
    let read = sky.measured_surface(now - SURFACE_COUNTS)?;
    let (age, surface) = (now - read.at, read.surface?);
    let allowed = product.application;
    let dew = read.humidity.and_then(|humidity| dew_point(read.air, humidity));
    let near = dew.is_some_and(|dew| margin(surface, dew) < allowed.dew_margin);
    let outside = surface < allowed.coolest || surface > allowed.warmest || near;
    (outside && age >= FRESH).then_some(Objection::MeasureSurface(age, surface))
}

/// The proposed coat on the area.
pub fn task_of<'a>(area: &AreaSurvey<'_>, product: &'a Product) -> Task<'a> {
    let takes = area.takes.unwrap_or(TimeDelta::minutes(30));
    Task {
        product,
        takes,
        bare_wood: area.coats == 0 && area.ground.is_none_or(Ground::is_porous),
        outdoors: area.outdoors,
    }
}

/// The area of a place that comes next: one that can take its coat now before others, then the one whose window
/// closes first.
pub fn comes_next<'s, 'a>(
    areas: &'s [AreaSurvey<'a>],
    place: &str,
    now: Moment,
) -> Option<&'s AreaSurvey<'a>> {
    let here = areas.iter().filter(|area| area.place == place && area.judgement.is_some());
    here.min_by_key(|area| {
        let ground = area.judgement.as_ref().and_then(|judgement| judgement.ground);
        let closes = || area.newest.as_ref().and_then(|coat| coat.last_call).filter(|_| area.minds_window());
        let moment = match ground {
            None => closes(),
            Some(ground) if ground.is_owed() => Some(now),
            Some(ground) => ground.until(),
        };
        (ground.is_some(), moment.unwrap_or(Moment::MAX_UTC).max(now))
    })
}

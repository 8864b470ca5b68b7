//! The status as JSON. The keys are a contract.

use chrono::TimeDelta;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

use super::film::{FilmStatus, WetOnWetStatus};
use crate::engine::assess::BatchSurvey;
use crate::engine::assess::PlaceAir;
use crate::engine::assess::{CoatSurvey, Survey};
use crate::engine::cure::{Phase, StageTimes};
use crate::engine::job::{Alert, Coat, Departure, SchemeStep, StepKind};
use crate::engine::units::{Moment, rfc3339};

/// `status --json`
#[derive(Debug, Clone, Serialize)]
pub struct Status {
    #[serde(serialize_with = "moment")]
    at: Moment,
    air: Option<AirStatus>,
    coats: Vec<CoatStatus>,
    batches: Vec<BatchStatus>,
    alerts: Vec<AlertStatus>,
}

/// The air of a place. Unknown values are omitted.
#[derive(Debug, Clone, Serialize)]
pub struct AirStatus {
    place: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    temperature_c: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    relative_humidity: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    dew_point_c: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    surface_c: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    dew_margin_k: Option<f64>,
    #[serde(serialize_with = "optional_moment")]
    reading_at: Option<Moment>,
    assumed: Vec<&'static str>,
}

/// A coat.
#[derive(Debug, Clone, Serialize)]
pub struct CoatStatus {
    id: i64,
    area: String,
    product: String,
    layer: usize,
    next: Option<String>,
    #[serde(serialize_with = "moment")]
    first_stroke: Moment,
    #[serde(serialize_with = "optional_moment")]
    last_stroke: Option<Moment>,
    /// When that likely came, where it was likely forgotten.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "optional_moment")]
    last_stroke_likely: Option<Moment>,
    /// Its interruptions.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pauses: Vec<PauseStatus>,
    phase: Phase,
    #[serde(serialize_with = "optional_moment")]
    last_call: Option<Moment>,
    stages: BTreeMap<&'static str, StageStatus>,
    prepared: bool,
    /// What the scheme said in its place.
    #[serde(skip_serializing_if = "Option::is_none")]
    departure: Option<DepartureStatus>,
    #[serde(skip_serializing_if = "Option::is_none")]
    film: Option<FilmStatus>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wet_on_wet: Option<WetOnWetStatus>,
}

/// How a coat departs from the scheme.
#[derive(Debug, Clone, Serialize)]
pub struct DepartureStatus {
    /// The product of the scheme; null where the scheme has no more coats.
    planned: Option<String>,
    /// The steps of the scheme that were skipped.
    skipped: Vec<&'static str>,
    why: Option<String>,
}

/// A stage of a coat.
#[derive(Debug, Clone, Serialize)]
pub struct StageStatus {
    progress: f64,
    #[serde(serialize_with = "optional_moment")]
    at: Option<Moment>,
    #[serde(serialize_with = "optional_moment")]
    earliest: Option<Moment>,
    #[serde(serialize_with = "optional_moment")]
    latest: Option<Moment>,
    assumed: bool,
    extrapolated: bool,
}

/// A batch.
#[derive(Debug, Clone, Serialize)]
pub struct BatchStatus {
    id: i64,
    product: String,
    #[serde(serialize_with = "moment")]
    mixed_at: Moment,
    mass_g: f64,
    usable_until: UsableStatus,
    /// Null if no temperature is known.
    peak_c: Option<f64>,
    /// Null if no temperature is known. Where the model does not apply the batch counts as dangerous.
    dangerous: Option<bool>,
}

/// When a batch stops being usable; null if unknown or never.
#[derive(Debug, Clone, Serialize)]
pub struct UsableStatus {
    #[serde(serialize_with = "optional_moment")]
    at: Option<Moment>,
    #[serde(serialize_with = "optional_moment")]
    earliest: Option<Moment>,
    #[serde(serialize_with = "optional_moment")]
    latest: Option<Moment>,
}

/// An alert.
#[derive(Debug, Clone, Serialize)]
pub struct AlertStatus {
    id: i64,
    kind: &'static str,
    area: Option<String>,
    #[serde(serialize_with = "moment")]
    due: Moment,
    #[serde(serialize_with = "moment")]
    raised: Moment,
    #[serde(serialize_with = "optional_moment")]
    acknowledged: Option<Moment>,
    text: String,
}

/// An older reading is only an assumption about the air now.
const FRESH: TimeDelta = TimeDelta::minutes(30);

/// Air that deviates this much from the reading, in kelvin, counts as assumed.
const MOVED: f64 = 0.05;

impl Status {
    /// The status of a survey: the first place's air, the newest coat of every area (and those below it, if the
    /// survey has them), and the alerts.
    pub fn of(survey: &Survey<'_>, alerts: &[Alert]) -> Self {
        let coats = survey.areas.iter().flat_map(|area| {
            let under = area.under.iter().map(move |coat| CoatStatus::of(&area.name, coat, false));
            let all = under.chain(area.newest.as_ref().map(|coat| CoatStatus {
                wet_on_wet: area.wet_on_wet.map(WetOnWetStatus::of),
                last_stroke_likely: area.forgotten,
                ..CoatStatus::of(&area.name, coat, area.prepared)
            }));
            all.map(|coat| CoatStatus {
                film: area.films.as_ref().and_then(|films| FilmStatus::of(films, coat.layer)),
                ..coat
            })
        });
        Self {
            at: survey.at,
            air: survey.places.first().map(|air| AirStatus::of(air, survey.at)),
            coats: coats.collect(),
            batches: survey.batches.iter().map(BatchStatus::of).collect(),
            alerts: alerts.iter().map(AlertStatus::of).collect(),
        }
    }
}

impl AirStatus {
    /// The air of a place as JSON.
    pub fn of(air: &PlaceAir, now: Moment) -> Self {
        let mut assumed = Vec::new();
        let moved = air
            .reading
            .zip(air.temperature)
            .is_some_and(|(reading, air)| (reading.air.degrees() - air.degrees()).abs() >= MOVED);
        if moved || air.age(now).is_none_or(|age| age > FRESH) {
            assumed.push("temperature");
        }
        if air.humidity.is_none_or(|(_, at)| at.is_none_or(|at| now - at > FRESH)) {
            assumed.push("humidity");
        }
        if air.surface.is_some_and(|(_, measured)| !measured) {
            assumed.push("surface");
        }
        Self {
            place: air.place.clone(),
            temperature_c: air.temperature.map(|air| tenth(air.degrees(), 1000.0)),
            relative_humidity: air.humidity.map(|(humidity, _)| tenth(humidity.percent(), 100.0)),
            dew_point_c: air.dew.map(|dew| tenth(dew.at.degrees(), 100.0)),
            surface_c: air.surface.map(|(surface, _)| tenth(surface.degrees(), 100.0)),
            dew_margin_k: air.margin.map(|margin| tenth(margin.kelvin(), 100.0)),
            reading_at: air.reading.map(|reading| reading.at),
            assumed,
        }
    }
}

/// An interruption of a coat in `status --json`.
#[derive(Debug, Clone, Serialize)]
pub struct PauseStatus {
    #[serde(serialize_with = "moment")]
    from: Moment,
    #[serde(serialize_with = "optional_moment")]
    to: Option<Moment>,
}

impl CoatStatus {
    fn of(area: &str, survey: &CoatSurvey<'_>, prepared: bool) -> Self {
        let coat = &survey.coat;
        let stages = survey.standing.stages.iter().map(|(stage, r)| (stage.key(), StageStatus::of(r)));
        Self {
            id: coat.id.0,
            area: area.to_owned(),
            product: coat.product.clone(),
            layer: coat.layer,
            next: survey.next.map(|next| next.id.clone()),
            first_stroke: coat.first_stroke,
            last_stroke: coat.last_stroke,
            last_stroke_likely: None,
            pauses: coat.pauses.iter().map(|pause| PauseStatus { from: pause.from, to: pause.to }).collect(),
            phase: survey.standing.phase,
            last_call: survey.last_call,
            stages: stages.collect(),
            prepared,
            departure: coat.departure.as_ref().map(|departure| DepartureStatus::of(departure, coat)),
            film: None,
            wet_on_wet: None,
        }
    }
}

impl DepartureStatus {
    fn of(departure: &Departure, coat: &Coat) -> Self {
        let (planned, before) = match departure {
            Departure::OneMore => (None, &[][..]),
            Departure::Differs { planned, before } => (Some(planned.clone()), before.as_slice()),
        };
        let skipped = before.iter().filter_map(SchemeStep::kind).map(StepKind::key).collect();
        Self { planned, skipped, why: coat.why.clone() }
    }
}

impl StageStatus {
    fn of(times: &StageTimes) -> Self {
        Self {
            progress: tenth(times.progress, 1e9),
            at: times.at,
            earliest: times.earliest,
            latest: times.latest,
            assumed: times.assumed,
            extrapolated: times.extrapolated,
        }
    }
}

impl BatchStatus {
    /// Whether it is dangerous or may be.
    pub fn is_dangerous(&self) -> bool {
        self.dangerous == Some(true)
    }

    /// Whether it is known to be harmless.
    pub fn is_cleared(&self) -> bool {
        self.dangerous == Some(false)
    }

    /// A batch as JSON.
    pub fn of(pot: &BatchSurvey<'_>) -> Self {
        let usable = pot.standing.as_ref().map(|standing| standing.usable);
        Self {
            id: pot.batch.id.0,
            product: pot.batch.product.clone(),
            mixed_at: pot.batch.mixed_at,
            mass_g: tenth(pot.batch.mass.grams(), 10.0),
            usable_until: UsableStatus {
                at: usable.and_then(|usable| usable.at),
                earliest: usable.and_then(|usable| usable.earliest),
                latest: usable.and_then(|usable| usable.latest),
            },
            peak_c: pot.standing.as_ref().map(|standing| tenth(standing.peak.degrees(), 10.0)),
            dangerous: pot.is_dangerous(),
        }
    }
}

impl AlertStatus {
    /// An alert as JSON.
    pub fn of(alert: &Alert) -> Self {
        Self {
            id: alert.id.0,
            kind: alert.kind.key(),
            area: alert.area.clone(),
            due: alert.due,
            raised: alert.raised,
            acknowledged: alert.acknowledged,
            text: alert.text.clone(),
        }
    }
}

fn tenth(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts
}

fn moment<S: Serializer>(moment: &Moment, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&rfc3339(*moment))
}

fn optional_moment<S: Serializer>(moment: &Option<Moment>, serializer: S) -> Result<S::Ok, S::Error> {
    match moment {
        Some(moment) => serializer.serialize_some(&rfc3339(*moment)),
        None => serializer.serialize_none(),
    }
}

//! The view: everything a screen shows, as plain data.

use chrono::{TimeDelta, Timelike};

use super::air_line::AirLine;
use super::bands::{Band, Mark, bands, marks};
pub use super::pot_ribbon::{PotBand, PotPhase, PotRibbon};
use super::sentence::{Rank, Said};
use super::survey::{AreaSurvey, Survey};
use super::weather::{AHEAD, BEFORE, WeatherView};
use super::words::Words;
use crate::alert::{Alert, AlertId, AlertKind};
use crate::climate::Against;
use crate::cure::Phase;
use crate::units::{Civil, Moment, clean, duration_text};

/// A batch that must be spread within so long does not wait for anything.
const AT_ONCE: TimeDelta = TimeDelta::hours(1);

/// Everything a screen shows.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// The moment it shows.
    pub now: Moment,
    /// The name of the piece.
    pub piece: Option<String>,
    /// "Sat 18:00"
    pub clock: String,
    /// The air of every place.
    pub air: Vec<AirLine>,
    /// The areas.
    pub ribbons: Vec<Ribbon>,
    /// The batches that stand in the shop, the one that must be spread first at the top.
    pub pots: Vec<PotRibbon>,
    /// The one thing to do next.
    pub next: NextThing,
    /// Alerts that nobody has acknowledged, newest first.
    pub banners: Vec<Banner>,
    /// The weather of every place, in the order of `air`.
    pub weather: Vec<WeatherView>,
}

/// One area.
#[derive(Debug, Clone, PartialEq)]
pub struct Ribbon {
    /// Its name.
    pub area: String,
    /// "coat 3 of 6, primer-two-part"
    pub layer: String,
    /// The phase now; None where it has no coat.
    pub phase: Option<Phase>,
    /// Whether a coat is being applied now.
    pub applying: bool,
    /// Its stretches.
    pub bands: Vec<Band>,
    /// What happened and what is due.
    pub marks: Vec<Mark>,
    /// What to do, in a sentence or two.
    pub says: String,
    /// The moments with their earliest and latest.
    pub range: String,
    /// What that rests on.
    pub assumed: Vec<String>,
    /// How thick its films are, and how many coats may still go on wet on wet.
    pub film: Vec<String>,
    /// What is counted down.
    pub countdown: Option<Countdown>,
}

impl Ribbon {
    /// A ribbon without anything on it.
    pub const fn bare() -> Self {
        Self {
            area: String::new(),
            layer: String::new(),
            phase: None,
            applying: false,
            bands: Vec::new(),
            marks: Vec::new(),
            says: String::new(),
            range: String::new(),
            assumed: Vec::new(),
            film: Vec::new(),
            countdown: None,
        }
    }
}

/// A moment that is counted down to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Countdown {
    /// The moment.
    pub to: Moment,
    /// "until the window opens"
    pub label: String,
}

impl Countdown {
    /// "0:35:12", or "2 d 03:10:00"; zero once it has passed.
    pub fn digits(&self, now: Moment) -> String {
        let left = (self.to - now).max(TimeDelta::zero()).num_seconds();
        let (days, hours, minutes, seconds) = (left / 86_400, left / 3600 % 24, left / 60 % 60, left % 60);
        if days > 0 {
            format!("{days} d {hours:02}:{minutes:02}:{seconds:02}")
        } else {
            format!("{hours}:{minutes:02}:{seconds:02}")
        }
    }
}

/// The one thing to do next.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NextThing {
    /// The area it is about.
    pub area: Option<String>,
    /// The sentence.
    pub says: String,
    /// Its countdown.
    pub countdown: Option<Countdown>,
}

/// An alert on the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Banner {
    /// Its number.
    pub id: AlertId,
    /// What it is about.
    pub kind: AlertKind,
    /// Its words, with how long ago it fell due where that is long.
    pub text: String,
}

impl View {
    /// The view of a survey at `now`, which may be a little later than the survey's own moment.
    pub fn of(survey: &Survey<'_>, alerts: &[Alert], words: &Words, now: Moment) -> Self {
        let said: Vec<(&AreaSurvey<'_>, Said)> = survey
            .areas
            .iter()
            .map(|area| (area, words.area(area, survey.air(&area.place), survey.sky(&area.place), now)))
            .collect();
        let live = survey.batches.iter().filter(|pot| pot.is_live(now));
        let mut pots: Vec<(Rank, PotRibbon)> = live.map(|pot| PotRibbon::of(pot, words, now)).collect();
        pots.sort_by_key(|(rank, pot)| (*rank, pot.due()));
        // A pot does not wait for a thermometer.
        let pressing =
            |(rank, pot): &(Rank, PotRibbon)| *rank == Rank::Deadline && pot.due() - now <= AT_ONCE;
        let read = read_first(survey, now).filter(|_| !pots.iter().any(pressing));
        let next = read.unwrap_or_else(|| next_thing(&said, &pots));
        Self {
            now,
            piece: survey.piece.clone(),
            clock: format!("{} {}", words.civil.weekday(now), words.civil.time_of_day(now)),
            air: survey.places.iter().map(|air| AirLine::of(survey, air, words, now)).collect(),
            weather: survey.weather(words).to_vec(),
            pots: pots.into_iter().map(|(_, pot)| pot).collect(),
            ribbons: said
                .into_iter()
                .map(|(area, said)| Ribbon { film: words.films(area, now), ..ribbon(area, said, now) })
                .collect(),
            next,
            banners: banners(survey, alerts, words, now),
        }
    }
}

fn ribbon(area: &AreaSurvey<'_>, said: Said, now: Moment) -> Ribbon {
    let coat = area.newest.as_ref();
    let layer = match (coat, area.planned) {
        (None, _) if area.coats > 0 => format!("coat {}", area.coats),
        (None, _) => String::new(),
        (Some(coat), Some(planned)) if coat.coat.layer <= planned => {
            format!("coat {} of {planned}, {}", coat.coat.layer, coat.coat.product)
        }
        (Some(coat), _) => format!("coat {}, {}", coat.coat.layer, coat.coat.product),
    };
    let last_call = coat.filter(|_| area.minds_window()).and_then(|coat| coat.last_call);
    Ribbon {
        area: clean(&area.name),
        layer: clean(&layer),
        phase: area.phase_at(now),
        applying: coat.is_some_and(|coat| coat.coat.last_stroke.is_none()),
        bands: coat.map(|coat| bands(&coat.coat, &coat.standing, now)).unwrap_or_default(),
        marks: marks(&area.strokes, &area.steps, last_call),
        says: said.says,
        range: said.range,
        assumed: said.assumed,
        film: Vec::new(),
        countdown: said.countdown,
    }
}

/// Where films depend on a reading that is too old to trust, that comes first.
fn read_first(survey: &Survey<'_>, now: Moment) -> Option<NextThing> {
    let depends = |area: &&AreaSurvey<'_>| {
        let coat = area.newest.as_ref();
        coat.is_some_and(|coat| coat.standing.is_assumed() && coat.standing.phase_at(now) != Phase::Cured)
    };
    let area = survey.areas.iter().filter(depends).find(|area| area.reading_old.is_some())?;
    let age = duration_text(area.reading_old?);
    let says = format!("Read the thermometer: the last reading of the {} is {age} old.", clean(&area.place));
    Some(NextThing { area: None, says, countdown: None })
}

fn next_thing(said: &[(&AreaSurvey<'_>, Said)], pots: &[(Rank, PotRibbon)]) -> NextThing {
    let far = Moment::MAX_UTC;
    let soonest = |said: &Said| said.countdown.as_ref().map_or(far, |countdown| countdown.to);
    let first = said.iter().min_by_key(|(_, said)| (said.rank, soonest(said)));
    let area = first.map(|(_, said)| (said.rank, soonest(said)));
    let pot = pots.first().filter(|(rank, pot)| area.is_none_or(|area| (*rank, pot.due()) < area));
    if let Some((_, pot)) = pot {
        return NextThing { area: None, says: pot.says.clone(), countdown: pot.countdown.clone() };
    }
    match first {
        Some((area, said)) if said.rank != Rank::Nothing => NextThing {
            area: Some(clean(&area.name)),
            says: said.says.clone(),
            countdown: said.countdown.clone(),
        },
        Some(_) => NextThing { says: "Nothing waits for you.".into(), ..NextThing::default() },
        None => NextThing {
            says: "Nothing has been coated yet: c when the first stroke goes on, t for the temperature."
                .into(),
            ..NextThing::default()
        },
    }
}

fn banners(survey: &Survey<'_>, alerts: &[Alert], words: &Words, now: Moment) -> Vec<Banner> {
    let open = alerts.iter().filter(|alert| alert.acknowledged.is_none() && alert.raised <= now);
    let mut open: Vec<&Alert> = open.filter(|alert| still_matters(survey, alert, now)).collect();
    // Of one kind for one coat the newest says what holds; then what insists and is due soonest comes first.
    let newer = |one: &Alert, other: &Alert| {
        one.kind == other.kind && one.subject == other.subject && one.round > other.round
    };
    open.retain(|alert| !alerts.iter().any(|other| newer(other, alert)));
    open.sort_by_key(|alert| (!alert.kind.insists(), alert.due < now, (alert.due - now).abs(), alert.id));
    let text = |alert: &Alert| {
        let stands = threat_now(survey, alert, words, now).or_else(|| closed(alert, words, now));
        stands.unwrap_or_else(|| alert.text_at(now))
    };
    open.into_iter()
        .map(|alert| Banner { id: alert.id, kind: alert.kind, text: clean(&text(alert)) })
        .collect()
}

/// What an alert of the weather has to say as things stand now: the forecast, or the air, may have moved.
fn threat_now(survey: &Survey<'_>, alert: &Alert, words: &Words, now: Moment) -> Option<String> {
    let area = survey.area(alert.area.as_ref()?)?;
    let same = |(against, _): &&(Against, Moment)| alert.kind.warns_of(*against);
    let (against, from) = area.threats().iter().find(same)?;
    Some(words.threat(area, *against, *from, now))
}

/// A window that was about to close when it was told, and has closed since.
fn closed(alert: &Alert, words: &Words, now: Moment) -> Option<String> {
    let area = alert.area.as_ref().filter(|_| alert.kind == AlertKind::RecoatClose && alert.due <= now)?;
    Some(format!("{area}: the window closed {}. Let it cure, then sand.", words.when(alert.due, now)))
}

/// Whether the cause of an alert is still there: not where the next coat went on, the tape is off, the ground
/// is ready or the stove is lit.
fn still_matters(survey: &Survey<'_>, alert: &Alert, now: Moment) -> bool {
    if alert.kind.is_of_a_batch() {
        return pot_matters(survey, alert, now);
    }
    let Some(name) = &alert.area else {
        let place = alert.subject.split('@').next().and_then(|place| survey.air(place));
        return place.is_none_or(|air| air.old);
    };
    let Some((area, coat)) = survey.area(name).and_then(|area| Some((area, area.newest.as_ref()?))) else {
        return false;
    };
    let same = alert.subject == coat.coat.id.to_string();
    let phase = coat.standing.phase_at(now);
    same && match alert.kind {
        AlertKind::TapeBy => area.taped,
        AlertKind::Stall => coat.standing.stalled,
        AlertKind::RecoatOpen => area.minds_window() && phase == Phase::Open,
        AlertKind::LastCall => {
            area.minds_window() && matches!(phase, Phase::Open | Phase::Wet) && alert.due > now
        }
        // What can be sanded is told as such.
        AlertKind::RecoatClose => area.minds_window() && !matches!(phase, Phase::Sandable | Phase::Cured),
        AlertKind::Moved => area.minds_window() && matches!(phase, Phase::Wet | Phase::Open),
        AlertKind::Sandable => !area.prepared,
        AlertKind::Dew | AlertKind::Rain | AlertKind::OutOfRange => {
            area.threats().iter().any(|(against, _)| alert.kind.warns_of(*against))
        }
        AlertKind::FullCure | AlertKind::ReadingOld => true,
        AlertKind::PotLife | AlertKind::PotOver | AlertKind::Induction => false,
    }
}

/// Whether the cause of a batch's alert is still there: not where it was emptied.
fn pot_matters(survey: &Survey<'_>, alert: &Alert, now: Moment) -> bool {
    let pot = survey.batches.iter().find(|pot| alert.subject == pot.batch.id.to_string());
    let Some(pot) = pot.filter(|pot| pot.is_live(now)) else { return false };
    let over =
        pot.standing.as_ref().and_then(|standing| standing.usable.earliest).is_some_and(|end| end <= now);
    match alert.kind {
        AlertKind::PotOver => over,
        _ => !over,
    }
}

/// The time axis that all ribbons share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Axis {
    /// Its left end.
    pub from: Moment,
    /// Its right end.
    pub to: Moment,
    /// Labelled moments: hours, and the weekday at midnight.
    pub ticks: Vec<(Moment, String)>,
}

/// How much time the axis may show, from close up to far off.
const SPANS: [TimeDelta; 7] = [
    TimeDelta::hours(3),
    TimeDelta::hours(6),
    TimeDelta::hours(12),
    TimeDelta::hours(24),
    TimeDelta::days(3),
    TimeDelta::days(7),
    TimeDelta::days(21),
];

impl Axis {
    /// How many zoom steps there are.
    pub const ZOOMS: usize = SPANS.len();

    /// An axis over `columns` cells with now a quarter from the left, moved by `shift` quarters.
    pub fn new(now: Moment, zoom: usize, shift: i32, columns: u16, civil: &Civil) -> Self {
        let span = SPANS[zoom.min(SPANS.len() - 1)];
        let from = now - span / 4 + span / 4 * shift;
        let to = from + span;
        Self { from, to, ticks: ticks(from, to, columns, civil) }
    }

    /// An axis from one moment to another.
    pub fn between(from: Moment, to: Moment, columns: u16, civil: &Civil) -> Self {
        Self { from, to, ticks: ticks(from, to, columns, civil) }
    }

    /// The axis of the weather: the last day and the next three, so that now is a quarter from the left too.
    pub fn of_weather(now: Moment, columns: u16, civil: &Civil) -> Self {
        let (from, to) = (now - BEFORE, now + AHEAD);
        Self { from, to, ticks: ticks(from, to, columns, civil) }
    }

    /// The closest zoom, of twelve hours at least, that shows what the areas wait for next; what is further
    /// off than a night does not push what is near together.
    pub fn fitting(view: &View) -> usize {
        let ahead =
            |ribbon: &Ribbon| ribbon.bands.iter().map(|band| band.from).filter(|at| *at > view.now).min();
        let waits: Vec<TimeDelta> = view.ribbons.iter().filter_map(ahead).map(|at| at - view.now).collect();
        let near = waits.iter().filter(|wait| **wait <= TimeDelta::hours(16)).max();
        let furthest = near.or(waits.iter().min()).copied().unwrap_or(TimeDelta::zero());
        let fits = |span: &TimeDelta| *span >= TimeDelta::hours(12) && *span * 2 / 3 >= furthest;
        SPANS.iter().position(fits).unwrap_or(SPANS.len() - 1)
    }

    /// The share of the axis at which a moment lies, 0 at its left end and 1 at its right.
    pub fn share(&self, moment: Moment) -> f64 {
        (moment - self.from).num_milliseconds() as f64 / (self.to - self.from).num_milliseconds() as f64
    }
}

fn ticks(from: Moment, to: Moment, columns: u16, civil: &Civil) -> Vec<(Moment, String)> {
    let hours = (to - from).num_hours();
    let columns = u64::from(columns.max(12));
    let wanted = (hours.unsigned_abs() * 5).div_ceil(columns).max(1) as i64;
    let step = [1, 2, 3, 6, 12, 24].into_iter().find(|step| *step >= wanted).unwrap_or(24);
    let days = if wanted > 24 { (wanted + 23) / 24 } else { 1 };
    let past_hour = i64::from(from.minute()) * 60 + i64::from(from.second());
    let mut tick = from - TimeDelta::seconds(past_hour);
    let mut ticks = Vec::new();
    let mut midnights = 0;
    while tick < to {
        let local = civil.local(tick);
        // Zones with an odd quarter of an hour have their full hours beside those of UTC.
        let full = tick - TimeDelta::minutes(i64::from(local.minute()));
        let local = civil.local(full);
        if full >= from && i64::from(local.hour()) % step == 0 {
            if local.hour() == 0 {
                midnights += 1;
                if midnights % days == 0 {
                    let label =
                        if days > 1 { local.format("%a %-d").to_string() } else { civil.weekday(full) };
                    ticks.push((full, label));
                }
            } else {
                ticks.push((full, civil.hour(full)));
            }
        }
        tick += TimeDelta::hours(1);
    }
    ticks
}

#[cfg(test)]
mod tests;

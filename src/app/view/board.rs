//! The view: the content of a screen, as plain data.

mod banners;

use chrono::TimeDelta;

use crate::app::view::AirLine;
use crate::app::view::PotRibbon;
use crate::app::view::WeatherView;
use crate::app::view::{Band, Mark, area_bands, marks};
use crate::app::wording::Words;
use crate::app::wording::{Countdown, Rank, Said};
use crate::engine::assess::{AreaSurvey, Survey, Verdict};
use crate::engine::cure::Phase;
use crate::engine::job::{Alert, AlertId, AlertKind};
use crate::engine::units::{Moment, clean, duration_text};
use banners::banners;

/// A batch that must be spread within this time comes before everything.
const AT_ONCE: TimeDelta = TimeDelta::hours(1);

/// The content of a screen.
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
    /// The mixed batches, most urgent first.
    pub pots: Vec<PotRibbon>,
    /// The next thing to do.
    pub next: NextThing,
    /// Alerts not yet acknowledged, newest first.
    pub banners: Vec<Banner>,
    /// The weather of every place, in the order of `air`; empty unless requested.
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
    /// When its last stroke likely came, as a person types it, where that was likely forgotten.
    pub forgotten: Option<String>,
    /// Its stretches.
    pub bands: Vec<Band>,
    /// Past and due events.
    pub marks: Vec<Mark>,
    /// The verdict: "WAIT until 08:46".
    pub head: String,
    /// Reasons and next steps, in sentences.
    pub says: String,
    /// The moments with their earliest and latest.
    pub range: String,
    /// The assumptions.
    pub assumed: Vec<String>,
    /// Its film thickness, and how many coats may still go on wet on wet.
    pub film: Vec<String>,
    /// The countdown.
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
            forgotten: None,
            bands: Vec::new(),
            marks: Vec::new(),
            head: String::new(),
            says: String::new(),
            range: String::new(),
            assumed: Vec::new(),
            film: Vec::new(),
            countdown: None,
        }
    }
}

/// The next thing to do.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NextThing {
    /// Its area.
    pub area: Option<String>,
    /// The verdict.
    pub head: String,
    /// Reasons and next steps.
    pub says: String,
    /// Its countdown.
    pub countdown: Option<Countdown>,
}

/// An alert on the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Banner {
    /// Its number.
    pub id: AlertId,
    /// Its kind.
    pub kind: AlertKind,
    /// Its text, with its age if that is long.
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
        // A pot does not wait for a reading.
        let pressing =
            |(rank, pot): &(Rank, PotRibbon)| *rank == Rank::Deadline && pot.due() - now <= AT_ONCE;
        let read = read_first(survey, words, now).filter(|_| !pots.iter().any(pressing));
        let next = read.unwrap_or_else(|| next_thing(&said, &pots));
        Self {
            now,
            piece: survey.piece.clone(),
            clock: format!("{} {}", words.civil.weekday(now), words.civil.time_of_day(now)),
            air: survey.places.iter().map(|air| AirLine::of(survey, air, words, now)).collect(),
            weather: Vec::new(),
            pots: pots.into_iter().map(|(_, pot)| pot).collect(),
            ribbons: said
                .into_iter()
                .map(|(area, said)| Ribbon { film: words.films(area, now), ..ribbon(area, said, words, now) })
                .collect(),
            next,
            banners: banners(survey, alerts, words, now),
        }
    }
}

fn ribbon(area: &AreaSurvey<'_>, said: Said, words: &Words, now: Moment) -> Ribbon {
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
        forgotten: area.forgotten.map(|likely| words.typed(likely)),
        bands: coat.map(|coat| area_bands(area, coat, now)).unwrap_or_default(),
        marks: marks(&area.strokes, &area.steps, last_call),
        head: said.head,
        says: said.says,
        range: said.range,
        assumed: said.assumed,
        film: Vec::new(),
        countdown: said.countdown,
    }
}

/// A reading comes first where films depend on one that is too old.
fn read_first(survey: &Survey<'_>, words: &Words, now: Moment) -> Option<NextThing> {
    let depends = |area: &&AreaSurvey<'_>| {
        let coat = area.newest.as_ref();
        coat.is_some_and(|coat| coat.standing.is_assumed() && coat.standing.phase_at(now) != Phase::Cured)
    };
    let area = survey.areas.iter().filter(depends).find(|area| area.reading_old.is_some())?;
    let age = duration_text(area.reading_old?);
    let head = words.headline(Verdict::ReadThermometer, now);
    let says = format!("The last reading of the {} is {age} old.", clean(&area.place));
    Some(NextThing { area: None, head, says, countdown: None })
}

fn next_thing(said: &[(&AreaSurvey<'_>, Said)], pots: &[(Rank, PotRibbon)]) -> NextThing {
    let far = Moment::MAX_UTC;
    let soonest = |said: &Said| said.countdown.as_ref().map_or(far, |countdown| countdown.to);
    let first = said.iter().min_by_key(|(_, said)| (said.rank, soonest(said)));
    let area = first.map(|(_, said)| (said.rank, soonest(said)));
    let pot = pots.first().filter(|(rank, pot)| area.is_none_or(|area| (*rank, pot.due()) < area));
    if let Some((_, pot)) = pot {
        let (says, countdown) = (pot.says.clone(), pot.countdown.clone());
        return NextThing { says, countdown, ..NextThing::default() };
    }
    match first {
        Some((area, said)) if said.rank != Rank::Nothing => NextThing {
            area: Some(clean(&area.name)),
            head: said.head.clone(),
            says: said.says.clone(),
            countdown: said.countdown.clone(),
        },
        Some(_) => NextThing { says: "Nothing to do.".into(), ..NextThing::default() },
        None => NextThing {
            says: "No coat yet: press c at the first stroke, t for a reading.".into(),
            ..NextThing::default()
        },
    }
}

impl NextThing {
    /// The verdict and the sentences, in one line.
    pub fn line(&self) -> String {
        if self.head.is_empty() { self.says.clone() } else { format!("{}. {}", self.head, self.says) }
    }
}

#[cfg(test)]
mod tests;

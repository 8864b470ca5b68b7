//! The words: what an area needs next, when, how sure, and on what that rests.

use chrono::TimeDelta;

use super::air::PlaceAir;
use super::sky::Sky;
use super::survey::{AreaSurvey, CoatSurvey};
use super::view::Countdown;
use crate::cure::{Phase, Reckoning};
use crate::job::SchemeStep;
use crate::profile::Stage;
use crate::units::{Celsius, Civil, KelvinDelta, Moment, Units, duration_text};

/// The units and the clock that words are made with.
#[derive(Debug, Clone)]
pub struct Words {
    /// The wall clock.
    pub civil: Civil,
    /// The units.
    pub units: Units,
}

/// What is said of one area.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Said {
    /// What to do, in a sentence or two.
    pub says: String,
    /// The moments with their earliest and latest.
    pub range: String,
    /// What that rests on.
    pub assumed: Vec<String>,
    /// What is counted down.
    pub countdown: Option<Countdown>,
    /// How it ranks against what other areas need.
    pub rank: Rank,
}

/// What comes first when several areas want something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) enum Rank {
    /// A window or a tape that will not wait.
    Deadline,
    /// Something can be done now.
    Now,
    /// Something can be done later.
    Later,
    /// Nothing to do.
    #[default]
    Nothing,
}

const NO_READING: &str = "no temperature is known here; enter one (t, or curewright reading)";

/// A deadline further off than this does not come before what can be done now.
const PRESSING: TimeDelta = TimeDelta::hours(4);

/// "First coat" to "tenth coat", then "coat 11".
pub fn ordinal_coat(layer: usize) -> String {
    const ORDINALS: [&str; 10] =
        ["First", "Second", "Third", "Fourth", "Fifth", "Sixth", "Seventh", "Eighth", "Ninth", "Tenth"];
    match layer.checked_sub(1).and_then(|index| ORDINALS.get(index)) {
        Some(ordinal) => format!("{ordinal} coat"),
        None => format!("Coat {layer}"),
    }
}

impl Words {
    /// A moment as it is told at `now`.
    pub fn when(&self, moment: Moment, now: Moment) -> String {
        self.civil.when(moment, now)
    }

    /// What is said of an area at `now`.
    pub(super) fn area(
        &self,
        area: &AreaSurvey<'_>,
        air: Option<&PlaceAir>,
        sky: Option<&Sky>,
        now: Moment,
    ) -> Said {
        if let Some(trouble) = &area.trouble {
            return Said { says: sentence(trouble), rank: Rank::Now, ..Said::default() };
        }
        let Some(coat) = &area.newest else { return self.bare(area) };
        let unread = air.is_none_or(|air| air.reading.is_none());
        let mut said = match coat.coat.last_stroke {
            None => self.applying(area, coat, now),
            Some(_) if unread => Said { says: sentence(NO_READING), rank: Rank::Now, ..Said::default() },
            Some(_) if area.prepared => self.prepared(area, coat, now),
            Some(_) if !area.wants_coat() => self.last_of_all(area, coat, now),
            Some(_) => self.waiting(area, coat, now),
        };
        if coat.standing.stalled {
            said.says = format!("{} {}", self.stalled(coat, air), said.says);
        }
        self.tape(area, coat, now, &mut said);
        said.assumed = self.assumed(area, coat, (air, sky), now);
        said
    }

    fn bare(&self, area: &AreaSurvey<'_>) -> Said {
        let says = match area.to_do.first() {
            None => "No coat yet.".into(),
            Some(SchemeStep::Coat { product, .. }) => {
                format!("No coat yet; the scheme begins with {product}.")
            }
            Some(step) => format!("No coat yet; first {}.", self.step(step)),
        };
        Said { says, rank: Rank::Now, ..Said::default() }
    }

    fn applying(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Said {
        let begun = coat.coat.first_stroke;
        let mut says = if now - begun < TimeDelta::minutes(1) {
            "Tell when the last stroke is done (f, or curewright done).".to_owned()
        } else {
            format!(
                "Being coated since {} ({}); tell when the last stroke is done (f, or curewright done).",
                self.when(begun, now),
                duration_text(now - begun)
            )
        };
        if area.wants_coat()
            && let Some((open, close)) = coat.standing.window()
        {
            let next = self.next_coat(area, coat);
            match (open, close) {
                (Some(open), Some(close)) => {
                    says += &format!(
                        " {next} not before {}, at the latest {}.",
                        self.when(open, now),
                        self.when(close, now)
                    );
                }
                (Some(open), None) => says += &format!(" {next} not before {}.", self.when(open, now)),
                _ => {}
            }
        }
        let stages = [Stage::RecoatOpen, Stage::RecoatClose];
        Said { says, range: self.range(coat, &stages, now), rank: Rank::Now, ..Said::default() }
    }

    fn prepared(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Said {
        let phase = coat.standing.phase_at(now);
        if matches!(phase, Phase::Wet | Phase::Shut) {
            let from = coat.standing.stage(Stage::Sandable).and_then(|r| r.latest);
            let safe = from.map(|from| format!(" before {}, when it can be", self.when(from, now)));
            let says = format!("Sanded{}: uncured dust harms skin and lungs.", safe.unwrap_or_default());
            return Said { says, rank: Rank::Now, ..Said::default() };
        }
        if !area.wants_coat() {
            return Said { says: "The scheme is done.".into(), ..Said::default() };
        }
        let says = format!("The ground is ready: {} may go on now.", uncapital(&self.next_coat(area, coat)));
        Said { says, rank: Rank::Now, ..Said::default() }
    }

    fn last_of_all(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Said {
        let stages = [Stage::TackFree, Stage::Handle, Stage::FullCure];
        let range = self.range(coat, &stages, now);
        if coat.standing.phase_at(now) == Phase::Cured {
            return Said { says: "Full cure: ready for service.".into(), range, ..Said::default() };
        }
        let latest = |stage| coat.standing.stage(stage).map(|r: &Reckoning| r.latest);
        let mut parts = vec![
            if area.planned.is_some() { "The last coat of the scheme" } else { "No coat to follow" }
                .to_owned(),
        ];
        let mut countdown = None;
        for (stage, words) in [(Stage::Handle, "dry to handle"), (Stage::FullCure, "full cure")] {
            match latest(stage) {
                Some(Some(moment)) if moment > now => {
                    parts.push(format!("{words} {}", self.when(moment, now)));
                    countdown.get_or_insert(Countdown { to: moment, label: words.into() });
                }
                Some(Some(_)) => parts.push(format!("{words} reached")),
                Some(None) => parts.push(format!("{words} never at this temperature")),
                None => {}
            }
        }
        let says = format!("{}.", parts.join("; "));
        Said { says, range, countdown, rank: Rank::Later, ..Said::default() }
    }

    fn waiting(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Said {
        let phase = coat.standing.phase_at(now);
        let scheme_sands = matches!(area.to_do.first(), Some(SchemeStep::Sand { .. } | SchemeStep::Wash));
        match phase {
            Phase::Wet | Phase::Open if scheme_sands => {
                let mut said = self.until_sandable(area, coat, now);
                if phase == Phase::Open && said.rank == Rank::Later {
                    said.says = format!("The scheme sands next. {}", said.says);
                }
                said
            }
            Phase::Wet | Phase::Open if coat.standing.window().is_none() => {
                self.until_sandable(area, coat, now)
            }
            Phase::Wet => self.until_open(area, coat, now),
            Phase::Open => self.while_open(area, coat, now),
            Phase::Shut => {
                let mut said = self.until_sandable(area, coat, now);
                said.says = format!("Too late for another coat as it is. {}", said.says);
                said
            }
            Phase::Sandable => self.sand_now(area, coat, "", now),
            Phase::Cured => self.sand_now(area, coat, "Full cure. ", now),
        }
    }

    fn sand_now(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, before: &str, now: Moment) -> Said {
        let wash = if coat.standing.wash && !area.washed { "Wash, then sand" } else { "Sand" };
        let next = uncapital(&self.next_coat(area, coat));
        let says = format!("{before}{wash}{}, then {next}.", self.grit(area));
        let range = self.range(coat, &[Stage::Sandable, Stage::FullCure], now);
        Said { says, range, rank: Rank::Now, ..Said::default() }
    }

    fn until_open(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Said {
        let next = self.next_coat(area, coat);
        let (open, close) = coat.standing.window().unwrap_or_default();
        let range = self.range(coat, &[Stage::RecoatOpen, Stage::RecoatClose], now);
        let Some(open) = open else {
            let says = self.perhaps_never(coat, Stage::RecoatOpen, "the window opens", now);
            return Said { says, range, rank: Rank::Later, ..Said::default() };
        };
        let countdown = Some(Countdown { to: open, label: "until the window opens".into() });
        let at = self.when(open, now);
        let says = match close {
            None => format!("{next} from {at}; no upper limit in the profile."),
            Some(close) if close <= open => format!(
                "The window may close {} before it is sure to be open {at}: read the temperature again, or wait and sand.",
                self.when(close, now)
            ),
            Some(close) => {
                format!(
                    "{next} from {at}, at the latest {}; {}",
                    self.when(close, now),
                    self.start_by(area, coat, now)
                )
            }
        };
        Said { says, range, countdown, rank: Rank::Later, ..Said::default() }
    }

    fn while_open(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Said {
        let next = self.next_coat(area, coat);
        let range = self.range(coat, &[Stage::RecoatClose, Stage::Sandable], now);
        let Some(close) = coat.standing.window().and_then(|(_, close)| close) else {
            let says = format!("{next} may go on now; no upper limit in the profile.");
            return Said { says, range, rank: Rank::Now, ..Said::default() };
        };
        let last_call = coat.last_call.unwrap_or(close);
        let (says, countdown) = if last_call > now {
            let says = format!(
                "{next} now, at the latest {}; {}",
                self.when(close, now),
                self.start_by(area, coat, now)
            );
            (says, Countdown { to: last_call, label: "to start the next coat".into() })
        } else {
            let says = format!(
                "Too late to finish {}before the window closes {}: have a helper, or let it cure and sand.",
                the(&area.name),
                self.when(close, now)
            );
            (says, Countdown { to: close, label: "until the window closes".into() })
        };
        let rank = if countdown.to - now <= PRESSING { Rank::Deadline } else { Rank::Now };
        Said { says, range, countdown: Some(countdown), rank, ..Said::default() }
    }

    fn until_sandable(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Said {
        let range = self.range(coat, &[Stage::Sandable], now);
        let next = uncapital(&self.next_coat(area, coat));
        let silent = match (coat.standing.silent, coat.next) {
            (true, Some(next)) => format!("The profile says nothing of {} on top. ", next.id),
            _ => String::new(),
        };
        let wash = if coat.standing.wash { "washed and sanded" } else { "sanded" };
        match coat.standing.stage(Stage::Sandable).map(|r| r.latest) {
            Some(Some(from)) if from <= now => self.sand_now(area, coat, &silent, now),
            Some(Some(from)) => Said {
                says: format!(
                    "{silent}Hands off until it can be {wash}{}, from {}; then {next}.",
                    self.grit(area),
                    self.when(from, now)
                ),
                range,
                countdown: Some(Countdown { to: from, label: "until it can be sanded".into() }),
                rank: Rank::Later,
                ..Said::default()
            },
            Some(None) => Said {
                says: format!(
                    "{silent}It can never be sanded on what is known: too cold, too damp or not read."
                ),
                range,
                rank: Rank::Later,
                ..Said::default()
            },
            None => Said {
                says: format!("{silent}The profile does not say when it can be sanded; ask the data sheet."),
                range,
                rank: Rank::Later,
                ..Said::default()
            },
        }
    }

    /// For a stage that is not reached for certain: it is too cold or too damp for it.
    fn perhaps_never(&self, coat: &CoatSurvey<'_>, stage: Stage, what: &str, now: Moment) -> String {
        match coat.standing.stage(stage).and_then(|r| r.earliest) {
            Some(earliest) => format!(
                "As the air is, {what} {} at the earliest, perhaps never: too cold or too damp. Warm the shop.",
                self.when(earliest, now)
            ),
            None => "As the air is, it gets no further: too cold or too damp. Warm the shop.".into(),
        }
    }

    fn start_by(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> String {
        match coat.last_call {
            Some(call) if call > now => {
                format!("start by {} to finish {}in time.", self.when(call, now), the(&area.name))
            }
            _ => format!("too short to finish {}inside it.", the(&area.name)),
        }
    }

    /// Tape has its own deadline beside the coat's.
    fn tape(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment, said: &mut Said) {
        let due = coat.standing.stage(Stage::TapeBy).and_then(|r| r.earliest);
        let (true, Some(due)) = (area.taped, due) else { return };
        if due > now {
            said.says += &format!(" Pull the tape by {}.", self.when(due, now));
            if coat.coat.last_stroke.is_some() && said.countdown.as_ref().is_none_or(|c| due < c.to) {
                said.countdown = Some(Countdown { to: due, label: "to pull the tape".into() });
                said.rank = if due - now <= PRESSING { Rank::Deadline } else { said.rank };
            }
        } else {
            said.says += &format!(" The tape should have been off by {}.", self.when(due, now));
        }
    }

    fn stalled(&self, coat: &CoatSurvey<'_>, air: Option<&PlaceAir>) -> String {
        let limit = coat.product.application.stall_below;
        let now = air.and_then(|air| air.reading).map(|reading| self.units.temperature(reading.air));
        match (now, limit) {
            (Some(now), Some(limit)) => {
                format!(
                    "Too cold: at {now}, below {}, the film does not progress.",
                    self.units.temperature(limit)
                )
            }
            _ => "Too cold: the film does not progress.".into(),
        }
    }

    fn next_coat(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>) -> String {
        let ordinal = ordinal_coat(area.coats + 1);
        match coat.next {
            Some(next) if next.id != coat.product.id => format!("{ordinal}, {},", next.id),
            _ => ordinal,
        }
    }

    fn foreseen(&self, area: &AreaSurvey<'_>, sky: Option<&Sky>) -> String {
        match sky.and_then(|sky| sky.follows) {
            Some((lag, _)) => {
                format!(
                    "rests on the forecast, which the {} follows within {}",
                    area.place,
                    duration_text(lag)
                )
            }
            None => "rests on the forecast".into(),
        }
    }

    fn grit(&self, area: &AreaSurvey<'_>) -> String {
        match area.to_do.iter().find(|step| !matches!(step, SchemeStep::Wash)) {
            Some(SchemeStep::Sand { grit, .. }) => format!(" (grit {grit})"),
            _ => String::new(),
        }
    }

    fn step(&self, step: &SchemeStep) -> String {
        match step {
            SchemeStep::Coat { product, .. } => format!("a coat of {product}"),
            SchemeStep::Sand { grit, .. } => format!("sand with grit {grit}"),
            SchemeStep::Wash => "wash".into(),
            SchemeStep::Tape { on: true } => "put the tape on".into(),
            SchemeStep::Tape { on: false } => "pull the tape".into(),
        }
    }

    /// "opens 16:22 … 16:40 · closes 19:10 … 20:05"
    fn range(&self, coat: &CoatSurvey<'_>, stages: &[Stage], now: Moment) -> String {
        let part = |stage: &Stage| {
            let reckoning = coat.standing.stage(*stage)?;
            let word = match stage {
                Stage::RecoatOpen => "opens",
                Stage::RecoatClose => "closes",
                other => other.name(),
            };
            let before = if reckoning.not_before { "not before " } else { "" };
            Some(format!("{word} {before}{}", self.between(reckoning, now)))
        };
        stages.iter().filter_map(part).collect::<Vec<_>>().join(" · ")
    }

    /// "16:22 … 16:40", or "Sun 08:00 … 09:20".
    fn between(&self, reckoning: &Reckoning, now: Moment) -> String {
        match (reckoning.earliest, reckoning.latest) {
            (None, _) => "never on what is known".into(),
            (Some(earliest), None) => format!("{} at the earliest, perhaps never", self.when(earliest, now)),
            (Some(earliest), Some(latest)) => {
                let (from, to) = (self.when(earliest, now), self.when(latest, now));
                let same_day =
                    self.civil.local(earliest).date_naive() == self.civil.local(latest).date_naive();
                let to = if same_day { self.civil.time_of_day(latest) } else { to };
                if from.ends_with(&to) { from } else { format!("{from} … {to}") }
            }
        }
    }

    fn assumed(
        &self,
        area: &AreaSurvey<'_>,
        coat: &CoatSurvey<'_>,
        (air, sky): (Option<&PlaceAir>, Option<&Sky>),
        now: Moment,
    ) -> Vec<String> {
        let standing = &coat.standing;
        let matters = |stage: Stage| match stage {
            Stage::RecoatOpen | Stage::RecoatClose | Stage::Sandable => area.wants_coat() && !area.prepared,
            Stage::Handle | Stage::FullCure => !area.wants_coat(),
            Stage::TapeBy => area.taped,
            Stage::TackFree => false,
        };
        let ahead = || standing.stages.iter().filter(|(stage, r)| matters(*stage) && r.progress < 1.0);
        let mut assumed = Vec::new();
        match air.and_then(|air| air.reading) {
            None => assumed.push(NO_READING.into()),
            Some(_) if ahead().any(|(_, reckoning)| reckoning.assumed) && is_foreseen(sky) => {
                assumed.push(self.foreseen(area, sky));
            }
            Some(reading) if ahead().any(|(_, reckoning)| reckoning.assumed) => {
                let age = now - reading.at;
                let age = if age < TimeDelta::minutes(1) { "just read".into() } else { duration_text(age) };
                let (air, since) = (self.units.temperature(reading.air), self.when(reading.at, now));
                assumed.push(format!("rests on {air} held since {since} ({age})"));
            }
            Some(_) => {}
        }
        if standing.humidity_unknown {
            assumed.push("humidity not known, taken as the data sheet's".into());
        }
        if ahead().any(|(_, reckoning)| reckoning.extrapolated) {
            assumed.push("beyond the data sheet's temperatures".into());
        }
        if let Some((from, to)) = standing.gap {
            assumed.push(format!(
                "no reading from {} to {}: a straight line taken",
                self.when(from, now),
                self.when(to, now)
            ));
        }
        assumed
    }

    /// "17.8 °C", with what is known beside it.
    pub(super) fn temperature(&self, value: Celsius) -> String {
        self.units.temperature(value)
    }

    /// "falling 0.4 K/h"; None where it is steady.
    pub(super) fn trend(&self, kelvin_per_hour: f64) -> String {
        if kelvin_per_hour.abs() < 0.1 {
            return "steady".into();
        }
        let word = if kelvin_per_hour > 0.0 { "rising" } else { "falling" };
        format!("{word} {}/h", self.units.difference(KelvinDelta::new(kelvin_per_hour.abs())))
    }
}

impl AreaSurvey<'_> {
    /// Whether the window decides what comes next: not where the scheme sands first, or the ground is ready.
    pub fn minds_window(&self) -> bool {
        let sands_next = matches!(self.to_do.first(), Some(SchemeStep::Sand { .. } | SchemeStep::Wash));
        self.wants_coat() && !sands_next && !self.prepared
    }

    /// Whether another coat is to come: the scheme or the person says so, or there is no scheme.
    pub fn wants_coat(&self) -> bool {
        let said = self.newest.as_ref().is_some_and(|coat| coat.coat.next.is_some());
        said || self.planned.is_none()
            || self.to_do.iter().any(|step| matches!(step, SchemeStep::Coat { .. }))
    }
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
    let rest = letters.as_str();
    let stop = if rest.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{first}{rest}{stop}")
}

fn is_foreseen(sky: Option<&Sky>) -> bool {
    sky.is_some_and(|sky| sky.outlook().is_foreseen())
}

/// "the roof ", and nothing where the name does not go with an article.
fn the(area: &str) -> String {
    let plain = area.chars().all(|c| c.is_lowercase() || c == ' ');
    if plain { format!("the {area} ") } else { String::new() }
}

fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_lowercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}", letters.as_str()).trim_end_matches(',').to_owned()
}

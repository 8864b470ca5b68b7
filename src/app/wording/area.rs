//! What is said of an area: what it needs next, and when.

use chrono::TimeDelta;

use crate::app::wording::NO_READING;
use crate::app::wording::{Words, ordinal_coat, sentence, the, uncapital};
use crate::engine::assess::Judgement;
use crate::engine::assess::PlaceAir;
use crate::engine::assess::Sky;
use crate::engine::assess::Substrate;
use crate::engine::assess::{AreaSurvey, CoatSurvey};
use crate::engine::cure::{Phase, StageTimes};
use crate::engine::job::SchemeStep;
use crate::engine::profile::Stage;
use crate::engine::units::{Moment, duration_text};

/// What is said of one area.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Said {
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

/// What comes first when several areas want something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Rank {
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

/// A deadline further off than this does not come before what can be done now.
pub const PRESSING: TimeDelta = TimeDelta::hours(4);

impl Words {
    /// What is said of an area at `now`.
    pub fn area(
        &self,
        area: &AreaSurvey<'_>,
        air: Option<&PlaceAir>,
        sky: Option<&Sky>,
        now: Moment,
    ) -> Said {
        if let Some(trouble) = &area.trouble {
            return Said { says: sentence(trouble), rank: Rank::Now, ..Said::default() };
        }
        let Some(coat) = &area.newest else {
            let mut said = self.bare(area);
            self.in_this_air(area, now, &mut said);
            return said;
        };
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
        self.in_this_air(area, now, &mut said);
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
        let full = area.next.is_some_and(|next| area.is_full_for(next));
        if area.wants_coat()
            && !full
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
        let latest = |stage| coat.standing.stage(stage).map(|r: &StageTimes| r.latest);
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
        match phase {
            Phase::Wet | Phase::Open if area.sands_next() => {
                let mut said = self.until_sandable(area, coat, now);
                if !area.scheme_sands() {
                    let most = area.wet_on_wet.map_or(1, |wet| wet.most);
                    said.says = format!("{} No more wet on wet: {most} coats are the most.", said.says);
                } else if phase == Phase::Open && said.rank == Rank::Later {
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
        let (says, countdown) = if last_call <= now && area.takes.is_none() {
            let says = format!("{next} at once: the window closes {}.", self.when(close, now));
            (says, Countdown { to: close, label: "until the window closes".into() })
        } else if last_call > now {
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
            (true, Some(next)) => format!("The profile does not say when {} may follow. ", next.id),
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

    /// A coat that the film allows and the air does not.
    fn in_this_air(&self, area: &AreaSurvey<'_>, now: Moment, said: &mut Said) {
        let ready = |fitness: &&Judgement| fitness.under.is_none_or(Substrate::is_owed);
        let Some(fitness) = area.fitness.as_ref().filter(ready) else { return };
        let Some((against, from)) = fitness.against() else { return };
        let what = self.against(against, from, now);
        let slot = fitness.slots.first().map(|slot| format!(" Fit from {}.", self.when(slot.0, now)));
        said.says = format!("{} But not in this air: {what}.{}", said.says, slot.unwrap_or_default());
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
            said.says =
                format!("Pull the tape: it should have been off by {}. {}", self.when(due, now), said.says);
            said.rank = Rank::Deadline;
            said.countdown = None;
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

    fn grit(&self, area: &AreaSurvey<'_>) -> String {
        match area.to_do.iter().find(|step| !matches!(step, SchemeStep::Wash)) {
            Some(SchemeStep::Sand { grit, .. }) => format!(" (grit {grit})"),
            _ => String::new(),
        }
    }
}

//! An area in words: the verdict, its reasons, and when it changes.

use chrono::TimeDelta;

use super::Words;
use super::assumptions::NO_READING;
use super::words::sentence;
use crate::engine::assess::{AreaSurvey, CoatSurvey, Hardening, PRESSING, PlaceAir, Sky, Substrate, Verdict};
use crate::engine::cure::{Phase, StageTimes};
use crate::engine::job::Departure;
use crate::engine::profile::Stage;
use crate::engine::units::{Moment, clean, duration_text};

/// The words for one area.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Said {
    /// The verdict: "WAIT until 08:46".
    pub head: String,
    /// Reasons and next steps, in sentences.
    pub says: String,
    /// The moments with their earliest and latest.
    pub range: String,
    /// The assumptions.
    pub assumed: Vec<String>,
    /// The countdown.
    pub countdown: Option<Countdown>,
    /// Its rank among the areas.
    pub rank: Rank,
}

/// The target of a countdown.
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

/// The order of several areas that need something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Rank {
    /// A window or a tape with a deadline.
    Deadline,
    /// Something can be done now.
    Now,
    /// Something can be done later.
    Later,
    /// Nothing to do.
    #[default]
    Nothing,
}

impl Words {
    /// The words for an area at `now`.
    pub fn area(
        &self,
        area: &AreaSurvey<'_>,
        air: Option<&PlaceAir>,
        sky: Option<&Sky>,
        now: Moment,
    ) -> Said {
        let verdict = area.verdict(now);
        let mut said =
            Said { head: self.headline(verdict, now), rank: rank(verdict, now), ..Said::default() };
        said.countdown = self.countdown(area, verdict, now);
        said.says = self.sentences(area, verdict, air, now).join(" ");
        let Some(coat) = &area.newest else { return said };
        said.range = self.range(coat, &stages(area, coat, now), now);
        said.assumed = self.assumed(area, coat, (air, sky), now);
        said
    }

    fn sentences(
        &self,
        area: &AreaSurvey<'_>,
        verdict: Verdict,
        air: Option<&PlaceAir>,
        now: Moment,
    ) -> Vec<String> {
        let mut says = Vec::new();
        let Some(coat) = &area.newest else {
            says.extend(self.first_of_all(area, verdict, now));
            return says;
        };
        if let Verdict::UnknownProduct = verdict {
            return area.trouble.iter().map(|trouble| sentence(trouble)).collect();
        }
        says.extend(self.tape(area, verdict, now));
        if coat.standing.stalled {
            says.push(self.stalled(coat, air));
        }
        match verdict {
            Verdict::Coating => says.extend(self.coating(area, coat, now)),
            Verdict::ReadThermometer if area.last_reading.is_none() || area.reading_old.is_some() => {
                says.extend(self.unread(area, now));
            }
            Verdict::Curing => says.extend(self.curing(area, coat, now)),
            Verdict::Done if coat.standing.phase_at(now) == Phase::Cured => {
                says.push("Full cure: ready for service.".into());
            }
            Verdict::Done => says.push("All steps of the scheme are recorded.".into()),
            _ => says.extend(self.coat_to_come(area, coat, now)),
        }
        says
    }

    /// An area without a coat.
    fn first_of_all(&self, area: &AreaSurvey<'_>, verdict: Verdict, now: Moment) -> Vec<String> {
        match (verdict, area.to_do.first(), area.next, &area.judgement) {
            (Verdict::UnknownProduct, ..) => area.trouble.iter().map(|trouble| sentence(trouble)).collect(),
            (
                Verdict::Sand { .. } | Verdict::Wash | Verdict::PutTape | Verdict::PullTape { .. },
                Some(step),
                ..,
            ) if step.product().is_none() => {
                let why = if area.stripped { "The coats were taken off" } else { "First step of the scheme" };
                let dust = self.dust(area, now).filter(|_| matches!(verdict, Verdict::Sand { .. }));
                std::iter::once(format!("{why}: {}.", self.step(step))).chain(dust).collect()
            }
            (_, _, Some(next), Some(judgement)) => {
                let mut says = vec![sentence(&self.next_coat(area, next))];
                says.extend(self.why(area, judgement, next, now));
                says
            }
            _ => Vec::new(),
        }
    }

    /// The next coat on a film, and why it may or may not start.
    fn coat_to_come(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Vec<String> {
        let (Some(judgement), Some(next)) = (&area.judgement, area.next) else { return Vec::new() };
        let mut says = Vec::new();
        if matches!(judgement.verdict(), Verdict::Go { .. }) {
            says.push(sentence(&self.next_coat(area, next)));
        }
        says.extend(self.why(area, judgement, next, now));
        let too_soon = area.prepared && matches!(coat.standing.phase_at(now), Phase::Wet | Phase::Shut);
        if too_soon || area.sanded_soft.is_some() {
            says.push(self.sanded_too_soon(area, coat, now));
        }
        says
    }

    fn sanded_too_soon(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> String {
        let from = coat
            .sand_from
            .latest
            .map(|from| format!(" (sandable from {})", self.when(from, now)))
            .unwrap_or_default();
        let again =
            if area.sanded_soft.is_some() { " It does not count: sand again once it is hard." } else { "" };
        format!("It was sanded too early{from}: uncured dust harms skin and lungs.{again}")
    }

    fn coating(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Vec<String> {
        let begun = coat.coat.first_stroke;
        let since = if now - begun < TimeDelta::minutes(1) {
            String::new()
        } else {
            format!("Since {} ({}). ", self.when(begun, now), duration_text(now - begun))
        };
        let mut says = match area.forgotten {
            Some(likely) => self.forgotten(area, (begun, likely), now),
            None if coat.coat.paused_since().is_some() => self.interrupted(area, coat, now),
            None => vec![format!("{since}Enter the last stroke when it is done (f, or curewright done).")],
        };
        let full = area.next.is_some_and(|next| area.is_full_for(next));
        if let (true, false, Some((Some(open), close)), Some(next)) =
            (area.wants_coat(), full, coat.standing.window(), area.next)
        {
            let next = sentence(&self.next_coat(area, next));
            let next = next.trim_end_matches('.');
            let open = self.when(open, now);
            says.push(match close {
                Some(close) if close <= coat.standing.window().and_then(|(open, _)| open).unwrap_or(close) => {
                    format!(
                        "{next}: after sanding. The window may close {}, before the film is certainly ready ({open}).",
                        self.when(close, now)
                    )
                }
                Some(close) => format!("{next}: not before {open}, at the latest {}.", self.when(close, now)),
                None => format!("{next}: not before {open}."),
            });
        }
        says
    }

    /// A coat that was interrupted and has not gone on.
    fn interrupted(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Vec<String> {
        let since = coat.coat.paused_since().unwrap_or(coat.coat.first_stroke);
        let (name, since_when, typed) = (clean(&area.name), self.when(since, now), self.typed(since));
        vec![
            match now - since {
                just if just < TimeDelta::minutes(1) => format!("Interrupted {since_when}."),
                long => format!("Interrupted since {since_when} ({}).", duration_text(long)),
            },
            format!(
                "If it goes on: s, or curewright step \"{name}\" resume. Begin at an edge or a corner: the wet edge is lost."
            ),
            format!("If it ended then: f, or curewright done \"{name}\" --at \"{typed}\"."),
        ]
    }

    /// A last stroke that was likely forgotten, with the moment at which it likely came.
    fn forgotten(
        &self,
        area: &AreaSurvey<'_>,
        (begun, likely): (Moment, Moment),
        now: Moment,
    ) -> Vec<String> {
        vec![
            format!("Being coated for {}: last stroke forgotten?", duration_text(now - begun)),
            format!(
                "By the usual pace it came at {}: enter the right time with f, or curewright done \"{}\" --at \"{}\".",
                self.when(likely, now),
                clean(&area.name),
                self.typed(likely)
            ),
            "Until then minimum times count from now, maximum times from the first stroke.".into(),
        ]
    }

    fn unread(&self, area: &AreaSurvey<'_>, now: Moment) -> Vec<String> {
        let Some(age) = area.reading_old else { return vec![sentence(NO_READING)] };
        let mut says = vec![format!(
            "The last reading is {} old: what was calculated from it may be wrong.",
            duration_text(age)
        )];
        let ground = area.judgement.as_ref().and_then(|judgement| judgement.ground);
        if let Some(Substrate::Shut(_) | Substrate::Late { .. }) = ground {
            says.push("The window may have closed.".into());
        } else if let Some(until) = ground.and_then(Substrate::until) {
            says.push(format!("If the air has not changed, wait until {}.", self.when(until, now)));
        }
        says
    }

    fn curing(&self, area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Vec<String> {
        let latest = |stage| coat.standing.stage(stage).map(|times: &StageTimes| times.latest);
        let mut parts = Vec::new();
        for (stage, words) in [(Stage::Handle, "dry to handle"), (Stage::FullCure, "full cure")] {
            match latest(stage) {
                Some(Some(moment)) if moment > now => {
                    parts.push(format!("{words} {}", self.when(moment, now)))
                }
                Some(Some(_)) => parts.push(format!("{words} reached")),
                Some(None) => parts.push(format!("{words} not reached at this temperature")),
                None => {}
            }
        }
        let extra = coat.coat.departure == Some(Departure::OneMore);
        let last =
            if area.planned.is_some() && !extra { "The last coat of the scheme" } else { "No coat follows" };
        vec![if parts.is_empty() { format!("{last}.") } else { format!("{last}: {}.", parts.join("; ")) }]
    }

    /// The tape has its own deadline besides the coat's.
    pub(super) fn tape(&self, area: &AreaSurvey<'_>, verdict: Verdict, now: Moment) -> Option<String> {
        let by = area.tape_by()?;
        match verdict {
            Verdict::PullTape { .. } if by <= now => {
                Some(format!("The tape should have been off by {}: pull it with care.", self.when(by, now)))
            }
            Verdict::PullTape { .. } => Some("After that it tears the edge.".into()),
            _ if by > now => Some(format!("Pull the tape by {}.", self.when(by, now))),
            _ => Some("The tape should be off.".into()),
        }
    }

    fn stalled(&self, coat: &CoatSurvey<'_>, air: Option<&PlaceAir>) -> String {
        let limit = coat.product.application.stall_below;
        let now = air.and_then(|air| air.reading).map(|reading| self.units.temperature(reading.air));
        match (now, limit) {
            (Some(now), Some(limit)) => format!(
                "Too cold: at {now}, below {}, the film does not cure.",
                self.units.temperature(limit)
            ),
            _ => "Too cold: the film does not cure.".into(),
        }
    }

    fn countdown(&self, area: &AreaSurvey<'_>, verdict: Verdict, now: Moment) -> Option<Countdown> {
        let coat = area.newest.as_ref();
        let (to, label) = match verdict {
            Verdict::Go { until: Some(to), .. } if area.takes.is_some() || coat.is_none() => {
                (to, "to start the coat")
            }
            Verdict::Go { until: Some(to), .. } => (to, "until the window closes"),
            Verdict::PullTape { by: Some(to) } => (to, "to pull the tape"),
            Verdict::TooLate { until: Some(to) } => (to, "until it can be sanded"),
            Verdict::Wait { until: Some(to) } => {
                let ground = area.judgement.as_ref().and_then(|judgement| judgement.ground);
                let label = match ground {
                    Some(Substrate::Drying(_)) => "until it is dry",
                    Some(Substrate::Hardening(_, Hardening::After(_))) if area.prepared => {
                        "until the next coat"
                    }
                    Some(Substrate::Hardening(..)) => "until it can be sanded",
                    _ => "until the next coat",
                };
                (to, label)
            }
            Verdict::Curing => {
                let ahead = |stage, label| {
                    let moment = coat?.standing.stage(stage)?.latest?;
                    Some((moment, label)).filter(|(moment, _)| *moment > now)
                };
                ahead(Stage::Handle, "dry to handle").or_else(|| ahead(Stage::FullCure, "full cure"))?
            }
            _ => return None,
        };
        (to > now).then(|| Countdown { to, label: label.into() })
    }
}

fn rank(verdict: Verdict, now: Moment) -> Rank {
    match verdict {
        Verdict::PullTape { .. } => Rank::Deadline,
        Verdict::Go { until: Some(until), .. } if until - now <= PRESSING => Rank::Deadline,
        Verdict::Wait { .. } | Verdict::TooLate { .. } | Verdict::Curing | Verdict::No => Rank::Later,
        Verdict::AskDataSheets | Verdict::Empty => Rank::Later,
        Verdict::Done => Rank::Nothing,
        _ => Rank::Now,
    }
}

/// The stages whose range is shown now.
fn stages(area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Vec<Stage> {
    let ground = area.judgement.as_ref().and_then(|judgement| judgement.ground);
    match (coat.standing.phase_at(now), ground) {
        _ if area.last_reading.is_none() || area.trouble.is_some() => Vec::new(),
        _ if coat.coat.last_stroke.is_none() => vec![Stage::RecoatOpen, Stage::RecoatClose],
        _ if !area.wants_coat() => vec![Stage::TackFree, Stage::Handle, Stage::FullCure],
        (_, Some(Substrate::Hardening(_, Hardening::After(stage)))) => vec![stage],
        _ if area.prepared => Vec::new(),
        (_, Some(Substrate::Hardening(..) | Substrate::Shut(_))) => vec![Stage::Sandable],
        (Phase::Wet, _) => vec![Stage::RecoatOpen, Stage::RecoatClose],
        (Phase::Open, Some(Substrate::Unsanded { .. })) => vec![Stage::Sandable],
        (Phase::Open, _) => vec![Stage::RecoatClose, Stage::Sandable],
        (Phase::Shut, _) => vec![Stage::Sandable],
        (Phase::Sandable | Phase::Cured, _) => vec![Stage::Sandable, Stage::FullCure],
    }
}

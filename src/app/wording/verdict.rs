//! The verdict in words, and its reasons: the first part of every output.

use super::words::{ordinal_coat, sentence, the, uncapital};
use super::{Reason, Words};
use crate::engine::air::Objection;
use crate::engine::assess::{AreaSurvey, Hardening, Judgement, OwnHours, StepBefore, Substrate, Verdict};
use crate::engine::cure::Phase;
use crate::engine::job::SchemeStep;
use crate::engine::profile::{Cure, Product, Stage};
use crate::engine::units::Moment;

/// Why two-part products are asked about on paint from before the record.
pub const OLD_PAINT: &str = "nobody knows what the old paint is: a two-part product can lift it; ask the data sheet and \
                             try it on a small spot first";

impl Words {
    /// "GO until 19:24", "WAIT until 08:46", "SAND": the verdict in the fewest words.
    pub fn headline(&self, verdict: Verdict, now: Moment) -> String {
        let until = |word: &str, until: Option<Moment>| match until.filter(|until| *until >= now) {
            Some(until) => format!("{word} until {}", self.when(until, now)),
            None => word.to_owned(),
        };
        match verdict {
            Verdict::Go { until: by, if_dry } => until(if if_dry { "GO IF DRY" } else { "GO" }, by),
            Verdict::Wait { until: by } => until("WAIT", by),
            Verdict::Sand { wash: true } => "WASH AND SAND".into(),
            Verdict::Sand { wash: false } => "SAND".into(),
            Verdict::Wash => "WASH".into(),
            Verdict::PutTape => "PUT THE TAPE ON".into(),
            Verdict::PullTape { by: Some(by) } if by > now => {
                format!("PULL THE TAPE by {}", self.when(by, now))
            }
            Verdict::PullTape { .. } => "PULL THE TAPE NOW".into(),
            Verdict::TooLate { until: Some(from) } if from > now => {
                format!("TOO LATE, SAND from {}", self.when(from, now))
            }
            Verdict::TooLate { .. } => "TOO LATE".into(),
            Verdict::Coating => "COATING".into(),
            Verdict::ReadThermometer => "READ THE THERMOMETER".into(),
            Verdict::AskDataSheets => "ASK THE DATA SHEETS".into(),
            Verdict::UnknownProduct => "UNKNOWN PRODUCT".into(),
            Verdict::No => "NO".into(),
            Verdict::Curing => "CURING".into(),
            Verdict::Done => "DONE".into(),
            Verdict::Empty => "NO COAT YET".into(),
        }
    }

    /// Why a coat of `product` may or may not go on an area, the strongest reason first, each a sentence.
    pub fn why(
        &self,
        area: &AreaSurvey<'_>,
        judgement: &Judgement,
        product: &Product,
        now: Moment,
    ) -> Vec<String> {
        let reasons = self.reasons(area, judgement, product, now).into_iter();
        if let Verdict::Go { .. } = judgement.verdict() {
            let unchecked = judgement.window.is_some() && judgement.forecast_until.is_none();
            let stays_wet = judgement.may_stay_wet.then_some(
                "Close to the limit: if the air gets a little colder or damper, the film may stay wet. Warm the place.",
            );
            let unchecked = unchecked.then_some("Only the air now was checked: there is no forecast.");
            return self
                .rained_on(area, now)
                .into_iter()
                .chain([self.go(area, judgement, now)])
                .chain(reasons.map(|reason| reason.text))
                .chain(stays_wet.map(str::to_owned))
                .chain(self.assumed_humidity(area, judgement))
                .chain(unchecked.map(str::to_owned))
                .collect();
        }
        // A caution matters only to someone who coats now.
        let caution =
            |reason: &Reason| judgement.air.iter().any(|(a, _)| a.is_caution() && a.code() == reason.code);
        let slot = judgement.against().and_then(|_| self.next_slot(judgement, now));
        let hours = self.own_hours(area, product, now);
        let rain = self.rained_on(area, now);
        let reasons = reasons.filter(|reason| !caution(reason)).map(|reason| reason.text);
        reasons.chain(slot).chain(rain).chain(hours).collect()
    }

    /// The same; tape that has to come off soon comes before them.
    pub fn why_with_tape(
        &self,
        area: &AreaSurvey<'_>,
        judgement: &Judgement,
        product: &Product,
        now: Moment,
    ) -> Vec<String> {
        let verdict = area.verdict_on(judgement, now);
        let tape = self.tape(area, verdict, now).filter(|_| matches!(verdict, Verdict::PullTape { .. }));
        tape.into_iter().chain(self.why(area, judgement, product, now)).collect()
    }

    /// The reasons against a coat of `product` on an area now, strongest first.
    pub fn reasons(
        &self,
        area: &AreaSurvey<'_>,
        judgement: &Judgement,
        product: &Product,
        now: Moment,
    ) -> Vec<Reason> {
        let next = self.next_coat(area, product);
        let ground = judgement.ground.map(|ground| Reason {
            code: ground.code(),
            text: match area.not_allowed(product) {
                Some(pair) if matches!(ground, Substrate::NotListed | Substrate::Forbidden) => {
                    sentence(&self.not_allowed(pair))
                }
                _ => self.ground(area, ground, &next, now),
            },
            from: now,
        });
        let sands = judgement.ground.is_some_and(Substrate::is_sanding);
        let dust = self.dust(area, now).filter(|_| sands);
        let ground = ground.into_iter().chain(dust.map(|text| Reason { code: "dust", text, from: now }));
        let air = judgement.air.iter().map(|(against, from)| Reason {
            code: against.code(),
            text: sentence(&self.against(*against, *from, now)),
            from: *from,
        });
        let refused = judgement.ground.is_some_and(Substrate::is_refused);
        if judgement.is_unread() && !refused {
            air.chain(ground).collect()
        } else {
            ground.chain(air).collect()
        }
    }

    /// What the person's free hours make of the wait.
    fn own_hours(&self, area: &AreaSurvey<'_>, product: &Product, now: Moment) -> Option<String> {
        Some(match area.own_hours? {
            OwnHours::From(from) => format!("Your next free time for it: {}.", self.when(from, now)),
            OwnHours::Missed(None) => "None of your free hours falls into that time.".into(),
            OwnHours::Missed(Some(from)) => format!(
                "None of your free hours falls into that time. Your next free time to sand{}, then {}: {}.",
                self.grit(area),
                self.next_coat(area, product),
                self.when(from, now)
            ),
        })
    }

    /// When the air suits the coat next, if not now.
    fn next_slot(&self, judgement: &Judgement, now: Moment) -> Option<String> {
        let waits_for_film = judgement.ground.is_some_and(|ground| !ground.is_owed());
        match judgement.slots.first() {
            Some((from, _)) => {
                let closes = judgement.window.filter(|window| window < from);
                let from = self.when(*from, now);
                Some(match closes {
                    Some(closes) => format!(
                        "The window closes {} before that: the next suitable time is {from}, once it is sanded.",
                        self.when(closes, now)
                    ),
                    None if waits_for_film || judgement.ground.is_some() => {
                        format!("The next suitable time is {from}.")
                    }
                    None => return None,
                })
            }
            None if judgement.is_unread() => None,
            None => Some(match judgement.forecast_until {
                Some(end) => {
                    format!("No suitable time before {}, where the forecast ends.", self.when(end, now))
                }
                None => "There is no forecast to say when that changes.".to_owned(),
            }),
        }
    }

    /// What ends the time in which a coat may start.
    fn go(&self, area: &AreaSurvey<'_>, judgement: &Judgement, now: Moment) -> String {
        let closes = area.newest.as_ref().and_then(|coat| coat.standing.window()?.1);
        match (judgement.met_later(), judgement.window, judgement.forecast_until) {
            (Some(last), ..) => format!(
                "A coat started later is still wet when {}, {}.",
                self.meets(last.against),
                self.when(last.from, now)
            ),
            (None, Some(_), Some(end)) if judgement.begin_by() == Some(end) => {
                let closes = closes.map(|at| format!("; the window closes {}", self.when(at, now)));
                format!("Then the forecast ends{}.", closes.unwrap_or_default())
            }
            (None, Some(window), _) => match closes.filter(|closes| *closes > window) {
                Some(closes) if area.takes.is_some() => format!(
                    "Start by then to finish {}before the window closes {}.",
                    the(&area.name),
                    self.when(closes, now)
                ),
                _ => "Then the window closes.".into(),
            },
            (None, None, Some(end)) => {
                format!("The air is suitable to the end of the forecast ({}).", self.when(end, now))
            }
            (None, None, None) => "Only the air now was checked: there is no forecast.".into(),
        }
    }

    /// That the film may have been damaged by rain.
    fn rained_on(&self, area: &AreaSurvey<'_>, now: Moment) -> Option<String> {
        let at = self.when(area.rained_on?, now);
        Some(format!("Rain may have fallen on the wet film ({at}): look at it before you go on."))
    }

    /// That the film's times rest on an assumed humidity, where its product minds it and none is known.
    fn assumed_humidity(&self, area: &AreaSurvey<'_>, judgement: &Judgement) -> Option<String> {
        let product = area.newest.as_ref()?.product;
        let unknown = judgement.air.iter().any(|(against, _)| matches!(against, Objection::NoHumidity));
        let longer = match product.cure {
            _ if !unknown => return None,
            Cure::Reaction => return None,
            Cure::Drying => "damper",
            Cure::Moisture => "drier",
        };
        Some(format!(
            "The times of the film assume {} humidity: in {longer} air it takes longer.",
            product.reference_humidity
        ))
    }

    /// What comes next, and by when it has to be started where the film's window closes.
    fn then_in_time(&self, area: &AreaSurvey<'_>, next: &str, now: Moment) -> String {
        let coat = area.newest.as_ref().filter(|_| !area.prepared);
        let closes = coat.and_then(|coat| coat.standing.window()?.1);
        match (closes, coat.and_then(|coat| coat.last_call)) {
            (Some(closes), Some(call)) if area.takes.is_some() && call > now => format!(
                "Then {next}, started by {} to finish {}before the window closes {}.",
                self.when(call, now),
                the(&area.name),
                self.when(closes, now)
            ),
            (Some(closes), _) => format!("Then {next}, before the window closes {}.", self.when(closes, now)),
            _ => format!("Then {next}."),
        }
    }

    fn ground(&self, area: &AreaSurvey<'_>, ground: Substrate, next: &str, now: Moment) -> String {
        let grit = self.grit(area);
        let waits = matches!(ground, Substrate::Wet(_) | Substrate::Hardening(..) | Substrate::Shut(_));
        if waits && ground.until().is_none() && area.last_reading.is_none() {
            return "Without a temperature it is unknown when the film is ready.".into();
        }
        match ground {
            Substrate::Applying => "The coat below is still being applied.".into(),
            Substrate::NotListed | Substrate::Forbidden => String::new(),
            Substrate::OldPaint => sentence(OLD_PAINT),
            Substrate::Wet(Some(ready)) => {
                let ready = self.when(ready, now);
                format!("The film is not ready before {ready}. {}", self.then_in_time(area, next, now))
            }
            Substrate::Wet(None) => self.perhaps_never(area, now),
            Substrate::Hardening(from, why) => {
                let keyed = area.prepared && matches!(why, Hardening::After(_));
                let why = match why {
                    Hardening::Planned if area.stripped => "A coat was taken off".to_owned(),
                    Hardening::Planned => "The scheme has sanding next".to_owned(),
                    Hardening::Full(most) => format!("{most} coats wet on wet is the limit"),
                    Hardening::NoWindow => {
                        format!("The profile gives no time for {} on the unsanded film", uncapital(next))
                    }
                    Hardening::After(Stage::FullCure) => {
                        format!("The profile asks for full cure before {}", uncapital(next))
                    }
                    Hardening::After(stage) => {
                        format!(
                            "The profile asks for a film that is {} before {}",
                            stage.name(),
                            uncapital(next)
                        )
                    }
                    Hardening::Unsure(close, open) => format!(
                        "The window may close {}, before it is certainly open ({}): read the thermometer again, or",
                        self.when(close, now),
                        self.when(open, now)
                    ),
                };
                let joint = if why.ends_with("or") { " " } else { ": " };
                match from {
                    Some(from) => {
                        let from = self.when(from, now);
                        let sand = if keyed { String::new() } else { format!("sand{grit}, then ") };
                        format!("{why}{joint}leave it alone until {from}, then {sand}{next}.")
                    }
                    None if keyed => {
                        format!("{why}{joint}it does not reach that at this temperature. Warm the shop.")
                    }
                    None => format!("{why}{joint}it cannot be sanded at this temperature. Warm the shop."),
                }
            }
            Substrate::Late { closes, sandable } => {
                let closes = closes.map(|closes| format!(" {}", self.when(closes, now))).unwrap_or_default();
                let name = the(&area.name);
                let what = if name.is_empty() { "the coat " } else { &name };
                let or = match sandable {
                    Some(from) => format!("let it cure and sand it from {}", self.when(from, now)),
                    None => "warm the shop: it cannot be sanded at this temperature".into(),
                };
                format!("The window closes{closes}, before {what}is finished. Get help, or {or}.")
            }
            Substrate::Shut(from) => match from {
                Some(_) => {
                    format!("The window has closed. Leave it alone until then; sand{grit}, then {next}.")
                }
                None => "The window has closed, and it cannot be sanded at this temperature. Warm the shop."
                    .into(),
            },
            Substrate::Drying(until) => {
                let then = area.next.and_then(|product| Substrate::forbids(area, product, until));
                let sands =
                    matches!(then, Some(Substrate::Unsanded { .. } | Substrate::Before(StepBefore::Sand)));
                let sand = if sands { format!("sand{grit}, then ") } else { String::new() };
                format!("It was washed: let it dry until {}, then {sand}{next}.", self.when(until, now))
            }
            Substrate::Before(StepBefore::TapeOff(_)) => {
                format!("The tape comes off first. {}", self.then_in_time(area, next, now))
            }
            Substrate::Before(StepBefore::Sand) if area.stripped => {
                format!("A coat was taken off. Sand{grit}, then {next}.")
            }
            Substrate::Before(_) => match area.to_do.first() {
                Some(step) => format!(
                    "The scheme puts this before the coat: {}. {}",
                    self.step(step),
                    self.then_in_time(area, next, now)
                ),
                None => String::new(),
            },
            Substrate::Unsanded { wash, planned } => {
                let phase = area.phase_at(now);
                let why = match (planned, phase) {
                    _ if area.stripped => "A coat was taken off",
                    (true, _) => "The scheme has sanding next",
                    (_, Some(Phase::Cured)) => "The film is at full cure",
                    _ if area.scheme_sands() => "The film is hard enough",
                    _ => "The film no longer takes a coat unsanded",
                };
                let first = if wash { "Wash, then sand" } else { "Sand" };
                format!("{why}. {first}{grit}, then {next}.")
            }
        }
    }

    /// That a stage may never be reached: it is too cold or too damp.
    fn perhaps_never(&self, area: &AreaSurvey<'_>, now: Moment) -> String {
        let coat = area.newest.as_ref();
        match coat.and_then(|coat| coat.standing.stage(Stage::RecoatOpen)?.earliest) {
            Some(earliest) => format!(
                "The window opens {} at the earliest, and perhaps not at all: too cold or too humid. Warm the shop.",
                self.when(earliest, now)
            ),
            None => {
                "In this air the film does not become ready: too cold or too humid. Warm the shop.".into()
            }
        }
    }

    /// The next coat: "second coat", or "second coat, primer-two-part" if the product changes.
    pub fn next_coat(&self, area: &AreaSurvey<'_>, product: &Product) -> String {
        let ordinal = uncapital(&ordinal_coat(area.coats + 1));
        match &area.newest {
            Some(coat) if coat.product.id == product.id => ordinal,
            _ => format!("{ordinal}, {}", product.id),
        }
    }

    pub(super) fn grit(&self, area: &AreaSurvey<'_>) -> String {
        match area.to_do.iter().find(|step| !matches!(step, SchemeStep::Wash)) {
            Some(SchemeStep::Sand { grit, .. }) if !grit.is_empty() => format!(" (grit {grit})"),
            _ => String::new(),
        }
    }
}

//! A batch in words: spread by, self-heating, assumptions.

use chrono::TimeDelta;

use crate::app::wording::Countdown;
use crate::app::wording::NO_READING;
use crate::app::wording::{Rank, Said};
use crate::app::wording::{Words, sentence, the};
use crate::engine::assess::BatchSurvey;
use crate::engine::assess::PRESSING;
use crate::engine::job::Batch;
use crate::engine::pot::{Hazard, Outside, PotStanding, Safer, Vessel};
use crate::engine::units::{Celsius, Grams, Moment, TemperatureUnit, capital, clean};

impl Words {
    /// "batch 12, 300 g of epoxy-sealer"
    pub fn batch(&self, batch: &Batch) -> String {
        format!("batch {}, {} of {}", batch.id, self.units.mass(batch.mass), clean(&batch.product))
    }

    /// The words for a batch at `now`.
    pub fn pot(&self, pot: &BatchSurvey<'_>, now: Moment) -> Said {
        let Some(standing) = &pot.standing else {
            let says = format!("{}: {}", self.batch(&pot.batch), not_calculated(pot));
            return Said { says: sentence(&says), rank: Rank::Now, ..Said::default() };
        };
        let (by_when, countdown, rank) = self.by_when(pot, standing, now);
        let says =
            format!("{}: {by_when}{}", capital(&self.batch(&pot.batch)), self.hazard(pot, standing, now));
        let range = self.pot_range(standing, now);
        Said {
            head: String::new(),
            says,
            range,
            assumed: self.pot_rests_on(pot, standing, now),
            countdown,
            rank,
        }
    }

    /// The answer before mixing: danger and safe alternatives first, then until when it is usable, how hot it
    /// gets, and what to weigh.
    pub fn pot_answer(
        &self,
        pot: &BatchSurvey<'_>,
        safer: Option<&Safer>,
        scale: Grams,
        now: Moment,
    ) -> String {
        let weigh = self.weigh(pot, scale);
        let Some(standing) = &pot.standing else {
            return format!("{}{weigh}", sentence(not_calculated(pot)));
        };
        let (by_when, ..) = self.by_when(pot, standing, now);
        let range = sentence(&self.pot_range(standing, now).replace(" · ", ", "));
        let hazard = self.hazard(pot, standing, now);
        match safer.map(|safer| self.safer(safer)) {
            Some(safer) => format!("{} {safer} {} {range}{weigh}", hazard.trim_start(), capital(&by_when)),
            None => format!("{} {range}{hazard}{weigh}", capital(&by_when)),
        }
    }

    /// The uncertain figures of a batch, a sentence each.
    pub fn pot_doubts(&self, pot: &BatchSurvey<'_>, now: Moment) -> Vec<String> {
        let rests = pot.standing.as_ref().map(|standing| self.pot_rests_on(pot, standing, now));
        rests.into_iter().flatten().map(|rest| format!("Not sure: {rest}.")).collect()
    }

    /// What to weigh or measure of each part, appended to a text.
    fn weigh(&self, pot: &BatchSurvey<'_>, scale: Grams) -> String {
        let weigh = pot.product.map(|product| self.weigh_out(product, pot.batch.mass, scale));
        weigh.filter(|weigh| !weigh.is_empty()).map(|weigh| format!(" {weigh}")).unwrap_or_default()
    }

    /// Spread by when, without the batch's name.
    fn by_when(
        &self,
        pot: &BatchSurvey<'_>,
        standing: &PotStanding,
        now: Moment,
    ) -> (String, Option<Countdown>, Rank) {
        let id = pot.batch.id;
        let when = |moment| self.when(moment, now);
        let Some(end) = standing.usable.earliest else {
            return ("it stays usable for as long as can be calculated.".into(), None, Rank::Later);
        };
        match standing.induction_over.filter(|over| *over > now) {
            Some(over) if over < end => {
                let says = format!(
                    "let it stand until {}, then spread it{} by {}.",
                    when(over),
                    on(&pot.goes_on),
                    when(end)
                );
                let label = format!("until batch {id} may be used");
                (says, Some(Countdown { to: over, label }), Rank::Later)
            }
            Some(over) => {
                let says = format!(
                    "its pot life may end {}, before its induction time is over ({}): it is too warm for it.",
                    when(end),
                    when(over)
                );
                (says, None, Rank::Now)
            }
            None if end > now => {
                let rank = if end - now <= PRESSING { Rank::Deadline } else { Rank::Now };
                let countdown = Countdown { to: end, label: format!("to spread batch {id}") };
                (format!("spread it{} by {}.", on(&pot.goes_on), when(end)), Some(countdown), rank)
            }
            None => {
                let over = standing.usable.latest.is_some_and(|latest| latest <= now);
                let what =
                    if over { "its pot life has been over" } else { "its pot life may have been over" };
                let says = format!(
                    "{what} since {}. Start no coat with it. When it is gone: e, or curewright emptied {id}.",
                    when(end)
                );
                (says, None, Rank::Now)
            }
        }
    }

    /// Its self-heating; empty if it stays near the air.
    pub fn hazard(&self, pot: &BatchSurvey<'_>, standing: &PotStanding, now: Moment) -> String {
        let untrusted = standing.outside.iter().filter(|outside| !outside.is_of_the_temperature());
        let untrusted: String =
            untrusted.map(|outside| format!(" Not known to be safe: {}.", self.outside(*outside))).collect();
        untrusted + &self.heat(pot, standing, now)
    }

    fn heat(&self, pot: &BatchSurvey<'_>, standing: &PotStanding, now: Moment) -> String {
        let (where_it_is, left) = (vessel(pot.batch.vessel), self.rounded(standing.left, 10.0));
        match standing.hazard {
            Hazard::Calm => String::new(),
            Hazard::RunsAway => {
                let from = standing.outruns.filter(|from| *from > now);
                let from =
                    from.map(|from| format!("from about {} ", self.when(from, now))).unwrap_or_default();
                format!(
                    " It heats itself: left in the {where_it_is}, {from}it overheats, to about {left}. Pour what is left over out flat, outdoors."
                )
            }
            Hazard::Hot => {
                let most = self.rounded(standing.peak_at_most, 1.0);
                format!(
                    " DANGER: in the {where_it_is} it gets as hot as {most} while you work, and about {left} if it is left: fumes, burns, fire."
                )
            }
        }
    }

    /// An uncertain temperature, rounded to a step.
    fn rounded(&self, value: Celsius, step: f64) -> String {
        let (number, unit) = match self.units.temperature {
            TemperatureUnit::Celsius => (value.degrees(), "°C"),
            TemperatureUnit::Fahrenheit => (value.fahrenheit(), "°F"),
        };
        format!("{:.0} {unit}", (number / step).round() * step)
    }

    /// "usable until 20:05 … 20:31 · gets to 41 °C"
    pub fn pot_range(&self, standing: &PotStanding, now: Moment) -> String {
        let usable = match (standing.usable.earliest, standing.usable.latest) {
            (None, _) => "usable, no end calculated".into(),
            (Some(earliest), None) => format!("usable until {} at the earliest", self.when(earliest, now)),
            (Some(earliest), Some(latest)) => format!("usable until {}", self.span(earliest, latest, now)),
        };
        format!("{usable} · gets to {}", self.rounded(standing.peak, 1.0))
    }

    /// The assumptions of the figures of a batch.
    pub fn pot_rests_on(&self, pot: &BatchSurvey<'_>, standing: &PotStanding, now: Moment) -> Vec<String> {
        let of_temperature = standing.outside.iter().filter(|outside| outside.is_of_the_temperature());
        let mut rests: Vec<String> = of_temperature.map(|outside| self.outside(*outside)).collect();
        if standing.estimated {
            rests.push("its self-heating is assumed to be typical of its family".into());
        }
        let old = pot.last_reading.filter(|at| now - *at > TimeDelta::minutes(30));
        if let (true, Some(at)) = (standing.assumed, old) {
            rests.push(format!("no reading since {}", self.when(at, now)));
        }
        rests
    }

    /// Why the model does not apply.
    pub fn outside(&self, outside: Outside) -> String {
        match outside {
            Outside::MassAbove(most) => format!(
                "more than {}, ten times the mass on the data sheet: not calculated",
                self.units.mass(most)
            ),
            Outside::MassBelow(least) => format!(
                "less than {}, a tenth of the mass on the data sheet: not calculated",
                self.units.mass(least)
            ),
            Outside::Deep => {
                "a tray so deep keeps more heat than any batch on the data sheet: not calculated".into()
            }
            Outside::Cooler(coolest) => {
                format!("cooler than the {} that its pot life is given for", self.units.temperature(coolest))
            }
            Outside::Warmer(warmest) => {
                format!("warmer than the {} that its pot life is given for", self.units.temperature(warmest))
            }
            Outside::Unreconciled => {
                "the profile's pot lives do not fit a batch that heats itself; its own heat is not included"
                    .into()
            }
        }
    }

    /// "at most 160 g at a time in a cup; the whole of it in a tray no deeper than 5 mm; …"
    pub fn safer(&self, safer: &Safer) -> String {
        let cup = safer.cup.map(|mass| format!("{} at a time in a cup", self.units.mass(mass)));
        let tray = safer
            .tray
            .map(|depth| format!("all of it in a tray, no deeper than {:.0} mm", depth.millimetres()));
        let cooler = safer
            .cooler
            .map(|at| format!("all of it as it is, from parts no warmer than {}", self.rounded(at, 1.0)));
        let ways: Vec<String> = [cup, tray, cooler].into_iter().flatten().collect();
        match ways.as_slice() {
            [] => "No safe alternative was found: wait for a cooler shop, or use a slower hardener.".into(),
            ways => format!("Safe would be: {}.", ways.join("; or ")),
        }
    }
}

/// Why a batch was not calculated.
const fn not_calculated(pot: &BatchSurvey<'_>) -> &'static str {
    match (pot.product, pot.last_reading) {
        (None, _) => "the profile of its product is missing",
        (Some(_), None) => NO_READING,
        (Some(_), Some(_)) => "it cannot be calculated: check its mass and its temperature",
    }
}

/// " on the roof", " on the roof or Door"; empty where there are none, or too many to help.
fn on(areas: &[String]) -> String {
    let name = |area: &String| match the(area) {
        the if the.is_empty() => clean(area),
        the => clean(the.trim_end()),
    };
    match areas {
        [one] => format!(" on {}", name(one)),
        [one, other] => format!(" on {} or {}", name(one), name(other)),
        _ => String::new(),
    }
}

/// The word of a vessel.
pub const fn vessel(vessel: Vessel) -> &'static str {
    match vessel {
        Vessel::Cup => "cup",
        Vessel::Tray { .. } => "tray",
    }
}

//! Findings outside the limits, and the assumptions of a moment, in sentences.

use chrono::TimeDelta;

use super::Tell;
use crate::app::report::facts::{Assumption, Finding, Outside};
use crate::engine::profile::Stage;
use crate::engine::units::{Moment, capital, clean, duration_text};

impl Tell<'_> {
    /// On what a coat's moments rest.
    pub fn assumption(&self, assumption: &Assumption) -> String {
        let stages =
            |stages: &[Stage]| stages.iter().map(|stage| stage.name()).collect::<Vec<_>>().join(", ");
        match assumption {
            Assumption::NoReading => "There are no readings here: nothing can be calculated.".into(),
            Assumption::Backwards(first) => {
                format!("No reading before {}: the first one is used.", self.stamp(*first))
            }
            Assumption::Gap(from, to) => {
                format!("No reading {}: a straight line is used.", self.between(*from, *to))
            }
            Assumption::Humidity => "The humidity is unknown; the data sheet's value is used.".into(),
            Assumption::Ahead(ahead) => format!(
                "Not all temperatures on the way were measured: after the last reading, and between readings \
                 more than 2 h apart, they are assumed: {}.",
                stages(ahead)
            ),
            Assumption::Extrapolated(basis) => format!(
                "A temperature was outside those of the data sheet, and its curve is extended: {}.",
                stages(basis)
            ),
            Assumption::Silent(next) => {
                format!("The profile does not say when {} can follow.", clean(next))
            }
        }
    }

    /// What was outside the limits, with the figure.
    pub fn finding(&self, finding: &Finding) -> String {
        let perhaps = if finding.sure { "" } else { "Perhaps: " };
        let text = self.outside(finding);
        if perhaps.is_empty() { capital(&text) } else { format!("{perhaps}{text}") }
    }

    fn outside(&self, finding: &Finding) -> String {
        let when = self.between(finding.from, finding.to);
        let lasted = match finding.long {
            long if long >= TimeDelta::minutes(1) => format!(" {}", duration_text(long)),
            _ => String::new(),
        };
        let long = if lasted.is_empty() { String::new() } else { format!(" for{lasted}") };
        let long_since = if lasted.is_empty() { " less than a minute" } else { &lasted };
        let sometime = |earliest: Moment, latest: Option<Moment>| match latest {
            Some(latest) if latest != earliest => {
                format!("between {} and {}", self.stamp(earliest), self.beside(latest, earliest))
            }
            Some(latest) => format!("at {}", self.stamp(latest)),
            None => format!("not before {}, perhaps not at all", self.stamp(earliest)),
        };
        let at = self.stamp(finding.from);
        match &finding.what {
            Outside::Cold(low, limit) => format!(
                "colder than the product allows: {} at the coldest, {} needed ({when}{long}).",
                self.celsius(*low),
                self.celsius(*limit)
            ),
            Outside::Warm(high, limit) => format!(
                "warmer than the product allows: {} at the warmest, {} allowed ({when}{long}).",
                self.celsius(*high),
                self.celsius(*limit)
            ),
            Outside::Damp(high, limit) => {
                format!(
                    "humidity above the product's limit while it was applied: {high}, {limit} allowed ({when})."
                )
            }
            Outside::Dew(low, limit) if low.kelvin() < 0.0 => format!(
                "the surface was {} below the dew point: condensation; it must be {} above ({when}{long}).",
                self.kelvin(low.abs()),
                self.kelvin(*limit)
            ),
            Outside::Dew(low, limit) => format!(
                "the surface was {} above the dew point while the film was wet; it must be {} above ({when}{long}).",
                self.kelvin(*low),
                self.kelvin(*limit)
            ),
            Outside::Stalled(low, limit) => format!(
                "the film did not cure in the cold{long}: {} at the coldest; it does not cure below {} ({when}).",
                self.celsius(*low),
                self.celsius(*limit)
            ),
            Outside::Rain(rain) => {
                format!("rain on the wet film: forecast of {:.1} mm an hour ({when}).", rain.millimetres())
            }
            Outside::TooEarly(earliest, latest) => format!(
                "it started too early, at {at}: the film below was ready {}.",
                sometime(*earliest, *latest)
            ),
            Outside::TooLate(earliest, latest) => format!(
                "it started too late, at {at}, and the film below was not sanded: its window closed {}.",
                sometime(*earliest, *latest)
            ),
            Outside::NotPrepared { sand, wash } => {
                let owed = match (sand, wash) {
                    (true, true) => "washing and sanding",
                    (true, false) => "sanding",
                    (false, _) => "washing",
                };
                format!("no {owed} of the hard film below is recorded before it started at {at}.")
            }
            Outside::SandedSoft(earliest, latest) => format!(
                "it was sanded too early, at {at}: it was hard enough {}.",
                sometime(*earliest, *latest)
            ),
            Outside::Dust(area, earliest, latest) => format!(
                "{} was sanded beside it at {at}, and dust sticks to a tacky film: it was tack-free {}.",
                clean(area),
                sometime(*earliest, *latest)
            ),
            Outside::TapeLate(by) => {
                format!("the tape came off at {at}; the limit was {}.", self.stamp(*by))
            }
            Outside::Thin(spot, limit) => format!(
                "the wet film was {} at its thinnest; {} are specified ({at}).",
                self.words.units.film(*spot),
                self.words.units.film(*limit)
            ),
            Outside::Thick(spot, limit) => format!(
                "the wet film was {} at its thickest; {} are allowed ({at}).",
                self.words.units.film(*spot),
                self.words.units.film(*limit)
            ),
            Outside::TooManyWet(on, most) => {
                format!("it is the {} coat wet on wet; the limit is {most}.", ordinal(*on))
            }
            Outside::BatchEarly(batch, over) => format!(
                "it was taken from batch {batch} at {at},{long_since} before its induction time was over ({}).",
                self.beside(*over, finding.from)
            ),
            Outside::BatchOver(batch, earliest, latest) => format!(
                "it was taken from batch {batch} at {at},{long_since} after its pot life was over at the earliest ({}).",
                self.usable_until(*earliest, *latest)
            ),
            Outside::BatchOutspread(batch, earliest, latest) => format!(
                "it was still spread from batch {batch} at {},{long_since} after its pot life was over at the warm edge \
                 ({}); no other batch is recorded.",
                self.stamp(finding.to),
                self.usable_until(*earliest, *latest)
            ),
        }
    }

    /// "usable until Sat 2 May 2026 10:05 … 10:12"
    fn usable_until(&self, earliest: Moment, latest: Option<Moment>) -> String {
        match latest {
            Some(latest) => format!("usable until {}", self.between(earliest, latest)),
            None => format!("usable until {} at the earliest", self.stamp(earliest)),
        }
    }
}

fn ordinal(number: usize) -> String {
    let ending = match (number % 10, number % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

//! The assumptions of a moment: held readings, a forecast, an extrapolated table.

use chrono::TimeDelta;

use crate::app::wording::Words;
use crate::engine::assess::PlaceAir;
use crate::engine::assess::Sky;
use crate::engine::assess::{AreaSurvey, CoatSurvey};
use crate::engine::cure::StageTimes;
use crate::engine::profile::Stage;
use crate::engine::units::{Moment, duration_text};

/// Shown if there is no reading.
pub const NO_READING: &str = "the temperature here is unknown; enter one (t, or curewright reading)";

impl Words {
    /// The assumptions of the times of a coat, a phrase each.
    pub fn assumed(
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
        let to_come = |times: &StageTimes| times.latest.is_none_or(|latest| latest > now);
        let ahead = || standing.stages.iter().filter(|(stage, r)| matters(*stage) && to_come(r));
        let mut assumed = Vec::new();
        if !coat.coat.pauses.is_empty() {
            assumed
                .push("interrupted: minimum times from the last stroke, maximum times from the first".into());
        }
        match air.and_then(|air| air.reading) {
            None => assumed.push(NO_READING.into()),
            Some(_) if ahead().any(|(_, times)| times.assumed) && is_forecast(sky) => {
                assumed.push(self.forecast(area, sky, now));
            }
            Some(reading) if ahead().any(|(_, times)| times.assumed) => {
                let age = now - reading.at;
                let age = if age < TimeDelta::minutes(1) { "just read".into() } else { duration_text(age) };
                let (air, since) = (self.units.temperature(reading.air), self.when(reading.at, now));
                assumed.push(format!("{air} unchanged since {since} ({age})"));
            }
            Some(_) => {}
        }
        if standing.humidity_unknown {
            assumed.push("humidity unknown, the data sheet's value used".into());
        }
        if ahead().any(|(_, times)| times.extrapolated) {
            assumed.push("outside the data sheet's temperatures".into());
        }
        if let Some(first) = standing.unread_before {
            let air = sky.and_then(|sky| sky.history.air_at(first)).map(|air| self.units.temperature(air));
            assumed.push(format!(
                "no reading before {}: {} used",
                self.when(first, now),
                air.unwrap_or_else(|| "the first reading".into())
            ));
        }
        if let Some((from, to)) = standing.gap {
            assumed.push(format!(
                "no reading from {} to {}: a straight line used",
                self.when(from, now),
                self.when(to, now)
            ));
        }
        assumed
    }

    fn forecast(&self, area: &AreaSurvey<'_>, sky: Option<&Sky>, now: Moment) -> String {
        let age = sky.and_then(|sky| sky.forecast_at).filter(|made| *made <= now);
        let age = age.map_or_else(String::new, |made| match now - made {
            age if age < TimeDelta::minutes(1) => " (just loaded)".into(),
            age => format!(" ({} old)", duration_text(age)),
        });
        match sky.and_then(|sky| sky.follows) {
            Some((lag, _)) => format!(
                "the forecast{age}; the {} follows it with a lag of {}",
                area.place,
                duration_text(lag)
            ),
            None => format!("the forecast{age}"),
        }
    }
}

fn is_forecast(sky: Option<&Sky>) -> bool {
    sky.is_some_and(|sky| sky.outlook().is_forecast())
}

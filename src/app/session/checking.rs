//! Whether a coat may go on: the check for the command and the coat form.

use super::{Session, SessionError};
use crate::app::wording::{Check, listed};
use crate::engine::assess::SurveyOptions;
use crate::engine::units::{Moment, clean};

impl Session<'_> {
    /// Checks a coat on an area at a moment; without a product, the next one there. An unrecorded area is bare.
    ///
    /// # Errors
    /// If the product is unknown, or none is given and there is no next one.
    pub fn check(&self, area: &str, product: Option<&str>, now: Moment) -> Result<Check, SessionError> {
        let given = clean(area.trim());
        let mut job = self.job(now)?;
        // The areas beside it count too: their films may be tacky.
        let place = job.area(&given).map(|area| area.place().to_owned());
        job.areas.retain(|known| place.as_deref() == Some(known.place()));
        let next = job.area(&given).and_then(|area| area.next_product().map(str::to_owned));
        let which = || SessionError::WhichProduct { area: given.clone() };
        let product = product.map(str::to_owned).or(next).ok_or_else(which)?;
        let product = self.library.get(product.trim())?;
        // The film below is judged for the given product, whatever was planned.
        let own = job.areas.iter_mut().find(|known| known.name.eq_ignore_ascii_case(&given));
        if let Some(under) = own.and_then(|area| area.coats.last_mut()) {
            under.next = Some(product.id.clone());
        }
        let survey = self.survey_of(&job, now, SurveyOptions::default())?;
        let bare = survey.bare_area(&given);
        let known = survey.area(&given);
        let check = survey.check_text(known.unwrap_or(&bare), product, &self.words);
        let mut check =
            check.ok_or_else(|| SessionError::Input(format!("the place of {given} has no data")))?;
        let areas: Vec<String> = self.job(now)?.areas.iter().map(|area| clean(&area.name)).collect();
        if known.is_none() && !areas.is_empty() {
            check.why.push(format!(
                "There is no area {given} in the job: it was judged as new, bare wood. The areas: {}.",
                listed(&areas)
            ));
        }
        Ok(check)
    }
}

//! Whether the ground of a coat was ready for it, and what was done to it before it was hard.

use chrono::TimeDelta;

use super::Gathering;
use super::coat::CoatReport;
use super::limits::{Finding, Outside, is_hard};
use crate::engine::assess::{CoatSurvey, Readings};
use crate::engine::cure::{Phase, StageTimes};
use crate::engine::job::{StepDone, StepKind};
use crate::engine::profile::{Product, Stage};
use crate::engine::units::Moment;

impl<R: Readings> Gathering<'_, '_, R> {
    /// What was amiss with the film under a coat when its first stroke went on.
    pub(super) fn on_its_ground(&self, index: usize, coat: &CoatReport) -> Option<Finding> {
        let under = self.area.coats.get(index.checked_sub(1)?)?;
        let standing = &self.surveyed_coat(under)?.standing;
        let at = coat.first_stroke;
        let done = |kind: StepKind| {
            let between = self.steps_between(Some((under.first_stroke, under.id)), Some((at, coat.id)));
            between.iter().any(|step| step.kind == kind)
        };
        let stage = |stage| standing.stage(stage);
        let what = match standing.phase_at(at) {
            Phase::Wet => {
                let opens = stage(Stage::RecoatOpen).or_else(|| stage(Stage::Sandable))?;
                (Outside::TooEarly(opens.earliest?, opens.latest), opens.earliest? > at)
            }
            Phase::Shut if !done(StepKind::Sand) => {
                let closes = stage(Stage::RecoatClose)?;
                let sure = closes.latest.is_some_and(|latest| latest <= at);
                (Outside::TooLate(closes.earliest?, closes.latest), sure)
            }
            hard if is_hard(hard) => {
                let wash = standing.wash && !done(StepKind::Wash);
                let sand = !done(StepKind::Sand);
                if !sand && !wash {
                    return None;
                }
                // Where the window may have been open still, nothing was owed.
                let closes = stage(Stage::RecoatClose).and_then(|closes| closes.latest);
                let sure = stage(Stage::RecoatClose).is_none() || closes.is_some_and(|latest| latest <= at);
                (Outside::NotPrepared { sand, wash }, sure)
            }
            _ => return None,
        };
        Some(finding(what.0, at, what.1))
    }

    /// What was done to a coat too soon or too late, until the next one went on.
    pub(super) fn after_it(&self, coat: &CoatReport) -> Vec<Finding> {
        let Some(surveyed) = self.area.coats.iter().find(|known| known.id == coat.id) else {
            return Vec::new();
        };
        let Some(surveyed) = self.surveyed_coat(surveyed) else { return Vec::new() };
        let step = |step: &StepDone| match step.kind {
            StepKind::Sand => sanded_soft(surveyed, step),
            StepKind::TapeOff => tape_late(surveyed, step),
            _ => None,
        };
        coat.steps.iter().filter_map(step).collect()
    }

    /// The areas that were sanded beside a coat before it was tack-free.
    pub(super) fn dust_on(&self, coat: &CoatReport) -> Vec<Finding> {
        let known = self.area.coats.iter().find(|known| known.id == coat.id);
        let Some(surveyed) = known.and_then(|known| self.surveyed_coat(known)) else { return Vec::new() };
        let free = surveyed.dust_free().and_then(|stage| surveyed.standing.stage(stage));
        let Some(StageTimes { earliest, latest, .. }) = free.copied() else { return Vec::new() };
        let next = self.area.coats.iter().map(|other| other.first_stroke).find(|at| *at > coat.first_stroke);
        let beside = self.job.areas.iter().filter(|area| area.name != self.area.name);
        let beside = beside.filter(|area| area.place() == self.area.place());
        let steps = beside.flat_map(|area| area.steps.iter().map(move |step| (area, step)));
        let on_it = steps.filter(|(_, step)| {
            let begun = step.at - TimeDelta::minutes(step.minutes.unwrap_or(0).into());
            step.kind == StepKind::Sand
                && step.at > coat.first_stroke
                && next.is_none_or(|next| begun < next)
                && latest.is_none_or(|latest| begun < latest)
        });
        let found = on_it.map(|(area, step)| {
            let sure = earliest.is_none_or(|earliest| step.at < earliest);
            let what = Outside::Dust(area.name.clone(), earliest.unwrap_or(step.at), latest);
            finding(what, step.at, sure)
        });
        found.collect()
    }

    /// Where this coat is one more of its product, wet on wet, than the product takes.
    pub(super) fn too_many_wet(&self, index: usize, product: &Product) -> Option<Finding> {
        let most = product.film.as_ref()?.wet_on_wet_coats?;
        let coats = self.area.coats.get(..=index)?;
        let mut on = 1;
        for pair in coats.windows(2).rev() {
            let [under, over] = pair else { break };
            let standing = &self.surveyed_coat(under)?.standing;
            let hard = is_hard(standing.phase_at(over.first_stroke));
            if under.product != product.id || over.product != product.id || hard {
                break;
            }
            on += 1;
        }
        let coat = coats.last()?;
        let too_many = u32::try_from(on).is_ok_and(|on| on > most);
        too_many.then(|| finding(Outside::TooManyWet(on, most), coat.first_stroke, true))
    }
}

fn sanded_soft(coat: &CoatSurvey<'_>, step: &StepDone) -> Option<Finding> {
    let begun = step.at - TimeDelta::minutes(step.minutes.unwrap_or(0).into());
    let StageTimes { earliest, latest, .. } = *coat.standing.stage(Stage::Sandable)?;
    let soft = latest.is_none_or(|latest| latest > begun);
    let sure = earliest.is_none_or(|earliest| earliest > begun);
    soft.then(|| finding(Outside::SandedSoft(earliest.unwrap_or(step.at), latest), begun, sure))
}

fn tape_late(coat: &CoatSurvey<'_>, step: &StepDone) -> Option<Finding> {
    let StageTimes { earliest, latest, .. } = *coat.standing.stage(Stage::TapeBy)?;
    let by = earliest?;
    let sure = latest.is_some_and(|latest| latest < step.at);
    (by < step.at).then(|| finding(Outside::TapeLate(by), step.at, sure))
}

fn finding(what: Outside, at: Moment, sure: bool) -> Finding {
    Finding { what, from: at, to: at, long: TimeDelta::zero(), sure }
}

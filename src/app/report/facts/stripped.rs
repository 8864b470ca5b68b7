//! The coats that were taken off again, as they stood just before that.

use super::coat::{CoatReport, TakenOff};
use super::{Gathering, Report};
use crate::engine::assess::{Readings, Survey, SurveyOptions};
use crate::engine::config::Config;
use crate::engine::job::{Area, Entry, EntryKind, Job, StrippedCoat};
use crate::engine::profile::Library;

/// What the coats that were taken off an area are reported from.
pub(super) struct Before<'b, R> {
    pub(super) entries: &'b [Entry],
    pub(super) job: &'b Job,
    pub(super) library: &'b Library,
    pub(super) readings: &'b R,
    pub(super) config: &'b Config,
}

impl<R: Readings> Before<'_, R> {
    /// The coats that were taken off, in the order of that.
    pub(super) fn coats_of(&self, area: &Area) -> Result<Vec<CoatReport>, R::Error> {
        let mut reports = Vec::with_capacity(area.stripped.len());
        for off in area.stripped.chunk_by(|one, other| one.step == other.step) {
            reports.extend(self.strip(&area.name, off)?);
        }
        Ok(reports)
    }

    /// The coats that one strip took off.
    fn strip(&self, name: &str, off: &[StrippedCoat]) -> Result<Vec<CoatReport>, R::Error> {
        let Some(StrippedCoat { at, step, .. }) = off.first() else { return Ok(Vec::new()) };
        let before = |entry: &&Entry| {
            matches!(entry.kind, EntryKind::Void { .. }) || (entry.at, entry.id) < (*at, *step)
        };
        let entries: Vec<Entry> = self.entries.iter().filter(before).cloned().collect();
        let job = Job::fold(&entries, *at);
        let options = SurveyOptions { all_coats: true };
        let survey = Survey::make(&job, self.library, self.readings, self.config, *at, options)?;
        let (Some(area), surveyed) = (job.area(name), survey.area(name)) else { return Ok(Vec::new()) };
        let (library, readings, error) = (self.library, self.readings, self.config.thermometer_error);
        let gathering =
            Gathering { job: self.job, survey: &survey, area, surveyed, library, readings, error };
        let coats = area.coats.iter().enumerate();
        let coats = coats.filter_map(|(index, coat)| {
            let why = off.iter().find(|off| off.coat.id == coat.id)?.why.clone();
            let report = gathering.coat(index, coat);
            Some(report.map(|report| CoatReport { off: Some(TakenOff { at: *at, why }), ..report }))
        });
        coats.collect()
    }
}

impl Report {
    /// Every coat that was taken off again, with its area.
    pub fn taken_off(&self) -> impl Iterator<Item = (&super::AreaReport, &CoatReport)> {
        self.areas.iter().flat_map(|area| area.stripped.iter().map(move |coat| (area, coat)))
    }
}

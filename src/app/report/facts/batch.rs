//! Whether the batch of a coat was usable when it was taken.

use super::Gathering;
use super::coat::CoatReport;
use super::limits::{Finding, Outside};
use crate::engine::assess::Readings;
use crate::engine::pot::PotStanding;
use crate::engine::units::Moment;

impl<R: Readings> Gathering<'_, '_, R> {
    /// What was amiss with the batch of a coat: it had not stood long enough, it was over when the first stroke
    /// was taken from it, or it was over before the last one and no other batch is recorded.
    pub(super) fn on_its_batch(&self, coat: &CoatReport) -> Option<Finding> {
        let id = coat.batch.as_ref()?.id;
        let standing = self.survey.batches.iter().find(|pot| pot.batch.id == id)?.standing.as_ref()?;
        let first = coat.first_stroke;
        if let Some(over) = standing.induction_over.filter(|over| *over > first) {
            let what = Outside::BatchEarly(id, over);
            return Some(Finding { what, from: first, to: first, long: over - first, sure: true });
        }
        let end = standing.usable.earliest?;
        if end <= first {
            let what = Outside::BatchOver(id, end, standing.usable.latest);
            return Some(Finding {
                what,
                from: first,
                to: first,
                long: first - end,
                sure: over(standing, first),
            });
        }
        let last =
            coat.last_stroke.filter(|last| end < *last && self.is_all_of_its_batch(coat, *last, end))?;
        let what = Outside::BatchOutspread(id, end, standing.usable.latest);
        Some(Finding { what, from: first, to: last, long: last - end, sure: false })
    }

    /// Whether nothing tells that a coat was finished from another batch, or that its own was used up in time.
    fn is_all_of_its_batch(&self, coat: &CoatReport, last: Moment, end: Moment) -> bool {
        let Some(batch) = &coat.batch else { return false };
        let another = self.job.batches.iter().any(|other| {
            other.id != batch.id
                && other.product == batch.product
                && batch.mixed_at <= other.mixed_at
                && other.mixed_at <= last
        });
        !another && batch.emptied.is_none_or(|emptied| emptied > end)
    }
}

/// Whether a batch was over by a moment for certain.
fn over(standing: &PotStanding, at: Moment) -> bool {
    standing.usable.latest.is_some_and(|latest| latest <= at)
}

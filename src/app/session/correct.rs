//! Corrects an entry: a new one replaces it, and the old one stays, struck.

use super::{Done, Session, SessionError};
use crate::engine::job::{Change, Corrections, Entry, EntryId, EntryKind};
use crate::engine::units::{Moment, clean};

impl Session<'_> {
    /// Corrects an entry: its time, where `at` is given, and the details that changed.
    pub(super) fn correct(
        &mut self,
        entry: EntryId,
        changes: &[Change],
        at: Option<Moment>,
    ) -> Result<Done, SessionError> {
        let entries = self.entries()?;
        let old = entries.iter().find(|known| known.id == entry).cloned();
        let old = old.ok_or(SessionError::NoSuchEntry { entry })?;
        let kind = old.kind.changed(entry, changes, &self.words().units)?;
        let kind = self.named_as_known(&old.kind, kind)?;
        let at = at.unwrap_or(old.at);
        if (at, &kind) == (old.at, &old.kind) {
            return Err(SessionError::Input(format!(
                "nothing of entry {entry} would be changed; say what it should have been, such as --at \"Fri \
                 18:00\""
            )));
        }
        let latest = self.clock().latest();
        let new = self.writer()?.correct(entry, at, latest, kind)?;
        Ok(Done { says: self.corrected(&old, &new), ..Done::default() })
    }

    /// The void of an entry refers to the entry that it had replaced.
    pub(super) fn counts_again(&self, entries: &[Entry], taken: EntryId) -> String {
        let again = Corrections::of(entries).corrected(taken);
        again.map(|old| format!(" Entry {old} is valid again.")).unwrap_or_default()
    }

    fn corrected(&self, old: &Entry, new: &Entry) -> String {
        let (words, now) = (self.words(), self.now());
        let line = |entry: &Entry| {
            let when = words.when(entry.at, now);
            format!("{}, {when}", clean(&entry.summary(&words.units)))
        };
        format!(
            "Corrected entry {}: {} → {} (entry {}). The old one stays in the record, struck through.",
            old.id,
            line(old),
            line(new),
            new.id
        )
    }

    /// The entry with names as the job and the products know them.
    fn named_as_known(&self, old: &EntryKind, mut kind: EntryKind) -> Result<EntryKind, SessionError> {
        let changed_area = kind.area().filter(|area| old.area() != Some(area)).map(str::to_owned);
        if let Some(given) = changed_area {
            // A correction never creates a new area.
            let known = self.area_name(&given, false).map_err(|error| match error {
                SessionError::PerhapsMeant { given, nearest } => {
                    SessionError::Input(format!("there is no area \"{given}\"; did you mean \"{nearest}\"?"))
                }
                error => error,
            })?;
            kind.rename_area(known);
        }
        for product in kind.products_mut() {
            *product = self.library().get(product.trim())?.id.clone();
        }
        Ok(kind)
    }
}

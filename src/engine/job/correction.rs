//! Which entries count, and which replaced which.
//!
//! A correction is a new entry and a void of the old one that names it. It counts as long as the new one does:
//! taking the correction back restores the old entry.

use std::collections::{BTreeMap, BTreeSet};

use super::entry::{Entry, EntryId, EntryKind};

/// The entries that do not count. A void is an entry, and may itself be taken back.
pub fn voided(entries: &[Entry]) -> BTreeSet<EntryId> {
    settle(entries).0
}

/// The entries that do not count, and the corrections that do.
fn settle(entries: &[Entry]) -> (BTreeSet<EntryId>, Corrections) {
    let voids: BTreeMap<EntryId, (EntryId, Option<EntryId>)> = entries
        .iter()
        .filter_map(|entry| match entry.kind {
            EntryKind::Void { entry: target, by } => Some((entry.id, (target, by))),
            _ => None,
        })
        .collect();
    let (mut voided, mut taken_back) = (BTreeSet::new(), BTreeSet::new());
    let mut corrections = Corrections::default();
    // What voids an entry, or takes its place, has a higher number: its own fate is known here.
    for (id, &(target, by)) in voids.iter().rev() {
        match by.filter(|by| *by > target) {
            by if voided.contains(id) => {
                voided.extend(by);
                taken_back.extend(by);
            }
            Some(by) if taken_back.contains(&by) => {}
            Some(by) => {
                voided.insert(target);
                corrections.by.insert(target, by);
                corrections.of.insert(by, target);
            }
            None => {
                voided.insert(target);
                taken_back.insert(target);
            }
        }
    }
    (voided, corrections)
}

/// Which entries took the place of which.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Corrections {
    by: BTreeMap<EntryId, EntryId>,
    of: BTreeMap<EntryId, EntryId>,
}

impl Corrections {
    /// The corrections that count.
    pub fn of(entries: &[Entry]) -> Self {
        settle(entries).1
    }

    /// The entry that took the place of this one.
    pub fn by(&self, old: EntryId) -> Option<EntryId> {
        self.by.get(&old).copied()
    }

    /// The entry whose place this one took.
    pub fn corrected(&self, new: EntryId) -> Option<EntryId> {
        self.of.get(&new).copied()
    }

    /// The entry that stands in the place of this one now.
    pub fn newest(&self, mut id: EntryId) -> EntryId {
        while let Some(next) = self.by.get(&id) {
            id = *next;
        }
        id
    }

    /// The entry that this one goes back to: a corrected entry keeps its place among those of its moment.
    pub fn first(&self, mut id: EntryId) -> EntryId {
        while let Some(before) = self.of.get(&id) {
            id = *before;
        }
        id
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::units::Moment;

    fn entry(id: i64, kind: EntryKind) -> Entry {
        Entry { id: EntryId(id), at: Moment::UNIX_EPOCH, recorded: Moment::UNIX_EPOCH, kind }
    }

    fn record(kinds: &[EntryKind]) -> Vec<Entry> {
        kinds.iter().enumerate().map(|(index, kind)| entry(index as i64 + 1, kind.clone())).collect()
    }

    fn off() -> EntryKind {
        EntryKind::ClockOff
    }

    fn void(entry: i64) -> EntryKind {
        EntryKind::Void { entry: EntryId(entry), by: None }
    }

    fn corrected(entry: i64, by: i64) -> EntryKind {
        EntryKind::Void { entry: EntryId(entry), by: Some(EntryId(by)) }
    }

    fn gone(kinds: &[EntryKind]) -> Vec<i64> {
        voided(&record(kinds)).into_iter().map(|id| id.0).collect()
    }

    #[test]
    fn a_correction_takes_the_place_of_its_entry() {
        let kinds = [off(), corrected(1, 3), off()];
        assert_eq!(gone(&kinds), [1]);
        let corrections = Corrections::of(&record(&kinds));
        assert_eq!(corrections.by(EntryId(1)), Some(EntryId(3)));
        assert_eq!((corrections.newest(EntryId(1)), corrections.first(EntryId(3))), (EntryId(3), EntryId(1)));
    }

    #[test]
    fn a_correction_that_is_taken_back_leaves_the_entry_as_it_was() {
        assert_eq!(gone(&[off(), corrected(1, 3), off(), void(3)]), [3]);
        assert_eq!(gone(&[off(), corrected(1, 3), off(), void(2)]), [2, 3], "by whichever end");
        assert_eq!(gone(&[off(), corrected(1, 3), off(), void(3), void(4)]), [1, 4]);
        let none = Corrections::of(&record(&[off(), corrected(1, 3), off(), void(3)]));
        assert_eq!(none, Corrections::default());
    }

    #[test]
    fn a_correction_can_be_corrected() {
        let kinds = [off(), corrected(1, 3), off(), corrected(3, 5), off()];
        assert_eq!(gone(&kinds), [1, 3]);
        let corrections = Corrections::of(&record(&kinds));
        assert_eq!((corrections.newest(EntryId(1)), corrections.first(EntryId(5))), (EntryId(5), EntryId(1)));
        let mut back = kinds.to_vec();
        back.push(void(5));
        assert_eq!(gone(&back), [1, 5], "back to the first correction");
    }

    #[test]
    fn a_correction_by_what_cannot_be_does_no_harm() {
        assert_eq!(gone(&[off(), corrected(1, 9)]), [1]);
        let itself = [off(), corrected(1, 1)];
        assert_eq!(Corrections::of(&record(&itself)).newest(EntryId(1)), EntryId(1));
    }
}

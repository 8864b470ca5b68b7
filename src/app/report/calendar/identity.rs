//! What tells an event from all others: the job, the area, the step and the layer; never its time.

use std::fmt;

use crate::engine::hours::OWN_EVENTS;
use crate::engine::job::Entry;
use crate::engine::units::Moment;

/// A job, distinguished from others by its first entry, which never changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JobIdentity(u64);

impl JobIdentity {
    /// Of a job with these entries; None where nothing is recorded yet.
    pub fn of(entries: &[Entry]) -> Option<Self> {
        let first = entries.iter().min_by_key(|entry| entry.id)?;
        Some(Self(hash(&format!("{} {}", first.recorded.timestamp(), first.at.timestamp()))))
    }

    /// The identity of an event.
    pub(super) fn uid(self, subject: &Subject<'_>) -> String {
        let Subject { area, step, layer } = subject;
        format!("{self}-{:016x}-{step}-{layer}{OWN_EVENTS}", hash(&area.to_lowercase()))
    }

    /// Whether an event with this identity is of this job.
    pub(super) fn owns(self, uid: &str) -> bool {
        uid.ends_with(OWN_EVENTS)
            && uid.strip_prefix(&self.to_string()).is_some_and(|rest| rest.starts_with('-'))
    }
}

impl fmt::Display for JobIdentity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

/// What an event is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Subject<'a> {
    /// The area, upper and lower case alike.
    pub area: &'a str,
    /// What is done or due: a word of letters, figures and hyphens. Where a layer has several of a kind, the
    /// word tells them apart: "sand-2".
    pub step: &'a str,
    /// Which coat of the area it is, or comes after.
    pub layer: usize,
}

/// An issue of a calendar: of which job, made when, and which number it bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Issue {
    /// The job.
    pub job: JobIdentity,
    /// When it is made.
    pub at: Moment,
    /// Its number, which only rises.
    pub sequence: u32,
}

impl Issue {
    /// An issue of a job with these entries, made at `now`; None where nothing is recorded yet. Its number is
    /// that of the minutes since the job began, so that nothing has to be remembered between two issues.
    pub fn of(entries: &[Entry], now: Moment) -> Option<Self> {
        let job = JobIdentity::of(entries)?;
        let began = entries.iter().map(|entry| entry.at.min(entry.recorded)).min()?;
        let minutes = (now - began).num_minutes().clamp(0, i32::MAX.into());
        Some(Self { job, at: now, sequence: u32::try_from(minutes).unwrap_or_default() })
    }
}

/// FNV-1a, 64 bits: the same on every machine and in every version, which the library's own is not.
fn hash(text: &str) -> u64 {
    let start = 0xcbf2_9ce4_8422_2325;
    text.bytes().fold(start, |hash: u64, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_fnv_1a() {
        // The published test vectors of FNV-1a, 64 bits (from memory; checked against a script).
        assert_eq!(hash(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(hash("a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(hash("foobar"), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn an_identity_is_of_job_area_step_and_layer() {
        let job = JobIdentity(7);
        let uid = |area, step, layer| job.uid(&Subject { area, step, layer });
        assert_eq!(uid("Roof", "window", 2), uid("roof", "window", 2));
        let all = [
            uid("roof", "window", 2),
            uid("door", "window", 2),
            uid("roof", "sand", 2),
            uid("roof", "window", 1),
        ];
        assert!((1..all.len()).all(|index| !all[..index].contains(&all[index])));
        assert!(job.owns(&all[0]) && !JobIdentity(8).owns(&all[0]));
        assert!(!job.owns("0000000000000007-x@elsewhere"));
        assert!(all[0].is_ascii() && all[0].len() < 75 - "UID:".len());
    }
}

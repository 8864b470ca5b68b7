//! How long a coat likely takes, and whether its last stroke was forgotten.

use chrono::{DurationRound, TimeDelta};

use super::fold::Job;
use super::hours::IN_ONE_GO;
use super::state::{Area, Coat};
use crate::engine::units::{Moment, SquareMetres};

/// For one square metre, where no coat of the job was timed. Common practice, no source.
const USUAL_PACE: TimeDelta = TimeDelta::minutes(8);
/// Where the size of the area is not known either. Common practice, no source.
const USUAL: TimeDelta = TimeDelta::hours(1);
/// A coat that takes so many times as long as is likely …
const TIMES: i32 = 3;
/// … and so much longer, is likely done.
const LONGER: TimeDelta = TimeDelta::hours(1);

impl Area {
    /// What a coat took of the time of its area, for one square metre. One that was entered as a whole, or whose
    /// last stroke was forgotten, says nothing of it.
    pub fn square_metre_took(&self, coat: &Coat) -> Option<TimeDelta> {
        let took = coat.took().filter(|took| *took > TimeDelta::zero() && *took <= IN_ONE_GO)?;
        let size = self.size()?.square_metres();
        Some(TimeDelta::milliseconds((took.as_seconds_f64() / size * 1000.0).round() as i64))
    }

    fn size(&self) -> Option<SquareMetres> {
        self.plan.as_ref()?.square_metres
    }
}

impl Job {
    /// How long a coat of an area likely takes: by the coats of the area or by its scheme, else by its size and the
    /// pace on other areas, else by its size and a usual pace.
    pub fn likely_takes(&self, area: &Area) -> TimeDelta {
        let by_size = || {
            let coats = self.areas.iter().flat_map(|other| other.coats.iter().map(move |coat| (other, coat)));
            let mut paces: Vec<TimeDelta> =
                coats.filter_map(|(other, coat)| other.square_metre_took(coat)).collect();
            paces.sort();
            let pace = paces.get(paces.len() / 2).copied().unwrap_or(USUAL_PACE);
            let seconds = pace.as_seconds_f64() * area.size()?.square_metres();
            Some(TimeDelta::seconds(seconds as i64))
        };
        area.takes().or_else(by_size).unwrap_or(USUAL)
    }

    /// When the last stroke of the coat that is being applied to an area likely came, where that is so long ago that
    /// it was likely forgotten.
    pub fn forgotten_last_stroke(&self, area: &Area, now: Moment) -> Option<Moment> {
        let coat =
            area.newest().filter(|coat| coat.last_stroke.is_none() && coat.paused_since().is_none())?;
        let takes = self.likely_takes(area).max(TimeDelta::minutes(1));
        let going = coat.worked_until(now);
        let likely = now - going + takes;
        // A full minute can be typed. The later one is the safe one: minimum times count from the last stroke.
        let minute = TimeDelta::minutes(1);
        let likely = (likely + minute - TimeDelta::milliseconds(1)).duration_trunc(minute).unwrap_or(likely);
        (going > takes * TIMES && going - takes > LONGER).then_some(likely)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::job::{Entry, EntryId, EntryKind};

    fn at(minutes: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::minutes(minutes)
    }

    fn job(scheme: &str, strokes: &[(&str, i64, Option<i64>)]) -> Job {
        let coat = |area: &str| EntryKind::Coat {
            area: area.into(),
            product: "oil".into(),
            next: None,
            finished: false,
            batch: None,
            why: None,
        };
        let mut kinds = vec![(0, EntryKind::Scheme { text: scheme.into() })];
        for (area, first, last) in strokes {
            kinds.push((*first, coat(area)));
            kinds.extend(last.map(|last| (last, EntryKind::Finished { area: (*area).into() })));
        }
        let entries: Vec<Entry> = kinds
            .into_iter()
            .enumerate()
            .map(|(id, (when, kind))| Entry {
                id: EntryId(id as i64 + 1),
                at: at(when),
                recorded: at(when),
                kind,
            })
            .collect();
        Job::fold(&entries, at(100_000))
    }

    fn likely(job: &Job, now: i64) -> Option<i64> {
        let end = job.forgotten_last_stroke(job.area("roof").unwrap(), at(now))?;
        Some((end - Moment::UNIX_EPOCH).num_minutes())
    }

    const SIZED: &str = "name = \"Hut\"\n[[area]]\nname = \"roof\"\nsquare_metres = 5\n[[area]]\nname = \"door\"\nsquare_metres = 2";

    #[test]
    fn a_coat_that_goes_on_far_too_long_has_a_forgotten_last_stroke() {
        let known = job("name = \"Hut\"", &[("roof", 0, Some(30)), ("roof", 1000, None)]);
        assert_eq!(likely(&known, 1060), None, "twice as long as last time may be a bad day");
        assert_eq!(likely(&known, 1085), None, "a coat of half an hour is not asked about within the hour");
        assert_eq!(likely(&known, 1100), Some(1030), "as the coat before");
        let done = job("name = \"Hut\"", &[("roof", 0, Some(30))]);
        assert_eq!(likely(&done, 9000), None);
    }

    #[test]
    fn the_likely_end_follows_the_pace_then_the_size_then_a_usual_hour() {
        let elsewhere = job(SIZED, &[("door", 0, Some(20)), ("roof", 1000, None)]);
        assert_eq!(likely(&elsewhere, 2000), Some(1050), "10 min for a square metre of the door");
        assert_eq!(
            likely(&job(SIZED, &[("roof", 1000, None)]), 2000),
            Some(1040),
            "8 min for a square metre"
        );
        assert_eq!(likely(&job("name = \"Hut\"", &[("roof", 1000, None)]), 2000), Some(1060));
    }
}

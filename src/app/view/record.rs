//! The record as a page: entries, newest first, and the totals of work and material.

use std::collections::BTreeMap;

use chrono::TimeDelta;

use crate::app::view::Band;
use crate::app::wording::{Words, money_text};
use crate::engine::amounts::Practice;
use crate::engine::assess::CoatTrace;
use crate::engine::assess::{HoursReport, MoneyReport};
use crate::engine::job::{
    Corrections, Detail, Entry, EntryId, EntryKind, Job, Running, clock_was_ahead, voided,
};
use crate::engine::profile::Library;
use crate::engine::units::{Moment, capital, clean, hours_text};

/// The record.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RecordView {
    /// The entries, newest first.
    pub lines: Vec<RecordLine>,
    /// The areas with entries, in the order of the job.
    pub areas: Vec<String>,
    /// The work on the piece, a sentence each.
    pub work: Vec<String>,
    /// The same for each area, in the order of `areas`.
    pub area_work: Vec<String>,
}

/// An entry.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordLine {
    /// Its number.
    pub id: EntryId,
    /// When it happened.
    pub at: Moment,
    /// "Sat 2 May 2026"
    pub day: String,
    /// "16:40"
    pub time: String,
    /// Its area, as the job spells it.
    pub area: Option<String>,
    /// What happened.
    pub text: String,
    /// Why it does not count, if so.
    pub struck: Option<String>,
    /// The entry that took it back; taking that back restores it.
    pub undone_by: Option<EntryId>,
    /// Whether it is the first stroke of a coat that counts, so that its film can be shown.
    pub coat: bool,
    /// Its correctable details with their values; None if it can only be taken back.
    pub details: Option<Vec<(Detail, String)>>,
    /// Its moment as typed.
    pub typed: String,
}

/// A coat over time, with its sentences.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatView {
    /// "Roof, coat 2: Epoxy sealer, penetrating"
    pub title: String,
    /// The air and the progress.
    pub trace: CoatTrace,
    /// Its phases.
    pub bands: Vec<Band>,
    /// Sentences about it.
    pub lines: Vec<String>,
}

impl RecordView {
    /// The record of a job at `now`. Entries from a clock that was ahead are marked.
    pub fn of(
        entries: &[Entry],
        words: &Words,
        (library, practice): (&Library, &Practice),
        now: Moment,
    ) -> Self {
        let job = Job::fold(entries, now);
        let (voided, corrections) = (voided(entries), Corrections::of(entries));
        let struck = |id: EntryId| match corrections.by(id) {
            Some(by) => Some(format!("corrected: {by}")),
            None => voided.contains(&id).then(|| "taken back".to_owned()),
        };
        let void = |entry: &Entry| match entry.kind {
            EntryKind::Void { entry: target, by: None } if !voided.contains(&entry.id) => {
                Some((target, entry.id))
            }
            _ => None,
        };
        let undone_by: BTreeMap<EntryId, EntryId> = entries.iter().filter_map(void).collect();
        let spelled = |name: &str| job.area(name).map_or(name, |area| area.name.as_str()).to_owned();
        let ahead = |entry: &Entry| clock_was_ahead(entry.recorded, now);
        let shown = |entry: &&Entry| entry.at <= now || ahead(entry);
        let mut shown: Vec<&Entry> = entries.iter().filter(shown).collect();
        shown.sort_by_key(|entry| std::cmp::Reverse((entry.at, entry.id)));
        let text = |entry: &Entry| {
            let off = job.taken_off(entry.id).map(|off| format!(" (taken off: {off})"));
            let text = format!("{}{}", clean(&entry.summary(&words.units)), off.unwrap_or_default());
            if ahead(entry) { format!("{text} (the clock was ahead)") } else { text }
        };
        let lines: Vec<RecordLine> = shown
            .into_iter()
            .map(|entry| {
                let struck = struck(entry.id);
                let local = words.civil.local(entry.at);
                let correctable = struck.is_none() && entry.kind.correctable(entry.id).is_ok();
                RecordLine {
                    id: entry.id,
                    at: entry.at,
                    day: local.format("%a %-d %b %Y").to_string(),
                    time: words.civil.time_of_day(entry.at),
                    area: entry.kind.area().map(|area| clean(&spelled(area))),
                    text: text(entry),
                    coat: struck.is_none() && matches!(entry.kind, EntryKind::Coat { .. }),
                    details: correctable.then(|| entry.kind.details(&words.units)),
                    typed: local.format("%Y-%m-%d %H:%M:%S").to_string(),
                    undone_by: undone_by.get(&entry.id).copied(),
                    struck,
                }
            })
            .collect();
        let mut areas: Vec<String> = job.areas.iter().map(|area| clean(&area.name)).collect();
        areas.retain(|area| lines.iter().any(|line| line.area.as_ref() == Some(area)));
        for area in lines.iter().rev().filter_map(|line| line.area.as_ref()) {
            if !areas.contains(area) {
                areas.push(area.clone());
            }
        }
        let (hours, money) = (HoursReport::of(&job), MoneyReport::of(&job, library, practice));
        let area_work = areas.iter().map(|area| words.area_work(&hours, area)).collect();
        Self { lines, areas, work: words.work(&job, &hours, &money, now), area_work }
    }

    /// The lines of an area, or all of them.
    pub fn of_area(&self, area: Option<&str>) -> impl Iterator<Item = &RecordLine> {
        self.lines.iter().filter(move |line| area.is_none_or(|area| line.area.as_deref() == Some(area)))
    }
}

impl Words {
    fn work(&self, job: &Job, hours: &HoursReport, money: &MoneyReport, now: Moment) -> Vec<String> {
        let mut said = vec![against("Worked", hours.worked, hours.planned_so_far, hours.planned)];
        said.extend(money.paid.map(|paid| {
            let without = match money.unpriced {
                0 => String::new(),
                count => format!(" ({count} without a price)"),
            };
            format!("Paid for material: {}{without}.", money_text(paid))
        }));
        said.extend(self.costs(&money.costs));
        if let Some(Running { area, since, .. }) = &job.hours.running {
            let on = area.as_ref().map_or_else(|| "the piece".into(), |area| clean(area));
            let doubtful = if hours.doubtful.is_empty() { "" } else { " Was it left running?" };
            said.push(format!("The work clock runs for {on} since {}.{doubtful}", self.when(*since, now)));
        }
        said
    }

    fn area_work(&self, hours: &HoursReport, area: &str) -> String {
        let worked = hours.areas.iter().find(|known| clean(&known.area) == area);
        let name = capital(area);
        worked.map_or_else(
            || format!("{name}: no work recorded."),
            |known| against(&format!("{name}: worked"), known.worked, known.planned_so_far, known.planned),
        )
    }
}

/// "Worked 8 h 20 min; the scheme gives 6 h so far, 9 h 30 min in all."
fn against(what: &str, worked: TimeDelta, so_far: Option<TimeDelta>, all: Option<TimeDelta>) -> String {
    let plan = so_far.zip(all).map(|(so_far, all)| {
        format!("; the scheme gives {} so far, {} in all", hours_text(so_far), hours_text(all))
    });
    format!("{what} {}{}.", hours_text(worked), plan.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::job::StepKind;
    use crate::testing::{Bench, at, words};

    fn view(bench: &Bench, now: i64) -> RecordView {
        let practice = Practice::usual(&crate::engine::config::Config::default().amounts);
        RecordView::of(&bench.entries(), &words(), (&Library::built_in(), &practice), at(now))
    }

    fn sanded(bench: Bench) -> Bench {
        let step = EntryKind::step("Roof", StepKind::Sand, Some(40));
        bench.coat("roof", "varnish-two-part", 0, 20).entry(60, step)
    }

    #[test]
    fn the_newest_entry_comes_first_and_one_that_does_not_count_says_why() {
        let bench = sanded(Bench::default())
            .entry(90, EntryKind::Void { entry: EntryId(3), by: Some(EntryId(5)) })
            .entry(70, EntryKind::Work { area: None, minutes: 30 })
            .entry(99, EntryKind::Void { entry: EntryId(2), by: None });
        let view = view(&bench, 200);
        let told: Vec<_> = view.lines.iter().map(|line| (line.id.0, line.struck.as_deref())).collect();
        let corrected = Some("corrected: 5");
        assert_eq!(
            told,
            [(6, None), (4, None), (5, None), (3, corrected), (2, Some("taken back")), (1, None)]
        );
        assert_eq!(view.lines[5].time, "08:00");
        assert!(view.lines[5].coat && view.lines[0].details.is_none(), "a void is taken back, not corrected");
    }

    #[test]
    fn lines_are_found_by_their_area_however_it_was_spelled() {
        let bench =
            sanded(Bench::default()).entry(100, EntryKind::Work { area: Some("shed".into()), minutes: 30 });
        let view = view(&bench, 200);
        assert_eq!(view.areas, ["roof", "shed"]);
        assert_eq!(view.of_area(Some("roof")).count(), 3);
        assert_eq!(view.of_area(None).count(), 4);
        assert_eq!(view.work, ["Worked 1 h 30 min."]);
        assert_eq!(view.area_work, ["Roof: worked 1 h.", "Shed: worked 30 min."]);
    }

    #[test]
    fn entries_from_a_clock_that_was_ahead_are_marked() {
        let view = view(&sanded(Bench::default()), 30);
        let ahead = |line: &RecordLine| line.text.ends_with("(the clock was ahead)");
        let told: Vec<_> = view.lines.iter().map(|line| (line.id.0, ahead(line))).collect();
        assert_eq!(told, [(3, true), (2, false), (1, false)]);
    }

    #[test]
    fn a_running_work_clock_is_shown() {
        let bench = Bench::default().entry(0, EntryKind::ClockOn { area: Some("roof".into()) });
        assert_eq!(view(&bench, 60).work.last().unwrap(), "The work clock runs for roof since 08:00.");
        assert!(view(&bench, 600).work.last().unwrap().ends_with("Was it left running?"));
        assert_eq!(view(&Bench::default(), 60).lines, []);
    }
}

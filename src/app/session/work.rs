//! Work as it falls: the clock is started and stopped, or minutes are entered; and what came of it.

use chrono::TimeDelta;

use super::{Done, Session, SessionError};
use crate::engine::job::{EntryKind, Hours, IN_ONE_GO, Running, Source, Stretch, left_running};
use crate::engine::units::{Moment, capital, clean, duration_text, hours_text};

impl Session<'_> {
    /// The work clock starts; where it ran for something else, that ends.
    pub(super) fn start_clock(&mut self, area: Option<&str>, at: Moment) -> Result<Done, SessionError> {
        let area = area.map(|area| self.area_name(area, true)).transpose()?;
        let before = self.job(at)?.hours;
        if let Some(running) = before.clock_at(at).filter(|running| running.area != area) {
            self.ask_when_it_stopped(&running, at, "; then start it again")?;
        }
        let mut says = self.note_down(at, EntryKind::ClockOn { area: area.clone() })?;
        if let Some(running) = before.clock_at(at) {
            let worked = hours_text(at - running.since);
            says += &format!(" The clock {} stops after {worked}.", on(running.area.as_deref()));
        }
        Ok(Done { says, ..Done::default() })
    }

    /// The work clock stops. One that was left running is asked about, unless the person is sure.
    pub(super) fn stop_clock(
        &mut self,
        area: Option<&str>,
        sure: bool,
        at: Moment,
    ) -> Result<Done, SessionError> {
        let running = self.job(at)?.hours.clock_at(at);
        if let (Some(running), Some(area)) = (&running, area) {
            let same = running.area.as_ref().is_some_and(|known| known.eq_ignore_ascii_case(area.trim()));
            if !same {
                let on = on(running.area.as_deref());
                return Err(SessionError::Input(format!(
                    "the work clock runs {on}, not for {}; stop it with: curewright work stop",
                    clean(area)
                )));
            }
        }
        if let Some(running) = running.as_ref().filter(|_| !sure) {
            self.ask_when_it_stopped(running, at, "; if this is right, add --yes")?;
        }
        let mut says = self.note_down(at, EntryKind::ClockOff)?;
        if let Some(Running { area, since, .. }) = running {
            let worked = hours_text(at - since);
            says +=
                &format!(" {} {worked}.{}", capital(&on(area.as_deref())), self.so_far(area.as_deref(), at)?);
        }
        Ok(Done { says, ..Done::default() })
    }

    /// Work that was not timed is entered.
    pub(super) fn enter_work(
        &mut self,
        area: Option<&str>,
        minutes: u32,
        at: Moment,
    ) -> Result<Done, SessionError> {
        let area = area.map(|area| self.area_name(area, true)).transpose()?;
        let from = at - TimeDelta::minutes(minutes.into());
        let hours = self.job(at)?.hours;
        let beside = hours.clock_at(from).or_else(|| hours.clock_at(at - TimeDelta::seconds(1)));
        let mut says = self.note_down(at, EntryKind::Work { area: area.clone(), minutes })?;
        says += &self.so_far(area.as_deref(), at)?;
        let twice = beside.map(|clock| {
            let since = self.words().when(clock.since, at);
            format!(
                "The work clock ran in that time too, since {since}, {}: both count. To take one back: \
                 curewright undo.",
                on(clock.area.as_deref())
            )
        });
        Ok(Done { says, cautions: twice.into_iter().collect() })
    }

    /// The work on the piece as of a moment.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn hours(&self, as_of: Moment) -> Result<Hours, SessionError> {
        Ok(self.job(as_of)?.hours)
    }

    /// What is to be asked about a clock or a coat that was left running, a sentence each.
    ///
    /// # Errors
    /// Where the job cannot be read.
    pub fn doubts(&self, as_of: Moment) -> Result<Vec<String>, SessionError> {
        let doubt = |stretch: &Stretch| match stretch.source {
            Source::Strokes => {
                let since = self.words().when(stretch.from, as_of);
                format!(
                    "The strokes of the coat {} since {since} took longer than {}; they are not counted as work. If \
                     the last stroke came sooner, correct it (curewright record, curewright correct).",
                    on(stretch.area.as_deref()),
                    duration_text(IN_ONE_GO)
                )
            }
            _ => capital(&self.left_running(stretch.area.as_deref(), (stretch.from, stretch.to), as_of)),
        };
        Ok(self.hours(as_of)?.doubtful.iter().map(doubt).collect())
    }

    fn ask_when_it_stopped(&self, clock: &Running, at: Moment, then: &str) -> Result<(), SessionError> {
        if left_running(clock.since, at, &self.words().civil) {
            let asked = self.left_running(clock.area.as_deref(), (clock.since, at), at);
            return Err(SessionError::Input(format!("{asked}{then}")));
        }
        Ok(())
    }

    fn left_running(&self, area: Option<&str>, (since, until): (Moment, Moment), now: Moment) -> String {
        let likely = self.words().civil.local(since + TimeDelta::hours(2)).format("%Y-%m-%d %H:%M");
        format!(
            "the work clock ran {} since {}, {}: when did you stop? curewright work stop --at \"{likely}\"",
            on(area),
            self.words().when(since, now),
            duration_text(until - since),
        )
    }

    /// " 6 h 10 min on the roof so far."
    fn so_far(&self, area: Option<&str>, at: Moment) -> Result<String, SessionError> {
        let hours = self.hours(at.max(self.now()))?;
        Ok(match area {
            Some(area) => {
                let (on, total) = (hours_text(hours.of(Some(area))), hours_text(hours.total()));
                format!(" {} so far {on}, in all {total}.", capital(&clean(area)))
            }
            None => format!(" In all {} so far.", hours_text(hours.total())),
        })
    }
}

/// "for roof", or "for the piece".
fn on(area: Option<&str>) -> String {
    format!("for {}", area.map_or_else(|| "the piece".into(), clean))
}

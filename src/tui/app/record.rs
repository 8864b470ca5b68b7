//! The record on the screen: the chosen line, the area, and the keys.

use super::{App, Effect, Event, Known, Page, Sheet};
use crate::app::view::RecordLine;
use crate::tui::form::Form;
use crate::tui::keys::Action;

/// What is shown of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Record {
    /// Which of the lines that are shown is chosen.
    pub chosen: usize,
    /// The area: 0 for all, else its index plus one.
    pub area: usize,
}

/// The lines of a page step.
const PAGE: usize = 10;

impl App {
    /// The name of the area whose lines are shown; None for all.
    pub fn record_area(&self, shown: Record) -> Option<&str> {
        let index = shown.area.checked_sub(1)?;
        self.record.areas.get(index).map(String::as_str)
    }

    /// The lines that are shown.
    pub fn record_lines(&self, shown: Record) -> Vec<&RecordLine> {
        self.record.of_area(self.record_area(shown)).collect()
    }

    /// The line that is chosen.
    pub fn record_line(&self, shown: Record) -> Option<&RecordLine> {
        self.record_lines(shown).get(shown.chosen).copied()
    }

    pub(super) fn open_record(&mut self, known: &Known<'_>) {
        self.record = (known.record)();
        self.page = Page::Record(Record::default());
    }

    /// Refreshes the record while it is shown.
    pub(super) fn refresh_record(&mut self, known: &Known<'_>) {
        if let Page::Record(shown) = self.page {
            let chosen = self.record_line(shown).map(|line| line.id);
            self.record = (known.record)();
            // The chosen entry stays chosen when a new one appears above it.
            let lines = self.record_lines(shown);
            let same = lines.iter().position(|line| Some(line.id) == chosen);
            let chosen = same.unwrap_or(shown.chosen.min(lines.len().saturating_sub(1)));
            self.page = Page::Record(Record { chosen, ..shown });
        }
    }

    /// Up or down the lines, by one or by a page.
    pub(super) fn step_record(&mut self, action: Action) {
        let Page::Record(shown) = self.page else { return };
        let last = self.record_lines(shown).len().saturating_sub(1);
        let chosen = match action {
            Action::Up => shown.chosen.saturating_sub(1),
            Action::PageUp => shown.chosen.saturating_sub(PAGE),
            Action::PageDown => shown.chosen + PAGE,
            _ => shown.chosen + 1,
        };
        self.page = Page::Record(Record { chosen: chosen.min(last), ..shown });
    }

    /// The lines of the next area, or of the one before.
    pub(super) fn turn_record(&mut self, forward: bool) {
        let Page::Record(shown) = self.page else { return };
        let count = self.record.areas.len() + 1;
        let area = (shown.area + if forward { 1 } else { count - 1 }) % count;
        self.page = Page::Record(Record { chosen: 0, area });
    }

    pub(super) fn act_on_line(&mut self, action: Action, known: &Known<'_>) -> Vec<Effect> {
        let Page::Record(shown) = self.page else { return Vec::new() };
        let Some(line) = self.record_line(shown).cloned() else {
            self.say("Nothing is recorded yet.".into(), Vec::new(), known);
            return Vec::new();
        };
        match action {
            Action::LookAt => self.look_at(&line, shown, known),
            Action::NoteOn => {
                self.sheet = Some(Sheet::Form(Form::note_on(&self.view, line.area.as_deref(), line.id)));
            }
            Action::TakeBack if line.undone_by.is_some() => {
                let says = format!("{}, {} {}", line.text, line.day, line.time);
                self.sheet = line.undone_by.map(|by| Sheet::Restore(by, says));
            }
            _ if line.struck.is_some() => {
                let says = "That entry is no longer valid.".to_owned();
                self.say(says, Vec::new(), known);
            }
            Action::TakeBack => {
                let says = format!("{}, {} {}", line.text, line.day, line.time);
                self.sheet = Some(Sheet::Undo(line.id, says));
            }
            _ => match Form::correct(&line) {
                Some(form) => self.sheet = Some(Sheet::Form(form)),
                None => {
                    let says = "That entry can be taken back (u), but not corrected.".to_owned();
                    self.say(says, Vec::new(), known);
                }
            },
        }
        Vec::new()
    }

    fn look_at(&mut self, line: &RecordLine, shown: Record, known: &Known<'_>) {
        match Some(line).filter(|line| line.coat).and_then(|line| (known.coat_view)(line.id)) {
            Some(coat) => {
                self.coat = Some(coat);
                self.page = Page::Coat(shown, 0);
            }
            None => self.say(format!("{}, {} {}", line.text, line.day, line.time), Vec::new(), known),
        }
    }

    /// From a coat back to the record; true if the coat was shown.
    pub(super) fn back_to_record(&mut self) -> bool {
        let Page::Coat(shown, _) = self.page else { return false };
        self.page = Page::Record(shown);
        true
    }
}

/// Whether the event may have changed the record.
pub(super) const fn may_tell_more(event: &Event) -> bool {
    matches!(event, Event::Seen(Ok(_)) | Event::Carried(Ok(_)))
}

#[cfg(test)]
mod tests;

//! What a calendar file holds that is not of this job: it is kept as it is, line by line.

use super::{Event, Issue, write};

/// What another program, or another job, put into a calendar file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Kept {
    /// Properties of the calendar itself, such as its colour.
    properties: Vec<String>,
    /// Events, tasks and time zones, each with all its lines.
    blocks: Vec<String>,
    /// How many of them are events.
    events: usize,
}

impl Kept {
    /// What of an earlier calendar is not of this job; None where its parts do not begin and end as they should.
    pub fn of(earlier: &str, issue: Issue) -> Option<Self> {
        let mut kept = Self::default();
        let mut open: Vec<String> = Vec::new();
        let mut block = String::new();
        let mut uid = String::new();
        for line in unfolded(earlier) {
            let (name, value) = name_and_value(&line);
            if name == "BEGIN" {
                open.push(value.to_ascii_uppercase());
                if open[0] != "VCALENDAR" {
                    return None;
                }
            }
            match open.len() {
                0 if line.trim().is_empty() => continue,
                0 => return None,
                1 if name != "BEGIN" && name != "END" => {
                    if !matches!(name.as_str(), "VERSION" | "PRODID") && !line.trim().is_empty() {
                        kept.properties.push(ended(&line));
                    }
                }
                depth => {
                    if depth == 2 && name == "UID" {
                        value.trim().clone_into(&mut uid);
                    }
                    if depth > 1 {
                        block += &ended(&line);
                    }
                }
            }
            if name == "END" {
                if open.pop()? != value.to_ascii_uppercase() {
                    return None;
                }
                if open.len() == 1 {
                    kept.take(std::mem::take(&mut block), &std::mem::take(&mut uid), issue);
                }
            }
        }
        open.is_empty().then_some(kept)
    }

    fn take(&mut self, block: String, uid: &str, issue: Issue) {
        let is_event = block.get(..12).is_some_and(|begin| begin.eq_ignore_ascii_case("BEGIN:VEVENT"));
        if is_event && issue.job.owns(uid) {
            return;
        }
        self.events += usize::from(is_event);
        // The same calendar twice in one file says a time zone twice.
        if !self.blocks.contains(&block) {
            self.blocks.push(block);
        }
    }

    /// How many events are kept.
    pub const fn events(&self) -> usize {
        self.events
    }

    /// The events as a calendar file, with what is kept; nothing where there are none.
    pub fn write_with(&self, events: &[Event]) -> String {
        let text = write(events);
        let begin = text.find("BEGIN:VEVENT").unwrap_or(text.len());
        let end = text.rfind("END:VCALENDAR").unwrap_or(text.len());
        let (head, ours, foot) = (&text[..begin], &text[begin..end.max(begin)], &text[end.max(begin)..]);
        [head, &self.properties.concat(), ours, &self.blocks.concat(), foot].concat()
    }
}

/// The lines with their continuations, as they lie in the file (RFC 5545 §3.1).
fn unfolded(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for line in text.split('\n').map(|line| line.strip_suffix('\r').unwrap_or(line)) {
        match lines.last_mut().filter(|_| line.starts_with([' ', '\t'])) {
            Some(last) => *last += &format!("\r\n{line}"),
            None => lines.push(line.to_owned()),
        }
    }
    lines
}

fn ended(line: &str) -> String {
    format!("{line}\r\n")
}

/// The name of a property in capitals, and its value without the folds.
fn name_and_value(line: &str) -> (String, String) {
    let plain = line.replace("\r\n ", "").replace("\r\n\t", "");
    let name = plain.split([':', ';']).next().unwrap_or_default().trim().to_ascii_uppercase();
    let value = plain.split_once(':').map_or("", |(_, value)| value).trim().to_owned();
    (name, value)
}

#[cfg(test)]
mod tests {
    use chrono::TimeDelta;

    use super::super::Subject;
    use super::*;
    use crate::engine::job::{Entry, EntryId, EntryKind};
    use crate::testing::at;

    fn issue() -> Issue {
        let kind = EntryKind::Finished { area: "roof".into() };
        Issue::of(&[Entry { id: EntryId(1), at: at(-3000), recorded: at(-3000), kind }], at(0)).unwrap()
    }

    fn event() -> Event {
        let subject = Subject { area: "roof", step: "coat", layer: 2 };
        let lines =
            vec!["A line that is longer than seventy-five letters, so that the file folds it.".into()];
        Event::session(issue(), &subject, (at(60), at(90)), "roof", lines, TimeDelta::minutes(30))
    }

    const DENTIST: &str = "BEGIN:VEVENT\r\nUID:1@elsewhere\r\nSUMMARY:A long title that somebody folded in the\r\n  middle\r\nBEGIN:VALARM\r\nUID:2@elsewhere\r\nEND:VALARM\r\nEND:VEVENT\r\n";

    fn with(added: &str) -> String {
        write(&[event()]).replace("END:VCALENDAR", &format!("{added}END:VCALENDAR"))
    }

    #[test]
    fn an_event_of_another_program_is_kept_as_it_is() {
        let kept = Kept::of(&with(DENTIST), issue()).unwrap();
        assert_eq!(kept.events(), 1);
        let text = kept.write_with(&[event()]);
        assert_eq!(text, with(DENTIST));
        assert_eq!(Kept::of(&text, issue()), Some(kept), "and once more");
    }

    #[test]
    fn the_events_of_this_job_are_not_doubled() {
        let kept = Kept::of(&write(&[event()]), issue()).unwrap();
        assert_eq!(kept, Kept::default());
        assert_eq!(kept.write_with(&[event()]), write(&[event()]));
    }

    #[test]
    fn the_properties_of_the_calendar_and_its_time_zones_are_kept() {
        let zone = "BEGIN:VTIMEZONE\r\nTZID:Here\r\nEND:VTIMEZONE\r\n";
        let named =
            with(&format!("{zone}{DENTIST}")).replace("VERSION:2.0\r\n", "VERSION:2.0\r\nX-COLOUR:red\r\n");
        let text = Kept::of(&named, issue()).unwrap().write_with(&[event()]);
        for part in ["X-COLOUR:red\r\n", zone, DENTIST] {
            assert_eq!(text.matches(part).count(), 1, "{text}");
        }
        assert!(text.find("X-COLOUR").unwrap() < text.find("BEGIN:VEVENT").unwrap());
    }

    #[test]
    fn line_ends_of_another_system_are_read_too() {
        let kept = Kept::of(&with(DENTIST).replace("\r\n", "\n"), issue()).unwrap();
        assert_eq!(kept.write_with(&[event()]), with(DENTIST));
    }

    #[test]
    fn what_is_cut_off_is_not_taken_for_all_there_was() {
        let whole = with(DENTIST);
        for at in (1..whole.len() - 3).filter(|at| whole.is_char_boundary(*at)) {
            assert_eq!(Kept::of(&whole[..at], issue()), None, "{}", &whole[..at]);
        }
        assert_eq!(Kept::of("BEGIN:VEVENT\r\nEND:VEVENT\r\n", issue()), None);
        assert_eq!(Kept::of(&with("BEGIN:VEVENT\r\nEND:VTODO\r\n"), issue()), None);
    }
}

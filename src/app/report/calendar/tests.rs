use super::*;
use crate::engine::assess::{Memory, due};
use crate::engine::config::Leads;
use crate::engine::job::AlertKind;
use crate::engine::job::{Entry, EntryId, EntryKind, StepKind};
use crate::testing::{Bench, at, library, words};
use proptest::prelude::*;

/// An issue of the one job of these tests, a number of minutes after 8:00.
fn issue(minutes: i64) -> Issue {
    let first = Entry {
        id: EntryId(1),
        at: at(-3000),
        recorded: at(-3000),
        kind: EntryKind::Finished { area: "roof".into() },
    };
    Issue::of(&[first], at(minutes)).unwrap()
}

fn event(title: &str) -> Event {
    let subject = Subject { area: "roof", step: "coat", layer: 2 };
    let lines = vec!["The first line.".to_owned(), "And a second; with a comma, a \\ and a tab.".to_owned()];
    Event::session(issue(0), &subject, (at(60), at(90)), title, lines, TimeDelta::minutes(30))
}

fn parsed(text: &str) -> ICalendar {
    ICalendar::parse(text).unwrap()
}

fn text<'c>(component: &'c ICalendarComponent, name: &ICalendarProperty) -> &'c str {
    component.property(name).unwrap().values[0].as_text().unwrap()
}

/// What RFC 5545 §3.1 asks of every line.
fn is_well_folded(text: &str) -> bool {
    let whole = text.strip_suffix("\r\n").unwrap_or(text);
    let lines: Vec<&str> = whole.split("\r\n").collect();
    text.ends_with("\r\n")
        && lines.iter().all(|line| line.len() <= 75 && !line.contains(['\r', '\n']) && !line.is_empty())
}

#[test]
fn a_session_is_written_as_the_standard_asks() {
    assert_eq!(
        write(&[event("roof: second coat")]),
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//curewright//curewright//EN\r\nBEGIN:VEVENT\r\n\
         UID:b89957b5bc096291-a3550b1ff0c47f8f-coat-2@curewright\r\nDTSTAMP:20260502T080000Z\r\nSEQUENCE:3000\r\n\
         DTSTART:20260502T090000Z\r\nDTEND:20260502T093000Z\r\nSUMMARY:roof: second coat\r\n\
         DESCRIPTION:The first line.\\nAnd a second\\; with a comma\\, a \\\\ and a tab.\r\n\
         TRANSP:OPAQUE\r\nSTATUS:CONFIRMED\r\nBEGIN:VALARM\r\nACTION:DISPLAY\r\nDESCRIPTION:roof: second coat\r\n\
         TRIGGER:-PT30M\r\nEND:VALARM\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    );
    // A calendar without an event would be none.
    assert_eq!(write(&[]), "");
}

#[test]
fn a_moment_has_no_end_and_is_warned_of_before_itself() {
    let alarm = |anchor| Alarm { anchor, before: TimeDelta::zero(), text: "now".into() };
    let moment =
        Event { to: None, alarms: vec![alarm(Anchor::Begin), alarm(Anchor::End)], ..event("pull the tape") };
    let text = write(&[moment]);
    assert!(!text.contains("DTEND") && !text.contains("RELATED"), "{text}");
    assert_eq!(text.matches("TRIGGER:PT0S\r\n").count(), 2, "{text}");
    let window = Event { alarms: vec![alarm(Anchor::End)], ..event("window") };
    assert!(write(&[window]).contains("TRIGGER;RELATED=END:PT0S\r\n"));
}

#[test]
fn what_an_area_is_called_cannot_forge_a_line() {
    let forged = write(&[event("roof\r\nBEGIN:VALARM\u{1b}[2J\u{202e}")]);
    assert!(forged.contains("SUMMARY:roof  BEGIN:VALARM[2J\r\n"), "{forged}");
    assert_eq!(parsed(&forged).components.len(), 3);
}

proptest! {
    #[test]
    fn every_text_comes_back_from_folded_lines(title in "\\PC{1,200}") {
        let title = clean(&title);
        let written = write(&[event(&title)]);
        prop_assert!(is_well_folded(&written), "{written}");
        let calendar = parsed(&written);
        prop_assert_eq!(text(&calendar.components[1], &ICalendarProperty::Summary), title.as_str());
        prop_assert_eq!(text(&calendar.components[2], &ICalendarProperty::Description), title.as_str());
    }
}

const HUT: &str = r#"
name = "Hut"
[[area]]
name = "door"
square_metres = 2
minutes_per_square_metre = 10
steps = [{ tape = "on" }, { coat = "varnish-quick" }, { tape = "off" }, { coat = "varnish-quick" }]
"#;

fn hut(air: f64) -> Bench {
    let bench = Bench::steady(air, 60).scheme(HUT);
    bench.step("door", StepKind::TapeOn, 0).coat("door", "varnish-quick", 5, 25)
}

/// Deadlines as "step: moment … moment".
fn told(events: &[Event]) -> Vec<String> {
    let step = |uid: &str| uid.split('@').next().unwrap()[34..].to_owned();
    let to = |event: &Event| event.to.map(|to| format!(" … {}", to.format("%a %H:%M"))).unwrap_or_default();
    events.iter().map(|e| format!("{}: {}{}", step(&e.uid), e.from.format("%a %H:%M"), to(e))).collect()
}

#[test]
fn a_window_and_what_follows_are_announced_once_each() {
    let library = library();
    let announce = |air: f64, now: i64| {
        deadlines(&hut(air).survey(&library, now), &Leads::default(), &words(), issue(now))
    };
    let events = announce(20.0, 60);
    let steps: Vec<String> =
        told(&events).iter().map(|told| told.split(':').next().unwrap().to_owned()).collect();
    // After an hour of readings the window opens, at its latest, after the tape has to be off, at its earliest.
    assert_eq!(steps, ["window-1", "tape-1", "last-call-1", "sandable-1", "handle-1", "full-cure-1"]);
    let window = &events[0];
    let close = window.to.unwrap();
    // It warns when it opens, and ahead of its end; the last call leaves 20 minutes of work and 15 in hand.
    assert_eq!(
        window.alarms.iter().map(|alarm| (alarm.anchor, alarm.before.num_minutes())).collect::<Vec<_>>(),
        [(Anchor::Begin, 0), (Anchor::End, 30)]
    );
    assert_eq!(close - events[2].from, TimeDelta::minutes(35));
    assert!(events.iter().all(|event| !event.busy && !event.cancelled));
    // In a cooler shop all of it comes later, and is still the same.
    let cooler = announce(14.0, 60);
    let uids = |events: &[Event]| {
        let mut uids: Vec<String> = events.iter().map(|event| event.uid.clone()).collect();
        uids.sort();
        uids
    };
    assert_eq!(uids(&cooler), uids(&events));
    let of = |events: &[Event], uid: &str| events.iter().find(|event| event.uid == uid).unwrap().end();
    assert!(events.iter().all(|warm| of(&cooler, &warm.uid) > warm.end()));
    // What has passed is not announced any more.
    let later = announce(20.0, 60 * 24 * 2);
    assert!(later.len() < events.len() && later.iter().all(|event| uids(&events).contains(&event.uid)));
}

#[test]
fn a_coat_that_is_not_finished_has_no_window_yet() {
    let library = library();
    let begun = EntryKind::Coat {
        area: "door".into(),
        product: "varnish-quick".into(),
        next: None,
        finished: false,
        batch: None,
        why: None,
    };
    let bench = Bench::steady(20.0, 60).scheme(HUT).entry(5, begun);
    let events = deadlines(&bench.survey(&library, 20), &Leads::default(), &words(), issue(20));
    // Its end alone is known: it runs from the first stroke.
    let ended: Vec<String> = told(&events).into_iter().filter(|told| told.starts_with("window")).collect();
    assert!(ended.len() == 1 && !ended[0].contains('…'), "{:?}", told(&events));
    assert!(!told(&events).iter().any(|told| told.starts_with("sandable") || told.starts_with("full-cure")));
}

#[test]
fn the_calendar_and_the_alerts_name_the_same_moments() {
    let library = library();
    let mut seen = 0;
    for air in [8.0, 14.0, 20.0, 28.0] {
        let survey = hut(air).survey(&library, 60);
        let leads = Leads::default();
        let events = deadlines(&survey, &leads, &words(), issue(60));
        let memory = Memory { alerts: &[], windows: &[] };
        // A month later they have all rung.
        let hours = (1..=48).chain((72..=720).step_by(24));
        let at_hour = |hour: i64| due(&survey, memory, &leads, TimeDelta::days(99), at(60 + hour * 60)).rings;
        let rung: Vec<_> = hours.flat_map(at_hour).collect();
        for (kind, step) in [
            (AlertKind::RecoatOpen, "window"),
            (AlertKind::RecoatClose, "window"),
            (AlertKind::TapeBy, "tape"),
            (AlertKind::Sandable, "sandable"),
            (AlertKind::FullCure, "full-cure"),
        ] {
            let alert = rung.iter().find(|alert| alert.kind == kind).map(|alert| alert.due);
            let event = events.iter().find(|event| event.uid.contains(&format!("-{step}-")));
            // A window whose start is unknown is announced by its end alone.
            let event = event.filter(|event| kind != AlertKind::RecoatOpen || event.to.is_some());
            let moment =
                event.map(|event| if kind == AlertKind::RecoatClose { event.end() } else { event.from });
            assert_eq!(moment, alert, "{kind:?} at {air} °C");
            seen += usize::from(alert.is_some());
        }
    }
    assert!(seen >= 18, "{seen}");
}

#[test]
fn what_is_announced_no_more_is_called_off() {
    let library = library();
    let survey = hut(20.0).survey(&library, 60);
    let first = deadlines(&survey, &Leads::default(), &words(), issue(60));
    let earlier = write(&first);
    assert!(is_own(&earlier));
    // The second coat goes on: the first one's window is no more, and what it was sandable for neither.
    let second = hut(20.0).coat("door", "varnish-quick", 300, 320);
    let present = deadlines(&second.survey(&library, 330), &Leads::default(), &words(), issue(330));
    let off = gone(&earlier, &present, issue(330));
    let steps = told(&off).iter().map(|told| told.split(':').next().unwrap().to_owned()).collect::<Vec<_>>();
    assert!(steps.contains(&"window-1".to_owned()) && steps.contains(&"full-cure-1".to_owned()), "{steps:?}");
    assert!(
        off.iter()
            .all(|event| event.cancelled && event.sequence > first[0].sequence && event.end() > at(330))
    );
    let both: Vec<Event> = present.iter().chain(&off).cloned().collect();
    let written = write(&both);
    assert_eq!(written.matches("STATUS:CANCELLED").count(), off.len());
    // It stays called off as long as it lies ahead, and is forgotten after.
    assert_eq!(gone(&written, &present, issue(340)).len(), off.len());
    assert_eq!(gone(&written, &present, issue(60 * 24 * 60)), []);
    // Another job's events are none of ours, nor is another program's calendar.
    let other = Issue::of(
        &[Entry {
            id: EntryId(1),
            at: at(0),
            recorded: at(1),
            kind: EntryKind::Finished { area: "x".into() },
        }],
        at(330),
    )
    .unwrap();
    assert_eq!(gone(&written, &[], other), []);
    assert!(!is_own("BEGIN:VCALENDAR\r\nPRODID:-//Somebody//EN\r\nEND:VCALENDAR\r\n"));
    assert!(!is_own("") && !is_own("hello") && !is_own("BEGIN:VCALENDAR"));
    assert_eq!(gone("BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:x", &[], issue(0)), []);
}

#[test]
fn an_issue_is_numbered_by_the_minutes_since_the_job_began() {
    assert_eq!((issue(0).sequence, issue(61).sequence, issue(-4000).sequence), (3000, 3061, 0));
    assert_eq!(Issue::of(&[], at(0)), None);
}

//! Recurrences against RFC 5545, dateutil and recurring-ical-events; see tests/reference/SOURCES.md.

use std::fs;
use std::path::Path;

use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeDelta, Utc};
use chrono_tz::America::New_York;
use chrono_tz::Europe::Berlin;
use curewright::engine::units::{Civil, ClockFace, Moment};
use curewright::io::sources::{CalendarFile, read_calendar};
use serde_json::Value;

const FORM: &str = "%Y%m%dT%H%M%S";

fn reference(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/calendar");
    fs::read_to_string(folder.join(name)).unwrap()
}

/// An event of one second with these lines, in a span.
fn busy(lines: &str, span: (Moment, Moment), civil: &Civil) -> CalendarFile {
    let event = format!(
        "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:1\r\n{lines}\r\nDURATION:PT1S\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    );
    read_calendar(event.as_bytes(), "calendar.ics", span, civil).unwrap()
}

/// The repetitions that an example of the RFC prints, and whether it goes on.
fn printed(text: &str) -> (Vec<NaiveDateTime>, bool) {
    let mut found = Vec::new();
    for part in text.trim_end_matches("...").split(';') {
        let mut words = part.split_whitespace();
        let when = words.next().unwrap();
        for word in words {
            if when.len() == 10 {
                found.push(format!("{when}T{word}:00").parse().unwrap());
                continue;
            }
            let (first, last) = word.split_once('-').unwrap_or((word, word));
            for day in first.parse::<u32>().unwrap()..=last.parse().unwrap() {
                let day: NaiveDate = format!("{when}-{day:02}").parse().unwrap();
                found.push(day.and_hms_opt(9, 0, 0).unwrap());
            }
        }
    }
    (found, text.ends_with("..."))
}

#[test]
fn every_example_of_rfc_5545_recurs_as_it_says() {
    let text = reference("rfc5545.txt");
    let mut examples = 0;
    for example in text.split("\n\n").filter(|block| !block.starts_with('#')) {
        let lines: Vec<&str> = example.lines().skip(1).collect();
        let (expected, goes_on) = printed(lines.last().unwrap().strip_prefix("= ").unwrap());
        let event: Vec<String> = lines[..lines.len() - 1]
            .iter()
            .map(|line| {
                let zoned = line.starts_with("DTSTART") || line.starts_with("EXDATE");
                if zoned { line.replacen(':', ";TZID=America/New_York:", 1) } else { (*line).to_owned() }
            })
            .collect();
        let from: Moment = "1996-01-01T00:00:00Z".parse().unwrap();
        // Just after the printed moment, or far after the last one if it is open.
        let last = expected.last().unwrap().and_local_timezone(New_York).unwrap().to_utc();
        let to = last + if goes_on { TimeDelta::seconds(1) } else { TimeDelta::days(4000) };
        let file = busy(&event.join("\r\n"), (from, to), &Civil::utc());
        assert_eq!(file.faults, [], "{example}");
        let found: Vec<NaiveDateTime> =
            file.busy.iter().map(|busy| busy.from.with_timezone(&New_York).naive_local()).collect();
        assert_eq!(found, expected, "{example}");
        examples += 1;
    }
    assert_eq!(examples, 42);
}

#[test]
fn rules_by_lot_recur_as_dateutil_has_them() {
    let rules: Vec<Value> = serde_json::from_str(&reference("rules.json")).unwrap();
    let mut told = Vec::new();
    for case in &rules {
        let rule = case["rule"].as_str().unwrap();
        let read =
            |text: &Value| NaiveDateTime::parse_from_str(text.as_str().unwrap(), FORM).unwrap().and_utc();
        let expected: Vec<DateTime<Utc>> = case["starts"].as_array().unwrap().iter().map(read).collect();
        let start = expected[0];
        let lines = format!("DTSTART:{}\r\nRRULE:{rule}", start.format(FORM));
        let end = match case["more"].as_bool().unwrap() {
            true => *expected.last().unwrap() + TimeDelta::seconds(1),
            false => start + TimeDelta::days(3640),
        };
        // From the start, and from somewhere in the middle.
        for skipped in [0, expected.len() / 2] {
            let file = busy(&lines, (expected[skipped], end), &Civil::utc());
            if file.faults.is_empty() {
                let found: Vec<Moment> = file.busy.iter().map(|busy| busy.from).collect();
                let expected: Vec<Moment> =
                    expected[skipped..].iter().copied().filter(|at| *at < end).collect();
                assert_eq!(found, expected, "{lines} from {}", expected[0]);
            } else {
                assert!(file.faults[0].what.contains("repeats too often"), "{lines}: {:?}", file.faults);
                told.push(rule);
            }
        }
    }
    // By the second, and told.
    assert!(told.iter().all(|rule| rule.starts_with("FREQ=SECONDLY")), "{told:?}");
    assert!(told.len() < rules.len() / 20, "{} of {}", told.len(), 2 * rules.len());
}

#[test]
fn a_person_s_calendar_keeps_them_busy_as_another_library_has_it() {
    let expected: Value = serde_json::from_str(&reference("events.json")).unwrap();
    let moment = |value: &Value| value.as_str().unwrap().parse::<Moment>().unwrap();
    let span = (moment(&expected["span"][0]), moment(&expected["span"][1]));
    let berlin = Civil::new(Berlin, ClockFace::TwentyFour);
    let file = read_calendar(reference("events.ics").as_bytes(), "events.ics", span, &berlin).unwrap();
    assert_eq!(file.faults, []);
    assert_eq!(file.events, 14);
    let mut found: Vec<(Moment, Moment, String)> =
        file.busy.into_iter().map(|busy| (busy.from, busy.to, busy.what)).collect();
    found.sort();
    let mut expected: Vec<(Moment, Moment, String)> = expected["busy"]
        .as_array()
        .unwrap()
        .iter()
        .map(|busy| (moment(&busy[0]), moment(&busy[1]), busy[2].as_str().unwrap().to_owned()))
        .collect();
    expected.sort();
    assert_eq!(found, expected);
}

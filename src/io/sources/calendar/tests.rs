use super::*;
use crate::engine::units::{ClockFace, Moment};
use chrono::TimeDelta;
use proptest::prelude::*;

fn moment(text: &str) -> Moment {
    text.parse().unwrap()
}

fn berlin() -> Civil {
    Civil::new(chrono_tz::Europe::Berlin, ClockFace::TwentyFour)
}

/// The year 2026.
fn year() -> Stretch {
    (moment("2026-01-01T00:00:00Z"), moment("2027-01-01T00:00:00Z"))
}

fn calendar(parts: &str) -> String {
    format!("BEGIN:VCALENDAR\nVERSION:2.0\n{parts}\nEND:VCALENDAR\n")
}

fn event(lines: &str) -> String {
    format!("BEGIN:VEVENT\nUID:1\nSUMMARY:Choir\n{lines}\nEND:VEVENT")
}

fn read_in(text: &str, span: Stretch) -> CalendarFile {
    read_calendar(text.as_bytes(), "calendar.ics", span, &berlin()).unwrap()
}

fn read(parts: &str) -> CalendarFile {
    read_in(&calendar(parts), year())
}

/// "05-02 19:00 - 05-02 21:00", in UTC, one per busy time.
fn told(file: &CalendarFile) -> Vec<String> {
    assert_eq!(file.faults, []);
    let show = |moment: Moment| moment.format("%m-%d %H:%M").to_string();
    file.busy.iter().map(|busy| format!("{} - {}", show(busy.from), show(busy.to))).collect()
}

fn faults(file: &CalendarFile) -> Vec<String> {
    file.faults.iter().map(ToString::to_string).collect()
}

#[test]
fn an_event_keeps_a_person_busy_from_its_start_to_its_end() {
    let file =
        read(&event("DTSTART;TZID=Europe/Berlin:20260502T190000\nDTEND;TZID=Europe/Berlin:20260502T210000"));
    assert_eq!(told(&file), ["05-02 17:00 - 05-02 19:00"]);
    let busy = &file.busy[0];
    assert_eq!((busy.what.as_str(), busy.source.as_str(), file.events), ("Choir", "calendar.ics", 1));
    // In UTC, and for so long.
    assert_eq!(
        told(&read(&event("DTSTART:20260502T190000Z\nDURATION:PT1H30M"))),
        ["05-02 19:00 - 05-02 20:30"]
    );
    // Without a zone: the person's own.
    assert_eq!(told(&read(&event("DTSTART:20260502T190000\nDURATION:PT1H"))), ["05-02 17:00 - 05-02 18:00"]);
    // Without an end it takes no time, and is over when it begins.
    assert_eq!(told(&read(&event("DTSTART:20260502T190000Z"))).len(), 0);
    // Only occurrences that overlap the span.
    let lines = "DTSTART:20260502T190000Z\nDTEND:20260502T200000Z";
    let within =
        |from: &str, to: &str| read_in(&calendar(&event(lines)), (moment(from), moment(to))).busy.len();
    assert_eq!(within("2026-05-02T19:30:00Z", "2026-05-02T19:40:00Z"), 1);
    assert_eq!(within("2026-05-02T20:00:00Z", "2026-05-02T21:00:00Z"), 0);
    assert_eq!(within("2026-05-02T18:00:00Z", "2026-05-02T19:00:00Z"), 0);
}

#[test]
fn a_whole_day_is_the_person_s_own() {
    // The days on which the clocks change have 23 and 25 hours.
    for (day, next, expected) in [
        ("20260502", "20260503", "05-01 22:00 - 05-02 22:00"),
        ("20260329", "20260330", "03-28 23:00 - 03-29 22:00"),
        ("20261025", "20261026", "10-24 22:00 - 10-25 23:00"),
    ] {
        let ended = format!("DTSTART;VALUE=DATE:{day}\nDTEND;VALUE=DATE:{next}");
        assert_eq!(told(&read(&event(&ended))), [expected]);
        let alone = format!("DTSTART;VALUE=DATE:{day}");
        assert_eq!(told(&read(&event(&alone))), [expected]);
    }
}

#[test]
fn free_cancelled_and_own_events_do_not_count_as_busy() {
    let lines = "DTSTART:20260502T190000Z\nDURATION:PT1H";
    for more in ["TRANSP:TRANSPARENT", "STATUS:CANCELLED"] {
        let file = read(&event(&format!("{lines}\n{more}")));
        assert_eq!(told(&file), [""; 0], "{more}");
        assert_eq!(file.events, 1);
    }
    let own = event(lines).replace("UID:1", "UID:0123-coat-1@curewright");
    assert_eq!(told(&read(&own)), [""; 0]);
    for more in ["TRANSP:OPAQUE", "STATUS:TENTATIVE", "STATUS:CONFIRMED"] {
        assert_eq!(read(&event(&format!("{lines}\n{more}"))).busy.len(), 1, "{more}");
    }
    let to_do = "BEGIN:VTODO\nUID:2\nDTSTART:20260502T190000Z\nDURATION:PT1H\nEND:VTODO";
    assert_eq!(read(to_do).busy.len(), 0);
}

#[test]
fn a_given_end_is_exact_and_a_given_duration_is_by_the_calendar() {
    // RFC 5545 §3.8.5.3. In the night of 29 March an hour is skipped.
    let start = "DTSTART;TZID=Europe/Berlin:20260328T220000";
    let rule = "RRULE:FREQ=DAILY;COUNT=2";
    let ended = read(&event(&format!("{start}\nDTEND;TZID=Europe/Berlin:20260329T060000\n{rule}")));
    assert_eq!(told(&ended), ["03-28 21:00 - 03-29 04:00", "03-29 20:00 - 03-30 03:00"]);
    let lasting = read(&event(&format!("{start}\nDURATION:P1D\n{rule}")));
    assert_eq!(told(&lasting), ["03-28 21:00 - 03-29 20:00", "03-29 20:00 - 03-30 20:00"]);
}

#[test]
fn a_skipped_or_repeated_time_is_read_as_the_standard_says() {
    // RFC 5545 §3.3.5: with the offset before the gap, and the first of two.
    let at = |zone: &str, local: &str| {
        let lines = format!("DTSTART;TZID={zone}:{local}\nDURATION:PT10M");
        told(&read(&format!("{DESCRIBED}\n{}", event(&lines)))).remove(0)
    };
    for zone in ["Europe/Berlin", "Half a year each"] {
        assert_eq!(at(zone, "20260329T023000"), "03-29 01:30 - 03-29 01:40", "{zone}");
        assert_eq!(at(zone, "20261025T023000"), "10-25 00:30 - 10-25 00:40", "{zone}");
        assert_eq!(at(zone, "20261025T033000"), "10-25 02:30 - 10-25 02:40", "{zone}");
        assert_eq!(at(zone, "20260101T120000"), "01-01 11:00 - 01-01 11:10", "{zone}");
        assert_eq!(at(zone, "20260701T120000"), "07-01 10:00 - 07-01 10:10", "{zone}");
    }
}

/// Berlin's clocks under an unknown name, with an old rule that has ended.
const DESCRIBED: &str = "BEGIN:VTIMEZONE\nTZID:Half a year each
BEGIN:STANDARD\nDTSTART:19961027T030000\nTZOFFSETFROM:+0200\nTZOFFSETTO:+0100
RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU\nEND:STANDARD
BEGIN:DAYLIGHT\nDTSTART:19810329T020000\nTZOFFSETFROM:+0100\nTZOFFSETTO:+0200
RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU\nEND:DAYLIGHT
BEGIN:STANDARD\nDTSTART:19810927T030000\nTZOFFSETFROM:+0200\nTZOFFSETTO:+0100
RRULE:FREQ=YEARLY;BYMONTH=9;BYDAY=-1SU;UNTIL=19950924T010000Z\nEND:STANDARD\nEND:VTIMEZONE";

#[test]
fn a_zone_is_known_by_its_name_or_described_by_the_file() {
    let at = |zone: &str| {
        let lines = format!("DTSTART;TZID={zone}:20260701T120000\nDURATION:PT1H");
        read(&format!("{DESCRIBED}\n{}", event(&lines)))
    };
    for zone in [
        "Europe/Berlin",
        "W. Europe Standard Time",
        "\"Half a year each\"",
        "/freeassociation.sourceforge.net/Europe/Berlin",
    ] {
        assert_eq!(told(&at(zone)), ["07-01 10:00 - 07-01 11:00"], "{zone}");
    }
    assert_eq!(told(&at("Asia/Kolkata")), ["07-01 06:30 - 07-01 07:30"]);
    let unknown = at("Middle-earth");
    assert_eq!(unknown.busy.len(), 1);
    assert_eq!(
        faults(&unknown),
        ["line 27: event \"Choir\": its time zone \"Middle-earth\" is unknown; yours is used"]
    );
    // An invalid zone is reported, and so is what uses it.
    let broken = DESCRIBED.replace("TZOFFSETTO:+0200", "TZOFFSETTO:soon");
    let file =
        read(&format!("{broken}\n{}", event("DTSTART;TZID=Half a year each:20260701T120000\nDURATION:PT1H")));
    assert!(
        faults(&file)[0].starts_with("line 3: the time zone \"Half a year each\" cannot be read"),
        "{file:?}"
    );
    assert_eq!((file.busy.len(), file.bad), (1, 2));
}

#[test]
fn repetitions_are_left_out_added_and_moved() {
    let lines = "DTSTART;TZID=Europe/Berlin:20260501T190000\nDURATION:PT1H\nRRULE:FREQ=DAILY;COUNT=6";
    let except =
        read(&event(&format!("{lines}\nEXDATE:20260502T170000Z\nEXDATE;VALUE=DATE:20260504,20260505")));
    assert_eq!(
        told(&except),
        ["05-01 17:00 - 05-01 18:00", "05-03 17:00 - 05-03 18:00", "05-06 17:00 - 05-06 18:00"]
    );
    let further = "DTSTART:20260501T190000Z\nDURATION:PT1H\nRDATE:20260601T190000Z\nRDATE;VALUE=PERIOD:20260701T190000Z/PT3H,20260801T190000Z/20260801T193000Z";
    assert_eq!(
        told(&read(&event(further))),
        [
            "05-01 19:00 - 05-01 20:00",
            "06-01 19:00 - 06-01 20:00",
            "07-01 19:00 - 07-01 22:00",
            "08-01 19:00 - 08-01 19:30"
        ]
    );
    // Moved into the span and out of it.
    let moved = |from: &str, to: &str| {
        event(&format!(
            "RECURRENCE-ID;TZID=Europe/Berlin:{from}T190000\nDTSTART;TZID=Europe/Berlin:{to}T190000\nDURATION:PT2H"
        ))
    };
    let both =
        format!("{}\n{}\n{}", event(lines), moved("20260501", "20260510"), moved("20260506", "20260503"));
    let span = (moment("2026-05-03T00:00:00Z"), moment("2026-05-05T00:00:00Z"));
    let expected = ["05-03 17:00 - 05-03 18:00", "05-03 17:00 - 05-03 19:00", "05-04 17:00 - 05-04 18:00"];
    assert_eq!(told(&read_in(&calendar(&both), span)), expected);
    // From one on, all.
    let later = moved("20260503", "20260504").replace("RECURRENCE-ID;", "RECURRENCE-ID;RANGE=THISANDFUTURE;");
    assert_eq!(
        told(&read(&format!("{}\n{later}", event(lines)))),
        [
            "05-01 17:00 - 05-01 18:00",
            "05-02 17:00 - 05-02 18:00",
            "05-04 17:00 - 05-04 19:00",
            "05-05 17:00 - 05-05 19:00",
            "05-06 17:00 - 05-06 19:00",
            "05-07 17:00 - 05-07 19:00",
        ]
    );
}

#[test]
fn a_published_list_of_busy_times_is_read_too() {
    let list = "BEGIN:VFREEBUSY\nUID:2\nFREEBUSY:20260502T190000Z/PT1H,20260503T190000Z/20260503T200000Z
FREEBUSY;FBTYPE=FREE:20260504T190000Z/PT1H\nFREEBUSY;FBTYPE=BUSY-TENTATIVE:20260505T190000Z/PT1H\nEND:VFREEBUSY";
    assert_eq!(
        told(&read(list)),
        ["05-02 19:00 - 05-02 20:00", "05-03 19:00 - 05-03 20:00", "05-05 19:00 - 05-05 20:00"]
    );
}

#[test]
fn folded_lines_other_line_ends_and_capitals_are_read() {
    let folded = "begin:vevent\r\nuid:1\r\nsummary:Cho\r\n ir\\, late\r\ndtstart;tzid=\"Europe/Ber\r\n lin\":20260502T190000\r\nduration:PT\r\n\t1H\r\nBEGIN:VALARM\r\nTRIGGER:-PT15M\r\nEND:VALARM\r\nend:vevent";
    let file = read_in(&format!("\u{feff}BEGIN:VCALENDAR\r\n{folded}\r\nEND:VCALENDAR"), year());
    assert_eq!(told(&file), ["05-02 17:00 - 05-02 18:00"]);
    assert_eq!(file.busy[0].what, "Choir, late");
}

#[test]
fn one_broken_event_does_not_spoil_the_others() {
    let good =
        |uid: &str| format!("BEGIN:VEVENT\nUID:{uid}\nDTSTART:20260502T190000Z\nDURATION:PT1H\nEND:VEVENT");
    for (broken, line, what) in [
        ("SUMMARY:Choir\nDURATION:PT1H", 8, "event \"Choir\": it has no start (DTSTART). It is ignored."),
        ("DTSTART:tomorrow", 10, "its DTSTART is not a date or time"),
        ("DTSTART:20260230T190000Z\nDURATION:PT1H", 10, "its DTSTART is not a date or time"),
        ("DTSTART:20260502T190000Z\nDTEND:20260502T180000Z", 11, "it ends before it starts"),
        ("DTSTART;VALUE=DATE:20260502\nDTEND;VALUE=DATE:20260501", 11, "it ends before it starts"),
        ("DTSTART:20260502T190000Z\nDTEND:late", 11, "its DTEND is not a date or time"),
        ("DTSTART:20260502T190000Z\nDURATION:an hour", 11, "its DURATION is not valid"),
        ("DTSTART:20260502T190000Z\nDURATION:-PT1H", 11, "its DURATION is not valid"),
        ("DTSTART:20260502T190000Z\nDURATION:P4000000000W", 11, "its DURATION is not valid"),
        ("DTSTART:20260502T190000Z\nDURATION:PT1H\nRRULE:FREQ=OFTEN", 12, "its rule (RRULE) cannot be read"),
        ("DTSTART:20260502T190000Z\nDURATION:PT1H\nRRULE:COUNT=3", 12, "its rule (RRULE) cannot be read"),
    ] {
        let text = format!("{}\nBEGIN:VEVENT\nUID:2\n{broken}\nEND:VEVENT\n{}", good("1"), good("3"));
        let file = read(&text);
        assert_eq!((file.busy.len(), file.events, file.bad), (2, 3, 1), "{broken}: {file:?}");
        assert!(file.faults[0].what.contains(what), "{broken}: {:?}", file.faults[0].what);
        assert_eq!(file.faults[0].line, line, "{broken}");
    }
    // A rule that cannot be followed leaves the first time.
    let file = read(&event("DTSTART:20260502T190000Z\nDURATION:PT1H\nRRULE:FREQ=DAILY;BYHOUR=30"));
    assert_eq!(file.busy.len(), 1);
    assert!(faults(&file)[0].starts_with("line 8: event \"Choir\": its rule (RRULE) is not valid"));
    let hebrew = read(&event("DTSTART:20260502T190000Z\nDURATION:PT1H\nRRULE:RSCALE=HEBREW;FREQ=YEARLY"));
    assert!(faults(&hebrew)[0].contains("the Gregorian"), "{hebrew:?}");
    // A file that was cut off.
    let cut = calendar(&format!("{}\n{}", good("1"), good("2")));
    let cut = cut.get(..cut.len() - 30).unwrap();
    let file = read_in(cut, year());
    assert_eq!(file.busy.len(), 1);
    assert!(faults(&file)[0].starts_with("line 8: BEGIN:VEVENT has no END:VEVENT"), "{file:?}");
    let unended = format!("BEGIN:VEVENT\nUID:2\nDTSTART:20260502T190000Z\n{}", good("1"));
    assert_eq!(read(&unended).busy.len(), 1);
}

#[test]
fn a_text_that_is_no_calendar_is_refused_with_its_reason() {
    let read = |bytes: &[u8]| read_calendar(bytes, "x", year(), &berlin()).unwrap_err();
    assert_eq!(read(b""), CalendarError::NoCalendar);
    assert_eq!(read(b"<html>Please sign in</html>"), CalendarError::NoCalendar);
    assert_eq!(read(b"BEGIN:VCARD\nEND:VCARD"), CalendarError::NoCalendar);
    assert_eq!(
        read(&"BEGIN:VCALENDAR".encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>()),
        CalendarError::NoCalendar
    );
    assert_eq!(read(b"\xff\xfeB\0E\0"), CalendarError::Utf16);
    assert_eq!(read(&vec![b' '; CALENDAR_LIMIT + 1]), CalendarError::TooLarge);
}

#[test]
fn an_endless_rule_is_followed_inside_the_span_only() {
    let ancient = "DTSTART;TZID=Europe/Berlin:16010101T190000\nDURATION:PT1H";
    let span = (moment("2026-05-01T00:00:00Z"), moment("2026-05-08T00:00:00Z"));
    for (rule, times) in [
        ("FREQ=DAILY", 7),
        ("FREQ=WEEKLY;BYDAY=SA,SU", 2),
        ("FREQ=HOURLY", 168),
        ("FREQ=MINUTELY;INTERVAL=30", 337),
        ("FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=3", 1),
    ] {
        let file = read_in(&calendar(&event(&format!("{ancient}\nRRULE:{rule}"))), span);
        assert_eq!(file.faults, [], "{rule}");
        // One or two more that began before and still last.
        assert!((times..=times + 2).contains(&file.busy.len()), "{rule}: {}", file.busy.len());
    }
}

#[test]
fn a_rule_with_too_many_or_no_occurrences_is_bounded_and_reported() {
    let began = std::time::Instant::now();
    let rule = |rule: &str, number: usize| {
        event(&format!("DTSTART:20260101T000000Z\nDURATION:PT1S\nRRULE:{rule}"))
            .replace("UID:1", &format!("UID:{number}"))
    };
    let every_second = read(&rule("FREQ=SECONDLY", 1));
    assert!(faults(&every_second)[0].contains("repeats too often"), "{:?}", every_second.faults);
    // Hundreds of them, and of such as never come, do not take longer than the budget of the file.
    let many: Vec<String> = (0..300).map(|number| rule("FREQ=SECONDLY;COUNT=90000000", number)).collect();
    let file = read(&many.join("\n"));
    assert_eq!(file.bad, 300);
    let never: Vec<String> =
        (0..300).map(|number| rule("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", number)).collect();
    let file = read(&never.join("\n"));
    assert!(file.bad > 100, "{}", file.bad);
    assert!(began.elapsed() < std::time::Duration::from_secs(60), "{:?}", began.elapsed());
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(
        cut in 0..2000_usize,
        put in "[A-Z0-9:;,=\\-\n\r \"+/TZP]{0,12}",
        length in 0..20_usize,
    ) {
        let text = calendar(&format!(
            "{DESCRIBED}\n{}\n{}",
            event("DTSTART;TZID=Half a year each:20260501T190000\nDURATION:PT1H\nRRULE:FREQ=MONTHLY;BYDAY=-1FR;BYSETPOS=1;COUNT=9\nEXDATE:20260529T190000Z"),
            event("RECURRENCE-ID;TZID=Europe/Berlin:20260529T190000\nDTSTART;VALUE=DATE:20260530\nDTEND;VALUE=DATE:20260531\nRDATE;VALUE=PERIOD:20260701T190000Z/PT3H"),
        ));
        let mut bytes = text.into_bytes();
        let from = cut.min(bytes.len());
        let to = (from + length).min(bytes.len());
        bytes.splice(from..to, put.into_bytes());
        if let Ok(file) = read_calendar(&bytes, "x", year(), &berlin()) {
            for busy in file.busy {
                prop_assert!(busy.from < busy.to && busy.from < year().1 && busy.to > year().0);
            }
        }
    }

    #[test]
    fn no_rule_makes_the_reader_panic(
        freq in "(YEARLY|MONTHLY|WEEKLY|DAILY|HOURLY|MINUTELY|SECONDLY)",
        parts in proptest::collection::vec("(INTERVAL=[0-9]{1,5}|COUNT=[0-9]{1,4}|BYMONTH=[0-9]{1,2}|BYMONTHDAY=-?[0-9]{1,2}|BYYEARDAY=-?[0-9]{1,3}|BYWEEKNO=-?[0-9]{1,2}|BYDAY=-?[0-9]{0,2}(MO|TU|SU)|BYHOUR=[0-9]{1,2}|BYMINUTE=[0-9]{1,2}|BYSECOND=[0-9]{1,2}|BYSETPOS=-?[0-9]{1,3}|UNTIL=20[0-9]{6}|WKST=(MO|SU))", 0..5),
        start in 0..20_000_i64,
    ) {
        let start = moment("1980-01-01T00:00:00Z") + TimeDelta::days(start);
        let lines = format!("DTSTART:{}\nDURATION:PT1H\nRRULE:FREQ={freq};{}", start.format("%Y%m%dT%H%M%SZ"), parts.join(";"));
        let span = (moment("2026-05-01T00:00:00Z"), moment("2026-05-15T00:00:00Z"));
        let file = read_in(&calendar(&event(&lines)), span);
        prop_assert!(file.busy.windows(2).all(|pair| pair[0].from <= pair[1].from));
    }
}

//! Free hours, as they were entered and as they come out, with a calendar that takes some of them.

use crate::common::{Hut, Story, same};

const CALENDAR: &str = "BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//Somebody//EN
BEGIN:VEVENT
UID:choir
SUMMARY:Choir
DTSTART;TZID=Europe/Berlin:20250909T193000
DTEND;TZID=Europe/Berlin:20250909T210000
RRULE:FREQ=WEEKLY;BYDAY=TU
EXDATE;TZID=Europe/Berlin:20260512T193000
END:VEVENT
BEGIN:VEVENT
UID:market
SUMMARY:Flea market
DTSTART;VALUE=DATE:20260509
END:VEVENT
BEGIN:VEVENT
UID:broken
SUMMARY:Broken
DTSTART:some time
END:VEVENT
END:VCALENDAR
";

/// A home whose settings know hours and a calendar.
fn hut(settings: &str) -> Hut {
    let hut = Hut::new();
    let calendar = hut.write("calendar.ics", CALENDAR);
    hut.settings(settings.replace("CALENDAR", &calendar.display().to_string()));
    hut
}

#[test]
fn free_hours_are_shown_with_what_was_taken_out_and_why() {
    let hut = hut(
        "[free]\nhours = [\"Mon-Fri 19:00-22:00\", \"Sat 9-17\"]\nexcept = [\"2026-05-08 none\"]\nbusy = [\"CALENDAR\"]\n",
    );
    let mut story = Story::of(&hut);
    story.tell("The settings say when, the calendar when not; one event is broken.");
    let ran = hut.at("2026-05-02 16:00", "free");
    assert_eq!(ran.status, Some(0), "{ran}");
    story.add(&ran);
    story.tell("A scheme has its own hours; the exceptions and the calendar still count.");
    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[free]\nhours = [\"Tue, Thu, Fri 20-22\", \"Sun 9-12\"]\nexcept = [\"2026-05-03 none\"]\n",
    );
    story.at("2026-05-02 16:00", "scheme hut.toml");
    story.add(&hut.at("2026-05-02 16:00", "free --days 8"));
    story.ends("free_hours");
}

#[test]
fn machines_read_free_hours_in_utc() {
    let hut =
        hut("[free]\nhours = [\"Tue 19-22\"]\nexcept = [\"2026-05-06 12-13\"]\nbusy = [\"CALENDAR\"]\n");
    let json = hut.at("2026-05-05 20:00", "free --days 2 --json").json();
    assert_eq!(json["from"], "2026-05-05T18:00:00Z");
    assert_eq!(json["to"], "2026-05-06T22:00:00Z");
    assert_eq!(json["stated_hours"], 3.0);
    assert_eq!(json["free_hours"], 2.0);
    assert_eq!(json["free"][0]["from"], "2026-05-05T19:00:00Z");
    assert_eq!(json["free"][0]["to"], "2026-05-05T20:00:00Z");
    assert_eq!(json["taken"][0]["what"], "Choir");
    assert_eq!(json["taken"][0]["from"], "2026-05-05T18:00:00Z");
    assert_eq!(json["exceptions"][0]["text"], "2026-05-06 12-13");
    assert_eq!(json["calendars"][0]["events"], 3);
    assert_eq!(json["calendars"][0]["faults"][0]["line"], 20);
}

#[test]
fn the_night_of_a_clock_change_has_its_own_hours() {
    let hut = hut("[free]\nhours = [\"Sat 22-4\"]\n");
    let hours = |now: &str| hut.at(now, "free --days 2 --json").json()["free_hours"].as_f64().unwrap();
    assert_eq!(hours("2026-03-21 12:00"), 6.0);
    assert_eq!(hours("2026-03-28 12:00"), 5.0);
    assert_eq!(hours("2026-10-24 12:00"), 7.0);
}

#[test]
fn an_unreadable_calendar_is_reported_and_the_hours_are_shown() {
    let hut = Hut::new();
    hut.write("page.ics", "<html>Please sign in</html>");
    let page = hut.path("page.ics").display().to_string();
    hut.settings(format!(
        "[free]\nhours = [\"daily 19-22\"]\nbusy = [\"~/not-there.ics\", \"{page}\", \"/dev/zero\"]\n"
    ));
    let ran = hut.at("2026-05-02 16:00", "free --days 1");
    assert_eq!(ran.status, Some(3), "{ran}");
    same("calendars_that_cannot_be_read", &ran.to_string());
    let json = hut.run_words(&["--at", "2026-05-02 16:00", "free", "--json"]);
    assert_eq!(json.status, Some(3));
    assert!(json.out.contains("it is not a calendar"), "{json}");
}

#[test]
fn a_calendar_of_ten_megabytes_is_refused_in_good_time() {
    let hut = hut("[free]\nhours = [\"daily 19-22\"]\nbusy = [\"CALENDAR\"]\n");
    hut.write("calendar.ics", vec![b' '; (10 << 20) + 1]);
    let ran = hut.at("2026-05-02 16:00", "free --days 1");
    assert!(ran.err.contains("larger than 10 MB") && ran.status == Some(3), "{ran}");
    // One byte less, full of events.
    let event =
        "BEGIN:VEVENT\nUID:1\nDTSTART:20000101T200000Z\nDURATION:PT1H\nRRULE:FREQ=DAILY\nEND:VEVENT\n";
    let mut text = String::from("BEGIN:VCALENDAR\n");
    while text.len() + event.len() < 10 << 20 {
        text += event;
    }
    hut.write("calendar.ics", text + "END:VCALENDAR\n");
    let began = std::time::Instant::now();
    let ran = hut.at("2026-05-02 16:00", "free --days 1");
    assert_eq!(ran.status, Some(0), "{ran}");
    assert!(began.elapsed() < std::time::Duration::from_secs(60), "{:?}", began.elapsed());
}

#[test]
fn without_free_hours_it_says_where_to_write_them() {
    let hut = Hut::new();
    let ran = hut.run("free").well();
    assert!(ran.out.starts_with("No free hours are set. Write them under [free]"), "{ran}");
    assert_eq!(hut.run("free --json").json()["free_hours"], 0.0);
    hut.settings("[free]\nexcept = [\"2026-05-09 none\"]\n");
    assert!(hut.run("free").well().out.starts_with("No free hours are set."));
}

#[test]
fn invalid_hours_are_reported_with_line_and_remedy() {
    let hut = Hut::new();
    let mut told = String::new();
    for lines in [
        "hours = [\"Mon-Fri 9-5\"]",
        "hours = [\n  \"Mon-Fri 19-22\",\n  \"Funday 9-17\",\n]",
        "hours = [\"19-22\"]",
        "hours = [\"Mon-Fri\"]",
        "hours = [\"Sat 9:75-17\"]",
        "hours = \"Sat 9-17\"",
        "except = [\"9 May none\"]",
        "except = [\"2026-05-09 none\", \"2026-05-09 9-12\"]",
        "except = [\"2026-05-09..2026-05-08 none\"]",
        "busy = [\"calendar.ics\"]",
        "busyness = []",
        "hours = [\"Sat 9-\u{1b}[2J17\"]",
    ] {
        hut.settings(format!("[free]\n{lines}\n"));
        let ran = hut.run("free");
        assert_eq!((ran.status, ran.out.as_str()), (Some(2), ""), "{ran}");
        told += &ran.err;
    }
    hut.settings("");
    hut.write("hut.toml", "name = \"Hut\"\n[free]\nhours = [\"Sat 9\"]\n");
    told += &hut.refused(2, "scheme hut.toml").err;
    same("faults_in_free_hours", &told);
}

#[test]
fn a_window_that_no_free_hour_meets_is_shown_with_the_evening_on_which_to_sand() {
    let hut = Hut::new().with_varnish();
    hut.settings("[free]\nhours = [\"Mon-Fri 19-22\"]\n");
    hut.at("2026-05-04 18:00", "reading 20 --humidity 50").well();
    let before = hut.at("2026-05-04 18:10", "coat door hut-varnish --done").well();
    assert!(before.out.contains("The film is not ready before 20:10."), "{before}");
    assert!(!before.out.contains("free"), "ready in the evening itself: {before}");
    hut.at("2026-05-04 21:00", "coat frame hut-varnish --done --new").well();
    for ask in ["status", "check frame"] {
        let late = hut.at("2026-05-04 21:10", ask);
        let says = "Your next free time to sand, then second coat: Tue 19:00.";
        assert!(late.out.contains("None of your free hours falls into that time."), "{ask}: {late}");
        assert!(late.out.contains(says), "{ask}: {late}");
    }
}

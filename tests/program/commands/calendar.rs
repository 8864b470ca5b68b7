//! Windows and deadlines as a calendar file: what is in it, what a second export does, and what is never lost.

use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};

use crate::common::{Hut, Story, same};

/// A door with one coat, read and coated on the first of May.
fn hut() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[[area]]\nname = \"door\"\nsquare_metres = 2\nminutes_per_square_metre = 10\nsteps = [{ tape = \"on\" }, { coat = \"hut-varnish\" }, { tape = \"off\" }, { coat = \"hut-varnish\" }]\n",
    );
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:30", "step door tape-on").well();
    hut.at("2026-05-01 09:00", "coat door --done").well();
    hut
}

/// The lines of a calendar, unfolded.
fn lines(text: &str) -> Vec<String> {
    text.replace("\r\n ", "").split_terminator("\r\n").map(str::to_owned).collect()
}

fn file(hut: &Hut, name: &str) -> String {
    fs::read_to_string(hut.path(name)).unwrap()
}

/// The values of a property, in the order of the file.
fn values(text: &str, name: &str) -> Vec<String> {
    lines(text).iter().filter_map(|line| line.strip_prefix(&format!("{name}:")).map(str::to_owned)).collect()
}

#[test]
fn windows_and_deadlines_are_exported_and_a_second_export_moves_them() {
    let hut = hut();
    let mut story = Story::of(&hut);
    story.tell("One coat is on: its tape, its window, what follows.");
    story.at("2026-05-01 09:30", "calendar hut.ics");
    let first = file(&hut, "hut.ics");
    story.tell(
        "The tape is pulled, and the shop is too cold for the film to progress: all of it comes later.",
    );
    story.at("2026-05-01 10:00", "step door tape-off");
    story.at("2026-05-01 10:00", "reading 3");
    story.at("2026-05-01 10:20", "reading 20");
    story.at("2026-05-01 10:20", "calendar hut.ics");
    let second = file(&hut, "hut.ics");
    story.tell("The second coat goes on: the first one's window holds no more.");
    story.at("2026-05-01 11:40", "coat door --done");
    story.at("2026-05-01 11:40", "calendar hut.ics");
    story.ends("a_calendar_for_a_phone");
    let uids = |text: &str| {
        let mut uids = values(text, "UID");
        uids.sort();
        uids
    };
    // The tape is called off; the others keep their identities.
    assert_eq!(uids(&first), uids(&second));
    assert_eq!(values(&second, "STATUS").iter().filter(|status| *status == "CANCELLED").count(), 1);
    assert_ne!(values(&first, "DTSTART"), values(&second, "DTSTART"));
    let third = file(&hut, "hut.ics");
    assert!(values(&third, "STATUS").contains(&"CANCELLED".to_owned()));
}

#[test]
fn an_export_is_the_same_file_each_time_and_does_not_hold_the_present() {
    let hut = hut();
    hut.at("2026-05-01 09:30", "calendar hut.ics").well();
    let written = file(&hut, "hut.ics");
    assert_eq!(values(&written, "DTSTAMP")[0], "20260501T073000Z");
    hut.at("2026-05-01 09:30", "calendar other.ics").well();
    assert_eq!(file(&hut, "other.ics"), written);
    // Standard output: a carriage return is a control character, so it is looked at without the common eyes.
    let output = hut.command().args(["--at", "2026-05-01 09:30", "calendar", "-"]).output().unwrap();
    assert_eq!((String::from_utf8(output.stdout).unwrap(), output.stderr.len()), (written, 0));
    let json = hut.at("2026-05-01 09:30", "calendar hut.ics --json").json();
    assert_eq!(json["events"].as_array().unwrap().len(), 5);
    assert_eq!(json["events"][0]["from"], "2026-05-01T08:30:00Z");
    assert_eq!(json["called_off"].as_array().unwrap().len(), 0);
}

#[test]
fn nothing_ahead_makes_no_calendar() {
    let hut = Hut::new();
    for line in ["calendar hut.ics", "calendar hut.ics --json"] {
        hut.run(line).well();
        assert!(!hut.path("hut.ics").exists());
    }
    assert!(hut.run("calendar hut.ics").out.starts_with("Nothing to write"));
    let none = hut.run("calendar -");
    assert_eq!((none.status, none.out.as_str()), (Some(0), ""));
    assert!(none.err.starts_with("Nothing to write"));
}

#[test]
fn a_file_of_another_program_is_never_overwritten() {
    let hut = hut();
    let mut told = String::new();
    let foreign = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Somebody//EN\r\nEND:VCALENDAR\r\n";
    for (name, text) in [("mine.ics", foreign.as_bytes()), ("notes.txt", b"hello"), ("blob", b"\xff\x00")] {
        hut.write(name, text);
        told += &hut.refused(2, &format!("--at \"2026-05-01 09:30\" calendar {name}")).err;
        assert_eq!(fs::read(hut.path(name)).unwrap(), text);
    }
    fs::create_dir(hut.path("folder")).unwrap();
    told += &hut.refused(2, "--at \"2026-05-01 09:30\" calendar folder").err;
    told += &hut.refused(3, "--at \"2026-05-01 09:30\" calendar nowhere/hut.ics").err;
    // The name that is tried first is another each time.
    let told: Vec<&str> = told.lines().map(|line| line.split(" at path").next().unwrap()).collect();
    same("calendars_that_are_not_overwritten", &(told.join("\n") + "\n"));
    // An empty file has nothing to lose.
    hut.write("empty.ics", "");
    hut.at("2026-05-01 09:30", "calendar empty.ics").well();
    assert!(file(&hut, "empty.ics").starts_with("BEGIN:VCALENDAR"));
}

#[test]
fn what_another_program_added_to_the_calendar_is_kept() {
    let hut = hut();
    hut.at("2026-05-01 09:30", "calendar hut.ics").well();
    let dentist =
        "BEGIN:VEVENT\r\nUID:7@elsewhere\r\nSUMMARY:Dentist\r\nDTSTART:20260504T080000Z\r\nEND:VEVENT\r\n";
    let added = file(&hut, "hut.ics").replace("END:VCALENDAR", &format!("{dentist}END:VCALENDAR"));
    hut.write("hut.ics", &added);
    let said = hut.at("2026-05-01 09:40", "calendar hut.ics").well();
    assert!(said.out.contains("  kept: one event of others\n"), "{said}");
    let written = file(&hut, "hut.ics");
    assert!(written.contains(dentist), "{written}");
    assert_eq!(values(&written, "UID").len(), values(&added, "UID").len());
    assert_eq!(hut.at("2026-05-01 09:40", "calendar hut.ics --json").json()["kept"], 1);
    assert_eq!(file(&hut, "hut.ics"), written);
    hut.write("hut.ics", &added[..added.len() - 20]);
    let said = hut.at("2026-05-01 09:40", "calendar hut.ics");
    assert_eq!(said.status, Some(2), "{said}");
    assert!(said.err.contains("hut.ics is not a complete calendar"), "{said}");
}

#[test]
fn a_file_keeps_its_name_and_its_rights() {
    let hut = hut();
    hut.at("2026-05-01 09:30", "calendar hut.ics").well();
    fs::set_permissions(hut.path("hut.ics"), fs::Permissions::from_mode(0o640)).unwrap();
    symlink(hut.path("hut.ics"), hut.path("link.ics")).unwrap();
    hut.at("2026-05-01 09:31", "calendar link.ics").well();
    assert!(fs::symlink_metadata(hut.path("link.ics")).unwrap().is_symlink());
    assert_eq!(values(&file(&hut, "hut.ics"), "DTSTAMP")[0], "20260501T073100Z");
    assert_eq!(fs::metadata(hut.path("hut.ics")).unwrap().permissions().mode() & 0o777, 0o640);
    // Nothing is left beside it.
    let beside: Vec<String> = fs::read_dir(hut.path("hut.ics").parent().unwrap())
        .unwrap()
        .map(|file| file.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name.starts_with(".curewright"))
        .collect();
    assert_eq!(beside, [""; 0]);
}

#[test]
fn an_exported_calendar_does_not_count_as_busy() {
    let hut = hut();
    hut.at("2026-05-01 09:30", "calendar hut.ics").well();
    let settings = "[free]\nhours = [\"daily 8-22\"]\n";
    hut.settings(settings);
    let hours = || hut.at("2026-05-01 09:30", "free --json").json()["free_hours"].clone();
    let before = hours();
    hut.settings(format!("{settings}busy = [\"{}\"]\n", hut.path("hut.ics").display()));
    assert_eq!(hours(), before);
}

/// A door that is planned in the evenings, with one coat on.
fn planned() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[free]\nhours = [\"Mon-Fri 18:30-22:00\", \"Sat 8-18\"]\n[[area]]\nname = \"door\"\nsquare_metres = 2\nminutes_per_square_metre = 10\nsteps = [{ coat = \"hut-varnish\" }, { coat = \"hut-varnish\" }, { sand = \"320\", minutes = 30 }, { tape = \"on\" }, { coat = \"hut-varnish\" }, { tape = \"off\" }]\n",
    );
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 16:00", "coat door --done").well();
    hut
}

#[test]
fn sessions_of_the_plan_are_exported_and_a_second_export_moves_them() {
    let hut = planned();
    let mut story = Story::of(&hut);
    story.tell("A Friday afternoon: the first coat is on, the second fits into the evening.");
    story.at("2026-05-01 16:20", "calendar hut.ics");
    let first = file(&hut, "hut.ics");
    story.tell("The scheme loses its Saturdays: what was planned for one comes later.");
    let scheme = fs::read_to_string(hut.path("hut.toml")).unwrap().replace(", \"Sat 8-18\"", "");
    hut.write("hut.toml", scheme);
    story.at("2026-05-01 16:30", "scheme hut.toml");
    story.at("2026-05-01 16:30", "calendar hut.ics");
    let second = file(&hut, "hut.ics");
    story.tell("The second coat is on: its appointment is called off, the others keep theirs.");
    story.at("2026-05-01 18:35", "coat door --done");
    story.at("2026-05-01 18:35", "calendar hut.ics");
    story.ends("sessions_for_a_phone");
    let uids = |text: &str| {
        let mut uids = values(text, "UID");
        uids.sort();
        uids
    };
    assert_eq!(uids(&first), uids(&second));
    let mut single = uids(&second);
    single.dedup();
    assert_eq!(single.len(), uids(&second).len(), "an event is doubled");
    assert_ne!(values(&first, "DTSTART"), values(&second, "DTSTART"));
    let busy = |text: &str| values(text, "TRANSP").iter().filter(|busy| *busy == "OPAQUE").count();
    // A coat, a sanding, a coat with its tape.
    assert_eq!((busy(&first), busy(&second)), (3, 3));
    let third = file(&hut, "hut.ics");
    let cancelled = values(&third, "STATUS").iter().filter(|status| *status == "CANCELLED").count();
    assert!(cancelled >= 1);
    let coats = |text: &str| uids(text).into_iter().filter(|uid| uid.contains("-coat-")).collect::<Vec<_>>();
    assert_eq!(coats(&third), coats(&first));
}

#[test]
fn without_a_plan_the_windows_are_exported_and_the_reason_is_shown() {
    let hut = planned();
    let scheme = fs::read_to_string(hut.path("hut.toml")).unwrap();
    hut.write("hut.toml", scheme.replace("\"Mon-Fri 18:30-22:00\", \"Sat 8-18\"", "\"Sat 8:00-8:10\""));
    hut.at("2026-05-01 16:30", "scheme hut.toml").well();
    let ran = hut.at("2026-05-01 16:30", "calendar hut.ics");
    assert_eq!(ran.status, Some(0), "{ran}");
    assert!(ran.err.starts_with("No sessions: "), "{ran}");
    assert!(file(&hut, "hut.ics").contains("-window-1@"));
}

#[test]
fn rain_inside_a_window_is_in_its_event() {
    let hut = Hut::new().with_varnish();
    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[[area]]\nname = \"door\"\nplace = \"outside\"\nsquare_metres = 2\n\
         minutes_per_square_metre = 10\nsteps = [{ coat = \"hut-varnish\" }, { coat = \"hut-varnish\" }]\n",
    );
    let hour = |hour: u32| format!("2026-05-01 {hour:02}:00,20,50,{}\n", u8::from(hour == 13) * 2);
    let hours: String = (0..14).map(hour).collect();
    hut.write("week.csv", format!("time,temperature,humidity,rain\n{hours}"));
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "forecast week.csv").well();
    hut.at("2026-05-01 09:00", "reading 20 --humidity 50 --place outside").well();
    hut.at("2026-05-01 09:00", "coat door --done").well();
    hut.at("2026-05-01 09:10", "calendar hut.ics").well();
    let text = values(&file(&hut, "hut.ics"), "DESCRIPTION").join("\n");
    assert!(text.contains("After 13:00\\, where the forecast ends\\, the air is unknown."), "{text}");
    hut.write("week.csv", format!("time,temperature,humidity,rain\n{hours}2026-05-01 20:00,20,50,0\n"));
    hut.at("2026-05-01 09:11", "forecast week.csv").well();
    hut.at("2026-05-01 09:12", "calendar hut.ics").well();
    let text = values(&file(&hut, "hut.ics"), "DESCRIPTION").join("\n");
    assert!(text.contains("The air suits the coat only within: "), "{text}");
}

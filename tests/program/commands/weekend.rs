//! A weekend at a shepherd's hut, told as a story.

use crate::common::{Hut, Story};

const SCHEME: &str = r#"
name = "Shepherd's hut"

[[area]]
name = "roof"
square_metres = 6.5
minutes_per_square_metre = 4
steps = [
  { coat = "epoxy-sealer" },
  { coat = "epoxy-sealer", wet_on_wet = "prefer" },
  { sand = "120", minutes = 60 },
  { coat = "primer-two-part" },
  { coat = "paint-two-part", wet_on_wet = "prefer" },
]

[[area]]
name = "door, outside"
square_metres = 2.2
minutes_per_square_metre = 9
steps = [
  { tape = "on" },
  { coat = "varnish-two-part" },
  { tape = "off" },
  { tape = "on" },
  { coat = "varnish-two-part", wet_on_wet = "prefer" },
  { tape = "off" },
  { sand = "320", minutes = 30 },
  { coat = "varnish-two-part" },
]
"#;

#[test]
fn a_weekend_at_the_hut_is_timed_from_the_first_coat_to_the_last_reading() {
    let hut = Hut::new();
    hut.write("hut.toml", SCHEME);
    let mut weekend = Story::of(&hut);

    weekend
        .tell("Friday evening. The scheme goes in, the thermometer is read, the roof gets its first coat.");
    weekend.at("2026-05-01 17:30", "scheme hut.toml");
    weekend.at("2026-05-01 17:35", "status");
    weekend.at("2026-05-01 17:40", "reading 16 --humidity 62 --surface 15.4");
    weekend.at("2026-05-01 17:45", "coat roof");
    weekend.at("2026-05-01 18:00", "status");
    weekend.at("2026-05-01 18:11", "done roof");

    weekend.tell("Then the door, with tape round its panes. The shop cools, and every moment moves.");
    weekend.at("2026-05-01 18:15", r#"step "door, outside" tape-on"#);
    weekend.at("2026-05-01 18:20", r#"coat "door, outside""#);
    weekend.at("2026-05-01 18:44", "done");
    weekend.at("2026-05-01 20:00", "reading 14.5 --humidity 66");
    weekend.at("2026-05-01 20:05", "status");
    weekend.at("2026-05-01 21:30", "reading 13 --humidity 70");
    weekend.at("2026-05-01 21:31", "status");

    weekend.tell("The door's tape comes off while the film is soft, and the roof takes its second coat.");
    weekend.at("2026-05-01 22:20", r#"step "door, outside" tape-off"#);
    weekend.at("2026-05-01 23:10", "coat roof");
    weekend.at("2026-05-01 23:36", "done");

    weekend.tell("Saturday. A cold morning and a warm noon: the door is open for its second coat.");
    weekend.at("2026-05-02 08:00", "reading 9 --humidity 80");
    weekend.at("2026-05-02 08:01", "status");
    weekend.at("2026-05-02 12:00", "reading 24 --humidity 45");
    weekend.at("2026-05-02 12:01", "status");
    weekend.at("2026-05-02 12:20", r#"step "door, outside" tape-on"#);
    weekend.at("2026-05-02 12:30", r#"coat "door, outside""#);
    weekend.at("2026-05-02 12:52", "done");
    weekend.at("2026-05-02 14:30", r#"step "door, outside" tape-off"#);
    weekend.at("2026-05-02 19:00", "reading 20 --humidity 50");
    weekend.at("2026-05-02 19:01", "status");
    weekend.at("2026-05-02 22:00", "status");

    weekend.tell("Sunday. Sanding, once the film allows it.");
    weekend.at("2026-05-03 09:00", "reading 15 --humidity 65");
    weekend.at("2026-05-03 09:01", "status");
    weekend.at("2026-05-03 09:20", "step roof wash");
    weekend.at("2026-05-03 10:20", "step roof sand --minutes 55");
    weekend.at("2026-05-03 10:21", "status");
    weekend.at("2026-05-03 10:50", r#"step "door, outside" sand --minutes 25"#);

    weekend
        .tell("The primer goes on the roof. Its last stroke is entered for the wrong area, and taken back.");
    weekend.at("2026-05-03 11:00", "reading 19 --humidity 55");
    weekend.at("2026-05-03 11:05", "coat roof");
    weekend.at("2026-05-03 11:10", r#"coat "door, outside""#);
    weekend.at("2026-05-03 11:27", r#"done "door, outside""#);
    weekend.at("2026-05-03 11:28", "undo");
    weekend.at("2026-05-03 11:27", "done roof");
    weekend.at("2026-05-03 11:36", r#"done "door, outside""#);
    weekend.at("2026-05-03 11:40", "status");

    weekend.tell("Sunday night: what is left, and what was done.");
    weekend.at("2026-05-03 20:30", "reading 17 --humidity 60");
    weekend.at("2026-05-03 20:31", "status");
    weekend.at("2026-05-03 20:31", "scheme");
    weekend.at("2026-05-03 20:31", "record");
    weekend.ends("a_weekend_at_the_hut");
}

#[test]
fn a_piece_without_a_scheme_is_timed_all_the_same() {
    let hut = Hut::new();
    let mut story = Story::of(&hut);

    story.tell("An oiled floor and a varnished step, without a plan.");
    story.at("2026-05-01 08:00", "reading 20 --humidity 50");
    story.at("2026-05-01 08:10", "coat floor oil-penetrating --done");
    story.at("2026-05-01 08:30", "coat step varnish-alkyd --next oil-penetrating");
    story.at("2026-05-01 08:45", "done step");
    story.at("2026-05-01 08:46", "status");

    story.tell("The product of the coat before is taken for the next, unless another is said.");
    story.at("2026-05-02 09:00", "reading 20 --humidity 50");
    story.at("2026-05-02 09:01", "status");
    story.at("2026-05-02 09:30", "coat FLOOR --done");
    story.at("2026-05-03 09:00", "coat step --done --yes");
    story.at("2026-05-03 09:01", "record");
    story.ends("a_piece_without_a_scheme");
}

#[test]
fn a_coat_on_ground_that_is_not_ready_is_recorded_with_a_caution() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();

    story.tell("Too early, in time, too late, and hard but not sanded.");
    for moment in ["09:00", "11:00", "14:00", "17:00"] {
        story.at(&format!("2026-05-01 {moment}"), "coat door");
        hut.run("undo").well();
    }

    story.tell("Sanded.");
    hut.at("2026-05-01 16:30", "step door sand").well();
    story.at("2026-05-01 17:00", "coat door");
    story.ends("ground_that_is_not_ready");
}

#[test]
fn a_cold_night_stalls_the_cure_and_is_reported() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);

    story.tell("A frosty shed: below 4 °C the film does not progress.");
    story.at("2026-01-09 16:00", "reading 8 --humidity 70");
    story.at("2026-01-09 16:00", "coat door hut-varnish --done");
    story.at("2026-01-09 17:00", "reading -3 --humidity 85");
    story.at("2026-01-09 17:00", "status");
    story.at("2026-01-09 17:00", "watch --once --no-desktop");

    story.tell("The stove is lit.");
    story.at("2026-01-09 18:00", "reading 15");
    story.at("2026-01-09 18:00", "status");
    story.ends("a_cold_night");
}

#[test]
fn an_undone_entry_can_be_brought_back() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let before = hut.at("2026-05-01 08:30", "status").well();
    story.run("undo");
    assert_ne!(hut.at("2026-05-01 08:30", "status").out, before.out);
    story.run("undo 3");
    assert_eq!(hut.at("2026-05-01 08:30", "status"), before);
    story.at("2026-05-01 08:30", "record");
    story.ends("an_undone_entry");
}

//! The moments that people type, and the nights on which the clocks are changed.

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

use crate::common::{Hut, Story, same};

fn moment(value: &Value) -> DateTime<Utc> {
    value.as_str().unwrap().parse().unwrap()
}

/// The last entry: when it happened, and when it was written down.
fn last(hut: &Hut) -> (DateTime<Utc>, DateTime<Utc>) {
    let record = hut.record();
    let newest = record.as_array().unwrap().iter().max_by_key(|entry| entry["id"].as_i64()).unwrap();
    (moment(&newest["at"]), moment(&newest["recorded"]))
}

#[test]
fn a_time_ago_is_counted_from_now() {
    let hut = Hut::new();
    for (ago, passed) in [
        ("-25m", TimeDelta::minutes(25)),
        ("-1h30m", TimeDelta::minutes(90)),
        ("-2 h", TimeDelta::hours(2)),
        ("-3d", TimeDelta::days(3)),
    ] {
        hut.at(ago, "reading 17").well();
        let (at, recorded) = last(&hut);
        let off = recorded - at - passed;
        assert!(off >= TimeDelta::zero() && off <= TimeDelta::seconds(5), "{ago}: off by {off}");
    }
    // Written with an equals sign, and after the command, it is the same.
    hut.run("--at=-25m reading 17").well();
    hut.run("reading 17 --at -25m").well();
    assert_eq!(hut.record().as_array().unwrap().len(), 6);
}

#[test]
fn nothing_said_means_now() {
    let hut = Hut::new();
    hut.run("reading 17").well();
    let (at, recorded) = last(&hut);
    assert_eq!(at, recorded);
}

#[test]
fn a_temperature_below_zero_is_no_option() {
    let hut = Hut::new();
    hut.at("2026-01-09 07:00", "reading -3 --surface -4.5").well();
    hut.at("2026-01-09 07:10", "reading -12.5").well();
    let record = hut.record();
    assert_eq!(
        (&record[0]["entry"]["air"], &record[0]["entry"]["surface"]),
        (&(-3.0).into(), &(-4.5).into())
    );
    assert_eq!(record[1]["entry"]["air"], -12.5);
}

#[test]
fn a_time_of_day_is_of_today_and_a_weekday_the_last_one() {
    let hut = Hut::new().with("TZ", "UTC");
    hut.at("00:00", "reading 17").well();
    let (at, recorded) = last(&hut);
    assert_eq!(at, recorded.date_naive().and_hms_opt(0, 0, 0).unwrap().and_utc());
    hut.at("yesterday 14:20", "reading 17").well();
    let (at, recorded) = last(&hut);
    assert_eq!(at, (recorded.date_naive() - TimeDelta::days(1)).and_hms_opt(14, 20, 0).unwrap().and_utc());
    let weekday = (recorded - TimeDelta::days(2)).format("%a 14:20").to_string();
    hut.at(&weekday, "reading 17").well();
    assert_eq!(last(&hut).0, at - TimeDelta::days(1));
}

#[test]
fn local_time_and_an_offset_name_the_same_moment() {
    let hut = Hut::new();
    for text in
        ["2026-05-02 14:20", "2026-05-02T14:20:00+02:00", "2026-05-02T12:20:00Z", "2026-05-02 2:20 pm"]
    {
        hut.at(text, "reading 17").well();
        assert_eq!(last(&hut).0.to_rfc3339(), "2026-05-02T12:20:00+00:00", "{text}");
    }
    let tokyo = Hut::new().with("TZ", "Asia/Tokyo");
    tokyo.at("2026-05-02 14:20", "reading 17").well();
    assert_eq!(last(&tokyo).0.to_rfc3339(), "2026-05-02T05:20:00+00:00");
}

#[test]
fn a_skipped_or_repeated_hour_needs_its_offset() {
    let hut = Hut::new();
    let skipped = hut.refused(2, r#"--at "2026-03-29 02:30" reading 17"#);
    let twice = hut.refused(2, r#"--at "2026-10-25 02:30" reading 17"#);
    assert!(
        twice.err.contains("2026-10-25T02:30:00+02:00") && twice.err.contains("2026-10-25T02:30:00+01:00")
    );
    same("an_hour_skipped", &skipped.to_string());
    hut.at("2026-10-25T02:30:00+02:00", "reading 17").well();
    assert_eq!(last(&hut).0.to_rfc3339(), "2026-10-25T00:30:00+00:00");
    hut.at("2026-10-25T02:30:00+01:00", "reading 17").well();
    assert_eq!(last(&hut).0.to_rfc3339(), "2026-10-25T01:30:00+00:00");
}

#[test]
fn a_film_knows_nothing_of_the_night_the_clocks_go_forward() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    story.tell("Saturday night before summer time: two hours after 01:00 it is 04:00 by the clock.");
    story.at("2026-03-28 22:00", "reading 20");
    story.at("2026-03-29 01:00", "coat door hut-varnish --done");
    story.at("2026-03-29 01:30", "status");
    story.ends("the_night_the_clocks_go_forward");
    let json = hut.at("2026-03-29 01:30", "status --json").json();
    assert_eq!(json["coats"][0]["stages"]["recoat_open"]["at"], "2026-03-29T02:00:00Z");
    assert_eq!(json["coats"][0]["stages"]["recoat_close"]["at"], "2026-03-29T05:00:00Z");
}

#[test]
fn a_film_knows_nothing_of_the_night_the_clocks_go_back() {
    let hut = Hut::new().with_varnish();
    let mut story = Story::of(&hut);
    story.tell("Saturday night before winter time: two hours after 01:00 it is 02:00 by the clock.");
    story.at("2026-10-24 22:00", "reading 20");
    story.at("2026-10-25 01:00", "coat door hut-varnish --done");
    story.at("2026-10-25 01:30", "status");
    story.ends("the_night_the_clocks_go_back");
    let json = hut.at("2026-10-25 01:30", "status --json").json();
    assert_eq!(json["coats"][0]["stages"]["recoat_open"]["at"], "2026-10-25T01:00:00Z");
}

#[test]
fn the_same_job_is_shown_by_the_clock_of_the_place() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let shown = |hut: &Hut| hut.at("2026-05-01T06:30:00Z", "status").well().out;
    assert!(shown(&hut).contains("Fri 08:30"), "{}", shown(&hut));
    let hut = hut.with("TZ", "America/New_York");
    let away = shown(&hut);
    assert!(away.contains("Fri 02:30") && away.contains("WAIT until 04:00"), "{away}");
}

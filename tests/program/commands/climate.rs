//! The climate after the forecast ends: a file, the settings, the earlier years of the record. All air here is made up.

use chrono::{DateTime, Datelike, TimeDelta, Utc};
use serde_json::Value;

use crate::common::{Hut, Story};

const NOW: &str = "2026-11-25 12:00";
const DOOR: &str = "name = \"Door\"\n[free]\nhours = [\"Sat 9-17\", \"Mon-Fri 19:00-21:00\"]\n[[area]]\nname = \"door\"\n\
    square_metres = 2\nminutes_per_square_metre = 10\nsteps = [{ coat = \"varnish-two-part\" }, { sand = \"320\", minutes = 30 }, \
    { coat = \"varnish-two-part\" }, { sand = \"320\", minutes = 30 }, { coat = \"varnish-two-part\" }]\n";

type Air = fn(DateTime<Utc>) -> f64;

/// A year that is coldest in January at 10 °C, warmest in July at 20 °C.
fn season(at: DateTime<Utc>) -> f64 {
    15.0 - 5.0 * ((f64::from(at.ordinal()) - 15.0) / 365.25 * std::f64::consts::TAU).cos()
}

/// The same with fronts of some days and nights that are cooler.
fn weather(at: DateTime<Utc>) -> f64 {
    let days = at.timestamp() as f64 / 86_400.0;
    season(at) + 1.5 * (days * 1.3).sin() - 2.0 * ((days - 0.15) * std::f64::consts::TAU).cos()
}

/// A logger's file: every hour of a number of days, where every hour has a damp and perhaps a place.
fn log(from: &str, days: i64, air: impl Fn(DateTime<Utc>) -> f64, damp: u32, place: &str) -> String {
    let from: DateTime<Utc> = format!("{from}T00:00:00Z").parse().unwrap();
    let mut text = format!("time,temperature,humidity{}\n", if place.is_empty() { "" } else { ",place" });
    for hour in 0..days * 24 {
        let at = from + TimeDelta::hours(hour);
        let place = if place.is_empty() { String::new() } else { format!(",{place}") };
        text += &format!("{},{:.2},{damp}{place}\n", at.format("%Y-%m-%dT%H:%M:%SZ"), air(at));
    }
    text
}

/// A home with a door to varnish, in the last fortnight of a warm November.
fn hut() -> Hut {
    let hut = Hut::new();
    hut.write("fortnight.csv", log("2026-11-11", 14, |at| weather(at) + 8.0, 55, ""));
    hut.write("door.toml", DOOR);
    hut.at(NOW, "import fortnight.csv").well();
    hut.at(NOW, "scheme door.toml").well();
    hut
}

fn plan(hut: &Hut, more: &str) -> Value {
    hut.at(NOW, &format!("plan --json {more}")).well().json()
}

fn service(plan: &Value) -> DateTime<Utc> {
    plan["service"].as_str().unwrap().parse().unwrap()
}

#[test]
fn a_winter_with_a_climate_is_later_than_with_the_warm_fortnight() {
    let hut = hut();
    hut.write("years.csv", log("2019-01-01", 730, weather as Air, 55, ""));
    let (fortnight, climate) = (plan(&hut, ""), plan(&hut, "--climate years.csv"));
    assert!(service(&climate) > service(&fortnight) + TimeDelta::days(2), "{climate}\n{fortnight}");
    assert_eq!(fortnight["beyond"][0]["air"], "mean_day");
    let basis = &climate["beyond"][0];
    assert_eq!(
        (&basis["place"], &basis["air"], &basis["file"]),
        (&"shop".into(), &"file".into(), &"years.csv".into())
    );
    let mut story = Story::of(&hut);
    story.at(NOW, "plan");
    story.at(NOW, "plan --climate years.csv --draws 40");
    story.ends("a_climate_from_a_file");
    let draws =
        |seed: u32| plan(&hut, &format!("--climate years.csv --draws 40 --seed {seed}"))["draws"].clone();
    assert_eq!(draws(3), draws(3));
    assert_ne!(draws(3), draws(4));
}

#[test]
fn the_file_of_the_settings_counts_for_the_plan_and_the_calendar() {
    let hut = hut();
    let file = hut.write("years.csv", log("2019-01-01", 365, weather as Air, 55, ""));
    let asked = plan(&hut, "--climate years.csv");
    let calendar = |file: &str| hut.at(NOW, &format!("calendar {file}")).well().out.replace(file, "");
    let before = calendar("before.ics");
    let settings = format!("[weather]\nclimate = \"{}\"\n", file.display());
    hut.settings(&settings);
    assert_eq!(plan(&hut, ""), asked);
    assert_ne!(calendar("with.ics"), before);
    // One that is named on the line takes its place.
    hut.write("warm.csv", log("2019-01-01", 365, |_| 24.0, 55, ""));
    assert!(service(&plan(&hut, "--climate warm.csv")) < service(&asked));
    // Where it cannot be read, no plan rests on something else; the windows of the calendar stand.
    hut.settings(settings.replace("years.csv", "gone.csv"));
    let refused = hut.at(NOW, "plan");
    assert_eq!(refused.status, Some(2), "{refused}");
    assert!(refused.err.contains("gone.csv is not a valid climate file"), "{refused}");
    let calendar = hut.at(NOW, "calendar hut.ics");
    assert!(calendar.status == Some(0) && calendar.err.contains("gone.csv"), "{calendar}");
    hut.settings("[weather]\nclimate = \"years.csv\"\n");
    let refused = hut.at(NOW, "plan");
    assert!(refused.err.contains("line 2, column 11: weather.climate"), "{refused}");
}

#[test]
fn the_shop_s_own_earlier_years_are_its_climate() {
    let hut = hut();
    let fortnight = plan(&hut, "");
    hut.write("past.csv", log("2023-03-01", 3 * 365, weather as Air, 55, ""));
    hut.at(NOW, "import past.csv").well();
    let climate = plan(&hut, "");
    assert!(service(&climate) > service(&fortnight) + TimeDelta::days(2), "{climate}");
    let basis = &climate["beyond"][0];
    assert_eq!((&basis["air"], &basis["years_most"]), (&"earlier_years".into(), &3.into()), "{basis}");
    let told = hut.at(NOW, "plan").well().out;
    assert!(told.contains("in the shop the shop's record of 3 earlier years\n"), "{told}");
    // What was taken back speaks no more.
    hut.at(NOW, "undo").well();
    assert_eq!(plan(&hut, ""), fortnight);
    // And who plans with one temperature plans with that alone.
    hut.at(NOW, "import past.csv").well();
    assert_eq!(plan(&hut, "--temperature 21C")["beyond"][0]["air"], "held");
}

#[test]
fn an_invalid_climate_is_reported_with_its_line() {
    let hut = hut();
    let mut story = Story::of(&hut);
    let year = log("2019-01-01", 365, weather as Air, 55, "");
    let mut lines: Vec<&str> = year.lines().collect();
    (lines[41], lines[77]) = ("2019-01-02T16:00:00Z,warm,55", "2019-01-04T04:00:00Z,,55");
    hut.write("years.csv", lines.join("\n"));
    let told = hut.at(NOW, "plan --climate years.csv").well().out;
    let left_out = "assumed: years.csv: 2 rows are ignored; the first, line 42: \"warm\"";
    assert!(told.contains(left_out), "{told}");
    hut.write("wrong.csv", "time,temperature\n2019-01-01T00:00:00Z,warm\n");
    hut.write("empty.csv", "");
    hut.write("words.csv", "how,cold\nvery,12\n");
    hut.write("either.csv", "time,temperature\n01/02/2019 10:00,12\n");
    hut.write("day.csv", log("2019-01-01", 3, weather as Air, 55, ""));
    for file in ["wrong.csv", "empty.csv", "words.csv", "either.csv", "gone.csv", "."] {
        let ran = hut.at(NOW, &format!("plan --climate {file}"));
        assert_eq!((ran.status, ran.out.as_str()), (Some(2), ""), "{ran}");
        story.add(&ran);
    }
    story.ends("climates_that_cannot_be_read");
    let assumed = |file: &str| plan(&hut, &format!("--climate {file}"))["assumed"].to_string();
    assert!(assumed("day.csv").contains("day.csv is too short for a season"));
    hut.write("attic.csv", log("2019-01-01", 365, weather as Air, 55, "attic"));
    assert!(
        assumed("attic.csv").contains("attic.csv names other places (attic); it is not used for the shop")
    );
    hut.write("outside.csv", log("2019-01-01", 365, weather as Air, 55, "outside"));
    assert!(assumed("outside.csv").contains("holds outdoor air; how the shop follows it is unknown"));
}

#[test]
fn a_climate_of_the_outdoors_is_taken_through_the_shop() {
    let hut = Hut::new();
    hut.write("door.toml", DOOR);
    hut.at(NOW, "scheme door.toml").well();
    // A shop that ends up 9 K warmer than outside, and follows with 12 h, stepped by the minute.
    let outside = |at: DateTime<Utc>| weather(at) - 9.0;
    let begin: DateTime<Utc> = "2026-11-11T00:00:00Z".parse().unwrap();
    let (mut shop, mut text) = (outside(begin) + 9.0, "time,temperature,humidity\n".to_owned());
    for minute in 0..(14 * 24 + 11) * 60 {
        let at = begin + TimeDelta::minutes(minute);
        if minute % 60 == 0 {
            text += &format!("{},{shop:.2},50\n", at.format("%Y-%m-%dT%H:%M:%SZ"));
        }
        shop += (outside(at) + 9.0 - shop) / (12.0 * 60.0);
    }
    hut.write("shop.csv", text);
    hut.write("forecast.csv", log("2026-11-11", 16, outside, 70, ""));
    hut.at(NOW, "import shop.csv").well();
    hut.at(NOW, "forecast forecast.csv").well();
    hut.write("outdoors.csv", log("2019-01-01", 365, outside, 70, "Outdoors"));
    let told = hut.at(NOW, "plan --climate outdoors.csv").well().out;
    assert!(
        told.contains("in the shop the outdoor season from the file outdoors.csv, as the shop follows it"),
        "{told}"
    );
    // As warm as a year that was read in the shop itself; the outdoors as it is would be far too cold to coat.
    hut.write("shop-year.csv", log("2019-01-01", 365, weather as Air, 50, ""));
    hut.write("cold.csv", log("2019-01-01", 365, outside, 70, "shop"));
    let (through, own) = (plan(&hut, "--climate outdoors.csv"), plan(&hut, "--climate shop-year.csv"));
    assert_eq!(through["beyond"][0]["outdoors"], true);
    let apart = service(&through) - service(&own);
    assert!(apart.abs() < TimeDelta::days(1), "{through}\n{own}");
    let cold = hut.at(NOW, "plan --climate cold.csv");
    assert!(cold.status == Some(1) || cold.out.contains(" Jan ") || cold.out.contains(" Feb "), "{cold}");
}

#[test]
fn a_climate_that_is_often_too_damp_puts_the_draws_off() {
    let hut = Hut::new();
    hut.write("door.toml", DOOR);
    // The varnish bears 80 %: the mean is below that, and many an evening above.
    let damp = |mean: f64, swing: f64| {
        let from: DateTime<Utc> = "2019-01-01T00:00:00Z".parse().unwrap();
        let rows = (0..365 * 24).map(|hour| {
            let at = from + TimeDelta::hours(hour);
            let damp = mean + swing * (at.timestamp() as f64 / 86_400.0 * 0.9).sin();
            format!("{},{:.2},{damp:.0}\n", at.format("%Y-%m-%dT%H:%M:%SZ"), season(at) + 4.0)
        });
        format!("time,temperature,humidity\n{}", rows.collect::<String>())
    };
    hut.write("dry.csv", damp(50.0, 14.0));
    hut.write("damp.csv", damp(72.0, 14.0));
    let ends = |file: &str| {
        let asked = format!("door.toml --temperature 14C --climate {file} --draws 60");
        let plan = plan(&hut, &asked);
        (service(&plan), plan["draws"]["service_90"].as_str().unwrap().parse::<DateTime<Utc>>().unwrap())
    };
    let ((plan_dry, dry), (plan_damp, damp)) = (ends("dry.csv"), ends("damp.csv"));
    // What is expected is dry enough; what may come is not.
    assert!(plan_damp - plan_dry < TimeDelta::days(1), "{plan_dry} {plan_damp}");
    assert!(damp > dry + TimeDelta::days(2), "{dry} {damp}");
}

#[test]
fn a_file_in_the_times_of_the_wall_clock_is_the_same_climate() {
    let hut = hut();
    let every_three_hours = |shown: &dyn Fn(DateTime<Utc>) -> String| {
        let from: DateTime<Utc> = "2019-01-01T02:00:00Z".parse().unwrap();
        let rows = (0..365 * 8).map(|step| {
            let at = from + TimeDelta::hours(step * 3);
            format!("{},{:.2},55\n", shown(at), weather(at))
        });
        format!("time,temperature,humidity\n{}", rows.collect::<String>())
    };
    let zulu = every_three_hours(&|at| at.format("%Y-%m-%dT%H:%M:%SZ").to_string());
    let wall = |at: DateTime<Utc>| at.with_timezone(&chrono_tz::Europe::Berlin);
    let wall = every_three_hours(&|at| wall(at).format("%Y-%m-%d %H:%M").to_string());
    assert_ne!(zulu, wall);
    hut.write("years.csv", zulu);
    let expected = plan(&hut, "--climate years.csv");
    hut.write("years.csv", wall);
    // The night that the clocks go back has a row at 03:00, which the clock shows once.
    assert_eq!(plan(&hut, "--climate years.csv"), expected);
}

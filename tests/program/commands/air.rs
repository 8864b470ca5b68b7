//! `air`, `check`, `status` and the alerts over two nights of the demo's hut: the real program, one job.

use serde_json::Value;

use crate::common::Hut;

const SCHEME: &str = include_str!("../../../demo/scheme.toml");
const READINGS: &str = include_str!("../../../demo/readings.csv");
const FORECAST: &str = include_str!("../../../demo/forecast.csv");

/// The hut of the demo, with a floor that was oiled and a roof that is bare.
fn hut() -> Hut {
    let hut = Hut::new();
    hut.write("hut.toml", SCHEME);
    hut.write("log.csv", READINGS);
    hut.write("week.csv", FORECAST);
    hut.at("2026-04-25 08:00", "scheme hut.toml").well();
    hut.run("import log.csv").well();
    hut.at("2026-05-02 17:00", "forecast week.csv").well();
    hut.at("2026-05-01 07:30", "coat floor").well();
    hut.at("2026-05-01 07:55", "done floor").well();
    hut
}

/// An answer for machines, whatever its exit status says.
fn told(hut: &Hut, moment: &str, line: &str) -> (Value, bool) {
    let ran = hut.at(moment, line);
    assert!(matches!(ran.status, Some(0 | 1)), "{ran}");
    (serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{error}: {ran}")), ran.status == Some(0))
}

#[test]
fn air_says_of_recorded_figures_what_the_check_and_the_board_say() {
    let hut = hut();
    for (moment, goes) in [
        ("2026-05-02 17:10", true),
        ("2026-05-03 01:00", false),
        ("2026-05-03 06:30", false),
        // Bare wood that warms.
        ("2026-05-03 10:10", false),
        ("2026-05-03 16:00", true),
        ("2026-05-04 03:00", true),
    ] {
        let (air, fit) = told(&hut, moment, "air --json");
        let status = hut.at(moment, "status --json").json();
        for key in ["temperature_c", "relative_humidity", "dew_point_c", "surface_c", "dew_margin_k"] {
            assert_eq!(air[key], status["air"][key], "{moment}: {key}");
        }
        let board = hut.at(moment, "status").well().out;
        let says: Vec<&str> = air["says"].as_array().unwrap().iter().map(|s| s.as_str().unwrap()).collect();
        assert!(says.iter().all(|says| board.contains(says)), "{moment}: {says:?}\n{board}");
        assert_eq!((air["verdict"] == "go", fit), (goes, goes), "{moment}: {air}");
        let area =
            ["floor", "roof"].into_iter().find(|area| says.last().unwrap().to_lowercase().starts_with(area));
        let area = area.unwrap_or_else(|| panic!("{says:?}"));
        let (check, _) = told(&hut, moment, &format!("check {area} --json"));
        assert_eq!(check["verdict"] == "go", goes, "{moment}: {check}");
    }
}

#[test]
fn a_check_of_another_product_judges_the_film_by_that_product() {
    let hut = hut();
    hut.at("2026-05-02 12:00", "coat roof").well();
    hut.at("2026-05-02 12:26", "done roof").well();
    let (sealer, _) = told(&hut, "2026-05-02 14:00", "check roof epoxy-sealer --json");
    let (oil, _) = told(&hut, "2026-05-02 14:00", "check roof oil-penetrating --json");
    let film = |check: &Value| check["reasons"][0].clone();
    assert_eq!(film(&sealer)["code"], "film_wet", "epoxy goes on wet epoxy");
    let waits = film(&oil)["text"].to_string();
    assert!(waits.contains("full cure"), "oil waits until the epoxy is through: {waits}");
}

#[test]
fn figures_that_are_given_are_judged_by_themselves() {
    let hut = hut();
    let (dry, fit) = told(&hut, "2026-05-03 03:00", "air --temperature 18 --humidity 50 --json");
    assert_eq!((&dry["verdict"], fit), (&"go".into(), true), "{dry}");
    assert_eq!(dry["says"], Value::Array(Vec::new()), "nothing is said of the hut: {dry}");
    let (damp, fit) = told(&hut, "2026-05-03 10:10", "air --temperature 18 --humidity 95 --json");
    assert_eq!((&damp["verdict"], fit), (&"no".into(), false), "{damp}");
}

#[test]
fn what_the_check_warned_of_is_raised_where_the_coat_went_on_all_the_same() {
    let hut = hut();
    let (check, _) = told(&hut, "2026-05-02 23:30", "check floor --json");
    assert!(
        check["reasons"].as_array().unwrap().iter().any(|reason| reason["code"] == "dew_margin"),
        "{check}"
    );
    hut.at("2026-05-02 23:30", "coat floor --done").well();
    hut.at("2026-05-02 23:31", "watch --once --no-desktop");
    let alerts = hut.at("2026-05-02 23:31", "status --json").json()["alerts"].clone();
    let kinds: Vec<&str> = alerts.as_array().unwrap().iter().map(|a| a["kind"].as_str().unwrap()).collect();
    assert!(kinds.contains(&"dew"), "{alerts}");
    let board = hut.at("2026-05-02 23:31", "status").well().out;
    assert!(board.contains("Floor, still wet: dew from "), "{board}");
}

//! The JSON output: the keys and the types are a contract.

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

use crate::common::Hut;

/// The keys of an object, sorted.
#[track_caller]
fn keys(value: &Value) -> Vec<&str> {
    let mut keys: Vec<&str> = value.as_object().expect("an object").keys().map(String::as_str).collect();
    keys.sort_unstable();
    keys
}

/// A moment, which has to be UTC, RFC 3339, in whole seconds.
#[track_caller]
fn moment(value: &Value) -> DateTime<Utc> {
    let text = value.as_str().unwrap_or_else(|| panic!("no moment: {value}"));
    assert!(text.len() == 20 && text.ends_with('Z'), "not UTC in whole seconds: {text}");
    text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
}

#[track_caller]
fn moment_or_null(value: &Value) -> Option<DateTime<Utc>> {
    (!value.is_null()).then(|| moment(value))
}

#[track_caller]
fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

#[track_caller]
fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap_or_else(|| panic!("no list: {value}"))
}

/// Whether what is said of a stage holds together.
#[track_caller]
fn check_stage(name: &str, stage: &Value) {
    assert_eq!(keys(stage), ["assumed", "at", "earliest", "extrapolated", "latest", "progress"]);
    let progress = number(&stage["progress"]);
    assert!((0.0..=1.0).contains(&progress), "{name}: {stage}");
    assert!(stage["assumed"].is_boolean() && stage["extrapolated"].is_boolean(), "{name}: {stage}");
    let [earliest, at, latest] = ["earliest", "at", "latest"].map(|key| moment_or_null(&stage[key]));
    // What is never reached in the warmer case is not reached in the cooler one either.
    for (before, after) in [(earliest, at), (at, latest)] {
        match (before, after) {
            (Some(before), Some(after)) => assert!(before <= after, "{name}: {stage}"),
            (None, Some(_)) => panic!("{name}: {stage}"),
            _ => {}
        }
    }
}

const STAGES: [&str; 7] =
    ["recoat_open", "recoat_close", "tack_free", "tape_by", "sandable", "handle", "full_cure"];

#[track_caller]
fn check_coat(coat: &Value) {
    let known = [
        "area",
        "first_stroke",
        "id",
        "last_call",
        "last_stroke",
        "layer",
        "next",
        "phase",
        "prepared",
        "product",
        "stages",
    ];
    let at_times = ["film", "wet_on_wet"];
    let always: Vec<&str> = keys(coat).into_iter().filter(|key| !at_times.contains(key)).collect();
    assert_eq!(always, known);
    coat.get("film").into_iter().for_each(check_film);
    if let Some(wet) = coat.get("wet_on_wet") {
        assert_eq!(keys(wet), ["coats", "left", "most"]);
        assert!(keys(wet).iter().all(|key| wet[key].is_u64()), "{wet}");
    }
    assert!(coat["id"].is_i64() && coat["layer"].is_i64(), "{coat}");
    assert!(coat["area"].is_string() && coat["product"].is_string(), "{coat}");
    assert!(coat["next"].is_string() || coat["next"].is_null(), "{coat}");
    assert!(coat["prepared"].is_boolean(), "{coat}");
    let first = moment(&coat["first_stroke"]);
    assert!(moment_or_null(&coat["last_stroke"]).is_none_or(|last| first <= last), "{coat}");
    let phase = coat["phase"].as_str().unwrap();
    assert!(["wet", "open", "shut", "sandable", "cured"].contains(&phase), "{coat}");
    for (name, stage) in coat["stages"].as_object().unwrap() {
        assert!(STAGES.contains(&name.as_str()), "{name}");
        check_stage(name, stage);
    }
    let close = moment_or_null(&coat["stages"]["recoat_close"]["earliest"]);
    assert_eq!(moment_or_null(&coat["last_call"]).is_some(), close.is_some(), "{coat}");
    assert!(moment_or_null(&coat["last_call"]) <= close, "{coat}");
}

#[track_caller]
fn check_film(film: &Value) {
    let known = [
        "area_asked_dry_um",
        "area_dry_um",
        "asked_wet_um",
        "coats_not_measured",
        "dry_um",
        "thick_spots",
        "thin_spots",
        "wet_mean_um",
        "wet_um",
    ];
    assert_eq!(keys(film), known);
    for key in ["coats_not_measured", "thick_spots", "thin_spots", "wet_um"] {
        assert!(list(&film[key]).iter().all(Value::is_number), "{film}");
    }
    for key in ["area_dry_um", "dry_um", "wet_mean_um"] {
        assert!(film[key].is_number() || film[key].is_null(), "{film}");
    }
}

#[track_caller]
fn check_alert(alert: &Value) {
    assert_eq!(keys(alert), ["acknowledged", "area", "due", "id", "kind", "raised", "text"]);
    assert!(alert["id"].is_i64() && alert["kind"].is_string() && alert["text"].is_string(), "{alert}");
    assert!(alert["area"].is_string() || alert["area"].is_null(), "{alert}");
    moment(&alert["due"]);
    moment(&alert["raised"]);
    moment_or_null(&alert["acknowledged"]);
}

/// Checks every key of a status, and gives it back.
#[track_caller]
fn check_status(status: Value) -> Value {
    assert_eq!(keys(&status), ["air", "alerts", "at", "batches", "coats"]);
    moment(&status["at"]);
    list(&status["batches"]);
    list(&status["coats"]).iter().for_each(check_coat);
    list(&status["alerts"]).iter().for_each(check_alert);
    let air = &status["air"];
    assert!(air["place"].is_string(), "{air}");
    moment_or_null(&air["reading_at"]);
    assert!(list(&air["assumed"]).iter().all(Value::is_string), "{air}");
    for key in ["temperature_c", "relative_humidity", "surface_c"] {
        assert!(air.get(key).is_none_or(Value::is_number), "{key}: {air}");
    }
    status
}

fn status(hut: &Hut, moment: &str) -> Value {
    check_status(hut.at(moment, "status --json").well().json())
}

fn coat<'s>(status: &'s Value, area: &str) -> &'s Value {
    list(&status["coats"]).iter().find(|coat| coat["area"] == area).unwrap()
}

/// A shop that was read all day, with every kind of cure in it.
fn a_busy_shop() -> Hut {
    let hut = Hut::new().with_varnish();
    let mut log = String::from("time,temperature,humidity,surface\n");
    for hour in 0..60 {
        let warmth = 15.0 + 9.0 * (f64::from(hour) * std::f64::consts::PI / 12.0).sin();
        let (day, hour) = (hour / 24 + 1, hour % 24);
        log += &format!("2026-05-{day:02} {hour:02}:00,{warmth:.1},60,{:.1}\n", warmth - 0.5);
    }
    hut.write("log.csv", log);
    hut.run("import log.csv").well();
    for (area, product) in [
        ("roof", "epoxy-sealer"),
        ("door", "hut-varnish"),
        ("floor", "oil-penetrating"),
        ("frame", "paint-water"),
        ("seam", "adhesive-hybrid"),
        ("axle", "primer-alkyd"),
    ] {
        hut.at("2026-05-01 09:00", &format!("coat {area} {product}")).well();
        hut.at("2026-05-01 09:20", &format!("done {area}")).well();
    }
    hut
}

#[test]
fn the_status_has_the_keys_and_types_of_the_contract_at_every_moment() {
    let hut = a_busy_shop();
    hut.at("2026-05-02 08:00", "watch --once --no-desktop").well();
    let mut phases = Vec::new();
    for moment in ["01 08:59", "01 09:10", "01 13:00", "01 15:00", "02 03:00", "03 12:00", "20 12:00"] {
        let status = status(&hut, &format!("2026-05-{moment}"));
        for coat in list(&status["coats"]) {
            phases.push(coat["phase"].as_str().unwrap().to_owned());
        }
    }
    for phase in ["wet", "open", "shut", "sandable", "cured"] {
        assert!(phases.iter().any(|seen| seen == phase), "no coat was {phase}");
    }
    assert!(!list(&status(&hut, "2026-05-02 08:00")["alerts"]).is_empty());
}

#[test]
fn the_moments_are_those_of_the_data_sheet() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 55 --surface 18.5").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
    hut.at("2026-05-01 08:30", "done door").well();
    let status = status(&hut, "2026-05-01 09:30");
    assert_eq!(status["at"], "2026-05-01T07:30:00Z");
    let door = coat(&status, "door");
    assert_eq!(door["first_stroke"], "2026-05-01T06:00:00Z");
    assert_eq!(door["last_stroke"], "2026-05-01T06:30:00Z");
    assert_eq!((&door["phase"], &door["next"]), (&"wet".into(), &"hut-varnish".into()));
    assert_eq!((&door["layer"], &door["prepared"]), (&1.into(), &false.into()));
    // A minimum time runs from the last stroke, a maximum time from the first.
    for (stage, moment, progress) in [
        ("tack_free", "2026-05-01T07:30:00Z", 1.0),
        ("tape_by", "2026-05-01T07:30:00Z", 1.0),
        ("recoat_open", "2026-05-01T08:30:00Z", 0.5),
        ("recoat_close", "2026-05-01T11:00:00Z", 0.3),
        ("sandable", "2026-05-01T14:30:00Z", 0.125),
        ("full_cure", "2026-05-04T06:30:00Z", 1.0 / 72.0),
    ] {
        let calculated = &door["stages"][stage];
        for key in ["earliest", "at", "latest"] {
            assert_eq!(calculated[key], moment, "{stage}, {key}");
        }
        assert!((number(&calculated["progress"]) - progress).abs() < 1e-6, "{stage}: {calculated}");
    }
    // Half an hour was taken for the door, and the lead is a quarter of one.
    assert_eq!(door["last_call"], "2026-05-01T10:15:00Z");
    let keys = keys(&door["stages"]);
    assert_eq!(keys, ["full_cure", "recoat_close", "recoat_open", "sandable", "tack_free", "tape_by"]);
}

#[test]
fn the_air_is_given_as_it_was_read_and_what_is_old_is_called_assumed() {
    let hut = Hut::new().with_varnish();
    let unread = status(&hut, "2026-05-01 08:00");
    assert_eq!(unread["air"]["reading_at"], Value::Null);
    assert_eq!(unread["air"].get("temperature_c"), None);
    hut.at("2026-05-01 08:00", "reading 17.8 --humidity 62 --surface 17.1").well();
    let fresh = status(&hut, "2026-05-01 08:12");
    let air = &fresh["air"];
    assert_eq!((&air["place"], &air["reading_at"]), (&"shop".into(), &"2026-05-01T06:00:00Z".into()));
    assert_eq!((number(&air["temperature_c"]), number(&air["relative_humidity"])), (17.8, 62.0));
    let surface = number(&air["surface_c"]);
    assert!((17.1..17.3).contains(&surface), "once measured it follows the air: {surface}");
    assert!(list(&air["assumed"]).is_empty());
    let old = status(&hut, "2026-05-01 12:00");
    assert_eq!(list(&old["air"]["assumed"]), ["temperature", "humidity", "surface"]);
    hut.at("2026-05-01 12:00", "reading 18").well();
    let half = status(&hut, "2026-05-01 12:00");
    assert_eq!(list(&half["air"]["assumed"]), ["humidity", "surface"]);
    let followed = number(&half["air"]["surface_c"]);
    assert!((17.1..18.0).contains(&followed), "a surface that is not measured follows the air: {followed}");
}

#[test]
fn a_stage_that_is_never_reached_has_no_moment() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-01-09 16:00", "reading -8").well();
    hut.at("2026-01-09 16:00", "coat door hut-varnish --done").well();
    let status = status(&hut, "2026-01-09 17:00");
    let open = &coat(&status, "door")["stages"]["recoat_open"];
    assert_eq!((&open["at"], number(&open["progress"])), (&Value::Null, 0.0));
    assert!(open.as_object().unwrap().contains_key("at"));
    assert_eq!(coat(&status, "door")["phase"], "wet");
}

#[test]
fn a_coat_that_is_being_applied_has_no_last_stroke() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
    let status = status(&hut, "2026-05-01 11:00");
    let door = coat(&status, "door");
    assert_eq!((&door["last_stroke"], &door["phase"]), (&Value::Null, &"wet".into()));
    // Not before so much after now, while the window closes by the first stroke.
    assert_eq!(door["stages"]["recoat_open"]["at"], "2026-05-01T11:00:00Z");
    assert_eq!(door["stages"]["recoat_close"]["at"], "2026-05-01T11:00:00Z");
}

#[test]
fn the_newest_coat_of_every_area_is_shown_or_all_of_them() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    hut.at("2026-05-01 09:00", "coat sill hut-varnish --done").well();
    hut.at("2026-05-01 10:30", "coat door --done").well();
    let layers = |status: &Value| -> Vec<(String, i64)> {
        let coats = list(&status["coats"]).iter();
        coats.map(|c| (c["area"].as_str().unwrap().to_owned(), c["layer"].as_i64().unwrap())).collect()
    };
    let named =
        |all: &[(&str, i64)]| all.iter().map(|(area, n)| ((*area).to_owned(), *n)).collect::<Vec<_>>();
    assert_eq!(layers(&status(&hut, "2026-05-01 11:00")), named(&[("door", 2), ("sill", 1)]));
    let all = check_status(hut.at("2026-05-01 11:00", "status --all --json").well().json());
    assert_eq!(layers(&all), named(&[("door", 1), ("door", 2), ("sill", 1)]));
    assert_eq!(layers(&status(&hut, "2026-05-01 10:00")), named(&[("door", 1), ("sill", 1)]));
}

#[test]
fn a_coat_is_prepared_once_it_is_sanded() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    assert_eq!(coat(&status(&hut, "2026-05-01 18:00"), "door")["prepared"], false);
    hut.at("2026-05-01 18:00", "step door sand").well();
    let sanded = status(&hut, "2026-05-01 18:30");
    assert_eq!(
        (&coat(&sanded, "door")["prepared"], &coat(&sanded, "door")["phase"]),
        (&true.into(), &"sandable".into())
    );
}

#[test]
fn a_warmer_shop_is_never_later() {
    let moments = |air: &str| {
        let hut = Hut::new();
        hut.at("2026-05-01 08:00", &format!("reading {air}")).well();
        hut.at("2026-05-01 08:00", "coat roof epoxy-sealer --done").well();
        let status = status(&hut, "2026-05-01 08:00");
        STAGES.map(|stage| moment(&coat(&status, "roof")["stages"][stage]["at"]))
    };
    let (cool, warm) = (moments("14"), moments("22"));
    for ((stage, cool), warm) in STAGES.iter().zip(cool).zip(warm) {
        assert!(warm + TimeDelta::minutes(10) < cool, "{stage}: {warm} when warm, {cool} when cool");
    }
}

#[test]
fn every_command_that_answers_can_answer_machines() {
    let hut = Hut::new().with_varnish();
    hut.write(
        "hut.toml",
        "name = \"Hut\"\n[[area]]\nname = \"sill\"\nsteps = [{ coat = \"hut-varnish\" }]\n",
    );
    hut.write("log.csv", "time,temperature\n2026-05-01 07:50,19\n2026-05-01 07:55,warm\n");
    let sheet = hut.write("sheet.toml", crate::common::VARNISH);
    let sheet = sheet.file_name().unwrap().to_str().unwrap();
    let answers = |line: &str, known: &[&str]| {
        let ran = hut.at("2026-05-01 08:00", &format!("--json {line}")).well();
        let answer = ran.json();
        match &answer {
            Value::Array(rows) => assert_eq!(rows.first().map(keys).unwrap_or_default(), known, "{ran}"),
            answer => assert_eq!(keys(answer), known, "{ran}"),
        }
    };
    answers("scheme hut.toml", &["cautions", "says"]);
    answers("scheme", &["areas", "name"]);
    answers("reading 20", &["cautions", "says"]);
    answers("import log.csv", &["already_there", "bad_rows", "dates", "faults", "recognised", "taken"]);
    answers("coat door hut-varnish", &["cautions", "says"]);
    answers("done door", &["cautions", "says"]);
    answers("step door sand", &["cautions", "says"]);
    answers("work start door", &["cautions", "says"]);
    answers("work", &["areas", "minutes", "no_area_minutes", "running"]);
    answers("note door dusty", &["cautions", "says"]);
    answers("undo", &["cautions", "says"]);
    answers("alerts", &[]);
    answers("alerts --ack all", &["cautions", "says"]);
    answers("film door 80um", &["cautions", "says"]);
    answers("stock epoxy-sealer 2kg", &["cautions", "says"]);
    answers("stock", &["at", "currency", "paid", "products"]);
    answers("quantity shelf epoxy-sealer --size 2m2", &["areas", "at", "products"]);
    answers("record", &["at", "corrected_by", "entry", "id", "recorded", "taken_off_by", "voided"]);
    answers("learned", &["areas", "places", "products", "windows"]);
    answers("config", &["config", "found", "job"]);
    answers("profile list", &["faults", "products"]);
    answers(&format!("profile check {sheet}"), &["faults", "file", "id", "sound", "warnings"]);
    assert_eq!(hut.run("--json profile show hut-varnish").json()["id"], "hut-varnish");
    check_status(hut.run("--json").json());
    check_status(hut.run("--json demo").json());
}

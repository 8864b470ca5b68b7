//! Batches by command: asked about, mixed, counted down, taken from, used up.

use serde_json::Value;

use crate::common::{Hut, same};

/// A shop at 20 °C since eight in the morning.
fn warm() -> Hut {
    let hut = Hut::new();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 13:00", "reading 20").well();
    hut
}

#[test]
fn a_batch_from_its_mixing_to_its_end() {
    let hut = warm();
    let mut told = String::new();
    for (at, line) in [
        ("08:10", "mix primer-two-part --mass 500g --ask"),
        ("08:10", "mix primer-two-part --mass 500g"),
        ("08:15", "status"),
        ("08:20", "coat roof primer-two-part"),
        ("08:40", "status"),
        ("09:00", "done roof"),
        ("12:25", "watch --once --no-desktop"),
        ("12:30", "status"),
        ("12:50", "coat door primer-two-part --batch 3"),
        ("12:52", "coat door primer-two-part"),
        ("13:00", "coat door primer-two-part --batch 3 --yes --done"),
        ("13:05", "emptied"),
        ("13:06", "status"),
        ("13:06", "emptied"),
    ] {
        told += &hut.at(&format!("2026-05-01 {at}"), line).to_string();
    }
    told += &hut.at("2026-05-01 13:10", "record").well().to_string();
    same("a_batch_from_its_mixing_to_its_end", &told);
}

#[test]
fn a_batch_that_would_run_away_is_mixed_only_after_a_warning() {
    let hut = warm();
    let mut told = String::new();
    for line in [
        "mix epoxy-laminating-fast --mass 1kg --ask",
        "mix epoxy-laminating-fast --mass 1kg",
        "mix epoxy-laminating-fast --mass 1kg --in tray --depth 4mm --ask",
        "mix epoxy-laminating-fast --mass 80g --ask",
        "mix epoxy-laminating-fast --mass 500g --batch-temperature 10 --ask",
        "mix epoxy-laminating-fast --mass 1kg --yes",
    ] {
        told += &hut.at("2026-05-01 13:00", line).to_string();
    }
    same("a_batch_that_would_run_away", &told);
    let asked = hut.at("2026-05-01 13:00", "mix epoxy-laminating-fast --mass 1kg --ask --json");
    assert_eq!(asked.status, Some(1));
    let json: Value = serde_json::from_str(&asked.out).unwrap();
    assert_eq!(json["dangerous"], true);
    assert!(json["id"].is_null());
    assert_eq!(json["runs_away"], true);
    assert!(json["left_c"].as_f64() > json["peak_c"].as_f64());
    for key in ["cup_mass_g", "tray_depth_mm", "batch_temperature_c"] {
        assert!(json["safe"][key].as_f64().is_some_and(|value| value > 0.0), "{key}: {json}");
    }
}

#[test]
fn machines_read_the_parts_exact_and_as_the_scale_shows_them() {
    let hut = warm();
    hut.settings("[amounts]\nscale = \"5g\"\n");
    let ask = |mass: &str| {
        let line = format!("mix epoxy-laminating-fast --mass {mass} --ask");
        let json = hut.at("2026-05-01 13:00", &format!("{line} --json")).out;
        (serde_json::from_str::<Value>(&json).unwrap(), hut.at("2026-05-01 13:00", &line).out)
    };
    // 100 to 43 of 100 g are 69.93 and 30.07 g.
    let (json, says) = ask("100g");
    let of = |key: &str| {
        json["parts"].as_array().unwrap().iter().map(|part| part[key].clone()).collect::<Vec<_>>()
    };
    assert_eq!(of("mass_g"), [69.93, 30.07]);
    assert_eq!(of("weighed_g"), [70.0, 30.0]);
    assert_eq!((&json["weighed_mass_g"], &json["ratio_off_percent"]), (&100.0.into(), &0.332.into()));
    assert!(says.contains("Weigh out resin 70 g and hardener 30 g"), "{says}");
    let (json, says) = ask("52g");
    assert_eq!((&json["mass_g"], &json["weighed_mass_g"]), (&52.0.into(), &55.0.into()));
    assert!(json["ratio_off_percent"].as_f64().unwrap() > 2.0, "{json}");
    assert!(says.contains("The scale is too coarse for such a small amount"), "{says}");
    assert!(says.contains("The next larger batch that it weighs accurately is"), "{says}");
}

#[test]
fn implausible_amounts_are_questioned_or_refused() {
    let hut = warm();
    let told: String = [
        "mix epoxy-sealer --mass 0",
        "mix epoxy-sealer --mass -5g",
        "mix epoxy-sealer --mass 5",
        "mix epoxy-sealer --mass 300kg",
        "mix epoxy-sealer --mass 12kg",
        "mix epoxy-sealer --mass NaN",
        "mix epoxy-sealer --mass 300ml",
        "mix epoxy-sealer --mass 300g --in tray",
        "mix epoxy-sealer --mass 300g --depth 10mm",
        "mix epoxy-sealer --mass 300g --in tray --depth 0",
        "mix epoxy-sealer --mass 300g --in tray --depth 0.0001mm",
        "mix epoxy-sealer --mass 300g --in tray --depth 1m",
        "mix epoxy-sealer --mass 300g --in tray --depth 100cm",
        "mix epoxy-sealer --mass 300g --batch-temperature 99",
        "mix varnish-alkyd --mass 300g",
        "mix epoxy-seeler --mass 300g",
        "mix epoxy-sealer --mass 300g --ask --yes",
        "emptied",
        "emptied 99",
        "coat roof epoxy-sealer --batch 99",
        "coat roof varnish-alkyd --batch 99",
    ]
    .iter()
    .map(|line| hut.refused(2, line).to_string())
    .collect();
    same("amounts_that_nobody_mixes", &told);
    assert!(hut.run("record").well().out.lines().count() == 2, "nothing is recorded");
    let record = hut.at("2026-05-01 13:00", "mix epoxy-sealer --mass 12kg --yes").well();
    assert!(record.out.contains("Not known to be safe"), "{record}");
}

#[test]
fn batches_that_do_not_fit_a_coat_are_refused() {
    let hut = warm();
    hut.at("2026-05-01 13:00", "mix epoxy-sealer --mass 300g").well();
    hut.at("2026-05-01 13:00", "mix primer-two-part --mass 500g").well();
    hut.at("2026-05-01 13:10", "mix epoxy-sealer --mass 200g").well();
    let mut told = String::new();
    for (at, line) in [
        ("13:05", "coat roof epoxy-sealer --batch 4"),
        ("12:55", "coat roof epoxy-sealer --batch 3"),
        ("13:05", "coat roof varnish-alkyd --batch 3"),
        ("13:20", "coat roof epoxy-sealer --done"),
        ("13:25", "coat floor epoxy-sealer --batch 5 --done"),
        ("13:30", "undo 5"),
        ("13:31", "coat door epoxy-sealer --batch 5"),
        ("13:32", "emptied 3"),
        ("13:33", "coat door epoxy-sealer --batch 3"),
        ("13:34", "emptied 3"),
        ("13:35", "coat door epoxy-sealer --done"),
        ("13:36", "undo 3"),
    ] {
        told += &hut.at(&format!("2026-05-01 {at}"), line).to_string();
    }
    same("batches_that_do_not_fit", &told);
}

#[test]
fn in_ounces_and_fahrenheit() {
    let hut = warm();
    hut.settings("[units]\ntemperature = \"F\"\nmass = \"oz\"\n");
    let mut told = String::new();
    for line in [
        "mix epoxy-sealer --mass 10",
        "mix epoxy-laminating-fast --mass 2lb --batch-temperature 80",
        "mix epoxy-sealer --mass 0.3",
        "mix epoxy-sealer --mass 400lb",
        "status",
    ] {
        told += &hut.at("2026-05-01 13:00", line).to_string();
    }
    same("batches_in_ounces", &told);
}

#[test]
fn where_no_temperature_is_known_nothing_is_promised() {
    let hut = Hut::new();
    let asked = hut.at("2026-05-01 13:00", "mix epoxy-sealer --mass 300g --ask");
    assert_eq!(asked.status, Some(1), "no green light: {asked}");
    let mixed = hut.at("2026-05-01 13:00", "mix epoxy-sealer --mass 300g").well();
    assert!(
        mixed.out.contains("the temperature here is unknown")
            || mixed.out.contains("The temperature here is unknown"),
        "{mixed}"
    );
    let json = hut.at("2026-05-01 13:05", "status --json").well().json();
    assert!(json["batches"][0]["usable_until"]["at"].is_null() && json["batches"][0]["peak_c"].is_null());
    assert!(json["batches"][0]["dangerous"].is_null(), "nothing is promised");
    // The reading that was forgotten.
    hut.at("2026-05-01 12:55", "reading 20").well();
    let json = hut.at("2026-05-01 13:05", "status --json").well().json();
    assert_eq!(json["batches"][0]["dangerous"], false);
}

#[test]
fn machines_read_the_keys_of_a_batch() {
    let hut = warm();
    hut.at("2026-05-01 13:00", "mix epoxy-sealer --mass 300g").well();
    let json = hut.at("2026-05-01 13:30", "status --json").well().json();
    let batch = &json["batches"][0];
    let mut keys: Vec<&String> = batch.as_object().unwrap().keys().collect();
    keys.sort();
    assert_eq!(keys, ["dangerous", "id", "mass_g", "mixed_at", "peak_c", "product", "usable_until"]);
    assert_eq!((batch["id"].as_i64(), batch["mass_g"].as_f64()), (Some(3), Some(300.0)));
    assert_eq!(batch["mixed_at"], "2026-05-01T11:00:00Z");
    let moment = |key: &str| -> chrono::DateTime<chrono::Utc> {
        batch["usable_until"][key].as_str().unwrap().parse().unwrap()
    };
    assert!(moment("earliest") < moment("at") && moment("at") < moment("latest"));
    let asked = hut.at("2026-05-01 13:30", "mix epoxy-sealer --mass 300g --json").well().json();
    assert_eq!(asked["id"], 4);
    assert!(asked["says"].is_string() && asked["cautions"].is_array() && asked["safe"].is_null());
}

#[test]
fn an_emptied_batch_is_shown_with_all_coats_only() {
    let hut = warm();
    hut.at("2026-05-01 13:00", "mix epoxy-sealer --mass 300g").well();
    hut.at("2026-05-01 13:30", "emptied 3").well();
    let count = |line: &str| {
        let json: Value = hut.at("2026-05-01 13:40", line).well().json();
        json["batches"].as_array().unwrap().len()
    };
    assert_eq!((count("status --json"), count("status --json --all")), (0, 1));
}

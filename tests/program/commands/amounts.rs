//! How much, how thick, what is left: told in the person's units, and refused where it cannot be.

use serde_json::Value;

use crate::common::{Hut, Story, same};

/// Three areas of a hut, one of which nobody has measured out.
const HUT: &str = r#"
name = "Shepherd's hut"

[[area]]
name = "roof"
square_metres = 6.5
minutes_per_square_metre = 4
steps = [
  { coat = "epoxy-sealer" }, { coat = "epoxy-sealer", wet_on_wet = "prefer" },
  { sand = "120" },
  { coat = "paint-two-part" },
]

[[area]]
name = "door, outside"
square_metres = 2.2
steps = [{ coat = "varnish-two-part" }, { coat = "varnish-two-part" }, { coat = "varnish-two-part" }]

[[area]]
name = "floor"
square_metres = 7.8
steps = [{ coat = "oil-penetrating" }]

[[area]]
name = "steps"
steps = [{ coat = "oil-penetrating" }]
"#;

fn hut() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write("hut.toml", HUT);
    hut.at("2026-05-02 08:00", "reading 17 --humidity 55").well();
    hut.at("2026-05-02 08:00", "scheme hut.toml").well();
    hut
}

#[test]
fn a_person_weighs_out_lays_a_film_and_looks_into_the_tin() {
    let hut = hut();
    hut.settings("[amounts]\ncurrency = \"EUR\"\n");
    let mut story = Story::of(&hut);
    story.tell("How much of everything, and what is to be bought?");
    story.at("2026-05-02 08:05", "quantity");
    story.tell("It is bought.");
    story.at("2026-05-02 08:30", "stock epoxy-sealer 2kg --price 49.80 --lot S-118");
    story.at("2026-05-02 08:30", "stock paint-two-part 1L --price 38.5");
    story.at("2026-05-02 08:30", "stock oil-penetrating 0,75L --price 19");
    story.tell("The roof comes first. What is weighed out for it?");
    story.at("2026-05-02 08:40", "quantity roof");
    story.at("2026-05-02 09:00", "coat roof");
    story.at("2026-05-02 09:05", "film roof 60um 80um 40um");
    story.at("2026-05-02 09:32", "done roof");
    story.tell("The floor takes oil; its pace now tells how long the second coat of the roof takes.");
    story.at("2026-05-02 10:00", "coat floor");
    story.at("2026-05-02 10:20", "done floor");
    story.at("2026-05-02 10:30", "quantity roof paint-two-part");
    story.at("2026-05-02 10:30", "quantity \"door, outside\"");
    story.tell("At noon.");
    story.at("2026-05-02 12:00", "status");
    story.at("2026-05-02 12:00", "stock");
    story.ends("amounts_at_the_hut");
}

#[test]
fn in_ounces_and_quarts_and_square_feet() {
    let hut = hut();
    hut.settings("[units]\nmass = \"oz\"\nvolume = \"qt\"\narea = \"ft2\"\ntemperature = \"F\"\n");
    let mut story = Story::of(&hut);
    story.at("2026-05-02 08:05", "quantity roof epoxy-sealer");
    story.at("2026-05-02 08:05", "quantity roof paint-two-part --film 3 --thin 10 --temperature 86F");
    story.at("2026-05-02 08:05", "quantity floor");
    story.at("2026-05-02 08:10", "stock oil-penetrating 1qt");
    story.at("2026-05-02 08:10", "coat floor");
    story.at("2026-05-02 08:12", "film floor 1 1.5 3.1mil");
    story.at("2026-05-02 08:40", "done floor");
    story.at("2026-05-02 08:40", "stock");
    story.ends("amounts_in_ounces");
}

#[test]
fn what_cannot_be_an_amount_is_refused_with_what_to_type() {
    let hut = hut();
    hut.at("2026-05-02 08:00", "coat roof --done").well();
    let lines = [
        "quantity rof",
        "quantity roof varnish-tow-part",
        "quantity roof hut-varnish",
        "quantity steps",
        "quantity shelf varnish-alkyd",
        "quantity shelf --size 2m2",
        "quantity shelf varnish-alkyd --size 0",
        "quantity shelf varnish-alkyd --size -2",
        "quantity roof --film 0",
        "quantity roof --film thick",
        "quantity roof --loss 95",
        "quantity roof --loss -5",
        "quantity roof --thin much",
        "quantity roof --temperature 200",
        "stock epoxy-sealer",
        "stock epoxy-sealr 2kg",
        "stock epoxy-sealer 2",
        "stock epoxy-sealer 0kg",
        "stock epoxy-sealer -2kg",
        "stock epoxy-sealer NaN",
        "stock epoxy-sealer 2g",
        "stock epoxy-sealer 2000kg",
        "stock epoxy-sealer 2000L",
        "stock varnish-water 1g",
        "stock epoxy-sealer 2kg --price -1",
        "stock epoxy-sealer 2kg --price free",
        "stock epoxy-sealer 2kg --price 1e9",
        "film roof",
        "film roof 0",
        "film roof -5",
        "film roof 80mm",
        "film roof 80um 3",
        "film roof 75000",
        "film roof 800um",
        "film roof 80 75 8um",
        "film rof 80",
        "film floor 80",
    ];
    let at = ["--at", "2026-05-02 09:00"];
    let told: String = lines
        .iter()
        .map(|line| {
            let mut words: Vec<String> = at.map(str::to_owned).to_vec();
            words.extend(crate::common::words(line));
            hut.refused_words(2, &words).to_string()
        })
        .collect();
    same("amounts_that_are_none", &told);
}

#[test]
fn what_is_asked_about_is_taken_once_the_person_is_sure() {
    let hut = hut();
    hut.at("2026-05-02 08:00", "coat roof --done").well();
    hut.at("2026-05-02 08:01", "film roof 3um --yes").well();
    let entries = hut.record().as_array().unwrap().len();
    let nought = hut.at("2026-05-02 08:01", "film roof 800um");
    assert_eq!(nought.status, Some(2), "{nought}");
    assert!(nought.err.contains("do you mean 80um") && nought.err.contains("--yes"), "{nought}");
    assert_eq!(hut.record().as_array().unwrap().len(), entries, "nothing is recorded");
    hut.at("2026-05-02 08:01", "film roof 250um").well();
    hut.at("2026-05-02 08:01", "stock epoxy-sealer 2g --yes").well();
    let record = hut.record();
    let last: Vec<&Value> =
        record.as_array().unwrap().iter().rev().take(2).map(|row| &row["entry"]).collect();
    assert_eq!(last[0]["amount"]["mass_g"], 2.0);
    assert_eq!(last[1]["micrometres"][0], 250.0, "a run is measured as it is");
}

#[test]
fn without_a_scheme_an_area_is_asked_about_by_its_size() {
    let hut = Hut::new();
    let none = hut.run("quantity");
    assert_eq!((none.status, none.out.as_str()), (Some(2), ""), "{none}");
    assert!(none.err.contains("curewright scheme FILE"), "{none}");
    let shelf = hut.run("quantity shelf varnish-two-part --size 3m2").well();
    assert!(shelf.out.contains("the temperature is unknown: 20.0 °C is assumed"), "{shelf}");
    assert!(shelf.out.contains("Your pace here is unknown"), "{shelf}");
    assert!(hut.run("stock").well().out.contains("Nothing is entered yet"));
}

#[test]
fn a_wet_film_in_a_tack_free_coat_is_reported() {
    let hut = hut();
    hut.at("2026-05-02 08:00", "coat roof --done").well();
    assert!(!hut.at("2026-05-02 08:05", "film roof 75").well().out.contains("tack-free"));
    let late = hut.at("2026-05-03 20:00", "film roof 75").well();
    assert!(late.out.contains("! The coat is tack-free"), "{late}");
}

#[test]
fn every_output_reports_one_coat_too_many_wet_on_wet() {
    let hut = hut();
    let varnish = |moment: &str| hut.at(moment, r#"coat "door, outside" --done"#).well();
    varnish("2026-05-02 08:00");
    let left =
        |moment: &str| hut.at(moment, "status --json").json()["coats"][0]["wet_on_wet"]["left"].clone();
    assert_eq!(left("2026-05-02 08:01"), 1);
    let second = varnish("2026-05-02 12:00");
    assert!(second.out.contains("2 coats wet on wet is the limit"), "{second}");
    assert_eq!(left("2026-05-02 12:01"), 0);
    hut.at("2026-05-02 16:00", "reading 17 --humidity 55").well();
    let check = hut.at("2026-05-02 16:05", r#"check "door, outside""#);
    assert_eq!(check.status, Some(1), "{check}");
    hut.at("2026-05-02 16:05", "watch --once --no-desktop").well();
    assert_eq!(hut.run("alerts --json").json(), Value::Array(vec![]), "nobody is called to a third coat");
    let third = varnish("2026-05-02 16:10");
    assert!(third.out.contains("! The profile allows 2 coats of varnish-two-part wet on wet"), "{third}");
    // Another product is not held back by that, though the scheme sands first.
    let other = hut.at("2026-05-02 16:05", r#"check "door, outside" paint-two-part"#);
    assert!(!other.out.contains("wet on wet"), "{other}");
}

#[test]
fn another_product_may_follow_where_no_more_of_the_same_may() {
    let hut = hut();
    for moment in ["2026-05-02 08:00", "2026-05-02 14:00", "2026-05-02 20:00"] {
        hut.at(moment, "coat shelf epoxy-sealer --done").well();
        hut.at(moment, "reading 17 --humidity 55").well();
    }
    hut.at("2026-05-03 02:00", "reading 17 --humidity 55").well();
    let sealer = hut.at("2026-05-03 02:05", "check shelf epoxy-sealer");
    assert!(sealer.out.contains("3 coats wet on wet is the limit"), "{sealer}");
    assert_eq!(sealer.status, Some(1));
    assert_eq!(hut.at("2026-05-03 02:05", "check shelf primer-two-part").status, Some(0));
}

#[test]
fn machines_read_the_same_amounts() {
    let hut = hut();
    let all = hut.at("2026-05-02 08:05", "quantity --json").json();
    let coats: Vec<&Value> =
        all["areas"].as_array().unwrap().iter().flat_map(|area| area["coats"].as_array().unwrap()).collect();
    assert_eq!(coats.len(), 7);
    let number = |value: &Value| value.as_f64().unwrap_or_else(|| panic!("no number: {value}"));
    for coat in &coats {
        let parts = coat["parts"].as_array().unwrap();
        let sum = |key: &str| parts.iter().map(|part| number(&part[key])).sum::<f64>();
        let batches: f64 = coat["batches"].as_array().unwrap().iter().map(number).sum();
        if parts.is_empty() {
            assert_eq!(batches, 0.0, "{coat}");
            continue;
        }
        assert!((sum("mass_g") - number(&coat["mass_g"])).abs() < 0.01, "{coat}");
        assert!((sum("volume_ml") - number(&coat["volume_ml"])).abs() < 0.01, "{coat}");
        let most = coat["batches"].as_array().unwrap().len() as f64;
        let more = batches - number(&coat["mass_g"]);
        assert!((0.0..=most).contains(&more), "{coat}");
    }
    for product in all["products"].as_array().unwrap() {
        let of = |coat: &&&Value| coat["product"] == product["product"];
        let sum: f64 = coats.iter().filter(of).map(|coat| number(&coat["volume_ml"])).sum();
        assert!((sum - number(&product["volume_ml"])).abs() < 0.01, "{product}");
        assert_eq!(product["to_buy"]["volume_ml"], product["volume_ml"], "nothing is in stock");
    }
    assert_eq!(all["areas"][3]["cannot"].as_array().unwrap().len(), 1);
    // Without a density the mass is left out.
    hut.own_profile(
        "light.toml",
        "schema = 1\nid = \"light\"\nname = \"Light\"\nfamily = \"alkyd\"\ncure = \"drying\"\nbasis = \"a test\"\n[application]\nair = [5, 30]\n[film]\nwet = [50, 50]\n",
    );
    let light = hut.at("2026-05-02 08:05", "quantity roof light --json").json();
    let coat = &light["areas"][0]["coats"][0];
    assert_eq!((&coat["mass_g"], &coat["dry_um"]), (&Value::Null, &Value::Null), "{coat}");
    assert!(coat["volume_ml"].is_number());
    let text = hut.at("2026-05-02 08:05", "quantity roof light").well();
    assert!(text.out.contains("First coat, light: 382 mL.\n"), "{text}");
}

#[test]
fn a_fast_epoxy_in_a_warm_shop_is_poured_out_flat_and_not_split_into_thimbles() {
    let hut = Hut::new();
    let mut story = Story::of(&hut);
    for temperature in ["17", "22", "28"] {
        let line = format!("quantity deck epoxy-laminating-fast --size 5m2 --temperature {temperature}");
        story.at("2026-05-02 08:00", &line);
    }
    story.ends("a_fast_epoxy_in_a_warm_shop");
    let coat = |temperature: &str| {
        let line =
            format!("quantity deck epoxy-laminating-fast --size 5m2 --temperature {temperature} --json");
        hut.run(&line).json()["areas"][0]["coats"][0].clone()
    };
    assert_eq!(coat("17")["way_out"], Value::Null);
    let warm = coat("22");
    let (tray, cup) = (&warm["way_out"]["tray"], warm["batches"].as_array().unwrap());
    let trays = tray["batches"].as_array().unwrap();
    assert!(cup.len() > 12 && (1..=6).contains(&trays.len()), "{warm}");
    let more = trays.iter().filter_map(Value::as_f64).sum::<f64>() - warm["mass_g"].as_f64().unwrap();
    assert!((0.0..=trays.len() as f64).contains(&more), "{warm}");
    // The advice for the tray matches a batch that is mixed in one.
    let (mass, depth) = (&trays[0], &tray["depth_mm"]);
    hut.at("2026-05-02 08:00", "reading 22").well();
    let line = format!("mix epoxy-laminating-fast --mass {mass}g --in tray --depth {depth}mm --ask --json");
    let mixed = hut.at("2026-05-02 08:00", &line).json();
    assert_eq!((&mixed["dangerous"], &mixed["runs_away"]), (&false.into(), &false.into()), "{mixed}");
    assert_eq!(coat("28")["batches"], Value::Array(vec![]));
    assert_eq!(coat("28")["way_out"]["why"], "hot");
}

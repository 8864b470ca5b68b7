use super::*;

fn changed(kind: &EntryKind, changes: &[(Detail, &str)]) -> Result<EntryKind, String> {
    let changes: Vec<Change> =
        changes.iter().map(|(detail, text)| Change { detail: *detail, text: (*text).into() }).collect();
    kind.changed(EntryId(4), &changes, &Units::default()).map_err(|error| error.to_string())
}

fn reading() -> EntryKind {
    EntryKind::Reading {
        place: "shop".into(),
        air: Celsius::new(17.5),
        humidity_percent: Some(62.0),
        surface: None,
    }
}

fn every_kind() -> Vec<EntryKind> {
    let area = || "roof".to_owned();
    vec![
        EntryKind::Coat {
            area: area(),
            product: "oil".into(),
            next: Some("oil".into()),
            finished: true,
            batch: Some(EntryId(2)),
            why: None,
        },
        EntryKind::Finished { area: area() },
        EntryKind::step(area(), StepKind::TapeOn, Some(5)),
        reading(),
        EntryKind::Batch {
            product: "primer".into(),
            mass_g: Grams::new(300.0),
            vessel: Vessel::Tray { depth_mm: Millimetres::new(12.5) },
            temperature: Some(Celsius::new(20.0)),
            place: "shop".into(),
        },
        EntryKind::Emptied { batch: EntryId(3) },
        EntryKind::WetFilm {
            area: area(),
            micrometres: vec![Micrometres::new(80.0), Micrometres::new(95.0)],
        },
        EntryKind::Stock {
            product: "oil".into(),
            amount: Amount::VolumeMl(Millilitres::new(2500.0)),
            price: Some("24.90".into()),
            lot: Some("A-7".into()),
        },
        EntryKind::Work { area: Some(area()), minutes: 90 },
        EntryKind::ClockOn { area: None },
        EntryKind::ClockOff,
        EntryKind::Note { area: None, entry: None, text: "a run".into(), photo: Some("/p.jpg".into()) },
    ]
}

#[test]
fn what_is_shown_of_an_entry_makes_the_same_entry_again() {
    for kind in every_kind() {
        let details = kind.details(&Units::default());
        let same: Vec<(Detail, &str)> =
            details.iter().map(|(detail, text)| (*detail, text.as_str())).collect();
        assert_eq!(changed(&kind, &same), Ok(kind.clone()));
    }
}

#[test]
fn a_detail_is_read_as_a_person_types_it() {
    let colder = changed(&reading(), &[(Detail::Temperature, "60 F"), (Detail::Humidity, "none")]).unwrap();
    let EntryKind::Reading { air, humidity_percent, .. } = colder else { panic!("no reading") };
    assert!((air.fahrenheit() - 60.0).abs() < 1e-9);
    assert_eq!(humidity_percent, None);
    let film = EntryKind::WetFilm { area: "roof".into(), micrometres: vec![Micrometres::new(8.0)] };
    let EntryKind::WetFilm { micrometres, .. } = changed(&film, &[(Detail::Film, "80, 3 mil")]).unwrap()
    else {
        panic!("no film")
    };
    assert_eq!(micrometres, [Micrometres::new(80.0), Micrometres::new(3.0 * 25.4)]);
}

#[test]
fn a_change_that_does_not_fit_is_reported() {
    let wrong = |kind: &EntryKind, detail, text| changed(kind, &[(detail, text)]).unwrap_err();
    assert_eq!(
        wrong(&reading(), Detail::Product, "oil"),
        "entry 4 has no product; it can be corrected by curewright correct 4 --at, --temperature, \
         --humidity, --surface, --place"
    );
    assert!(wrong(&reading(), Detail::Temperature, "99").contains("temperature: 99.0 °C is outside"));
    assert!(wrong(&reading(), Detail::Temperature, "none").contains("temperature must not be left out"));
    assert!(wrong(&reading(), Detail::Humidity, "0.6").contains("write 60 for 60 %"));
    let work = EntryKind::Work { area: None, minutes: 5 };
    assert!(wrong(&work, Detail::Minutes, "0").contains("1…1440"));
    assert!(wrong(&work, Detail::Minutes, "5000").contains("the work of each day by itself"));
    let import = EntryKind::Import { file: "a.csv".into(), readings: 3 };
    assert!(wrong(&import, Detail::Text, "x").contains("take it back (curewright undo 4)"));
    let stock = every_kind().remove(7);
    assert!(wrong(&stock, Detail::Price, "24 EUR").contains("no currency"));
    assert!(wrong(&stock, Detail::Amount, "24").contains("with its unit"));
}

#[test]
fn minutes_may_be_written_out() {
    assert_eq!(minutes("45"), Ok(45));
    assert_eq!(minutes("1 h 30 min"), Ok(90));
    for text in ["", "-5", "soon", "30 s", "2 d"] {
        assert!(minutes(text).is_err(), "{text} was taken");
    }
}

use super::*;
use crate::engine::job::{Amount, EntryKind, Vessel};
use crate::engine::units::{Grams, Millilitres, Percent};
use crate::testing::Bench;

const BARE: Practice = Practice {
    film: None,
    loss: Percent::new(0.0),
    in_tools: Millilitres::new(0.0),
    thinner: Percent::new(0.0),
};

/// Two areas of 10 m² and one without a size.
const HUT: &str = r#"
    name = "Hut"
    [[area]]
    name = "roof"
    square_metres = 10
    [[area]]
    name = "floor"
    square_metres = 10
    [[area]]
    name = "steps"
"#;

fn bought(product: &str, amount: Amount, price: Option<&str>) -> EntryKind {
    EntryKind::Stock { product: product.into(), amount, price: price.map(str::to_owned), lot: None }
}

fn mixed(product: &str, grams: f64) -> EntryKind {
    EntryKind::Batch {
        product: product.into(),
        mass_g: Grams::new(grams),
        vessel: Vessel::Cup,
        temperature: None,
        place: "shop".into(),
    }
}

const fn grams(value: f64) -> Amount {
    Amount::MassG(Grams::new(value))
}

const fn litres(value: f64) -> Amount {
    Amount::VolumeMl(Millilitres::new(value * 1000.0))
}

fn ledger(bench: &Bench, id: &str) -> Ledger {
    let library = Library::built_in();
    Ledger::of(&bench.job(1000), id, library.get(id).ok(), &BARE)
}

fn mass(material: Material) -> f64 {
    material.mass.unwrap().grams().round()
}

fn hut() -> Bench {
    Bench::default().scheme(HUT)
}

#[test]
fn mixed_batches_count_as_used() {
    let bench = hut()
        .entry(0, bought("epoxy-sealer", grams(2000.0), Some("49.80")))
        .entry(10, mixed("epoxy-sealer", 300.0))
        .coat("roof", "epoxy-sealer", 12, 40)
        .entry(60, mixed("epoxy-sealer", 200.0));
    let ledger = ledger(&bench, "epoxy-sealer");
    assert_eq!((mass(ledger.used.all), mass(ledger.left)), (500.0, 1500.0));
    assert_eq!((ledger.used.batches, ledger.used.coats), (2, 0));
    assert_eq!(ledger.paid.unwrap().to_string(), "49.80");
    assert_eq!(ledger.used_up.unwrap().to_string(), "12.45");
}

#[test]
fn a_product_of_one_part_is_used_by_what_its_coats_need() {
    // 10 m² of 65 µm is 650 mL.
    let bench = hut()
        .entry(0, bought("varnish-alkyd", litres(2.0), None))
        .coat("roof", "varnish-alkyd", 10, 40)
        .coat("steps", "varnish-alkyd", 50, 60);
    let of_roof = ledger(&bench, "varnish-alkyd");
    assert_eq!(of_roof.used.all.volume.unwrap().millilitres().round(), 650.0);
    assert_eq!((of_roof.used.coats, of_roof.used.uncounted), (1, 1), "the steps have no size");
    assert_eq!((of_roof.paid, of_roof.unpriced), (None, 1));
    // Measured films take precedence over required ones: 50 and 60 µm, mean 55.
    let films = EntryKind::WetFilm {
        area: "roof".into(),
        micrometres: vec![Micrometres::new(50.0), Micrometres::new(60.0)],
    };
    let measured = ledger(&bench.entry(45, films), "varnish-alkyd");
    assert_eq!(measured.used.all.volume.unwrap().millilitres().round(), 550.0);
}

#[test]
fn coats_before_the_first_batch_count_by_their_need_and_later_ones_by_the_batch() {
    // 10 m² of 75 µm is 750 mL; a litre weighs 1.007 kg.
    let bench = hut()
        .coat("roof", "varnish-two-part", 0, 20)
        .entry(100, mixed("varnish-two-part", 400.0))
        .coat("floor", "varnish-two-part", 110, 130);
    let used = ledger(&bench, "varnish-two-part").used;
    assert_eq!((used.batches, used.coats), (1, 1));
    assert_eq!(mass(used.all), (750.0 * 1.006_66 + 400.0_f64).round());
}

#[test]
fn litres_and_kilograms_are_one_stock_where_the_density_is_known() {
    let bench = hut()
        .entry(0, bought("varnish-alkyd", litres(1.0), Some("20")))
        .entry(5, bought("varnish-alkyd", grams(930.0), Some("18.60")));
    let ledger = ledger(&bench, "varnish-alkyd");
    assert_eq!(mass(ledger.came), 1860.0);
    assert_eq!(ledger.paid.unwrap().to_string(), "38.60");
    assert_eq!(ledger.used_up.unwrap().to_string(), "0.00");
}

#[test]
fn more_used_than_bought_is_shown_and_costs_no_more_than_was_paid() {
    let bench = hut()
        .entry(0, bought("epoxy-sealer", grams(300.0), Some("9")))
        .entry(10, mixed("epoxy-sealer", 500.0));
    let short = ledger(&bench, "epoxy-sealer");
    assert!(short.is_short());
    assert_eq!(mass(short.left), 0.0);
    assert_eq!(short.used_up.unwrap().to_string(), "9.00");
    let unentered = ledger(&hut().entry(10, mixed("epoxy-sealer", 500.0)), "epoxy-sealer");
    assert!(unentered.is_short() && unentered.bought.is_empty());
    assert_eq!((unentered.paid, unentered.used_up), (None, None));
}

#[test]
fn a_product_whose_profile_is_missing_keeps_its_stock() {
    let bench = hut().entry(0, bought("gone", grams(300.0), None)).coat("roof", "gone", 10, 20);
    let gone = ledger(&bench, "gone");
    assert_eq!(gone.came.mass, Some(Grams::new(300.0)));
    assert_eq!(gone.used.uncounted, 1);
}

#[test]
fn every_product_that_was_bought_or_used_is_listed() {
    let bench = hut()
        .entry(0, bought("varnish-alkyd", litres(1.0), None))
        .entry(10, mixed("epoxy-sealer", 500.0))
        .coat("roof", "varnish-two-part", 20, 30);
    let all = ledgers(&bench.job(1000), &Library::built_in(), &BARE);
    let names: Vec<&str> = all.iter().map(|ledger| ledger.product.as_str()).collect();
    assert_eq!(names, ["epoxy-sealer", "varnish-alkyd", "varnish-two-part"]);
    assert!(ledgers(&Job::default(), &Library::built_in(), &BARE).is_empty());
}

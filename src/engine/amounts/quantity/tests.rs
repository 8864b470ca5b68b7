use super::*;
use crate::engine::amounts::{AirFrom, KnownBy, NoSplit, PotBySheet, UNREAD};
use crate::engine::job::{Amount, EntryKind};
use crate::engine::units::{Celsius, Grams, KelvinDelta, Micrometres, Millilitres, Percent};
use crate::testing::Bench;

const BARE: Practice = Practice {
    film: None,
    loss: Percent::new(0.0),
    in_tools: Millilitres::new(0.0),
    thinner: Percent::new(0.0),
};

const HUT: &str = r#"
    name = "Hut"
    [[area]]
    name = "roof"
    square_metres = 10
    minutes_per_square_metre = 6
    steps = [{ coat = "epoxy-sealer" }, { coat = "epoxy-sealer" }, { coat = "varnish-two-part" }]
    [[area]]
    name = "floor"
    square_metres = 4
    steps = [{ coat = "varnish-two-part" }, { coat = "oil-penetrating" }]
    [[area]]
    name = "steps"
    steps = [{ coat = "oil-penetrating" }]
"#;

fn hut() -> Bench {
    Bench::default().scheme(HUT)
}

fn asked(area: Option<&str>, product: Option<&str>) -> Asked {
    Asked { area: area.map(str::to_owned), product: product.map(str::to_owned), size: None, practice: BARE }
}

/// Calculates in a shop at this temperature, with an exact thermometer and a scale with 1 g steps.
fn calculate<'a>(bench: &Bench, library: &'a Library, asked: &Asked, air: Option<f64>) -> Quantities<'a> {
    let air = |_: &str| air.map_or((UNREAD, AirFrom::Unread), |air| (Celsius::new(air), AirFrom::Given));
    let shop = Shop {
        air: &air,
        thermometer_error: KelvinDelta::new(0.0),
        pot: &PotBySheet,
        scale: Grams::new(1.0),
    };
    Quantities::calculate(&bench.job(1000), library, asked, &shop)
}

fn millilitres(material: Material) -> f64 {
    material.volume.unwrap().millilitres().round()
}

#[test]
fn only_the_coming_coats_are_calculated() {
    let library = Library::built_in();
    let all = calculate(&hut(), &library, &asked(Some("roof"), None), Some(20.0));
    let coats: Vec<(usize, &str)> = all.coats().map(|c| (c.layer, c.product.id.as_str())).collect();
    assert_eq!(coats, [(1, "epoxy-sealer"), (2, "epoxy-sealer"), (3, "varnish-two-part")]);
    let begun = hut().coat("roof", "epoxy-sealer", 0, 30);
    let left = calculate(&begun, &library, &asked(Some("Roof"), None), Some(20.0));
    assert_eq!(left.coats().map(|coat| coat.layer).collect::<Vec<_>>(), [2, 3]);
}

#[test]
fn totals_are_the_sum_of_the_coats() {
    let library = Library::built_in();
    let all = calculate(&hut(), &library, &asked(None, None), Some(20.0));
    let varnish = all.products.iter().find(|p| p.product.id == "varnish-two-part").unwrap();
    // 75 µm on 10 and on 4 m².
    assert_eq!((varnish.here.0, millilitres(varnish.here.1)), (2, 1050.0));
    let parts: f64 = varnish.parts.iter().map(|part| part.amount.mass.unwrap().grams()).sum();
    assert!((parts - varnish.here.1.mass.unwrap().grams()).abs() < 1e-9);
}

#[test]
fn one_area_shows_the_need_of_the_whole_piece_and_what_the_stock_lacks() {
    let bench = hut().entry(
        0,
        EntryKind::Stock {
            product: "varnish-two-part".into(),
            amount: Amount::VolumeMl(Millilitres::new(800.0)),
            price: None,
            lot: None,
        },
    );
    let library = Library::built_in();
    let floor = calculate(&bench, &library, &asked(Some("floor"), None), Some(20.0));
    let varnish = &floor.products[0];
    assert_eq!((varnish.here.0, millilitres(varnish.here.1)), (1, 300.0));
    assert_eq!((varnish.all.0, millilitres(varnish.all.1)), (2, 1050.0));
    assert_eq!(millilitres(varnish.to_buy), 250.0);
}

#[test]
fn a_product_that_the_scheme_does_not_name_is_one_coat_on_top() {
    let library = Library::built_in();
    let roof = calculate(&hut(), &library, &asked(Some("roof"), Some("paint-water")), Some(20.0));
    let [coat] = &roof.areas[0].coats[..] else { panic!("one coat") };
    assert_eq!(coat.layer, 1);
    assert!(coat.mixing.is_none() && coat.parts.is_empty(), "nothing is mixed");
    let mut on_top = asked(Some("shelf"), Some("varnish-two-part"));
    on_top.size = Some(SquareMetres::new(2.0));
    let shelf = calculate(&hut(), &library, &on_top, Some(20.0));
    assert_eq!((shelf.products[0].here.0, shelf.products[0].all.0), (1, 3));
    assert_eq!(millilitres(shelf.products[0].all.1), 1200.0, "beside the 14 m² of the scheme");
    let varnish = calculate(&hut(), &library, &asked(Some("roof"), Some("varnish-two-part")), Some(20.0));
    assert_eq!(varnish.areas[0].coats[0].layer, 3, "the next one of it in the scheme");
}

#[test]
fn batches_follow_the_pace_and_the_air() {
    let library = Library::built_in();
    // 10 m² of 75 µm of sealer is 747 g; the scheme allows an hour for it.
    let mixing = |air| {
        let roof = calculate(&hut(), &library, &asked(Some("roof"), None), air);
        roof.areas[0].coats[0].mixing.clone().unwrap()
    };
    let masses = |mixing: &Mixing| -> Vec<f64> { mixing.batches.iter().map(|b| b.mass().grams()).collect() };
    let cool = mixing(Some(20.0));
    assert_eq!(masses(&cool), [748.0]);
    assert_eq!(cool.pace.unwrap().known, KnownBy::Scheme);
    // At 40 °C a kilogram is usable for 35 minutes.
    let hot = mixing(Some(40.0));
    assert_eq!(masses(&hot), [374.0, 374.0]);
    assert!(hot.extrapolated && !cool.extrapolated);
    let unread = mixing(None);
    assert_eq!(unread.air, (UNREAD, AirFrom::Unread));
}

#[test]
fn what_cannot_be_calculated_is_named_and_hides_nothing_else() {
    let library = Library::built_in();
    let all = calculate(&hut(), &library, &asked(None, None), Some(20.0));
    assert_eq!(all.areas[2].cannot, [Cannot::NoSize]);
    assert_eq!(all.areas[0].cannot, []);
    let mut given = asked(Some("steps"), None);
    given.size = Some(SquareMetres::new(2.0));
    assert_eq!(calculate(&hut(), &library, &given, None).areas[0].coats.len(), 1);
    let unknown = calculate(&hut(), &library, &asked(Some("roof"), Some("varnish-tow-part")), None);
    assert!(
        matches!(&unknown.areas[0].cannot[..], [Cannot::NoProduct(says)] if says.contains("varnish-two-part"))
    );
    let done = hut().coat("steps", "oil-penetrating", 0, 5);
    let mut over = asked(Some("steps"), None);
    over.size = Some(SquareMetres::new(2.0));
    assert_eq!(calculate(&done, &library, &over, None).areas[0].cannot, [Cannot::NothingToCome]);
}

#[test]
fn without_a_density_mass_and_batches_are_unknown() {
    let text = r#"
        schema = 1
        id = "own"
        name = "Own"
        family = "epoxy"
        cure = "reaction"
        basis = "a test"
        [mix]
        names = ["base", "hardener"]
        by_volume = [2, 1]
        [pot_life]
        mass = "500 g"
        times = [{ at = 20, time = "3 h" }]
        [application]
        air = [10, 30]
        [film]
        wet = [60, 90]
    "#;
    let mut library = Library::built_in();
    library.with_file("own.toml".into(), text.into());
    let roof = calculate(&hut(), &library, &asked(Some("roof"), Some("own")), Some(20.0));
    let coat = &roof.areas[0].coats[0];
    assert_eq!((coat.need.product.mass, millilitres(coat.need.product)), (None, 750.0));
    assert_eq!(coat.need.dry, None, "nor are the solids known");
    assert_eq!(coat.parts[0].amount.volume, Some(Millilitres::new(500.0)));
    let mixing = coat.mixing.as_ref().unwrap();
    assert_eq!((mixing.split, mixing.batches.len()), (Err(NoSplit::NoMass), 0));
    assert_eq!(coat.need.wet, Micrometres::new(75.0));
}

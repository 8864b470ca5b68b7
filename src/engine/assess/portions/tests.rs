use super::*;
use crate::engine::profile::Library;
use crate::engine::units::Celsius;
use crate::testing::{Bench, at};

fn usable(bench: &Bench, id: &str, grams: f64, from: AirFrom, warm: f64) -> Result<Usable, Unfit> {
    let library = Library::built_in();
    let pot = PotByModel::of(&bench.survey(&library, 0), at(0));
    let there = AirThere { place: "shop", warm: Celsius::new(warm), from };
    pot.usable(library.get(id).unwrap(), Grams::new(grams), Vessel::Cup, &there)
}

fn read() -> AirFrom {
    AirFrom::Read(at(0))
}

#[test]
fn a_portion_lasts_as_long_as_the_batch_that_is_mixed_of_it() {
    // A shop that cools, in a place where more is known than the last reading.
    let cooling = |bench: Bench| (0..=30).fold(bench, |b, i| b.reading(-300 + i * 10, 24.0 - i as f64 * 0.2));
    for (id, grams) in [("epoxy-sealer", 500.0), ("epoxy-sealer", 90.0), ("varnish-two-part", 400.0)] {
        let portion = usable(&cooling(Bench::default()), id, grams, read(), 19.0).unwrap();
        let library = Library::built_in();
        let mixed = cooling(Bench::default()).batch(id, grams, 0);
        let survey = mixed.survey(&library, 0);
        let standing = survey.batches[0].standing.as_ref().unwrap();
        assert_eq!(at(0) + portion.time, standing.usable.earliest.unwrap(), "{grams} g of {id}");
        assert_eq!(
            portion.by,
            UsableBy::Model { estimated: standing.estimated, runs_away: standing.hazard != Hazard::Calm }
        );
    }
}

#[test]
fn what_would_get_hot_while_it_is_worked_with_is_unfit() {
    let shop = Bench::steady(20.0, 0);
    let slow = |grams| usable(&shop, "epoxy-laminating-slow", grams, read(), 21.0);
    assert_eq!(slow(1000.0), Err(Unfit::Hot));
    let calmer = slow(200.0).unwrap();
    assert!(matches!(calmer.by, UsableBy::Model { .. }), "{calmer:?}");
}

#[test]
fn a_portion_far_smaller_than_the_data_sheets_lasts_as_its_table_says() {
    let library = Library::built_in();
    let table = &library.get("epoxy-sealer").unwrap().pot_life[0];
    let little = usable(&Bench::steady(20.0, 0), "epoxy-sealer", 5.0, read(), 21.0).unwrap();
    assert_eq!((little.time, little.by), (table.times.time_at(Celsius::new(21.0)), UsableBy::Sheet));
}

#[test]
fn what_is_asked_for_another_temperature_is_answered_for_it() {
    let shop = Bench::steady(12.0, 0);
    let given = |warm| usable(&shop, "epoxy-sealer", 300.0, AirFrom::Given, warm).unwrap().time;
    assert!(given(25.0) < given(15.0));
    assert!(given(25.0) < usable(&shop, "epoxy-sealer", 300.0, read(), 25.0).unwrap().time);
    // Where nothing was read as well.
    let bare = usable(&Bench::default(), "epoxy-sealer", 300.0, AirFrom::Unread, 25.0);
    assert_eq!(bare.unwrap().time, given(25.0));
}

#[test]
fn of_one_part_nothing_is_known() {
    let shop = Bench::steady(20.0, 0);
    assert_eq!(usable(&shop, "varnish-alkyd", 300.0, read(), 21.0), Err(Unfit::Unknown));
}

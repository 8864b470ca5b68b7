use super::*;
use crate::app::json::Status;
use crate::app::view::View;
use crate::engine::job::{EntryId, EntryKind, Vessel};
use crate::engine::pot::Outside;
use crate::engine::units::{Celsius, Grams, Millimetres};
use crate::testing::{Bench, at, library, words};

fn view(bench: &Bench, minutes: i64) -> View {
    let library = library();
    View::of(&bench.survey(&library, minutes), &[], &words(), at(minutes))
}

fn emptied(batch: i64) -> EntryKind {
    EntryKind::Emptied { batch: EntryId(batch) }
}

fn mixed(product: &str, grams: f64, vessel: Vessel, temperature: Option<f64>) -> EntryKind {
    let (product, mass_g) = (product.into(), Grams::new(grams));
    EntryKind::Batch {
        product,
        mass_g,
        vessel,
        temperature: temperature.map(Celsius::new),
        place: "shop".into(),
    }
}

#[track_caller]
fn standing(bench: &Bench, minutes: i64) -> PotStanding {
    let library = library();
    bench.survey(&library, minutes).batches[0].standing.clone().unwrap()
}

#[test]
fn a_batch_that_must_be_spread_first_is_the_next_thing() {
    let bench =
        Bench::steady(20.0, 0).coat("roof", "epoxy-sealer", -300, -280).batch("epoxy-sealer", 200.0, -60);
    let view = view(&bench, 0);
    assert_eq!(view.pots.len(), 1);
    assert!(
        view.next.says.starts_with("Batch 3, 200 g of epoxy-sealer: spread it on the roof by "),
        "{:?}",
        view.next
    );
    let countdown = view.next.countdown.unwrap();
    assert_eq!(countdown.label, "to spread batch 3");
    // 3 h at 20 °C, a little less at the warm edge, from an hour ago.
    assert!((95..120).contains(&(countdown.to - at(0)).num_minutes()), "{countdown:?}");
}

#[test]
fn a_window_that_closes_before_the_pot_does_comes_first() {
    // The varnish's window shuts ten hours after its first stroke.
    let bench =
        Bench::steady(20.0, 0).coat("door", "varnish-quick", -480, -460).batch("epoxy-sealer", 200.0, -1);
    assert_eq!(view(&bench, 0).next.area.as_deref(), Some("door"));
}

#[test]
fn a_pot_does_not_wait_for_a_thermometer() {
    let old = Bench::default().reading(-400, 20.0).coat("door", "varnish-quick", -410, -405).batch(
        "epoxy-sealer",
        200.0,
        -100,
    );
    assert!(view(&old, 0).next.says.contains("batch") || view(&old, 0).next.says.contains("Batch"));
    let later = Bench::default().reading(-400, 20.0).coat("door", "varnish-quick", -410, -405);
    assert!(view(&later, 0).next.head.contains("THERMOMETER"));
}

#[test]
fn a_live_batch_follows_the_shop() {
    let steady = Bench::steady(20.0, -60).batch("epoxy-sealer", 200.0, -60);
    let warmed = Bench::steady(20.0, -60).batch("epoxy-sealer", 200.0, -60).reading(0, 30.0);
    let (before, after) = (standing(&steady, 0), standing(&warmed, 0));
    assert!(after.usable.at < before.usable.at);
    assert!(after.peak > before.peak);
    assert!(before.usable.earliest < before.usable.at && before.usable.at < before.usable.latest);
}

#[test]
fn a_finished_past_assumes_nothing() {
    let bench = Bench::steady(20.0, 600).batch("epoxy-sealer", 200.0, 0);
    assert!(standing(&bench, 100).assumed);
    assert!(!standing(&bench, 500).assumed);
}

#[test]
fn a_batch_that_is_over_is_shown_until_it_is_emptied_or_half_a_day_has_passed() {
    let bench = Bench::steady(20.0, 2000).batch("epoxy-sealer", 200.0, 0);
    let over = view(&bench, 400);
    assert!(over.pots[0].says.contains("its pot life has been over since"), "{}", over.pots[0].says);
    assert_eq!(over.pots[0].countdown, None);
    assert!(view(&bench, 1500).pots.is_empty());
    assert!(view(&bench.entry(300, emptied(1)), 400).pots.is_empty());
}

#[test]
fn between_earliest_and_latest_it_may_be_over() {
    let bench = Bench::steady(20.0, 600).batch("epoxy-sealer", 200.0, 0);
    let standing = standing(&bench, 600);
    let middle = (standing.usable.at.unwrap() - at(0)).num_minutes();
    let says = &view(&bench, middle).pots[0].says;
    assert!(says.contains("its pot life may have been over since"), "{says}");
}

#[test]
fn induction_comes_first() {
    let bench = Bench::steady(20.0, 10).batch("primer-two-part", 1000.0, 0);
    let pot = &view(&bench, 5).pots[0];
    assert!(pot.says.contains("let it stand until 08:20, then spread it by "), "{}", pot.says);
    assert_eq!(pot.countdown.as_ref().unwrap().to, at(20));
    let library = library();
    assert!(!bench.survey(&library, 5).batches[0].is_usable(at(5)));
    assert!(bench.survey(&library, 25).batches[0].is_usable(at(25)));
}

#[test]
fn without_a_temperature_nothing_is_said_to_be_safe() {
    let bench = Bench::default().batch("epoxy-sealer", 200.0, 0);
    let library = library();
    let survey = bench.survey(&library, 5);
    assert_eq!(survey.batches[0].standing, None);
    assert_eq!(survey.batches[0].is_dangerous(), None);
    assert!(
        view(&bench, 5).pots[0].says.contains("the temperature here is unknown"),
        "{:?}",
        view(&bench, 5).pots
    );
    let json = serde_json::to_value(Status::of(&survey, &[])).unwrap();
    assert!(json["batches"][0]["usable_until"]["at"].is_null() && json["batches"][0]["dangerous"].is_null());
}

#[test]
fn a_product_that_went_away_is_said_to_have() {
    let bench = Bench::steady(20.0, 0).batch("somebodys-resin", 200.0, -5);
    assert!(view(&bench, 0).pots[0].says.contains("the profile of its product is missing"));
}

#[test]
fn a_kilogram_of_fast_resin_is_dangerous_and_what_would_be_safe_is_found_by_trying() {
    let bench = Bench::steady(22.0, 0).batch("epoxy-laminating-fast", 1000.0, 0);
    let library = library();
    let survey = bench.survey(&library, 0);
    let pot = &survey.batches[0];
    assert_eq!(pot.is_dangerous(), Some(true));
    let says = &view(&bench, 0).pots[0].says;
    assert!(says.contains("DANGER"), "{says}");
    let safer = pot.safer().unwrap();
    let cup = safer.cup.unwrap();
    let tried = |grams, vessel| {
        let entry = mixed("epoxy-laminating-fast", grams, vessel, None);
        standing(&Bench::steady(22.0, 0).entry(0, entry), 0).hazard
    };
    assert_ne!(tried(cup.grams(), Vessel::Cup), Hazard::Hot, "{cup:?}");
    assert_eq!(tried(cup.grams() * 1.3, Vessel::Cup), Hazard::Hot);
    let depth = safer.tray.unwrap();
    assert_eq!(tried(1000.0, Vessel::Tray { depth_mm: depth }), Hazard::Calm);
    let cooler = safer.cooler.unwrap();
    let cold = mixed("epoxy-laminating-fast", 1000.0, Vessel::Cup, Some(cooler.degrees()));
    assert_ne!(standing(&Bench::steady(22.0, 0).entry(0, cold), 0).hazard, Hazard::Hot);
}

#[test]
fn warm_parts_shorten_and_cool_ones_lengthen_the_pot_life() {
    let end = |temperature| {
        let entry = mixed("epoxy-sealer", 500.0, Vessel::Cup, temperature);
        standing(&Bench::steady(20.0, 0).entry(0, entry), 0).usable.at
    };
    assert!(end(Some(28.0)) < end(None) && end(None) < end(Some(12.0)));
    assert_eq!(end(Some(20.0)), end(None));
}

#[test]
fn beyond_ten_times_the_data_sheets_mass_there_is_no_green_light() {
    for (grams, outside) in
        [(11_000.0, Outside::MassAbove(Grams::new(10_000.0))), (15.0, Outside::MassBelow(Grams::new(20.0)))]
    {
        let bench = Bench::steady(20.0, 0).batch("epoxy-sealer", grams, 0);
        assert_eq!(standing(&bench, 0).outside, [outside]);
        let library = library();
        assert_eq!(bench.survey(&library, 0).batches[0].is_dangerous(), Some(true));
        assert!(view(&bench, 0).pots[0].says.contains("Not known to be safe"));
    }
    let deep = mixed("epoxy-sealer", 90_000.0, Vessel::Tray { depth_mm: Millimetres::new(150.0) }, None);
    assert_eq!(standing(&Bench::steady(20.0, 0).entry(0, deep), 0).outside, [Outside::Deep]);
}

#[test]
fn beyond_the_data_sheets_temperatures_it_is_said() {
    let cold = Bench::steady(6.0, 0).batch("epoxy-sealer", 200.0, 0);
    assert_eq!(standing(&cold, 0).outside, [Outside::Cooler(Celsius::new(10.0))]);
    let hot = mixed("epoxy-sealer", 200.0, Vessel::Cup, Some(35.0));
    assert_eq!(
        standing(&Bench::steady(20.0, 0).entry(0, hot), 0).outside,
        [Outside::Warmer(Celsius::new(30.0))]
    );
    assert!(view(&cold, 0).pots[0].assumed.iter().any(|rests| rests.contains("cooler than")));
}

#[test]
fn at_the_very_ends_of_the_data_sheet_nothing_is_said() {
    for at in [10.0, 30.0] {
        assert_eq!(standing(&Bench::steady(at, 0).batch("epoxy-sealer", 200.0, 0), 0).outside, []);
    }
}

#[test]
fn only_where_the_profile_does_not_tell_is_the_warming_an_estimate() {
    let estimated = |product, grams| standing(&Bench::steady(20.0, 0).batch(product, grams, 0), 0).estimated;
    assert!(!estimated("epoxy-sealer", 400.0), "fitted to two masses");
    assert!(!estimated("varnish-quick", 500.0), "as the data sheet has it");
    assert!(estimated("varnish-quick", 250.0));
}

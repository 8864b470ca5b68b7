//! The products that are built in, and the pot lives of a specification.

use curewright::engine::pot::{Hazard, Kinetics, Warmth};
use curewright::engine::profile::Library;

use super::{cup, energy, minutes, pot_life, steady, tray};
use curewright::engine::pot::Vessel;
use curewright::engine::units::{KelvinDelta, Millimetres};

#[test]
fn every_product_of_parts_has_its_pot_life_at_two_temperatures_and_two_masses_where_it_heats_itself() {
    let library = Library::built_in();
    let mut masses = 0;
    for product in library.iter().filter(|product| product.mix.is_some()) {
        for life in &product.pot_life {
            assert!(life.times.points().len() >= 2, "{}", product.id);
        }
        masses += usize::from(product.pot_life.len() >= 2);
    }
    assert!(masses >= 2, "{masses}");
}

#[test]
fn every_pot_life_of_a_built_in_product_comes_out_again() {
    let library = Library::built_in();
    for product in library.iter().filter(|product| product.mix.is_some()) {
        let kinetics = Kinetics::of(product).unwrap();
        assert_ne!(kinetics.warmth(), Warmth::None, "{}", product.id);
        for (index, life) in product.pot_life.iter().enumerate() {
            // The first mass exactly; the second as well as one figure for the self-warming can.
            let allowed = if index == 0 { 1e-6 } else { 0.05 };
            for point in life.times.points() {
                let told = point.time.num_seconds() as f64 / 60.0;
                let found = minutes(&kinetics, &cup(life.mass.grams()), point.at.degrees());
                assert!(
                    (found / told - 1.0).abs() < allowed,
                    "{}, {:.0} g at {:.0} °C: {found:.1} min for {told} min",
                    product.id,
                    life.mass.grams(),
                    point.at.degrees()
                );
            }
        }
    }
}

/// Source, read: UFGS-09971, 3.7.1.3 (U.S. government): pot life at 21 °C 4 h (epoxy primer) and 2 h (polyurethane
/// topcoat), halved by 10 °C more, doubled by 10 °C less; it names no mass.
#[test]
fn primer_and_paint_last_as_the_specification_says() {
    let library = Library::built_in();
    for (id, at_21) in [("primer-two-part", 4.0), ("paint-two-part", 2.0)] {
        let product = library.get(id).unwrap();
        let kinetics = Kinetics::of(product).unwrap();
        let mass = product.pot_life[0].mass.grams();
        for (at, hours) in [(11.0, at_21 * 2.0), (21.0, at_21), (31.0, at_21 / 2.0)] {
            let found = minutes(&kinetics, &cup(mass), at) / 60.0;
            assert!((found / hours - 1.0).abs() < 1e-6, "{id} at {at} °C: {found} h for {hours} h");
        }
        // Beyond the points the line of the end pair is a little flatter than the rule.
        let hot = minutes(&kinetics, &cup(mass), 41.0) / 60.0;
        assert!((hot / (at_21 / 4.0) - 1.0).abs() < 0.1, "{id} at 41 °C: {hot} h");
        // From two points alone, the third follows.
        let table = [(21.0, at_21 * 3600.0), (31.0, at_21 * 1800.0)];
        let two =
            Kinetics::calibrate(&[pot_life(mass, &table, 51.2)], energy(51.2), kinetics.warming()).unwrap();
        let cool = minutes(&two, &cup(mass), 11.0) / 60.0;
        assert!((cool / (at_21 * 2.0) - 1.0).abs() < 0.08, "{id}: {cool} h at 11 °C");
    }
}

#[test]
fn a_kilogram_of_fast_laminating_resin_in_a_cup_is_dangerous_and_in_a_thin_tray_it_is_not() {
    let library = Library::built_in();
    let kinetics = Kinetics::of(library.get("epoxy-laminating-fast").unwrap()).unwrap();
    let hazard = |portion| Hazard::of(&kinetics.self_heating(&portion, &steady(20.0)).unwrap());
    assert_eq!(hazard(cup(1000.0)), Hazard::Hot);
    assert_eq!(hazard(tray(1000.0, 4.0)), Hazard::Calm);
}

#[test]
fn the_largest_batch_that_lasts_an_hour_lasts_an_hour_and_a_larger_one_does_not() {
    let library = Library::built_in();
    let kinetics = Kinetics::of(library.get("epoxy-laminating-slow").unwrap()).unwrap();
    let hour = chrono::TimeDelta::hours(1);
    let largest = kinetics.largest_batch(Vessel::Cup, None, &steady(20.0), hour).unwrap().grams();
    assert!(minutes(&kinetics, &cup(largest), 20.0) >= 60.0);
    assert!(minutes(&kinetics, &cup(largest * 1.05), 20.0) < 60.0, "{largest} g");
    assert_eq!(kinetics.largest_batch(Vessel::Cup, None, &steady(30.0), hour), None, "too warm for any");
    let tray = Vessel::Tray { depth_mm: Millimetres::new(5.0) };
    let in_tray = kinetics.largest_batch(tray, None, &steady(20.0), hour).unwrap();
    assert_eq!(in_tray, kinetics.trusted_masses().1, "in a thin tray as much as the model is trusted with");
}

#[test]
fn paint_and_varnish_stay_cool_in_their_own_tins() {
    let library = Library::built_in();
    for id in ["paint-two-part", "varnish-two-part", "primer-two-part", "primer-high-build", "epoxy-sealer"] {
        let product = library.get(id).unwrap();
        let kinetics = Kinetics::of(product).unwrap();
        for life in &product.pot_life {
            let self_heating = kinetics.self_heating(&cup(life.mass.grams()), &steady(25.0)).unwrap();
            assert_eq!(Hazard::of(&self_heating), Hazard::Calm, "{id}: {:?}", self_heating.peak);
        }
    }
}

#[test]
fn what_is_usual_is_scaled_by_what_of_the_film_is_resin() {
    let library = Library::built_in();
    let warming = |id| Kinetics::of(library.get(id).unwrap()).unwrap().warming();
    assert_eq!(warming("primer-two-part"), KelvinDelta::new(25.0));
    assert_eq!(warming("varnish-two-part"), KelvinDelta::new(12.0));
}

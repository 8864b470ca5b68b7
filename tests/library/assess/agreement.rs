//! What is said of the air in different places never contradicts: the board's lines, the check, the status,
//! the weather page and the alerts, over all hand-made nights and many generated skies.
//!
//! Checked against nothing outside: it is the program against itself.

use chrono::TimeDelta;
use curewright::engine::profile::Library;
use proptest::prelude::*;

use super::night;
use super::said::{agree, screen_agrees};
use super::world::{World, skies};

/// The nights, each as the air of a place out of doors, where the forecast is the air itself.
#[test]
fn every_hand_made_night_is_judged_alike_everywhere() {
    let library = Library::built_in();
    for night in night::nights() {
        let world = World::of_night(&night);
        let verdict = agree(&world, night::now(), &library).unwrap_or_else(|e| panic!("{}: {e}", night.says));
        assert_eq!(verdict.as_deref(), Some(night.verdict.as_str()), "{}", night.says);
        // As the night goes on, whatever it brings.
        for hours in [1, 3, 6, 11] {
            let later = night::now() + TimeDelta::hours(hours);
            agree(&world, later, &library).unwrap_or_else(|e| panic!("{}, {hours} h on: {e}", night.says));
        }
    }
}

/// A film that went on in each night, and is wet in it.
#[test]
fn every_output_agrees_on_a_wet_film_in_every_hand_made_night() {
    let library = Library::built_in();
    for night in night::nights() {
        let world = World::of_night(&night).coated(night::now());
        for minutes in [0, 40, 180, 420] {
            let now = night::now() + TimeDelta::minutes(minutes);
            agree(&world, now, &library).unwrap_or_else(|e| panic!("{}, {minutes} min on: {e}", night.says));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_the_sky_does_all_say_the_same(world in skies(), minutes in 0i64..2000) {
        let library = Library::built_in();
        let now = world.begins() + TimeDelta::minutes(minutes);
        if let Err(contradiction) = agree(&world, now, &library) {
            return Err(TestCaseError::fail(contradiction));
        }
    }

    #[test]
    fn no_board_of_any_size_cuts_the_verdict_or_says_more_than_it(
        world in skies(),
        minutes in 0i64..2000,
        size in (60u16..=200, 18u16..=50),
    ) {
        let library = Library::built_in();
        let now = world.begins() + TimeDelta::minutes(minutes);
        if let Err(cut) = screen_agrees(&world, now, &library, size) {
            return Err(TestCaseError::fail(cut));
        }
    }
}

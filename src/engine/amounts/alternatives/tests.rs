use super::*;
use crate::engine::amounts::{Pot, Practice, Unfit, Usable};
use crate::engine::profile::Library;
use crate::engine::units::{KelvinDelta, Percent};

/// A pot with a pot life in minutes, and a mass in a cup above which it gets hot, doubled for every 5 K below
/// 25 °C; in a tray a depth above which it runs away.
struct Warm {
    minutes: i64,
    cup: f64,
    tray: f64,
}

impl Pot for Warm {
    fn usable(
        &self,
        product: &Product,
        mass: Grams,
        vessel: Vessel,
        air: &AirThere<'_>,
    ) -> Result<Usable, Unfit> {
        let slow = if product.id == "epoxy-laminating-slow" { 10.0 } else { 1.0 };
        let fits = self.cup * slow * 2f64.powf((25.0 - air.warm.degrees()) / 5.0);
        let runs_away = match vessel {
            Vessel::Cup if mass.grams() > fits => return Err(Unfit::Hot),
            Vessel::Cup => true,
            Vessel::Tray { depth_mm } => depth_mm.millimetres() > self.tray,
        };
        let by = UsableBy::Model { estimated: false, runs_away };
        Ok(Usable { time: TimeDelta::minutes(self.minutes), by, basis: false })
    }
}

const PRACTICE: Practice = Practice {
    film: None,
    loss: Percent::new(0.0),
    in_tools: Millilitres::new(40.0),
    thinner: Percent::new(0.0),
};

/// Fast epoxy on `size` square metres at 25 °C: 200 g/m² and 182 mL/m².
fn alternatives(size: f64, takes: Option<i64>, pot: &Warm) -> Option<Alternatives> {
    let library = Library::built_in();
    let product = library.get("epoxy-laminating-fast").unwrap();
    let size = SquareMetres::new(size);
    let need = coat_need(product, size, &PRACTICE).unwrap();
    let takes = takes.map(TimeDelta::minutes);
    let pace = takes
        .map(|takes| crate::engine::amounts::Pace { takes, known: crate::engine::amounts::KnownBy::Scheme });
    let coat = ToMix { product, need, size, pace, place: "shop", practice: &PRACTICE, library: &library };
    let air = |_: &str| (Celsius::new(25.0), AirFrom::Given);
    let (thermometer_error, scale) = (KelvinDelta::new(0.0), Grams::new(1.0));
    let shop = Shop { air: &air, thermometer_error, pot, scale };
    super::super::mixing::Mixing::of(&coat, &shop).alternatives
}

#[test]
fn six_batches_in_a_cup_need_no_alternative() {
    let mild = Warm { minutes: 30, cup: 300.0, tray: 5.0 };
    assert_eq!(alternatives(5.0, Some(40), &mild), None);
    assert!(alternatives(5.0, Some(200), &mild).is_some(), "seven batches for the pace");
}

#[test]
fn too_many_too_small_and_too_short_batches_are_named() {
    let why = |minutes, cup| alternatives(5.0, None, &Warm { minutes, cup, tray: 5.0 }).unwrap().why;
    assert_eq!(why(30, 100.0), Impractical::Many);
    assert_eq!(why(30, 30.0), Impractical::Little, "27 mL, and 40 mL stay in the roller");
    assert_eq!(why(4, 300.0), Impractical::Short);
    assert_eq!(why(30, 1.0), Impractical::None(NoSplit::TooHot));
}

#[test]
fn in_a_tray_a_few_batches_stay_calm() {
    let alternatives = alternatives(5.0, None, &Warm { minutes: 30, cup: 30.0, tray: 4.0 }).unwrap();
    let tray = alternatives.tray.unwrap();
    // 1040 mL at 4 mm is 2600 cm², more than one tray of 50 × 50 cm.
    assert_eq!((tray.depth, tray.split.count, tray.batches.len()), (Millimetres::new(4.0), 2, 2));
    assert!((tray.side.millimetres() - 360.0).abs() < 2.0, "{:?}", tray.side);
    assert_eq!(tray.split.by, UsableBy::Model { estimated: false, runs_away: false });
}

#[test]
fn where_none_stays_calm_the_fewest_usable_batches_are_given() {
    let alternatives = alternatives(5.0, None, &Warm { minutes: 30, cup: 30.0, tray: 0.0 }).unwrap();
    let tray = alternatives.tray.unwrap();
    assert_eq!((tray.split.count, tray.depth), (1, Millimetres::new(20.0)));
    assert_eq!(tray.split.by, UsableBy::Model { estimated: false, runs_away: true });
    // A batch with too short a pot life in a tray is no alternative.
    let short = self::alternatives(5.0, None, &Warm { minutes: 4, cup: 30.0, tray: 4.0 }).unwrap();
    assert_eq!((short.tray, short.slower, short.cooler), (None, None, None));
}

#[test]
fn a_slower_product_and_a_cooler_shop_are_given_where_a_cup_works_with_them() {
    let alternatives = alternatives(5.0, None, &Warm { minutes: 30, cup: 100.0, tray: 4.0 }).unwrap();
    let slower = alternatives.slower.unwrap();
    assert_eq!((slower.product.as_str(), slower.split.count), ("epoxy-laminating-slow", 2));
    // 1150 g in six batches of at most 200 g, which work 5 K cooler.
    let cooler = alternatives.cooler.unwrap();
    assert_eq!((cooler.air, cooler.split.count), (Celsius::new(20.0), 6));
}

#[test]
fn for_a_large_area_the_part_that_six_batches_cover_is_given() {
    let pot = Warm { minutes: 30, cup: 30.0, tray: 4.0 };
    let alternatives = alternatives(60.0, Some(600), &pot).unwrap();
    assert_eq!(alternatives.tray.as_ref().unwrap().split.count, 20, "10 h in 30 minutes each");
    assert_eq!(alternatives.at_a_time, Some(SquareMetres::new(18.0)));
    assert_eq!(self::alternatives(5.0, None, &pot).unwrap().at_a_time, None);
}

//! The arithmetic of mixing against exact fractions, and what holds for every coat and every scale.

use chrono::TimeDelta;
use curewright::engine::amounts::{
    AirFrom, Asked, Material, PotBySheet, Practice, Quantities, Shop, coat_need, equal_portion, parts, weigh,
    weigh_accurately,
};
use curewright::engine::job::{Entry, EntryId, EntryKind, Job};
use curewright::engine::profile::{Library, Mix, Product};
use curewright::engine::units::{
    Celsius, Grams, KelvinDelta, KilogramsPerLitre, Micrometres, Millilitres, Moment, Percent, SquareMetres,
};
use num_rational::Ratio;
use proptest::prelude::*;

type Exact = Ratio<i128>;

fn exact(numerator: u32, denominator: u32) -> Exact {
    Exact::new(numerator.into(), denominator.into())
}

fn float(value: Exact) -> f64 {
    *value.numer() as f64 / *value.denom() as f64
}

/// As close as sums and products of some binary numbers can be.
fn assert_exact(found: f64, wanted: Exact) {
    let wanted = float(wanted);
    assert!((found - wanted).abs() <= 1e-12 * wanted.abs(), "{found} is not {wanted}");
}

/// A label: parts by mass and densities in hundredths of a kg/L.
#[derive(Debug, Clone)]
struct Label {
    parts: Vec<(u32, u32)>,
    by_volume: bool,
}

impl Label {
    fn mix(&self) -> Mix {
        let ratio: Vec<f64> = self.parts.iter().map(|(part, _)| f64::from(*part)).collect();
        let density = |(_, hundredths): &(u32, u32)| KilogramsPerLitre::new(f64::from(*hundredths) / 100.0);
        Mix {
            names: (0..self.parts.len()).map(|index| format!("part {index}")).collect(),
            by_volume: self.by_volume.then(|| ratio.clone()),
            by_mass: (!self.by_volume).then_some(ratio),
            density: Some(self.parts.iter().map(density).collect()),
            induction: None,
        }
    }

    /// The share of each part by mass.
    fn by_mass(&self) -> Vec<Exact> {
        self.shares(|part, density| if self.by_volume { part * density } else { part })
    }

    /// The share of each part by volume.
    fn by_volume(&self) -> Vec<Exact> {
        self.shares(|part, density| if self.by_volume { part } else { part / density })
    }

    fn shares(&self, of: impl Fn(Exact, Exact) -> Exact) -> Vec<Exact> {
        let shares: Vec<Exact> =
            self.parts.iter().map(|(part, density)| of(exact(*part, 1), exact(*density, 100))).collect();
        let sum: Exact = shares.iter().sum();
        shares.into_iter().map(|share| share / sum).collect()
    }

    /// In kg/L.
    fn density(&self) -> Exact {
        let litres = self
            .by_mass()
            .iter()
            .zip(&self.parts)
            .map(|(share, (_, d))| share / exact(*d, 100))
            .sum::<Exact>();
        litres.recip()
    }
}

fn labels() -> impl Strategy<Value = Label> {
    let part = (1_u32..400, 50_u32..300);
    (prop::collection::vec(part, 2..=3), any::<bool>())
        .prop_map(|(parts, by_volume)| Label { parts, by_volume })
}

/// How a coat is put on, in whole numbers: film in µm, loss in %, what stays in the tools in mL, thinner in %.
type Plain = (u32, u32, u32, u32);

fn practices() -> impl Strategy<Value = Plain> {
    (1_u32..2000, 0_u32..=90, 0_u32..500, 0_u32..=100)
}

fn practice((film, loss, tools, thinner): Plain) -> Practice {
    Practice {
        film: Some(Micrometres::new(film.into())),
        loss: Percent::new(loss.into()),
        in_tools: Millilitres::new(tools.into()),
        thinner: Percent::new(thinner.into()),
    }
}

/// All that is mixed for a coat, in mL, and the product in it.
fn exact_need(tenths: u32, (film, loss, tools, thinner): Plain) -> (Exact, Exact) {
    let laid = exact(tenths, 10) * exact(film, 1);
    let mixed = laid / (exact(1, 1) - exact(loss, 100)) + exact(tools, 1);
    (mixed, mixed / (exact(1, 1) + exact(thinner, 100)))
}

fn varnish() -> Product {
    Library::built_in().get("varnish-two-part").unwrap().clone()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_part_is_its_exact_share_by_mass_and_by_volume(label in labels(), grams in 1_u32..100_000) {
        let mix = label.mix();
        let mixed = Material::of_mass(Grams::new(grams.into()), mix.mixed_density());
        let litres = exact(grams, 1000) / label.density();
        assert_exact(mixed.volume.unwrap().millilitres(), litres * exact(1000, 1));
        let shares = label.by_mass().into_iter().zip(label.by_volume());
        for (part, (by_mass, by_volume)) in parts(&mix, mixed).iter().zip(shares) {
            assert_exact(part.amount.mass.unwrap().grams(), by_mass * exact(grams, 1));
            assert_exact(part.amount.volume.unwrap().millilitres(), by_volume * litres * exact(1000, 1));
        }
    }

    #[test]
    fn the_need_of_a_coat_is_exact(tenths in 1_u32..10_000, plain in practices()) {
        let size = SquareMetres::new(f64::from(tenths) / 10.0);
        let need = coat_need(&varnish(), size, &practice(plain)).unwrap();
        let (mixed, product) = exact_need(tenths, plain);
        assert_exact(need.product.volume.unwrap().millilitres(), product);
        let thinner = float(mixed - product);
        // A difference of two numbers is as good as the larger of them.
        prop_assert!((need.thinner.millilitres() - thinner).abs() <= 1e-12 * float(mixed));
        // 48 % of the film stays, of the thinned one less.
        assert_exact(need.dry.unwrap().micrometres(), exact(plain.0, 1) * exact(48, 100) / exact(100 + plain.3, 100));
    }

    #[test]
    fn a_weighed_portion_adds_up_and_no_part_is_off_by_a_step(label in labels(), steps in 1_u64..5000, tenths in 1_u32..50) {
        let step = Grams::new(f64::from(tenths) / 10.0);
        let shares = label.by_mass();
        let weighed = weigh(steps, &shares.iter().map(|share| float(*share)).collect::<Vec<_>>(), step);
        let whole: Vec<u64> = weighed.parts.iter().map(|part| (part.grams() / step.grams()).round() as u64).collect();
        prop_assert_eq!(whole.iter().sum::<u64>(), steps);
        let forgotten = shares.iter().any(|share| share * Exact::from(i128::from(steps)) < exact(1, 1));
        for (part, share) in whole.iter().zip(&shares) {
            let off = Exact::from(i128::from(*part)) - share * Exact::from(i128::from(steps));
            // So that a small part is not forgotten a large one gives way by a step more for each.
            let most = if forgotten { exact(3, 1) } else { exact(1, 1) };
            prop_assert!(off < most && -off < most, "{:?} of {:?}", whole, shares);
        }
        // The reported ratio is the true one.
        if whole.iter().all(|part| *part > 0) {
            let ratio = |index: usize| Exact::new(whole[index].into(), whole[0].into()) / (shares[index] / shares[0]);
            let off = (1..whole.len()).map(|index| (float(ratio(index)) - 1.0).abs() * 100.0).fold(0.0, f64::max);
            prop_assert!((weighed.off.percent() - off).abs() <= 1e-9 * off.max(1.0));
        }
    }

    #[test]
    fn a_well_weighed_portion_is_closer_to_its_ratio_and_hardly_larger(label in labels(), steps in 1_u64..5000) {
        let shares: Vec<f64> = label.by_mass().iter().map(|share| float(*share)).collect();
        let gram = Grams::new(1.0);
        let (plain, well) = (weigh(steps, &shares, gram), weigh_accurately(steps, &shares, gram));
        prop_assert!(well.off <= plain.off);
        let mass = well.mass().grams();
        let steps = steps as f64;
        prop_assert!((steps..=steps * 1.02).contains(&mass), "{} for {}", mass, steps);
        prop_assert!(mass == steps || (!plain.is_accurate() && well.is_accurate()), "more only for the ratio's sake");
    }

    #[test]
    fn batches_are_equal_and_together_the_whole(grams in 1_u32..200_000, count in 1_usize..60, tenths in 1_u32..50) {
        let steps = equal_portion(Grams::new(grams.into()), count, Grams::new(f64::from(tenths) / 10.0));
        let portion = exact(grams, 1) / Exact::from(count as i128) / exact(tenths, 10);
        prop_assert_eq!(i128::from(steps), portion.ceil().to_integer());
    }

    #[test]
    fn the_totals_are_the_coats(
        sizes in prop::collection::vec(1_u32..400, 1..5),
        coats in prop::collection::vec(0_usize..3, 1..6),
        plain in practices(),
    ) {
        const PRODUCTS: [&str; 3] = ["epoxy-sealer", "varnish-two-part", "varnish-alkyd"];
        let steps: Vec<String> = coats.iter().map(|index| format!("{{ coat = \"{}\" }}", PRODUCTS[*index])).collect();
        let area = |(index, tenths): (usize, &u32)| {
            let size = f64::from(*tenths) / 10.0;
            format!("[[area]]\nname = \"a{index}\"\nsquare_metres = {size}\nsteps = [{}]\n", steps.join(", "))
        };
        let text = format!("name = \"x\"\n{}", sizes.iter().enumerate().map(area).collect::<String>());
        let now = Moment::UNIX_EPOCH + TimeDelta::days(1);
        let scheme = Entry { id: EntryId(1), at: now, recorded: now, kind: EntryKind::Scheme { text } };
        let library = Library::built_in();
        let shop = Shop {
            air: &|_| (Celsius::new(18.0), AirFrom::Given),
            thermometer_error: KelvinDelta::new(1.0),
            pot: &PotBySheet,
            scale: Grams::new(1.0),
        };
        let asked = Asked { area: None, product: None, size: None, practice: practice(plain) };
        let all = Quantities::calculate(&Job::fold(&[scheme], now), &library, &asked, &shop);
        prop_assert_eq!(all.coats().count(), sizes.len() * coats.len());
        for product in &all.products {
            let layers = coats.iter().filter(|index| PRODUCTS[**index] == product.product.id).count();
            let wanted: Exact = sizes.iter().map(|tenths| exact_need(*tenths, plain).1).sum();
            let wanted = wanted * Exact::from(layers as i128);
            let found = product.here.1.volume.unwrap().millilitres();
            prop_assert!((found - float(wanted)).abs() <= 1e-11 * float(wanted), "{} is not {}", found, wanted);
            prop_assert_eq!(product.here, product.all);
            prop_assert_eq!(product.to_buy, product.here.1, "nothing is in stock");
            // What is weighed out in batches is the coat, each batch rounded up to a gram.
            for coat in all.coats().filter(|coat| coat.product.id == product.product.id) {
                let Some(mixing) = &coat.mixing else { continue };
                let weighed: f64 = mixing.batches.iter().map(|batch| batch.mass().grams()).sum();
                let mass = coat.need.product.mass.unwrap().grams();
                prop_assert!(mixing.batches.is_empty() || (mass - 1e-5 * mass.max(1.0)..=mass * 1.02 + mixing.batches.len() as f64).contains(&weighed));
                let small = mixing.batches.first().is_some_and(|batch| batch.mass().grams() < 50.0);
                let a_step_each = mass + mixing.batches.len() as f64 + 1e-9;
                let well = mixing.batches.iter().all(|batch| !small && batch.is_accurate());
                prop_assert!(mixing.batches.is_empty() || well || weighed <= a_step_each, "{} for {}", weighed, mass);
            }
        }
    }
}

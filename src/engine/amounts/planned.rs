//! The need of a plan's coats by product, and its cost at the prices paid.

use super::material::Material;
use super::need::{Practice, coat_need};
use super::stock::Ledger;
use crate::engine::job::Job;
use crate::engine::profile::Library;
use crate::engine::units::Money;

/// The need of the coats of one product.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductNeed {
    /// The product's id.
    pub product: String,
    /// The number of planned coats.
    pub coats: usize,
    /// Their need, as far as known.
    pub need: Material,
    /// The number of coats not in `need`: the area has no size, or the profile no film.
    pub uncounted: usize,
    /// The cost of `need` at the average price; None if no price is known.
    pub cost: Option<Money>,
}

/// The needs of coats, each given by area and product, in the order of the products' first coats.
pub fn planned_needs<'a>(
    job: &Job,
    library: &Library,
    practice: &Practice,
    coats: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> Vec<ProductNeed> {
    let mut needs: Vec<ProductNeed> = Vec::new();
    for (area, id) in coats {
        let size = job.area(area).and_then(|area| area.plan.as_ref()?.square_metres);
        let product = library.get(id).ok();
        let coat = product.zip(size).and_then(|(product, size)| coat_need(product, size, practice));
        let index = needs.iter().position(|need| need.product == id).unwrap_or_else(|| {
            let (need, uncounted, cost) = (Material::NONE, 0, None);
            needs.push(ProductNeed { product: id.to_owned(), coats: 0, need, uncounted, cost });
            needs.len() - 1
        });
        let of_product = &mut needs[index];
        of_product.coats += 1;
        match coat {
            Some(coat) => of_product.need = of_product.need.plus(coat.product),
            None => of_product.uncounted += 1,
        }
    }
    for need in needs.iter_mut().filter(|need| need.uncounted < need.coats) {
        let ledger = Ledger::of(job, &need.product, library.get(&need.product).ok(), practice);
        need.cost = ledger.worth(need.need);
    }
    needs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::config::Config;
    use crate::engine::job::{Amount, EntryKind};
    use crate::engine::units::SquareMetres;
    use crate::testing::Bench;

    const SCHEME: &str = "name = \"Hut\"\n[[area]]\nname = \"roof\"\nsquare_metres = 5\nsteps = [{ coat = \"varnish-alkyd\" }]\n\
        [[area]]\nname = \"door\"\nsteps = [{ coat = \"varnish-alkyd\" }]\n";
    const COATS: [(&str, &str); 4] = [
        ("roof", "varnish-alkyd"),
        ("roof", "varnish-alkyd"),
        ("door", "varnish-alkyd"),
        ("door", "oil-penetrating"),
    ];

    fn needs(came: Option<f64>) -> (Vec<ProductNeed>, Material) {
        let (library, practice) = (Library::built_in(), Practice::usual(&Config::default().amounts));
        let varnish = library.get("varnish-alkyd").unwrap();
        let one = coat_need(varnish, SquareMetres::new(5.0), &practice).unwrap().product;
        let mut bench = Bench::default().entry(0, EntryKind::Scheme { text: SCHEME.into() });
        if let Some(came) = came {
            bench = bench.entry(
                1,
                EntryKind::Stock {
                    product: "varnish-alkyd".into(),
                    amount: Amount::VolumeMl(one.times(came).volume.unwrap()),
                    price: Some("40.00".into()),
                    lot: None,
                },
            );
        }
        let job = Job::fold(&bench.entries(), crate::testing::at(5));
        (planned_needs(&job, &library, &practice, COATS), one)
    }

    #[test]
    fn what_the_planned_coats_need_is_summed_by_product() {
        let (needs, one) = needs(None);
        let varnish = &needs[0];
        assert_eq!((varnish.coats, varnish.uncounted, varnish.cost), (3, 1, None), "the door has no size");
        assert_eq!(varnish.need, Material::NONE.plus(one).plus(one));
        assert_eq!(
            (needs[1].product.as_str(), needs[1].coats, needs[1].uncounted),
            ("oil-penetrating", 1, 1)
        );
    }

    #[test]
    fn the_need_costs_the_average_price_even_if_it_exceeds_the_stock() {
        let cost = |came| needs(Some(came)).0[0].cost.unwrap();
        assert_eq!(cost(4.0), Money::parse("20.00").unwrap());
        assert_eq!(cost(0.5), Money::parse("160.00").unwrap());
    }
}

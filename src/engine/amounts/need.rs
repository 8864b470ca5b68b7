//! The need of one coat: on the area, lost, and left in the tools.

use super::film::{dry_film, thinned_solids};
use super::material::Material;
use crate::engine::config::Amounts;
use crate::engine::profile::Product;
use crate::engine::units::{Micrometres, Millilitres, Percent, SquareMetres, SquareMetresPerLitre};

/// How a person applies a coat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Practice {
    /// The wet film to apply, including thinner; None: the middle of the profile's range.
    pub film: Option<Micrometres>,
    /// The share of the coating that does not reach the area.
    pub loss: Percent,
    /// What stays in roller, brush and tray, per coat.
    pub in_tools: Millilitres,
    /// Thinner, as a share of the unthinned volume.
    pub thinner: Percent,
}

impl Practice {
    /// From the settings: the profile's film, not thinned.
    pub const fn usual(settings: &Amounts) -> Self {
        Self { film: None, loss: settings.loss, in_tools: settings.in_tools, thinner: Percent::new(0.0) }
    }
}

/// What one coat needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Need {
    /// The wet film to apply, including thinner.
    pub wet: Micrometres,
    /// The profile's range of the wet film, for the coating as thinned.
    pub asked: Option<(Micrometres, Micrometres)>,
    /// The dry film; None if the profile gives no solids.
    pub dry: Option<Micrometres>,
    /// The product, without thinner.
    pub product: Material,
    /// The thinner.
    pub thinner: Millilitres,
    /// Practical spreading rate of the product, with all losses.
    pub rate: SquareMetresPerLitre,
}

/// The need of a coat of a product on an area; None if neither the person nor the profile gives a film.
pub fn coat_need(product: &Product, area: SquareMetres, practice: &Practice) -> Option<Need> {
    let film = product.film.as_ref();
    let thinned = 1.0 + practice.thinner.percent() / 100.0;
    let asked = film.and_then(|film| film.wet);
    let asked = asked.map(|(thin, thick)| (times(thin, thinned), times(thick, thinned)));
    let middle =
        || asked.map(|(thin, thick)| times(Micrometres::new(thin.micrometres() + thick.micrometres()), 0.5));
    let wet = practice.film.or_else(middle)?;
    // 1 m² at 1 µm is 1 mL.
    let laid = area.square_metres() * wet.micrometres();
    let mixed = laid / (1.0 - practice.loss.percent() / 100.0) + practice.in_tools.millilitres();
    let volume = mixed / thinned;
    let solids = film.and_then(|film| film.volume_solids);
    Some(Need {
        wet,
        asked,
        dry: solids.map(|solids| dry_film(wet, thinned_solids(solids, practice.thinner))),
        product: Material::of_volume(Millilitres::new(volume), product.density()),
        thinner: Millilitres::new(mixed - volume),
        rate: SquareMetresPerLitre::new(area.square_metres() * 1000.0 / volume),
    })
}

fn times(film: Micrometres, factor: f64) -> Micrometres {
    Micrometres::new(film.micrometres() * factor)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::profile::Library;

    const BARE: Practice = Practice {
        film: None,
        loss: Percent::new(0.0),
        in_tools: Millilitres::new(0.0),
        thinner: Percent::new(0.0),
    };

    fn need(id: &str, area: f64, practice: &Practice) -> Need {
        let library = Library::built_in();
        coat_need(library.get(id).unwrap(), SquareMetres::new(area), practice).unwrap()
    }

    fn millilitres(need: &Need) -> f64 {
        need.product.volume.unwrap().millilitres()
    }

    #[test]
    fn ten_square_metres_of_75_micrometres_are_750_millilitres() {
        // The varnish goes on 60 to 90 µm wet and leaves 48 %.
        let bare = need("varnish-two-part", 10.0, &BARE);
        assert_eq!(bare.wet, Micrometres::new(75.0));
        assert_eq!(bare.dry, Some(Micrometres::new(36.0)));
        assert!((millilitres(&bare) - 750.0).abs() < 1e-9);
        assert!((bare.rate.square_metres_per_litre() - 1000.0 / 75.0).abs() < 1e-9);
    }

    #[test]
    fn losses_and_what_stays_in_the_roller_come_on_top() {
        let practice = Practice { loss: Percent::new(10.0), in_tools: Millilitres::new(40.0), ..BARE };
        let need = need("varnish-two-part", 10.0, &practice);
        assert!((millilitres(&need) - (750.0 / 0.9 + 40.0)).abs() < 1e-9);
    }

    #[test]
    fn a_thinned_coat_is_thicker_for_the_same_dry_film() {
        let practice = Practice { thinner: Percent::new(10.0), ..BARE };
        let need = need("varnish-two-part", 10.0, &practice);
        assert!((need.wet.micrometres() - 82.5).abs() < 1e-9);
        assert!((need.dry.unwrap().micrometres() - 36.0).abs() < 1e-9);
        assert!((millilitres(&need) - 750.0).abs() < 1e-9, "as much product as unthinned");
        assert!((need.thinner.millilitres() - 75.0).abs() < 1e-9);
    }

    #[test]
    fn the_film_may_be_said() {
        let practice = Practice { film: Some(Micrometres::new(60.0)), ..BARE };
        assert!((millilitres(&need("varnish-two-part", 1.0, &practice)) - 60.0).abs() < 1e-9);
    }

    #[test]
    fn without_a_film_there_is_no_amount() {
        let library = Library::built_in();
        let mut product = library.get("varnish-two-part").unwrap().clone();
        product.film = None;
        let area = SquareMetres::new(1.0);
        assert_eq!(coat_need(&product, area, &BARE), None);
        let practice = Practice { film: Some(Micrometres::new(60.0)), ..BARE };
        let need = coat_need(&product, area, &practice).unwrap();
        assert_eq!((need.dry, need.asked), (None, None));
    }
}

//! What one coat needs: what lies on the area, what is lost on the way, and what stays in roller and tray.

use super::film::{dry_film, thinned_solids};
use super::material::Material;
use crate::engine::config::Amounts;
use crate::engine::profile::Product;
use crate::engine::units::{Micrometres, Millilitres, Percent, SquareMetres, SquareMetresPerLitre};

/// How a person puts a coat on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Practice {
    /// The wet film to lay, thinner and all; None: the middle of what the profile asks.
    pub film: Option<Micrometres>,
    /// What of the coating never comes to lie on the area.
    pub loss: Percent,
    /// What stays in roller, brush and tray, once a coat.
    pub in_tools: Millilitres,
    /// Thinner, as a share of the unthinned volume.
    pub thinner: Percent,
}

impl Practice {
    /// As the settings have it: as thick as the profile asks, and not thinned.
    pub const fn usual(settings: &Amounts) -> Self {
        Self { film: None, loss: settings.loss, in_tools: settings.in_tools, thinner: Percent::new(0.0) }
    }
}

/// What one coat needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Need {
    /// The wet film to lay, thinner and all.
    pub wet: Micrometres,
    /// The wet film that the profile asks, thinnest and thickest, for the coating as it is thinned.
    pub asked: Option<(Micrometres, Micrometres)>,
    /// What stays of the film; None where the profile does not tell its solids.
    pub dry: Option<Micrometres>,
    /// The product, without thinner.
    pub product: Material,
    /// The thinner.
    pub thinner: Millilitres,
    /// How far a litre of the product goes, with all that is lost.
    pub rate: SquareMetresPerLitre,
}

/// What a coat of a product needs on an area; None where neither the person nor the profile says how thick
/// it is to be.
pub fn coat_need(product: &Product, area: SquareMetres, practice: &Practice) -> Option<Need> {
    let film = product.film.as_ref();
    let thinned = 1.0 + practice.thinner.percent() / 100.0;
    let asked = film.and_then(|film| film.wet);
    let asked = asked.map(|(thin, thick)| (times(thin, thinned), times(thick, thinned)));
    let middle =
        || asked.map(|(thin, thick)| times(Micrometres::new(thin.micrometres() + thick.micrometres()), 0.5));
    let wet = practice.film.or_else(middle)?;
    // A square metre of one micrometre is a millilitre.
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
        // The varnish is laid 60 to 90 µm wet and leaves 48 % of it.
        let bare = need("varnish-two-part", 10.0, &BARE);
        assert_eq!(bare.wet, Micrometres::new(75.0));
        assert_eq!(bare.dry, Some(Micrometres::new(36.0)));
        assert!((millilitres(&bare) - 750.0).abs() < 1e-9);
        assert!((bare.rate.square_metres_per_litre() - 1000.0 / 75.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_lost_and_what_stays_in_the_roller_comes_on_top() {
        let practice = Practice { loss: Percent::new(10.0), in_tools: Millilitres::new(40.0), ..BARE };
        let need = need("varnish-two-part", 10.0, &practice);
        assert!((millilitres(&need) - (750.0 / 0.9 + 40.0)).abs() < 1e-9);
    }

    #[test]
    fn thinned_it_lies_thicker_to_leave_the_same_dry_film() {
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

//! Film build-up: measured wet films, dry films, and what the products require.

use super::film::dry_film;
use super::stock::mean_film;
use crate::engine::job::{Area, Coat};
use crate::engine::profile::{Library, Product};
use crate::engine::units::Micrometres;

/// From the thinnest to the thickest.
pub type Range = (Micrometres, Micrometres);

/// A spot on which a film was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// The reading of the comb.
    pub wet: Micrometres,
    /// How it fits the required range.
    pub fits: Fits,
}

/// How a film fits the required range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fits {
    /// Too thin.
    Thin,
    /// In range, or no range is given.
    Well,
    /// Too thick.
    Thick,
}

impl Fits {
    /// How a film fits a range.
    pub fn of(film: Micrometres, asked: Option<Range>) -> Self {
        match asked {
            Some((thin, _)) if film < thin => Self::Thin,
            Some((_, thick)) if film > thick => Self::Thick,
            _ => Self::Well,
        }
    }
}

/// The film of one coat.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatFilm {
    /// Which coat, from 1.
    pub layer: usize,
    /// The product's id.
    pub product: String,
    /// In the order of entry; empty if not measured.
    pub spots: Vec<Spot>,
    /// The required wet film.
    pub asked: Option<Range>,
    /// The mean of the spots.
    pub wet: Option<Micrometres>,
    /// The dry film: from the mean, else from the middle of the required range; None if the profile gives no
    /// solids.
    pub dry: Option<Micrometres>,
    /// The dry films of the required range.
    pub asked_dry: Option<Range>,
}

/// The films of an area.
#[derive(Debug, Clone, PartialEq)]
pub struct BuildUp {
    /// By coat, from the ground up.
    pub coats: Vec<CoatFilm>,
    /// Sum of the dry films; None if no profile gives one.
    pub dry: Option<Micrometres>,
    /// Sum of the required dry films of those coats.
    pub asked: Option<Range>,
}

impl BuildUp {
    /// The films of an area.
    pub fn of(area: &Area, library: &Library) -> Self {
        let coats: Vec<CoatFilm> = area
            .coats
            .iter()
            .map(|coat| {
                let product = library.get(&coat.product).ok();
                CoatFilm::of(area, coat, product)
            })
            .collect();
        let add = |a: Micrometres, b: Micrometres| Micrometres::new(a.micrometres() + b.micrometres());
        let dry = coats.iter().filter_map(|coat| coat.dry).reduce(add);
        let asked = coats.iter().filter_map(|coat| coat.asked_dry);
        let asked = asked.reduce(|a, b| (add(a.0, b.0), add(a.1, b.1)));
        Self { coats, dry, asked }
    }

    /// The coats that were not measured, whose film counts as the required one.
    pub fn taken_as_asked(&self) -> impl Iterator<Item = &CoatFilm> {
        self.coats.iter().filter(|coat| coat.wet.is_none() && coat.dry.is_some())
    }

    /// The coats whose film is unknown and not counted.
    pub fn unknown(&self) -> impl Iterator<Item = &CoatFilm> {
        self.coats.iter().filter(|coat| coat.dry.is_none())
    }
}

impl CoatFilm {
    fn of(area: &Area, coat: &Coat, product: Option<&Product>) -> Self {
        let film = product.and_then(|product| product.film.as_ref());
        let asked = film.and_then(|film| film.wet);
        let solids = film.and_then(|film| film.volume_solids);
        let spots = area.films_on(coat).flat_map(|film| &film.spots);
        let wet = mean_film(area, coat);
        let middle = asked.map(|(thin, thick)| (thin.micrometres() + thick.micrometres()) / 2.0);
        let counts = wet.or(middle.map(Micrometres::new));
        let asked_dry = asked.zip(solids).map(|((a, b), solids)| (dry_film(a, solids), dry_film(b, solids)));
        Self {
            layer: coat.layer,
            product: coat.product.clone(),
            spots: spots.map(|wet| Spot { wet: *wet, fits: Fits::of(*wet, asked) }).collect(),
            asked,
            wet,
            dry: counts.zip(solids).map(|(wet, solids)| dry_film(wet, solids)),
            asked_dry,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::job::EntryKind;
    use crate::testing::Bench;

    fn films(spots: &[f64]) -> EntryKind {
        let micrometres = spots.iter().map(|spot| Micrometres::new(*spot)).collect();
        EntryKind::WetFilm { area: "roof".into(), micrometres }
    }

    fn roof(bench: &Bench) -> BuildUp {
        BuildUp::of(bench.job(5000).area("roof").unwrap(), &Library::built_in())
    }

    const fn um(value: f64) -> Micrometres {
        Micrometres::new(value)
    }

    #[test]
    fn thin_and_thick_spots_are_distinguished() {
        // 60 to 90 µm are required, 48 % stays.
        let bench =
            Bench::default().coat("roof", "varnish-two-part", 0, 20).entry(2, films(&[50.0, 60.0, 100.0]));
        let roof = roof(&bench.entry(10, films(&[90.0])));
        let [coat] = &roof.coats[..] else { panic!("one coat") };
        let fits: Vec<Fits> = coat.spots.iter().map(|spot| spot.fits).collect();
        assert_eq!(fits, [Fits::Thin, Fits::Well, Fits::Thick, Fits::Well]);
        assert_eq!((coat.wet, coat.dry), (Some(um(75.0)), Some(um(36.0))));
        assert_eq!(roof.asked, Some((um(28.8), um(43.2))));
    }

    #[test]
    fn a_coat_that_was_not_measured_counts_as_required_and_is_named() {
        let bench = Bench::default()
            .coat("roof", "varnish-two-part", 0, 20)
            .coat("roof", "varnish-two-part", 200, 220)
            .entry(210, films(&[80.0]));
        let roof = roof(&bench);
        assert!((roof.dry.unwrap().micrometres() - (75.0 + 80.0) * 0.48).abs() < 1e-9);
        assert_eq!(roof.taken_as_asked().map(|coat| coat.layer).collect::<Vec<_>>(), [1]);
    }

    #[test]
    fn a_coat_whose_profile_gives_no_film_is_not_counted() {
        let bench = Bench::default().coat("roof", "gone", 0, 20).entry(5, films(&[80.0]));
        let roof = roof(&bench);
        assert_eq!((roof.dry, roof.asked), (None, None));
        assert_eq!(roof.coats[0].spots, [Spot { wet: um(80.0), fits: Fits::Well }]);
        assert_eq!(roof.unknown().count(), 1);
    }

    #[test]
    fn the_films_of_a_coat_that_was_taken_back_are_dropped() {
        // Measured before any coat: belongs to none.
        let bench = Bench::default().entry(0, films(&[80.0])).coat("roof", "varnish-two-part", 5, 20);
        assert!(roof(&bench).coats[0].spots.is_empty());
    }
}

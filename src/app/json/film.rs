//! The film of a coat as JSON.

use serde::Serialize;

use crate::engine::amounts::{BuildUp, CoatFilm, Fits, Range, WetOnWet};
use crate::engine::units::Micrometres;

/// `film` of a coat in `status --json`.
#[derive(Debug, Clone, Serialize)]
pub struct FilmStatus {
    wet_um: Vec<f64>,
    wet_mean_um: Option<f64>,
    dry_um: Option<f64>,
    asked_wet_um: Option<[f64; 2]>,
    thin_spots: Vec<usize>,
    thick_spots: Vec<usize>,
    area_dry_um: Option<f64>,
    area_asked_dry_um: Option<[f64; 2]>,
    coats_not_measured: Vec<usize>,
}

/// `wet_on_wet` of a coat in `status --json`.
#[derive(Debug, Clone, Serialize)]
pub struct WetOnWetStatus {
    coats: usize,
    most: usize,
    left: usize,
}

impl FilmStatus {
    /// The film of a coat, and of all coats up to the newest.
    pub fn of(films: &BuildUp, layer: usize) -> Option<Self> {
        let coat = films.coats.iter().find(|coat| coat.layer == layer)?;
        let um = |film: Micrometres| (film.micrometres() * 10.0).round() / 10.0;
        let range = |range: Range| [um(range.0), um(range.1)];
        Some(Self {
            wet_um: coat.spots.iter().map(|spot| um(spot.wet)).collect(),
            wet_mean_um: coat.wet.map(um),
            dry_um: coat.dry.map(um),
            asked_wet_um: coat.asked.map(range),
            thin_spots: spots(coat, Fits::Thin),
            thick_spots: spots(coat, Fits::Thick),
            area_dry_um: films.dry.map(um),
            area_asked_dry_um: films.asked.map(range),
            coats_not_measured: films.coats.iter().filter(|c| c.wet.is_none()).map(|c| c.layer).collect(),
        })
    }
}

impl WetOnWetStatus {
    /// As JSON.
    pub const fn of(wet: WetOnWet) -> Self {
        Self { coats: wet.on, most: wet.most, left: wet.left() }
    }
}

/// The spots of a coat with this fit, from 1.
fn spots(coat: &CoatFilm, fits: Fits) -> Vec<usize> {
    let fitting = coat.spots.iter().enumerate().filter(|(_, spot)| spot.fits == fits);
    fitting.map(|(index, _)| index + 1).collect()
}

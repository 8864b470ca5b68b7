//! `film`: a wet film was measured.

use std::io::Write;

use clap::Args;

use super::Failure;
use super::entries::execute;
use super::setup::Setup;
use crate::app::session::{Order, SessionError};
use crate::engine::units::Micrometres;

#[derive(Debug, Args)]
pub struct FilmArguments {
    /// The area
    pub area: String,
    /// What the comb or the wheel shows, spot by spot: 80um 90um, or 3mil
    #[arg(required = true, value_name = "FILM", allow_negative_numbers = true)]
    pub spots: Vec<String>,
    /// Record it in spite of the question
    #[arg(long)]
    pub yes: bool,
}

pub fn run(setup: &Setup, arguments: &FilmArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let unit = setup.config.units.area;
    let spots = arguments.spots.iter().map(|text| Micrometres::parse(text, unit));
    let spots = spots.collect::<Result<Vec<_>, _>>().map_err(SessionError::from)?;
    let order = Order::WetFilm { area: arguments.area.clone(), spots, sure: arguments.yes };
    execute(setup, &mut setup.session()?, order, out)
}

//! `correct`: replaces a wrong entry.

use std::io::Write;

use clap::Args;

use super::Failure;
use super::entries::answer;
use super::setup::Setup;
use crate::app::session::{Clock, Order};
use crate::engine::job::{Change, Detail, EntryId};

/// What it should have been. "none" takes out what may be left out; --at corrects the time.
#[derive(Debug, Args)]
pub struct CorrectArguments {
    /// The number of the entry, as "curewright record" shows it
    pub entry: i64,
    /// The area
    #[arg(long)]
    pub area: Option<String>,
    /// The product
    #[arg(long)]
    pub product: Option<String>,
    /// What goes on after the coat
    #[arg(long, value_name = "PRODUCT")]
    pub next: Option<String>,
    /// The number of the batch
    #[arg(long, value_name = "N")]
    pub batch: Option<String>,
    /// Which step: sand, wash, tape-on or tape-off
    #[arg(long)]
    pub step: Option<String>,
    /// How long it took
    #[arg(long, value_name = "N")]
    pub minutes: Option<String>,
    /// The temperature of the air, or of the batch
    #[arg(long, allow_hyphen_values = true)]
    pub temperature: Option<String>,
    /// Relative humidity in per cent
    #[arg(long, value_name = "P")]
    pub humidity: Option<String>,
    /// The temperature of the surface
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub surface: Option<String>,
    /// The place
    #[arg(long)]
    pub place: Option<String>,
    /// The mass of the batch
    #[arg(long)]
    pub mass: Option<String>,
    /// What the batch stands in: cup, or the depth in a tray
    #[arg(long, value_name = "cup|DEPTH")]
    pub vessel: Option<String>,
    /// The wet film, spot by spot: "80, 95"
    #[arg(long)]
    pub film: Option<String>,
    /// How much was bought: 2.5L or 4kg
    #[arg(long)]
    pub amount: Option<String>,
    /// What it cost
    #[arg(long)]
    pub price: Option<String>,
    /// The number on the tin
    #[arg(long)]
    pub lot: Option<String>,
    /// The words of the note
    #[arg(long)]
    pub text: Option<String>,
    /// Where the photo lies
    #[arg(long, value_name = "PATH")]
    pub photo: Option<String>,
    /// Why coats were taken off
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
}

impl CorrectArguments {
    fn changes(self) -> Vec<Change> {
        let given = [
            (Detail::Area, self.area),
            (Detail::Product, self.product),
            (Detail::Next, self.next),
            (Detail::Batch, self.batch),
            (Detail::Step, self.step),
            (Detail::Minutes, self.minutes),
            (Detail::Temperature, self.temperature),
            (Detail::Humidity, self.humidity),
            (Detail::Surface, self.surface),
            (Detail::Place, self.place),
            (Detail::Mass, self.mass),
            (Detail::Vessel, self.vessel),
            (Detail::Film, self.film),
            (Detail::Amount, self.amount),
            (Detail::Price, self.price),
            (Detail::Lot, self.lot),
            (Detail::Text, self.text),
            (Detail::Photo, self.photo.map(absolute)),
            (Detail::Why, self.why),
        ];
        given.into_iter().filter_map(|(detail, text)| Some(Change { detail, text: text? })).collect()
    }
}

/// As a note's photo is kept.
fn absolute(path: String) -> String {
    if path.eq_ignore_ascii_case("none") {
        return path;
    }
    std::path::absolute(&path).map_or(path, |absolute| absolute.display().to_string())
}

pub fn run(setup: &Setup, correct: CorrectArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let entry = EntryId(correct.entry);
    let order = Order::Correct { entry, changes: correct.changes() };
    // The given moment is that of the entry; the correction is made now.
    let mut session = setup.session_at(Clock::Wall)?;
    let done = session.execute(order, setup.at)?;
    answer(setup, &done, out)?;
    Ok(0)
}

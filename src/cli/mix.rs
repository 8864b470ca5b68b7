//! `mix`, `emptied`: a batch, from its mixing to its end.

use std::io::Write;

use clap::{Args, ValueEnum};
use serde_json::{Value, json};

use super::setup::Setup;
use super::{Failure, entries, json};
use crate::app::json::parts_json;
use crate::app::session::{Mixed, Mixing, Order, SessionError};
use crate::engine::job::{EntryId, Vessel};
use crate::engine::units::{Celsius, Grams, Millimetres, rfc3339};

#[derive(Debug, Args)]
pub struct MixArguments {
    /// The product's id
    pub product: String,
    /// All parts together: 300g, 0.3kg, 10.6oz
    #[arg(long, value_name = "MASS", allow_hyphen_values = true)]
    pub mass: String,
    /// What it stands in
    #[arg(long = "in", value_name = "VESSEL", default_value = "cup")]
    pub vessel: Kind,
    /// How deep a tray is filled: 10mm, 1cm, 0.4in
    #[arg(long, value_name = "DEPTH", required_if_eq("vessel", "tray"), allow_hyphen_values = true)]
    pub depth: Option<String>,
    /// How warm the parts are; left out: as the air
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub batch_temperature: Option<String>,
    /// Where it stands; left out: the first place of the job
    #[arg(long)]
    pub place: Option<String>,
    /// Only tell what would come of it; exit status 1 where it would be dangerous or nobody knows
    #[arg(long, conflicts_with = "yes")]
    pub ask: bool,
    /// Record it in spite of the question
    #[arg(long)]
    pub yes: bool,
}

/// What a batch stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// A cup, about as deep as it is wide
    Cup,
    /// A tray, filled to --depth
    Tray,
}

pub fn mix(setup: &Setup, mix: MixArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    let units = setup.config.units;
    let mass = Grams::parse(&mix.mass, units.mass).map_err(SessionError::from)?;
    let depth = mix.depth.as_deref().map(Millimetres::parse).transpose().map_err(SessionError::from)?;
    let vessel = match (mix.vessel, depth) {
        (Kind::Cup, None) => Vessel::Cup,
        (Kind::Tray, Some(depth_mm)) => Vessel::Tray { depth_mm },
        (Kind::Cup, Some(_)) => {
            return Err(Failure::Input("--depth is for a tray: add --in tray, or leave --depth out".into()));
        }
        (Kind::Tray, None) => {
            return Err(Failure::Input("how deep is the tray filled? Add --depth 10mm".into()));
        }
    };
    let celsius = |text: &str| Celsius::parse(text, units.temperature).map_err(SessionError::from);
    let temperature = mix.batch_temperature.as_deref().map(celsius).transpose()?;
    let mixing = Mixing { product: mix.product, mass, vessel, temperature, place: mix.place, sure: mix.yes };
    let mut session = setup.session()?;
    let mixed =
        if mix.ask { session.would_mix(&mixing, setup.at)? } else { session.mix(&mixing, setup.at)? };
    if setup.json {
        json(out, &document(&mixed, &mixing, mix.ask)?)?;
    } else {
        entries::answer(setup, &mixed.done, out)?;
    }
    Ok(u8::from(mix.ask && !mixed.status.is_cleared()))
}

/// The batch as in `status --json`, with additional keys. In each of its `parts` `mass_g` and `volume_ml` are
/// exact; `weighed_g` is the text's value in whole steps of the scale. The sum is `weighed_mass_g`, and the
/// error of its ratio `ratio_off_percent`; null if the profile gives no ratio by mass.
fn document(mixed: &Mixed, mixing: &Mixing, asked: bool) -> Result<Value, Failure> {
    let mut batch = serde_json::to_value(&mixed.status).map_err(std::io::Error::from)?;
    if asked {
        batch["id"] = Value::Null;
    }
    batch["vessel"] = match mixing.vessel {
        Vessel::Cup => json!("cup"),
        Vessel::Tray { .. } => json!("tray"),
    };
    batch["depth_mm"] = match mixing.vessel {
        Vessel::Cup => Value::Null,
        Vessel::Tray { depth_mm } => json!(depth_mm),
    };
    let weighed = mixed.weighed.as_ref();
    let mut parts = parts_json(&mixed.parts);
    for (index, part) in parts.iter_mut().enumerate() {
        part["weighed_g"] =
            json!(weighed.and_then(|weighed| weighed.parts.get(index)).copied().map(in_grams));
    }
    batch["parts"] = json!(parts);
    batch["weighed_mass_g"] = json!(weighed.map(|weighed| in_grams(weighed.mass())));
    batch["ratio_off_percent"] = json!(weighed.map(|weighed| thousandths(weighed.off.percent())));
    batch["usable_from"] = json!(mixed.usable_from.map(rfc3339));
    batch["left_c"] = json!(mixed.left.map(|(left, _)| left.degrees().round()));
    batch["runs_away"] = json!(mixed.left.map(|(_, runs_away)| runs_away));
    batch["outside"] = json!(mixed.outside);
    batch["safe"] = match &mixed.safer {
        None => Value::Null,
        Some(safer) => json!({
            "cup_mass_g": safer.cup,
            "tray_depth_mm": safer.tray,
            "batch_temperature_c": safer.cooler,
        }),
    };
    batch["says"] = json!(mixed.done.says);
    batch["cautions"] = json!(mixed.done.cautions);
    Ok(batch)
}

fn in_grams(mass: Grams) -> f64 {
    thousandths(mass.grams())
}

fn thousandths(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

pub fn emptied(setup: &Setup, batch: Option<i64>, out: &mut dyn Write) -> Result<u8, Failure> {
    let order = Order::Emptied { batch: batch.map(EntryId) };
    let done = setup.session()?.execute(order, setup.at)?;
    entries::answer(setup, &done, out)?;
    Ok(0)
}

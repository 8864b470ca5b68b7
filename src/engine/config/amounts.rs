//! Settings of rollers, trays, scales and currency.

use serde::Deserialize;

use crate::engine::units::{Grams, Millilitres, Percent, Units, clean};

/// The settings of amounts.
#[derive(Debug, Clone, PartialEq)]
pub struct Amounts {
    /// The share of a coating that does not reach the area.
    pub loss: Percent,
    /// What stays in roller, brush and tray, per coat.
    pub in_tools: Millilitres,
    /// The step of the scale.
    pub scale: Grams,
    /// The currency after a price.
    pub currency: String,
}

/// Brush and roller lose about so much, and a small roller with its tray keeps about so much: common practice,
/// no source.
const LOSS: Percent = Percent::new(5.0);
const IN_TOOLS: Millilitres = Millilitres::new(40.0);

impl Amounts {
    /// Those of a person who has set nothing but the units.
    pub fn usual(units: &Units) -> Self {
        Self { loss: LOSS, in_tools: IN_TOOLS, scale: units.usual_scale(), currency: String::new() }
    }
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAmounts {
    loss: Option<f64>,
    in_tools: Option<String>,
    scale: Option<String>,
    currency: Option<String>,
}

impl RawAmounts {
    pub(super) fn check(self, units: &Units) -> Result<Amounts, String> {
        let usual = Amounts::usual(units);
        let loss = self.loss.map_or(usual.loss, Percent::new);
        if !(0.0..=MOST_LOST).contains(&loss.percent()) {
            return Err("amounts.loss must be between 0 and 90 %".into());
        }
        let in_tools = match self.in_tools.as_deref().map(str::trim) {
            None => usual.in_tools,
            Some("0") => Millilitres::new(0.0),
            Some(text) => Millilitres::parse(text, units.volume)
                .map_err(|error| format!("amounts.in_tools: {error}"))?,
        };
        let scale = match self.scale {
            None => usual.scale,
            Some(text) => {
                Grams::parse(&text, units.mass).map_err(|error| format!("amounts.scale: {error}"))?
            }
        };
        if !(0.001..=1000.0).contains(&scale.grams()) {
            return Err("amounts.scale must be between 0.001 g and 1 kg".into());
        }
        let currency = clean(self.currency.unwrap_or_default().trim());
        if currency.chars().count() > 12 {
            return Err("amounts.currency is a word such as \"EUR\"".into());
        }
        Ok(Amounts { loss, in_tools, scale, currency })
    }
}

/// A higher loss is not plausible.
pub const MOST_LOST: f64 = 90.0;

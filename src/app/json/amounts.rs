//! Amounts as JSON. The keys are a contract.

use serde_json::{Value, json};

use crate::app::wording::Words;
use crate::engine::amounts::{
    AirFrom, Alternatives, AreaQuantity, CoatQuantity, Impractical, KnownBy, Ledger, Material, Mixing,
    NoSplit, Part, ProductQuantity, Quantities, UsableBy, Weighed,
};
use crate::engine::job::Stock;
use crate::engine::units::{Grams, Micrometres, Millilitres, Moment, rfc3339};

/// `quantity --json`. `batches` and keys that begin with `batch_` are for a cup; `alternatives` is the text's
/// advice if that is impractical, else null.
pub fn quantities_json(all: &Quantities<'_>, words: &Words, now: Moment) -> Value {
    json!({
        "at": rfc3339(now),
        "areas": all.areas.iter().map(|area| area_json(area, words)).collect::<Vec<_>>(),
        "products": all.products.iter().map(product_json).collect::<Vec<_>>(),
    })
}

/// `stock --json`
pub fn stock_json(ledgers: &[Ledger], currency: &str, now: Moment) -> Value {
    let paid = ledgers.iter().filter_map(|ledger| ledger.paid).sum::<crate::engine::units::Money>();
    json!({
        "at": rfc3339(now),
        "currency": (!currency.is_empty()).then_some(currency),
        "paid": paid.to_string(),
        "products": ledgers.iter().map(ledger_json).collect::<Vec<_>>(),
    })
}

fn area_json(area: &AreaQuantity<'_>, words: &Words) -> Value {
    json!({
        "area": area.area,
        "square_metres": area.size.map(|size| size.square_metres()),
        "coats": area.coats.iter().map(|coat| coat_json(coat, &area.area)).collect::<Vec<_>>(),
        "cannot": area.cannot.iter().map(|why| words.why_not(why, &area.area)).collect::<Vec<_>>(),
    })
}

fn coat_json(coat: &CoatQuantity<'_>, area: &str) -> Value {
    let need = &coat.need;
    let mixing = coat.mixing.as_ref();
    let split = mixing.and_then(|mixing| mixing.split.ok());
    json!({
        "area": area,
        "layer": coat.layer,
        "product": coat.product.id,
        "wet_um": um(need.wet),
        "asked_wet_um": need.asked.map(|(thin, thick)| [um(thin), um(thick)]),
        "dry_um": need.dry.map(um),
        "mass_g": need.product.mass.map(grams),
        "volume_ml": need.product.volume.map(millilitres),
        "thinner_ml": millilitres(need.thinner),
        "spreading_m2_per_l": tenth(need.rate.square_metres_per_litre(), 1000.0),
        "parts": parts_json(&coat.parts),
        "batches": mixing.map(|m| m.batches.iter().map(|b| grams(b.mass())).collect::<Vec<_>>()).unwrap_or_default(),
        "batch_parts_g": mixing.map(|m| m.batches.iter().map(weighed_json).collect::<Vec<_>>()).unwrap_or_default(),
        "ratio_off_percent": mixing.and_then(|mixing| ratio_off(&mixing.batches)),
        "batch_spread_s": split.and_then(|split| split.spread).map(|spread| spread.num_seconds()),
        "batch_usable_s": split.map(|split| split.usable.num_seconds()),
        "batch_usable_by": split.map(|split| match split.by {
            UsableBy::Sheet => "sheet",
            UsableBy::Model { .. } => "model",
        }),
        "pace": mixing.and_then(|mixing| mixing.pace).map(|pace| match pace.known {
            KnownBy::Area(_) => "area",
            KnownBy::Others(_) => "others",
            KnownBy::Scheme => "scheme",
        }),
        "temperature_c": mixing.map(|mixing| tenth(mixing.air.0.degrees(), 1000.0)),
        "assumed": mixing.map(assumed).unwrap_or_default(),
        "way_out": mixing.and_then(|mixing| mixing.alternatives.as_ref()).map(way_out_json),
    })
}

fn assumed(mixing: &Mixing) -> Vec<&'static str> {
    let mut assumed = Vec::new();
    if mixing.air.1 == AirFrom::Unread {
        assumed.push("temperature");
    }
    if mixing.pace.is_none_or(|pace| matches!(pace.known, KnownBy::Others(_))) {
        assumed.push("pace");
    }
    let tray = mixing.alternatives.as_ref().and_then(|alternatives| alternatives.tray.as_ref());
    let split = tray.map_or(mixing.split, |tray| Ok(tray.split));
    if mixing.extrapolated || split.is_ok_and(|split| split.basis) {
        assumed.push("pot_life");
    }
    if split.is_ok_and(|split| matches!(split.by, UsableBy::Model { estimated: true, .. })) {
        assumed.push("self_warming");
    }
    assumed
}

fn ratio_off(batches: &[Weighed]) -> Option<f64> {
    let off = batches.iter().map(|batch| batch.off.percent());
    off.reduce(f64::max).map(|off| tenth(off, 1000.0))
}

fn way_out_json(alternatives: &Alternatives) -> Value {
    let seconds = |time: chrono::TimeDelta| time.num_seconds();
    json!({
        "why": match alternatives.why {
            Impractical::Many => "many",
            Impractical::Little => "little",
            Impractical::Short => "short",
            Impractical::None(NoSplit::TooHot) => "hot",
            Impractical::None(_) => "none",
        },
        "tray": alternatives.tray.as_ref().map(|tray| json!({
            "depth_mm": tray.depth,
            "side_mm": tray.side.millimetres().ceil(),
            "batches": tray.batches.iter().map(|batch| grams(batch.mass())).collect::<Vec<_>>(),
            "batch_parts_g": tray.batches.iter().map(weighed_json).collect::<Vec<_>>(),
            "ratio_off_percent": ratio_off(&tray.batches),
            "batch_spread_s": tray.split.spread.map(seconds),
            "batch_usable_s": seconds(tray.split.usable),
        })),
        "slower": alternatives.slower.as_ref().map(|slower| json!({
            "product": slower.product,
            "mass_g": grams(slower.mass),
            "batches": slower.split.count,
            "batch_usable_s": seconds(slower.split.usable),
        })),
        "cooler": alternatives.cooler.map(|cooler| json!({
            "temperature_c": tenth(cooler.air.degrees(), 1000.0),
            "batches": cooler.split.count,
            "batch_usable_s": seconds(cooler.split.usable),
        })),
        "square_metres_at_a_time": alternatives.at_a_time.map(|size| tenth(size.square_metres(), 10.0)),
    })
}

fn weighed_json(batch: &Weighed) -> Vec<f64> {
    batch.parts.iter().map(|part| grams(*part)).collect()
}

/// The parts of a mix, as `quantity --json` and `mix --json` have them.
pub fn parts_json(parts: &[Part]) -> Vec<Value> {
    let part = |part: &Part| {
        json!({
            "name": part.name,
            "mass_g": part.amount.mass.map(grams),
            "volume_ml": part.amount.volume.map(millilitres),
        })
    };
    parts.iter().map(part).collect()
}

fn product_json(product: &ProductQuantity<'_>) -> Value {
    json!({
        "product": product.product.id,
        "coats": product.here.0,
        "mass_g": product.here.1.mass.map(grams),
        "volume_ml": product.here.1.volume.map(millilitres),
        "parts": parts_json(&product.parts),
        "piece_coats": product.all.0,
        "piece": material_json(product.all.1),
        "stock_entered": !product.ledger.bought.is_empty(),
        "left": material_json(product.ledger.left),
        "to_buy": material_json(product.to_buy),
    })
}

fn ledger_json(ledger: &Ledger) -> Value {
    let tin = |stock: &Stock| {
        json!({
            "entry": stock.id,
            "at": rfc3339(stock.at),
            "amount": stock.amount,
            "price": stock.price,
            "lot": stock.lot,
        })
    };
    json!({
        "product": ledger.product,
        "bought": ledger.bought.iter().map(tin).collect::<Vec<_>>(),
        "came": material_json(ledger.came),
        "used": material_json(ledger.used.all),
        "used_batches": ledger.used.batches,
        "used_coats": ledger.used.coats,
        "uncounted_coats": ledger.used.uncounted,
        "left": material_json(ledger.left),
        "short": ledger.is_short(),
        "paid": ledger.paid.map(|paid| paid.to_string()),
        "used_up": ledger.used_up.map(|used| used.to_string()),
    })
}

fn material_json(material: Material) -> Value {
    json!({ "mass_g": material.mass.map(grams), "volume_ml": material.volume.map(millilitres) })
}

fn grams(value: Grams) -> f64 {
    tenth(value.grams(), 1000.0)
}

fn millilitres(value: Millilitres) -> f64 {
    tenth(value.millilitres(), 1000.0)
}

fn um(value: Micrometres) -> f64 {
    tenth(value.micrometres(), 10.0)
}

fn tenth(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts
}

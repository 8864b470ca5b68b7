//! The JSON of the `profile` commands: SI units, named in the keys.

use std::collections::BTreeMap;
use std::io::{self, Write};

use serde::Serialize;

use super::{Fault, Library, Origin, Product, named};
use crate::app::json::write_pretty;
use crate::engine::profile::{Mix, Recoat, TimeTable};

/// One object on lines of its own.
pub(super) fn write<T: Serialize>(out: &mut dyn Write, value: &T) -> io::Result<()> {
    write_pretty(out, value)?;
    writeln!(out)
}

#[derive(Serialize)]
pub(super) struct List<'p> {
    products: Vec<Head<'p>>,
    faults: Vec<FaultView<'p>>,
}

impl<'p> List<'p> {
    pub(super) fn of(library: &'p Library) -> Self {
        Self {
            products: library.iter().map(Head::of).collect(),
            faults: library.faults().iter().map(FaultView::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct Head<'p> {
    id: &'p str,
    name: &'p str,
    family: &'p str,
    cure: &'static str,
    basis: &'p str,
    /// The user's file; null for what is built in.
    file: Option<String>,
}

impl<'p> Head<'p> {
    fn of(product: &'p Product) -> Self {
        let file = match &product.origin {
            Origin::BuiltIn => None,
            Origin::File(path) => Some(named(path)),
        };
        Self {
            id: &product.id,
            name: &product.name,
            family: &product.family,
            cure: product.cure.key(),
            basis: &product.basis,
            file,
        }
    }
}

#[derive(Serialize)]
struct FaultView<'f> {
    file: &'f str,
    line: usize,
    column: usize,
    what: &'f str,
    mend: &'f str,
}

impl<'f> FaultView<'f> {
    fn of(fault: &'f Fault) -> Self {
        Self {
            file: &fault.file,
            line: fault.line,
            column: fault.column,
            what: &fault.what,
            mend: &fault.mend,
        }
    }
}

#[derive(Serialize)]
pub(super) struct Verdict<'f> {
    file: &'f str,
    sound: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<&'f str>,
    faults: Vec<FaultView<'f>>,
    /// What may be meant so, but seldom is.
    warnings: Vec<FaultView<'f>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unfilled: Option<&'static str>,
}

impl<'f> Verdict<'f> {
    pub(super) fn of(file: &'f str, read: &'f Result<Product, Vec<Fault>>, warnings: &'f [Fault]) -> Self {
        let faults = read.as_ref().err().into_iter().flatten().map(FaultView::of).collect();
        let product = read.as_ref().ok();
        let unfilled = product.and_then(crate::engine::profile::unfilled);
        let id = product.map(|product| product.id.as_str());
        let warnings = warnings.iter().map(FaultView::of).collect();
        Self { file, sound: read.is_ok(), id, faults, warnings, unfilled }
    }
}

#[derive(Serialize)]
struct PointView {
    temperature_c: f64,
    time_s: f64,
    /// Both ends, where the data sheet gives a range.
    #[serde(skip_serializing_if = "Option::is_none")]
    range_s: Option<[i64; 2]>,
}

fn points(table: &TimeTable) -> Vec<PointView> {
    let seconds = |point: &crate::engine::profile::Point| point.time.num_milliseconds() as f64 / 1000.0;
    let range = |point: &crate::engine::profile::Point| {
        let range = table.ranges().iter().find(|range| range.at == point.at)?;
        Some([range.shortest.num_seconds(), range.longest.num_seconds()])
    };
    let view = |p: &crate::engine::profile::Point| PointView {
        temperature_c: p.at.degrees(),
        time_s: seconds(p),
        range_s: range(p),
    };
    table.points().iter().map(view).collect()
}

/// A product with everything in its profile. Missing values are omitted.
#[derive(Serialize)]
pub(super) struct Sheet<'p> {
    #[serde(flatten)]
    head: Head<'p>,
    activation_energy_kj_per_mol: f64,
    reference_humidity_percent: f64,
    cautions: &'p [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    notes: Option<&'p str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mix: Option<MixView<'p>>,
    pot_life: Vec<PotView>,
    application: AirView,
    #[serde(skip_serializing_if = "Option::is_none")]
    film: Option<FilmView>,
    stages: BTreeMap<&'static str, Vec<PointView>>,
    recoat: Vec<RecoatView<'p>>,
    never: Vec<NeverView<'p>>,
    /// Whether it closes the pores of bare wood.
    seals: bool,
    comes_first: &'static str,
}

#[derive(Serialize)]
struct MixView<'p> {
    parts: Vec<PartView<'p>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    induction_s: Option<i64>,
}

#[derive(Serialize)]
struct PartView<'p> {
    name: &'p str,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_volume: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_mass: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    density_kg_per_l: Option<f64>,
}

#[derive(Serialize)]
struct PotView {
    mass_g: f64,
    times: Vec<PointView>,
}

#[derive(Serialize)]
struct AirView {
    coolest_c: f64,
    warmest_c: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    humidity_max_percent: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    humidity_min_percent: Option<f64>,
    dew_margin_k: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    stall_below_c: Option<f64>,
}

#[derive(Serialize)]
struct FilmView {
    #[serde(skip_serializing_if = "Option::is_none")]
    volume_solids_percent: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wet_min_um: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wet_max_um: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    density_kg_per_l: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wet_on_wet_coats: Option<u32>,
}

#[derive(Serialize)]
struct RecoatView<'p> {
    next: &'p [String],
    open: Vec<PointView>,
    /// Null where there is no upper limit.
    close: Option<Vec<PointView>>,
    wash: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    after: Option<&'static str>,
    sand: bool,
}

#[derive(Serialize)]
struct NeverView<'p> {
    next: &'p [String],
    over: &'p [String],
    because: &'p str,
}

impl<'p> RecoatView<'p> {
    fn of(entry: &'p Recoat) -> Self {
        Self {
            next: &entry.next,
            open: points(&entry.open),
            close: entry.close.as_ref().map(points),
            wash: entry.wash,
            after: entry.after.map(crate::engine::profile::Stage::key),
            sand: entry.sand,
        }
    }
}

impl<'p> MixView<'p> {
    fn of(mix: &'p Mix) -> Self {
        let part =
            |index: usize, list: &Option<Vec<f64>>| list.as_ref().and_then(|list| list.get(index)).copied();
        let density = |index: usize| mix.density.as_ref().and_then(|list| list.get(index));
        let parts = mix.names.iter().enumerate().map(|(index, name)| PartView {
            name,
            by_volume: part(index, &mix.by_volume),
            by_mass: part(index, &mix.by_mass),
            density_kg_per_l: density(index).map(|density| density.kilograms_per_litre()),
        });
        Self { parts: parts.collect(), induction_s: mix.induction.map(|time| time.num_seconds()) }
    }
}

impl<'p> Sheet<'p> {
    pub(super) fn of(product: &'p Product) -> Self {
        let air = &product.application;
        Self {
            head: Head::of(product),
            activation_energy_kj_per_mol: product.activation_energy.kilojoules_per_mole(),
            reference_humidity_percent: product.reference_humidity.percent(),
            cautions: &product.cautions,
            notes: product.notes.as_deref(),
            mix: product.mix.as_ref().map(MixView::of),
            pot_life: product
                .pot_life
                .iter()
                .map(|portion| PotView { mass_g: portion.mass.grams(), times: points(&portion.times) })
                .collect(),
            application: AirView {
                coolest_c: air.coolest.degrees(),
                warmest_c: air.warmest.degrees(),
                humidity_max_percent: air.humidity_max.map(|humidity| humidity.percent()),
                humidity_min_percent: air.humidity_min.map(|humidity| humidity.percent()),
                dew_margin_k: air.dew_margin.kelvin(),
                stall_below_c: air.stall_below.map(|stall| stall.degrees()),
            },
            film: product.film.as_ref().map(|film| FilmView {
                volume_solids_percent: film.volume_solids.map(|solids| solids.percent()),
                wet_min_um: film.wet.map(|(thin, _)| thin.micrometres()),
                wet_max_um: film.wet.map(|(_, thick)| thick.micrometres()),
                density_kg_per_l: film.density.map(|density| density.kilograms_per_litre()),
                wet_on_wet_coats: film.wet_on_wet_coats,
            }),
            stages: product.stages.iter().map(|(stage, table)| (stage.key(), points(table))).collect(),
            recoat: product.recoat.iter().map(RecoatView::of).collect(),
            never: product
                .never
                .iter()
                .map(|never| NeverView { next: &never.next, over: &never.over, because: &never.because })
                .collect(),
            seals: product.seals,
            comes_first: crate::engine::profile::COMES_FIRST,
        }
    }
}

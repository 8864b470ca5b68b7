//! From the text of a profile to a product, or to everything that is wrong with it.
//!
//! Each part of the file has its function here; whether parts agree with each other is checked beside,
//! in `mixture`, `order` and `following`. A value with a fault counts as not there, so that one fault breeds no others.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::{Fault, Faults, shown, without_mark};
use super::file::{APPLICATION, FILM, POT_LIFE, STAGES, Section, TOP};
use super::product::{Application, Cure, Film, Origin, PotLife, Product, Stage};
use super::suggestions::nearest;
use super::table::TimeTable;
use super::times;
use super::value::{self, Reading, SHOP, Span, Trouble, degrees};
use crate::engine::units::{
    ActivationEnergy, Humidity, KelvinDelta, KilogramsPerLitre, Micrometres, Percent, clean,
};

mod following;
mod mixture;
mod order;
mod warnings;

use order::Climate;

pub use warnings::profile_warnings;

const PER_CENT: Span = Span::above_zero(100.0, "%");

/// The share of the humidity of a usual data sheet, where the profile gives none.
const USUAL_HUMIDITY: Humidity = Humidity::from_fraction(0.5);

/// ISO 8502-4: the steel, and so the wood, at least 3 K above the dew point.
const USUAL_DEW_MARGIN: KelvinDelta = KelvinDelta::new(3.0);

/// Reads a profile.
///
/// # Errors
/// Every [`Fault`] that could be found, in the order of the file; never an empty list.
pub fn read_profile(text: &str, origin: Origin) -> Result<Product, Vec<Fault>> {
    let text = without_mark(text);
    let faults = Faults::new(file_name(&origin), text);
    let document = match DeTable::parse(text) {
        Ok(document) => document,
        Err(error) => {
            let (what, mend) = syntax(error.message());
            faults.add(&error.span().unwrap_or(0..0), what, mend);
            return Err(faults.into_sorted());
        }
    };
    let top = Section::new(document.get_ref(), 0..0, &TOP, &faults);
    let product = product(&top, origin);
    let found = faults.into_sorted();
    match product {
        Some(product) if found.is_empty() => Ok(product),
        _ => Err(found),
    }
}

/// The id that a file gives itself, however faulty the rest is, and its line and column.
pub(super) fn claimed_id(text: &str) -> Option<(String, Range<usize>)> {
    let (document, _) = DeTable::parse_recoverable(without_mark(text));
    let value = document.get_ref().get("id")?;
    Some((value::id(value.get_ref()).ok()?, value.span()))
}

/// A file as it is shown.
pub(super) fn file_name(origin: &Origin) -> String {
    match origin {
        Origin::BuiltIn => "built-in profile".into(),
        Origin::File(path) => clean(&path.to_string_lossy()),
    }
}

fn syntax(message: &str) -> (String, String) {
    let (what, wanted) = message.split_once(", expected ").unwrap_or((message, ""));
    let mend = match what {
        "string values must be quoted" => "write a number, a [list], or text in \"quotes\"".into(),
        "key with no value" => "write key = value".into(),
        "duplicate key" => "give it once".into(),
        _ if wanted.is_empty() || wanted == "nothing" => "see the rules of TOML".into(),
        _ => format!("TOML needs {wanted} here"),
    };
    (format!("this is not TOML: {}", clean(what)), clean(&mend))
}

fn product(top: &Section<'_>, origin: Origin) -> Option<Product> {
    let schema = top.required("schema", "schema = 1", value::whole);
    if schema.is_some_and(|schema| schema != 1) {
        let mend = "write schema = 1, or use a newer version of this program";
        top.faults().add(&top.place("schema"), "this schema is unknown", mend);
    }
    let id = top.required("id", "id = \"varnish-two-part\"", value::id);
    let name = top.required("name", "name = \"Two-part varnish\"", value::text);
    let family = top.required("family", "family = \"polyurethane\"", family);
    let cure = top.required("cure", "cure = \"reaction\", \"drying\" or \"moisture\"", cure);
    let basis = top.required("basis", "basis = \"data sheet of …, edition of …\"", value::text);
    let energy = top.optional("activation_energy", |v| value::number(v, times::ENERGY));
    let energy = energy.map_or(ActivationEnergy::RULE_OF_THUMB, ActivationEnergy::from_kilojoules_per_mole);
    let reference = Span::from_to(1.0, 99.0, "%");
    let reference_humidity = top
        .optional("reference_humidity", |v| value::number(v, reference))
        .map_or(USUAL_HUMIDITY, |percent| Humidity::from_fraction(percent / 100.0));
    let cautions = top.list("cautions", "[\"…\", \"…\"]", value::text).unwrap_or_default();
    let notes = top.optional("notes", value::text);

    let application = application(top);
    let climate = application.as_ref().map(Climate::of);
    let mix = mixture::mix(top);
    let pot_life = pot_life(top, energy, climate.as_ref());
    let film = top.section("film", &FILM).map(|section| {
        let film = film(&section);
        mixture::densities_agree(mix.as_ref(), film.density, &section);
        film
    });
    let stages = stages(top, energy, climate.as_ref());
    let (recoat, never) = following::read(top, &stages, energy, climate.as_ref());
    let seals = top.optional("seals", value::flag).unwrap_or(cure == Some(Cure::Reaction));

    Some(Product {
        id: id?,
        name: name?,
        family: family?,
        cure: cure?,
        basis: basis?,
        activation_energy: energy,
        reference_humidity,
        cautions: values(cautions),
        notes,
        mix,
        pot_life,
        application: application?,
        film,
        stages,
        recoat,
        never,
        seals,
        origin,
    })
}

/// The values of a list without their places.
fn values<T>(list: Vec<Spanned<T>>) -> Vec<T> {
    list.into_iter().map(Spanned::into_inner).collect()
}

fn family(value: &DeValue<'_>) -> Reading<String> {
    let family = value::text(value)?;
    if family != "*" {
        return Ok(family);
    }
    Err(Trouble::new(
        "\"*\" stands for any family",
        "name the chemistry: \"epoxy\", \"polyurethane\", \"alkyd\"",
    ))
}

fn cure(value: &DeValue<'_>) -> Reading<Cure> {
    let text = value::text(value)?;
    let mend = match nearest(&text, &Cure::ALL.map(Cure::key)) {
        Some(meant) => format!("did you mean \"{meant}\"?"),
        None => "write \"reaction\", \"drying\" or \"moisture\"".into(),
    };
    let known = Cure::ALL.into_iter().find(|cure| cure.key() == text);
    known.ok_or_else(|| Trouble::new(format!("\"{}\" is not a way to cure", shown(&text)), mend))
}

fn application(top: &Section<'_>) -> Option<Application> {
    top.demand("application", "[application] and below it air = [10, 30]");
    let section = top.section("application", &APPLICATION)?;
    section.demand("air", "air = [10, 30], the coolest and the warmest in °C");
    let air = pair(&section, "air", "[10, 30]", |v| value::temperature(v, SHOP));
    let air = air.filter(|&(coolest, warmest)| {
        let rising = coolest < warmest;
        if !rising {
            let what = "`air` runs from warm to cool";
            section.faults().add(&section.place("air"), what, "write the coolest first, then the warmest");
        }
        rising
    });
    let humidity_max = section.optional("humidity_max", |v| value::number(v, PER_CENT));
    let humidity_min = section.optional("humidity_min", |v| value::number(v, PER_CENT));
    if humidity_min.zip(humidity_max).is_some_and(|(least, most)| least >= most) {
        let mend = "the driest air must be below the most humid";
        section.faults().add(
            &section.place("humidity_min"),
            "`humidity_min` is not below `humidity_max`",
            mend,
        );
    }
    let margin = section.optional("dew_margin", |v| value::number(v, Span::from_to(0.0, 20.0, "K")));
    let stall_below = section.optional("stall_below", |v| value::temperature(v, SHOP));
    let (coolest, warmest) = air?;
    if let Some(stall) = stall_below.filter(|stall| *stall > coolest) {
        let what =
            format!("nothing cures below {}, but `air` starts at {}", degrees(stall), degrees(coolest));
        section.faults().add(&section.place("stall_below"), what, "lower `stall_below` or start `air` there");
    }
    Some(Application {
        coolest,
        warmest,
        humidity_max: humidity_max.map(|percent| Humidity::from_fraction(percent / 100.0)),
        humidity_min: humidity_min.map(|percent| Humidity::from_fraction(percent / 100.0)),
        dew_margin: margin.map_or(USUAL_DEW_MARGIN, KelvinDelta::new),
        stall_below,
    })
}

/// A list of exactly two values.
fn pair<T: Copy>(
    section: &Section<'_>,
    key: &'static str,
    wanted: &str,
    read: impl Fn(&DeValue<'_>) -> Reading<T>,
) -> Option<(T, T)> {
    let list = values(section.list(key, wanted, read)?);
    if let [low, high] = list[..] {
        return Some((low, high));
    }
    let what = format!("`{key}` does not have two values, but {}", list.len());
    section.faults().add(&section.place(key), what, format!("write two: {key} = {wanted}"));
    None
}

fn film(section: &Section<'_>) -> Film {
    let micrometres = Span::above_zero(20_000.0, "µm");
    let wet = pair(section, "wet", "[60, 90]", |v| value::number(v, micrometres)).filter(|&(thin, thick)| {
        if thin > thick {
            section.faults().add(
                &section.place("wet"),
                "`wet` runs from thick to thin",
                "write the thinnest first",
            );
        }
        thin <= thick
    });
    let coats = section.optional("wet_on_wet_coats", value::whole);
    let coats = coats.and_then(|coats| {
        let count = u32::try_from(coats).ok().filter(|count| (1..=20).contains(count));
        if count.is_none() {
            let what = format!("{coats} coats wet on wet are impossible");
            section.faults().add(&section.place("wet_on_wet_coats"), what, "write a number from 1 to 20");
        }
        count
    });
    Film {
        volume_solids: section.optional("volume_solids", |v| value::number(v, PER_CENT)).map(Percent::new),
        wet: wet.map(|(thin, thick)| (Micrometres::new(thin), Micrometres::new(thick))),
        density: section.optional("density", mixture::density).map(KilogramsPerLitre::new),
        wet_on_wet_coats: coats,
    }
}

fn pot_life(top: &Section<'_>, energy: ActivationEnergy, climate: Option<&Climate>) -> Vec<PotLife> {
    if let Some(mix) = top.value("mix").filter(|_| top.value("pot_life").is_none()) {
        let mend = "add [pot_life] with mass = \"500 g\" and times = [{ at = 20, time = \"3 h\" }]";
        top.faults().add(&mix.span(), "a product that is mixed has a pot life, but none is given", mend);
    }
    let mut portions: Vec<Spanned<PotLife>> = Vec::new();
    for section in top.sections("pot_life", &POT_LIFE) {
        let mass = section.required("mass", "mass = \"500 g\"", value::mass);
        section.demand("times", "times = [{ at = 20, time = \"3 h\" }]");
        let times = times::table(&section, "times", energy);
        let (Some(mass), Some(times)) = (mass, times) else { continue };
        if portions.iter().any(|other| other.get_ref().mass == mass) {
            let mend = "give one table with all its temperatures for each mass";
            section.faults().add(&section.place("mass"), "this mass has a pot life already", mend);
        } else {
            portions.push(Spanned::new(section.heading().clone(), PotLife { mass, times }));
        }
    }
    portions.sort_by(|a, b| a.get_ref().mass.grams().total_cmp(&b.get_ref().mass.grams()));
    if let Some(climate) = climate {
        order::larger_pots_set_sooner(&portions, climate, top.faults());
    }
    values(portions)
}

fn stages(top: &Section<'_>, energy: ActivationEnergy, climate: Option<&Climate>) -> Vec<(Stage, TimeTable)> {
    let Some(section) = top.section("stages", &STAGES) else { return Vec::new() };
    let of_the_section =
        Stage::ALL.into_iter().filter(|s| !matches!(s, Stage::RecoatOpen | Stage::RecoatClose));
    let stages: Vec<_> = of_the_section
        .filter_map(|stage| Some((stage, times::table(&section, stage.key(), energy)?)))
        .collect();
    if let Some(climate) = climate {
        order::stages_follow(&stages, climate, &section);
    }
    stages
}

//! The parts of a product: as many figures as names, and ratios that agree with the densities.

use toml::Spanned;

use toml::de::DeValue;

use super::values;
use crate::engine::profile::fault::shown;
use crate::engine::profile::file::{MIX, Section};
use crate::engine::profile::product::Mix;
use crate::engine::profile::value::{self, Reading, Span};
use crate::engine::units::KilogramsPerLitre;

/// How far the ratio by mass may be from that by volume: rounding on a label, not a slip.
const ROUNDING: f64 = 0.05;
/// What a part can weigh, in kg/L: a filler full of hollow beads, a paste full of metal.
const LIGHTEST: f64 = 0.5;
const HEAVIEST: f64 = 5.0;

/// The parts, where the file has a `[mix]`.
pub(super) fn mix(top: &Section<'_>) -> Option<Mix> {
    let section = top.section("mix", &MIX)?;
    section.demand("names", "names = [\"base\", \"hardener\"]");
    let names = section.list("names", "[\"base\", \"hardener\"]", value::text);
    let parts = Span::above_zero(1e6, "");
    let by_volume = section.list("by_volume", "[2, 1]", |v| value::number(v, parts));
    let by_mass = section.list("by_mass", "[100, 48]", |v| value::number(v, parts));
    let density = section.list("density", "[1.02, 0.98]", density);
    let induction = section.optional("induction", value::time);
    if section.value("by_volume").is_none() && section.value("by_mass").is_none() {
        let mend = "add by_mass = [100, 48] or by_volume = [2, 1]";
        section.faults().add(section.heading(), "the mixing ratio is missing in [mix]", mend);
    }
    let names = names.filter(|names| parts_have_names(names, &section))?;
    let complete = |key: &str, list: &Option<Vec<Spanned<f64>>>| {
        let Some(list) = list else { return true };
        let same = list.len() == names.len();
        if !same {
            let what = format!(
                "`{key}` does not have {1} values, one for each name, but {0}",
                list.len(),
                names.len()
            );
            section.faults().add(&section.place(key), what, "give one for each, in the order of the names");
        }
        same
    };
    let counts =
        [complete("by_volume", &by_volume), complete("by_mass", &by_mass), complete("density", &density)];
    if counts != [true; 3] {
        return None;
    }
    if let (Some(volume), Some(mass), Some(density)) = (&by_volume, &by_mass, &density) {
        ratios_agree(&names, volume, mass, density, &section);
    }
    let density = density.map(|list| values(list).into_iter().map(KilogramsPerLitre::new).collect());
    Some(Mix {
        names: values(names),
        by_volume: by_volume.map(values),
        by_mass: by_mass.map(values),
        density,
        induction,
    })
}

/// A density of what is brushed, rolled or filled with.
pub(super) fn density(value: &DeValue<'_>) -> Reading<f64> {
    value::number(value, Span::from_to(LIGHTEST, HEAVIEST, "kg/L"))
}

/// Reports a density of the whole that the parts do not make.
pub(super) fn densities_agree(mix: Option<&Mix>, whole: Option<KilogramsPerLitre>, film: &Section<'_>) {
    let Some((parts, whole)) = mix.and_then(Mix::mixed_density).zip(whole) else { return };
    let (parts, whole) = (parts.kilograms_per_litre(), whole.kilograms_per_litre());
    if (whole / parts - 1.0).abs() > ROUNDING {
        let what =
            format!("`density` says {whole} kg/L, but the parts in [mix] make it {}", three_digits(parts));
        film.faults().add(&film.place("density"), what, "remove it: [mix] already says it");
    }
}

fn parts_have_names(names: &[Spanned<String>], section: &Section<'_>) -> bool {
    if names.len() < 2 {
        let mend = "name two parts or more, or remove [mix]";
        section.faults().add(&section.place("names"), "a mix has at least two parts", mend);
        return false;
    }
    let mut distinct = true;
    for (index, name) in names.iter().enumerate() {
        if names[..index].iter().any(|other| other.get_ref() == name.get_ref()) {
            let what = format!("two parts are called \"{}\"", shown(name.get_ref()));
            section.faults().add(&name.span(), what, "give each part a name of its own");
            distinct = false;
        }
    }
    distinct
}

/// Reports each part whose mass is not what its volume and density make, and which of the three is odd, as far
/// as that can be seen.
fn ratios_agree(
    names: &[Spanned<String>],
    volume: &[Spanned<f64>],
    mass: &[Spanned<f64>],
    density: &[Spanned<f64>],
    section: &Section<'_>,
) {
    let by_volume: Vec<f64> = volume.iter().zip(density).map(|(v, d)| v.get_ref() * d.get_ref()).collect();
    let shares: Vec<f64> = mass.iter().zip(&by_volume).map(|(m, v)| m.get_ref() / v).collect();
    // Of three parts or more the middle share is a sound one, if only one part is odd. Of two parts
    // neither is odder than the other: the first is what people weigh against.
    let mut order: Vec<usize> = (0..shares.len()).collect();
    order.sort_by(|a, b| shares[*a].total_cmp(&shares[*b]));
    let sound = if shares.len() == 2 { 0 } else { order[(order.len() - 1) / 2] };
    for (index, share) in shares.iter().enumerate() {
        if (share / shares[sound] - 1.0).abs() <= ROUNDING {
            continue;
        }
        let should = by_volume[index] * shares[sound];
        let what = format!(
            "`by_mass` says {} of {} to {} of {}, but `by_volume` and `density` make it {}",
            mass[index].get_ref(),
            shown(names[index].get_ref()),
            mass[sound].get_ref(),
            shown(names[sound].get_ref()),
            three_digits(should),
        );
        let figures = [volume, mass, density].map(|list| (*list[sound].get_ref(), *list[index].get_ref()));
        let odd = Odd { off: share / shares[sound], name: shown(names[index].get_ref()), figures };
        section.faults().add(&mass[index].span(), what, odd.mend());
    }
}

/// One part that is odd beside a sound one. Each figure is that of the sound part and its own.
struct Odd {
    /// How many times its mass is what volume and density make of it.
    off: f64,
    name: String,
    /// Volume, mass, density.
    figures: [(f64, f64); 3],
}

impl Odd {
    /// What would be right: the slip that explains it, else what each of the three would have to be. One
    /// equation cannot tell more.
    fn mend(&self) -> String {
        let [volume, mass, density] = self.figures;
        let close = |a: f64, b: f64| (a / b - 1.0).abs() <= ROUNDING;
        // What the ratio of a pair is turned round by where its two figures changed places.
        let turned = |(sound, own): (f64, f64)| (sound / own).powi(2);
        let repeats = (mass.1 / mass.0) / (volume.1 / volume.0);
        if (repeats - 1.0).abs() < 1e-9 {
            return "`by_mass` is wrong: it repeats `by_volume`, as if the parts weighed the same; look \
                    up the ratio by mass, or leave it out"
                .into();
        }
        let fits = |shift: f64| close(self.off * shift, 1.0);
        let turned = [("`by_mass`", turned(mass)), ("`by_volume`", 1.0 / turned(volume))];
        let turned: Vec<&str> =
            turned.iter().filter(|(_, shift)| fits(*shift)).map(|(key, _)| *key).collect();
        match turned[..] {
            [] => {}
            [key] => return format!("{key} is wrong: its figures are in the wrong order"),
            _ => return "the figures of `by_mass` or of `by_volume` are in the wrong order".into(),
        }
        if [10.0, 100.0, 0.1, 0.01].into_iter().any(fits) {
            let name = &self.name;
            return format!(
                "the decimal point of {name} is in the wrong place, in `by_mass` or in `by_volume`"
            );
        }
        let mut would = vec![
            format!("`by_mass` {}", three_digits(mass.1 / self.off)),
            format!("`by_volume` {}", three_digits(volume.1 * self.off)),
        ];
        let wanted = density.1 * self.off;
        if (LIGHTEST..=HEAVIEST).contains(&wanted) {
            would.push(format!("`density` {}", three_digits(wanted)));
        }
        let last = would.pop().unwrap_or_default();
        let would = would.join(", ");
        format!("look up {} on the label: {would} or {last} would agree with the rest", self.name)
    }
}

/// A number with about three digits, without trailing zeros.
fn three_digits(value: f64) -> String {
    let digits = (2.0 - value.abs().log10().floor()).clamp(0.0, 6.0) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

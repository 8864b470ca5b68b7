//! The film in words: measurements, build-up, and how many coats may still go on wet on wet.

use crate::app::wording::{Words, count, listed};
use crate::engine::amounts::{BuildUp, CoatFilm, Fits, Implausible, Range, film_meant};
use crate::engine::assess::AreaSurvey;
use crate::engine::cure::Phase;
use crate::engine::units::{Micrometres, Moment, capital};

/// The spots of a coat with this fit, from 1.
fn spots(coat: &CoatFilm, fits: Fits) -> Vec<usize> {
    let fitting = coat.spots.iter().enumerate().filter(|(_, spot)| spot.fits == fits);
    fitting.map(|(index, _)| index + 1).collect()
}

impl Words {
    /// The films of an area, one sentence each.
    pub fn films(&self, area: &AreaSurvey<'_>, now: Moment) -> Vec<String> {
        let mut lines = area.films.as_ref().map(|films| self.build_up(films, true)).unwrap_or_default();
        lines.extend(self.wet_on_wet(area, now));
        lines
    }

    /// The measurements of the newest coat, and the build-up of several.
    pub fn build_up(&self, films: &BuildUp, with_list: bool) -> Vec<String> {
        let newest = films.coats.last().filter(|coat| !coat.spots.is_empty());
        let mut lines: Vec<String> = newest.map(|coat| self.coat_film(coat, with_list)).into_iter().collect();
        let measured = films.coats.iter().any(|coat| coat.wet.is_some());
        let Some(dry) = films.dry.filter(|_| measured && films.coats.len() > 1) else { return lines };
        let film = |film| self.units.film(film);
        let asked = match films.asked {
            Some((thin, thick)) => {
                let fits = match Fits::of(dry, films.asked) {
                    Fits::Thin => ", so it is too thin",
                    Fits::Thick => ", so it is too thick",
                    Fits::Well => "",
                };
                format!(" ({} specified{fits})", self.units.films(thin, thick))
            }
            None => String::new(),
        };
        let coats = films.coats.len() - films.unknown().count();
        let mut line = format!("Dry film of {}: {}{asked}.", count(coats, "coat", "coats"), film(dry));
        let named = |coats: Vec<&CoatFilm>| {
            let numbers: Vec<String> = coats.iter().map(|coat| coat.layer.to_string()).collect();
            format!("{} {}", if numbers.len() == 1 { "Coat" } else { "Coats" }, listed(&numbers))
        };
        let assumed: Vec<&CoatFilm> = films.taken_as_asked().collect();
        if !assumed.is_empty() {
            let counts = if assumed.len() == 1 {
                "was not measured and counts"
            } else {
                "were not measured and count"
            };
            line += &format!(" {} {counts} as specified.", named(assumed));
        }
        let unknown: Vec<&CoatFilm> = films.unknown().collect();
        if !unknown.is_empty() {
            let counts = if unknown.len() == 1 { "is" } else { "are" };
            line += &format!(
                " {} {counts} not counted: no film thickness or solids in the profile.",
                named(unknown)
            );
        }
        lines.push(line);
        lines
    }

    /// "Wet film 50, 80 µm: spot 1 is thin (60 to 90 µm asked); 31 µm dry (29 to 43 µm asked)."
    fn coat_film(&self, coat: &CoatFilm, with_list: bool) -> String {
        let named = |fits: Fits, word: &str| {
            let spots: Vec<String> = spots(coat, fits).iter().map(usize::to_string).collect();
            match spots.len() {
                0 => None,
                1 => Some(format!("spot {} is {word}", spots[0])),
                _ => Some(format!("spots {} are {word}", listed(&spots))),
            }
        };
        let off = [named(Fits::Thin, "too thin"), named(Fits::Thick, "too thick")];
        let off: Vec<String> = off.into_iter().flatten().collect();
        let range = |range: Option<Range>| {
            range.map(|(a, b)| format!(" ({} specified)", self.units.films(a, b))).unwrap_or_default()
        };
        let fits = match (off.is_empty(), coat.asked) {
            (true, None) => "no film is specified".to_owned(),
            (true, Some(_)) => "as specified".to_owned(),
            (false, _) => off.join(", "),
        };
        let wet: Vec<Micrometres> = coat.spots.iter().map(|spot| spot.wet).collect();
        let what = match with_list {
            true => format!("Wet film {}: {fits}", self.units.film_list(&wet)),
            false => capital(&fits),
        };
        let dry = coat.dry.map(|dry| format!("; {} dry{}", self.units.film(dry), range(coat.asked_dry)));
        format!("{what}{}{}.", range(coat.asked), dry.unwrap_or_default())
    }

    /// How many more coats may go on wet on wet, while the film allows one and the next product is the same.
    fn wet_on_wet(&self, area: &AreaSurvey<'_>, now: Moment) -> Option<String> {
        let coat = area.newest.as_ref()?;
        let wet = area.wet_on_wet?;
        let follows = area.next.is_some_and(|next| next.id == coat.product.id) && area.wants_coat();
        let soft = matches!(area.phase_at(now)?, Phase::Wet | Phase::Open) && !area.prepared;
        if !follows || !soft {
            return None;
        }
        let product = &coat.product.id;
        Some(match wet.left() {
            0 => format!(
                "No more wet on wet: {} of {product} are on, {} at most. Let it harden, then sand.",
                wet.on, wet.most
            ),
            left => format!(
                "Without sanding, {} of {product} may follow inside the window ({} wet on wet at most).",
                count(left, "more coat", "more coats"),
                wet.most
            ),
        })
    }

    /// An implausible wet film, and what was probably meant.
    pub fn implausible_film(
        &self,
        wet: Micrometres,
        range: Option<Range>,
        product: &str,
        slip: Implausible,
    ) -> String {
        let asked = range
            .map(|(thin, thick)| format!(" the {} specified for {product}", self.units.films(thin, thick)));
        let asked = asked.unwrap_or_else(|| " any usual coat".into());
        let than = match slip {
            Implausible::Little => "far below",
            Implausible::Much => "far above",
        };
        let says = format!("{:.0} µm is {than}{asked}: a comb shows µm or mil (25.4 µm)", wet.micrometres());
        match film_meant(wet, range) {
            Some(meant) => format!(
                "{says}; do you mean {:.0}um, or {:.1}mil?",
                meant.micrometres(),
                meant.micrometres() / Micrometres::PER_MIL
            ),
            None => format!("{says}; write 75um or 3mil."),
        }
    }
}

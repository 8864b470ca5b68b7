//! The stack of an area as a drawing: the ground, the layers on it as thick as their films, what was done
//! between them, and what the scheme still has to come.

use maud::{Markup, html};

use super::coat::named;
use crate::app::report::facts::{AreaReport, CoatReport};
use crate::app::report::text::Tell;
use crate::engine::units::clean;

/// The drawing's own units; text is 12 of them high.
const WIDTH: f64 = 360.0;
const SIDE: f64 = 4.0;
/// The lowest layer that has room for its words, and the highest.
const LEAST: f64 = 22.0;
const MOST: f64 = 48.0;
/// So many units for a micrometre of dry film.
const SCALE: f64 = 0.32;
const GROUND: f64 = 26.0;
const STEP: f64 = 18.0;
const PLANNED: f64 = 20.0;
/// The number of colours of layers.
const COLOURS: usize = 6;
/// More planned layers are told as a number.
const DRAWN_AHEAD: usize = 4;

/// A row of the drawing, from the top down.
enum Row<'r> {
    Planned(String),
    Layer(&'r CoatReport, usize),
    Step(String),
    Ground,
}

impl Row<'_> {
    fn height(&self) -> f64 {
        match self {
            Self::Planned(_) => PLANNED,
            Self::Layer(coat, _) => {
                coat.dry.map_or(LEAST, |dry| (dry.micrometres() * SCALE + 8.0).clamp(LEAST, MOST))
            }
            Self::Step(_) => STEP,
            Self::Ground => GROUND,
        }
    }
}

/// Draws the stack of an area.
pub fn draw(tell: Tell<'_>, area: &AreaReport) -> Markup {
    let rows = rows(tell, area);
    let height: f64 = rows.iter().map(Row::height).sum::<f64>() + 2.0 * SIDE;
    let id = super::anchor(&area.name);
    let (title, words) = (format!("{id}-stack"), format!("{id}-stack-words"));
    let mut y = SIDE;
    let placed: Vec<(f64, Row<'_>)> = rows
        .into_iter()
        .map(|row| {
            let at = y;
            y += row.height();
            (at, row)
        })
        .collect();
    html! {
        svg viewBox={ "0 0 " (WIDTH) " " (round(height)) } role="img" aria-labelledby={ (title) " " (words) } {
            title id=(title) { "The stack on " (named(area)) }
            desc id=(words) { (in_words(tell, area)) }
            @for (y, row) in &placed { (self::row(tell, row, *y)) }
        }
        figcaption {
            "From the ground up. "
            @if area.coats.iter().any(|coat| coat.dry.is_some()) {
                "Layers are as thick as their dry films, where these are known."
            }
        }
    }
}

fn rows<'r>(tell: Tell<'_>, area: &'r AreaReport) -> Vec<Row<'r>> {
    let mut products: Vec<&str> = Vec::new();
    let mut rows = vec![Row::Ground];
    rows.extend(area.before.iter().map(|step| Row::Step(tell.step(step))));
    for coat in &area.coats {
        let known = products.iter().position(|product| *product == coat.product);
        let colour = known.unwrap_or(products.len());
        if known.is_none() {
            products.push(&coat.product);
        }
        rows.push(Row::Layer(coat, colour % COLOURS + 1));
        rows.extend(coat.steps.iter().map(|step| Row::Step(tell.step(step))));
    }
    let to_come = area.planned.unwrap_or(0).saturating_sub(area.coats.len());
    for ahead in 1..=to_come.min(DRAWN_AHEAD) {
        let layer = area.coats.len() + ahead;
        let text = match to_come {
            more if ahead == DRAWN_AHEAD && more > DRAWN_AHEAD => {
                format!("coats {layer} to {} to come", area.coats.len() + more)
            }
            _ => format!("coat {layer} to come"),
        };
        rows.push(Row::Planned(text));
    }
    rows.reverse();
    rows
}

fn row(tell: Tell<'_>, row: &Row<'_>, y: f64) -> Markup {
    let (height, width) = (row.height(), WIDTH - 2.0 * SIDE);
    let baseline = round(y + height / 2.0 + 4.0);
    match row {
        Row::Planned(text) => html! {
            rect.planned x=(SIDE) y=(round(y)) width=(width) height=(round(height - 2.0)) {}
            text.quiet x=(SIDE + 8.0) y=(round(baseline - 1.0)) { (text) }
        },
        Row::Layer(coat, colour) => html! {
            rect class={ "layer layer-" (colour) } x=(SIDE) y=(round(y)) width=(width) height=(round(height)) {}
            text x=(SIDE + 8.0) y=(baseline) { (coat.layer) "  " (shorten(&coat.product, 22)) }
            text x=(WIDTH - SIDE - 8.0) y=(baseline) text-anchor="end" { (aside(tell, coat)) }
        },
        Row::Step(text) => html! {
            path.grain d=(ragged(y + height)) {}
            text.quiet x=(SIDE + 22.0) y=(round(baseline - 1.0)) { (text) }
        },
        Row::Ground => html! {
            rect.wood x=(SIDE) y=(round(y)) width=(width) height=(round(height)) {}
            path.grain d=(grain(y, height)) {}
            text x=(SIDE + 8.0) y=(baseline) { "ground" }
        },
    }
}

/// The day and the film, at the right of a layer.
fn aside(tell: Tell<'_>, coat: &CoatReport) -> String {
    let film = coat.dry.map(|dry| format!(", {}", tell.words().units.film(dry))).unwrap_or_default();
    format!("{}{film}", tell.day(coat.first_stroke))
}

/// A ground that was worked on.
fn ragged(y: f64) -> String {
    let mut path = format!("M{} {}", SIDE + 8.0, round(y - 6.0));
    for step in 0..3 {
        let x = SIDE + 8.0 + f64::from(step) * 4.0;
        path += &format!("L{} {}L{} {}", x + 2.0, round(y - 10.0), x + 4.0, round(y - 6.0));
    }
    path
}

fn grain(y: f64, height: f64) -> String {
    let line = |share: f64, bend: f64| {
        let (left, right, middle) = (SIDE + 70.0, WIDTH - SIDE, round(y + height * share));
        format!("M{left} {middle}Q{} {} {right} {middle}", (left + right) / 2.0, round(middle + bend))
    };
    line(0.3, 5.0) + &line(0.55, -4.0) + &line(0.8, 3.0)
}

/// The drawing for those who cannot see it.
fn in_words(tell: Tell<'_>, area: &AreaReport) -> String {
    let mut parts = vec!["From the ground up".to_owned()];
    parts.extend(area.before.iter().map(|step| tell.step(step)));
    for coat in &area.coats {
        parts.push(format!("coat {}, {}, {}", coat.layer, clean(&coat.product), aside(tell, coat)));
        parts.extend(coat.steps.iter().map(|step| tell.step(step)));
    }
    let to_come = area.planned.unwrap_or(0).saturating_sub(area.coats.len());
    if to_come > 0 {
        parts.push(format!("{to_come} planned coats to come"));
    }
    format!("{}.", parts.join("; "))
}

fn shorten(text: &str, most: usize) -> String {
    let text = clean(text);
    if text.chars().count() <= most {
        return text;
    }
    let mut short: String = text.chars().take(most - 1).collect();
    short.push('…');
    short
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

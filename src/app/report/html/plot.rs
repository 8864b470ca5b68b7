//! A coat as a plot: air, surface and dew point, the humidity, and the phases of its film on one time axis.
//! What a line is, its pattern says too; the phases have their words.

mod axis;

use maud::{Markup, html};

use super::coat::named;
use crate::app::report::facts::{AreaReport, CalculatedCoat, CoatReport};
use crate::app::report::text::Tell;
use crate::app::view::Band;
use crate::engine::assess::{AirSample, TraceSample};
use crate::engine::profile::Stage;
use crate::engine::units::{Celsius, Moment, capital};
use axis::{Frame, HEIGHT, WIDTH};

/// Draws the plot of a coat; nothing where nothing was read.
pub fn draw(
    tell: Tell<'_>,
    (area, coat, next): (&AreaReport, &CoatReport, Option<&CoatReport>),
    calculated: &CalculatedCoat,
    now: Moment,
) -> Markup {
    let samples = &calculated.trace.samples;
    let Some(frame) = Frame::of(tell, samples) else {
        return html! { p { "There are no readings: nothing to draw." } };
    };
    let (title, words) = (format!("coat-{}-plot", coat.id), format!("coat-{}-plot-words", coat.id));
    html! {
        figure {
            svg viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } role="img" aria-labelledby={ (title) " " (words) } {
                title id=(title) { (named(area)) ", coat " (coat.layer) ": temperature and humidity over time" }
                desc id=(words) { (in_words(tell, coat, calculated)) }
                (frame.scales(tell))
                (frame.limits(tell, &calculated.allowed))
                (near(tell, &frame, samples, calculated))
                (lines(tell, &frame, samples))
                (bands(&frame, &calculated.bands))
                (frame.marks(&marks((coat, next), calculated, now)))
                (frame.legend(samples))
            }
            figcaption { (caption(calculated)) }
        }
    }
}

/// What the marks stand for, with their moments.
fn marks(
    (coat, next): (&CoatReport, Option<&CoatReport>),
    calculated: &CalculatedCoat,
    now: Moment,
) -> Vec<(Moment, String)> {
    let last = coat.last_stroke.filter(|last| *last != coat.first_stroke);
    let mut marks: Vec<(Moment, String)> =
        last.map(|last| (last, "last stroke".into())).into_iter().collect();
    let tack_free = calculated.stages.iter().find(|(stage, _)| *stage == Stage::TackFree);
    marks.extend(tack_free.and_then(|(_, times)| Some((times.at?, "tack-free".into()))));
    marks.extend(next.map(|next| (next.first_stroke, format!("coat {}", next.layer))));
    marks.push((now, "now".into()));
    marks.sort_by_key(|mark| mark.0);
    marks
}

fn lines(tell: Tell<'_>, frame: &Frame, samples: &[TraceSample]) -> Markup {
    let celsius = |value: fn(&AirSample) -> Option<Celsius>| {
        move |sample: &AirSample| value(sample).map(|value| frame.height(tell.degrees(value)))
    };
    let dew = frame.paths(samples, celsius(|sample| sample.dew));
    let surface = frame.paths(samples, celsius(|sample| sample.surface));
    let air = frame.paths(samples, celsius(|sample| Some(sample.air)));
    let damp = frame.paths(samples, |s| s.humidity.map(|humidity| frame.damp(humidity)));
    html! {
        (path("humidity", &damp)) (path("dew", &dew)) (path("surface", &surface)) (path("air", &air))
    }
}

/// What was read as a full line, what was assumed as a thin one.
fn path(class: &str, [read, assumed]: &[String; 2]) -> Markup {
    html! {
        @if !read.is_empty() { path class={ "line " (class) } d=(read) {} }
        @if !assumed.is_empty() { path class={ "line assumed " (class) } d=(assumed) {} }
    }
}

/// Where the surface came too near the dew point, as an area between the two.
fn near(tell: Tell<'_>, frame: &Frame, samples: &[TraceSample], calculated: &CalculatedCoat) -> Markup {
    let too_near = |sample: &&TraceSample| {
        let wet = sample.at <= calculated.trace.wet_until;
        wet && sample
            .air
            .and_then(|air| air.margin)
            .is_some_and(|margin| margin < calculated.allowed.dew_margin)
    };
    let mut shapes = Vec::new();
    for run in samples.chunk_by(|a, b| too_near(&a) == too_near(&b)) {
        if run.first().is_some_and(|first| too_near(&first)) {
            shapes.push(frame.between(tell, run));
        }
    }
    html! { @for shape in shapes { path.near d=(shape) {} } }
}

fn bands(frame: &Frame, bands: &[Band]) -> Markup {
    html! {
        @for band in bands {
            @if let Some((x, width)) = frame.stretch(band.from, band.to) {
                rect class={ "band " (class(band)) @if !band.sure { " unsure" } } x=(x) y=(axis::BANDS.0)
                    width=(width) height=(axis::BANDS.1) {}
                @if width > 7.4 * word(band).chars().count() as f64 {
                    text x=(x + width / 2.0) y=(axis::BANDS.0 + 14.0) text-anchor="middle" { (word(band)) }
                }
            }
        }
    }
}

fn class(band: &Band) -> &'static str {
    if band.applying { "applying" } else { band.phase.word() }
}

fn word(band: &Band) -> String {
    let word = match band.phase {
        _ if band.applying => "coating",
        phase => phase.word(),
    };
    if band.sure { word.into() } else { format!("{word}?") }
}

/// The plot for those who cannot see it.
fn in_words(tell: Tell<'_>, coat: &CoatReport, calculated: &CalculatedCoat) -> String {
    let mut text = format!("From {}.", tell.stamp(coat.first_stroke));
    if let Some(air) = &calculated.air {
        let rows = tell.figures(air).into_iter();
        let rows: Vec<String> = rows.map(|[name, low, _, high]| format!("{name} {low} to {high}")).collect();
        text += &format!(" While the film was wet: {}.", rows.join(", "));
    }
    for band in &calculated.bands {
        text += &format!(" {} from {}.", capital(&word(band)), tell.stamp(band.from));
    }
    text
}

fn caption(calculated: &CalculatedCoat) -> String {
    let unsure = calculated.bands.iter().any(|band| !band.sure);
    let assumed = calculated.trace.samples.iter().any(|sample| sample.air.is_some_and(|air| air.assumed));
    let mut caption = "The air over the film, and below it the film’s phases.".to_owned();
    caption += if unsure { " Paler: not sure." } else { "" };
    caption += if assumed { " Thin lines are assumed or forecast, not read." } else { "" };
    caption
}

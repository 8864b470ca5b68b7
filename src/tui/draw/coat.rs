//! A coat over time: temperatures and progress as lines, phases below, and its sentences. Without room for a
//! plot, the words only.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Style};
use ratatui::text::Line;

use super::braille::Dots;
use super::{Columns, Drawn, Sight, axis, pages, strip};
use crate::app::view::{Axis, CoatView, Ribbon};
use crate::engine::assess::{AirSample, TraceSample};
use crate::engine::units::{Celsius, TemperatureUnit};
use crate::tui::text::{put, put_right, wrap};

/// The columns of the scale, left of the axis.
const SCALE: u16 = 8;
/// The minimum columns and rows of a plot.
const LEAST: (u16, u16) = (50, 5);
/// The title, the ruler, the phases, the legend, a row of words and the footer.
const AROUND: u16 = 7;

/// Draws the coat that was looked at.
pub fn page(sight: &Sight<'_>, scroll: u16, area: Rect, buf: &mut Buffer) -> Drawn {
    let Some(coat) = &sight.app.coat else {
        return pages::lines(sight, &[Line::from("No coat is chosen.")], 0, 0, area, buf);
    };
    let mut top = pages::title(sight, &coat.title, area, buf).min(1);
    let rows = (area.height.saturating_sub(AROUND) * 2 / 3).min(18);
    if area.width >= LEAST.0 && rows >= LEAST.1 {
        plot(sight, coat, (top, rows), area, buf);
        top += rows + 3;
    }
    let room = area.width.saturating_sub(2);
    let lines: Vec<Line<'_>> = coat.lines.iter().flat_map(|line| wrap(line, room)).map(Line::from).collect();
    pages::lines(sight, &lines, scroll, top, area, buf)
}

fn plot(sight: &Sight<'_>, coat: &CoatView, (top, rows): (u16, u16), area: Rect, buf: &mut Buffer) {
    let samples = &coat.trace.samples;
    let (Some(first), Some(last)) = (samples.first(), samples.last()) else { return };
    let cells = area.width.saturating_sub(SCALE + 6);
    let time = Axis::between(first.at, last.at, cells, sight.civil);
    let columns = Columns { width: area.width, axis: SCALE, cells, rule: 0, text: 1, text_width: cells };
    axis::ruler(sight, &time, &columns, top, buf);
    let (y, below) = (top + 1, top + 1 + rows);
    let mut dots = Dots::new(cells, rows);
    put_right(buf, area.width.saturating_sub(1), y, 6, "100 %", sight.theme.quiet());
    put_right(buf, area.width.saturating_sub(1), below - 1, 6, "0 %", sight.theme.quiet());
    let across = dots.across();
    dots.line(
        over(samples, &time, across, |sample| Some((sample.progress, false))),
        sight.theme.tinted(Color::Yellow),
    );
    if let Some((low, high)) = range(sight, samples) {
        scale(sight, (low, high), (y, rows), buf);
        let mut draw = |style: Style, value: fn(&AirSample) -> Option<Celsius>| {
            let height = |sample: &TraceSample| {
                let air = sample.air?;
                Some(((degrees(sight, value(&air)?) - low) / (high - low), air.assumed))
            };
            dots.line(over(samples, &time, across, height), style);
        };
        draw(sight.theme.tinted(Color::Cyan), |air| air.dew);
        draw(sight.theme.quiet(), |air| air.surface);
        draw(sight.theme.plain(), |air| Some(air.air));
    } else {
        put(buf, SCALE + 1, y + rows / 2, cells, "There is no reading.", sight.theme.plain());
    }
    dots.draw((SCALE, y), buf);
    letters(sight, coat, &time, (y, rows), cells, buf);
    strip::draw(sight, &ribbon(coat), &time, &columns, (0, below, 1), buf);
    let legend = "a air  s surface  d dew point  p progress of the film";
    put(buf, SCALE, below + 1, cells, legend, sight.theme.quiet());
}

/// A value of the samples at every dot across; straight between two of them.
fn over<'s>(
    samples: &'s [TraceSample],
    time: &'s Axis,
    across: u16,
    value: impl Fn(&TraceSample) -> Option<(f64, bool)> + 's,
) -> impl Iterator<Item = Option<(f64, bool)>> + 's {
    let span = (time.to - time.from).as_seconds_f64();
    (0..across).map(move |x| {
        let seconds = span * (f64::from(x) + 0.5) / f64::from(across.max(1));
        let at = time.from + chrono::TimeDelta::milliseconds((seconds * 1000.0) as i64);
        let after = samples.partition_point(|sample| sample.at <= at);
        let (before, after) = (samples.get(after.checked_sub(1)?)?, samples.get(after)?);
        let ((first, thin), (last, _)) = (value(before)?, value(after)?);
        let share = (at - before.at).as_seconds_f64() / (after.at - before.at).as_seconds_f64();
        Some((first + (last - first) * share, thin))
    })
}

/// A letter on every line, so that no colour is needed to tell them apart.
fn letters(
    sight: &Sight<'_>,
    coat: &CoatView,
    time: &Axis,
    (top, rows): (u16, u16),
    cells: u16,
    buf: &mut Buffer,
) {
    let samples = &coat.trace.samples;
    let Some((low, high)) = range(sight, samples) else { return };
    let at = |part: u16| samples.get(samples.len() * usize::from(part) / 10);
    let mut set = |sample: Option<&TraceSample>, share: Option<f64>, letter: char| {
        let (Some(sample), Some(share)) = (sample, share.filter(|share| share.is_finite())) else { return };
        let Some(x) = axis::visible(time, sample.at, cells) else { return };
        let y = ((1.0 - share.clamp(0.0, 1.0)) * f64::from(rows.saturating_sub(1))).round() as u16;
        let text = letter.encode_utf8(&mut [0; 4]).to_owned();
        put(buf, SCALE + x, top + y, 1, &text, sight.theme.strong());
    };
    let share = |value: Option<Celsius>| value.map(|value| (degrees(sight, value) - low) / (high - low));
    let air = |sample: Option<&TraceSample>| sample.and_then(|sample| sample.air);
    set(at(2), share(air(at(2)).and_then(|air| air.dew)), 'd');
    set(at(4), share(air(at(4)).and_then(|air| air.surface)), 's');
    set(at(6), share(air(at(6)).map(|air| air.air)), 'a');
    set(at(8), at(8).map(|sample| sample.progress), 'p');
}

fn scale(sight: &Sight<'_>, (low, high): (f64, f64), (top, rows): (u16, u16), buf: &mut Buffer) {
    let unit = match sight.app.coat_unit {
        TemperatureUnit::Celsius => "°C",
        TemperatureUnit::Fahrenheit => "°F",
    };
    put_right(buf, SCALE - 1, top, SCALE, &format!("{high:.0} {unit}"), sight.theme.quiet());
    let middle = (low + high) / 2.0;
    put_right(buf, SCALE - 4, top + (rows - 1) / 2, SCALE, &format!("{middle:.0}"), sight.theme.quiet());
    put_right(buf, SCALE - 4, top + rows - 1, SCALE, &format!("{low:.0}"), sight.theme.quiet());
}

/// The lowest and the highest temperature, with some air around them.
fn range(sight: &Sight<'_>, samples: &[TraceSample]) -> Option<(f64, f64)> {
    let values = samples.iter().filter_map(|sample| sample.air);
    let values = values.flat_map(|air| [Some(air.air), air.surface, air.dew]).flatten();
    let values = values.map(|value| degrees(sight, value)).filter(|value| value.abs() < 300.0);
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    (low <= high).then(|| {
        let more = ((6.0 - (high - low)) / 2.0).max(0.5);
        ((low - more).floor(), (high + more).ceil())
    })
}

fn degrees(sight: &Sight<'_>, value: Celsius) -> f64 {
    match sight.app.coat_unit {
        TemperatureUnit::Celsius => value.degrees(),
        TemperatureUnit::Fahrenheit => value.fahrenheit(),
    }
}

/// The coat as a ribbon, whose phases are drawn as on the board.
fn ribbon(coat: &CoatView) -> Ribbon {
    Ribbon { bands: coat.bands.clone(), marks: Vec::new(), ..Ribbon::bare() }
}

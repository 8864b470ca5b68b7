//! The lines of the plot: dots of an eighth of a cell, with letters on every line, so that no colour is needed
//! to distinguish them. The forecast is dotted.

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Style};

use super::super::{Columns, Sight};
use super::{degrees, sign};
use crate::app::view::{Axis, Sample, WeatherView};
use crate::engine::units::{Celsius, Moment};
use crate::tui::text::{put, put_right};

/// One line.
#[derive(Clone, Copy)]
pub struct Series {
    /// The letter that stands on it.
    pub letter: char,
    /// What it is.
    pub name: &'static str,
    value: fn(&Sample) -> Option<Celsius>,
    outdoors: bool,
}

const fn series(
    letter: char,
    name: &'static str,
    value: fn(&Sample) -> Option<Celsius>,
    outdoors: bool,
) -> Series {
    Series { letter, name, value, outdoors }
}

/// The lines, the most important one last: it is drawn over the others.
pub const SERIES: [Series; 4] = [
    series('o', "outside", |sample| sample.outdoor, true),
    series('a', "air", |sample| sample.air, false),
    series('d', "dew point", |sample| sample.dew, false),
    series('s', "surface", |sample| sample.surface, false),
];

/// From one letter of a line to its next, in cells.
const LETTERS: u16 = 24;
/// Dots in a cell, across and down.
const ACROSS: u16 = 2;
const DOWN: u16 = 4;
/// What is further from 0 °C is a fault, and would flatten the plot.
const NO_AIR: f64 = 100.0;

/// A plot over some rows of the screen.
struct Field<'a> {
    weather: &'a WeatherView,
    axis: &'a Axis,
    cells: u16,
    rows: u16,
    /// The temperatures at its lower and upper edge, in the person's unit.
    low: f64,
    high: f64,
}

/// One dot of a line.
#[derive(Clone, Copy)]
struct Dot {
    x: u16,
    y: u16,
    forecast: bool,
}

/// Draws the scale and the lines from row `top` on.
pub fn draw(
    sight: &Sight<'_>,
    weather: &WeatherView,
    axis: &Axis,
    columns: &Columns,
    (top, rows): (u16, u16),
    buf: &mut Buffer,
) {
    let Some((low, high)) = range(weather) else {
        let text = "There is no reading here: press t, or use curewright reading.";
        put(buf, columns.axis + 1, top + rows / 2, columns.cells - 1, text, sight.theme.plain());
        return;
    };
    let field = Field { weather, axis, cells: columns.cells, rows, low, high };
    field.scale(sight, columns, top, buf);
    let mut letters = Vec::new();
    let mut cells = vec![(0_u8, Style::new()); usize::from(columns.cells) * usize::from(rows)];
    for (index, series) in (0..).zip(SERIES) {
        let dots = field.dots(&series, sight.app.view.now);
        let lettered = |dot: &&Dot| dot.x % (ACROSS * LETTERS) == ACROSS * (2 + index * LETTERS / 4);
        letters.extend(dots.iter().filter(lettered).map(|dot| (*dot, series.letter)));
        field.lines(&dots, style(sight, series.letter), style_ahead(sight, series.letter), &mut cells);
    }
    for (at, (bits, style)) in cells.iter().enumerate() {
        if *bits != 0 {
            let letter = char::from_u32(0x2800 + u32::from(*bits)).unwrap_or('.');
            let (x, y) = (at % usize::from(columns.cells), at / usize::from(columns.cells));
            let position = (columns.axis + x as u16, top + y as u16);
            buf[position].set_char(letter).set_style(*style);
        }
    }
    for (dot, letter) in letters {
        let (x, y) = (columns.axis + dot.x / ACROSS, top + dot.y / DOWN);
        if x != columns.rule {
            buf[(x, y)].set_char(letter).set_style(sight.theme.strong());
        }
    }
}

fn style(sight: &Sight<'_>, letter: char) -> Style {
    let color = match letter {
        'a' | 's' => None,
        'd' => Some(Color::Cyan),
        _ => Some(Color::Blue),
    };
    color.map_or(sight.theme.plain(), |color| sight.theme.tinted(color))
}

fn style_ahead(sight: &Sight<'_>, letter: char) -> Style {
    style(sight, letter).patch(sight.theme.quiet())
}

/// The lowest and the highest of all lines with some air around them; None where nothing is known.
fn range(weather: &WeatherView) -> Option<(f64, f64)> {
    let of_sample = |sample: &Sample| SERIES.map(|series| (series.value)(sample));
    let known = weather.samples.iter().flat_map(of_sample).flatten().filter(|value| is_air(*value));
    let values = known.map(|value| degrees(weather, value));
    let (low, high) = values
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    if low > high {
        return None;
    }
    let more = ((6.0 - (high - low)) / 2.0).max(0.5);
    Some(((low - more).floor(), (high + more).ceil()))
}

fn is_air(value: Celsius) -> bool {
    value.degrees().abs() <= NO_AIR
}

impl Field<'_> {
    /// The row of dots in which a temperature lies.
    fn height(&self, value: f64) -> u16 {
        let last = f64::from(self.rows.saturating_mul(DOWN) - 1);
        let share = (self.high - value) / (self.high - self.low);
        (share * last).round().clamp(0.0, last) as u16
    }

    fn scale(&self, sight: &Sight<'_>, columns: &Columns, top: u16, buf: &mut Buffer) {
        let most = f64::from((self.rows / 2).max(1));
        let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
        let step = steps.into_iter().find(|step| (self.high - self.low) / step <= most).unwrap_or(100.0);
        let mut value = (self.high / step).floor() * step;
        let mut unit = sign(self.weather);
        while value >= self.low {
            let y = top + self.height(value) / DOWN;
            let label = if unit.is_empty() { format!("{value:.0}") } else { format!("{value:.0} {unit}") };
            let end = if unit.is_empty() { columns.axis - 4 } else { columns.axis - 1 };
            put_right(buf, end, y, columns.axis, &label, sight.theme.plain());
            unit = "";
            value -= step;
        }
    }

    fn dots(&self, series: &Series, now: Moment) -> Vec<Dot> {
        let samples = &self.weather.samples;
        let span = (self.axis.to - self.axis.from).num_seconds() as f64;
        let columns = self.cells.saturating_mul(ACROSS);
        let dot = |x: u16| {
            let seconds = span * (f64::from(x) + 0.5) / f64::from(columns);
            let at = self.axis.from + chrono::TimeDelta::seconds(seconds as i64);
            let after = samples.partition_point(|sample| sample.at <= at);
            let (before, after) = (samples.get(after.checked_sub(1)?)?, samples.get(after)?);
            let (first, last) = ((series.value)(before)?, (series.value)(after)?);
            if !is_air(first) || !is_air(last) {
                return None;
            }
            let share = (at - before.at).as_seconds_f64() / (after.at - before.at).as_seconds_f64();
            let (first, last) = (degrees(self.weather, first), degrees(self.weather, last));
            let forecast = if series.outdoors { at > now } else { before.forecast };
            Some(Dot { x, y: self.height(first + (last - first) * share), forecast })
        };
        (0..columns).filter_map(dot).collect()
    }

    /// Sets the dots of a line: continuous for readings, every other one for the forecast.
    fn lines(&self, dots: &[Dot], read: Style, ahead: Style, cells: &mut [(u8, Style)]) {
        const BITS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];
        let mut before: Option<Dot> = None;
        for dot in dots {
            let joined = before.filter(|before| before.x + 1 == dot.x && !dot.forecast);
            let (from, to) = match joined.map(|before| before.y) {
                Some(y) if y + 1 < dot.y => (y + 1, dot.y),
                Some(y) if y > dot.y + 1 => (dot.y, y - 1),
                _ => (dot.y, dot.y),
            };
            before = Some(*dot);
            if dot.forecast && dot.x % 2 == 1 {
                continue;
            }
            for y in from..=to {
                let at = usize::from(y / DOWN) * usize::from(self.cells) + usize::from(dot.x / ACROSS);
                if let Some(cell) = cells.get_mut(at) {
                    cell.0 |= BITS[usize::from(dot.x % ACROSS)][usize::from(y % DOWN)];
                    cell.1 = if dot.forecast { ahead } else { read };
                }
            }
        }
    }
}

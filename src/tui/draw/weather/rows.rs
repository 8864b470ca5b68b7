//! The rows under the plot: rain, dew, and where the next coat fits.

use ratatui::buffer::Buffer;

use super::super::axis::cell;
use super::super::{Columns, Sight};
use crate::app::view::{Axis, Sample, Stretch, WeatherView};
use crate::engine::cure::Phase;
use crate::tui::text::{put, width};

/// Draws the three rows from row `y` on.
pub fn draw(
    sight: &Sight<'_>,
    weather: &WeatherView,
    axis: &Axis,
    columns: &Columns,
    y: u16,
    buf: &mut Buffer,
) {
    let theme = sight.theme;
    for (y, label) in (y..).zip(["rain mm", "dew", "coat"]) {
        put(buf, 0, y, columns.axis, &format!("{label:>7}"), theme.strong());
    }
    for x in 0..columns.cells {
        let inside = samples_of(weather, axis, x, columns.cells);
        if let Some(letter) = rain_letter(inside) {
            put(buf, columns.axis + x, y, 1, letter.encode_utf8(&mut [0; 4]), theme.plain());
        }
        if inside.iter().any(|sample| sample.near_dew) {
            put(buf, columns.axis + x, y + 1, 1, "!", theme.strong());
        }
    }
    let beside = (columns.rule + 2, columns.axis + columns.cells - columns.rule - 2);
    if weather.samples.iter().all(|sample| sample.dew.is_none()) {
        put(buf, beside.0, y + 1, beside.1, "the humidity is unknown", theme.plain());
    }
    if weather.stretches.is_empty() {
        let why = if weather.about.is_empty() { "no coat is planned" } else { "there is no forecast" };
        put(buf, beside.0, y + 2, beside.1, why, theme.plain());
    }
    let mut before_fits = true;
    for part in &weather.stretches {
        stretch(sight, part, !before_fits, axis, columns, y + 2, buf);
        before_fits = part.fits;
    }
}

/// The millimetres that fall in an hour, rounded up, as a digit; None where none fall.
pub fn rain_letter(samples: &[Sample]) -> Option<char> {
    let most = samples.iter().map(|sample| sample.rain).fold(0.0, f64::max);
    (most > 0.0).then(|| char::from_digit(most.ceil().clamp(1.0, 9.0) as u32, 10).unwrap_or('9'))
}

/// The samples that a cell stands for, one at least where there are any.
fn samples_of<'a>(weather: &'a WeatherView, axis: &Axis, x: u16, cells: u16) -> &'a [Sample] {
    let span = (axis.to - axis.from).num_seconds();
    let moment =
        |x: u16| axis.from + chrono::TimeDelta::seconds(span * i64::from(x) / i64::from(cells.max(1)));
    let first = weather.samples.partition_point(|sample| sample.at < moment(x));
    let end = weather.samples.partition_point(|sample| sample.at < moment(x + 1));
    let first = if first == end { end.saturating_sub(1) } else { first };
    weather.samples.get(first..end).unwrap_or(&[])
}

/// A stretch with its word, parted from one before it that looks the same; a slot that is short on this axis
/// is still a slot.
fn stretch(
    sight: &Sight<'_>,
    part: &Stretch,
    parted: bool,
    axis: &Axis,
    columns: &Columns,
    y: u16,
    buf: &mut Buffer,
) {
    let last = i64::from(columns.cells);
    let from = cell(axis, part.from, columns.cells).clamp(0, last);
    let to = cell(axis, part.to, columns.cells).clamp(0, last);
    let to = if part.fits && from == to { (to + 1).min(last) } else { to };
    let (Ok(from), Ok(long)) = (u16::try_from(from), u16::try_from(to - from)) else { return };
    let (pattern, style) = if part.fits {
        ("═", sight.theme.phase(Phase::Open))
    } else {
        ("·", sight.theme.phase(Phase::Shut))
    };
    let x = columns.axis + from;
    put(buf, x, y, long, &pattern.repeat(usize::from(long)), style);
    // Where there is no room for both, the word parts them.
    let parted = parted && !part.fits && long > 0 && long != width(part.word);
    let parted = u16::from(parted);
    put(buf, x, y, parted, "|", style);
    let (x, long) = (x + parted, long - parted);
    if width(part.word) <= long {
        let roomy = width(part.word) + 4 <= long;
        let word = if roomy { format!(" {} ", part.word) } else { part.word.to_owned() };
        let style = if part.fits { sight.theme.strong() } else { sight.theme.plain() };
        put(buf, x + (long - width(&word)) / 2, y, long, &word, style);
    }
}

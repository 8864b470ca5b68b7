//! The weather of a place: what its air did and will do, and when the next coat fits. A plot where there is
//! room for one, or else a table of hours.

mod plot;
mod rows;
mod table;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::Line;

use super::{Columns, Drawn, Sight, axis, foot, header, pages};
use crate::app::view::{Axis, WeatherView};
use crate::engine::units::{Celsius, TemperatureUnit};
use crate::tui::app::Weather;
use crate::tui::text::{fit, put, put_right, width, wrap, wrap_to};

/// The minimum columns and rows of a plot.
const PLOT_WIDTH: u16 = 80;
const PLOT_ROWS: u16 = 6;
/// The columns of the scale, left of the axis.
const SCALE: u16 = 8;
/// The ruler above the plot, the rows of rain, dew and coat below it, and the line under them.
const AROUND: u16 = 6;

/// Draws the page.
pub fn page(sight: &Sight<'_>, shown: Weather, area: Rect, buf: &mut Buffer) -> Drawn {
    let places = &sight.app.view.weather;
    let Some(weather) = places.get(shown.place.min(places.len().saturating_sub(1))) else {
        let none = [Line::from("There is no place yet: press t for a reading.")];
        return pages::lines(sight, &none, 0, 0, area, buf);
    };
    let room = area.width.saturating_sub(2);
    let told = told(sight, weather, room, 8);
    let around = 1 + AROUND + u16::try_from(told.len()).unwrap_or(u16::MAX) + 1;
    let rows = area.height.saturating_sub(around);
    if shown.table || area.width < PLOT_WIDTH || rows < PLOT_ROWS {
        let top = title(sight, weather, area, buf).min(1);
        let lines = table::lines(sight, weather, room);
        return pages::lines(sight, &lines, shown.scroll, top, area, buf);
    }
    title(sight, weather, area, buf);
    let cells = area.width - SCALE - 1;
    let rule = SCALE + cells / 4;
    let columns = Columns { width: area.width, axis: SCALE, cells, rule, text: 1, text_width: room };
    let time = Axis::of_weather(sight.app.view.now, cells, sight.civil);
    axis::ruler(sight, &time, &columns, 1, buf);
    for y in 2..2 + rows + 3 {
        put(buf, rule, y, 1, "│", sight.theme.strong());
    }
    plot::draw(sight, weather, &time, &columns, (2, rows), buf);
    let mut y = 2 + rows;
    rows::draw(sight, weather, &time, &columns, y, buf);
    y += 3;
    put(buf, 1, y, room, &fit(&legend(weather, room), room), sight.theme.plain());
    y += 1;
    for (y, (text, style)) in (y..).zip(&told) {
        put(buf, 1, y, room, text, *style);
    }
    foot::keys(sight, area.height - 1, area.width.saturating_sub(1), buf);
    Drawn::default()
}

/// The place and the clock, where there is a row for them; gives the row under it.
fn title(sight: &Sight<'_>, weather: &WeatherView, area: Rect, buf: &mut Buffer) -> u16 {
    if area.height < 4 {
        return 0;
    }
    let (view, strong) = (&sight.app.view, sight.theme.strong());
    let end = area.width.saturating_sub(1);
    let left = put_right(buf, end, 0, end, &view.clock, strong);
    let at = view.weather.iter().position(|other| std::ptr::eq(other, weather)).unwrap_or(0);
    let others = match view.weather.len() {
        0 | 1 => String::new(),
        count => format!(" ({} of {count})", at + 1),
    };
    let about = match weather.about.as_str() {
        "" => String::new(),
        about => format!("; next coat: {about}"),
    };
    let room = left.saturating_sub(3);
    let text = format!("Weather, {}{others}{about}", weather.place);
    put(buf, 1, 0, room, &fit(&text, room), strong);
    1
}

/// The verdict, the wet films, the slots and the assumptions, in at most the given lines; the verdict comes
/// first.
fn told(sight: &Sight<'_>, weather: &WeatherView, columns: u16, most: usize) -> Vec<(String, Style)> {
    let theme = sight.theme;
    let mut lines = Vec::new();
    let mut say = |wrapped: Vec<String>, style: Style| {
        let left = most.saturating_sub(lines.len());
        lines.extend(wrapped.into_iter().take(left).map(|line| (line, style)));
    };
    say(wrap_to(&weather.verdict, columns, 2), theme.strong());
    if !weather.film.is_empty() {
        let style = if weather.film.warns { theme.strong() } else { theme.plain() };
        say(header::longest(&weather.film, columns, 1), style);
    }
    // The source has to be named: the slots give way to it.
    say(slots(weather).iter().flat_map(|slots| wrap_to(slots, columns, 1)).collect(), theme.plain());
    for text in &weather.rests_on {
        say(wrap_to(text, columns, 2), theme.plain());
    }
    lines
}

fn slots(weather: &WeatherView) -> Option<String> {
    (!weather.slots.is_empty()).then(|| format!("Start and finish: {}", weather.slots.join(", ")))
}

/// The sentences, and whether each is to be seen first.
fn sentences(weather: &WeatherView) -> Vec<(String, bool)> {
    let mut all = vec![(weather.verdict.clone(), true)];
    if !weather.film.is_empty() {
        all.push((weather.film.full.clone(), weather.film.warns));
    }
    all.extend(slots(weather).map(|slots| (slots, false)));
    all.extend(weather.rests_on.iter().map(|text| (text.clone(), false)));
    all
}

/// The legend of the lines and signs, in the given columns.
fn legend(weather: &WeatherView, columns: u16) -> String {
    let margin = weather.units.difference(weather.dew_margin);
    let lines = plot::SERIES.map(|series| format!("{} {}", series.letter, series.name)).join("  ");
    let legend = format!("{lines}  dots: expected  ! s within {margin} of d");
    if width(&legend) <= columns { legend } else { format!("{lines}  dots: expected  ! within {margin}") }
}

/// A temperature in the person's unit.
fn degrees(weather: &WeatherView, value: Celsius) -> f64 {
    match weather.units.temperature {
        TemperatureUnit::Celsius => value.degrees(),
        TemperatureUnit::Fahrenheit => value.fahrenheit(),
    }
}

/// The sign of that unit.
const fn sign(weather: &WeatherView) -> &'static str {
    match weather.units.temperature {
        TemperatureUnit::Celsius => "°C",
        TemperatureUnit::Fahrenheit => "°F",
    }
}

/// Sentences as the lines of a page.
fn said(sight: &Sight<'_>, weather: &WeatherView, columns: u16) -> Vec<Line<'static>> {
    let theme = sight.theme;
    let style = |first: bool| if first { theme.strong() } else { theme.plain() };
    let lines = sentences(weather).into_iter().flat_map(|(text, first)| {
        wrap(&text, columns).into_iter().map(move |line| Line::styled(line, style(first)))
    });
    lines.collect()
}

#[cfg(test)]
mod tests;

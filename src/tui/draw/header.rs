//! The top: the piece, the clock, the air of every place.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Sight;
use crate::app::view::AirLine;
use crate::app::wording::Wording;
use crate::tui::text::{fit, put, put_right, width, wrap};

/// The piece at the left and the clock at the right.
pub fn piece(sight: &Sight<'_>, y: u16, area: Rect, buf: &mut Buffer) {
    let (app, strong) = (sight.app, sight.theme.strong());
    let clock = match app.speed {
        0 => format!("{} (frozen)", app.view.clock),
        1 => app.view.clock.clone(),
        speed => format!("{} ({speed} \u{d7} as fast)", app.view.clock),
    };
    let end = area.width.saturating_sub(1);
    let left = put_right(buf, end, y, end, &clock, strong);
    let name = app.view.piece.as_deref().unwrap_or("A job without a name");
    let room = left.saturating_sub(3);
    put(buf, 1, y, room, &fit(name, room), strong);
}

/// From this many lines on the air has one line for the wet films, and one for the next coat.
const TELLS_BOTH: u16 = 20;
/// From this many on two each.
const TELLS_ALL: u16 = 30;

/// A line of the air.
enum Row<'a> {
    /// The values of a place, with a few words after the temperature, and the rest that does not fit.
    Figures(&'a AirLine, String, String),
    /// A verdict, and whether something is wrong.
    Verdict(String, bool),
}

/// The lines of the air for a screen of this size: every place, and for the first one whether its air suits the
/// wet films and the next coat.
fn rows<'a>(sight: &Sight<'a>, area: Rect) -> Vec<Row<'a>> {
    let places = &sight.app.view.air;
    let most = usize::from((area.height / 12).max(1)).min(places.len());
    let hidden = places.len() - most;
    let mut rows = Vec::new();
    for (index, air) in places.iter().take(most).enumerate() {
        let last = index + 1 == most;
        let more = match hidden {
            0 => String::new(),
            1 if last => "  (+1 place)".into(),
            hidden if last => format!("  (+{hidden} places)"),
            _ => String::new(),
        };
        if index > 0 {
            rows.push(Row::Figures(air, words(air), more));
            continue;
        }
        rows.push(Row::Figures(air, String::new(), more));
        verdicts(air, area, &mut rows);
    }
    rows
}

/// The verdicts of a place in as many lines as there is room for.
fn verdicts(air: &AirLine, area: Rect, rows: &mut Vec<Row<'_>>) {
    let room = area.width.saturating_sub(2);
    let told: Vec<&Wording> = told(air).collect();
    if area.height >= TELLS_BOTH {
        let most = if area.height >= TELLS_ALL { 2 } else { 1 };
        for told in told {
            let lines = longest(told, room, most).into_iter();
            rows.extend(lines.map(|line| Row::Verdict(line, told.warns)));
        }
        return;
    }
    let joined = |part: fn(&Wording) -> &str, with: &str| {
        let line = told.iter().map(|told| part(told)).collect::<Vec<_>>().join(with);
        (width(&line) <= room).then_some(line)
    };
    // Where both have no room, what is wrong comes first.
    let first = || told.iter().find(|told| told.warns).or(told.last());
    let line = joined(|told| &told.full, " ")
        .or_else(|| joined(|told| &told.brief, " "))
        .or_else(|| joined(|told| &told.word, BETWEEN))
        .or_else(|| joined(|told| told.word.split(';').next().unwrap_or_default(), BETWEEN))
        .or_else(|| first().map(|told| fit(&told.word, room)));
    let line = line.filter(|line| !line.is_empty());
    rows.extend(line.map(|line| Row::Verdict(line, told.iter().any(|told| told.warns))));
}

/// The longest of the three that fits into the given lines.
pub fn longest(told: &Wording, columns: u16, most: usize) -> Vec<String> {
    let wrapped = [&told.full, &told.brief].into_iter().map(|text| wrap(text, columns));
    let mut fits = wrapped.filter(|lines| lines.len() <= most);
    fits.next().unwrap_or_else(|| vec![fit(&told.word, columns)])
}

/// The separator of two short statements.
const BETWEEN: &str = " · ";

/// What is said of a place in a few words.
pub fn words(air: &AirLine) -> String {
    told(air).map(|told| told.word.as_str()).collect::<Vec<_>>().join(BETWEEN)
}

fn told(air: &AirLine) -> impl Iterator<Item = &Wording> {
    [&air.film, &air.coat].into_iter().filter(|told| !told.is_empty())
}

/// How many lines the air takes.
pub fn air_lines(sight: &Sight<'_>, area: Rect) -> u16 {
    u16::try_from(rows(sight, area).len().max(1)).unwrap_or(u16::MAX)
}

/// The air.
pub fn air(sight: &Sight<'_>, y: u16, area: Rect, buf: &mut Buffer) {
    let room = area.width.saturating_sub(2);
    for (y, row) in (y..area.height).zip(rows(sight, area)) {
        match row {
            Row::Figures(air, words, more) => place(sight, air, (&words, &more), y, area, buf),
            Row::Verdict(line, warns) => {
                let style = if warns { sight.theme.strong() } else { sight.theme.plain() };
                put(buf, 1, y, room, &fit(&line, room), style);
            }
        }
    }
}

fn place(
    sight: &Sight<'_>,
    air: &AirLine,
    (words, more): (&str, &str),
    y: u16,
    area: Rect,
    buf: &mut Buffer,
) {
    let theme = sight.theme;
    let style = if air.old { theme.strong() } else { theme.plain() };
    let end = area.width.saturating_sub(1);
    // In full, or shorter where only that has room for all of it: the dew point and the margin belong to it.
    let sayings =
        [(&air.figures, &air.age), (&air.figures_brief, &air.age), (&air.figures_brief, &air.age_brief)];
    let room = |age: &str| end.saturating_sub(width(age).min(end * 2 / 3) + 4);
    let long = |figures: &[String]| {
        let figures = figures.iter().map(String::as_str).chain(Some(words).filter(|words| !words.is_empty()));
        figures.map(|figure| width(figure) + 2).sum::<u16>() + width(&air.place)
    };
    let fits =
        |more: &str| sayings.into_iter().find(|(figures, age)| long(figures) + width(more) <= room(age));
    let (more, fits) = match fits(more) {
        None => ("", fits("")),
        fits => (more, fits),
    };
    let (figures, age) = fits.unwrap_or((&air.figures_brief, &air.age_brief));
    let left = put_right(buf, end, y, end * 2 / 3, age, style);
    let room = left.saturating_sub(3);
    // What does not fit is left out from the end: the temperature comes first.
    let mut line = air.place.clone();
    let least = width(&line) + 2 + figures.first().map_or(0, |figure| width(figure));
    let more = if least + width(more) > room { "" } else { more };
    let (first, others) = figures.split_at(figures.len().min(1));
    let words = Some(words).filter(|words| !words.is_empty());
    let figures = first.iter().map(String::as_str).chain(words).chain(others.iter().map(String::as_str));
    for figure in figures {
        let longer = format!("{line}  {figure}");
        if width(&longer) + width(more) > room {
            break;
        }
        line = longer;
    }
    line.push_str(more);
    put(buf, 1, y, room, &fit(&line, room), theme.plain());
}

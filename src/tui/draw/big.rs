//! The most urgent countdown in digits that can be read from across the shop.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Columns, Drawn, Sight, board, digits, header};
use crate::app::view::View;
use crate::app::wording::Countdown;
use crate::engine::units::{Civil, Moment};
use crate::tui::text::{fit, put, width};

/// The countdown that is the most urgent, and the area it is about: that of the next thing, or else the
/// first to end.
pub fn urgent(view: &View) -> Option<(&str, &Countdown)> {
    let next = view.next.countdown.as_ref().map(|to| (view.next.area.as_deref().unwrap_or(""), to));
    next.or_else(|| {
        let counted =
            view.ribbons.iter().filter_map(|ribbon| Some((ribbon.area.as_str(), ribbon.countdown.as_ref()?)));
        counted.min_by_key(|(_, countdown)| countdown.to)
    })
}

/// From this many days on seconds are dropped, so that the rest is larger.
fn without_seconds(digits: &str) -> &str {
    match digits.rsplit_once(':') {
        Some((front, _)) if digits.contains('d') => front,
        _ => digits,
    }
}

/// Draws the big digits with what they count down to; where nothing is counted down, the clock.
pub fn page(sight: &Sight<'_>, area: Rect, buf: &mut Buffer) -> Drawn {
    let (view, theme) = (&sight.app.view, sight.theme);
    header::piece(sight, 0, area, buf);
    let (bottom, drawn) = board::lower(sight, &Columns::of(area.width), 2, area, buf);
    let (label, text, until) = match urgent(view) {
        Some((about, countdown)) => {
            let about = if about.is_empty() { String::new() } else { format!("{about}: ") };
            let until = format!("at {}", by_the_clock(sight.civil, countdown.to, view.now));
            (format!("{about}{}", countdown.label), countdown.digits(view.now), until)
        }
        None => ("nothing counts down; the time is".into(), sight.civil.time_of_day(view.now), String::new()),
    };
    let room = area.width.saturating_sub(2);
    let label = fit(&label, room);
    put(buf, 1 + (room - width(&label)) / 2, 1, room, &label, theme.strong());
    let rows = bottom.saturating_sub(4);
    let lines = digits::large(without_seconds(&text), room, rows).unwrap_or_else(|| vec![fit(&text, room)]);
    let high = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    let top = 2 + rows.saturating_sub(high).div_ceil(2);
    for (y, line) in (top..bottom).zip(&lines) {
        put(buf, 1 + (room - width(line).min(room)) / 2, y, room, line, theme.strong());
    }
    let under = top.saturating_add(high).min(bottom.saturating_sub(1));
    put(buf, 1 + (room - width(&until).min(room)) / 2, under, room, &until, theme.strong());
    drawn
}

/// The time of day, with the weekday where it is another day.
fn by_the_clock(civil: &Civil, moment: Moment, now: Moment) -> String {
    let (at, today) = (civil.local(moment), civil.local(now));
    let time = civil.time_of_day(moment);
    if at.date_naive() == today.date_naive() { time } else { format!("{} {time}", civil.weekday(moment)) }
}

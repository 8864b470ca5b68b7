//! A screen that is too small for the board: the most urgent line.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::big::urgent;
use super::{Drawn, Sight, banner, foot, header, sheet};
use crate::tui::text::{fit, put, wrap, wrap_to};

/// Draws what has room: a question or form, else the countdown, the banner and the sentence.
pub fn page(sight: &Sight<'_>, area: Rect, buf: &mut Buffer) -> Drawn {
    let (view, theme) = (&sight.app.view, sight.theme);
    if let Some(over) = &sight.app.sheet {
        let lines = sheet::lines(sight, over, (area.width, area.height));
        let cursor = sheet::draw(lines, 0, area.height, area.width, buf);
        return Drawn { cursor, scroll: 0 };
    }
    let mut lines = Vec::new();
    if let Some((about, countdown)) = urgent(view) {
        let line = format!("{} {about}", countdown.digits(view.now));
        lines.push((line, theme.strong()));
        lines.push((countdown.label.clone(), theme.plain()));
    }
    if let Some(alert) = view.banners.first() {
        lines.insert(
            lines.len().min(1),
            (format!("{}: {}", banner::word(alert.kind), alert.text), theme.alarm()),
        );
    }
    let words = view.air.first().map(header::words).filter(|words| !words.is_empty());
    lines.extend(foot::message(sight, area.width, area.height / 2));
    lines.extend(wrap(&view.next.line(), area.width).into_iter().map(|line| (line, theme.plain())));
    // Whether the air suits a coat stands at the foot, where a row is left for it.
    if let Some(words) = words.filter(|_| lines.len() < usize::from(area.height)) {
        let left = usize::from(area.height) - lines.len();
        lines.extend(wrap_to(&words, area.width, left).into_iter().map(|line| (line, theme.plain())));
    }
    for (y, (line, style)) in (0..area.height).zip(&lines) {
        put(buf, 0, y, area.width, &fit(line, area.width), *style);
    }
    Drawn::default()
}

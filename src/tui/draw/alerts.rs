//! The list of the alerts that nobody has acknowledged, in full.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::{Drawn, Sight, banner, pages};
use crate::tui::text::wrap;

/// Draws the list with one alert chosen.
pub fn page(sight: &Sight<'_>, chosen: usize, area: Rect, buf: &mut Buffer) -> Drawn {
    let theme = sight.theme;
    let top = pages::title(sight, "Alerts not seen yet", area, buf);
    let mut lines = Vec::new();
    let mut from = 0;
    for (index, alert) in sight.app.view.banners.iter().enumerate() {
        if index == chosen {
            from = lines.len();
        }
        let sign = if index == chosen { "> " } else { "  " };
        let word = Span::styled(format!(" {} ", banner::word(alert.kind)), theme.alarm());
        lines.push(Line::from(vec![Span::styled(sign, theme.chosen()), word]));
        let text = wrap(&alert.text, area.width.saturating_sub(4));
        let style = if index == chosen { theme.strong() } else { theme.plain() };
        lines.extend(text.into_iter().map(|line| Line::from(Span::styled(format!("  {line}"), style))));
    }
    let from = u16::try_from(from).unwrap_or(u16::MAX);
    pages::lines(sight, &lines, from, top, area, buf)
}

//! How much of what: an area with its coats, all areas together, the stock.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::{Drawn, Sight, pages};
use crate::app::wording::AmountsPage;
use crate::tui::app::Amounts;
use crate::tui::text::{fit, wrap};

/// Draws the page.
pub fn page(sight: &Sight<'_>, shown: Amounts, area: Rect, buf: &mut Buffer) -> Drawn {
    let all = &sight.app.amounts;
    let at = shown.page.min(all.len().saturating_sub(1));
    let Some(page) = all.get(at) else {
        let none = [Line::from("The job cannot be read.")];
        return pages::lines(sight, &none, 0, 0, area, buf);
    };
    let room = area.width.saturating_sub(2);
    let count = format!(" ({} of {})", at + 1, all.len());
    let title = fit(&format!("How much: {}{count}", page.title), room);
    let top = pages::title(sight, &title, area, buf);
    pages::lines(sight, &lines(sight, page, room), shown.scroll, top, area, buf)
}

fn lines(sight: &Sight<'_>, page: &AmountsPage, columns: u16) -> Vec<Line<'static>> {
    let theme = sight.theme;
    let mut lines: Vec<Line<'static>> = Vec::new();
    for line in &page.lines {
        let caution = line.text.starts_with("! ");
        if line.head && !lines.is_empty() {
            lines.push(Line::default());
        }
        let style = if line.head { theme.strong() } else { theme.plain() };
        let hang = 2 * line.indent + if caution { 2 } else { 0 };
        let (first, text) = match line.text.strip_prefix("! ") {
            Some(text) => ("! ", text),
            None => ("", line.text.as_str()),
        };
        let indent = " ".repeat(usize::from(2 * line.indent));
        let hanging = " ".repeat(usize::from(hang));
        let wrapped = wrap(text, columns.saturating_sub(hang)).into_iter().enumerate();
        lines.extend(wrapped.map(|(index, text)| match index {
            0 => Line::styled(format!("{indent}{first}{text}"), style),
            _ => Line::styled(format!("{hanging}{text}"), style),
        }));
    }
    lines
}

#[cfg(test)]
mod tests {
    use insta::assert_snapshot;

    use crate::tui::app::App;
    use crate::tui::samples::*;
    use crate::tui::theme::ColorMode;

    fn see(keys: &str, (width, height): (u16, u16)) -> String {
        let mut app = App::showing(hut());
        press(&mut app, keys);
        text(&drawn(&app, width, height, ColorMode::Auto))
    }

    #[test]
    fn an_area_opens_with_its_own_amounts_and_others_lie_beside_it() {
        assert_snapshot!("amounts_80x24", see("g", (80, 24)));
        assert_snapshot!("amounts_down_80x24", see("gjjjjjj", (80, 24)));
        assert_snapshot!("amounts_40x12", see("g", (40, 12)));
        assert!(see("g<Right>", (80, 24)).contains("How much: All areas (2 of 3)"));
        assert!(see("g<Left>", (80, 24)).contains("How much: Stock (3 of 3)"));
        assert!(see("g<Right><Right><Right>", (80, 24)).contains("How much: Roof"));
    }

    #[test]
    fn the_forms_of_films_and_of_the_stock() {
        assert_snapshot!("film_80x24", see("i80 <Tab>", (80, 24)));
        assert_snapshot!("stock_80x24", see("oprimer<Tab>2", (80, 24)));
        assert!(see("gi", (80, 24)).contains("A wet film was measured"));
    }
}

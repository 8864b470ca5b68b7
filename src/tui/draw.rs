//! The screen as a function of the state: what is drawn depends on nothing else.

mod alerts;
mod amounts;
mod area;
mod ascii;
mod axis;
mod banner;
mod big;
mod board;
mod braille;
mod coat;
mod details;
mod digits;
mod foot;
mod header;
mod help;
mod pages;
mod plan;
mod pot;
mod record;
mod share;
mod sheet;
mod strip;
mod tiny;
mod weather;

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

use super::app::{App, Page};
use super::theme::{ColorMode, Theme};
use crate::app::view::View;
use crate::engine::units::Civil;

/// All that a drawing depends on.
#[derive(Clone, Copy)]
pub struct Sight<'a> {
    /// The state.
    pub app: &'a App,
    /// The wall clock.
    pub civil: &'a Civil,
    /// The styles.
    pub theme: Theme,
}

/// What the driver has to know of what was drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Drawn {
    /// Where the person types.
    pub cursor: Option<Position>,
    /// How far the page can be scrolled.
    pub scroll: u16,
}

/// How the board divides the screen from left to right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Columns {
    width: u16,
    /// Where the axis begins, and over how many cells it goes.
    axis: u16,
    cells: u16,
    /// The column of now, a quarter from the left. What is left of it is past and says what the area is.
    rule: u16,
    /// Where the sentences begin, and their room.
    text: u16,
    text_width: u16,
}

/// From here on the column left of now has room for names.
const WIDE: u16 = 60;

impl Columns {
    fn of(width: u16) -> Self {
        let cells = width.saturating_sub(2).max(1);
        let rule = 1 + cells / 4;
        let wide = width >= WIDE;
        let text = if wide { rule + 2 } else { 1 };
        Self { width, axis: 1, cells, rule, text, text_width: width.saturating_sub(text + 1).max(1) }
    }

    const fn wide(&self) -> bool {
        self.width >= WIDE
    }

    /// The room left of now.
    const fn left(&self) -> u16 {
        self.rule.saturating_sub(2)
    }
}

/// Below this the board shows the most urgent line only.
const LEAST: (u16, u16) = (40, 12);

/// Draws the whole screen.
pub fn screen(sight: &Sight<'_>, buf: &mut Buffer) -> Drawn {
    let area = buf.area;
    if area.is_empty() {
        return Drawn::default();
    }
    let small = area.width < LEAST.0 || area.height < LEAST.1;
    let drawn = match sight.app.page {
        Page::Help(scroll) => help::page(sight, scroll, area, buf),
        Page::Details(scroll) => details::page(sight, scroll, area, buf),
        Page::Alerts(chosen) => alerts::page(sight, chosen, area, buf),
        Page::Amounts(shown) => amounts::page(sight, shown, area, buf),
        Page::Plan(chosen) => plan::page(sight, chosen, area, buf),
        Page::Weather(shown) => weather::page(sight, shown, area, buf),
        Page::Record(shown) => record::page(sight, shown, area, buf),
        Page::Coat(_, scroll) => coat::page(sight, scroll, area, buf),
        _ if small => tiny::page(sight, area, buf),
        Page::Big => big::page(sight, area, buf),
        Page::Board => board::page(sight, area, buf),
    };
    if sight.theme.ascii() {
        ascii::write(buf);
    }
    drawn
}

/// The board without a terminal: for pictures, tests and measurements.
pub fn picture(view: &View, civil: &Civil, (width, height): (u16, u16), color: ColorMode) -> Buffer {
    let app = App::showing(view.clone());
    let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
    screen(&Sight { app: &app, civil, theme: Theme::new(color) }, &mut buf);
    buf
}

#[cfg(test)]
mod tests;

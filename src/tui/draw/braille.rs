//! Lines of dots, eight in a cell: two across, four down.

use ratatui::buffer::Buffer;
use ratatui::style::Style;

const ACROSS: u16 = 2;
const DOWN: u16 = 4;
const BITS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

/// A field of cells that lines are drawn into, and that is then put on the screen.
pub struct Dots {
    cells: u16,
    rows: u16,
    field: Vec<(u8, Style)>,
}

impl Dots {
    /// An empty field.
    pub fn new(cells: u16, rows: u16) -> Self {
        Self { cells, rows, field: vec![(0, Style::new()); usize::from(cells) * usize::from(rows)] }
    }

    /// How many dots lie side by side.
    pub const fn across(&self) -> u16 {
        self.cells.saturating_mul(ACROSS)
    }

    /// A line: its height at every dot from left to right, 0 at the bottom and 1 at the top. Where it has
    /// none it is broken; where it is thin every other dot is left out.
    pub fn line(&mut self, heights: impl Iterator<Item = Option<(f64, bool)>>, style: Style) {
        let last = f64::from(self.rows.saturating_mul(DOWN)) - 1.0;
        let mut before: Option<u16> = None;
        for (x, height) in (0..self.across()).zip(heights) {
            let Some((height, thin)) = height.filter(|(height, _)| height.is_finite()) else {
                before = None;
                continue;
            };
            let y = ((1.0 - height.clamp(0.0, 1.0)) * last).round().max(0.0) as u16;
            let joined = before.filter(|_| !thin);
            before = Some(y);
            if thin && x % 2 == 1 {
                continue;
            }
            let (from, to) = match joined {
                Some(before) if before + 1 < y => (before + 1, y),
                Some(before) if before > y + 1 => (y, before - 1),
                _ => (y, y),
            };
            (from..=to).for_each(|y| self.set(x, y, style));
        }
    }

    fn set(&mut self, x: u16, y: u16, style: Style) {
        let at = usize::from(y / DOWN) * usize::from(self.cells) + usize::from(x / ACROSS);
        if let Some(cell) = self.field.get_mut(at) {
            *cell = (cell.0 | BITS[usize::from(x % ACROSS)][usize::from(y % DOWN)], style);
        }
    }

    /// Puts the field on the screen, its upper left cell at `x`, `y`.
    pub fn draw(&self, (x, y): (u16, u16), buf: &mut Buffer) {
        for (at, (bits, style)) in self.field.iter().enumerate().filter(|(_, (bits, _))| *bits != 0) {
            let letter = char::from_u32(0x2800 + u32::from(*bits)).unwrap_or('.');
            let width = usize::from(self.cells.max(1));
            let position = (x + (at % width) as u16, y + (at / width) as u16);
            if buf.area.contains(position.into()) {
                buf[position].set_char(letter).set_style(*style);
            }
        }
    }
}

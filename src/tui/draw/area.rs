//! One area on the board: its name, its ribbon, its sentences.

use ratatui::buffer::Buffer;

use super::share::Wish;
use super::{Columns, Sight, strip};
use crate::app::view::{Axis, Ribbon};
use crate::tui::text::{fit, put, put_right, width, wrap, wrap_to};

/// The most lines of sentences on the board; the details show all.
const SENTENCES: usize = 3;

/// The lines of an area.
pub struct Block<'a> {
    ribbon: &'a Ribbon,
    says: usize,
    range: usize,
    assumed_lines: usize,
    assumed: String,
    layer: Vec<String>,
}

impl<'a> Block<'a> {
    /// The lines of a ribbon's words.
    pub fn new(ribbon: &'a Ribbon, columns: &Columns) -> Self {
        let lines = |text: &str| wrap(text, columns.text_width).len();
        let assumed = assumed(ribbon).unwrap_or_default();
        Self {
            ribbon,
            says: lines(&ribbon.says).min(SENTENCES),
            range: lines(&ribbon.range).min(2),
            assumed_lines: lines(&assumed).min(2),
            assumed,
            layer: layer(ribbon, columns),
        }
    }

    /// The rows it would like.
    pub fn wish(&self, columns: &Columns) -> Wish {
        let layer = self.layer.len();
        let beside = |words: usize| if columns.wide() { words.max(layer) } else { words };
        let under = if columns.wide() { 0 } else { layer };
        let rows = |body: usize| u16::try_from(2 + body).unwrap_or(u16::MAX);
        let core = self.says + self.assumed_lines;
        Wish {
            says: rows(beside(self.says)),
            core: rows(beside(core)),
            all: rows(beside(core + self.range) + under),
        }
    }

    /// The lines beside or under the ribbon in the given rows. The range is dropped first; the assumptions of
    /// the area in focus keep a line as long as one is free.
    fn lines(&self, columns: &Columns, rows: usize, chosen: bool) -> Lines {
        let keep = usize::from(chosen && self.assumed_lines > 0 && rows >= 2);
        let says = self.says.min(rows - keep);
        let assumed = self.assumed_lines.min(rows - says);
        let range = self.range.min(rows - says - assumed);
        Lines {
            says: wrap_to(&self.ribbon.says, columns.text_width, says),
            quiet: wrap_to(&self.ribbon.range, columns.text_width, range)
                .into_iter()
                .chain(wrap_to(&self.assumed, columns.text_width, assumed))
                .collect(),
        }
    }
}

struct Lines {
    says: Vec<String>,
    quiet: Vec<String>,
}

/// "assumed: …" in one sentence.
pub fn assumed(ribbon: &Ribbon) -> Option<String> {
    (!ribbon.assumed.is_empty()).then(|| format!("assumed: {}", ribbon.assumed.join("; ")))
}

fn layer(ribbon: &Ribbon, columns: &Columns) -> Vec<String> {
    if ribbon.layer.is_empty() {
        return Vec::new();
    }
    let room = if columns.wide() { columns.left() } else { columns.text_width };
    if width(&ribbon.layer) <= room {
        return vec![ribbon.layer.clone()];
    }
    ribbon.layer.splitn(2, ", ").map(|part| fit(part, room)).collect()
}

/// Where an area is drawn and how.
pub struct Place {
    /// Its first row.
    pub y: u16,
    /// Its rows.
    pub rows: u16,
    /// Whether its ribbon has a row for flags.
    pub flags: bool,
    /// Whether it is the chosen one.
    pub chosen: bool,
    /// Whether a line has to part it from the area above it.
    pub parted: bool,
}

/// Draws an area.
pub fn draw(
    sight: &Sight<'_>,
    block: &Block<'_>,
    axis: &Axis,
    columns: &Columns,
    place: &Place,
    buf: &mut Buffer,
) {
    let ribbon = block.ribbon;
    if place.chosen {
        for y in place.y..place.y + place.rows {
            put(buf, 0, y, 1, "▌", sight.theme.chosen());
        }
    }
    if place.rows < 2 {
        slim(sight, ribbon, axis, columns, place.y, buf);
        return;
    }
    let thick = if place.flags && place.rows > 2 { 2 } else { 1 };
    let body = place.y + 1 + thick;
    let rows = usize::from(place.rows - 1 - thick);
    title(sight, block, columns, place.y, rows == 0, buf);
    if place.parted {
        part(sight, columns, place.y, buf);
    }
    strip::draw(sight, ribbon, axis, columns, (0, place.y + 1, thick), buf);
    let lines = block.lines(columns, rows, place.chosen);
    let mut y = body;
    for (text, style) in lines
        .says
        .iter()
        .map(|line| (line, sight.theme.plain()))
        .chain(lines.quiet.iter().map(|line| (line, sight.theme.quiet())))
    {
        put(buf, columns.text, y, columns.text_width, text, style);
        y += 1;
    }
    let (x, room, from) =
        if columns.wide() { (1, columns.left(), body) } else { (columns.text, columns.text_width, y) };
    for (y, text) in (from..place.y + place.rows).zip(&block.layer) {
        put(buf, x, y, room, text, sight.theme.plain());
    }
}

/// The name, the verdict and the countdown.
fn title(sight: &Sight<'_>, block: &Block<'_>, columns: &Columns, y: u16, bare: bool, buf: &mut Buffer) {
    let (ribbon, theme) = (block.ribbon, sight.theme);
    let end = columns.width.saturating_sub(1);
    let word = ribbon.head.as_str();
    let room = if columns.wide() { columns.left() } else { end * 2 / 5 };
    let name_end = put(buf, 1, y, room, &fit(&ribbon.area, room), theme.strong());
    let x = if columns.wide() { columns.text } else { name_end + 2 };
    let word_end = put(buf, x, y, end.saturating_sub(x), word, theme.strong());
    let mut left = end;
    if let Some(countdown) = &ribbon.countdown {
        let digits = countdown.digits(sight.app.view.now);
        left = put_right(buf, end, y, end.saturating_sub(word_end + 1), &digits, theme.strong());
        let room = left.saturating_sub(word_end + 4);
        if width(&countdown.label) <= room {
            left = put_right(buf, left - 2, y, room, &countdown.label, theme.plain());
        }
    }
    let room = left.saturating_sub(word_end + 4);
    if bare && width(&ribbon.layer) <= room {
        put(buf, word_end + 2, y, room, &ribbon.layer, theme.plain());
    }
}

/// A line through what is free of the title, where there is no row to leave blank.
fn part(sight: &Sight<'_>, columns: &Columns, y: u16, buf: &mut Buffer) {
    let blank = |buf: &Buffer, x: u16| buf.cell((x, y)).is_none_or(|cell| matches!(cell.symbol(), " " | "│"));
    let end = columns.width.saturating_sub(1);
    let free: Vec<u16> = (1..end).filter(|x| (x - 1..=x + 1).all(|x| blank(buf, x))).collect();
    for x in free {
        let sign = if buf[(x, y)].symbol() == "│" { "┼" } else { "─" };
        let style = if sign == "┼" { sight.theme.strong() } else { sight.theme.quiet() };
        put(buf, x, y, 1, sign, style);
    }
}

/// An area in one row: its name where the past would be.
fn slim(sight: &Sight<'_>, ribbon: &Ribbon, axis: &Axis, columns: &Columns, y: u16, buf: &mut Buffer) {
    let room = columns.left();
    put(buf, 1, y, room, &fit(&ribbon.area, room), sight.theme.strong());
    strip::draw(sight, ribbon, axis, columns, (columns.rule, y, 1), buf);
    if ribbon.bands.is_empty() {
        put(buf, columns.rule + 2, y, columns.text_width, &ribbon.head, sight.theme.quiet());
    }
}

//! What lies over the lower part of the screen: the forms, and the question before an undo.

mod check;

use ratatui::buffer::Buffer;
use ratatui::layout::Position;
use ratatui::style::Style;

use super::Sight;
use crate::tui::app::Sheet;
use crate::tui::form::{Field, Form, Input};
use crate::tui::text::{fit, fit_end, put, width, wrap_to};

/// A line of a sheet.
#[derive(Default)]
pub struct Row {
    /// Its texts with the columns they begin at.
    texts: Vec<(u16, String, Style)>,
    /// Where the person types.
    cursor: Option<u16>,
}

/// The column of the answers.
const ANSWER: u16 = 16;
/// The most lines of a question …
const ASKED: usize = 5;
/// … and of the text after it.
const AGAIN: &str = "Enter again records it anyway.";
/// The most choices listed at once.
const LISTED: usize = 8;
/// The fewest choices, whatever else needs the rows.
const SEEN: usize = 3;

/// The lines of a sheet in at most the given rows; the current field is always among them.
pub fn lines(sight: &Sight<'_>, sheet: &Sheet, (columns, rows): (u16, u16)) -> Vec<Row> {
    let rows = usize::from(rows);
    let room = columns.saturating_sub(2).max(1);
    let question = |ask: &str, then: &str| {
        let row = |text, style| Row { texts: vec![(1, text, style)], cursor: None };
        let ask = wrap_to(ask, room, 2).into_iter().map(|line| row(line, sight.theme.strong()));
        ask.chain([row(then.to_owned(), sight.theme.plain())]).collect()
    };
    let mut lines: Vec<Row> = match sheet {
        Sheet::Undo(id, says) => {
            let stays = "It stays in the record, marked, and can be restored.";
            question(&format!("Take back entry {id} ({says})?"), stays)
        }
        Sheet::Restore(_, says) => {
            question(&format!("Restore this entry: {says}?"), "It counts again from then on.")
        }
        Sheet::Form(form) => return form_lines(sight, form, room, rows),
    };
    lines.truncate(rows);
    lines
}

fn form_lines(sight: &Sight<'_>, form: &Form, columns: u16, rows: usize) -> Vec<Row> {
    let theme = sight.theme;
    // A question is read to its end before it is answered.
    let (most, again) = match form.sure {
        true => (ASKED.min(rows.saturating_sub(2)), Some(AGAIN.to_owned())),
        false => (2, None),
    };
    let error: Vec<Row> = form
        .error
        .iter()
        .flat_map(|error| wrap_to(error, columns, most))
        .chain(again)
        .map(|line| Row { texts: vec![(1, line, theme.alarm())], cursor: None })
        .collect();
    let fixed = form.fields.len() + error.len() + 1;
    let spare = rows.saturating_sub(fixed);
    let wanted = match &form.focused().input {
        Input::Pick(pick) => pick.left().len().min(LISTED),
        _ => 0,
    };
    let room = spare.saturating_sub(wanted.min(SEEN));
    let told = form.check.as_ref().map_or_else(Vec::new, |check| check::lines(check, columns, room));
    let listed = wanted.min(spare.saturating_sub(told.len()));
    // Where nothing else of the verdict has room it is the title.
    let title = form.check.as_ref().filter(|_| told.is_empty()).map_or(form.kind.title(), |c| &c.says);
    let title = Row { texts: vec![(1, title.to_owned(), theme.strong())], cursor: None };
    let mut lines = vec![title];
    let mut focus = 0;
    for (index, field) in form.fields.iter().enumerate() {
        let focused = index == form.focus;
        if focused {
            focus = lines.len();
        }
        lines.push(field_line(sight, field, focused));
        if focused {
            lines.extend(list(sight, field, listed));
        }
    }
    // Where not everything has room the field in focus and the error stay.
    let room = rows.saturating_sub(error.len() + told.len()).max(1);
    if lines.len() > room {
        lines.truncate((focus + 1).max(room));
        lines.drain(..lines.len() - room);
    }
    let style = |first: bool| if first { theme.strong() } else { theme.plain() };
    let told = told.into_iter();
    lines.extend(told.map(|(line, first)| Row { texts: vec![(1, line, style(first))], cursor: None }));
    lines.extend(error);
    lines.truncate(rows.max(1));
    lines
}

/// What is typed as it is shown, and the column of the cursor in it: that part is always seen.
fn typed(field: &Field) -> (u16, String) {
    let (before, after) = field.typed();
    let seen = fit_end(before, 40);
    let before = width(seen);
    (before, format!("{seen}{}", fit(after, 40 - before)))
}

fn field_line(sight: &Sight<'_>, field: &Field, focused: bool) -> Row {
    let theme = sight.theme;
    let label = if focused { theme.strong() } else { theme.plain() };
    let mut row = Row::default();
    if focused {
        row.texts.push((1, ">".into(), theme.chosen()));
    }
    row.texts.push((3, field.name.label().to_owned(), label));
    let mut end = ANSWER;
    match &field.input {
        Input::Letter(letter) if focused => {
            for (index, (key, word)) in letter.choices.iter().enumerate() {
                let style = if letter.at == Some(index) { theme.alarm() } else { theme.plain() };
                row.texts.push((end, key.to_string(), theme.key()));
                row.texts.push((end + 2, (*word).to_owned(), style));
                end += 2 + width(word) + 2;
            }
            row.cursor = Some(ANSWER);
        }
        Input::Pick(pick) if focused && !pick.filter.is_empty() => {
            let (before, shown) = typed(field);
            row.cursor = Some(ANSWER + before);
            end += width(&shown) + 2;
            row.texts.push((ANSWER, shown, theme.field()));
        }
        Input::Line(_) if focused => {
            let (before, shown) = typed(field);
            end += width(&shown);
            row.cursor = Some(ANSWER + before);
            row.texts.push((ANSWER, format!("{shown:<8}"), theme.field()));
            end = end.max(ANSWER + 8) + 2;
        }
        _ => {
            let shown = match &field.input {
                Input::Pick(pick) => pick.chosen().map(|choice| choice.label).unwrap_or_default(),
                _ => field.value(),
            };
            end += width(&shown) + 2;
            row.texts.push((ANSWER, shown, label));
            row.cursor = focused.then_some(ANSWER);
        }
    }
    if focused {
        row.texts.push((end, field.hint(), theme.quiet()));
    }
    row
}

/// The choices around the one that is chosen.
fn list(sight: &Sight<'_>, field: &Field, rows: usize) -> Vec<Row> {
    let Input::Pick(pick) = &field.input else { return Vec::new() };
    let left = pick.left();
    let at = pick.at().unwrap_or(0);
    let first = at.saturating_sub(rows / 2).min(left.len().saturating_sub(rows));
    let line = |(index, choice): (usize, &crate::tui::form::Choice)| {
        let chosen = pick.at() == Some(index);
        let style = if chosen { sight.theme.alarm() } else { sight.theme.plain() };
        Row { texts: vec![(ANSWER, format!(" {} ", choice.label), style)], cursor: None }
    };
    let below = left.len().saturating_sub(first + rows);
    let mut lines: Vec<Row> = left.iter().enumerate().skip(first).take(rows).map(line).collect();
    if let Some(last) = lines.last_mut().filter(|_| below > 0) {
        let end = last.texts.iter().map(|(x, text, _)| x + width(text)).max().unwrap_or(ANSWER);
        last.texts.push((end + 1, format!("\u{2193} {below} more"), sight.theme.quiet()));
    }
    lines
}

/// Draws the lines from row `y` on, above row `footer`, and gives where the person types.
pub fn draw(lines: Vec<Row>, y: u16, footer: u16, end: u16, buf: &mut Buffer) -> Option<Position> {
    let mut cursor = None;
    for (y, row) in (y..footer).zip(lines) {
        for x in 0..buf.area.width {
            buf[(x, y)].reset();
        }
        for (x, text, style) in &row.texts {
            let room = end.saturating_sub(*x);
            put(buf, *x, y, room, &fit(text, room), *style);
        }
        if let Some(x) = row.cursor.filter(|x| *x < buf.area.width) {
            cursor = Some(Position { x, y });
        }
    }
    cursor
}

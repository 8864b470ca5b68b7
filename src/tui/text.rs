//! Text in cells: how wide it is, where it breaks, how it is cut.

use ratatui::buffer::Buffer;
use ratatui::style::Style;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// How many columns a text takes.
pub fn width(text: &str) -> u16 {
    u16::try_from(text.width()).unwrap_or(u16::MAX)
}

/// The text in at most this many columns; a cut text ends with an ellipsis.
pub fn fit(text: &str, columns: u16) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let room = usize::from(columns).saturating_sub(1);
    let mut cut = take(text, room).trim_end().to_owned();
    if columns > 0 {
        cut.push('…');
    }
    cut
}

/// The end of the text in at most this many columns, so that typing stays visible.
pub fn fit_end(text: &str, columns: u16) -> &str {
    let mut rest = text;
    while rest.width() > usize::from(columns) {
        let mut letters = rest.chars();
        letters.next();
        rest = letters.as_str();
    }
    rest
}

/// The text in lines of at most this many columns, broken between words if possible.
pub fn wrap(text: &str, columns: u16) -> Vec<String> {
    let columns = usize::from(columns.max(1));
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let gap = usize::from(!line.is_empty());
        if line.width() + gap + word.width() <= columns {
            line.extend(std::iter::repeat_n(' ', gap));
            line.push_str(word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        let mut rest = word;
        while rest.width() > columns {
            let head = take(rest, columns);
            // A letter may be wider than the line.
            let head = if head.is_empty() { &rest[..first_letter(rest)] } else { head };
            lines.push(head.to_owned());
            rest = &rest[head.len()..];
        }
        line.push_str(rest);
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// As [`wrap`], in at most this many lines; a cut text ends with an ellipsis.
pub fn wrap_to(text: &str, columns: u16, most: usize) -> Vec<String> {
    let mut lines = wrap(text, columns);
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            *last = fit(&format!("{last} …"), columns);
            if !last.ends_with('…') {
                *last = fit(&format!("{last}……"), columns);
            }
        }
    }
    lines
}

/// As [`wrap_to`], with less room in the first line.
pub fn wrap_beside(text: &str, first: u16, columns: u16, most: usize) -> Vec<String> {
    if most <= 1 || first >= columns {
        return wrap_to(text, first, most);
    }
    let Some(head) = wrap(text, first).into_iter().next() else { return Vec::new() };
    let words = head.split_whitespace().count();
    let rest: Vec<&str> = text.split_whitespace().skip(words).collect();
    // A word that is broken in the first line would be lost.
    if text.split_whitespace().take(words).last() != head.split_whitespace().last() {
        return wrap_to(text, first, most);
    }
    std::iter::once(head).chain(wrap_to(&rest.join(" "), columns, most - 1)).collect()
}

fn take(text: &str, columns: usize) -> &str {
    let mut used = 0;
    for (at, letter) in text.char_indices() {
        used += letter.width().unwrap_or(0);
        if used > columns {
            return &text[..at];
        }
    }
    text
}

fn first_letter(text: &str) -> usize {
    text.chars().next().map_or(0, char::len_utf8)
}

/// Writes a text into at most this many columns and returns the column after it. Parts outside the buffer are
/// dropped.
pub fn put(buf: &mut Buffer, x: u16, y: u16, columns: u16, text: &str, style: Style) -> u16 {
    let area = buf.area;
    if y < area.top() || y >= area.bottom() || x < area.left() || x >= area.right() || columns == 0 {
        return x;
    }
    buf.set_stringn(x, y, text, usize::from(columns), style).0
}

/// Writes a text so that it ends before column `end`, and gives the column at which it begins.
pub fn put_right(buf: &mut Buffer, end: u16, y: u16, columns: u16, text: &str, style: Style) -> u16 {
    let text = fit(text, columns.min(end));
    let x = end - width(&text).min(end);
    put(buf, x, y, columns, &text, style);
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words() {
        assert_eq!(
            wrap("Second coat from 16:40, at the latest 19:10", 16),
            ["Second coat from", "16:40, at the", "latest 19:10"]
        );
        assert_eq!(wrap("polyurethane", 5), ["polyu", "retha", "ne"]);
        assert!(wrap("   ", 5).is_empty());
        assert_eq!(wrap("日本", 1), ["日", "本"]);
    }

    #[test]
    fn what_is_cut_leaves_an_ellipsis() {
        assert_eq!(fit("primer-two-part", 15), "primer-two-part");
        assert_eq!(fit("primer-two-part", 8), "primer-…");
        assert_eq!(fit("roof", 1), "…");
        assert_eq!(fit("roof", 0), "");
        assert_eq!(wrap_to("one two three", 5, 1), ["one …"]);
        assert_eq!(wrap_to("seven eight", 5, 1), ["seve…"]);
        assert_eq!(wrap_to("one", 5, 1), ["one"]);
        assert_eq!(wrap_beside("one two three four", 7, 20, 2), ["one two", "three four"]);
        assert_eq!(wrap_beside("polyurethane varnish", 5, 20, 3), ["polyu", "retha", "ne …"]);
        assert_eq!(fit_end("roof, outside", 7), "outside");
    }

    #[test]
    fn nothing_is_written_outside() {
        let mut buf = Buffer::empty(ratatui::layout::Rect::new(0, 0, 4, 1));
        for (x, y) in [(0, 1), (4, 0), (9, 9)] {
            assert_eq!(put(&mut buf, x, y, 9, "roof", Style::new()), x);
        }
        put(&mut buf, 2, 0, 9, "roof", Style::new());
        assert_eq!(buf, Buffer::with_lines(["  ro"]));
    }
}
